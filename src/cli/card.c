#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/card_draw.h"
#include "cli/cli.h"
#include "cli/parse.h"
#include "files/file.h"
#include "seamwright/report.h"

/* What the practice boards and the ready-made sheets have. */
static const double DEFAULT_BOARD_SQUARE_MM = 25.0;

typedef struct card_options {
    char *out;
    int kinds; /* how many of --frame, --plain, --checkerboard were given */
    card_spec spec;
} card_options;

enum { OPT_OUT = 1, OPT_FRAME, OPT_PLAIN, OPT_BOARD, OPT_SQUARE, OPT_PAPER };

static const struct poptOption TABLE[] = {{"output", 'o', POPT_ARG_STRING, NULL, OPT_OUT, NULL, NULL},
                                          {"frame", 'f', POPT_ARG_STRING, NULL, OPT_FRAME, NULL, NULL},
                                          {"plain", 0, POPT_ARG_STRING, NULL, OPT_PLAIN, NULL, NULL},
                                          {"checkerboard", 'c', POPT_ARG_STRING, NULL, OPT_BOARD, NULL, NULL},
                                          {"square", 's', POPT_ARG_STRING, NULL, OPT_SQUARE, NULL, NULL},
                                          {"paper", 'p', POPT_ARG_STRING, NULL, OPT_PAPER, NULL, NULL},
                                          CLI_COMMON_OPTIONS};

/* --frame and --plain: sides as they shall be printed, so the same across and down. */
static sw_status take_sides(const char *text, card_kind kind, card_options *options, sw_error *err)
{
    sw_reference sides;
    sw_status status = parse_reference(text, &sides, err);
    if (status != SW_OK)
        return status;
    if (sides.outer_x_mm != sides.outer_y_mm || sides.inner_x_mm != sides.inner_y_mm)
        return sw_fail(err, SW_BAD_INPUT,
                       "a card is drawn square; keep measured sides for 'seamwright inspect --reference'");
    if ((kind == CARD_FRAME) != (sides.inner_x_mm > 0.0))
        return sw_fail(err, SW_BAD_INPUT,
                       kind == CARD_FRAME ? "a frame has two sides, outer and inner, like 100/60"
                                          : "a plain square has one side, like 100; for two use --frame");
    options->spec.kind = kind;
    options->spec.outer_mm = sides.outer_x_mm;
    options->spec.inner_mm = sides.inner_x_mm;
    options->kinds++;
    return SW_OK;
}

static sw_status take_board(const char *text, card_options *options, sw_error *err)
{
    options->spec.kind = CARD_CHECKERBOARD;
    options->kinds++;
    return parse_board(text, &options->spec.board.columns, &options->spec.board.rows, err);
}

static sw_status take(int option, const char *text, void *context, sw_error *err)
{
    card_options *options = context;
    switch (option) {
    case OPT_OUT:
        return cli_keep_text(text, &options->out, err);
    case OPT_FRAME:
        return take_sides(text, CARD_FRAME, options, err);
    case OPT_PLAIN:
        return take_sides(text, CARD_PLAIN, options, err);
    case OPT_BOARD:
        return take_board(text, options, err);
    case OPT_SQUARE:
        return parse_mm(text, &parse_board_square_mm, &options->spec.board.square_mm, err);
    default:
        return parse_paper(text, &options->spec.paper, err);
    }
}

/* Contradictions between options, then defaults. -1 when all is well. */
static int settle(card_options *options, const cli_words *words)
{
    card_spec *spec = &options->spec;
    if (words->count > 0)
        return cli_sayf("seamwright", "card takes no file name but the one behind -o; what is '%s' for?",
                        words->word[0]);
    if (!options->out)
        return cli_say("seamwright", "say where to put the card, like: seamwright card -o card.pdf");
    if (options->kinds > 1)
        return cli_say("seamwright", "choose one of --frame, --plain and --checkerboard; a sheet holds one of them");
    if (spec->board.square_mm > 0.0 && spec->kind != CARD_CHECKERBOARD)
        return cli_say("seamwright",
                       "--square belongs to --checkerboard; the side of a plain card goes behind --plain");
    if (spec->board.square_mm == 0.0)
        spec->board.square_mm = DEFAULT_BOARD_SQUARE_MM;
    return -1;
}

static int make_card(const card_options *options)
{
    sw_file card = {NULL, NULL};
    sw_error err = {{0}};
    sw_status status = sw_report_check_file(options->out, &err);
    if (status == SW_OK)
        status = sw_file_begin(&card, options->out, &err);
    if (status == SW_OK)
        status = card_draw(&options->spec, card.stream, &err);
    if (status == SW_OK)
        status = sw_file_finish(&card, options->out, &err);
    sw_file_end(&card);
    if (status != SW_OK)
        return cli_say(options->out, err.text);
    printf("%s: one page of %s paper; print it at 100 %%, not \"fit to page\", and measure it.\n", options->out,
           options->spec.paper.name);
    return CLI_DONE;
}

int cli_card(int argc, const char **argv)
{
    card_options options = {
        .spec = {.kind = CARD_FRAME, .outer_mm = 100.0, .inner_mm = 60.0, .paper = parse_paper_usual}};
    cli_words words;
    int result = cli_read_options(cli_help_card, argc, argv, TABLE, take, &options, &words);
    if (result < 0)
        result = settle(&options, &words);
    if (result < 0)
        result = make_card(&options);
    cli_words_free(&words);
    free(options.out);
    return result;
}
