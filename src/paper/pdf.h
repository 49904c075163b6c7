/* pdf.h - what all pages to print have in common: true scale, a ruler to check the print, text, no date.
 *
 * All lengths on paper in mm, x to the right, y down from the page's top left. The same drawing gives the same bytes
 * with the same cairo and fonts.
 */
#ifndef SW_PAPER_PDF_H
#define SW_PAPER_PDF_H

#include <cairo.h>
#include <stddef.h>
#include <stdio.h>

#include "seamwright/status.h"

static const double SW_PDF_PT_PER_MM = 72.0 / 25.4;
static const double SW_PDF_RULER_MM = 100.0;
/* Depth of a ruler: its longest tick, 3.2 mm, and a hair's breadth. */
static const double SW_PDF_RULER_DEPTH_MM = 4.0;
/* Room beyond a ruler's zero and beyond its other end for "0" and "100 mm". */
static const double SW_PDF_RULER_ZERO_MM = 4.0, SW_PDF_RULER_END_MM = 14.0;

typedef struct sw_pdf {
    cairo_surface_t *surface;
    cairo_t *cr; /* in mm */
} sw_pdf;

/* Starts a document of pages of this size on a stream, which stays the caller's. End with sw_pdf_end, always. */
sw_pdf sw_pdf_start(FILE *stream, double width_mm, double height_mm);
/* The size of the page to come, before anything is drawn on it. */
void sw_pdf_size(sw_pdf *pdf, double width_mm, double height_mm);
/* Title for the reader's window; says which program made it, and no date. */
void sw_pdf_describe(sw_pdf *pdf, const char *title);
/* Writes what is left and frees. With keep 0 only frees. The sentence in err does not name the file. */
sw_status sw_pdf_end(sw_pdf *pdf, int keep, sw_error *err);

/* A ruler of 100 mm along x from the origin, ticks towards +y. */
void sw_pdf_ruler(cairo_t *cr);

/* Cuts the next line of at most width_mm off *text into line, between words. */
void sw_pdf_take_line(cairo_t *cr, const char **text, double width_mm, char *line, size_t size);
/* Sets text in the chosen font, its first line's base line at y + leading_mm; draws it unless only measuring. Returns
 * the height of all its lines. */
double sw_pdf_paragraph(cairo_t *cr, const char *text, double x, double y, double width_mm, double leading_mm,
                        int draw);

#endif
