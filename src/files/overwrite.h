/* overwrite.h - the rule for overwriting a folder: what in it is ours to replace, and what is left alone.
 *
 * Whoever writes says which files are his, and by which files he knows a folder of ours. */
#ifndef SW_FILES_OVERWRITE_H
#define SW_FILES_OVERWRITE_H

#include <stdbool.h>

#include "seamwright/status.h"

/* A file shows that its folder is ours if it says this of its own format. */
typedef struct sw_proof {
    const char *name, *format;
} sw_proof;

typedef enum sw_overwriting {
    SW_OVERWRITE_WHOLE, /* a folder that is ours or empty makes room for a new one; what else lay in it goes along. Never
                           the current folder: whoever stands in it would stand in the old one */
    SW_OVERWRITE_IN_OURS, /* files go into a folder that is ours or empty */
    SW_OVERWRITE_IN_ANY   /* files go into any folder, but replace one of their name in a folder of ours only */
} sw_overwriting;

typedef struct sw_overwrite {
    sw_overwriting how;
    const char *const *names; /* the files that are ours, NULL behind the last */
    const sw_proof *proofs;   /* any of them will do; a name of NULL behind the last */
    const char *deny;         /* ends the sentence of a refusal, which begins with the folder or the file */
    const char *no_folder;    /* ends the sentence for a file where the folder should be */
} sw_overwrite;

bool sw_overwrite_is_ours(const sw_overwrite *rule, const char *name);

/* May the folder be written to? *exists tells whether it is there. SW_BAD_INPUT: it has no name; SW_CANNOT_WRITE. */
sw_status sw_overwrite_check(const sw_overwrite *rule, const char *folder, bool *exists, sw_error *err);

#endif
