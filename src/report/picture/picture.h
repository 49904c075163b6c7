/* picture.h - pictures that a page draws on: which place of a picture is which place of the table.
 *
 * Each is a grey JPEG file whose comment says its geometry as JSON, so that whoever finds the file beside an
 * inspection.json can use it, and knows that it belongs to that inspection.
 *
 *   table.jpg   the table from straight above; the picture's top left corner is the place (west_mm, north_mm)
 *
 *   seams.jpg   the surroundings of every seam, one strip below the other in the inspection's order:
 *
 *        x = (at_mm - from_mm) px_per_mm
 *       +--------------------------------+
 *       |   east (upright), north (level)|  strip_px
 *       |- - start - - - - - - - end - - |     the seam's middle line is the strip's middle
 *       |                                |
 *       +--------------------------------+
 *       | the next seam                  |
 *
 * Places are counted from a picture's corner, so the centre of its top left pixel is at (0.5, 0.5).
 */
#ifndef SW_REPORT_PICTURE_PICTURE_H
#define SW_REPORT_PICTURE_PICTURE_H

#include <jansson.h>

#include "report/picture/window.h"

/* Width and height on the table, mm. */
typedef struct sw_bounds {
    double west_mm, east_mm, south_mm, north_mm;
} sw_bounds;

/* Round all corners and seams. SW_BAD_INPUT where there is no table. path: for the sentence. */
sw_status sw_bounds_of(const sw_inspection *inspection, const char *path, sw_bounds *bounds, sw_error *err);

typedef struct sw_picture {
    int width_px, height_px;
    double px_per_mm;
    double west_mm, north_mm; /* table.jpg */
    double from_mm;           /* seams.jpg */
    int strip_px, strips;
} sw_picture;

typedef enum sw_picture_of { SW_PICTURE_TABLE, SW_PICTURE_SEAMS } sw_picture_of;

/* How large the picture of an inspection is, and where its places are. */
sw_status sw_picture_table(const sw_inspection *inspection, const char *path, sw_picture *picture, sw_error *err);
sw_status sw_picture_seams(const sw_inspection *inspection, const char *path, sw_picture *picture, sw_error *err);

/* The file's comment, for free(); NULL when memory is out. */
char *sw_picture_comment(const sw_picture *picture, sw_picture_of of, const sw_inspection *inspection);
/* The picture as a page's data has it: its bytes and its geometry. JSON null where there is none (path may be NULL), or the
 * file is no picture of this inspection. SW_CANNOT_READ: one that is there cannot be read; SW_NO_MEMORY. */
sw_status sw_picture_data(const char *path, sw_picture_of of, const sw_inspection *inspection, json_t **data,
                          sw_error *err);

/* A grey picture as a JPEG file with that comment. */
sw_status sw_jpeg_save(const char *path, const unsigned char *pixels, int width_px, int height_px, const char *comment,
                       sw_error *err);
/* Size and comment of a JPEG file's bytes; the comment is for free(), NULL where it is no such file, is cut short, or says
 * nothing. False: memory is out. */
bool sw_jpeg_look(const unsigned char *bytes, size_t count, int *width_px, int *height_px, char **comment);

#endif
