/* real.h - what the tests on real photos share. The photos are not part of the project: they lie in the folder that
 * SEAMWRIGHT_SHARED names, else in ../shared beside the source folder. */
#ifndef SW_REAL_REAL_H
#define SW_REAL_REAL_H

#include <stddef.h>

#include "scale/squares.h"
#include "seamwright/photo.h"

/* Exit status that CTest takes for "skipped" (SKIP_RETURN_CODE in tests/CMakeLists.txt). */
enum { REAL_SKIPPED = 77 };

/* Path of a file of ../shared/real/FOLDER; file "" is the folder. */
void real_path(char *path, size_t room, const char *folder, const char *file);

/* 1 when the folder is there; else says what is missing, and 0. */
int real_is_there(const char *folder);

/* Loads ../shared/real/FOLDER/FILE; the running test fails when it cannot. Free with sw_photo_free. */
void real_load(const char *folder, const char *file, sw_photo *photo);

/* How the photo's stored values are to be taken: as sw_photo_load does it, or as being proportional to light already.
 */
typedef enum real_curve { REAL_SRGB, REAL_STRAIGHT, REAL_CURVES } real_curve;
extern const char *const REAL_CURVE_NAMES[REAL_CURVES];

/* Fills photo->linear for that curve. */
void real_set_curve(sw_photo *photo, real_curve curve);

/* Reads the outer sides of a dark square from rough corners: once to come near, once as the scale stage reads a plain
 * square. corners become the crossings of the sides' lines. Returns 0, or -1 when a side was not read well. */
int real_read_square(const sw_photo *photo, const sw_response *response, sw_point corners[4], sw_rim_square *rim,
                     sw_esf *esf);

/* Where the pooled edge passes half-way between its levels in the light that the curve makes of the stored values, px
 * from the place that divides its area; + on the bright side. 0 for an edge that is symmetric in that light. */
double real_half_way_px(const sw_photo *photo, const sw_esf *esf);

#endif
