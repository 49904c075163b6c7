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

#include "json/json.h"
#include "json/read.h"

typedef struct sw_field sw_field;

/* Whether a member is read back. */
typedef enum sw_need {
    SW_WRITTEN = 0, /* never read */
    SW_MAY,         /* where the file lacks it, the struct keeps what it held */
    SW_MUST
} sw_need;

typedef enum sw_as {
    SW_AS_OWN = 0,      /* put and take do it */
    SW_AS_FIGURE,       /* double; null for NaN, and for anything infinite */
    SW_AS_PLACE,        /* a figure of a column, that rises from row to row */
    SW_AS_POSITIVE,     /* a figure, null for 0 and below */
    SW_AS_NUMBER,       /* double; null will not do */
    SW_AS_WHOLE,        /* int or size_t */
    SW_AS_FLAG,         /* bool or int */
    SW_AS_TEXT,         /* char[], in the file as UTF-8 */
    SW_AS_TEXT_OR_NULL, /* null for "" */
    SW_AS_STRING,       /* const char *, null for NULL; written only */
    SW_AS_WORD,         /* enum */
    SW_AS_OBJECT,       /* struct; with at 0 and no key a part of the struct whose members stand in the same object */
    SW_AS_NAMED,        /* array of structs, each a member of an object by its name */
    SW_AS_LIST,         /* elements behind a pointer (or, `inside`, in the struct itself) and their count */
    SW_AS_COLUMNS       /* as list; in the file one list for each of the elements' members */
} sw_as;

/* A struct. */
typedef struct sw_fields {
    const sw_field *field;
    size_t count, size;
    /* Of reading, each may be NULL. start: before its members, says where the reading is and presets what may be
     * missing; check: after them, once nothing was wrong. In columns from is NULL, and start is not called. */
    void (*start)(sw_reading *r, const json_t *from, void *to);
    void (*check)(sw_reading *r, const json_t *from, void *to);
} sw_fields;

/* What a writer carries along. */
typedef struct sw_putting {
    const void *context; /* as the put functions of the tables want it */
    bool failed;         /* memory is out */
} sw_putting;

struct sw_field {
    const char *key;
    sw_need need;
    sw_as as, item; /* item: of a list's elements */
    size_t at;      /* where the member lies in its struct */
    size_t size;    /* of the member; of a list's or an array's element */
    size_t beside;  /* where a list's count lies, a size_t; an edge's side */
    int decimals;
    double least, most;       /* of numbers read; both 0: no limits */
    const sw_fields *of;      /* of an object and of elements */
    const char *(*name)(int); /* of an enum's value, of an array's element; NULL: null */
    int names;                /* how many of them, from 0 */
    const char *where;        /* of an array's element, for the sentence: "corner %s" */
    bool inside;
    const char *says;               /* end of the sentence "\"key\" ...", whatever is wrong; NULL: one that fits */
    bool (*when)(const void *from); /* not written where this says no */
    /* These do the work instead. from and to are the struct. */
    json_t *(*put)(const sw_field *field, const void *from, sw_putting *p); /* new value, NULL: out of memory */
    void (*take)(sw_reading *r, const sw_field *field, const json_t *value, void *to);
};

/* The member, and the type it must have: another one is a warning. */
#define SW_TYPED(type, member, as_type)                                                                                \
    .at = offsetof(type, member), .size = sizeof *(1 ? &((type *)0)->member : (as_type *)0)
#define SW_PLAIN(type, member) .at = offsetof(type, member), .size = sizeof((type *)0)->member
/* No table is a kilometre wide, and no other figure is larger. */
#define SW_FIGURE(type, member, places)                                                                                \
    .as = SW_AS_FIGURE, SW_TYPED(type, member, double), .decimals = places, .least = -1e6, .most = 1e6
#define SW_PLACE(type, member, places)                                                                                 \
    .as = SW_AS_PLACE, SW_TYPED(type, member, double), .decimals = places, .least = -1e6, .most = 1e6
#define SW_POSITIVE(type, member, places)                                                                              \
    .as = SW_AS_POSITIVE, SW_TYPED(type, member, double), .decimals = places, .least = -1e6, .most = 1e6
#define SW_NUMBER(type, member, places, low, high)                                                                     \
    .as = SW_AS_NUMBER, SW_TYPED(type, member, double), .decimals = places, .least = low, .most = high
#define SW_WHOLE(type, member, low, high) .as = SW_AS_WHOLE, SW_PLAIN(type, member), .least = low, .most = high
#define SW_FLAG(type, member) .as = SW_AS_FLAG, SW_PLAIN(type, member)
#define SW_TEXT(type, member) .as = SW_AS_TEXT, SW_PLAIN(type, member)
#define SW_TEXT_OR_NULL(type, member) .as = SW_AS_TEXT_OR_NULL, SW_PLAIN(type, member)
#define SW_STRING(type, member) .as = SW_AS_STRING, SW_PLAIN(type, member)
#define SW_WORD(type, member, word, count) .as = SW_AS_WORD, SW_PLAIN(type, member), .name = word, .names = count
#define SW_OBJECT(type, member, fields) .as = SW_AS_OBJECT, SW_PLAIN(type, member), .of = &fields
#define SW_PART(fields) .as = SW_AS_OBJECT, .of = &fields
#define SW_NAMED(type, member, fields, word, count, sentence)                                                          \
    .as = SW_AS_NAMED, .at = offsetof(type, member), .size = sizeof *((type *)0)->member, .of = &fields, .name = word, \
    .names = count, .where = sentence
#define SW_ELEMENTS(type, member, counter)                                                                             \
    .at = offsetof(type, member), .size = sizeof *((type *)0)->member, .beside = offsetof(type, counter)
#define SW_LIST(type, member, counter, fields)                                                                         \
    .as = SW_AS_LIST, .item = SW_AS_OBJECT, SW_ELEMENTS(type, member, counter), .of = &fields
#define SW_LIST_INSIDE(type, member, counter, fields) SW_LIST(type, member, counter, fields), .inside = true
#define SW_LIST_OF(kind, type, member, counter) .as = SW_AS_LIST, .item = kind, SW_ELEMENTS(type, member, counter)
#define SW_COLUMNS(type, member, counter, fields) .as = SW_AS_COLUMNS, SW_ELEMENTS(type, member, counter), .of = &fields

#define SW_FIELDS(fields, type) .field = fields, .count = sizeof fields / sizeof *fields, .size = sizeof(type)

/* A word function for a table from one that takes an enum. */
#define SW_WORDS(word, type, name_of)                                                                                  \
    static const char *word(int i)                                                                                     \
    {                                                                                                                  \
        return name_of((type)i);                                                                                       \
    }

/* The struct as a new object; NULL, or p->failed, when memory is out. */
json_t *sw_put_fields(const sw_fields *fields, const void *from, sw_putting *p);
/* The same with format and version at its head; NULL when memory is out. */
json_t *sw_put_file(const char *format, const sw_fields *fields, const void *from, const void *context);
/* The same as a file at path. */
sw_status sw_json_write(const char *format, const sw_fields *fields, const void *from, const void *context,
                        const char *path, sw_error *err);

/* The struct from an object. */
void sw_take_fields(sw_reading *r, const json_t *from, const sw_fields *fields, void *to);
/* A list as the table has it, for take functions that look at its length first or at its elements afterwards. */
void sw_take_list(sw_reading *r, const sw_field *field, const json_t *value, void *to);

/* What a file should be. */
typedef struct sw_json_kind {
    const char *what, *no; /* "inspection", "not an inspection" */
    const char *file;      /* "inspection.json" */
    const char *command;   /* "inspect": that writes it */
    const char *format;
    size_t most_bytes; /* what is larger is something else */
    const sw_fields *fields;
} sw_json_kind;

/* The struct from a file's text. What it must own is its caller's to free, also after a failure. SW_BAD_INPUT: no such
 * file, or anything wrong in it; SW_NO_MEMORY. */
sw_status sw_json_parse(const char *text, size_t length, const char *path, const sw_json_kind *kind,
                        const void *context, void *to, sw_error *err);
/* The same from the file itself. Also SW_CANNOT_READ. */
sw_status sw_json_read(const char *path, const sw_json_kind *kind, const void *context, void *to, sw_error *err);

#endif
