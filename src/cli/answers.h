/* answers.h - what a try square said: given with --lean, or kept in an earlier plan. */
#ifndef SW_CLI_ANSWERS_H
#define SW_CLI_ANSWERS_H

#include "seamwright/plan.h"

/* Begins zeroed; free with answers_free. */
typedef struct answers_given {
    char *text;  /* all that --lean said, with commas between */
    bool forget; /* --lean none: nothing that an earlier plan kept */
    sw_lean_answer *list;
    size_t count;
} answers_given;

/* One more --lean. */
sw_status answers_take(const char *text, answers_given *answers, sw_error *err);

/* Reads what was given, by the names in `first`, and adds what the plan.json in the first of the two folders that has
 * one kept of other edges. either may be NULL. A plan that cannot be read is said, and keeps nothing. -1 when all is
 * well, else the exit status. */
int answers_settle(answers_given *answers, const sw_inspection *first, const char *folder, const char *other);

/* Accepts NULL; zeroes. */
void answers_free(answers_given *answers);

#endif
