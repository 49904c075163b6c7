#include <stdio.h>
#include <stdlib.h>

#include "cli/cli.h"
#include "cli/parse.h"
#include "cli/wires.h"
#include "seamwright/report.h"
#include "seamwright/scale.h"

/* The scale a table of about 900 mm has in a 12 megapixel photo; turns the profile's pixels into mm for the reader. */
static const double TYPICAL_PX_PER_MM = 4.0;

typedef struct lens_options {
    char *out;
    sw_checkerboard board;
} lens_options;

enum { OPT_OUT = 1, OPT_BOARD, OPT_SQUARE };

static const struct poptOption TABLE[] = {{"output", 'o', POPT_ARG_STRING, NULL, OPT_OUT, NULL, NULL},
                                          {"checkerboard", 'c', POPT_ARG_STRING, NULL, OPT_BOARD, NULL, NULL},
                                          {"square", 's', POPT_ARG_STRING, NULL, OPT_SQUARE, NULL, NULL},
                                          CLI_COMMON_OPTIONS};

static sw_status take(int option, const char *text, void *context, sw_error *err)
{
    lens_options *options = context;
    switch (option) {
    case OPT_OUT:
        return cli_keep_text(text, &options->out, err);
    case OPT_BOARD:
        return parse_board(text, &options->board, err);
    default:
        return parse_mm(text, SW_BOARD_SQUARE_MM, "25", &options->board.square_mm, err);
    }
}

static void show_progress(void *progress, int done, int count)
{
    char text[64];
    snprintf(text, sizeof text, "looking for the checkerboard: photo %d of %d", done < count ? done + 1 : count, count);
    cli_progress_show(progress, text);
}

static void print_quality(const char *path, const sw_lens *lens)
{
    const sw_lens_fit fit = sw_lens_fit_of(lens);
    printf("%s: lens profile from %d photos of %d x %d pixels%s%s.\n", path, lens->photos, lens->width_px,
           lens->height_px, lens->camera[0] ? ", camera " : "", lens->camera);
    printf("Fit: %s. The board's corners lie within %.2f px (RMS) of where the profile puts them; in a photo of a "
           "table at %g px/mm that is %.3f mm.\n",
           sw_lens_fit_name(fit), lens->residual_px, TYPICAL_PX_PER_MM, lens->residual_px / TYPICAL_PX_PER_MM);
    if (fit == SW_LENS_POOR)
        puts("To make it better: glue the board flat, hold the camera still, and keep the zoom unchanged.");
    printf("Cover: the board reached %.0f %% of the picture. ", 100.0 * lens->covered);
    puts(sw_lens_covers(lens)
             ? "That is enough."
             : "That is little: take more photos with the board in the picture's corners and make the profile again.");
    printf(
        "Use it for photos of this camera, this size and this zoom only:\n  seamwright inspect table.jpg --lens %s\n",
        path);
}

static int make_profile(const lens_options *options, const cli_words *words)
{
    cli_progress progress = cli_progress_start();
    sw_lens lens;
    sw_notes notes = {0};
    sw_error err = {{0}};
    sw_status status = sw_report_check_file(options->out, &err);
    if (status != SW_OK)
        return cli_say(options->out, err.text);
    status =
        sw_lens_calibrate(words->word, words->count, options->board, show_progress, &progress, &lens, &notes, &err);
    cli_progress_clear(&progress);
    int result = status == SW_OK ? -1 : cli_say("seamwright lens", err.text);
    if (result < 0)
        cli_begins_writing();
    if (result < 0 && sw_lens_save(options->out, &lens, &err) != SW_OK)
        result = cli_say(options->out, err.text);
    for (size_t i = 0; result < 0 && i < notes.count; i++)
        cli_sayf("seamwright lens", "note: %s", notes.list[i].text);
    sw_notes_free(&notes);
    if (result >= 0)
        return result;
    print_quality(options->out, &lens);
    return CLI_DONE;
}

int cli_lens(int argc, const char **argv)
{
    /* The squares' size moves the board nearer or farther, not the lens's numbers, so a default harms nobody. */
    lens_options options = {.board = {SW_BOARD_COLUMNS, SW_BOARD_ROWS, SW_BOARD_SQUARE_MM.usual}};
    cli_words words;
    int result = cli_read_options(cli_help_lens, argc, argv, TABLE, take, &options, &words);
    if (result < 0 && !options.out)
        result =
            cli_say("seamwright", "say where to put the profile, like: seamwright lens -o phone.lens.json PHOTO...");
    if (result < 0)
        result = make_profile(&options, &words);
    cli_words_free(&words);
    free(options.out);
    return result;
}
