/* report.h - the writers that put an inspection on paper, screen and disk, and the reader that takes it back. */
#ifndef SEAMWRIGHT_REPORT_H
#define SEAMWRIGHT_REPORT_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/inspection.h"
#include "seamwright/photo.h"
#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Writers. Each makes one file at `path` (no temporary name; sw_report_write takes care of whole-or-nothing). */
SW_API sw_status sw_report_json(const sw_inspection *inspection, const char *path, sw_error *err);
SW_API sw_status sw_report_seams_csv(const sw_inspection *inspection, const char *path, sw_error *err);
SW_API sw_status sw_report_edges_csv(const sw_inspection *inspection, const char *path, sw_error *err);
/* The table seen straight from above, sampled from the photo, each seam drawn with its gap. */
SW_API sw_status sw_report_overlay(const sw_inspection *inspection, const sw_photo *photo, const char *path,
                                   sw_error *err);
/* Two grey pictures for a page (page.h) to draw on, JPEG: the table seen straight from above, and the surroundings of every
 * seam as fine as the photo is, a strip each, one below the other. Where they are on the table stands in the files (a comment,
 * as JSON). */
SW_API sw_status sw_report_table_picture(const sw_inspection *inspection, const sw_photo *photo, const char *path,
                                         sw_error *err);
SW_API sw_status sw_report_seams_picture(const sw_inspection *inspection, const sw_photo *photo, const char *path,
                                         sw_error *err);

/* The short text for a terminal: verdict, worst seams, next action. Returns a string that the caller frees with free(),
 * NULL when memory is out. */
SW_API char *sw_report_text(const sw_inspection *inspection, const char *folder);

/* Writes inspection.json, seams.csv, edges.csv and, if pictures, overlay.png, table.jpg, seams.jpg and report.html into
 * folder, which is made under a temporary name and then renamed, so that it is there whole or not at all. A folder that is
 * already there is replaced only if it holds an inspection of ours. More into one folder at once: page.h. */
SW_API sw_status sw_report_write(const sw_inspection *inspection, const sw_photo *photo, const char *folder,
                                 bool pictures, sw_error *err);

/* Would sw_report_write take this folder? Tried, to be known before the photo is measured; leaves nothing behind. */
SW_API sw_status sw_report_check_folder(const char *folder, sw_error *err);
/* The same for one file, a lens profile or a card: a folder or a device of that name is refused. */
SW_API sw_status sw_report_check_file(const char *path, sw_error *err);
/* Where a report goes if nothing else is said: the photo's path without its ending, plus ".seams". Returns a string that
 * the caller frees with free(), NULL when memory is out. */
SW_API char *sw_report_folder_of(const char *photo);

/* Reads an inspection.json that sw_report_json wrote, or one made by other means that holds the fields the format
 * promises. What the file lacks is worked out where it can be: a seam's upright, start and end, a tile's best square and
 * share seen, a rim's places on the table, states, step. A seam that the file lacks counts as not seen. Not in the file,
 * and 0 or empty after reading: all sw_parts and u_random, budgets, repeatability, and of the scale all but reference,
 * square count, px per mm, residual, edge spread, blur and the lens's source. Written again, an inspection without
 * budgets and repeatability gives the same bytes.
 *
 * Free with sw_inspection_free. SW_CANNOT_READ; SW_BAD_INPUT: over 64 MB, no inspection, a newer format, damaged,
 * contradictory. On failure *inspection is zeroed. */
SW_API sw_status sw_inspection_read(const char *path, sw_inspection *inspection, sw_error *err);

#ifdef __cplusplus
}
#endif
#endif
