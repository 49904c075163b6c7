/* removal_words.h - a removal profile in plain words. */
#ifndef SW_PLAN_REMOVAL_WORDS_H
#define SW_PLAN_REMOVAL_WORDS_H

#include <stddef.h>

#include "seamwright/plan.h"

/* "take 0.8 mm off at the north end, less and less to nothing at 190 mm; nothing from there on" into text. */
void sw_removal_words(const sw_edge_plan *edge, char *text, size_t room);
/* "from its north end to 190 mm, at most 0.8 mm off": where a strip has the rest. */
void sw_removal_words_short(const sw_edge_plan *edge, char *text, size_t room);

#endif
