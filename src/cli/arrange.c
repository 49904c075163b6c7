#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/answers.h"
#include "cli/cli.h"
#include "cli/given.h"
#include "cli/parse.h"
#include "cli/wires.h"
#include "seamwright/arrange.h"

typedef struct arrange_job {
    given_set set;
    answers_given answers;
    char *keep_text;
    int *keep;
    sw_arrange_options options;
    sw_arrangement arrangement;
} arrange_job;

enum { OPT_KEEP = 1, OPT_LAYOUT, OPT_TOLERANCE, OPT_SEED, OPT_LEAN, OPT_OUT };

static const struct poptOption TABLE[] = {{"keep", 0, POPT_ARG_STRING, NULL, OPT_KEEP, NULL, NULL},
                                          {"layout", 0, POPT_ARG_STRING, NULL, OPT_LAYOUT, NULL, NULL},
                                          {"tolerance", 't', POPT_ARG_STRING, NULL, OPT_TOLERANCE, NULL, NULL},
                                          {"seed", 0, POPT_ARG_STRING, NULL, OPT_SEED, NULL, NULL},
                                          {"lean", 0, POPT_ARG_STRING, NULL, OPT_LEAN, NULL, NULL},
                                          {"output", 'o', POPT_ARG_STRING, NULL, OPT_OUT, NULL, NULL},
                                          CLI_COMMON_OPTIONS};

static sw_status take_seed(const char *text, unsigned *seed, sw_error *err)
{
    unsigned long value = 0;
    size_t length = strspn(text, "0123456789");
    if (length && length < 10 && !text[length])
        value = strtoul(text, NULL, 10);
    if (!value)
        return sw_fail(err, SW_BAD_INPUT, "it must be a whole number from 1 to 999999999");
    *seed = (unsigned)value;
    return SW_OK;
}

static sw_status take(int option, const char *text, void *context, sw_error *err)
{
    arrange_job *job = context;
    switch (option) {
    case OPT_KEEP:
        return cli_keep_text(text, &job->keep_text, err);
    case OPT_LAYOUT:
        return given_take_layout(text, &job->set, err);
    case OPT_TOLERANCE:
        return parse_mm(text, SW_TOLERANCE_MM, "0.5", &job->options.tolerance_mm, err);
    case OPT_SEED:
        return take_seed(text, &job->options.seed, err);
    case OPT_LEAN:
        return answers_take(text, &job->answers, err);
    default:
        return cli_keep_folder(text, &job->set.folder, err);
    }
}

/* "A1,B2": tiles to keep, by name. */
static int read_keep(arrange_job *job)
{
    const sw_inspection *first = &job->set.inspections[0];
    job->keep = calloc(first->tile_count + 1, sizeof *job->keep);
    if (!job->keep)
        return cli_say("seamwright", "out of memory");
    job->options.keep = job->keep;
    for (const char *name = job->keep_text; name; name = strchr(name, ',') ? strchr(name, ',') + 1 : NULL) {
        size_t length = strcspn(name, ","), t = 0;
        while (t < first->tile_count &&
               (strlen(first->tiles[t].name) != length || strncmp(first->tiles[t].name, name, length) != 0))
            t++;
        if (t == first->tile_count)
            return cli_sayf(
                "seamwright",
                "--keep %.200s: '%.*s' is no tile of this table, which has %s to %s; write tiles like A1,B2",
                job->keep_text, (int)(length < 40 ? length : 40), name, first->tiles[0].name,
                first->tiles[first->tile_count - 1].name);
        if (job->options.keep_count == first->tile_count)
            return cli_sayf("seamwright", "--keep %.200s: names more tiles than there are", job->keep_text);
        job->keep[job->options.keep_count++] = (int)t;
    }
    return -1;
}

/* What was given now, and what a plan that lies beside the inspection has kept. */
static int read_answers(arrange_job *job)
{
    char *beside = NULL;
    int result = given_out(&beside, job->set.words[0]);
    if (result < 0)
        result = answers_settle(&job->answers, &job->set.inspections[0], beside, NULL);
    free(beside);
    job->options.answers = job->answers.list;
    job->options.answer_count = job->answers.count;
    return result;
}

static void show_progress(void *progress, const char *what, double share)
{
    char text[96];
    snprintf(text, sizeof text, "%.60s: %.0f %%", what, 100 * share);
    cli_progress_show(progress, text);
}

static int make(arrange_job *job)
{
    sw_error err = {{0}};
    cli_progress progress = cli_progress_start();
    show_progress(&progress, "looking for a better arrangement", 0);
    sw_status status = sw_arrange(job->set.inspections, (size_t)job->set.count, job->set.layouts, &job->options,
                                  show_progress, &progress, &job->arrangement, &err);
    cli_progress_clear(&progress);
    if (status != SW_OK)
        return cli_say(job->set.words[0], err.text);
    cli_begins_writing();
    char *pictures = NULL;
    int result = given_out(&pictures, job->set.words[0]);
    if (result < 0 &&
        sw_report_arrange_write(&job->arrangement, &job->set.inspections[0], pictures, job->set.folder, &err) != SW_OK)
        result = cli_say(job->set.folder, err.text);
    free(pictures);
    return result;
}

static int print_result(const arrange_job *job)
{
    char *text = sw_report_arrange_text(&job->arrangement, &job->set.inspections[0]);
    if (!text)
        return cli_sayf(job->set.folder, "the results are here, but memory ran out before the summary");
    fputs(text, stdout);
    printf("Report: %s/arrange.html\n", job->set.folder);
    free(text);
    return sw_arrangement_fits(&job->arrangement) ? CLI_DONE : CLI_SEAM_OPEN;
}

int cli_arrange(int argc, const char **argv)
{
    arrange_job job = {.options = {.tolerance_mm = 0}};
    cli_words words;
    int result = cli_read_options(cli_help_arrange, argc, argv, TABLE, take, &job, &words);
    if (result < 0)
        result = given_settle(&job.set, &words, "name the inspection to arrange, like: seamwright arrange table.seams");
    if (result < 0)
        result = given_read(&job.set);
    if (result < 0)
        result = read_keep(&job);
    if (result < 0)
        result = read_answers(&job);
    if (result < 0)
        result = make(&job);
    if (result < 0)
        result = print_result(&job);
    sw_arrangement_free(&job.arrangement);
    free(job.keep);
    free(job.keep_text);
    answers_free(&job.answers);
    given_free(&job.set);
    cli_words_free(&words);
    return result;
}
