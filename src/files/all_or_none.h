/* all_or_none.h - the files of one result, put into a folder: all of them or none.
 *
 * A folder that is not there, or is replaced whole, is filled beside its place and renamed. Into one that is there, and
 * may hold an inspection and somebody's notes, each file is made under a name of its own; when all are whole they take
 * their names, and should one fail to, everything goes back.
 */
#ifndef SW_FILES_ALL_OR_NONE_H
#define SW_FILES_ALL_OR_NONE_H

#include <stddef.h>

#include "files/overwrite.h"

enum { SW_FILES_MOST = 7 };

typedef struct sw_files {
    sw_overwrite rule;
    size_t count; /* how many of the rule's names are written, from the first; at most SW_FILES_MOST */
    /* Writes the file at paths[which]; those before it are written already. */
    sw_status (*write)(size_t which, char *const *paths, const void *context, sw_error *err);
    const void *context;
} sw_files;

/* SW_CANNOT_WRITE, SW_NO_MEMORY, and what sw_overwrite_check and write return. On failure the folder is as it was. */
sw_status sw_files_write(const sw_files *files, const char *folder, sw_error *err);

/* Would a folder of SW_OVERWRITE_WHOLE be taken? Made beside it, and removed. */
sw_status sw_files_check(const sw_overwrite *rule, const char *folder, sw_error *err);

#endif
