/* answers.h - what a try square said, checked against the photo. */
#ifndef SW_LEAN_ANSWERS_H
#define SW_LEAN_ANSWERS_H

#include "push/openings.h"
#include "seamwright/plan.h"

/* The answers that count: those given, but for such as the first inspection contradicts. Bases cannot overlap, so a
 * base that stands prouder than its seam is open has been bevelled since, or was misread; a note says so. SW_BAD_INPUT:
 * no such edge, out of range, an edge twice. *used for free(); NULL when there are none. */
sw_status sw_answers_used(const sw_lean_answer *given, size_t count, const sw_inspection *first,
                          const sw_openings *openings, sw_lean_answer **used, size_t *used_count, sw_notes *notes,
                          sw_error *err);

/* How surely an answer was read, mm. */
double sw_answer_u95_mm(const sw_lean_answer *answer);

#endif
