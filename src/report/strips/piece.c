/* piece.c - what strips and bevels have in common: sizes on the sheet, headings, fonts. */
#include "paper/letters.h"
#include "report/strips/strips.h"

static const double GAP_MM = 2.5; /* around a heading */

double sw_strips_across(const sw_strips *strips)
{
    return strips->width_mm - 2 * SW_STRIPS_MARGIN_MM;
}

double sw_strips_bevel_width(const sw_strips *strips)
{
    return (sw_strips_across(strips) - SW_STRIPS_BETWEEN_MM) / 2;
}

double sw_strips_join(const sw_piece *piece, bool at_end)
{
    return at_end ? piece->to_mm - SW_STRIPS_OVERLAP_MM / 2 : piece->from_mm + SW_STRIPS_OVERLAP_MM / 2;
}

void sw_strips_font(cairo_t *cr, double size_mm, bool bold)
{
    sw_letters_choose(cr, bold ? SW_LETTERS_BOLD : SW_LETTERS_PLAIN, size_mm);
}

void sw_strips_centred(cairo_t *cr, double x, double y, const char *text)
{
    cairo_text_extents_t extents;
    cairo_text_extents(cr, text, &extents);
    cairo_move_to(cr, x - extents.x_advance / 2, y);
    cairo_show_text(cr, text);
}

void sw_strips_heading(const sw_strips *strips, const sw_piece *piece, cairo_t *cr, const char *deed)
{
    const sw_edge_plan *edge = &strips->plan->edges[piece->edge];
    char name[EDGE_NAME_ROOM];
    cairo_text_extents_t extents;
    sw_edge_name(strips->first, edge->tile, edge->side, name);
    sw_strips_font(cr, SW_STRIPS_HEADING_MM, 1);
    cairo_text_extents(cr, name, &extents);
    cairo_move_to(cr, piece->left_mm, piece->top_mm + SW_STRIPS_HEADING_MM + GAP_MM / 2);
    cairo_show_text(cr, name);
    sw_strips_font(cr, SW_STRIPS_WORDS_MM, 0);
    cairo_move_to(cr, piece->left_mm + extents.x_advance + GAP_MM, piece->top_mm + SW_STRIPS_HEADING_MM + GAP_MM / 2);
    cairo_show_text(cr, deed);
}
