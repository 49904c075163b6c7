/* strips.c - strips.pdf: for every edge to be sanded a strip at true scale to lay along the tile. */
#include "report/strips/strips.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "paper/letters.h"

/* The ruler with its figures and a column of words beside it; a few strips below head and foot. */
static const double PAPER_LEAST_MM = 180, PAPER_MOST_MM = 2000;

/* Upright and level, whichever takes fewer sheets, then fewer pieces to join. */
static bool lay_out(sw_strips *best, const sw_paper *paper, cairo_t *cr)
{
    sw_strips level = *best;
    best->width_mm = level.height_mm = paper->width_mm;
    best->height_mm = level.width_mm = paper->height_mm;
    if (!sw_strips_pack(best, cr) || !sw_strips_pack(&level, cr)) {
        free(level.pieces);
        return false;
    }
    if (level.sheet_count < best->sheet_count ||
        (level.sheet_count == best->sheet_count && level.piece_count < best->piece_count)) {
        sw_strips upright = *best;
        *best = level;
        level = upright;
    }
    free(level.pieces);
    return true;
}

static sw_status draw(sw_strips *strips, const sw_paper *paper, FILE *stream, sw_error *err)
{
    char title[320];
    sw_pdf pdf = sw_pdf_start(stream, paper->width_mm, paper->height_mm);
    bool fine = lay_out(strips, paper, pdf.cr);
    snprintf(title, sizeof title, "Strips to sand by, for %.250s", strips->first->file);
    char clean[sizeof title];
    sw_utf8_clean(title, clean, sizeof clean);
    if (fine) {
        sw_pdf_size(&pdf, strips->width_mm, strips->height_mm);
        sw_pdf_describe(&pdf, clean);
    }
    for (int sheet = 0; fine && sheet < strips->sheet_count; sheet++)
        sw_strips_sheet(strips, pdf.cr, sheet);
    sw_status status = sw_pdf_end(&pdf, fine, err);
    return fine ? status : sw_fail(err, SW_NO_MEMORY, "not enough memory");
}

sw_status sw_report_strips(const sw_plan *plan, const sw_inspection *first, const sw_paper *paper, const char *path,
                           sw_error *err)
{
    sw_strips strips = {.plan = plan, .first = first};
    sw_error inner = {{0}};
    if (!paper || !(paper->width_mm >= PAPER_LEAST_MM && paper->width_mm <= PAPER_MOST_MM) ||
        !(paper->height_mm >= PAPER_LEAST_MM && paper->height_mm <= PAPER_MOST_MM))
        return sw_fail(err, SW_BAD_INPUT, "%.300s: this paper is no size to print strips on; take A4 or letter", path);
    sw_status status = sw_letters_check(path, err);
    if (status)
        return status;
    FILE *stream = fopen(path, "wb");
    if (!stream)
        return sw_fail(err, SW_CANNOT_WRITE, "%.300s: cannot be made (%s); choose a place that can be written to", path,
                       strerror(errno));
    status = draw(&strips, paper, stream, &inner);
    free(strips.pieces);
    bool lost = ferror(stream); /* cairo does not pass on every failure to write */
    if ((fclose(stream) != 0 || lost) && !status)
        status = sw_fail(&inner, SW_CANNOT_WRITE, "%s", strerror(errno));
    if (status == SW_CANNOT_WRITE)
        return sw_fail(err, status, "%.300s: writing failed (%.100s); is the disk full?", path, inner.text);
    return status ? sw_fail(err, status, "%.300s: %.100s; close other programs and try again", path, inner.text)
                  : SW_OK;
}
