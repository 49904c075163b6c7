#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli.h"
#include "given.h"
#include "parse.h"
#include "seamwright/plan.h"

enum { LAYOUTS_MOST = 64 }; /* more inspections of one set than anybody makes */

typedef struct plan_job {
    const char **words; /* owned by the options' reader */
    int count;
    char *layout_texts[LAYOUTS_MOST];
    int layout_count;
    char *folder;
    sw_plan_options options;
    sw_paper paper;
    sw_inspection *inspections;
    sw_layout *layouts; /* one each */
    sw_plan plan;
} plan_job;

enum { OPT_FOR = 1, OPT_LAYOUT, OPT_TOLERANCE, OPT_CUT, OPT_HEIGHT, OPT_PAPER, OPT_OUT };

static const struct poptOption TABLE[] = {{"for", 'f', POPT_ARG_STRING, NULL, OPT_FOR, NULL, NULL},
                                          {"layout", 0, POPT_ARG_STRING, NULL, OPT_LAYOUT, NULL, NULL},
                                          {"tolerance", 't', POPT_ARG_STRING, NULL, OPT_TOLERANCE, NULL, NULL},
                                          {"cut", 0, POPT_ARG_STRING, NULL, OPT_CUT, NULL, NULL},
                                          {"height", 0, POPT_ARG_STRING, NULL, OPT_HEIGHT, NULL, NULL},
                                          {"paper", 'p', POPT_ARG_STRING, NULL, OPT_PAPER, NULL, NULL},
                                          {"output", 'o', POPT_ARG_STRING, NULL, OPT_OUT, NULL, NULL},
                                          CLI_COMMON_OPTIONS};

static sw_status take_purpose(const char *text, plan_job *job, sw_error *err)
{
    if (strcmp(text, "layout") != 0 && strcmp(text, "any") != 0)
        return sw_fail(err, SW_BAD_INPUT, "it must be layout (the tiles as they lie) or any (every layout and turn)");
    job->options.purpose = strcmp(text, "any") == 0 ? SW_PLAN_ANY : SW_PLAN_LAYOUT;
    return SW_OK;
}

static sw_status take_layout(const char *text, plan_job *job, sw_error *err)
{
    if (job->layout_count == LAYOUTS_MOST)
        return sw_fail(err, SW_BAD_INPUT, "this is one layout too many; %d are the most", LAYOUTS_MOST);
    return cli_keep_text(text, &job->layout_texts[job->layout_count++], err);
}

static sw_status take(int option, const char *text, void *context, sw_error *err)
{
    plan_job *job = context;
    switch (option) {
    case OPT_FOR:
        return take_purpose(text, job, err);
    case OPT_LAYOUT:
        return take_layout(text, job, err);
    case OPT_TOLERANCE:
        return parse_mm(text, &parse_plan_tolerance_mm, &job->options.tolerance_mm, err);
    case OPT_CUT:
        return parse_mm(text, &parse_cut_mm, &job->options.deepest_cut_mm, err);
    case OPT_HEIGHT:
        return parse_mm(text, &parse_height_mm, &job->options.height_mm, err);
    case OPT_PAPER:
        return parse_paper(text, &job->paper, err);
    default:
        return cli_keep_text(text, &job->folder, err);
    }
}

/* Which inspections, which folder. -1 when all is well. */
static int settle(plan_job *job, const cli_words *words)
{
    if (words->count == 0)
        return cli_say("seamwright", "name the inspection to plan from, like: seamwright plan table.seams");
    job->words = words->word;
    job->count = words->count;
    if (job->layout_count && job->layout_count != job->count && job->layout_count != job->count - 1)
        return cli_sayf("seamwright",
                        "give --layout once for every inspection after the first, so %d times and not %d; the first "
                        "inspection names the tiles",
                        job->count - 1, job->layout_count);
    if (job->folder && !job->folder[0])
        return cli_say("seamwright", "-o: name a folder for the plan");
    if (!job->folder) {
        char *file = given_file(job->words[0]);
        job->folder = file ? given_folder(file) : NULL;
        free(file);
    }
    if (!job->folder)
        return cli_say("seamwright", "out of memory");
    for (size_t end = strlen(job->folder); end > 1 && job->folder[end - 1] == '/'; end--)
        job->folder[end - 1] = '\0';
    return -1;
}

static int is_as_is(const sw_layout *layout, const sw_layout *as_is)
{
    size_t count = (size_t)as_is->columns * (size_t)as_is->rows;
    int same = layout->columns == as_is->columns && layout->rows == as_is->rows;
    for (size_t i = 0; same && i < count; i++)
        same = layout->places[i].tile == as_is->places[i].tile && layout->places[i].turns == as_is->places[i].turns;
    return same;
}

/* The layout of inspection k: as the user wrote it, else as in the first. */
static int read_layout(plan_job *job, int k)
{
    sw_error err = {{0}};
    int at = k - (job->layout_count < job->count);
    const char *text = job->layout_count && at >= 0 ? job->layout_texts[at] : NULL;
    if (!text)
        return sw_layout_as_is(&job->inspections[0], &job->layouts[k], &err) ? cli_say("seamwright", err.text) : -1;
    if (sw_layout_read(text, &job->inspections[0], &job->layouts[k], &err) != SW_OK)
        return cli_sayf("seamwright", "--layout \"%.200s\": %s", text, err.text);
    if (k > 0)
        return -1;
    sw_layout as_is = {0};
    sw_status status = sw_layout_as_is(&job->inspections[0], &as_is, &err);
    int same = !status && is_as_is(&job->layouts[0], &as_is);
    sw_layout_free(&as_is);
    if (status)
        return cli_say("seamwright", err.text);
    return same
               ? -1
               : cli_sayf("seamwright",
                          "--layout \"%.200s\": the first inspection names the tiles, so its own layout is as it lies; "
                          "leave it out",
                          text);
}

static int read_all(plan_job *job)
{
    sw_error err = {{0}};
    int which, result = -1;
    if (given_inspections(job->words, job->count, &job->inspections, &which, &err) != SW_OK)
        return cli_say(job->words[which], err.text);
    job->layouts = calloc((size_t)job->count, sizeof *job->layouts);
    if (!job->layouts)
        return cli_say("seamwright", "out of memory");
    for (int k = 0; result < 0 && k < job->count; k++)
        result = read_layout(job, k);
    return result;
}

static int make(plan_job *job)
{
    sw_error err = {{0}};
    cli_progress progress = cli_progress_start();
    cli_progress_show(&progress, "planning");
    sw_status status = sw_plan_make(job->inspections, (size_t)job->count, job->count > 1 ? job->layouts : NULL,
                                    &job->options, &job->plan, &err);
    cli_progress_clear(&progress);
    if (status != SW_OK)
        return cli_say(job->words[0], err.text);
    if (sw_report_plan_write(&job->plan, &job->inspections[0], &job->paper, job->folder, &err) != SW_OK)
        return cli_say(job->folder, err.text);
    return -1;
}

static int print_result(const plan_job *job)
{
    char *text = sw_report_plan_text(&job->plan, &job->inspections[0], job->folder);
    if (!text)
        return cli_sayf(job->folder, "the plan is here, but memory ran out before the summary");
    fputs(text, stdout);
    free(text);
    return sw_plan_fits(&job->plan) ? CLI_DONE : CLI_SEAM_OPEN;
}

static void free_job(plan_job *job)
{
    sw_plan_free(&job->plan);
    for (int k = 0; k < job->count; k++) {
        if (job->layouts)
            sw_layout_free(&job->layouts[k]);
        if (job->inspections)
            sw_inspection_free(&job->inspections[k]);
    }
    free(job->layouts);
    free(job->inspections);
    for (int i = 0; i < job->layout_count; i++)
        free(job->layout_texts[i]);
    free(job->folder);
}

int cli_plan(int argc, const char **argv)
{
    plan_job job = {.paper = parse_paper_usual};
    cli_words words;
    int result = cli_read_options(cli_help_plan, argc, argv, TABLE, take, &job, &words);
    if (result < 0)
        result = settle(&job, &words);
    if (result < 0)
        result = read_all(&job);
    if (result < 0)
        result = make(&job);
    if (result < 0)
        result = print_result(&job);
    free_job(&job);
    cli_words_free(&words);
    return result;
}
