#include <stdio.h>
#include <stdlib.h>

#include "cli/cli.h"
#include "cli/given.h"
#include "cli/parse.h"
#include "cli/wires.h"
#include "seamwright/recheck.h"

typedef struct recheck_job {
    char *before_path, *after_path; /* the files themselves */
    char *folder, *plan_path, *layout_text;
    double tolerance_mm;
    sw_inspection before, after;
    sw_plan plan;
    sw_layout layout;
    sw_recheck recheck;
} recheck_job;

enum { OPT_PLAN = 1, OPT_LAYOUT, OPT_TOLERANCE, OPT_OUT };

static const struct poptOption TABLE[] = {{"plan", 0, POPT_ARG_STRING, NULL, OPT_PLAN, NULL, NULL},
                                          {"layout", 0, POPT_ARG_STRING, NULL, OPT_LAYOUT, NULL, NULL},
                                          {"tolerance", 't', POPT_ARG_STRING, NULL, OPT_TOLERANCE, NULL, NULL},
                                          {"output", 'o', POPT_ARG_STRING, NULL, OPT_OUT, NULL, NULL},
                                          CLI_COMMON_OPTIONS};

static sw_status take(int option, const char *text, void *context, sw_error *err)
{
    recheck_job *job = context;
    switch (option) {
    case OPT_PLAN:
        return cli_keep_text(text, &job->plan_path, err);
    case OPT_LAYOUT:
        return cli_keep_text(text, &job->layout_text, err);
    case OPT_TOLERANCE:
        return parse_mm(text, SW_TOLERANCE_MM, "0.5", &job->tolerance_mm, err);
    default:
        return cli_keep_folder(text, &job->folder, err);
    }
}

static int settle(recheck_job *job, const cli_words *words)
{
    if (words->count != 2)
        return cli_say(
            "seamwright",
            "name two inspections, the earlier one first, like: seamwright recheck before.seams after.seams");
    job->before_path = given_file(words->word[0]);
    job->after_path = given_file(words->word[1]);
    if (!job->before_path || !job->after_path)
        return cli_say("seamwright", "out of memory");
    return given_out(&job->folder, job->after_path);
}

static int load(recheck_job *job)
{
    sw_error err = {{0}};
    if (sw_inspection_read(job->before_path, &job->before, &err) != SW_OK)
        return cli_say(job->before_path, err.text);
    if (sw_inspection_read(job->after_path, &job->after, &err) != SW_OK)
        return cli_say(job->after_path, err.text);
    if (job->plan_path && sw_plan_read(job->plan_path, &job->before, &job->plan, &err) != SW_OK)
        return cli_say(job->plan_path, err.text);
    if (job->layout_text && sw_layout_read(job->layout_text, &job->before, &job->layout, &err) != SW_OK)
        return cli_say("--layout", err.text);
    return -1;
}

static int compare(recheck_job *job)
{
    sw_error err = {{0}};
    if (sw_recheck_make(&job->before, &job->after, job->layout_text ? &job->layout : NULL,
                        job->plan_path ? &job->plan : NULL, job->tolerance_mm, &job->recheck, &err) != SW_OK)
        return cli_say(job->after_path, err.text);
    cli_begins_writing();
    char *before = NULL, *after = NULL; /* where pictures may lie */
    int result = given_out(&before, job->before_path);
    if (result < 0)
        result = given_out(&after, job->after_path);
    if (result < 0 &&
        sw_report_recheck_write(&job->recheck, &job->before, before, &job->after, after, job->folder, &err) != SW_OK)
        result = cli_say(job->folder, err.text);
    free(before);
    free(after);
    return result;
}

static int print_result(const recheck_job *job)
{
    char *text = sw_report_recheck_text(&job->recheck, &job->before, &job->after);
    if (!text)
        return cli_sayf(job->folder, "the results are here, but memory ran out before the summary");
    fputs(text, stdout);
    printf("Report: %s/recheck.html\n", job->folder);
    free(text);
    return sw_recheck_fits(&job->recheck) ? CLI_DONE : CLI_SEAM_OPEN;
}

int cli_recheck(int argc, const char **argv)
{
    recheck_job job = {0};
    cli_words words;
    int result = cli_read_options(cli_help_recheck, argc, argv, TABLE, take, &job, &words);
    if (result < 0)
        result = settle(&job, &words);
    if (result < 0)
        result = load(&job);
    if (result < 0)
        result = compare(&job);
    if (result < 0)
        result = print_result(&job);
    sw_recheck_free(&job.recheck);
    sw_layout_free(&job.layout);
    sw_plan_free(&job.plan);
    sw_inspection_free(&job.after);
    sw_inspection_free(&job.before);
    cli_words_free(&words);
    free(job.before_path);
    free(job.after_path);
    free(job.folder);
    free(job.plan_path);
    free(job.layout_text);
    return result;
}
