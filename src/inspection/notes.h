/* notes.h - what the inside needs of notes beyond seamwright/note.h. */
#ifndef SW_INSPECTION_NOTES_H
#define SW_INSPECTION_NOTES_H

#include <stdbool.h>

#include "seamwright/note.h"

/* The kind of this name; SW_NOTE_OTHER when there is none, so that files of later versions can be read. */
sw_note_kind sw_note_kind_of(const char *name);

/* A status of sw_note_add, with its sentence. */
sw_status sw_noted(sw_status status, sw_error *err);

/* Whether two notes agree in everything. */
bool sw_note_same(const sw_note *a, const sw_note *b);

#endif
