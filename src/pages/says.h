/* says.h - parts of a page's sentences. */
#ifndef SW_PAGES_SAYS_H
#define SW_PAGES_SAYS_H

#include <jansson.h>

#include "report/common/sheet.h"
#include "seamwright/page.h"

/* The sheet's text as a value; frees it. NULL: memory is out. */
json_t *sw_say(sw_sheet *sheet);
void sw_say_set(json_t *to, const char *key, sw_sheet *sheet, bool *failed);

/* "promise", "work", "amount", "proposal", "cannot", "try_square", "strips"; plan may be NULL. */
void sw_say_plan(json_t *to, const sw_plan *plan, const sw_inspection *first, bool *failed);
/* "seam_text". */
void sw_say_seams(json_t *to, const sw_inspection *of, bool *failed);
/* "tops": how high they stand, the steps against their limit, what to do about them; empty where neither is known nor asked.
 */
void sw_say_tops(json_t *to, const sw_inspection *of, bool *failed);
/* "marks": [{"seam", "text"}], a seam with half-way marks each. */
void sw_say_marks(json_t *to, const sw_inspection *of, bool *failed);
/* "arrangement"; arrangement may be NULL. */
void sw_say_arrangement(json_t *to, const sw_arrangement *arrangement, const sw_inspection *first, bool *failed);

#endif
