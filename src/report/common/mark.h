/* mark.h - by what an inspection is known again: a number that is another one for nearly every other inspection. */
#ifndef SW_REPORT_COMMON_MARK_H
#define SW_REPORT_COMMON_MARK_H

#include "seamwright/inspection.h"

enum { SW_MARK_ROOM = 17 };

/* 16 hexadecimal digits, from the table's size, the rims and the gaps as inspection.json holds them, so that an inspection
 * and what is read from its file have the same. */
void sw_mark_of(const sw_inspection *ins, char mark[SW_MARK_ROOM]);

#endif
