#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/cli.h"
#include "cli/given.h"
#include "cli/parse.h"
#include "cli/wires.h"
#include "seamwright/seamwright.h"

typedef struct inspect_job {
    const char **photo_paths; /* owned by the words */
    int photo_count;
    int photo_at; /* the one that is loaded */
    char *folder, *lens_path;
    sw_tile_height *heights;
    sw_corners corners, squares[SW_POINTED_CARDS_MOST]; /* what options points at */
    sw_options options;
    bool pictures;
    sw_lens lens;
    char *after, *layout_text; /* the earlier inspection as it was named; NULL: none */
    sw_earlier earlier;
    sw_layout layout;
    sw_recheck recheck;
    sw_plan plan;
    bool has_plan;   /* made of this inspection */
    bool other_size; /* the photo is not of the size that the earlier lens profile is for */
    sw_photo photo;
    sw_inspection inspection;
    cli_progress progress;
} inspect_job;

enum {
    OPT_TILE = 1,
    OPT_REFERENCE,
    OPT_TABLE,
    OPT_TOLERANCE,
    OPT_LIPPAGE,
    OPT_LENS,
    OPT_AFTER,
    OPT_LAYOUT,
    OPT_HEIGHT,
    OPT_CARD_THICKNESS,
    OPT_CORNERS,
    OPT_SQUARE,
    OPT_STEP,
    OPT_NO_PICTURES,
    OPT_OUT
};

static const struct poptOption TABLE[] = {{"tile", 0, POPT_ARG_STRING, NULL, OPT_TILE, NULL, NULL},
                                          {"reference", 'r', POPT_ARG_STRING, NULL, OPT_REFERENCE, NULL, NULL},
                                          {"table", 0, POPT_ARG_STRING, NULL, OPT_TABLE, NULL, NULL},
                                          {"tolerance", 't', POPT_ARG_STRING, NULL, OPT_TOLERANCE, NULL, NULL},
                                          {"lippage", 0, POPT_ARG_STRING, NULL, OPT_LIPPAGE, NULL, NULL},
                                          {"lens", 'l', POPT_ARG_STRING, NULL, OPT_LENS, NULL, NULL},
                                          {"after", 'a', POPT_ARG_STRING, NULL, OPT_AFTER, NULL, NULL},
                                          {"layout", 0, POPT_ARG_STRING, NULL, OPT_LAYOUT, NULL, NULL},
                                          {"height", 0, POPT_ARG_STRING, NULL, OPT_HEIGHT, NULL, NULL},
                                          {"card-thickness", 0, POPT_ARG_STRING, NULL, OPT_CARD_THICKNESS, NULL, NULL},
                                          {"corners", 0, POPT_ARG_STRING, NULL, OPT_CORNERS, NULL, NULL},
                                          {"square", 0, POPT_ARG_STRING, NULL, OPT_SQUARE, NULL, NULL},
                                          {"step", 0, POPT_ARG_STRING, NULL, OPT_STEP, NULL, NULL},
                                          {"no-pictures", 0, POPT_ARG_NONE, NULL, OPT_NO_PICTURES, NULL, NULL},
                                          {"output", 'o', POPT_ARG_STRING, NULL, OPT_OUT, NULL, NULL},
                                          CLI_COMMON_OPTIONS};

static sw_status take_heights(inspect_job *job, const char *text, sw_error *err)
{
    free(job->heights);
    sw_status status = parse_heights(text, &job->options.height_mm, &job->heights, &job->options.height_count, err);
    job->options.heights = job->heights;
    return status;
}

static sw_status take_square(inspect_job *job, const char *text, sw_error *err)
{
    sw_options *options = &job->options;
    if (options->square_count == SW_POINTED_CARDS_MOST)
        return sw_fail(err, SW_BAD_INPUT, "this is one card too many; %d are the most", SW_POINTED_CARDS_MOST);
    options->squares = job->squares;
    return parse_corners(text, &job->squares[options->square_count++], err);
}

static sw_status take(int option, const char *text, void *context, sw_error *err)
{
    inspect_job *job = context;
    switch (option) {
    case OPT_TILE:
        return parse_mm(text, SW_TILE_MM, "300", &job->options.tile_mm, err);
    case OPT_REFERENCE:
        return parse_reference(text, &job->options.reference, err);
    case OPT_TABLE:
        return parse_table(text, &job->options.columns, &job->options.rows, err);
    case OPT_TOLERANCE:
        return parse_mm(text, SW_TOLERANCE_MM, "0.5", &job->options.tolerance_mm, err);
    case OPT_LIPPAGE:
        return parse_mm(text, SW_LIPPAGE_MM, "1", &job->options.lippage_mm, err);
    case OPT_LENS:
        return cli_keep_text(text, &job->lens_path, err);
    case OPT_AFTER:
        return cli_keep_folder(text, &job->after, err);
    case OPT_LAYOUT:
        return cli_keep_text(text, &job->layout_text, err);
    case OPT_HEIGHT:
        return take_heights(job, text, err);
    case OPT_CARD_THICKNESS:
        job->options.card_thickness_given = true;
        return parse_mm(text, SW_CARD_THICKNESS_MM, "0.3", &job->options.card_thickness_mm, err);
    case OPT_CORNERS:
        job->options.corners = &job->corners;
        return parse_corners(text, &job->corners, err);
    case OPT_SQUARE:
        return take_square(job, text, err);
    case OPT_STEP:
        return parse_mm(text, SW_STEP_MM, "1", &job->options.step_mm, err);
    case OPT_NO_PICTURES:
        job->pictures = false;
        return SW_OK;
    default:
        return cli_keep_folder(text, &job->folder, err);
    }
}

/* Which photo, which folder. -1 when all is well. */
static int settle(inspect_job *job, const cli_words *words)
{
    if (words->count == 0)
        return cli_say("seamwright", "name the photo to inspect, like: seamwright inspect table.jpg");
    job->photo_paths = words->word;
    job->photo_count = words->count;
    if (!job->folder)
        job->folder = sw_report_folder_of(job->photo_paths[0]);
    if (job->layout_text && !job->after)
        return cli_say("seamwright",
                       "--layout says how tiles lie that an earlier inspection named: name it with --after");
    return job->folder ? -1 : cli_say("seamwright", "out of memory");
}

/* What was not said is as it was in the earlier inspection. */
static int take_earlier(inspect_job *job)
{
    sw_error err = {{0}};
    char *file = given_file(job->after), *plan = file ? given_beside(file, "plan.json") : NULL;
    int result = -1;
    if (!file || !plan)
        result = cli_say("seamwright", "out of memory");
    else if (given_is_folder_of(job->folder, file))
        result = cli_say(job->folder, "the results would take the earlier inspection's place; choose another folder "
                                      "with -o");
    else if (sw_earlier_read(file, given_is_there(plan) ? plan : NULL, &job->earlier, &err) != SW_OK)
        result = cli_say(job->after, err.text);
    else if (job->layout_text &&
             sw_layout_read(job->layout_text, &job->earlier.inspection, &job->layout, &err) != SW_OK)
        result = cli_say("--layout", err.text);
    else if (sw_earlier_options(&job->earlier, job->layout_text ? &job->layout : NULL, job->photo_count, &job->options,
                                &err) != SW_OK)
        result = cli_say("seamwright", err.text);
    free(file);
    free(plan);
    return result;
}

/* Loads one of the photos in place of the one before: only one is in memory at a time. */
static int load_photo(inspect_job *job, int at)
{
    sw_error err = {{0}};
    sw_photo_free(&job->photo);
    job->photo_at = at;
    if (sw_photo_load(job->photo_paths[at], &job->photo, &err) != SW_OK)
        return cli_say(job->photo_paths[at], err.text);
    if (job->lens_path && sw_lens_check_photo(&job->lens, &job->photo, &err) != SW_OK)
        return cli_say(job->lens_path, err.text);
    if (!job->lens_path && job->options.lens && sw_lens_check_photo(job->options.lens, &job->photo, NULL) != SW_OK) {
        job->options.lens = NULL; /* another camera than the earlier one */
        job->other_size = true;
    }
    return -1;
}

/* What can be refused at once, before the user waits for the measuring. */
static int prepare(inspect_job *job)
{
    sw_error err = {{0}};
    int which;
    if (sw_report_check_folder(job->folder, &err) != SW_OK)
        return cli_say(job->folder, err.text);
    if (job->lens_path) {
        if (sw_lens_load(job->lens_path, &job->lens, &err) != SW_OK)
            return cli_say(job->lens_path, err.text);
        job->options.lens = &job->lens;
    }
    int result = job->after ? take_earlier(job) : -1;
    if (result >= 0)
        return result;
    if (job->photo_count > 1 && sw_photos_check(job->photo_paths, job->photo_count, &which, &err) != SW_OK)
        return cli_say(job->photo_paths[which], err.text);
    return load_photo(job, 0);
}

static void show_progress(void *context, const char *what, double share)
{
    inspect_job *job = context;
    char text[112], which[48] = "";
    if (job->photo_count > 1)
        snprintf(which, sizeof which, "photo %d of %d, ", job->photo_at + 1, job->photo_count);
    snprintf(text, sizeof text, "%s%.48s: %3.0f %%", which, what, 100.0 * share);
    cli_progress_show(&job->progress, text);
}

/* Inspects the photo that is loaded. */
static int measure_photo(inspect_job *job, sw_inspection *inspection)
{
    sw_error err = {{0}};
    sw_status status = sw_inspect(&job->photo, &job->options, show_progress, job, inspection, &err);
    cli_progress_clear(&job->progress);
    if (status != SW_OK)
        return cli_say(job->photo_paths[job->photo_at], err.text);
    return -1;
}

static sw_status load_for(void *context, int which, sw_photo *photo, sw_error *err)
{
    inspect_job *job = context;
    sw_status status = sw_photo_load(job->photo_paths[which], photo, err);
    return status || !job->lens_path ? status : sw_lens_check_photo(&job->lens, photo, err);
}

static void show_several(void *context, int which, const char *what, double share)
{
    inspect_job *job = context;
    job->photo_at = which;
    show_progress(job, what, share);
}

/* All photos together; at the end the first is loaded, for its picture. */
static int measure_several(inspect_job *job)
{
    sw_error err = {{0}};
    int which;
    sw_photo_free(&job->photo);
    sw_status status = sw_inspect_several(job->photo_count, load_for, job, &job->options, show_several, job,
                                          &job->inspection, &which, &err);
    cli_progress_clear(&job->progress);
    if (status != SW_OK)
        return cli_say(which < 0 ? "seamwright inspect" : job->photo_paths[which], err.text);
    return job->pictures ? load_photo(job, 0) : -1;
}

/* What the earlier inspection had and this one has not. */
static sw_status note_lens(inspect_job *job)
{
    const sw_lens *lens = &job->earlier.inspection.given.lens;
    if (job->other_size)
        return sw_note_add(
            &job->inspection.notes, SW_NOTE_LENS_ESTIMATED,
            "The earlier inspection's lens profile is for pictures of %d x %d pixels, and this photo has "
            "%d x %d: the lens was worked out from the photo. Take both with the same camera and size.",
            lens->width_px, lens->height_px, job->inspection.width_px, job->inspection.height_px);
    if (!job->options.lens && sw_earlier_lacks_lens(&job->earlier))
        return sw_note_add(
            &job->inspection.notes, SW_NOTE_LENS_ESTIMATED,
            "The earlier inspection was made with a lens profile that its file does not hold: the lens was "
            "worked out from the photo. Name the profile with --lens.");
    return SW_OK;
}

/* Against the earlier inspection. */
static int compare(inspect_job *job)
{
    sw_error err = {{0}};
    sw_status status =
        sw_recheck_make(&job->earlier.inspection, &job->inspection, job->layout_text ? &job->layout : NULL,
                        job->earlier.planned ? &job->earlier.plan : NULL, 0, &job->recheck, &err);
    if (!status)
        status = sw_earlier_follow(&job->earlier, job->after, &job->inspection, &err);
    if (!status && note_lens(job))
        status = sw_fail(&err, SW_NO_MEMORY, "out of memory");
    return status == SW_OK ? -1 : cli_say(job->photo_paths[0], err.text);
}

/* Whether the plan that lies in the folder holds what a try square said. */
static bool holds_answers(const inspect_job *job)
{
    sw_error err = {{0}};
    sw_earlier there = {.planned = false};
    char *file = given_file(job->folder), *plan = file ? given_beside(file, "plan.json") : NULL;
    bool holds = plan && given_is_there(plan) && sw_earlier_read(file, plan, &there, &err) == SW_OK &&
                 there.plan.answer_count > 0;
    sw_earlier_free(&there);
    free(file);
    free(plan);
    return holds;
}

/* The work list, where a seam asks for work and the comparison does not say stop. */
static int plan(inspect_job *job)
{
    sw_error err = {{0}};
    const sw_plan_options options = {.purpose = SW_PLAN_LAYOUT};
    if (sw_inspection_verdict(&job->inspection) == SW_WITHIN || (job->after && job->recheck.stop))
        return -1;
    show_progress(job, "planning", 1.0);
    sw_status status = sw_plan_make(&job->inspection, 1, NULL, &options, &job->plan, &err);
    cli_progress_clear(&job->progress);
    job->has_plan = !status;
    return status == SW_NO_MEMORY ? cli_say(job->photo_paths[0], err.text) : -1;
}

static sw_results results_of(const inspect_job *job, const sw_comparison *since, const sw_paper *paper)
{
    return (sw_results){.inspection = &job->inspection,
                        .photo = job->pictures ? &job->photo : NULL,
                        .since = job->after ? since : NULL,
                        .plan = job->has_plan ? &job->plan : NULL,
                        .paper = paper};
}

static sw_status write_all(const inspect_job *job, sw_error *err)
{
    const sw_comparison since = {&job->recheck, &job->earlier.inspection};
    sw_paper paper;
    char *file = job->after ? given_file(job->after) : NULL, *before = file ? given_beside(file, ".") : NULL;
    sw_paper_named("a4", &paper, NULL);
    sw_results results = results_of(job, &since, &paper);
    results.before_pictures = before;
    sw_status status = job->after && !before ? sw_fail(err, SW_NO_MEMORY, "out of memory")
                                             : sw_report_write_all(&results, job->folder, err);
    free(file);
    free(before);
    return status;
}

static int measure(inspect_job *job)
{
    sw_error err = {{0}};
    int result = job->photo_count > 1 ? measure_several(job) : measure_photo(job, &job->inspection);
    if (result < 0 && job->after)
        result = compare(job);
    if (result < 0 && job->pictures)
        result = plan(job);
    if (result >= 0)
        return result;
    show_progress(job, "writing the report", 1.0);
    cli_begins_writing();
    bool answered = holds_answers(job); /* a plan goes with the inspection it was made from, and they with it */
    sw_status status = write_all(job, &err);
    cli_progress_clear(&job->progress);
    if (!status && answered)
        cli_sayf(job->folder,
                 "what a try square said went with the plan that lay here; say it again: seamwright plan %s "
                 "--lean \"B1 east=1.9,C1 west=square\"",
                 job->folder);
    return status == SW_OK ? -1 : cli_say(job->folder, err.text);
}

static int print_result(const inspect_job *job)
{
    const sw_inspection *inspection = &job->inspection;
    const sw_comparison since = {&job->recheck, &job->earlier.inspection};
    const sw_results results = results_of(job, &since, NULL);
    char *text = sw_report_text_all(&results, job->folder);
    if (!text)
        return cli_sayf(job->folder, "the results are here, but memory ran out before the summary");
    for (size_t i = 0; i < inspection->notes.count; i++)
        cli_sayf(job->photo_paths[0], "warning: %s", inspection->notes.list[i].text);
    fputs(text, stdout);
    free(text);
    return sw_inspection_verdict(inspection) == SW_WITHIN ? CLI_DONE : CLI_SEAM_OPEN;
}

int cli_inspect(int argc, const char **argv)
{
    inspect_job job = {.pictures = true, .progress = cli_progress_start()};
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
    sw_plan_free(&job.plan);
    sw_recheck_free(&job.recheck);
    sw_layout_free(&job.layout);
    sw_inspection_free(&job.inspection);
    sw_earlier_free(&job.earlier);
    sw_photo_free(&job.photo);
    cli_words_free(&words);
    free(job.folder);
    free(job.lens_path);
    free(job.after);
    free(job.layout_text);
    free(job.heights);
    return result;
}
