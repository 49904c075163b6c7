/* folder.h - a folder of results that appears whole or not at all.
 *
 * It is filled under a name of its own beside its target (same file system, so that a rename suffices), then takes the
 * target's place. Between sw_folder_begin and a successful sw_folder_finish the target is untouched.
 */
#ifndef SW_FILES_FOLDER_H
#define SW_FILES_FOLDER_H

#include "seamwright/status.h"

typedef struct sw_folder {
    char *target; /* where it shall be; symbolic links resolved when it exists */
    char *part;   /* where it is filled; NULL once finished */
    int exists;   /* the target is there already, and may be replaced */
} sw_folder;

/* Makes the part folder. An existing target is accepted only when it is empty or holds an inspection.json of ours, and
 * is not the current folder. On failure nothing is left and *folder is zeroed. */
sw_status sw_folder_begin(sw_folder *folder, const char *target, sw_error *err);

/* Puts the part in the target's place. Files in a former target that are no report files of ours (a plan, a user's
 * notes) are carried over. */
sw_status sw_folder_finish(sw_folder *folder, sw_error *err);

/* Removes what was begun and not finished, and frees. Fine after success, too. */
void sw_folder_end(sw_folder *folder);

/* folder/name, for free(); NULL when memory is out. */
char *sw_folder_path(const char *folder, const char *name);

/* 1 when it holds nothing, 0 when it holds something, -1 when it cannot be read. */
int sw_folder_is_empty(const char *path);

/* Files that show that a folder is ours: each says its own format. */
typedef enum sw_folder_proof {
    SW_FOLDER_INSPECTION = 1, /* inspection.json */
    SW_FOLDER_PLAN = 2,       /* plan.json */
    SW_FOLDER_RECHECK = 4,    /* recheck.json */
    SW_FOLDER_ARRANGE = 8     /* arrange.json */
} sw_folder_proof;

/* 1 when it holds one of these files, and the file is what its name says. */
int sw_folder_is_ours(const char *path, unsigned proofs);

#endif
