#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/cli.h"
#include "cli/parse.h"
#include "cli/wires.h"
#include "seamwright/card.h"

typedef struct card_options {
    char *out;
    int kinds; /* how many of --frame, --plain, --checkerboard were given */
    sw_card card;
} card_options;

enum { OPT_OUT = 1, OPT_FRAME, OPT_PLAIN, OPT_BOARD, OPT_SQUARE, OPT_PAPER, OPT_COUNT };

static const struct poptOption TABLE[] = {{"output", 'o', POPT_ARG_STRING, NULL, OPT_OUT, NULL, NULL},
                                          {"frame", 'f', POPT_ARG_STRING, NULL, OPT_FRAME, NULL, NULL},
                                          {"plain", 0, POPT_ARG_STRING, NULL, OPT_PLAIN, NULL, NULL},
                                          {"checkerboard", 'c', POPT_ARG_STRING, NULL, OPT_BOARD, NULL, NULL},
                                          {"square", 's', POPT_ARG_STRING, NULL, OPT_SQUARE, NULL, NULL},
                                          {"count", 'n', POPT_ARG_STRING, NULL, OPT_COUNT, NULL, NULL},
                                          {"paper", 'p', POPT_ARG_STRING, NULL, OPT_PAPER, NULL, NULL},
                                          CLI_COMMON_OPTIONS};

/* --frame and --plain: sides as they shall be printed, so the same across and down. */
static sw_status take_sides(const char *text, sw_card_kind kind, card_options *options, sw_error *err)
{
    sw_reference sides;
    sw_status status = parse_reference(text, &sides, err);
    if (status != SW_OK)
        return status;
    if (sides.outer_x_mm != sides.outer_y_mm || sides.inner_x_mm != sides.inner_y_mm)
        return sw_fail(err, SW_BAD_INPUT,
                       "a card is drawn square; keep measured sides for 'seamwright inspect --reference'");
    options->card.kind = kind;
    options->card.outer_mm = sides.outer_x_mm;
    options->card.inner_mm = sides.inner_x_mm;
    options->kinds++;
    return sw_card_check(&options->card, err);
}

static sw_status take_board(const char *text, card_options *options, sw_error *err)
{
    options->card.kind = SW_CARD_CHECKERBOARD;
    options->kinds++;
    return parse_board(text, &options->card.board, err);
}

static sw_status take(int option, const char *text, void *context, sw_error *err)
{
    card_options *options = context;
    switch (option) {
    case OPT_OUT:
        return cli_keep_text(text, &options->out, err);
    case OPT_FRAME:
        return take_sides(text, SW_CARD_FRAME, options, err);
    case OPT_PLAIN:
        return take_sides(text, SW_CARD_PLAIN, options, err);
    case OPT_BOARD:
        return take_board(text, options, err);
    case OPT_SQUARE:
        return parse_mm(text, SW_BOARD_SQUARE_MM, "25", &options->card.board.square_mm, err);
    case OPT_COUNT:
        return parse_count(text, SW_CARDS_MOST, &options->card.count, err);
    default:
        return sw_paper_named(text, &options->card.paper, err);
    }
}

/* Contradictions between options. -1 when all is well. */
static int settle(const card_options *options, const cli_words *words)
{
    const sw_card *card = &options->card;
    if (words->count > 0)
        return cli_sayf("seamwright", "card takes no file name but the one behind -o; what is '%s' for?",
                        words->word[0]);
    if (!options->out)
        return cli_say("seamwright", "say where to put the card, like: seamwright card -o card.pdf");
    if (options->kinds > 1)
        return cli_say("seamwright", "choose one of --frame, --plain and --checkerboard; a sheet holds one of them");
    if (card->board.square_mm > 0.0 && card->kind != SW_CARD_CHECKERBOARD)
        return cli_say("seamwright",
                       "--square belongs to --checkerboard; the side of a plain card goes behind --plain");
    if (card->count > 1 && card->kind == SW_CARD_CHECKERBOARD)
        return cli_say("seamwright", "--count is for cards; one checkerboard is enough");
    return -1;
}

static int make_card(const card_options *options)
{
    sw_error err = {{0}};
    cli_begins_writing();
    if (sw_card_write(&options->card, options->out, &err) != SW_OK)
        return cli_say(options->out, err.text);
    if (options->card.count > 1)
        printf(
            "%s: %d cards on %s paper; print all pages in one run at 100 %%, not \"fit to page\", and measure them.\n",
            options->out, options->card.count, options->card.paper.name);
    else
        printf("%s: one page of %s paper; print it at 100 %%, not \"fit to page\", and measure it.\n", options->out,
               options->card.paper.name);
    return CLI_DONE;
}

int cli_card(int argc, const char **argv)
{
    card_options options = {.out = NULL};
    cli_words words;
    sw_paper_named("a4", &options.card.paper, NULL);
    int result = cli_read_options(cli_help_card, argc, argv, TABLE, take, &options, &words);
    if (result < 0)
        result = settle(&options, &words);
    if (result < 0)
        result = make_card(&options);
    cli_words_free(&words);
    free(options.out);
    return result;
}
