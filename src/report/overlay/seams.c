/* seams.c - each seam as a ribbon along its line, as many times wider than its gap as the legend says. */
#include <math.h>

#include "report/overlay/overlay.h"

/* Lengths in text heights, so that everything grows and shrinks with the picture. */
static const double LEAST_HALF_WIDTH = 0.05; /* a closed seam is still a line */
static const double OUTLINE = 0.06, BAR = 0.16, BAR_EVERY = 0.42, DOT_EVERY = 0.3;
/* A chip can be deeper than any gap; drawn to scale it would bury its neighbours. */
static const double MOST_HALF_WIDTH = 0.9;

sw_style sw_style_of(sw_verdict verdict)
{
    return verdict == SW_WITHIN ? SW_STYLE_WITHIN : verdict == SW_OVER ? SW_STYLE_OVER : SW_STYLE_CLOSE;
}

void sw_canvas_colour(const sw_canvas *canvas, sw_colour colour)
{
    cairo_set_source_rgb(canvas->pen, colour.red, colour.green, colour.blue);
}

sw_point sw_canvas_place(const sw_canvas *canvas, sw_point mm)
{
    return (sw_point){(mm.x - canvas->west_mm) * canvas->px_per_mm, (canvas->north_mm - mm.y) * canvas->px_per_mm};
}

sw_point sw_canvas_on_seam(const sw_canvas *canvas, const sw_seam *seam, double at_mm, double across_mm)
{
    sw_point start = sw_canvas_place(canvas, seam->start_mm), end = sw_canvas_place(canvas, seam->end_mm);
    double x = end.x - start.x, y = end.y - start.y, length = hypot(x, y);
    if (!(length > 0) || !(seam->length_mm > 0))
        return start;
    double share = at_mm / seam->length_mm, across = across_mm * canvas->px_per_mm / length;
    /* Right of the walking direction is west of an upright seam (walked south) and south of a level one (walked east).
     */
    if (seam->upright)
        across = -across;
    return (sw_point){start.x + x * share - y * across, start.y + y * share + x * across};
}

static double half_width_mm(const sw_canvas *canvas, double gap_mm)
{
    double least = LEAST_HALF_WIDTH * canvas->font_px, most = MOST_HALF_WIDTH * canvas->font_px;
    double half = gap_mm * canvas->widened / 2 * canvas->px_per_mm;
    return fmax(least, fmin(most, half)) / canvas->px_per_mm;
}

/* Path around stations first to last (both in): there along the one side, back along the other. */
static void outline(const sw_canvas *canvas, const sw_seam *seam, size_t first, size_t last)
{
    cairo_new_path(canvas->pen);
    for (int side = -1; side <= 1; side += 2)
        for (size_t i = 0; i <= last - first; i++) {
            const sw_station *station = &seam->stations[side < 0 ? first + i : last - i];
            sw_point at =
                sw_canvas_on_seam(canvas, seam, station->at_mm, side * half_width_mm(canvas, station->gap_mm));
            cairo_line_to(canvas->pen, at.x, at.y);
        }
    cairo_close_path(canvas->pen);
}

static void bars(const sw_canvas *canvas, sw_point from, sw_point to)
{
    double dash = BAR * canvas->font_px, gap = (BAR_EVERY - BAR) * canvas->font_px, dashes[] = {dash, gap};
    cairo_set_dash(canvas->pen, dashes, 2, 0);
    cairo_set_line_width(canvas->pen, 2 * MOST_HALF_WIDTH * canvas->font_px);
    cairo_new_path(canvas->pen);
    cairo_move_to(canvas->pen, from.x, from.y);
    cairo_line_to(canvas->pen, to.x, to.y);
    cairo_stroke(canvas->pen);
    cairo_set_dash(canvas->pen, NULL, 0, 0);
}

/* Fills and outlines the current path; bars, for "too close to call", run across the line from -> to. */
static void fill_path(const sw_canvas *canvas, sw_verdict verdict, sw_point from, sw_point to)
{
    sw_style style = sw_style_of(verdict);
    cairo_path_t *path = cairo_copy_path(canvas->pen);
    cairo_save(canvas->pen);
    sw_canvas_colour(canvas, style.fill);
    cairo_fill_preserve(canvas->pen);
    if (verdict == SW_TOO_CLOSE) {
        cairo_clip(canvas->pen);
        sw_canvas_colour(canvas, style.line);
        bars(canvas, from, to);
    }
    cairo_restore(canvas->pen);
    cairo_new_path(canvas->pen);
    cairo_append_path(canvas->pen, path);
    cairo_path_destroy(path);
    sw_canvas_colour(canvas, style.line);
    cairo_set_line_width(canvas->pen, OUTLINE * canvas->font_px);
    cairo_stroke(canvas->pen);
}

void sw_overlay_sample(const sw_canvas *canvas, sw_verdict verdict, double x, double y, double length, double width)
{
    cairo_new_path(canvas->pen);
    cairo_rectangle(canvas->pen, x, y - width / 2, length, width);
    fill_path(canvas, verdict, (sw_point){x, y}, (sw_point){x + length, y});
}

void sw_overlay_unseen(const sw_canvas *canvas, sw_point from, sw_point to)
{
    double dashes[] = {0, DOT_EVERY * canvas->font_px};
    cairo_save(canvas->pen);
    cairo_set_line_cap(canvas->pen, CAIRO_LINE_CAP_ROUND);
    for (int pass = 0; pass < 2; pass++) { /* white below black: seen on any ground */
        cairo_set_dash(canvas->pen, dashes, pass ? 2 : 0, 0);
        cairo_set_line_width(canvas->pen, (pass ? 0.16 : 0.24) * canvas->font_px);
        sw_canvas_colour(canvas, pass ? SW_INK : SW_PAPER_WHITE);
        cairo_move_to(canvas->pen, from.x, from.y);
        cairo_line_to(canvas->pen, to.x, to.y);
        cairo_stroke(canvas->pen);
    }
    cairo_restore(canvas->pen);
}

void sw_overlay_ribbon(const sw_canvas *canvas, const sw_seam *seam)
{
    for (size_t first = 0; first < seam->station_count;) {
        bool seen = isfinite(seam->stations[first].gap_mm);
        size_t last = first;
        while (last + 1 < seam->station_count && !isfinite(seam->stations[last + 1].gap_mm) == !seen)
            last++;
        sw_point from = sw_canvas_on_seam(canvas, seam, seam->stations[first].at_mm, 0);
        sw_point to = sw_canvas_on_seam(canvas, seam, seam->stations[last].at_mm, 0);
        if (seen) {
            outline(canvas, seam, first, last);
            fill_path(canvas, seam->verdict, from, to);
        } else {
            sw_overlay_unseen(canvas, from, to);
        }
        first = last + 1;
    }
}
