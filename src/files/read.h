/* read.h - a whole file that nobody vouches for, with a limit to its size and to the time it takes.
 *
 * A regular file, or a pipe that brings its bytes in time. A folder, a device and a pipe that says nothing are no input. */
#ifndef SW_FILES_READ_H
#define SW_FILES_READ_H

#include <stddef.h>

#include "seamwright/status.h"

typedef enum sw_read_result {
    SW_READ_OK,
    SW_READ_FAILED, /* errno says why */
    SW_READ_NO_MEMORY,
    SW_READ_TOO_LARGE,
    SW_READ_TOO_SLOW,
    SW_READ_FOLDER,
    SW_READ_DEVICE
} sw_read_result;

/* *bytes is for free(), NULL unless SW_READ_OK; there is a 0 behind the last byte. */
sw_read_result sw_read_whole(const char *path, size_t most_bytes, char **bytes, size_t *length);

/* "is a folder", "is a device, not a file", ...: what is wrong, for a sentence that begins with the path. Of
 * SW_READ_FAILED, errno in words. */
const char *sw_read_words(sw_read_result result);
/* The status that goes with it. */
sw_status sw_read_status(sw_read_result result);

#endif
