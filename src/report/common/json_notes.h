/* json_notes.h - notes in JSON files: "warnings", the sentences alone, and "notes", the same with kind and places. */
#ifndef SW_REPORT_COMMON_JSON_NOTES_H
#define SW_REPORT_COMMON_JSON_NOTES_H

#include "seamwright/note.h"
#include "json/fields.h"

/* The texts of a struct's notes. Read, they are notes of no known kind: a file of before there were notes. */
#define SW_SENTENCES(type, notes) .at = offsetof(type, notes), .put = sw_put_sentences, .take = sw_take_sentences
json_t *sw_put_sentences(const sw_field *field, const void *at, sw_putting *p);
void sw_take_sentences(sw_reading *r, const sw_field *field, const json_t *value, void *at);

/* The notes themselves, and after them those of `more` (which may be the same: none). Read, they take the place of what
 * was read before. */
#define SW_NOTES(type, notes) SW_NOTES_AND(type, notes, notes)
#define SW_NOTES_AND(type, notes, more)                                                                                \
    .at = offsetof(type, notes), .beside = offsetof(type, more), .put = sw_put_notes, .take = sw_take_notes
json_t *sw_put_notes(const sw_field *field, const void *at, sw_putting *p);
void sw_take_notes(sw_reading *r, const sw_field *field, const json_t *value, void *at);

#endif
