/* overwrite.h - the rule for overwriting a folder: what in it is ours to replace, and what is left alone.
 *
 * Whoever writes says which files are his, and by which files he knows a folder of ours. */
#ifndef SW_FILES_OVERWRITE_H
#define SW_FILES_OVERWRITE_H

#include <stdbool.h>

#include "files/stage.h"
#include "seamwright/status.h"

/* Files that are written together, and the one that shows whose they are: it says this of its own format. Without it
 * files of these names are somebody's. */
typedef struct sw_group {
    const char *proof, *format;
    const char *const *names; /* NULL behind the last; proof is one of them */
} sw_group;

/* What our commands write into folders; a proof of NULL behind the last. */
extern const sw_group SW_GROUPS[];

typedef enum sw_overwriting {
    SW_OVERWRITE_WHOLE, /* a folder that is ours or empty is made anew: files of all groups that are ours and not written
                           go, for they followed from what is replaced. What else lies in it stays. Never the current
                           folder: whoever stands in it would stand in the old one */
    SW_OVERWRITE_IN_OURS, /* files go into a folder that is ours or empty */
    SW_OVERWRITE_IN_ANY   /* files go into any folder */
} sw_overwriting;

typedef struct sw_overwrite {
    sw_overwriting how;
    const sw_group *groups;    /* all that can be in such a folder */
    const char *const *proofs; /* any of these groups' proofs shows that the folder is ours; NULL behind the last */
    const char *deny;          /* ends the sentence of a refusal that begins with the folder */
    const char *deny_file;     /* and of one that begins with a file in it */
    const char *no_folder;     /* ends the sentence for a file where the folder should be */
} sw_overwrite;

/* May the folder be written to? *exists tells whether it is there. SW_BAD_INPUT: it has no name; SW_CANNOT_WRITE. */
sw_status sw_overwrite_check(const sw_overwrite *rule, const char *folder, bool *exists, sw_error *err);

/* What writing these files (names, NULL behind the last, all of the rule's groups) changes in the folder. SW_CANNOT_WRITE:
 * something of one of the names is not ours. */
sw_status sw_overwrite_changes(const sw_overwrite *rule, const char *folder, const char *const *names,
                               sw_changes *changes, sw_error *err);

/* Is it the folder the program works in? */
bool sw_overwrite_is_current(const char *folder);

#endif
