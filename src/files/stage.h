/* stage.h - where a result is made before it takes its place, and how what a run left there is put in order.
 *
 *     valley.seams              the target, a folder
 *     valley.seams.part-71-0/   one run's stage: beside the target, or in it under the same name
 *         names                 what the run changes in the target, written before anything else
 *         new/                  the new files; when the whole folder is exchanged, the old folder afterwards
 *         old/                  only when files take their places one by one: those that stood in the target before
 *         gone/                 `old` when all have taken their places
 *
 * At every moment the stage and the target together hold all that is needed to tell old from new, so the end of a run,
 * its failure, and what a killed one left are put in order by the same steps, sw_stage_settle.
 */
#ifndef SW_FILES_STAGE_H
#define SW_FILES_STAGE_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/status.h"

enum { SW_CHANGES_MOST = 16, SW_NAME_ROOM = 32 };

/* What happens to one of the target's files. */
typedef struct sw_change {
    char name[SW_NAME_ROOM];
    bool is_written, was_there; /* not written: it is removed */
} sw_change;

typedef struct sw_changes {
    sw_change list[SW_CHANGES_MOST];
    size_t count;
} sw_changes;

typedef struct sw_stage {
    char *target, *folder, *fresh; /* fresh: folder/new */
    const sw_changes *changes;
    int hold; /* sw_hold_end lets go */
} sw_stage;

bool sw_changes_name(const sw_changes *changes, const char *name);

/* Makes the stage, beside target or in it. changes and target must outlive it. On failure errno says why. */
sw_status sw_stage_begin(const char *target, bool inside, const sw_changes *changes, sw_stage *stage, sw_error *err);
/* Exchanges two folders of the stage to see whether this file system can; errno says why not. */
bool sw_stage_can_exchange(const sw_stage *stage);
/* Writes down what will be changed; from here on the files may be made in `fresh`. */
sw_status sw_stage_note(const sw_stage *stage, sw_error *err);
/* `fresh` and the target change places, in one step; where there is no target, fresh becomes it. false: errno. */
bool sw_stage_exchange(const sw_stage *stage, bool exists);
/* One file after the other takes its place. All old ones leave first, so that what is seen in between is part of the old
 * result or part of the new one, never of both. false: errno; sw_stage_end then takes all back. */
bool sw_stage_move_in(const sw_stage *stage);
/* Puts it in order and frees. */
void sw_stage_end(sw_stage *stage);

/* Puts a stage in order that lies at folder: a result that did not take its place wholly is undone, one that did is
 * finished, and the stage goes. What is not ours is never removed: it returns to the target, or the stage stays. */
void sw_stage_settle(const char *folder, const char *target);

/* What dead runs left of stages for this target. Reads one folder; nothing there: nothing happens. */
void sw_stage_recover(const char *target);

#endif
