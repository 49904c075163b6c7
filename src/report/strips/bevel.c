/* bevel.c - a bevel: the side face in section at true height, the wedge to take off exaggerated across. */
#include <math.h>
#include <stdio.h>

#include "report/strips/strips.h"

static const double HEADING_MM = 14.0, TILE_MM = 20.0, WORDS_X_MM = 50.0, FOOT_MM = 7.0, LINE_MM = 0.3, DASH_MM = 0.15,
                    WASH = 0.9, SHADE = 0.72;
/* A side face taller than this is drawn smaller, so that the block fits any sheet with its head and foot. */
static const double TALLEST_MM = 90.0;

/* 1 for true size, else so many times smaller. */
static int times_smaller(double height_mm)
{
    static const int steps[] = {1, 2, 5, 10};
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++)
        if (height_mm / steps[i] <= TALLEST_MM)
            return steps[i];
    return 20;
}

static void draw_section(const sw_edge_plan *edge, cairo_t *cr, double left, double top, double height, int times)
{
    double face = left + TILE_MM, out = edge->bevel_mm * times, base = top + height;
    cairo_rectangle(cr, left, top, TILE_MM, height);
    cairo_set_source_rgb(cr, WASH, WASH, WASH);
    cairo_fill(cr);
    cairo_move_to(cr, face, top);
    cairo_line_to(cr, face + out, base);
    cairo_line_to(cr, face, base);
    cairo_close_path(cr);
    cairo_set_source_rgb(cr, SHADE, SHADE, SHADE);
    cairo_fill(cr);
    cairo_set_source_rgb(cr, 0, 0, 0);
    cairo_set_line_width(cr, LINE_MM);
    cairo_move_to(cr, left, top);
    cairo_line_to(cr, face, top);
    cairo_line_to(cr, face + out, base);
    cairo_line_to(cr, left, base);
    cairo_stroke(cr);
    cairo_set_line_width(cr, DASH_MM);
    cairo_move_to(cr, face, top);
    cairo_line_to(cr, face, base);
    cairo_stroke(cr);
    sw_strips_font(cr, SW_STRIPS_WORDS_MM, 0);
    cairo_move_to(cr, left + 1, top + SW_STRIPS_WORDS_MM + 0.6);
    cairo_show_text(cr, "face up");
    cairo_move_to(cr, left + 1, base - 1.2);
    cairo_show_text(cr, "base");
}

/* What to do, in words; returns their height. */
static double set_words(const sw_strips *strips, const sw_piece *piece, cairo_t *cr, double top, int smaller, bool draw)
{
    const sw_edge_plan *edge = &strips->plan->edges[piece->edge];
    double x = piece->left_mm + WORDS_X_MM, across = sw_strips_bevel_width(strips) - WORDS_X_MM, y = top;
    double leading = SW_STRIPS_LEADING * SW_STRIPS_WORDS_MM;
    bool open = edge->lean == SW_LEAN_OPEN;
    char text[320], size[48] = "at true size";
    sw_strips_font(cr, SW_STRIPS_WORDS_MM, 1);
    if (open)
        y += sw_pdf_paragraph(cr, "Check with the try square first.", x, y, across, leading, draw);
    if (smaller > 1)
        snprintf(size, sizeof size, "%d times smaller", smaller);
    snprintf(text, sizeof text,
             "%s %.2f mm at the base, less and less to nothing at the top edge, all along. The top edge stays. Side "
             "face %.0f mm high, drawn %s.",
             open ? "If it leans, take off what the square shows, at most" : "Take off", edge->bevel_mm,
             strips->plan->height_mm, size);
    sw_strips_font(cr, SW_STRIPS_WORDS_MM, 0);
    y += sw_pdf_paragraph(cr, text, x, y, across, leading, draw);
    return y - top;
}

double sw_strips_bevel(const sw_strips *strips, const sw_piece *piece, cairo_t *cr, bool draw)
{
    const sw_edge_plan *edge = &strips->plan->edges[piece->edge];
    double tall = strips->plan->height_mm > 0 ? strips->plan->height_mm : 1, top = piece->top_mm + HEADING_MM;
    int smaller = times_smaller(tall);
    char deed[96];
    double words = set_words(strips, piece, cr, top - 1, smaller, draw);
    if (draw) {
        snprintf(deed, sizeof deed, "%sbevel %.2f mm at the base, %.1f degrees",
                 edge->lean == SW_LEAN_OPEN ? "If it leans: " : "", edge->bevel_mm, edge->bevel_deg);
        sw_strips_heading(strips, piece, cr, "");
        cairo_move_to(cr, piece->left_mm, piece->top_mm + HEADING_MM - 2.6);
        cairo_show_text(cr, deed);
        draw_section(edge, cr, piece->left_mm, top, tall / smaller, strips->times);
    }
    return HEADING_MM + fmax(tall / smaller, words) + FOOT_MM;
}
