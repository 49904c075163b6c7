/* status.h - how a call of this library ends.
 *
 * Every call that can fail returns an sw_status and, when the caller passes an sw_error, writes one plain sentence there
 * that says what is wrong with which file and what to do about it. The library never prints and never exits.
 * "Nothing found" (SW_NOT_FOUND) and "could not look" (SW_BAD_INPUT, SW_CANNOT_READ) are different answers.
 */
#ifndef SEAMWRIGHT_STATUS_H
#define SEAMWRIGHT_STATUS_H

#define SW_VERSION "0.1.0"

/* What the shared library lets programs see; all else stays inside. */
#if defined(__GNUC__)
#define SW_API __attribute__((visibility("default")))
#define SW_PRINTF(text, first) __attribute__((format(printf, text, first)))
#else
#define SW_API
#define SW_PRINTF(text, first)
#endif

#ifdef __cplusplus
extern "C" {
#endif

typedef enum sw_status {
    SW_OK = 0,
    SW_NOT_FOUND,    /* looked, and it is not there (no reference square, no table) */
    SW_BAD_INPUT,    /* the input cannot be used: damaged, too large, contradictory */
    SW_CANNOT_READ,  /* a file could not be opened or read */
    SW_CANNOT_WRITE, /* a file or folder could not be written */
    SW_NO_MEMORY,
    SW_BROKEN /* a library below failed in a way that should not happen */
} sw_status;

/* The message of the last failed call, owned by the caller. Empty string when there is none. */
typedef struct sw_error {
    char text[512];
} sw_error;

/* Writes a message (printf style, cut at the buffer's end; one line, control characters become question marks) into err
 * and returns status. err may be NULL. */
SW_API SW_PRINTF(3, 4) sw_status sw_fail(sw_error *err, sw_status status, const char *format, ...);

#ifdef __cplusplus
}
#endif
#endif
