#include <math.h>
#include <stdlib.h>

#include "report/strips/strips.h"

/* A strip that stops short of the edge's end shows so much of the part where nothing comes off: to see that it ends. */
static const double BEYOND_MM = 25.0;
/* A strip that stops short is at least so long, for the words below it. */
static const double SHORTEST_MM = 115.0;

/* How many pieces of at most `most_mm` an edge takes, each sharing the overlap with the next. */
static int pieces_for(double length_mm, double most_mm)
{
    if (length_mm <= most_mm)
        return 1;
    return (int)ceil((length_mm - SW_STRIPS_OVERLAP_MM) / (most_mm - SW_STRIPS_OVERLAP_MM));
}

/* The part of an edge that its strip shows: all of it when that fits the paper; else, when one end and everything that
 * comes off do, that much of it; else all of it, in pieces. */
static sw_stretch shown(const sw_strips *strips, const sw_edge_plan *edge)
{
    double room = sw_strips_across(strips), last = 0;
    sw_stretch stretch, all = {0, edge->length_mm}, first = {0, 0};
    for (int i = 0; sw_plan_stretch(edge, last, &stretch); i++) {
        if (i == 0)
            first = stretch;
        last = stretch.to_mm;
    }
    if (edge->length_mm <= room)
        return all;
    if (last + BEYOND_MM <= room)
        all.to_mm = fmax(last + BEYOND_MM, SHORTEST_MM);
    else if (edge->length_mm - first.from_mm + BEYOND_MM <= room)
        all.from_mm = edge->length_mm - fmax(edge->length_mm - first.from_mm + BEYOND_MM, SHORTEST_MM);
    return all;
}

bool sw_strips_shows(const sw_strips *strips, size_t edge)
{
    const sw_plan *plan = strips->plan;
    for (size_t i = 0; i < plan->work_count; i++)
        for (int k = 0; k < plan->work[i].edge_count; k++)
            if (plan->work[i].edges[k] == (int)edge)
                return true;
    return plan->purpose == SW_PLAN_ANY;
}

/* One exaggeration for the whole document, the largest for which the deepest of what is drawn finds room. */
static int times_for(const sw_strips *strips)
{
    double cut = 0, wedge = 0;
    for (size_t i = 0; i < strips->piece_count; i++) {
        const sw_edge_plan *edge = &strips->plan->edges[strips->pieces[i].edge];
        if (strips->pieces[i].kind == SW_PIECE_BEVEL)
            wedge = fmax(wedge, edge->bevel_mm);
        else
            cut = fmax(cut, edge->deepest_mm);
    }
    int of_cuts = sw_times_larger(cut, SW_STRIPS_DEPTH_MM, SW_PLAN_TIMES);
    int of_wedges = sw_times_larger(wedge, SW_STRIPS_WEDGE_MM, SW_PLAN_TIMES);
    return of_cuts < of_wedges ? of_cuts : of_wedges;
}

static bool sands(const sw_strips *strips, size_t edge)
{
    return sw_plan_sands(&strips->plan->edges[edge]) && sw_strips_shows(strips, edge);
}

static bool bevels(const sw_strips *strips, size_t edge)
{
    return sw_plan_bevels(&strips->plan->edges[edge]) && sw_strips_shows(strips, edge);
}

static size_t count_pieces(const sw_strips *strips)
{
    size_t count = 0;
    for (size_t i = 0; i < strips->plan->edge_count; i++) {
        const sw_edge_plan *edge = &strips->plan->edges[i];
        count += sands(strips, i) ? (size_t)pieces_for(edge->length_mm, sw_strips_across(strips)) : 0;
        count += bevels(strips, i);
    }
    return count;
}

/* Pieces of equal length, so that none is a snippet. */
static void cut_edge(sw_strips *strips, size_t index)
{
    sw_stretch all = shown(strips, &strips->plan->edges[index]);
    double length = all.to_mm - all.from_mm;
    int count = pieces_for(length, sw_strips_across(strips));
    double each = (length + (count - 1) * SW_STRIPS_OVERLAP_MM) / count;
    for (int k = 0; k < count; k++) {
        double from = all.from_mm + k * (each - SW_STRIPS_OVERLAP_MM);
        strips->pieces[strips->piece_count++] = (sw_piece){.kind = SW_PIECE_TRUE_UP,
                                                           .edge = index,
                                                           .from_mm = from,
                                                           .to_mm = k + 1 == count ? all.to_mm : from + each,
                                                           .number = k + 1,
                                                           .count = count};
    }
}

/* The strips, then the bevels. */
static void cut_edges(sw_strips *strips)
{
    for (size_t i = 0; i < strips->plan->edge_count; i++)
        if (sands(strips, i))
            cut_edge(strips, i);
    for (size_t i = 0; i < strips->plan->edge_count; i++)
        if (bevels(strips, i))
            strips->pieces[strips->piece_count++] =
                (sw_piece){.kind = SW_PIECE_BEVEL, .edge = i, .number = 1, .count = 1};
}

/* Where the next piece goes. */
typedef struct cursor {
    int sheet;
    double top_mm; /* of the row to come */
    bool half_row; /* a bevel stands at the left of the row above, none at its right */
} cursor;

static void put_piece(const sw_strips *strips, sw_piece *piece, cursor *at, double first_mm, double end_mm)
{
    sw_piece *before = piece > strips->pieces ? piece - 1 : NULL;
    if (piece->kind == SW_PIECE_BEVEL && at->half_row && piece->height_mm <= before->height_mm) {
        piece->sheet = before->sheet;
        piece->top_mm = before->top_mm;
        piece->left_mm = SW_STRIPS_MARGIN_MM + sw_strips_bevel_width(strips) + SW_STRIPS_BETWEEN_MM;
        at->half_row = false;
        return;
    }
    if (at->top_mm > first_mm && at->top_mm + piece->height_mm > end_mm) {
        at->sheet++;
        at->top_mm = first_mm;
    }
    piece->sheet = at->sheet;
    piece->top_mm = at->top_mm;
    piece->left_mm = SW_STRIPS_MARGIN_MM;
    at->top_mm += piece->height_mm;
    at->half_row = piece->kind == SW_PIECE_BEVEL;
}

bool sw_strips_pack(sw_strips *strips, cairo_t *cr)
{
    strips->piece_count = 0;
    strips->pieces = calloc(count_pieces(strips) + 1, sizeof *strips->pieces);
    if (!strips->pieces)
        return false;
    cut_edges(strips);
    strips->times = times_for(strips);
    double first = SW_STRIPS_MARGIN_MM + sw_strips_head(strips, cr, 0, 0);
    double end = strips->height_mm - SW_STRIPS_MARGIN_MM - sw_strips_foot(strips, cr, 0);
    cursor at = {0, first, false};
    for (size_t i = 0; i < strips->piece_count; i++) {
        sw_piece *piece = &strips->pieces[i];
        piece->height_mm = piece->kind == SW_PIECE_BEVEL ? sw_strips_bevel(strips, piece, cr, 0)
                                                         : sw_strips_true_up_height(strips, piece);
        put_piece(strips, piece, &at, first, end);
    }
    strips->sheet_count = at.sheet + 1;
    return true;
}
