/* all_or_none.h - the files of one result, put into a folder: all of them or none, in one step.
 *
 * A stage beside the target (stage.h) gets the new files and a second name (hard link) of everything else that lies in
 * the target; then the two folders change places. Where that cannot be (a file system that cannot exchange two names or
 * has no second names, the folder the program works in, a mount point, a parent folder that may not be written to), the
 * files take their places one after the other, the old ones first having left; a run that is killed there is undone by
 * the next one that reads or writes the folder.
 */
#ifndef SW_FILES_ALL_OR_NONE_H
#define SW_FILES_ALL_OR_NONE_H

#include <stddef.h>

#include "files/overwrite.h"

enum { SW_FILES_MOST = 12 };

typedef struct sw_files {
    sw_overwrite rule;
    const char *const *names; /* at most SW_FILES_MOST, all of the rule's groups; NULL behind the last */
    /* Writes the file at paths[which]; those before it are written already. */
    sw_status (*write)(size_t which, char *const *paths, const void *context, sw_error *err);
    const void *context;
} sw_files;

/* SW_CANNOT_WRITE, SW_NO_MEMORY, and what sw_overwrite_check and write return. On failure the folder is as it was. */
sw_status sw_files_write(const sw_files *files, const char *folder, sw_error *err);

/* Would a folder of SW_OVERWRITE_WHOLE be taken? A stage is made for it, and removed. */
sw_status sw_files_check(const sw_overwrite *rule, const char *folder, sw_error *err);

/* Before a file is read: puts in order what dead runs left of the folder it lies in. */
void sw_files_recover_beside(const char *file);

#endif
