/* inspect.h - several photos of one table made into one inspection. */
#ifndef SEAMWRIGHT_INSPECT_H
#define SEAMWRIGHT_INSPECT_H

#include <stddef.h>

#include "seamwright/report.h"
#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Combines the inspections of `count` photos (2 or more) of the same, untouched table, each made by sw_inspect with the
 * same options. They are only read and stay the caller's. Tables that lie turned by quarter turns against the first
 * photo's are turned back: the turn is the one whose gaps fit the first photo's best.
 *
 * On success *combined is filled, in the first photo's names, frame and stations, with `repeatability`; free it with
 * sw_inspection_free. Every figure is a weighted mean; with v_k the larger of the photo's own random variance and the
 * variance between photos, c the part of the stated standard uncertainty that is taken to be common to all photos, w_k
 * = 1 / v_k: u^2 = sum w_k^2 v_k / (sum w_k)^2 + c^2, never more than the photos' own stated u^2 (JCGM
 * 100:2008, 4.2.3, 4.2.4 and 5.2.2; ISO 5725-2). Where the photos disagree by more than stated (chi-square, 95 %), all
 * stated parts are first widened by the ratio of the two. Verdicts and advice are made from the combined figures.
 * Seams that differ from the first photo's by far more than their uncertainty are not averaged: photos that differ are
 * left out there, the uncertainty is widened to the difference, and a warning names them.
 *
 * SW_BAD_INPUT: a photo does not show the table that the first one shows (other counts or sizes of tiles, or most seams
 * differ), or is the same picture as an earlier one. *combined is then zeroed. */
sw_status sw_inspection_combine(const sw_inspection *photos, size_t count, sw_inspection *combined, sw_error *err);

#ifdef __cplusplus
}
#endif
#endif
