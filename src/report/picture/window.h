/* window.h - the photo looked at through a window: a picture's pixels taken from the photo, in grey.
 *
 * Picture places: x to the right, y down, the centre of the top-left pixel at (0.5, 0.5).
 */
#ifndef SW_REPORT_PICTURE_WINDOW_H
#define SW_REPORT_PICTURE_WINDOW_H

#include <stddef.h>

#include "seamwright/inspection.h"

enum { SW_GREYS = 256 };

/* Where the photo (px) shows a place of the picture. */
typedef sw_point sw_window_place(const void *context, double x, double y);

/* Free with sw_window_free. */
typedef struct sw_window {
    const sw_photo *photo;
    int width_px, height_px;
    int columns, rows; /* of nodes */
    sw_point *nodes;   /* photo px */
    int samples;       /* across one pixel, so that no line of the photo falls between samples */
} sw_window;

/* px_per_mm: of the picture. SW_NO_MEMORY. */
sw_status sw_window_make(const sw_inspection *inspection, const sw_photo *photo, int width_px, int height_px,
                         double px_per_mm, sw_window_place *place, const void *context, sw_window *window,
                         sw_error *err);
void sw_window_free(sw_window *window);

/* How often each stored brightness is seen at the window's nodes, added to what is counted already. */
void sw_window_count(const sw_window *window, size_t seen[SW_GREYS]);
/* Stored brightness -> grey shown: a gain, so that dark photos read, too. */
void sw_tone_make(const size_t seen[SW_GREYS], unsigned char tone[SW_GREYS]);
/* One row of the picture; what the photo does not show stays as it was in out. */
void sw_window_row(const sw_window *window, int y, const unsigned char tone[SW_GREYS], unsigned char *out);

/* A camera over tops that need not stand equally high. */
typedef struct sw_above {
    const sw_inspection *inspection;
    double camera[3]; /* foot point and height, mm */
    bool known;       /* else tops are taken to lie in the mm frame's plane */
} sw_above;

void sw_above_make(const sw_inspection *inspection, sw_above *above);
/* Where the photo shows a place that stands so far over the mm frame's plane: a higher one hides what lies farther from the
 * camera's foot. */
sw_point sw_above_px(const sw_above *above, sw_point mm, double rise_mm);
/* The same for a place on the table, on the top that lies there. */
sw_point sw_above_table_px(const sw_above *above, sw_point mm);

/* A picture of the table, north up: its top left corner lies at (west_mm, north_mm). */
typedef struct sw_table_view {
    sw_above above;
    double west_mm, north_mm, px_per_mm;
} sw_table_view;

/* A sw_window_place, whose context is a sw_table_view. */
sw_point sw_table_view_place(const void *context, double x, double y);

#endif
