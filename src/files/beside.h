/* beside.h - a few files put into a folder beside what lies there: all of them or none.
 *
 * A folder that is not there is filled beside its place and renamed, so that it is there whole or not at all. In one
 * that is, which may hold an inspection and somebody's notes, each file is made under a name of its own; when all are
 * whole, older ones step aside, the new ones take their names, and should one fail to, everything goes back.
 */
#ifndef SW_FILES_BESIDE_H
#define SW_FILES_BESIDE_H

#include <stddef.h>

#include "files/folder.h"

enum { SW_BESIDE_MOST = 4 };

typedef struct sw_beside {
    const char *const *names; /* of the files, `count` of them, at most SW_BESIDE_MOST */
    size_t count;
    /* Writes the file that names[which] will be. */
    sw_status (*write)(size_t which, const char *path, const void *context, sw_error *err);
    const void *context;
    unsigned ours; /* sw_folder_proof: any of these files shows that the folder is ours, so that files of these names
                      may be replaced */
    int only_ours; /* any other folder is refused unless it is empty; else only when a file of these names is there */
    const char *deny;      /* ends the sentence of that refusal, which begins with the folder or with the file */
    const char *no_folder; /* ends the sentence for a file where the folder should be */
} sw_beside;

/* SW_BAD_INPUT: a folder without a name; SW_CANNOT_WRITE, SW_NO_MEMORY, and what write returns. On failure the folder
 * is as it was. */
sw_status sw_beside_write(const sw_beside *files, const char *folder, sw_error *err);

#endif
