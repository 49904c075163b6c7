/* inspect.c - the whole way, one call a stage: photo -> scale -> table -> seam -> tile -> plan. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspect/heights_step.h"
#include "inspect/lens_doubts.h"
#include "inspect/options.h"
#include "inspect/unseen.h"
#include "inspection/notes.h"
#include "mark/marks.h"
#include "photo/small.h"
#include "plan/rank.h"
#include "scale/find.h"
#include "seam/measure.h"
#include "seam/rims_mm.h"
#include "seam/step.h"
#include "seam/straight.h"
#include "seamwright/inspect.h"
#include "table/grid.h"
#include "tile/budgets.h"
#include "tile/outline.h"

/* Stored values (8 bit) over this are as good as clipped (method of the trade: tile tops over 250); a tenth of the table is more than
 * cards and glints make. */
enum { CLIPPED = 250 };
static const double CLIPPED_MOST = 0.1, CLIP_STEP_MM = 7;

/* What stays alive between the stages. */
typedef struct stages {
    sw_small small;
    sw_photo seen; /* the photo with its light as the scale has it */
    sw_grid *grid;
    sw_traces traces;
    sw_tracks tracks;
    sw_heights heights;
    void (*progress)(void *context, const char *what, double share);
    void *context;
} stages;

static void tell(const stages *s, const char *what, double share)
{
    if (s->progress)
        s->progress(s->context, what, share);
}

static void tell_seams(void *context, double share)
{
    tell(context, "measuring the seams", 0.3 + 0.6 * share);
}

static void describe(const sw_photo *photo, const sw_options *options, sw_inspection *ins)
{
    snprintf(ins->file, sizeof ins->file, "%s", photo->file);
    snprintf(ins->taken, sizeof ins->taken, "%s", photo->taken);
    snprintf(ins->camera, sizeof ins->camera, "%s", photo->camera);
    ins->width_px = photo->width_px;
    ins->height_px = photo->height_px;
    ins->tolerance_mm = options->tolerance_mm;
    ins->step_mm = options->step_mm;
    ins->table = (sw_table){.columns = options->columns, .rows = options->rows, .tile_mm = options->tile_mm};
}

/* Share of the table's places, looked at every CLIP_STEP_MM, whose stored value is at the top of its range: there edges move. */
static double clipped_share(const sw_photo *photo, const sw_inspection *ins)
{
    const double width = ins->table.columns * ins->table.tile_mm, height = ins->table.rows * ins->table.tile_mm;
    const unsigned limit = photo->bits == 8 ? CLIPPED : CLIPPED * 257u;
    double clipped = 0, all = 0;
    for (double y = CLIP_STEP_MM / 2; y < height; y += CLIP_STEP_MM)
        for (double x = CLIP_STEP_MM / 2; x < width; x += CLIP_STEP_MM) {
            sw_point px = sw_scale_to_px(&ins->scale, (sw_point){x, -y});
            if (!(px.x >= 0 && px.y >= 0 && px.x < photo->width_px - 1 && px.y < photo->height_px - 1))
                continue;
            clipped += sw_photo_at(photo, (int)px.x, (int)px.y) > limit;
            all++;
        }
    return all > 0 ? clipped / all : 0;
}

/* Processing beyond this leaves too little of the edges to be sure: sharpening's amount and radius (px), steepness of the tone
 * curve (study of edge spread). */
static const double SHARPEN_MUCH = 1.2, RADIUS_MUCH_PX = 2, CONTRAST_MUCH = 0.2;

/* What was done to the photo between the sensor and here, where it costs certainty. */
static sw_status look_at_processing(const sw_scale *scale, sw_notes *notes)
{
    const double u95_mm = 4 * scale->rim_shift_u_px / scale->px_per_mm;
    sw_status status = SW_OK;
    if (scale->soften_px > 0)
        status = sw_note_add(
            notes, SW_NOTE_BLURRED,
            "This photo was blurred by a program after it was taken (or made smaller and larger again). Gaps are "
            "corrected for that, which alone makes them uncertain by %.2f mm. Use the photo as the camera saved it.",
            u95_mm);
    if (!status && (scale->sharpen > SHARPEN_MUCH ||
                    (scale->sharpen > SHARPEN_MUCH / 4 && scale->sharpen_radius_px > RADIUS_MUCH_PX)))
        status = sw_note_add(
            notes, SW_NOTE_SHARPENED,
            "This photo is sharpened so strongly that parts of its edges are lost, which alone makes gaps uncertain "
            "by %.2f mm. Turn sharpening down, or use the photo as the camera saved it.",
            u95_mm);
    if (!status && scale->contrast > CONTRAST_MUCH)
        status = sw_note_add(
            notes, SW_NOTE_CONTRAST,
            "This photo's contrast is turned up so far that the cards' black is deeper than print can be, which alone "
            "makes gaps uncertain by %.2f mm. Use the photo as the camera saved it.",
            u95_mm);
    return status;
}

/* Things the user should know that are no errors. */
static sw_status look_for_notes(const sw_heights *heights, const sw_photo *photo, const sw_options *options,
                                sw_inspection *ins)
{
    sw_notes *notes = &ins->notes;
    sw_status status = sw_heights_assumed(heights, notes);
    if (!status && ins->scale.square_count == 1)
        status = sw_note_add(
            notes, SW_NOTE_ONE_SQUARE,
            "Only one reference square: gaps are safe, but lengths and corner angles away from it are uncertain. "
            "Lay four, near the table's corners.");
    if (!status && ins->scale.lens.source == SW_LENS_ESTIMATED)
        status = sw_note_add(
            notes, SW_NOTE_LENS_ESTIMATED,
            "No lens profile: the lens was estimated from this picture, and straightness is less certain. Make a "
            "profile once with 'seamwright lens'.");
    if (!status)
        status = look_at_processing(&ins->scale, notes);
    if (!status)
        status = sw_note_unseen(ins);
    if (!status && clipped_share(photo, ins) > CLIPPED_MOST)
        status = sw_note_add(
            notes, SW_NOTE_OVEREXPOSED,
            "Parts of the tiles are overexposed (white without detail), and edges there move; take the photo darker.");
    return status ? status : sw_heights_faked(options, ins);
}

static sw_status run(stages *s, const sw_photo *photo, const sw_options *options, sw_inspection *ins, sw_error *err)
{
    double thickness_mm = options->card_thickness_given ? options->card_thickness_mm : NAN;
    sw_status status;
    tell(s, "looking for the reference squares", 0.02);
    if ((status = sw_small_make(photo, &s->small, err)))
        return status;
    if ((status = sw_scale_find(photo, &s->small, options->lens, &options->reference, thickness_mm, &ins->scale, err)))
        return status;
    if ((status = sw_scale_light(photo, ins->scale.contrast, &s->seen, err)))
        return status;
    tell(s, "looking for the tiles", 0.2);
    if ((status = sw_grid_find(&s->seen, &s->small, &ins->scale, &ins->table, s->grid, err)))
        return status;
    if ((status = sw_heights_settle(photo, &s->seen, &s->small, options, &options->reference, ins, s->grid, &s->heights,
                                    err)))
        return status;
    if ((status = sw_traces_read(&s->seen, &ins->scale, s->grid, ins->step_mm, tell_seams, s, &s->traces, err)))
        return status;
    sw_steps_judge(&s->seen, &ins->scale, s->grid, &s->traces);
    if ((ins->scale.lens.source == SW_LENS_ESTIMATED || ins->scale.square_count == 1) &&
        (status = sw_straighten(&s->traces, &ins->scale, s->grid, err)))
        return status;
    if ((status = sw_tracks_make(&s->traces, &ins->scale, s->grid, &s->tracks, err)))
        return status;
    tell(s, "measuring the tiles", 0.92);
    if ((status = sw_tiles_make(&s->tracks, ins, err)) || (status = sw_seams_make(&s->tracks, ins, err)))
        return status;
    sw_heights_note(&s->heights, ins);
    sw_budgets_make(ins);
    if ((status = sw_marks_make(&s->seen, s->grid, ins, err)))
        return status;
    if ((status = sw_rank(ins, err)))
        return status;
    status = look_for_notes(&s->heights, photo, options, ins);
    if (!status && options->lens)
        status = sw_lens_doubts(options->lens, photo, &ins->notes);
    return sw_noted(status, err);
}

sw_status sw_inspect(const sw_photo *photo, const sw_options *given,
                     void (*progress)(void *context, const char *what, double share), void *context,
                     sw_inspection *inspection, sw_error *err)
{
    stages s = {.progress = progress, .context = context};
    sw_options options;
    memset(inspection, 0, sizeof *inspection);
    sw_status status = sw_options_settle(given, photo, &options, err);
    if (status)
        return status;
    describe(photo, &options, inspection);
    s.grid = calloc(1, sizeof *s.grid);
    status = s.grid ? run(&s, photo, &options, inspection, err)
                    : sw_fail(err, SW_NO_MEMORY, "%s: not enough memory", photo->file);
    free(s.grid);
    sw_small_free(&s.small);
    if (s.seen.linear != photo->linear)
        free(s.seen.linear);
    sw_traces_free(&s.traces);
    sw_tracks_free(&s.tracks);
    if (status)
        sw_inspection_free(inspection);
    return status;
}
