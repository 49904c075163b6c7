#include <math.h>
#include <stdlib.h>

#include "strips.h"

double sw_strips_join(const sw_piece *piece, int at_end)
{
    return at_end ? piece->to_mm - SW_STRIPS_OVERLAP_MM / 2 : piece->from_mm + SW_STRIPS_OVERLAP_MM / 2;
}

/* How many pieces of at most `most_mm` an edge takes, each sharing the overlap with the next. */
static int pieces_for(double length_mm, double most_mm)
{
    if (length_mm <= most_mm)
        return 1;
    return (int)ceil((length_mm - SW_STRIPS_OVERLAP_MM) / (most_mm - SW_STRIPS_OVERLAP_MM));
}

static double room_across(const sw_strips *strips)
{
    return strips->width_mm - 2 * SW_STRIPS_MARGIN_MM;
}

static size_t count_pieces(const sw_strips *strips)
{
    size_t count = 0;
    for (size_t i = 0; i < strips->plan->edge_count; i++) {
        const sw_edge_plan *edge = &strips->plan->edges[i];
        count += sw_plan_sands(edge) ? (size_t)pieces_for(edge->length_mm, room_across(strips)) : 0;
        count += sw_plan_bevels(edge) != 0;
    }
    return count;
}

/* Pieces of equal length, so that none is a snippet. */
static void cut_edge(sw_strips *strips, size_t index)
{
    double length = strips->plan->edges[index].length_mm;
    int count = pieces_for(length, room_across(strips));
    double each = (length + (count - 1) * SW_STRIPS_OVERLAP_MM) / count;
    for (int k = 0; k < count; k++) {
        double from = k * (each - SW_STRIPS_OVERLAP_MM);
        strips->pieces[strips->piece_count++] = (sw_piece){.kind = SW_PIECE_TRUE_UP,
                                                           .edge = index,
                                                           .from_mm = from,
                                                           .to_mm = k + 1 == count ? length : from + each,
                                                           .number = k + 1,
                                                           .count = count};
    }
}

static void cut_edges(sw_strips *strips)
{
    for (size_t i = 0; i < strips->plan->edge_count; i++) {
        if (sw_plan_sands(&strips->plan->edges[i]))
            cut_edge(strips, i);
        if (sw_plan_bevels(&strips->plan->edges[i]))
            strips->pieces[strips->piece_count++] =
                (sw_piece){.kind = SW_PIECE_BEVEL, .edge = i, .number = 1, .count = 1};
    }
}

int sw_strips_pack(sw_strips *strips, cairo_t *cr)
{
    strips->piece_count = 0;
    strips->pieces = calloc(count_pieces(strips) + 1, sizeof *strips->pieces);
    if (!strips->pieces)
        return 0;
    cut_edges(strips);
    double top = SW_STRIPS_MARGIN_MM + sw_strips_head(strips, cr, 0, 0), at = top;
    double end = strips->height_mm - SW_STRIPS_MARGIN_MM - sw_strips_foot(strips, cr, 0);
    int sheet = 0;
    for (size_t i = 0; i < strips->piece_count; i++) {
        sw_piece *piece = &strips->pieces[i];
        piece->height_mm = piece->kind == SW_PIECE_BEVEL ? sw_strips_bevel(strips, piece, cr, 0)
                                                         : sw_strips_true_up_height(strips, piece);
        if (at > top && at + piece->height_mm > end) {
            sheet++;
            at = top;
        }
        piece->sheet = sheet;
        piece->top_mm = at;
        at += piece->height_mm;
    }
    strips->sheet_count = sheet + 1;
    return 1;
}
