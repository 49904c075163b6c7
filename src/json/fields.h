/* fields.h - how a struct stands in a JSON file, member by member.
 *
 * A table has one line a member, and the writer and the strict reader both walk it: nothing is written one way and read
 * another. To add a member to a file, add a line to its table:
 *
 *     {"bow_mm", SW_MUST, SW_FIGURE(sw_edge, bow_mm, 4)},
 */
#ifndef SW_JSON_FIELDS_H
#define SW_JSON_FIELDS_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/status.h"
#include "json/json.h"

/* Whether a member is read back. */
typedef enum sw_need {
    SW_WRITTEN = 0, /* never read */
    SW_MAY,         /* where the file lacks it, the struct keeps what it held */
    SW_MUST
} sw_need;

/* What a writer carries along. */
typedef struct sw_putting {
    const void *context; /* as the put functions of the tables want it */
    bool failed;         /* memory is out */
} sw_putting;

/* A reading of a file that nobody vouches for. It remembers the first thing that was wrong, as a status and a sentence in
 * err; every later step then does nothing, so that readers need not look after each line. */
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

/* One line. */
typedef struct sw_field sw_field;
/* The member as a new value, NULL when memory is out. */
typedef json_t *sw_put(const sw_field *field, const void *at, sw_putting *p);
/* The member from a value. */
typedef void sw_take(sw_reading *r, const sw_field *field, const json_t *value, void *at);

/* What a value is that has a writer of its own and no reader. */
typedef enum sw_is { SW_IS_ANYTHING, SW_IS_NUMBER, SW_IS_TEXT, SW_IS_FLAG, SW_IS_LIST, SW_IS_OBJECT } sw_is;

struct sw_field {
    const char *key; /* NULL: not a member of its own, `of` lists members of the same object (a part, columns) */
    sw_need need;
    sw_put *put;
    sw_take *take;
    sw_is is;      /* of what is only written, where `put` does not tell; null is always fine */
    size_t at;     /* where the member lies in its struct; 0 where put and take want the struct itself */
    size_t size;   /* of the member; of a list's or an array's element */
    size_t beside; /* where a list's count lies in the struct, a size_t; an edge's side */
    int decimals;
    double least, most;       /* of numbers read; both 0: no limits */
    const sw_field *of;       /* table of an object and of elements */
    size_t lines;             /* of that table */
    const char *(*name)(int); /* of an enum's value, of an array's element; NULL: null */
    int names;                /* how many of them, from 0 */
    sw_put *put_item;         /* of a list's elements */
    sw_take *take_item;
    bool inside;                    /* a list's elements lie in the struct itself, not behind a pointer */
    bool rises;                     /* from row to row of a column */
    const char *where;              /* an element, for the sentence: "seam"; of an array "corner %s" */
    const char *says;               /* end of the sentence "\"key\" ...", whatever is wrong; NULL: one that fits */
    bool (*when)(const void *from); /* not written where this says no */
};

static inline void *sw_struct_of(const sw_field *field, const void *at)
{
    return (char *)at - field->at;
}

/* ---- kinds of members; double, int ... say what the struct must hold ---- */

sw_put sw_put_figure, sw_put_positive, sw_put_whole, sw_put_flag, sw_put_text, sw_put_text_or_null, sw_put_string,
    sw_put_word, sw_put_object, sw_put_named, sw_put_list;
sw_take sw_take_figure, sw_take_number, sw_take_positive, sw_take_whole, sw_take_flag, sw_take_text, sw_take_word,
    sw_take_object, sw_take_named, sw_take_list, sw_take_columns;

#define SW_MEMBER(type, member) .at = offsetof(type, member), .size = sizeof((type *)0)->member
#define SW_ELEMENTS(type, member) .at = offsetof(type, member), .size = sizeof *((type *)0)->member
#define SW_TABLE(table) .of = table, .lines = sizeof table / sizeof *table
/* A double; another type is a warning. */
#define SW_DOUBLE(type, member, places, low, high)                                                                     \
    .at = offsetof(type, member), .size = sizeof *(1 ? &((type *)0)->member : (double *)0), .decimals = places,        \
    .least = low, .most = high

/* null for NaN, and for anything infinite. No table is a kilometre wide, and no other figure is larger. */
#define SW_FIGURE(type, member, places)                                                                                \
    SW_DOUBLE(type, member, places, -1e6, 1e6), .put = sw_put_figure, .take = sw_take_figure
/* A figure of a column that rises from row to row. */
#define SW_PLACE(type, member, places) SW_FIGURE(type, member, places), .rises = true
/* null for 0 and below. */
#define SW_POSITIVE(type, member, places)                                                                              \
    SW_DOUBLE(type, member, places, -1e6, 1e6), .put = sw_put_positive, .take = sw_take_positive
/* Never null. */
#define SW_NUMBER(type, member, places, low, high)                                                                     \
    SW_DOUBLE(type, member, places, low, high), .put = sw_put_figure, .take = sw_take_number
/* int; written only, size_t too. */
#define SW_WHOLE(type, member, low, high)                                                                              \
    SW_MEMBER(type, member), .least = low, .most = high, .put = sw_put_whole, .take = sw_take_whole
/* bool or int. */
#define SW_FLAG(type, member) SW_MEMBER(type, member), .put = sw_put_flag, .take = sw_take_flag
/* char[], as UTF-8. */
#define SW_TEXT(type, member) SW_MEMBER(type, member), .put = sw_put_text, .take = sw_take_text
/* null for "". */
#define SW_TEXT_OR_NULL(type, member) SW_MEMBER(type, member), .put = sw_put_text_or_null, .take = sw_take_text
/* const char *, null for NULL; written only. */
#define SW_STRING(type, member) SW_MEMBER(type, member), .put = sw_put_string
/* An enum by the names of its first `count` values. */
#define SW_WORD(type, member, word, count)                                                                             \
    SW_MEMBER(type, member), .name = word, .names = count, .put = sw_put_word, .take = sw_take_word
/* A struct; some members of the same struct as an object. */
#define SW_OBJECT(type, member, table)                                                                                 \
    SW_MEMBER(type, member), SW_TABLE(table), .put = sw_put_object, .take = sw_take_object
#define SW_PART(table) SW_TABLE(table), .put = sw_put_object, .take = sw_take_object
/* An array of structs, each a member of an object by its name. */
#define SW_NAMED(type, member, table, word, count, sentence)                                                           \
    SW_ELEMENTS(type, member), SW_TABLE(table), .name = word, .names = count, .where = sentence, .put = sw_put_named,  \
                                                .take = sw_take_named
/* Structs behind a pointer and their count. The reader may have a function of its own. */
#define SW_LIST(type, member, counter, table, element)                                                                 \
    SW_LIST_TAKEN_BY(sw_take_list, type, member, counter, table, element)
#define SW_LIST_TAKEN_BY(taker, type, member, counter, table, element)                                                 \
    SW_ELEMENTS(type, member), .beside = offsetof(type, counter), SW_TABLE(table), .where = element,                   \
                               .put_item = sw_put_object, .take_item = sw_take_object, .put = sw_put_list,             \
                               .take = taker
/* Values behind a pointer and their count. */
#define SW_LIST_OF(kind, type, member, counter)                                                                        \
    SW_ELEMENTS(type, member), .beside = offsetof(type, counter), .put_item = sw_put_##kind,                           \
                               .take_item = sw_take_##kind, .put = sw_put_list, .take = sw_take_list
/* As list; in the file one list for each of the elements' members, all in the object that the line is for. */
#define SW_COLUMNS(type, member, counter, table)                                                                       \
    SW_ELEMENTS(type, member), .beside = offsetof(type, counter), SW_TABLE(table), .take = sw_take_columns
/* A line that only looks at what the lines before it have read, or presets what those after it may not find: its
 * `value` is the whole object, `at` the struct. After columns it is called for each row, with NULL for the object. */
#define SW_STEP(function)                                                                                              \
    {                                                                                                                  \
        .need = SW_MAY, .take = function                                                                               \
    }

/* A word function for a table from one that takes an enum. */
#define SW_WORDS(word, type, name_of)                                                                                  \
    static const char *word(int i)                                                                                     \
    {                                                                                                                  \
        return name_of((type)i);                                                                                       \
    }

/* ---- files ---- */

typedef struct sw_json_kind {
    const char *format;
    const sw_field *of; /* SW_TABLE */
    size_t lines;
    /* For what is read too: */
    const char *what, *no; /* "inspection", "not an inspection" */
    const char *file;      /* "inspection.json" */
    const char *command;   /* "inspect": that writes it */
    size_t most_bytes;     /* what is larger is something else */
} sw_json_kind;

/* The struct as a tree with format and version at its head, for json_decref; NULL when memory is out. */
json_t *sw_json_tree(const sw_json_kind *kind, const void *from, const void *context);
/* The same as a file at path. */
sw_status sw_json_write(const sw_json_kind *kind, const void *from, const void *context, const char *path,
                        sw_error *err);
/* The struct from the text of a file, or (text NULL) from the file at path. What the struct owns is its caller's to
 * free, also after a failure. SW_CANNOT_READ; SW_BAD_INPUT: no such file, or anything wrong in it; SW_NO_MEMORY. */
sw_status sw_json_take(const sw_json_kind *kind, const char *path, const char *text, size_t length, const void *context,
                       void *to, sw_error *err);

#endif
