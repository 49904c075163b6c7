/* folder.h - a folder of results that appears whole or not at all.
 *
 * It is filled under a name of its own beside its target (same file system, so that a rename suffices), then takes the
 * target's place. Between sw_folder_begin and a successful sw_folder_finish the target is untouched.
 */
#ifndef SW_FILES_FOLDER_H
#define SW_FILES_FOLDER_H

#include "files/overwrite.h"

typedef struct sw_folder {
    const sw_overwrite *rule;
    char *target; /* where it shall be; symbolic links resolved when it exists */
    char *part;   /* where it is filled; NULL once finished */
} sw_folder;

/* Makes the part folder. What is at the target must pass sw_overwrite_check. On failure nothing is left and *folder is
 * zeroed. */
sw_status sw_folder_begin(sw_folder *folder, const char *target, const sw_overwrite *rule, sw_error *err);

/* Puts the part in the target's place. Files in a former target that are not ours by the rule (a plan, a user's notes)
 * are carried over. */
sw_status sw_folder_finish(sw_folder *folder, sw_error *err);

/* Removes what was begun and not finished, and frees. Fine after success, too. */
void sw_folder_end(sw_folder *folder);

#endif
