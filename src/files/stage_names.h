/* stage_names.h - the parts of a stage, and the note in it of what it changes. */
#ifndef SW_FILES_STAGE_NAMES_H
#define SW_FILES_STAGE_NAMES_H

#include "files/stage.h"

#define SW_STAGE_NAMES "names"
#define SW_STAGE_NEW "new"
#define SW_STAGE_OLD "old"
#define SW_STAGE_GONE "gone"

typedef struct sw_stage_noted {
    sw_changes changes;
    unsigned long long fresh; /* the number by which the file system knew `new` before it was exchanged */
} sw_stage_noted;

/* false: there is none, it is not whole, or it is of another target. */
bool sw_stage_read_note(const char *folder, const char *target, sw_stage_noted *noted);

#endif
