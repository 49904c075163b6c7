#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/answers.h"
#include "cli/cli.h"
#include "cli/given.h"
#include "cli/parse.h"
#include "cli/wires.h"
#include "seamwright/plan.h"

typedef struct plan_job {
    given_set set;
    answers_given answers;
    sw_plan_options options;
    sw_paper paper;
    sw_plan plan;
} plan_job;

enum { OPT_FOR = 1, OPT_LAYOUT, OPT_TOLERANCE, OPT_CUT, OPT_HEIGHT, OPT_LEAN, OPT_PAPER, OPT_OUT };

static const struct poptOption TABLE[] = {{"for", 'f', POPT_ARG_STRING, NULL, OPT_FOR, NULL, NULL},
                                          {"layout", 0, POPT_ARG_STRING, NULL, OPT_LAYOUT, NULL, NULL},
                                          {"tolerance", 't', POPT_ARG_STRING, NULL, OPT_TOLERANCE, NULL, NULL},
                                          {"cut", 0, POPT_ARG_STRING, NULL, OPT_CUT, NULL, NULL},
                                          {"height", 0, POPT_ARG_STRING, NULL, OPT_HEIGHT, NULL, NULL},
                                          {"lean", 0, POPT_ARG_STRING, NULL, OPT_LEAN, NULL, NULL},
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

static sw_status take(int option, const char *text, void *context, sw_error *err)
{
    plan_job *job = context;
    switch (option) {
    case OPT_FOR:
        return take_purpose(text, job, err);
    case OPT_LAYOUT:
        return given_take_layout(text, &job->set, err);
    case OPT_TOLERANCE:
        return parse_mm(text, SW_TOLERANCE_MM, "0.5", &job->options.tolerance_mm, err);
    case OPT_CUT:
        return parse_mm(text, SW_CUT_MM, "3", &job->options.deepest_cut_mm, err);
    case OPT_HEIGHT:
        return parse_mm(text, SW_HEIGHT_MM, "45", &job->options.height_mm, err);
    case OPT_LEAN:
        return answers_take(text, &job->answers, err);
    case OPT_PAPER:
        return sw_paper_named(text, &job->paper, err);
    default:
        return cli_keep_folder(text, &job->set.folder, err);
    }
}

/* What was given now, and what the plan that is in the folder, or beside the inspection, has kept. */
static int read_answers(plan_job *job)
{
    char *beside = NULL;
    int result = given_out(&beside, job->set.words[0]);
    if (result < 0)
        result = answers_settle(&job->answers, &job->set.inspections[0], job->set.folder, beside);
    free(beside);
    job->options.answers = job->answers.list;
    job->options.answer_count = job->answers.count;
    return result;
}

static int make(plan_job *job)
{
    sw_error err = {{0}};
    cli_progress progress = cli_progress_start();
    cli_progress_show(&progress, "planning");
    sw_status status = sw_plan_make(job->set.inspections, (size_t)job->set.count,
                                    job->set.count > 1 ? job->set.layouts : NULL, &job->options, &job->plan, &err);
    cli_progress_clear(&progress);
    if (status != SW_OK)
        return cli_say(job->set.words[0], err.text);
    cli_begins_writing();
    char *pictures = NULL;
    int result = given_out(&pictures, job->set.words[0]);
    if (result < 0 && sw_report_plan_write(&job->plan, &job->set.inspections[0], &job->paper, pictures, job->set.folder,
                                           &err) != SW_OK)
        result = cli_say(job->set.folder, err.text);
    free(pictures);
    return result;
}

static int print_result(const plan_job *job)
{
    char *text = sw_report_plan_text(&job->plan, &job->set.inspections[0], job->set.folder);
    if (!text)
        return cli_sayf(job->set.folder, "the plan is here, but memory ran out before the summary");
    fputs(text, stdout);
    free(text);
    return sw_plan_fits(&job->plan) ? CLI_DONE : CLI_SEAM_OPEN;
}

int cli_plan(int argc, const char **argv)
{
    plan_job job = {.set = {.count = 0}};
    cli_words words;
    sw_paper_named("a4", &job.paper, NULL);
    int result = cli_read_options(cli_help_plan, argc, argv, TABLE, take, &job, &words);
    if (result < 0)
        result = given_settle(&job.set, &words, "name the inspection to plan from, like: seamwright plan table.seams");
    if (result < 0)
        result = given_read(&job.set);
    if (result < 0)
        result = read_answers(&job);
    if (result < 0)
        result = make(&job);
    if (result < 0)
        result = print_result(&job);
    sw_plan_free(&job.plan);
    answers_free(&job.answers);
    given_free(&job.set);
    cli_words_free(&words);
    return result;
}
