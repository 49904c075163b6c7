/* overlay.h - the canvas that the table seen straight from above is drawn on, shared by the parts of the overlay.
 *
 * Canvas pixels: x to the right (east), y down (south), the centre of the top-left pixel at (0.5, 0.5) as cairo counts.
 */
#ifndef SW_REPORT_OVERLAY_OVERLAY_H
#define SW_REPORT_OVERLAY_OVERLAY_H

#include <cairo.h>

#include "report/common/colours.h"
#include "seamwright/report.h"

typedef struct sw_canvas {
    cairo_surface_t *surface; /* RGB24: the picture above, the legend below */
    cairo_t *pen;
    double west_mm, north_mm; /* the picture's top-left corner on the table */
    double px_per_mm;
    int width_px, picture_px, height_px; /* picture_px: height without the legend */
    double font_px;
    double widened; /* how many times wider than it is a gap is drawn */
} sw_canvas;

/* How a verdict is drawn. */
sw_style sw_style_of(sw_verdict verdict);
void sw_canvas_colour(const sw_canvas *canvas, sw_colour colour);

sw_point sw_canvas_place(const sw_canvas *canvas, sw_point mm);
/* A place on a seam's middle line, in canvas pixels; across_mm to the east (upright seam) or south (level seam) of it.
 */
sw_point sw_canvas_on_seam(const sw_canvas *canvas, const sw_seam *seam, double at_mm, double across_mm);

/* Grey picture sampled from the photo; what the photo does not show stays paper white. */
sw_status sw_overlay_picture(const sw_canvas *canvas, const sw_inspection *inspection, const sw_photo *photo,
                             sw_error *err);
void sw_overlay_ribbon(const sw_canvas *canvas, const sw_seam *seam);
void sw_overlay_chips(const sw_canvas *canvas, const sw_inspection *inspection);
void sw_overlay_names(const sw_canvas *canvas, const sw_inspection *inspection);
void sw_overlay_labels(const sw_canvas *canvas, const sw_inspection *inspection, size_t worst);
/* Whether the tiles are drawn large enough for figures with their uncertainty. */
bool sw_overlay_full_figures(const sw_canvas *canvas, const sw_inspection *inspection);
/* Lays the legend out below the picture; draws it only if `draw`. Returns its height in px. */
double sw_overlay_legend(const sw_canvas *canvas, const sw_inspection *inspection, bool draw);

/* The sign of a verdict (tick, cross, question mark), centred at x, y in a square of `size` px. */
void sw_overlay_sign(const sw_canvas *canvas, sw_verdict verdict, double x, double y, double size);
/* A strip from (x, y) to (x + length, y) filled as a seam of that verdict is. */
void sw_overlay_sample(const sw_canvas *canvas, sw_verdict verdict, double x, double y, double length, double width);
void sw_overlay_unseen(const sw_canvas *canvas, sw_point from, sw_point to);
void sw_overlay_chip_mark(const sw_canvas *canvas, double x, double y, double size);
void sw_overlay_ring(const sw_canvas *canvas, double x, double y, double radius);
/* Text with its left end and middle height at x, y; returns its width. Drawn only if `draw`. */
double sw_overlay_text(const sw_canvas *canvas, double x, double y, double size, bool bold, bool draw,
                       const char *text);

/* Writes the canvas as a PNG file, compressed for speed. */
sw_status sw_overlay_save(const sw_canvas *canvas, const char *path, sw_error *err);

#endif
