/* seamwright.h - all of the library: measure the seams of a table of square tiles from one overhead photo, and plan what
 * to sand.
 *
 * sw_photo_load, then sw_inspect (inspect.h) goes the whole way from a photo to an inspection; sw_report_write puts it on
 * disk; sw_plan_make, sw_recheck_make and sw_arrange go on from there. The headers of the stages say what each result
 * means. Thread use: no global state; different photos may be inspected in different threads.
 *
 * Memory that runs out is SW_NO_MEMORY wherever the code is ours. Libraries below do not all pass it on: Clp and the
 * C++ library may abort the process, fontconfig (pictures, strips, cards) may draw with another font or wait for memory
 * for ever. The program runs every command in a child process for that; do the same where it matters to you.
 *
 * No ABI promise before 1.0: build a program anew with every version of the library.
 */
#ifndef SEAMWRIGHT_SEAMWRIGHT_H
#define SEAMWRIGHT_SEAMWRIGHT_H

#include "seamwright/arrange.h"
#include "seamwright/budget.h"
#include "seamwright/card.h"
#include "seamwright/defaults_and_ranges.h"
#include "seamwright/earlier.h"
#include "seamwright/inspect.h"
#include "seamwright/inspection.h"
#include "seamwright/layout.h"
#include "seamwright/mark.h"
#include "seamwright/page.h"
#include "seamwright/paper.h"
#include "seamwright/photo.h"
#include "seamwright/plan.h"
#include "seamwright/recheck.h"
#include "seamwright/repeat.h"
#include "seamwright/report.h"
#include "seamwright/scale.h"
#include "seamwright/seam.h"
#include "seamwright/status.h"
#include "seamwright/table.h"
#include "seamwright/tile.h"

#endif
