/* sheets.c - cards side by side, so that one cut serves two of them.
 *
 *   | edge
 *   |  ruler  clear
 *   |   |:  +-------+-------+-------+        As many as fit, up to MOST on a sheet, the paper either way round; rulers
 *   |   |:  |  ##   |  ##   |  ##   |        and words on every sheet.
 *   |   |:  +-------+-------+-------+
 *   |       |  ##   |  ##   |  ##   |
 *   |       +-------+-------+-------+
 *   |        |.........|   ruler
 *   |   text
 */
#include "card/sheets.h"

#include <math.h>

#include "card/layout.h"
#include "paper/pdf.h"

/* More cards on a sheet would be too small to be of use. */
enum { MOST = 6 };
static const double TEXT_MARGIN_MM = 10.0, TEXT_GAP_MM = 2.0, PARAGRAPH_GAP_MM = 0.6;
/* The largest of these sizes that fits, from 9 pt down to 6 pt, which is still read without a glass. */
static const double FONT_MOST_MM = 3.2, FONT_LEAST_MM = 2.1, FONT_STEP_MM = 0.05;
static const double LEADING = 1.25, TITLE = 1.2; /* line height and title over font size */

typedef struct sheet {
    sw_card_layout l;
    int columns, rows;
    double pitch; /* from card to card, mm */
} sheet;

static int cards_on(const sheet *s)
{
    return s->columns * s->rows;
}

static int sheets_of(const sheet *s, int cards)
{
    return (cards + cards_on(s) - 1) / cards_on(s);
}

/* The words in the largest size that leaves them on the page. */
static bool place_text(sheet *s, const sw_card *card, cairo_t *cr)
{
    sw_card_paragraph text[SW_CARD_PARAGRAPHS_MOST];
    int sheets = sheets_of(s, card->count), count = sw_card_sheet_text(card, sheets, sheets, text);
    s->l.text_x = TEXT_MARGIN_MM;
    s->l.text_width = s->l.page_width - 2.0 * TEXT_MARGIN_MM;
    s->l.text_y = s->l.level_y + SW_PDF_RULER_DEPTH_MM + TEXT_GAP_MM;
    for (double font = FONT_MOST_MM; font >= FONT_LEAST_MM; font -= FONT_STEP_MM) {
        s->l.sizes = (sw_card_sizes){font, TITLE * font, LEADING * font, PARAGRAPH_GAP_MM};
        double height = sw_card_set_text(cr, &s->l, text, count, false);
        if (s->l.text_y + height + SW_CARD_EDGE_MM <= s->l.page_height)
            return true;
    }
    return false;
}

/* So many columns and rows on this page; false when they do not fit. */
static bool place(sheet *s, const sw_card *card, cairo_t *cr)
{
    sw_card_layout *l = &s->l;
    s->pitch = card->outer_mm + 2.0 * SW_CARD_WHITE_MM;
    double left = SW_CARD_EDGE_MM + SW_PDF_RULER_DEPTH_MM + SW_CARD_CLEAR_MM, width = s->columns * s->pitch;
    double block = fmax(width, SW_PDF_RULER_MM + SW_PDF_RULER_END_MM),
           spare = l->page_width - left - block - SW_CARD_EDGE_MM;
    double high = fmax(s->rows * s->pitch, SW_PDF_RULER_MM + SW_PDF_RULER_ZERO_MM + SW_PDF_RULER_END_MM);
    l->pattern_x = left + 0.5 * (fmax(0.0, spare) + block - width) + SW_CARD_WHITE_MM;
    l->pattern_y = SW_CARD_EDGE_MM + SW_CARD_WHITE_MM;
    l->upright_x = l->pattern_x - SW_CARD_WHITE_MM - SW_CARD_CLEAR_MM;
    l->upright_y = SW_CARD_EDGE_MM + SW_PDF_RULER_ZERO_MM;
    l->level_x = l->pattern_x - SW_CARD_WHITE_MM + SW_PDF_RULER_ZERO_MM;
    l->level_y = SW_CARD_EDGE_MM + high + SW_CARD_CLEAR_MM;
    return spare >= 0.0 && place_text(s, card, cr);
}

/* Fewer sheets first, then fewer places on each, which leaves more room; an upright page before a level one. */
static bool better(const sheet *a, const sheet *b, int cards)
{
    if (sheets_of(a, cards) != sheets_of(b, cards))
        return sheets_of(a, cards) < sheets_of(b, cards);
    return cards_on(a) < cards_on(b);
}

static bool best_place(const sw_card *card, cairo_t *cr, sheet *best)
{
    bool found = false;
    for (int level = 0; level < 2; level++)
        for (int columns = 1; columns <= MOST; columns++)
            for (int rows = 1; columns * rows <= MOST; rows++) {
                double width = card->paper.width_mm, height = card->paper.height_mm;
                sheet s = {.l = {.page_width = level ? height : width, .page_height = level ? width : height},
                           .columns = columns,
                           .rows = rows};
                if (place(&s, card, cr) && (!found || better(&s, best, card->count))) {
                    *best = s;
                    found = true;
                }
            }
    return found;
}

static void draw_sheet(cairo_t *cr, const sheet *s, const sw_card *card, int number)
{
    sw_card_paragraph text[SW_CARD_PARAGRAPHS_MOST];
    int sheets = sheets_of(s, card->count), count = sw_card_sheet_text(card, number + 1, sheets, text);
    for (int i = 0; i < cards_on(s) && number * cards_on(s) + i < card->count; i++)
        sw_card_draw_square(cr, s->l.pattern_x + i % s->columns * s->pitch, s->l.pattern_y + i / s->columns * s->pitch,
                            card);
    sw_card_draw_rulers(cr, &s->l);
    sw_card_set_text(cr, &s->l, text, count, true);
    cairo_show_page(cr);
}

sw_status sw_card_sheets(const sw_card *card, FILE *stream, sw_error *err)
{
    sheet s;
    char title[64];
    sw_pdf pdf = sw_pdf_start(stream, card->paper.width_mm, card->paper.height_mm);
    bool fits = best_place(card, pdf.cr, &s);
    if (fits) {
        snprintf(title, sizeof title, "%d cards of %g mm", card->count, card->outer_mm);
        sw_pdf_describe(&pdf, title);
        sw_pdf_size(&pdf, s.l.page_width, s.l.page_height);
        for (int i = 0; i < sheets_of(&s, card->count); i++)
            draw_sheet(pdf.cr, &s, card, i);
    }
    sw_status written = sw_pdf_end(&pdf, fits, err);
    return fits ? written
                : sw_fail(
                      err, SW_BAD_INPUT,
                      "a square of %g mm with its white margin, rulers and text does not fit on %s paper (%g x %g mm); "
                      "choose a smaller one",
                      card->outer_mm, card->paper.name, card->paper.width_mm, card->paper.height_mm);
}
