#include "paper/pdf.h"

#include <cairo-pdf.h>
#include <string.h>

#include "paper/letters.h"
#include "seamwright/seamwright.h"

/* The longest line of text on a page: far more than fits in its width. */
enum { LINE_ROOM = 512 };

static cairo_status_t write_bytes(void *stream, const unsigned char *bytes, unsigned int length)
{
    return fwrite(bytes, 1, length, stream) == length ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

/* Letter widths as in the drawing, not rounded to a screen's pixels: lines are then as long as they were measured. */
static void measure_exactly(cairo_t *cr)
{
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_set_font_options(cr, options);
    cairo_font_options_destroy(options);
}

sw_pdf sw_pdf_start(FILE *stream, double width_mm, double height_mm)
{
    sw_pdf pdf;
    pdf.surface = cairo_pdf_surface_create_for_stream(write_bytes, stream, width_mm * SW_PDF_PT_PER_MM,
                                                      height_mm * SW_PDF_PT_PER_MM);
    pdf.cr = cairo_create(pdf.surface);
    cairo_scale(pdf.cr, SW_PDF_PT_PER_MM, SW_PDF_PT_PER_MM);
    measure_exactly(pdf.cr);
    return pdf;
}

void sw_pdf_size(sw_pdf *pdf, double width_mm, double height_mm)
{
    cairo_pdf_surface_set_size(pdf->surface, width_mm * SW_PDF_PT_PER_MM, height_mm * SW_PDF_PT_PER_MM);
}

void sw_pdf_describe(sw_pdf *pdf, const char *title)
{
    cairo_pdf_surface_set_metadata(pdf->surface, CAIRO_PDF_METADATA_TITLE, title);
    cairo_pdf_surface_set_metadata(pdf->surface, CAIRO_PDF_METADATA_CREATOR, "seamwright " SW_VERSION);
    cairo_pdf_surface_set_metadata(pdf->surface, CAIRO_PDF_METADATA_CREATE_DATE, "");
}

sw_status sw_pdf_end(sw_pdf *pdf, int keep, sw_error *err)
{
    sw_status status = SW_OK;
    if (keep) {
        cairo_surface_finish(pdf->surface);
        cairo_status_t drawn = cairo_status(pdf->cr) ? cairo_status(pdf->cr) : cairo_surface_status(pdf->surface);
        if (drawn == CAIRO_STATUS_NO_MEMORY)
            status = sw_fail(err, SW_NO_MEMORY, "out of memory");
        else if (drawn)
            status = sw_fail(err, SW_CANNOT_WRITE, "cannot be written (%s)", cairo_status_to_string(drawn));
    }
    cairo_destroy(pdf->cr);
    cairo_surface_destroy(pdf->surface);
    memset(pdf, 0, sizeof *pdf);
    return status;
}

void sw_pdf_ruler(cairo_t *cr)
{
    /* Ticks 0.12 mm wide: as thin as a 300 dpi printer draws without a gap (a pixel is 0.085 mm). */
    static const double TICK_MM = 0.12, LABEL_FONT_MM = 2.6;
    int last = (int)SW_PDF_RULER_MM;
    cairo_set_line_width(cr, TICK_MM);
    for (int mm = 0; mm <= last; mm++) {
        double depth = mm % 10 == 0 ? 3.2 : mm % 5 == 0 ? 2.4 : 1.6;
        cairo_move_to(cr, mm, 0.0);
        cairo_line_to(cr, mm, depth);
    }
    cairo_move_to(cr, 0.0, 0.0);
    cairo_line_to(cr, SW_PDF_RULER_MM, 0.0);
    cairo_stroke(cr);
    sw_letters_choose(cr, SW_LETTERS_PLAIN, LABEL_FONT_MM);
    cairo_move_to(cr, -0.6 * SW_PDF_RULER_ZERO_MM, LABEL_FONT_MM);
    cairo_show_text(cr, "0");
    cairo_move_to(cr, SW_PDF_RULER_MM + 1.0, LABEL_FONT_MM);
    cairo_show_text(cr, "100 mm");
}

void sw_pdf_take_line(cairo_t *cr, const char **text, double width_mm, char *line, size_t size)
{
    size_t kept = 0;
    for (size_t end = 1; end < size; end++) {
        char next = (*text)[end];
        if (next != ' ' && next != '\0')
            continue;
        cairo_text_extents_t extents;
        memcpy(line, *text, end);
        line[end] = '\0';
        cairo_text_extents(cr, line, &extents);
        if (kept > 0 && extents.x_advance > width_mm)
            break;
        kept = end;
        if (next == '\0')
            break;
    }
    line[kept] = '\0';
    *text += kept;
    *text += strspn(*text, " ");
}

double sw_pdf_paragraph(cairo_t *cr, const char *text, double x, double y, double width_mm, double leading_mm, int draw)
{
    double down = 0.0;
    char line[LINE_ROOM];
    while (*text) {
        const char *before = text;
        sw_pdf_take_line(cr, &text, width_mm, line, sizeof line);
        if (text == before) /* a word longer than a line can be */
            break;
        down += leading_mm;
        if (!draw)
            continue;
        cairo_move_to(cr, x, y + down);
        cairo_show_text(cr, line);
    }
    return down;
}
