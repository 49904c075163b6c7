/* read.h - taking values out of a JSON tree that nobody vouches for.
 *
 * A sw_reading remembers the first thing that was wrong, as a status and a sentence in err; every later call then does
 * nothing and returns an empty value, so that readers need not look after each line.
 */
#ifndef SW_REPORT_COMMON_READ_H
#define SW_REPORT_COMMON_READ_H

#include <jansson.h>

#include "seamwright/report.h"

typedef struct sw_reading {
    const char *path; /* for the sentence */
    sw_error *err;
    sw_status status;
    char place[64]; /* what is being read: "tile B2, east edge"; "" at the top */
} sw_reading;

/* What a file should be, for the sentence when it is not. */
typedef struct sw_read_kind {
    const char *what;    /* "plan" */
    const char *file;    /* "plan.json" */
    const char *command; /* "plan": that writes it */
} sw_read_kind;

/* All of a file into *text, for free(), without a zero at its end. NULL and 0 on failure: SW_CANNOT_READ, SW_BAD_INPUT
 * for one that is too large to be what it should, SW_NO_MEMORY. */
sw_status sw_read_file(const char *path, const sw_read_kind *kind, char **text, size_t *length, sw_error *err);

/* Whether a member must be there. One that must may still be null, when it is a figure. */
typedef enum sw_need { SW_MAY = 0, SW_MUST } sw_need;

/* Remembers what is wrong with the file: the end of a sentence that begins with the place ("\"at_mm\" is no list"). */
__attribute__((format(printf, 2, 3))) void sw_read_wrong(sw_reading *r, const char *format, ...);
/* A sentence for memory that is out. */
void sw_read_no_memory(sw_reading *r);
/* Where the reading is, for the sentence. */
__attribute__((format(printf, 2, 3))) void sw_read_at(sw_reading *r, const char *format, ...);

/* Members of an object. `instead` is the value of one that is not there. */
json_t *sw_read_object(sw_reading *r, const json_t *from, const char *key, sw_need need);
/* null counts as an empty list; so does a list that is not there, when it may be missing: NULL. */
json_t *sw_read_list(sw_reading *r, const json_t *from, const char *key, sw_need need);
/* A length, angle or other figure, null: NaN. Anything beyond +-1e6 is no figure of a table. */
double sw_read_number(sw_reading *r, const json_t *from, const char *key, sw_need need, double instead);
int sw_read_whole(sw_reading *r, const json_t *from, const char *key, int least, int most, sw_need need, int instead);
/* 1, 0, or `instead`. */
int sw_read_flag(sw_reading *r, const json_t *from, const char *key, int instead);
/* Text into out, cut at its room; "" for null or nothing. */
void sw_read_text(sw_reading *r, const json_t *from, const char *key, sw_need need, char *out, size_t room);
/* One figure of a list, null: NaN. */
double sw_read_item(sw_reading *r, const json_t *list, size_t i, const char *key);
/* A place along an edge or seam: a figure that is there and lies beyond `last`. */
double sw_read_place(sw_reading *r, const json_t *list, size_t i, double last);
/* Index of text among `count` names, -1 and a sentence when it is none of them. */
int sw_read_choice(sw_reading *r, const json_t *text, const char *key, const char *(*name)(int), int count);
/* An array of count + 1 zeroed elements, so that none at all is no failure; NULL when memory is out or r failed. */
void *sw_read_room(sw_reading *r, size_t count, size_t size);

/* "B2" -> its column and row, from 0; 0 when the text is no tile's name. */
int sw_read_tile_name(const char *text, int *column, int *row);
/* "B2 east" -> index of the tile and side. 0 when it is no edge of this table. */
int sw_read_edge_name(const sw_inspection *ins, const char *text, int *tile, sw_side *side);

/* Chips whose edges `belongs` accepts. */
typedef int sw_read_belongs(const sw_chip *chip, const void *context);
void sw_read_chips(sw_reading *r, const sw_inspection *ins, const json_t *list, sw_read_belongs *belongs,
                   const void *context, sw_chip **chips, size_t *count);
/* State number i: from the list of states or, where there is none, "ok" for a figure and "unseen" for NaN. */
sw_station_state sw_read_state(sw_reading *r, const json_t *states, size_t i, double figure);

#endif
