#include "card/layout.h"

#include <math.h>

#include "paper/letters.h"
#include "paper/pdf.h"

static const double CUT_LINE_MM = 0.2, CUT_LINE_GREY = 0.6;

static void choose_font(cairo_t *cr, sw_card_style style, const sw_card_sizes *sizes)
{
    sw_letters_choose(cr,
                      style == SW_CARD_COMMAND ? SW_LETTERS_TYPED
                      : style == SW_CARD_WORDS ? SW_LETTERS_PLAIN
                                               : SW_LETTERS_BOLD,
                      style == SW_CARD_TITLE ? sizes->title_mm : sizes->font_mm);
}

double sw_card_set_text(cairo_t *cr, const sw_card_layout *l, const sw_card_paragraph *paragraphs, int count, bool draw)
{
    double y = 0.0;
    for (int i = 0; i < count; i++) {
        choose_font(cr, paragraphs[i].style, &l->sizes);
        y += sw_pdf_paragraph(cr, paragraphs[i].text, l->text_x, l->text_y + y, l->text_width, l->sizes.leading_mm,
                              draw);
        y += l->sizes.gap_mm;
    }
    return y;
}

void sw_card_draw_square(cairo_t *cr, double x, double y, const sw_card *card)
{
    double outer = card->outer_mm, inner = card->inner_mm, band = 0.5 * (outer - inner);
    cairo_set_fill_rule(cr, CAIRO_FILL_RULE_EVEN_ODD);
    cairo_rectangle(cr, x, y, outer, outer);
    if (inner > 0.0)
        cairo_rectangle(cr, x + band, y + band, inner, inner);
    cairo_fill(cr);

    double cut = outer + 2.0 * SW_CARD_WHITE_MM;
    cairo_set_line_width(cr, CUT_LINE_MM);
    cairo_set_source_rgb(cr, CUT_LINE_GREY, CUT_LINE_GREY, CUT_LINE_GREY);
    cairo_rectangle(cr, x - SW_CARD_WHITE_MM, y - SW_CARD_WHITE_MM, cut, cut);
    cairo_stroke(cr);
    cairo_set_source_rgb(cr, 0.0, 0.0, 0.0);
}

void sw_card_draw_rulers(cairo_t *cr, const sw_card_layout *l)
{
    cairo_save(cr);
    cairo_translate(cr, l->level_x, l->level_y);
    sw_pdf_ruler(cr);
    cairo_restore(cr);
    cairo_save(cr);
    cairo_translate(cr, l->upright_x, l->upright_y);
    cairo_rotate(cr, 0.5 * M_PI);
    sw_pdf_ruler(cr);
    cairo_restore(cr);
}
