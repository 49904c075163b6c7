/* sheet.c - one sheet: head with the check ruler, the strips, cautions. */
#include <math.h>
#include <stdio.h>

#include "report/strips/strips.h"

static const char TITLE[] = "Strips to lay along the tiles, true size";
static const char CHECK[] =
    "The ruler must measure 100 mm. If it does not, print again at 100 % (\"actual size\"), not \"fit to page\".";
static const char USE[] = "Cut the strips apart along the dashed lines. Lay a strip on the tile's top, its thick line "
                          "on the tile's edge, the arrow pointing into the tile, end marks at the tile's corners; the "
                          "figures hang over the edge. Mark the places, take the strip away, sand. Figures are mm to "
                          "take off; between two of them it runs straight. Take off half, then measure.";
static const char NOTHING[] = "Nothing to sand: this plan takes nothing off any edge, so there is no strip to lay on a "
                              "tile. See plan.html for what to do next.";
static const double GAP_MM = 2.5, CUT_LINE_MM = 0.2, CUT_GREY = 0.55;

static const char *depth_words(const sw_strips *strips, char *text, size_t room)
{
    if (strips->times > 1)
        snprintf(text, room,
                 "What comes off is drawn grey, %d times as deep as it is: the same on all strips and wedges.",
                 strips->times);
    else
        snprintf(text, room, "What comes off is drawn grey, as deep as it is, on all strips and wedges.");
    return text;
}

double sw_strips_head(const sw_strips *strips, cairo_t *cr, int sheet, bool draw)
{
    double leading = SW_STRIPS_LEADING * SW_STRIPS_WORDS_MM, y = SW_STRIPS_MARGIN_MM;
    double across = sw_strips_across(strips);
    double beside = SW_PDF_RULER_ZERO_MM + SW_PDF_RULER_MM + SW_PDF_RULER_END_MM;
    char title[64], depth[160], use[sizeof USE + sizeof depth];
    sw_strips_font(cr, SW_STRIPS_HEADING_MM, 1);
    y += SW_STRIPS_HEADING_MM;
    if (draw) {
        cairo_text_extents_t extents;
        cairo_move_to(cr, SW_STRIPS_MARGIN_MM, y);
        cairo_show_text(cr, TITLE);
        snprintf(title, sizeof title, "Sheet %d of %d", sheet + 1, strips->sheet_count);
        cairo_text_extents(cr, title, &extents);
        cairo_move_to(cr, strips->width_mm - SW_STRIPS_MARGIN_MM - extents.x_advance, y);
        cairo_show_text(cr, title);
    }
    y += GAP_MM;
    if (draw) {
        cairo_save(cr);
        cairo_translate(cr, SW_STRIPS_MARGIN_MM + SW_PDF_RULER_ZERO_MM, y);
        sw_pdf_ruler(cr);
        cairo_restore(cr);
    }
    sw_strips_font(cr, SW_STRIPS_WORDS_MM, 1);
    y += sw_pdf_paragraph(cr, CHECK, SW_STRIPS_MARGIN_MM + beside, y - SW_STRIPS_WORDS_MM / 2, across - beside, leading,
                          draw);
    sw_strips_font(cr, SW_STRIPS_WORDS_MM, 0);
    if (strips->piece_count) {
        snprintf(use, sizeof use, "%s %s", USE, depth_words(strips, depth, sizeof depth));
        y += sw_pdf_paragraph(cr, use, SW_STRIPS_MARGIN_MM, y, across, leading, draw);
    }
    return y + GAP_MM - SW_STRIPS_MARGIN_MM;
}

static bool any_open(const sw_strips *strips)
{
    for (size_t i = 0; i < strips->piece_count; i++)
        if (strips->pieces[i].kind == SW_PIECE_BEVEL &&
            strips->plan->edges[strips->pieces[i].edge].lean == SW_LEAN_OPEN)
            return true;
    return false;
}

double sw_strips_foot(const sw_strips *strips, cairo_t *cr, bool draw)
{
    double leading = SW_STRIPS_LEADING * SW_STRIPS_WORDS_MM, across = sw_strips_across(strips);
    bool open = any_open(strips);
    char check[512];
    if (!strips->piece_count)
        return 0;
    snprintf(check, sizeof check, "Try square: %s", sw_plan_words_try_square);
    sw_strips_font(cr, SW_STRIPS_WORDS_MM, 0);
    double words = open ? sw_pdf_paragraph(cr, check, 0, 0, across, leading, 0) : 0;
    sw_strips_font(cr, SW_STRIPS_WORDS_MM, 1);
    double cautions = sw_pdf_paragraph(cr, sw_cautions_paper, 0, 0, across, leading, 0);
    double top = strips->height_mm - SW_STRIPS_MARGIN_MM - cautions - words;
    if (draw) {
        sw_pdf_paragraph(cr, sw_cautions_paper, SW_STRIPS_MARGIN_MM, top + words, across, leading, 1);
        sw_strips_font(cr, SW_STRIPS_WORDS_MM, 0);
        if (open)
            sw_pdf_paragraph(cr, check, SW_STRIPS_MARGIN_MM, top, across, leading, 1);
    }
    return cautions + words + GAP_MM;
}

/* Above a piece, right across the sheet. */
static void draw_cut(const sw_strips *strips, cairo_t *cr, double y)
{
    static const double dashes[] = {3, 2};
    cairo_save(cr);
    cairo_set_dash(cr, dashes, 2, 0);
    cairo_set_line_width(cr, CUT_LINE_MM);
    cairo_set_source_rgb(cr, CUT_GREY, CUT_GREY, CUT_GREY);
    cairo_move_to(cr, SW_STRIPS_MARGIN_MM, y);
    cairo_line_to(cr, strips->width_mm - SW_STRIPS_MARGIN_MM, y);
    cairo_stroke(cr);
    cairo_restore(cr);
}

void sw_strips_sheet(const sw_strips *strips, cairo_t *cr, int sheet)
{
    double end = 0;
    cairo_set_source_rgb(cr, 0, 0, 0);
    double head = SW_STRIPS_MARGIN_MM + sw_strips_head(strips, cr, sheet, 1);
    for (size_t i = 0; i < strips->piece_count; i++) {
        const sw_piece *piece = &strips->pieces[i];
        if (piece->sheet != sheet)
            continue;
        if (piece->left_mm <= SW_STRIPS_MARGIN_MM)
            draw_cut(strips, cr, piece->top_mm);
        if (piece->kind == SW_PIECE_BEVEL)
            sw_strips_bevel(strips, piece, cr, 1);
        else
            sw_strips_true_up(strips, piece, cr);
        end = fmax(end, piece->top_mm + piece->height_mm);
    }
    if (end > 0)
        draw_cut(strips, cr, end);
    sw_strips_font(cr, SW_STRIPS_HEADING_MM, 0);
    if (!strips->piece_count)
        sw_pdf_paragraph(cr, NOTHING, SW_STRIPS_MARGIN_MM, head + GAP_MM, sw_strips_across(strips),
                         SW_STRIPS_LEADING * SW_STRIPS_HEADING_MM, 1);
    sw_strips_foot(strips, cr, 1);
    cairo_show_page(cr);
}
