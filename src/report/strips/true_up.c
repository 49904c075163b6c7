/* true_up.c - the strip of one edge, or of a part of it: 1 : 1 along, exaggerated across. */
#include <math.h>
#include <stdio.h>

#include "inspection/names.h"
#include "report/strips/strips.h"

/* Above and below: heading; figures in up to two rows with their ticks; place figures; names of the ends. */
static const double HEADING_MM = 9.0, FIGURES_MM = 10.0, PLACES_MM = 6.5, ENDS_MM = 5.5, END_GAP_MM = 0.9;
/* A figure like "1.25" is 7 mm wide. */
static const double FIGURE_ROOM_MM = 8.0, ROW_MM = 3.9, TICK_MM = 1.6;
static const double EDGE_LINE_MM = 0.5, THIN_LINE_MM = 0.15, END_LINE_MM = 0.3, SHADE = 0.72, NOTHING_DEEP_MM = 5.0;
/* "nothing here" is 18 mm wide. */
static const double NOTHING_ROOM_MM = 20.0, NOTHING_LEAST_MM = 2.0;
enum { PLACE_STEP = 10, NAMED_STEP = 50 }; /* mm */

typedef struct strip {
    const sw_strips *strips;
    const sw_piece *piece;
    const sw_edge_plan *edge;
    cairo_t *cr;
    double line_mm; /* the edge's y on paper */
    double into;    /* +1: the tile lies below the line, -1: above it */
    double depth_mm;
} strip;

static double depth_for(const sw_edge_plan *edge)
{
    return fmax(SW_STRIPS_DEPTH_MM, edge->deepest_mm);
}

double sw_strips_true_up_height(const sw_strips *strips, const sw_piece *piece)
{
    return HEADING_MM + FIGURES_MM + depth_for(&strips->plan->edges[piece->edge]) + PLACES_MM + ENDS_MM;
}

static double across(const strip *in, double at_mm)
{
    return SW_STRIPS_MARGIN_MM + at_mm - in->piece->from_mm;
}

/* y of a place so far inside the tile (negative: outside). */
static double inside(const strip *in, double mm)
{
    return in->line_mm + in->into * mm;
}

/* y of the base line of text of this height whose near side lies so far inside the tile (outside when negative). */
static double base_line(const strip *in, double mm, double font_mm)
{
    double capital = 0.73 * font_mm; /* height of figures in sans-serif faces, from memory */
    bool below = (in->into > 0) == (mm > 0);
    return below ? inside(in, mm) + capital : inside(in, mm);
}

static void line(const strip *in, double x0, double y0, double x1, double y1, double wide)
{
    cairo_set_line_width(in->cr, wide);
    cairo_move_to(in->cr, x0, y0);
    cairo_line_to(in->cr, x1, y1);
    cairo_stroke(in->cr);
}

/* What comes off between the piece's ends, as a shape. */
static void draw_profile(const strip *in)
{
    const sw_piece *piece = in->piece;
    cairo_t *cr = in->cr;
    cairo_move_to(cr, across(in, piece->from_mm), in->line_mm);
    cairo_line_to(cr, across(in, piece->from_mm),
                  inside(in, in->strips->times * sw_plan_removal(in->edge, piece->from_mm)));
    for (size_t i = 0; i < in->edge->true_up_count; i++) {
        const sw_removal *at = &in->edge->true_up[i];
        if (at->at_mm > piece->from_mm && at->at_mm < piece->to_mm)
            cairo_line_to(cr, across(in, at->at_mm), inside(in, in->strips->times * at->remove_mm));
    }
    cairo_line_to(cr, across(in, piece->to_mm),
                  inside(in, in->strips->times * sw_plan_removal(in->edge, piece->to_mm)));
    cairo_line_to(cr, across(in, piece->to_mm), in->line_mm);
    cairo_close_path(cr);
    cairo_set_source_rgb(cr, SHADE, SHADE, SHADE);
    cairo_fill_preserve(cr);
    cairo_set_source_rgb(cr, 0, 0, 0);
    cairo_set_line_width(cr, THIN_LINE_MM);
    cairo_stroke(cr);
}

/* A dashed box where nothing comes off, from one place to another. */
static void draw_nothing(const strip *in, double from_mm, double to_mm)
{
    static const double dashes[] = {1, 1};
    double from = fmax(from_mm, in->piece->from_mm), to = fmin(to_mm, in->piece->to_mm);
    if (to - from < NOTHING_LEAST_MM)
        return;
    cairo_save(in->cr);
    cairo_set_dash(in->cr, dashes, 2, 0);
    cairo_set_line_width(in->cr, THIN_LINE_MM);
    cairo_rectangle(in->cr, across(in, from), fmin(in->line_mm, inside(in, NOTHING_DEEP_MM)), to - from,
                    NOTHING_DEEP_MM);
    cairo_stroke(in->cr);
    cairo_restore(in->cr);
    if (to - from < NOTHING_ROOM_MM)
        return;
    sw_strips_font(in->cr, SW_STRIPS_WORDS_MM * 0.9, 0);
    sw_strips_centred(in->cr, across(in, (from + to) / 2), base_line(in, 1.4, SW_STRIPS_WORDS_MM * 0.9),
                      "nothing here");
}

static void draw_nothings(const strip *in)
{
    sw_stretch stretch = {0, 0};
    double from = 0;
    for (; sw_plan_stretch(in->edge, from, &stretch); from = stretch.to_mm)
        draw_nothing(in, from, stretch.from_mm);
    draw_nothing(in, from, in->edge->length_mm);
}

/* The amount at every place of the plan, in two rows where the places are near each other. */
static void draw_figures(const strip *in)
{
    double last[2] = {-FIGURE_ROOM_MM, -FIGURE_ROOM_MM};
    char text[32];
    for (size_t i = 0; i < in->edge->true_up_count; i++) {
        const sw_removal *at = &in->edge->true_up[i];
        if (at->at_mm < in->piece->from_mm || at->at_mm > in->piece->to_mm)
            continue;
        double x = across(in, at->at_mm);
        int row = x - last[0] >= FIGURE_ROOM_MM ? 0 : 1, nothing = at->remove_mm < SW_PLAN_NOTHING_MM;
        line(in, x, in->line_mm, x, inside(in, -TICK_MM), THIN_LINE_MM);
        if (x - last[row] < FIGURE_ROOM_MM)
            continue;
        last[row] = x;
        snprintf(text, sizeof text, "%.*f", nothing ? 0 : sw_plan_decimals(at->remove_mm), nothing ? 0 : at->remove_mm);
        sw_strips_font(in->cr, SW_STRIPS_FIGURES_MM, !nothing);
        sw_strips_centred(in->cr, x, base_line(in, -TICK_MM - 0.8 - row * ROW_MM, SW_STRIPS_FIGURES_MM), text);
    }
}

/* A scale of mm from the north or west end, beyond the profile. */
static void draw_places(const strip *in)
{
    char text[32];
    double rim = in->depth_mm + 0.8;
    sw_strips_font(in->cr, SW_STRIPS_FIGURES_MM * 0.85, 0);
    for (int mm = 0; mm <= in->edge->length_mm; mm += PLACE_STEP) {
        if (mm < in->piece->from_mm || mm > in->piece->to_mm)
            continue;
        bool named = mm % NAMED_STEP == 0;
        line(in, across(in, mm), inside(in, rim), across(in, mm), inside(in, rim + (named ? 2.2 : 1.2)), THIN_LINE_MM);
        if (!named)
            continue;
        snprintf(text, sizeof text, "%d", mm);
        sw_strips_centred(in->cr, across(in, mm), base_line(in, rim + 2.8, SW_STRIPS_FIGURES_MM * 0.85), text);
    }
}

/* A mark across the strip: an end of the tile, or a place to join at. */
static void draw_mark(const strip *in, double at_mm, double wide)
{
    line(in, across(in, at_mm), inside(in, -TICK_MM), across(in, at_mm), inside(in, in->depth_mm), wide);
}

/* Joins are named A, B, C along the edge, alike on both pieces. */
static void draw_join(const strip *in, int number, double at_mm)
{
    static const double dashes[] = {2, 1}, FONT_MM = 4.2;
    char letter = (char)('A' + (number - 1) % 26), text[] = {letter, '-', letter, 0};
    cairo_save(in->cr);
    cairo_set_dash(in->cr, dashes, 2, 0);
    draw_mark(in, at_mm, END_LINE_MM);
    cairo_restore(in->cr);
    sw_strips_font(in->cr, FONT_MM, 1);
    sw_strips_centred(in->cr, across(in, at_mm), base_line(in, in->depth_mm + PLACES_MM + END_GAP_MM, FONT_MM), text);
}

static void draw_right(const strip *in, double y, const char *text)
{
    cairo_text_extents_t extents;
    cairo_text_extents(in->cr, text, &extents);
    cairo_move_to(in->cr, across(in, in->piece->to_mm) - extents.x_advance, y);
    cairo_show_text(in->cr, text);
}

/* What stands at the strip's left and right: the tile's end, a join, or that nothing comes off beyond. */
static void draw_ends(const strip *in)
{
    const sw_piece *piece = in->piece;
    double y = base_line(in, in->depth_mm + PLACES_MM + END_GAP_MM, SW_STRIPS_WORDS_MM);
    bool starts = piece->from_mm <= 0, ends = piece->to_mm >= in->edge->length_mm;
    char text[80];
    if (starts)
        draw_mark(in, piece->from_mm, END_LINE_MM);
    if (ends)
        draw_mark(in, piece->to_mm, END_LINE_MM);
    if (piece->number > 1)
        draw_join(in, piece->number - 1, sw_strips_join(piece, 0));
    if (piece->number < piece->count)
        draw_join(in, piece->number, sw_strips_join(piece, 1));
    sw_strips_font(in->cr, SW_STRIPS_WORDS_MM, starts);
    if (piece->number == 1) {
        snprintf(text, sizeof text, starts ? "%s" : "to the %s: nothing", sw_end_name(in->edge->side, 0));
        cairo_move_to(in->cr, SW_STRIPS_MARGIN_MM, y);
        cairo_show_text(in->cr, text);
    }
    sw_strips_font(in->cr, SW_STRIPS_WORDS_MM, ends);
    if (piece->number == piece->count) {
        snprintf(text, sizeof text, ends ? "%s" : "to the %s: nothing", sw_end_name(in->edge->side, 1));
        draw_right(in, y, text);
    }
}

static void draw_arrow(const strip *in)
{
    static const double LONG_MM = 5, HEAD_MM = 1.6, WORDS_MM = 30, SHORT_MM = 70, BESIDE_MM = 6;
    const sw_piece *piece = in->piece;
    double tip = inside(in, in->depth_mm + PLACES_MM + ENDS_MM - END_GAP_MM), from = tip - in->into * LONG_MM;
    double x = across(in, (piece->from_mm + piece->to_mm) / 2) - WORDS_MM / 2;
    if (piece->to_mm - piece->from_mm < SHORT_MM) /* the names of the ends leave no room between them */
        x = across(in, piece->to_mm) + BESIDE_MM;
    line(in, x, from, x, tip, EDGE_LINE_MM);
    cairo_move_to(in->cr, x, tip);
    cairo_line_to(in->cr, x - HEAD_MM / 2, tip - in->into * HEAD_MM);
    cairo_line_to(in->cr, x + HEAD_MM / 2, tip - in->into * HEAD_MM);
    cairo_close_path(in->cr);
    cairo_fill(in->cr);
    sw_strips_font(in->cr, SW_STRIPS_WORDS_MM, 1);
    cairo_move_to(in->cr, x + 2, base_line(in, in->depth_mm + PLACES_MM + END_GAP_MM, SW_STRIPS_WORDS_MM));
    cairo_show_text(in->cr, "tile this side");
}

static void draw_heading(const strip *in)
{
    char deed[160], piece[64] = "";
    if (in->piece->count > 1)
        snprintf(piece, sizeof piece, "; piece %d of %d, join letter on letter", in->piece->number, in->piece->count);
    snprintf(deed, sizeof deed, "take off at most %.*f mm%s", sw_plan_decimals(in->edge->deepest_mm),
             in->edge->deepest_mm, piece);
    sw_strips_heading(in->strips, in->piece, in->cr, deed);
}

void sw_strips_true_up(const sw_strips *strips, const sw_piece *piece, cairo_t *cr)
{
    const sw_edge_plan *edge = &strips->plan->edges[piece->edge];
    bool below = edge->side == SW_NORTH || edge->side == SW_EAST;
    double depth = depth_for(edge);
    strip in = {strips, piece, edge, cr, 0, below ? 1 : -1, depth};
    in.line_mm = piece->top_mm + HEADING_MM + (below ? FIGURES_MM : ENDS_MM + PLACES_MM + depth);
    cairo_set_source_rgb(cr, 0, 0, 0);
    draw_heading(&in);
    draw_profile(&in);
    draw_nothings(&in);
    line(&in, across(&in, piece->from_mm), in.line_mm, across(&in, piece->to_mm), in.line_mm, EDGE_LINE_MM);
    draw_figures(&in);
    draw_places(&in);
    draw_ends(&in);
    draw_arrow(&in);
}
