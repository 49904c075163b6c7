/* draw.c - the page, laid out for the paper either way round. */
#include <math.h>
#include <stdbool.h>

#include "card/text.h"
#include "files/file.h"
#include "paper/pdf.h"
#include "seamwright/defaults_and_ranges.h"
#include "seamwright/report.h"

/* All lengths on paper in mm, x to the right, y down from the page's top left.
 *
 *   card                                   checkerboard
 *   | edge                                 | edge
 *   |  ruler  clear                        |  ruler
 *   |   |:  +---------------+ cut line     |   |:  white
 *   |   |:  |     white     |              |   |:     ##  ##  ##
 *   |   |:  |   #########   |              |   |:       ##  ##  ##
 *   |   |:  |   ##     ##   |              |   |:     ##  ##  ##
 *   |   |:  |   #########   |              |   |:       ##  ##  ##
 *   |       +---------------+              |          white
 *   |           |.........|   ruler        |          |.........|  text
 *   |   text                               |
 */

/* Home printers leave 3 to 5 mm of the sheet's edge blank (from memory; nothing depends on it but what gets printed).
 */
static const double EDGE_MM = 5.0;
/* White around a card's black square inside the cut line: the 10 mm a card must keep, and 2 mm for an unsteady hand. */
static const double CARD_WHITE_MM = 12.0;
/* White around a checkerboard, half a square of the usual 25 mm less a little: what fits an A4 and a letter sheet. */
static const double BOARD_WHITE_MM = 10.0;
/* Between a card's cut line and the rulers, which must not stay on the card. */
static const double CLEAR_MM = 2.0;
static const double CUT_LINE_MM = 0.2, CUT_LINE_GREY = 0.6;
static const double TEXT_MARGIN_MM = 18.0, TEXT_GAP_MM = 6.0;
/* Narrower than this a paragraph is a ribbon of single words. */
static const double TEXT_LEAST_WIDTH_MM = 60.0;

typedef struct text_sizes {
    double font_mm, title_mm, leading_mm, gap_mm;
} text_sizes;

/* Read at the desk: 10 pt. */
static const text_sizes CARD_TEXT = {3.5, 4.6, 4.5, 1.6};
/* Beside a checkerboard's ruler only 10 mm of height may be left: the largest of these sizes that fits, from 8 pt down
 * to 5.5 pt, which is still read without a glass. */
static const double BOARD_FONT_MOST_MM = 2.8, BOARD_FONT_LEAST_MM = 1.95, BOARD_FONT_STEP_MM = 0.05;
static const double BOARD_LEADING = 1.25; /* line height over font size */

typedef struct layout {
    double page_width, page_height;
    double pattern_x, pattern_y, pattern_width, pattern_height;
    double level_x, level_y;     /* left end of the level ruler's line */
    double upright_x, upright_y; /* top end of the upright ruler's line */
    double text_x, text_y, text_width;
    text_sizes sizes;
} layout;

static void choose_font(cairo_t *cr, sw_card_style style, const text_sizes *sizes)
{
    cairo_select_font_face(cr, style == SW_CARD_COMMAND ? "monospace" : "sans-serif", CAIRO_FONT_SLANT_NORMAL,
                           style == SW_CARD_WORDS ? CAIRO_FONT_WEIGHT_NORMAL : CAIRO_FONT_WEIGHT_BOLD);
    cairo_set_font_size(cr, style == SW_CARD_TITLE ? sizes->title_mm : sizes->font_mm);
}

/* Sets the paragraphs from the layout's text place downwards, draws them unless only measuring; returns their height.
 */
static double set_text(cairo_t *cr, const layout *l, const sw_card_paragraph *paragraphs, int count, bool draw)
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

/* Card: text under the rulers, over the page's width. Returns the height that is needed. */
static double place_card(layout *l, double centre_x, double bottom, cairo_t *cr, const sw_card_paragraph *text,
                         int count)
{
    l->level_x = centre_x - 0.5 * SW_PDF_RULER_MM;
    l->level_y = bottom + CLEAR_MM;
    l->sizes = CARD_TEXT;
    l->text_x = TEXT_MARGIN_MM;
    l->text_width = l->page_width - 2.0 * TEXT_MARGIN_MM;
    l->text_y = l->level_y + SW_PDF_RULER_DEPTH_MM + TEXT_GAP_MM;
    return l->text_y + set_text(cr, l, text, count, false) + EDGE_MM;
}

/* Checkerboard: text beside the level ruler, in the strip under the board, as large as the strip allows. */
static double place_board(layout *l, double bottom, cairo_t *cr, const sw_card_paragraph *text, int count)
{
    double need = 0.0;
    l->level_x = EDGE_MM + SW_PDF_RULER_DEPTH_MM + BOARD_WHITE_MM;
    l->level_y = bottom;
    l->text_x = l->level_x + SW_PDF_RULER_MM + SW_PDF_RULER_END_MM;
    l->text_width = l->page_width - EDGE_MM - l->text_x;
    l->text_y = bottom;
    for (double font = BOARD_FONT_MOST_MM; font > BOARD_FONT_LEAST_MM; font -= BOARD_FONT_STEP_MM) {
        l->sizes = (text_sizes){font, font, BOARD_LEADING * font, 0.0};
        need = bottom + fmax(SW_PDF_RULER_DEPTH_MM, set_text(cr, l, text, count, false)) + EDGE_MM;
        if (need <= l->page_height)
            break;
    }
    return need;
}

/* Lays the page out for the paper's width and height in l. False when it does not fit. */
static bool place(layout *l, const sw_card *card, cairo_t *cr, const sw_card_paragraph *text, int count)
{
    bool board = card->kind == SW_CARD_CHECKERBOARD;
    double white = board ? BOARD_WHITE_MM : CARD_WHITE_MM;
    l->pattern_width = board ? card->board.columns * card->board.square_mm : card->outer_mm;
    l->pattern_height = board ? card->board.rows * card->board.square_mm : card->outer_mm;

    /* Half of the block of pattern and white, or of the rulers beside it where these are longer. */
    double half_width = 0.5 * l->pattern_width + white;
    double half_height = fmax(0.5 * l->pattern_height + white, 0.5 * SW_PDF_RULER_MM + SW_PDF_RULER_ZERO_MM);
    if (!board)
        half_width = fmax(half_width, 0.5 * SW_PDF_RULER_MM + SW_PDF_RULER_END_MM);
    double left = EDGE_MM + SW_PDF_RULER_DEPTH_MM + (board ? 0.0 : CLEAR_MM);
    double right = board ? 0.0 : EDGE_MM, top = board ? 0.0 : EDGE_MM;

    double spare_width = l->page_width - left - 2.0 * half_width - right;
    double centre_x = left + 0.5 * spare_width + half_width, centre_y = top + half_height;
    l->pattern_x = centre_x - 0.5 * l->pattern_width;
    l->pattern_y = centre_y - 0.5 * l->pattern_height;
    l->upright_x = board ? left : centre_x - half_width - CLEAR_MM;
    l->upright_y = centre_y - 0.5 * SW_PDF_RULER_MM;

    double bottom = centre_y + half_height;
    double need = board ? place_board(l, bottom, cr, text, count) : place_card(l, centre_x, bottom, cr, text, count);
    if (spare_width < 0.0 || need > l->page_height || l->text_width < TEXT_LEAST_WIDTH_MM)
        return false;
    double down = 0.5 * (l->page_height - need);
    l->pattern_y += down;
    l->level_y += down;
    l->upright_y += down;
    l->text_y += down;
    return true;
}

static void draw_card(cairo_t *cr, const layout *l, const sw_card *card)
{
    double outer = card->outer_mm, inner = card->inner_mm, band = 0.5 * (outer - inner);
    cairo_set_fill_rule(cr, CAIRO_FILL_RULE_EVEN_ODD);
    cairo_rectangle(cr, l->pattern_x, l->pattern_y, outer, outer);
    if (inner > 0.0)
        cairo_rectangle(cr, l->pattern_x + band, l->pattern_y + band, inner, inner);
    cairo_fill(cr);

    double cut = outer + 2.0 * CARD_WHITE_MM;
    cairo_set_line_width(cr, CUT_LINE_MM);
    cairo_set_source_rgb(cr, CUT_LINE_GREY, CUT_LINE_GREY, CUT_LINE_GREY);
    cairo_rectangle(cr, l->pattern_x - CARD_WHITE_MM, l->pattern_y - CARD_WHITE_MM, cut, cut);
    cairo_stroke(cr);
    cairo_set_source_rgb(cr, 0.0, 0.0, 0.0);
}

static void draw_board(cairo_t *cr, const layout *l, const sw_checkerboard *board)
{
    double side = board->square_mm;
    for (int row = 0; row < board->rows; row++)
        for (int column = row % 2; column < board->columns; column += 2)
            cairo_rectangle(cr, l->pattern_x + column * side, l->pattern_y + row * side, side, side);
    cairo_fill(cr);
}

static void draw_rulers(cairo_t *cr, const layout *l)
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

static sw_status misfit(const sw_card *card, sw_error *err)
{
    char what[64];
    if (card->kind == SW_CARD_CHECKERBOARD)
        snprintf(what, sizeof what, "a checkerboard of %g x %g mm", card->board.columns * card->board.square_mm,
                 card->board.rows * card->board.square_mm);
    else
        snprintf(what, sizeof what, "a square of %g mm", card->outer_mm);
    return sw_fail(
        err, SW_BAD_INPUT,
        "%s with its white margin, rulers and text does not fit on %s paper (%g x %g mm); choose a smaller one", what,
        card->paper.name, card->paper.width_mm, card->paper.height_mm);
}

static void draw_page(cairo_t *cr, const layout *l, const sw_card *card, const sw_card_paragraph *text, int count)
{
    if (card->kind == SW_CARD_CHECKERBOARD)
        draw_board(cr, l, &card->board);
    else
        draw_card(cr, l, card);
    draw_rulers(cr, l);
    set_text(cr, l, text, count, true);
    cairo_show_page(cr);
}

static sw_status draw(const sw_card *card, FILE *stream, sw_error *err)
{
    sw_card_paragraph text[SW_CARD_PARAGRAPHS_MOST];
    int count = sw_card_text(card, text);
    double width = card->paper.width_mm, height = card->paper.height_mm;
    sw_status status = SW_OK;
    layout upright = {.page_width = width, .page_height = height}, level = {.page_width = height, .page_height = width};
    const layout *l = &upright;

    sw_pdf pdf = sw_pdf_start(stream, width, height);
    if (!place(&upright, card, pdf.cr, text, count)) {
        l = &level;
        sw_pdf_size(&pdf, height, width);
        if (!place(&level, card, pdf.cr, text, count))
            status = misfit(card, err);
    }
    if (status == SW_OK) {
        sw_pdf_describe(&pdf, text->style == SW_CARD_TITLE ? text->text : "Checkerboard for a lens profile");
        draw_page(pdf.cr, l, card, text, count);
    }
    sw_status written = sw_pdf_end(&pdf, status == SW_OK, err);
    return status ? status : written;
}

/* What was left at zero. */
static sw_card with_defaults(const sw_card *given)
{
    sw_card card = *given;
    if (card.outer_mm == 0) {
        card.outer_mm = SW_REFERENCE_MM.usual;
        card.inner_mm = card.kind == SW_CARD_FRAME ? SW_INNER_USUAL_MM : 0;
    }
    if (card.board.columns == 0 && card.board.rows == 0) {
        card.board.columns = SW_BOARD_COLUMNS;
        card.board.rows = SW_BOARD_ROWS;
    }
    if (card.board.square_mm == 0)
        card.board.square_mm = SW_BOARD_SQUARE_MM.usual;
    if (!card.paper.name)
        sw_paper_named("a4", &card.paper, NULL);
    return card;
}

sw_status sw_card_check(const sw_card *given, sw_error *err)
{
    const sw_card card = with_defaults(given);
    const sw_reference sides = {card.outer_mm, card.outer_mm, card.inner_mm, card.inner_mm};
    if (card.kind == SW_CARD_CHECKERBOARD)
        return sw_checkerboard_check(&card.board, err);
    if (card.kind == SW_CARD_FRAME && !(card.inner_mm > 0))
        return sw_fail(err, SW_BAD_INPUT, "a frame has two sides, outer and inner, like 100/60");
    if (card.kind == SW_CARD_PLAIN && card.inner_mm != 0)
        return sw_fail(err, SW_BAD_INPUT, "a plain square has one side, like 100; a frame has two");
    return sw_reference_check(&sides, err);
}

sw_status sw_card_write(const sw_card *given, const char *path, sw_error *err)
{
    const sw_card card = with_defaults(given);
    sw_file file = {NULL, NULL};
    sw_status status = sw_card_check(given, err);
    if (!status)
        status = sw_report_check_file(path, err);
    if (!status)
        status = sw_file_begin(&file, path, err);
    if (!status)
        status = draw(&card, file.stream, err);
    if (!status)
        status = sw_file_finish(&file, path, err);
    sw_file_end(&file);
    return status;
}
