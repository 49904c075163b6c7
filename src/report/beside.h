/* beside.h - a few files put into a folder beside what lies there: all of them or none. */
#ifndef SEAMWRIGHT_REPORT_BESIDE_H
#define SEAMWRIGHT_REPORT_BESIDE_H

#include <stddef.h>

#include "seamwright/status.h"

enum { SW_BESIDE_MOST = 4 };

typedef struct sw_beside {
    const char *folder;
    int made; /* the folder was not there */
    size_t count;
    char *part[SW_BESIDE_MOST];   /* where each file is written */
    char *target[SW_BESIDE_MOST]; /* where it shall be */
    int done;
} sw_beside;

/* Makes the folder when it is not there. names: of the files, at most SW_BESIDE_MOST. On failure nothing is left and
 * *beside is zeroed. SW_CANNOT_WRITE. */
sw_status sw_beside_begin(sw_beside *beside, const char *folder, const char *const *names, size_t count, sw_error *err);
/* Renames every part to its target; when one cannot be, those before it are put back. */
sw_status sw_beside_finish(sw_beside *beside, sw_error *err);
/* Removes what was begun and not finished, and frees. Fine after success, too. */
void sw_beside_end(sw_beside *beside);

#endif
