#include "card/text.h"

#include <stdarg.h>
#include <stdio.h>

SW_PRINTF(3, 4)
static void add(sw_card_paragraph **next, sw_card_style style, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (*next)->style = style;
    vsnprintf((*next)->text, sizeof(*next)->text, format, arguments);
    va_end(arguments);
    ++*next;
}

/* The sides in the example: what a printer a few tenths of a percent off would give, with ink that spreads a little, so
 * that nobody takes the example for the nominal figures. */
static const double EXAMPLE_ACROSS = 0.996, EXAMPLE_DOWN = 0.998, EXAMPLE_INNER_ACROSS = 0.995,
                    EXAMPLE_INNER_DOWN = 0.9983;

/* A camera held over a table: so far away, a side that is a part larger looks that part of it nearer, mm. */
static const double HEIGHT_OF_SIDES_MM = 1100;

static void add_measuring(sw_card_paragraph **next, const sw_card *card)
{
    double across = EXAMPLE_ACROSS * card->outer_mm, down = EXAMPLE_DOWN * card->outer_mm;
    double inner_across = EXAMPLE_INNER_ACROSS * card->inner_mm, inner_down = EXAMPLE_INNER_DOWN * card->inner_mm;
    if (card->kind == SW_CARD_FRAME) {
        add(next, SW_CARD_WORDS,
            "3. Measure both sides with a caliper and tell the program: the black frame outside, across and down, then "
            "the white square inside, across and down. For example, for %.1f by %.1f outside and %.1f by %.1f inside:",
            across, down, inner_across, inner_down);
        add(next, SW_CARD_COMMAND, "seamwright inspect table.jpg --reference %.1fx%.1f/%.1fx%.1f", across, down,
            inner_across, inner_down);
        add(next, SW_CARD_WORDS, "My card, in mm:   outside ________ x ________   inside ________ x ________");
    } else {
        add(next, SW_CARD_WORDS,
            "3. Measure both sides with a caliper and tell the program: the black square, across and down. For "
            "example, for %.1f by %.1f:",
            across, down);
        add(next, SW_CARD_COMMAND, "seamwright inspect table.jpg --reference %.1fx%.1f", across, down);
        add(next, SW_CARD_WORDS, "My card, in mm:   ________ x ________");
    }
}

static void add_card(sw_card_paragraph **next, const sw_card *card)
{
    if (card->kind == SW_CARD_FRAME)
        add(next, SW_CARD_TITLE, "Frame card %g/%g: black frame, %g mm outside, %g mm inside", card->outer_mm,
            card->inner_mm, card->outer_mm, card->inner_mm);
    else
        add(next, SW_CARD_TITLE, "Plain card %g: black square, %g mm", card->outer_mm, card->outer_mm);
    add(next, SW_CARD_WORDS,
        "1. Print at 100 %% (\"actual size\"), no fit to page, on matt paper. Check: each of the two rulers must "
        "measure 100 mm within 1 mm. Printers are rarely exact: so measure the card (step 3).");
    add(next, SW_CARD_WORDS,
        "2. Glue it flat on stiff card no thicker than 1 mm, with glue stick or spray glue over the whole back, and "
        "let it dry under books. No waves: a card 3 mm too high is already 0.25 %% wrong in scale.");
    add_measuring(next, card);
    add(next, SW_CARD_WORDS,
        "4. Cut along the thin grey line, so that at least 10 mm of white stay all around. Use scissors, or a sharp "
        "blade along a steel rule on a cutting mat, your fingers behind the edge and never in the blade's path.");
    add(next, SW_CARD_WORDS,
        "5. Lay it flat on a tile's top, not across a seam, wholly in the picture, out of shadow and glare. Four "
        "cards, one near each corner of the table, measure far better than one.");
}

static void add_checkerboard(sw_card_paragraph **next, const sw_card *card)
{
    const sw_checkerboard *board = &card->board;
    add(next, SW_CARD_WORDS,
        "Checkerboard %dx%d, %g mm. Print at 100 %% (\"actual size\"), no fit to page: each ruler must measure 100 mm "
        "within 1 mm. Glue it flat on glass or a stiff board, uncut. Measure the %d squares across, divide by %d, tell "
        "the program as --square. Take 8 to 15 photos, slanted, with the board reaching into every corner:",
        board->columns, board->rows, board->square_mm, board->columns, board->columns);
    add(next, SW_CARD_COMMAND, "seamwright lens -o phone.lens.json --checkerboard %dx%d --square %g PHOTO...",
        board->columns, board->rows, board->square_mm);
}

/* How the sides are told, with figures of such a card. */
static void add_telling(sw_card_paragraph **next, const sw_card *card)
{
    double across = EXAMPLE_ACROSS * card->outer_mm, down = EXAMPLE_DOWN * card->outer_mm;
    if (card->kind == SW_CARD_FRAME)
        add(next, SW_CARD_COMMAND, "seamwright inspect table.jpg --reference %.1fx%.1f/%.1fx%.1f", across, down,
            EXAMPLE_INNER_ACROSS * card->inner_mm, EXAMPLE_INNER_DOWN * card->inner_mm);
    else
        add(next, SW_CARD_COMMAND, "seamwright inspect table.jpg --reference %.1fx%.1f", across, down);
}

int sw_card_sheet_text(const sw_card *card, int sheet, int sheets,
                       sw_card_paragraph paragraphs[SW_CARD_PARAGRAPHS_MOST])
{
    sw_card_paragraph *next = paragraphs;
    if (card->kind == SW_CARD_FRAME)
        add(&next, SW_CARD_TITLE, "%d frame cards %g/%g, sheet %d of %d", card->count, card->outer_mm, card->inner_mm,
            sheet, sheets);
    else
        add(&next, SW_CARD_TITLE, "%d plain cards %g, sheet %d of %d", card->count, card->outer_mm, sheet, sheets);
    add(&next, SW_CARD_WORDS,
        "Print all sheets in one run, on one paper, at 100 %% (\"actual size\"), no fit to page: each ruler must "
        "measure "
        "100 mm within 1 mm. A card's size in the photo tells how high its tile stands: cards that differ by 0.03 mm "
        "look "
        "%.1f mm apart in height. So use cards of one run together, and none of another.",
        HEIGHT_OF_SIDES_MM * 0.03 / card->outer_mm);
    add(&next, SW_CARD_WORDS,
        "Glue them flat on stiff card, all on the same, no thicker than 1 mm. Cut along the grey lines (10 mm of white "
        "must "
        "stay): sharp blade, steel rule, cutting mat, fingers out of the blade's path. Measure two or three with a "
        "caliper, "
        "across and down, and tell the mean. Lay one flat on every tile, not across a seam, out of shadow and glare:");
    add_telling(&next, card);
    return (int)(next - paragraphs);
}

int sw_card_text(const sw_card *card, sw_card_paragraph paragraphs[SW_CARD_PARAGRAPHS_MOST])
{
    sw_card_paragraph *next = paragraphs;
    if (card->kind == SW_CARD_CHECKERBOARD)
        add_checkerboard(&next, card);
    else
        add_card(&next, card);
    return (int)(next - paragraphs);
}
