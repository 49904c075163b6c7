/* read.h - a reading of a JSON file that nobody vouches for.
 *
 * It remembers the first thing that was wrong, as a status and a sentence in err; every later step then does nothing, so
 * that readers need not look after each line.
 */
#ifndef SW_JSON_READ_H
#define SW_JSON_READ_H

#include <stddef.h>

#include "seamwright/status.h"

typedef struct sw_reading {
    const char *path, *command; /* for the sentence: the file, and what writes such files */
    const void *context;        /* as the take functions of the tables want it */
    sw_error *err;
    sw_status status;
    char place[96]; /* what is being read: "tile B2, east edge"; "" at the top */
} sw_reading;

/* Remembers what is wrong with the file: the end of a sentence that begins with the place ("\"at_mm\" is no list"). */
__attribute__((format(printf, 2, 3))) void sw_read_wrong(sw_reading *r, const char *format, ...);
/* A sentence for memory that is out. */
void sw_read_no_memory(sw_reading *r);
/* Goes into a place ("tile B2" becomes "tile B2, east edge"). Returns the length of the one before, to cut it again. */
__attribute__((format(printf, 2, 3))) size_t sw_read_within(sw_reading *r, const char *format, ...);
/* An array of count + 1 zeroed elements, so that none at all is no failure, for free(); NULL when memory is out or r
 * failed. */
void *sw_read_room(sw_reading *r, size_t count, size_t size);

#endif
