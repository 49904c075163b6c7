/* inspect.c - the whole way, one call a stage: photo -> scale -> table -> seam -> tile -> plan. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspect/doubts.h"
#include "inspect/guessed_cards.h"
#include "inspect/heights_step.h"
#include "inspect/lens_check.h"
#include "inspect/on_tops.h"
#include "inspect/options.h"
#include "inspect/table_doubts.h"
#include "inspect/tellings.h"
#include "inspect/unseen.h"
#include "inspection/notes.h"
#include "inspection/tiles_size.h"
#include "mark/marks.h"
#include "photo/small.h"
#include "plan/lippage.h"
#include "plan/rank.h"
#include "scale/find.h"
#include "seam/measure.h"
#include "seam/step.h"
#include "seam/straight.h"
#include "seamwright/inspect.h"
#include "table/grid.h"
#include "tile/budgets.h"
#include "tile/oblong.h"
#include "tile/otherwise.h"
#include "tile/outline.h"
#include "tile/rounded.h"
#include "tops/tops.h"
#include "track/rims_mm.h"
#include "track/tile_size.h"

/* Level tops whose cards leave over so many times what uneven ones leave are still possible, if some card or the lens is a little off. */
static const double LEVEL_POSSIBLE = 8;

/* What the stages share. */
typedef struct stages {
    const sw_photo *photo;
    const sw_options *options;
    bool card_said;     /* which cards there are is not to be guessed */
    sw_options guessed; /* the options with cards that were guessed; in use when options points here */
    sw_error no_card;   /* what is to be said when the guess fails */
    sw_inspection *ins; /* what is made */
    sw_error *err;
    sw_small small;
    sw_photo seen; /* the photo with its light as the scale has it */
    sw_scale own;  /* found as if there were no lens profile; no squares when none was given */
    sw_otherwise other;
    double size_off; /* share by which tiles measure more than told, before their uncertainty held that */
    sw_grid *grid;
    sw_traces traces;
    sw_tracks tracks;
    sw_heights heights;
    sw_view *view;        /* NULL: not wanted */
    const sw_tops *known; /* from all photos of the table; NULL: not known beforehand */
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

static sw_status describe(const sw_photo *photo, const sw_options *options, sw_inspection *ins, sw_error *err)
{
    snprintf(ins->file, sizeof ins->file, "%s", photo->file);
    snprintf(ins->taken, sizeof ins->taken, "%s", photo->taken);
    snprintf(ins->camera, sizeof ins->camera, "%s", photo->camera);
    ins->width_px = photo->width_px;
    ins->height_px = photo->height_px;
    ins->tolerance_mm = options->tolerance_mm;
    ins->lippage_mm = options->lippage_mm;
    ins->step_mm = options->step_mm;
    ins->table = (sw_table){.columns = options->columns, .rows = options->rows, .tile_mm = options->tile_mm};
    return sw_options_keep(options, &ins->given, err);
}

/* tops: the one under each square; NULL: all in the mm frame's plane. */
static sw_status find_scale(stages *s, const sw_lens *lens, const sw_top *tops, sw_scale *scale)
{
    const sw_options *options = s->options;
    const sw_scale_known known = {.lens = lens,
                                  .reference = options->reference,
                                  .thickness_mm = options->card_thickness_given ? options->card_thickness_mm : NAN,
                                  .square_tops = tops,
                                  .cards = options->squares,
                                  .card_count = options->square_count};
    return sw_scale_find_on(s->photo, &s->small, &known, scale, s->err);
}

/* The first look. Where nobody said which cards there are and no frame is found, plain squares are tried. */
static sw_status find_cards(stages *s)
{
    const sw_options *given = s->options;
    sw_status status = find_scale(s, given->lens, NULL, &s->ins->scale);
    if (status != SW_NOT_FOUND || s->card_said)
        return status;
    s->no_card = *s->err;
    s->guessed = *given;
    s->guessed.reference = sw_guessed_card();
    s->options = &s->guessed;
    status = find_scale(s, given->lens, NULL, &s->ins->scale);
    if (status == SW_NO_MEMORY || (!status && sw_guessed_cards_plain(s->photo, &s->ins->scale)))
        return status;
    s->options = given;
    *s->err = s->no_card;
    return SW_NOT_FOUND;
}

static sw_status find_tiles(stages *s)
{
    return sw_grid_find(&s->seen, &s->small, s->options->corners, &s->ins->scale, &s->ins->table, s->grid, s->err);
}

static sw_status fail_lens(const stages *s)
{
    return sw_fail(
        s->err, SW_BAD_INPUT,
        "%s: the lens profile does not fit this photo: cards and seams are not straight and square by it; make a "
        "profile of this camera at this zoom and picture size anew, or leave --lens out",
        s->photo->file);
}

static sw_status fail_tops(const stages *s)
{
    return sw_fail(s->err, SW_BAD_INPUT,
                   "%s: the cards contradict each other: taken as they are they lie on tops that stand %.0f mm apart "
                   "and slant by %.1f degrees; a card was printed or cut out of square or lies on something, or a "
                   "program stretched the picture: measure the cards, and photograph again",
                   s->photo->file, sw_tops_apart_mm(&s->grid->tops), sw_tops_slant_deg(&s->grid->tops));
}

static sw_status fail_sizes(const stages *s)
{
    return sw_fail(
        s->err, SW_BAD_INPUT,
        "%s: the cards disagree: by their sizes the tops under them stand %.0f mm apart, but the tiles are of "
        "one size only if they do not; a card is not of the size told: measure all of them, take the wrong "
        "one away or print it anew at 100 %%, and photograph again",
        s->photo->file, sw_tops_apart_mm(&s->grid->tops));
}

static void take_otherwise(stages *s, const sw_scale *scale, const sw_tops *tops)
{
    s->other.possible = true;
    s->other.scale = *scale;
    for (int c = 0; c < s->grid->columns; c++)
        for (int r = 0; r < s->grid->rows; r++)
            s->other.rise_mm[c][r] = tops ? tops->top[c][r].rise_mm : 0;
}

/* The other reading of tops that are believed: level by the photo's own lens, or by the one given if that is not out of the question; else
 * as high as measured, but none slants. */
static sw_status find_otherwise(stages *s, const sw_scale *level, const sw_scale *uneven, const sw_scale *own,
                                sw_telling telling, sw_top *under)
{
    sw_scale straight;
    if (telling == SW_TELLS_EITHER || level->misfit < LEVEL_POSSIBLE * uneven->misfit) {
        take_otherwise(s, telling == SW_TELLS_EITHER ? own : level, NULL);
        return SW_OK;
    }
    for (int i = 0; i < SW_SQUARES_MAX; i++)
        under[i].east = under[i].north = 0;
    sw_status status = find_scale(s, s->options->lens, under, &straight);
    if (!status)
        take_otherwise(s, &straight, &s->grid->tops);
    return status == SW_NO_MEMORY ? status : SW_OK;
}

/* Cards alone say that the tops are not level: other lenses, pictures out of shape and cards out of square look like that, too. *uneven is the scale on
 * these tops. */
static sw_status weigh_cards(stages *s, const sw_scale *level, const sw_scale *uneven, sw_top *tops, bool *believed)
{
    sw_scale own = *level;
    sw_status status = s->options->lens ? find_scale(s, NULL, NULL, &own) : SW_OK;
    if (status == SW_NO_MEMORY)
        return status;
    if (status)
        own.square_count = 0;
    sw_telling telling = sw_tops_telling(level, &own, uneven, &s->grid->tops);
    *believed = telling == SW_TELLS_UNEVEN || telling == SW_TELLS_EITHER;
    switch (telling) {
    case SW_TELLS_LENS:
        return fail_lens(s);
    case SW_TELLS_NOTHING:
        return fail_tops(s);
    case SW_TELLS_LEVEL:
        take_otherwise(s, uneven, &s->grid->tops);
        sw_tops_suppose_level(&s->grid->tops);
        return SW_OK;
    default:
        return find_otherwise(s, level, uneven, &own, telling, tops);
    }
}

/* Heights that were told against those that the cards' sizes tell. level: the scale as if all were level. */
static sw_status check_told(stages *s, const sw_scale *level)
{
    const sw_grid *grid = s->grid;
    sw_tops *told = malloc(2 * sizeof *told), *cards = told + 1;
    sw_top under[SW_SQUARES_MAX] = {{0}};
    sw_scale on_cards;
    int column = 0, row = 0;
    double higher_mm = 0;
    if (!told)
        return sw_fail(s->err, SW_NO_MEMORY, "%s: not enough memory for the tops", s->photo->file);
    *told = grid->tops;
    sw_status status = sw_tops_of_cards(level, grid->columns, grid->rows, s->ins->table.tile_mm, cards);
    if (!status) {
        s->grid->tops = *cards;
        sw_tops_under_squares(grid, level, under);
        s->grid->tops = *told;
        status = find_scale(s, s->options->lens, under, &on_cards);
    }
    if (!status &&
        sw_tops_told_telling(&s->ins->scale, &on_cards, told, cards, &column, &row, &higher_mm) == SW_TELLS_NOTHING)
        status =
            sw_fail(s->err, SW_BAD_INPUT,
                    "%s: the heights told do not fit the cards: %c%d was told %.1f mm %s than the size of the card "
                    "on it says; measure the tiles' heights anew, or leave --height out",
                    s->photo->file, 'A' + column, row + 1, fabs(higher_mm), higher_mm > 0 ? "higher" : "lower");
    else if (status != SW_NO_MEMORY)
        status = SW_OK; /* cards on one tile only, or none that fit so: nothing to compare */
    free(told);
    return status;
}

/* The table was found as if it were level. Where tops differ, the squares are fitted again, each on its own tile's top, and the table
 * is found again. */
static sw_status settle_tops(stages *s)
{
    const sw_options *options = s->options;
    sw_top tops[SW_SQUARES_MAX];
    bool believed = true;
    sw_status status = sw_heights_of(s->photo->file, options->height_mm, options->heights, options->height_count,
                                     s->grid->columns, s->grid->rows, &s->heights, s->err);
    s->ins->table.height_mm = s->heights.plane_mm;
    if (status)
        return status;
    if ((status = sw_tops_of_photo(&s->heights, s->known, &s->ins->scale, s->ins->table.tile_mm, s->grid)))
        return sw_fail(s->err, status, "%s: shows another table than the other photos", s->photo->file);
    if (!sw_tops_uneven(&s->grid->tops))
        return SW_OK;
    sw_tops_under_squares(s->grid, &s->ins->scale, tops);
    const sw_scale level = s->ins->scale;
    if ((status = find_scale(s, options->lens, tops, &s->ins->scale)))
        return status;
    /* where several photos show the table, their rims will settle it */
    if (!s->heights.uneven && !s->known && !s->view &&
        (status = weigh_cards(s, &level, &s->ins->scale, tops, &believed)))
        return status;
    if (s->heights.uneven && (status = check_told(s, &level)))
        return status;
    if (!believed) {
        s->ins->scale = level;
        return SW_OK;
    }
    s->ins->table.tile_mm = options->tile_mm; /* columns and rows stay as found */
    const sw_tops found = s->grid->tops;
    if ((status = find_tiles(s)))
        return status;
    s->grid->tops = found;
    return SW_OK;
}

/* The tiles, and how their tops stand; a guess of the cards must fit them. */
static sw_status find_table(stages *s)
{
    sw_status status = find_tiles(s);
    if (!status)
        status = settle_tops(s);
    if (s->options != &s->guessed || (status && status != SW_NOT_FOUND))
        return status;
    if (!status && sw_guessed_cards_lie(&s->ins->scale, s->grid))
        return sw_noted(sw_note_guessed(s->ins), s->err);
    *s->err = s->no_card;
    return SW_NOT_FOUND;
}

/* What the photo says without its profile. */
static sw_status find_own_scale(stages *s)
{
    sw_top tops[SW_SQUARES_MAX] = {{0}};
    bool uneven = sw_tops_uneven(&s->grid->tops);
    if (uneven)
        sw_tops_under_squares(s->grid, &s->ins->scale, tops);
    sw_status status = find_scale(s, NULL, uneven ? tops : NULL, &s->own);
    bool others =
        s->own.square_count != s->ins->scale.square_count; /* cards that this one leaves out and that one does not */
    if ((status && status != SW_NO_MEMORY) || others)
        s->own.square_count = 0; /* nothing to compare with */
    return status == SW_NO_MEMORY ? status : SW_OK;
}

/* A profile that the photo contradicts is worse than none. */
static sw_status check_lens(stages *s)
{
    double squares;
    const sw_table *table = &s->ins->table;
    if (s->own.square_count == 0)
        return SW_OK;
    sw_status status =
        sw_lens_contradiction(&s->ins->scale, &s->own, &s->traces, s->grid, table->columns * table->tile_mm,
                              table->rows * table->tile_mm, &squares, s->err);
    if (!status && sw_lens_contradicted(&s->ins->scale, &s->own, squares))
        return fail_lens(s);
    if (!status && squares > SW_LENS_OTHER_SQUARES && !s->other.possible)
        take_otherwise(s, &s->own, &s->grid->tops);
    if (!status && squares > SW_LENS_DOUBTFUL_SQUARES)
        status = sw_noted(
            sw_note_add(
                &s->ins->notes, SW_NOTE_LENS_DOUBTFUL,
                "Cards and seams speak of another lens than the profile, by more than the ± of angles and "
                "lengths holds: the profile is of another camera or zoom, tops are not level, or an edge was misread."),
            s->err);
    return status;
}

static sw_status run(stages *s)
{
    sw_inspection *ins = s->ins;
    sw_error *err = s->err;
    sw_status status;
    tell(s, "looking for the reference squares", 0.02);
    if ((status = sw_small_make(s->photo, &s->small, err)))
        return status;
    if ((status = find_cards(s)))
        return status;
    if ((status = sw_scale_light(s->photo, ins->scale.contrast, &s->seen, err)))
        return status;
    tell(s, "looking for the tiles", 0.2);
    if ((status = find_table(s)))
        return status;
    if (s->options->lens && (status = find_own_scale(s)))
        return status;
    sw_small_free(&s->small); /* the table is found */
    if ((status = sw_traces_read(&s->seen, &ins->scale, s->grid, ins->step_mm, tell_seams, s, &s->traces, err)))
        return status;
    sw_steps_judge(s->grid, &s->traces);
    if ((status = check_lens(s)))
        return status;
    if ((ins->scale.lens.source == SW_LENS_ESTIMATED || ins->scale.square_count == 1) &&
        (status = sw_straighten(&s->traces, &ins->scale, s->grid, err)))
        return status;
    if ((status = sw_tracks_make(&s->traces, &ins->scale, s->grid, &s->tracks, err)))
        return status;
    if (sw_tile_sizes_judge(&s->traces, &s->tracks))
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", s->photo->file);
    if (s->view && sw_view_make(&s->tracks, &s->traces, &ins->scale, ins->table.tile_mm, s->view))
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the tops", s->photo->file);
    tell(s, "measuring the tiles", 0.92);
    if ((status = sw_tiles_make(&s->tracks, ins, err)))
        return status;
    s->size_off = sw_tiles_size_off(ins);
    sw_tiles_hold_size(s->size_off, &s->tracks, ins);
    if ((status = sw_seams_make(&s->tracks, ins, err)))
        return status;
    if (!s->view && sw_tops_by_sizes(&s->grid->tops, ins) == SW_SIZES_DENY)
        return fail_sizes(s);
    sw_tiles_hold_oblong(ins);
    sw_tiles_hold_otherwise(&s->tracks, &s->grid->tops, &s->other, ins);
    if ((status = sw_refuse_misread(ins, &s->traces, err)))
        return status;
    if ((status = sw_noted(sw_note_lines_beside(ins, &s->traces), err)))
        return status;
    sw_tops_to_tiles(s->grid, ins);
    sw_rims_to_tiles(&s->tracks, ins);
    sw_budgets_make(ins);
    if ((status = sw_marks_make(&s->seen, s->grid, ins, err)))
        return status;
    if ((status = sw_rank(ins, err)) || (status = sw_lippage_advise(ins, err)))
        return status;
    if ((status = sw_noted(sw_note_table(s->grid, s->size_off, ins), err)))
        return status;
    return sw_noted(sw_note_doubts(s->photo, s->options, &s->heights, &s->grid->tops, ins), err);
}

sw_status sw_inspect(const sw_photo *photo, const sw_options *given,
                     void (*progress)(void *context, const char *what, double share), void *context,
                     sw_inspection *inspection, sw_error *err)
{
    return sw_inspect_on(photo, given, NULL, progress, context, inspection, NULL, err);
}

sw_status sw_inspect_on(const sw_photo *photo, const sw_options *given, const sw_tops *known,
                        void (*progress)(void *context, const char *what, double share), void *context,
                        sw_inspection *inspection, sw_view *view, sw_error *err)
{
    sw_options options;
    stages s = {.photo = photo,
                .options = &options,
                .ins = inspection,
                .err = err,
                .known = known,
                .view = view,
                .progress = progress,
                .context = context};
    memset(inspection, 0, sizeof *inspection);
    if (view)
        memset(view, 0, sizeof *view);
    sw_status status = sw_options_settle(given, photo, &options, err);
    if (status)
        return status;
    s.card_said = sw_card_said(given) || options.squares;
    status = describe(photo, &options, inspection, err);
    s.grid = calloc(1, sizeof *s.grid);
    if (!status)
        status = s.grid ? run(&s) : sw_fail(err, SW_NO_MEMORY, "%s: not enough memory", photo->file);
    free(s.grid);
    sw_small_free(&s.small);
    if (s.seen.linear != photo->linear)
        free(s.seen.linear);
    sw_traces_free(&s.traces);
    sw_tracks_free(&s.tracks);
    if (status)
        sw_inspection_free(inspection);
    if (status && view)
        sw_view_free(view);
    return status;
}
