/* draw.c - the page, laid out for the paper either way round. */
#include <math.h>
#include <stdbool.h>
#include <string.h>
#include <strings.h>

#include "card/layout.h"
#include "card/sheets.h"
#include "files/file.h"
#include "paper/letters.h"
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

/* White around a checkerboard, half a square of the usual 25 mm less a little: what fits an A4 and a letter sheet. */
static const double BOARD_WHITE_MM = 10.0;
static const double TEXT_MARGIN_MM = 18.0, TEXT_GAP_MM = 6.0;
/* Narrower than this a paragraph is a ribbon of single words. */
static const double TEXT_LEAST_WIDTH_MM = 60.0;

/* Read at the desk: 10 pt. */
static const sw_card_sizes CARD_TEXT = {3.5, 4.6, 4.5, 1.6};
/* Beside a checkerboard's ruler only 10 mm of height may be left: the largest of these sizes that fits, from 8 pt down
 * to 5.5 pt, which is still read without a glass. */
static const double BOARD_FONT_MOST_MM = 2.8, BOARD_FONT_LEAST_MM = 1.95, BOARD_FONT_STEP_MM = 0.05;
static const double BOARD_LEADING = 1.25; /* line height over font size */

/* Card: text under the rulers, over the page's width. Returns the height that is needed. */
static double place_card(sw_card_layout *l, double centre_x, double bottom, cairo_t *cr, const sw_card_paragraph *text,
                         int count)
{
    l->level_x = centre_x - 0.5 * SW_PDF_RULER_MM;
    l->level_y = bottom + SW_CARD_CLEAR_MM;
    l->sizes = CARD_TEXT;
    l->text_x = TEXT_MARGIN_MM;
    l->text_width = l->page_width - 2.0 * TEXT_MARGIN_MM;
    l->text_y = l->level_y + SW_PDF_RULER_DEPTH_MM + TEXT_GAP_MM;
    return l->text_y + sw_card_set_text(cr, l, text, count, false) + SW_CARD_EDGE_MM;
}

/* Checkerboard: text beside the level ruler, in the strip under the board, as large as the strip allows. */
static double place_board(sw_card_layout *l, double bottom, cairo_t *cr, const sw_card_paragraph *text, int count)
{
    double need = 0.0;
    l->level_x = SW_CARD_EDGE_MM + SW_PDF_RULER_DEPTH_MM + BOARD_WHITE_MM;
    l->level_y = bottom;
    l->text_x = l->level_x + SW_PDF_RULER_MM + SW_PDF_RULER_END_MM;
    l->text_width = l->page_width - SW_CARD_EDGE_MM - l->text_x;
    l->text_y = bottom;
    for (double font = BOARD_FONT_MOST_MM; font > BOARD_FONT_LEAST_MM; font -= BOARD_FONT_STEP_MM) {
        l->sizes = (sw_card_sizes){font, font, BOARD_LEADING * font, 0.0};
        need = bottom + fmax(SW_PDF_RULER_DEPTH_MM, sw_card_set_text(cr, l, text, count, false)) + SW_CARD_EDGE_MM;
        if (need <= l->page_height)
            break;
    }
    return need;
}

/* Lays the page out for the paper's width and height in l. False when it does not fit. */
static bool place(sw_card_layout *l, const sw_card *card, cairo_t *cr, const sw_card_paragraph *text, int count)
{
    bool board = card->kind == SW_CARD_CHECKERBOARD;
    double white = board ? BOARD_WHITE_MM : SW_CARD_WHITE_MM;
    l->pattern_width = board ? card->board.columns * card->board.square_mm : card->outer_mm;
    l->pattern_height = board ? card->board.rows * card->board.square_mm : card->outer_mm;

    /* Half of the block of pattern and white, or of the rulers beside it where these are longer. */
    double half_width = 0.5 * l->pattern_width + white;
    double half_height = fmax(0.5 * l->pattern_height + white, 0.5 * SW_PDF_RULER_MM + SW_PDF_RULER_ZERO_MM);
    if (!board)
        half_width = fmax(half_width, 0.5 * SW_PDF_RULER_MM + SW_PDF_RULER_END_MM);
    double left = SW_CARD_EDGE_MM + SW_PDF_RULER_DEPTH_MM + (board ? 0.0 : SW_CARD_CLEAR_MM);
    double right = board ? 0.0 : SW_CARD_EDGE_MM, top = board ? 0.0 : SW_CARD_EDGE_MM;

    double spare_width = l->page_width - left - 2.0 * half_width - right;
    double centre_x = left + 0.5 * spare_width + half_width, centre_y = top + half_height;
    l->pattern_x = centre_x - 0.5 * l->pattern_width;
    l->pattern_y = centre_y - 0.5 * l->pattern_height;
    l->upright_x = board ? left : centre_x - half_width - SW_CARD_CLEAR_MM;
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

static void draw_board(cairo_t *cr, const sw_card_layout *l, const sw_checkerboard *board)
{
    double side = board->square_mm;
    for (int row = 0; row < board->rows; row++)
        for (int column = row % 2; column < board->columns; column += 2)
            cairo_rectangle(cr, l->pattern_x + column * side, l->pattern_y + row * side, side, side);
    cairo_fill(cr);
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

static void draw_page(cairo_t *cr, const sw_card_layout *l, const sw_card *card, const sw_card_paragraph *text,
                      int count)
{
    if (card->kind == SW_CARD_CHECKERBOARD)
        draw_board(cr, l, &card->board);
    else
        sw_card_draw_square(cr, l->pattern_x, l->pattern_y, card);
    sw_card_draw_rulers(cr, l);
    sw_card_set_text(cr, l, text, count, true);
    cairo_show_page(cr);
}

static sw_status draw(const sw_card *card, FILE *stream, sw_error *err)
{
    sw_card_paragraph text[SW_CARD_PARAGRAPHS_MOST];
    int count = sw_card_text(card, text);
    double width = card->paper.width_mm, height = card->paper.height_mm;
    sw_status status = SW_OK;
    sw_card_layout upright = {.page_width = width, .page_height = height},
                   level = {.page_width = height, .page_height = width};
    const sw_card_layout *l = &upright;

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
    if (card.count < 0 || card.count > SW_CARDS_MOST)
        return sw_fail(err, SW_BAD_INPUT, "one file holds 1 to %d cards", SW_CARDS_MOST);
    if (card.count > 1 && card.kind == SW_CARD_CHECKERBOARD)
        return sw_fail(err, SW_BAD_INPUT, "one checkerboard is enough; several at once are for cards");
    const sw_reference sides = {card.outer_mm, card.outer_mm, card.inner_mm, card.inner_mm};
    if (card.kind == SW_CARD_CHECKERBOARD)
        return sw_checkerboard_check(&card.board, err);
    if (card.kind == SW_CARD_FRAME && !(card.inner_mm > 0))
        return sw_fail(err, SW_BAD_INPUT, "a frame has two sides, outer and inner, like 100/60");
    if (card.kind == SW_CARD_PLAIN && card.inner_mm != 0)
        return sw_fail(err, SW_BAD_INPUT, "a plain square has one side, like 100; a frame has two");
    return sw_reference_check(&sides, err);
}

/* What is written is PDF, whatever the name says: a picture by name would not open, or print at any size. */
static sw_status check_ending(const char *path, sw_error *err)
{
    const char *name = strrchr(path, '/'), *dot = strrchr(name ? name : path, '.');
    if (dot && strcasecmp(dot, ".pdf") == 0)
        return SW_OK;
    return sw_fail(err, SW_BAD_INPUT,
                   "%.300s: a card is written as PDF, which prints at true size; give a name that ends in .pdf, like "
                   "card.pdf",
                   path);
}

sw_status sw_card_write(const sw_card *given, const char *path, sw_error *err)
{
    const sw_card card = with_defaults(given);
    sw_file file = {NULL, NULL};
    sw_status status = sw_card_check(given, err);
    if (!status)
        status = sw_report_check_file(path, err);
    if (!status)
        status = check_ending(path, err);
    if (!status)
        status = sw_letters_check(path, err);
    if (!status)
        status = sw_file_begin(&file, path, err);
    if (!status)
        status = card.count > 1 ? sw_card_sheets(&card, file.stream, err) : draw(&card, file.stream, err);
    if (!status)
        status = sw_file_finish(&file, path, err);
    sw_file_end(&file);
    return status;
}
