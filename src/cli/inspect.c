#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli.h"
#include "lens_match.h"
#include "out.h"
#include "parse.h"
#include "seamwright/seamwright.h"

typedef struct inspect_job {
    const char *photo_path; /* owned by the words */
    char *folder, *lens_path;
    sw_options options;
    int pictures;
    sw_lens lens;
    sw_photo photo;
    sw_inspection inspection;
    cli_progress progress;
} inspect_job;

enum {
    OPT_TILE = 1,
    OPT_REFERENCE,
    OPT_TABLE,
    OPT_TOLERANCE,
    OPT_LENS,
    OPT_HEIGHT,
    OPT_STEP,
    OPT_NO_PICTURES,
    OPT_OUT
};

static const struct poptOption TABLE[] = {{"tile", 0, POPT_ARG_STRING, NULL, OPT_TILE, NULL, NULL},
                                          {"reference", 'r', POPT_ARG_STRING, NULL, OPT_REFERENCE, NULL, NULL},
                                          {"table", 0, POPT_ARG_STRING, NULL, OPT_TABLE, NULL, NULL},
                                          {"tolerance", 't', POPT_ARG_STRING, NULL, OPT_TOLERANCE, NULL, NULL},
                                          {"lens", 'l', POPT_ARG_STRING, NULL, OPT_LENS, NULL, NULL},
                                          {"height", 0, POPT_ARG_STRING, NULL, OPT_HEIGHT, NULL, NULL},
                                          {"step", 0, POPT_ARG_STRING, NULL, OPT_STEP, NULL, NULL},
                                          {"no-pictures", 0, POPT_ARG_NONE, NULL, OPT_NO_PICTURES, NULL, NULL},
                                          {"output", 'o', POPT_ARG_STRING, NULL, OPT_OUT, NULL, NULL},
                                          CLI_COMMON_OPTIONS};

static sw_status take(int option, const char *text, void *context, sw_error *err)
{
    inspect_job *job = context;
    switch (option) {
    case OPT_TILE:
        return parse_mm(text, &parse_tile_mm, &job->options.tile_mm, err);
    case OPT_REFERENCE:
        return parse_reference(text, &job->options.reference, err);
    case OPT_TABLE:
        return parse_table(text, &job->options.columns, &job->options.rows, err);
    case OPT_TOLERANCE:
        return parse_mm(text, &parse_tolerance_mm, &job->options.tolerance_mm, err);
    case OPT_LENS:
        return cli_keep_text(text, &job->lens_path, err);
    case OPT_HEIGHT:
        return parse_mm(text, &parse_height_mm, &job->options.height_mm, err);
    case OPT_STEP:
        return parse_mm(text, &parse_step_mm, &job->options.step_mm, err);
    case OPT_NO_PICTURES:
        job->pictures = 0;
        return SW_OK;
    default:
        return cli_keep_text(text, &job->folder, err);
    }
}

/* Which photo, which folder. -1 when all is well. */
static int settle(inspect_job *job, const cli_words *words)
{
    if (words->count == 0)
        return cli_say("seamwright", "name the photo to inspect, like: seamwright inspect table.jpg");
    if (words->count > 1)
        return cli_sayf("seamwright", "inspect takes one photo at a time; what is '%s' for?", words->word[1]);
    job->photo_path = words->word[0];
    if (!job->folder)
        job->folder = out_default_folder(job->photo_path);
    if (!job->folder)
        return cli_say("seamwright", "out of memory");
    for (size_t end = strlen(job->folder); end > 1 && job->folder[end - 1] == '/'; end--)
        job->folder[end - 1] = '\0';
    return -1;
}

/* What can be refused at once, before the user waits for the measuring. */
static int prepare(inspect_job *job)
{
    sw_error err = {{0}};
    if (out_check_folder(job->folder, &err) != SW_OK)
        return cli_say(job->folder, err.text);
    if (job->lens_path) {
        if (sw_lens_load(job->lens_path, &job->lens, &err) != SW_OK)
            return cli_say(job->lens_path, err.text);
        job->options.lens = &job->lens;
    }
    if (sw_photo_load(job->photo_path, &job->photo, &err) != SW_OK)
        return cli_say(job->photo_path, err.text);
    if (job->lens_path && lens_match_size(&job->lens, &job->photo, job->photo_path, &err) != SW_OK)
        return cli_say(job->lens_path, err.text);
    return -1;
}

static void show_progress(void *progress, const char *what, double share)
{
    char text[72];
    snprintf(text, sizeof text, "%.56s: %3.0f %%", what, 100.0 * share);
    cli_progress_show(progress, text);
}

/* Adds a warning to the inspection, so that it also stands in its files. */
static sw_status warn(sw_inspection *inspection, const char *text)
{
    size_t count = inspection->warning_count;
    char(*grown)[320] = realloc(inspection->warnings, (count + 1) * sizeof *grown);
    if (!grown)
        return SW_NO_MEMORY;
    snprintf(grown[count], sizeof grown[count], "%s", text);
    inspection->warnings = grown;
    inspection->warning_count = count + 1;
    return SW_OK;
}

static sw_status warn_of_lens(inspect_job *job)
{
    char doubts[LENS_DOUBTS_MOST][320];
    sw_status status = SW_OK;
    int count = job->lens_path ? lens_match_doubts(&job->lens, &job->photo, doubts) : 0;
    for (int i = 0; i < count && status == SW_OK; i++)
        status = warn(&job->inspection, doubts[i]);
    return status;
}

static int measure(inspect_job *job)
{
    sw_error err = {{0}};
    sw_status status = sw_inspect(&job->photo, &job->options, show_progress, &job->progress, &job->inspection, &err);
    cli_progress_clear(&job->progress);
    if (status != SW_OK)
        return cli_say(job->photo_path, err.text);
    if (warn_of_lens(job) != SW_OK)
        return cli_say("seamwright", "out of memory");
    show_progress(&job->progress, "writing the report", 1.0);
    status = sw_report_write(&job->inspection, &job->photo, job->folder, job->pictures, &err);
    cli_progress_clear(&job->progress);
    return status == SW_OK ? -1 : cli_say(job->folder, err.text);
}

static int print_result(const inspect_job *job)
{
    const sw_inspection *inspection = &job->inspection;
    char *text = sw_report_text(inspection, job->folder);
    if (!text)
        return cli_sayf(job->folder, "the results are here, but memory ran out before the summary");
    for (size_t i = 0; i < inspection->warning_count; i++)
        cli_sayf(job->photo_path, "warning: %s", inspection->warnings[i]);
    fputs(text, stdout);
    free(text);
    return sw_inspection_verdict(inspection) == SW_WITHIN ? CLI_DONE : CLI_SEAM_OPEN;
}

int cli_inspect(int argc, const char **argv)
{
    inspect_job job = {.pictures = 1, .progress = cli_progress_start()};
    cli_words words;
    int result = cli_read_options(cli_help_inspect, argc, argv, TABLE, take, &job, &words);
    if (result < 0)
        result = settle(&job, &words);
    if (result < 0)
        result = prepare(&job);
    if (result < 0)
        result = measure(&job);
    if (result < 0)
        result = print_result(&job);
    sw_inspection_free(&job.inspection);
    sw_photo_free(&job.photo);
    cli_words_free(&words);
    free(job.folder);
    free(job.lens_path);
    return result;
}
