#include "cli/card_text.h"

#include <stdarg.h>
#include <stdio.h>

#if defined(__GNUC__)
__attribute__((format(printf, 3, 4)))
#endif
static void
add(card_paragraph **next, card_style style, const char *format, ...)
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

static void add_measuring(card_paragraph **next, const card_spec *spec)
{
    double across = EXAMPLE_ACROSS * spec->outer_mm, down = EXAMPLE_DOWN * spec->outer_mm;
    double inner_across = EXAMPLE_INNER_ACROSS * spec->inner_mm, inner_down = EXAMPLE_INNER_DOWN * spec->inner_mm;
    if (spec->kind == CARD_FRAME) {
        add(next, CARD_WORDS,
            "3. Measure both sides with a caliper and tell the program: the black frame outside, across and down, then "
            "the white square inside, across and down. For example, for %.1f by %.1f outside and %.1f by %.1f inside:",
            across, down, inner_across, inner_down);
        add(next, CARD_COMMAND, "seamwright inspect table.jpg --reference %.1fx%.1f/%.1fx%.1f", across, down,
            inner_across, inner_down);
        add(next, CARD_WORDS, "My card, in mm:   outside ________ x ________   inside ________ x ________");
    } else {
        add(next, CARD_WORDS,
            "3. Measure both sides with a caliper and tell the program: the black square, across and down. For "
            "example, "
            "for %.1f by %.1f:",
            across, down);
        add(next, CARD_COMMAND, "seamwright inspect table.jpg --reference %.1fx%.1f", across, down);
        add(next, CARD_WORDS, "My card, in mm:   ________ x ________");
    }
}

static void add_card(card_paragraph **next, const card_spec *spec)
{
    if (spec->kind == CARD_FRAME)
        add(next, CARD_TITLE, "Frame card %g/%g: black frame, %g mm outside, %g mm inside", spec->outer_mm,
            spec->inner_mm, spec->outer_mm, spec->inner_mm);
    else
        add(next, CARD_TITLE, "Plain card %g: black square, %g mm", spec->outer_mm, spec->outer_mm);
    add(next, CARD_WORDS,
        "1. Print at 100 %% (\"actual size\"), no fit to page, on matt paper. Check: each of the two rulers must "
        "measure "
        "100 mm within 1 mm. Printers are rarely exact: so measure the card (step 3).");
    add(next, CARD_WORDS,
        "2. Glue it flat on stiff card no thicker than 1 mm, with glue stick or spray glue over the whole back, and "
        "let "
        "it dry under books. No waves: a card 3 mm too high is already 0.25 %% wrong in scale.");
    add_measuring(next, spec);
    add(next, CARD_WORDS,
        "4. Cut along the thin grey line, so that at least 10 mm of white stay all around. Use scissors, or a sharp "
        "blade along a steel rule on a cutting mat, your fingers behind the edge and never in the blade's path.");
    add(next, CARD_WORDS,
        "5. Lay it flat on a tile's top, not across a seam, wholly in the picture, out of shadow and glare. Four "
        "cards, "
        "one near each corner of the table, measure far better than one.");
}

static void add_checkerboard(card_paragraph **next, const card_spec *spec)
{
    const sw_checkerboard *board = &spec->board;
    add(next, CARD_WORDS,
        "Checkerboard %dx%d, %g mm. Print at 100 %% (\"actual size\"), no fit to page: each ruler must measure 100 mm "
        "within 1 mm. Glue it flat on glass or a stiff board, uncut. Measure the %d squares across, divide by %d, tell "
        "the program as --square. Take 8 to 15 photos, slanted, with the board reaching into every corner:",
        board->columns, board->rows, board->square_mm, board->columns, board->columns);
    add(next, CARD_COMMAND, "seamwright lens -o phone.lens.json --checkerboard %dx%d --square %g PHOTO...",
        board->columns, board->rows, board->square_mm);
}

int card_text(const card_spec *spec, card_paragraph paragraphs[CARD_PARAGRAPHS_MOST])
{
    card_paragraph *next = paragraphs;
    if (spec->kind == CARD_CHECKERBOARD)
        add_checkerboard(&next, spec);
    else
        add_card(&next, spec);
    return (int)(next - paragraphs);
}
