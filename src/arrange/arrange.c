/* arrange.c - the search for a better arrangement: outlines, all pairs of edges, the hunt, and the layout found pushed
 * together. */
#include "seamwright/arrange.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "arrange/hunt.h"
#include "arrange/pushed.h"
#include "arrange/say.h"
#include "inspection/notes.h"
#include "lean/answers.h"
#include "lean/faces.h"
#include "push/openings.h"
#include "push/same_tiles.h"
#include "push/tile_outline.h"
#include "seamwright/defaults_and_ranges.h"

/* How long to search unless told, seconds. */
static const double DEFAULT_SECONDS = 60;
/* A gain below this is none, mm: far below what any photo shows. */
static const double LEAST_GAIN_MM = 0.01;
/* What might be must be better by so much than what is found to be worth a walk to the table, mm: as surely as a try
 * square tells. */
static const double HOPE_MM = 0.2;
static const char NO_MEMORY[] = "not enough memory to search for arrangements; close other programs and try again";

void sw_arrangement_free(sw_arrangement *arrangement)
{
    if (!arrangement)
        return;
    free(arrangement->answers);
    sw_layout_free(&arrangement->before.layout);
    sw_layout_free(&arrangement->after.layout);
    free(arrangement->before.seams);
    free(arrangement->after.seams);
    sw_notes_free(&arrangement->notes);
    memset(arrangement, 0, sizeof *arrangement);
}

/* What a search owns. */
typedef struct task {
    const sw_inspection *first;
    size_t tiles;
    sw_outline *outlines;
    double pitch_mm; /* of the lattice the layouts are laid on */
    sw_faces faces;
    double u95_mm; /* of a widest gap */
    sw_pairs pairs;
    sw_puzzle puzzle;
} task;

static void free_task(task *t)
{
    for (size_t i = 0; t->outlines && i < t->tiles; i++)
        sw_outline_free(&t->outlines[i]);
    free(t->outlines);
    sw_faces_free(&t->faces);
    sw_pairs_free(&t->pairs);
    sw_puzzle_free(&t->puzzle);
}

static sw_status check(const sw_inspection *inspections, size_t count, const sw_layout *layouts,
                       const sw_arrange_options *options, sw_error *err)
{
    if (!(options->seconds >= 0))
        return sw_fail(err, SW_BAD_INPUT, "a search cannot last %g seconds", options->seconds);
    sw_status status = sw_same_tiles(inspections, count, layouts, err);
    if (status)
        return status;
    for (size_t i = 0; i < options->keep_count; i++)
        if (options->keep[i] < 0 || (size_t)options->keep[i] >= inspections[0].tile_count)
            return sw_fail(err, SW_BAD_INPUT, "a tile to be kept is none of the first inspection");
    return SW_OK;
}

static sw_status make_outlines(task *t, const sw_inspection *inspections, size_t count, const sw_layout *layouts,
                               sw_error *err)
{
    t->outlines = calloc(t->tiles + 1, sizeof *t->outlines);
    sw_status status = t->outlines ? SW_OK : sw_fail(err, SW_NO_MEMORY, "%s", NO_MEMORY);
    double sum = 0;
    size_t measured = 0;
    for (size_t i = 0; i < t->tiles && !status; i++) {
        status = sw_tile_outline(inspections, count, layouts, (int)i, &t->outlines[i], err);
        if (!status && isfinite(t->outlines[i].half_mm)) {
            sum += 2 * t->outlines[i].half_mm;
            measured++;
        }
    }
    if (!status && !measured)
        status = sw_fail(err, SW_BAD_INPUT, "no tile of the first inspection was measured; photograph again");
    t->pitch_mm = measured ? sum / (double)measured : 0;
    return status;
}

/* What is known of leans: from the standoffs of all inspections, and from what a try square said. */
static sw_status make_faces(task *t, const sw_inspection *inspections, size_t count, const sw_layout *layouts,
                            const sw_arrange_options *options, sw_arrangement *a, sw_error *err)
{
    sw_openings e;
    sw_settled pushed = {0};
    sw_status status = sw_openings_make(t->first, &e, err);
    if (!status)
        status = sw_settle(e.centres, e.tiles, e.joints, e.count, &pushed, err);
    if (!status)
        status = sw_answers_used(options->answers, options->answer_count, t->first, &e, &a->answers, &a->answer_count,
                                 &a->notes, err);
    const sw_lean_sources from = {inspections, count, layouts, &e, &pushed, a->answers, a->answer_count};
    if (!status)
        status = sw_faces_make(&from, &t->faces, err);
    a->hope_mm = NAN;
    a->ask_tile = -1;
    a->likely_mm = t->faces.likely_mm;
    sw_settled_free(&pushed);
    sw_openings_free(&e);
    return status;
}

/* Kept tiles stay, and tiles that were not measured. */
static sw_status fix(task *t, const sw_arrange_options *options, sw_arrangement *a, sw_error *err)
{
    sw_status status = SW_OK;
    for (size_t i = 0; i < options->keep_count; i++)
        t->puzzle.fixed[options->keep[i]] = true;
    for (size_t i = 0; i < t->tiles && !status; i++)
        if (!isfinite(t->outlines[i].half_mm)) {
            t->puzzle.fixed[i] = true;
            status = sw_note_add(&a->notes, SW_NOTE_TILE_UNSEEN, "%s was not measured and stays where it is.",
                                 t->first->tiles[i].name);
            sw_note_at(&a->notes, t->first->tiles[i].name);
        }
    return sw_noted(status, err);
}

/* A place's name: column letter, row number. */
static void place_name(const sw_puzzle *puzzle, int place, char name[8])
{
    snprintf(name, 8, "%c%u", (char)('A' + place % puzzle->columns), (unsigned)(place / puzzle->columns + 1) % 1000u);
}

/* Seam by seam what a layout comes to once pushed, whichever way the tiles come to lie. */
static void take_seam(const task *t, const sw_place *places, const sw_pushed *pushed, int j, sw_arranged_seam *s)
{
    const sw_meeting *m = &t->puzzle.meetings[j];
    int faces[2];
    char first[8], second[8];
    sw_puzzle_faces(places, m, faces);
    sw_apart apart = sw_faces_apart(&t->faces, faces[0], faces[1]);
    place_name(&t->puzzle, m->first, first);
    place_name(&t->puzzle, m->second, second);
    *s = (sw_arranged_seam){.first = m->first,
                            .second = m->second,
                            .upright = m->upright,
                            .max_mm = pushed->max_mm[j] + apart.most_mm,
                            .best_mm = pushed->inward_mm[j] + apart.least_mm,
                            .mean_mm = pushed->mean_mm[j] + apart.most_mm,
                            .u95_mm = t->u95_mm};
    snprintf(s->name, sizeof s->name, "%s-%s", first, second);
}

/* A layout pushed together. */
static sw_status push(const task *t, const sw_place *places, sw_arranged *a, sw_error *err)
{
    sw_pushed pushed;
    sw_status status = sw_pushed_make(&t->puzzle, places, t->outlines, t->pitch_mm, &pushed, err);
    if (status)
        return status;
    a->seams = calloc(pushed.count + 1, sizeof *a->seams);
    if (!a->seams)
        status = sw_fail(err, SW_NO_MEMORY, "%s", NO_MEMORY);
    for (size_t j = 0; !status && j < pushed.count; j++) {
        sw_arranged_seam *s = &a->seams[a->seam_count++];
        int faces[2];
        take_seam(t, places, &pushed, (int)j, s);
        sw_puzzle_faces(places, &t->puzzle.meetings[j], faces);
        a->unknown += !t->faces.known[faces[0]] + !t->faces.known[faces[1]];
        if (!isfinite(s->max_mm))
            continue;
        a->worst_mm = fmax(a->worst_mm, s->max_mm);
        a->best_mm = fmax(a->best_mm, s->best_mm);
        a->sum_mm += s->max_mm;
    }
    sw_pushed_free(&pushed);
    return status;
}

static int count_moved(const sw_place *places, int count)
{
    int moved = 0;
    for (int i = 0; i < count; i++)
        moved += places[i].tile != i || places[i].turns != 0;
    return moved;
}

/* The whole table turned clockwise by so many quarters closes alike. */
static void turn_table(const sw_puzzle *puzzle, const sw_place *from, int quarters, sw_place *to)
{
    int columns = puzzle->columns, rows = puzzle->rows;
    for (int p = 0; p < puzzle->places; p++) {
        int column = p % columns, row = p / columns, at = p;
        if (quarters == 2)
            at = puzzle->places - 1 - p;
        else if (quarters == 1) /* columns and rows are equally many */
            at = column * columns + (rows - 1 - row);
        else if (quarters == 3)
            at = (columns - 1 - column) * columns + row;
        to[at] = (sw_place){from[p].tile, (from[p].turns + quarters) & 3};
    }
}

/* Of the ways to turn the table as a whole, the one that moves fewest tiles. */
static sw_status least_moves(const sw_puzzle *puzzle, sw_place *places, sw_error *err)
{
    int least = count_moved(places, puzzle->places), best = 0;
    size_t size = (size_t)puzzle->places * sizeof *places;
    sw_place *trial = malloc(size + 1);
    if (!trial)
        return sw_fail(err, SW_NO_MEMORY, "%s", NO_MEMORY);
    for (int p = 0; p < puzzle->places; p++)
        if (puzzle->fixed[p])
            least = 0; /* nothing may turn */
    for (int quarters = 1; quarters < 4; quarters++) {
        if (quarters != 2 && puzzle->columns != puzzle->rows)
            continue;
        turn_table(puzzle, places, quarters, trial);
        int moved = count_moved(trial, puzzle->places);
        if (moved < least) {
            least = moved;
            best = quarters;
        }
    }
    if (best) {
        turn_table(puzzle, places, best, trial);
        memcpy(places, trial, size);
    }
    free(trial);
    return SW_OK;
}

static bool gains(const sw_score *before, const sw_score *after)
{
    if (after->worst_mm < before->worst_mm - LEAST_GAIN_MM)
        return true;
    return after->worst_mm <= before->worst_mm + SW_SCORE_SAME_MM && after->sum_mm < before->sum_mm - LEAST_GAIN_MM;
}

/* Joints hardly seen count as much as the widest gap there is now, or twice the tolerance: hiding one inside gains
 * nothing, and neither does moving one to the rim. */
static void set_unknown(task *t, const sw_arrangement *a)
{
    t->pairs.unknown_mm = fmax(a->before.worst_mm, 2 * a->tolerance_mm);
}

static double seconds_of(const sw_arrange_options *options)
{
    return options->seconds > 0 ? options->seconds : DEFAULT_SECONDS;
}

static sw_hunt hunt_with(const task *t, const sw_arrange_options *options, bool brief)
{
    return (sw_hunt){.puzzle = &t->puzzle,
                     .outlines = t->outlines,
                     .pitch_mm = t->pitch_mm,
                     .seed = options->seed ? options->seed : 1,
                     .deadline = sw_deadline_in(seconds_of(options)),
                     .brief = brief};
}

static sw_status hunt(task *t, const sw_arrange_options *options, sw_arrangement *a,
                      void (*progress)(void *, const char *, double), void *context, sw_error *err)
{
    sw_place *places = a->after.layout.places;
    sw_score before, after;
    bool cut_short = false;
    sw_hunt how = hunt_with(t, options, false);
    how.progress = progress;
    how.context = context;
    sw_status status = sw_hunt_judge(&how, places, &before, err);
    after = before;
    if (!status)
        status = sw_hunt_run(&how, places, &after, &a->tried, &cut_short, err);
    if (status)
        return status;
    a->better = gains(&before, &after);
    if (a->better)
        status = least_moves(&t->puzzle, places, err);
    else
        memcpy(places, a->before.layout.places, t->tiles * sizeof *places);
    a->moved = count_moved(places, t->puzzle.places);
    if (!status && cut_short)
        status = sw_noted(sw_note_add(&a->notes, SW_NOTE_SEARCH_ENDED,
                                      "The search was ended after %.0f seconds; a longer one might find better.",
                                      seconds_of(options)),
                          err);
    return status;
}

/* The face to hold a try square to: at the seam of this layout that may gape widest as its faces lean. */
static void choose_ask(const task *t, const sw_arranged *hope, sw_arrangement *a)
{
    double widest = 0;
    for (size_t j = 0; j < hope->seam_count; j++) {
        const sw_arranged_seam *s = &hope->seams[j];
        int faces[2];
        sw_puzzle_faces(hope->layout.places, &t->puzzle.meetings[j], faces);
        int ask = sw_faces_ask(&t->faces, faces[0], faces[1]);
        if (ask < 0 || !(s->max_mm > widest) || sw_verdict_of(s->max_mm, s->u95_mm, a->tolerance_mm) == SW_WITHIN)
            continue;
        widest = s->max_mm;
        a->ask_tile = ask / 4;
        a->ask_side = (sw_side)(ask % 4);
    }
}

/* What could be if faces leaned no more than is sure: a short search tells, and where its layout would be far better than
 * the one found, a touch of the try square at its most doubtful seam is the next step. */
static sw_status look_for_hope(task *t, const sw_arrange_options *options, sw_arrangement *a, sw_error *err)
{
    sw_pairs pairs;
    sw_arranged hope = {.worst_mm = 0};
    sw_puzzle puzzle = t->puzzle;
    sw_score score;
    size_t tried = 0;
    bool cut_short;
    sw_hunt how = hunt_with(t, options, true);
    sw_status status = sw_pairs_make(t->outlines, t->tiles, &t->faces, true, &pairs, err);
    if (status)
        return status;
    pairs.unknown_mm = t->pairs.unknown_mm;
    puzzle.pairs = &pairs;
    how.puzzle = &puzzle;
    status = sw_layout_as_is(t->first, &hope.layout, err);
    if (!status)
        status = sw_hunt_judge(&how, hope.layout.places, &score, err);
    if (!status)
        status = sw_hunt_run(&how, hope.layout.places, &score, &tried, &cut_short, err);
    if (!status)
        status = push(t, hope.layout.places, &hope, err);
    if (!status && hope.best_mm < a->after.worst_mm - HOPE_MM) {
        a->hope_mm = hope.best_mm;
        choose_ask(t, &hope, a);
    }
    sw_layout_free(&hope.layout);
    free(hope.seams);
    sw_pairs_free(&pairs);
    return status;
}

static sw_status arrange(task *t, const sw_inspection *inspections, size_t count, const sw_layout *layouts,
                         const sw_arrange_options *options, void (*progress)(void *, const char *, double),
                         void *context, sw_arrangement *a, sw_error *err)
{
    double u95_mm = sw_arrange_usual_u95(t->first);
    t->u95_mm = isfinite(u95_mm) ? M_SQRT2 * u95_mm : 0; /* where it gapes less where it touches: two places' errors */
    sw_status status = make_outlines(t, inspections, count, layouts, err);
    if (!status)
        status = make_faces(t, inspections, count, layouts, options, a, err);
    if (!status)
        status = sw_layout_as_is(t->first, &a->before.layout, err);
    if (!status)
        status = sw_layout_as_is(t->first, &a->after.layout, err);
    if (!status)
        status = sw_pairs_make(t->outlines, t->tiles, &t->faces, false, &t->pairs, err);
    if (!status)
        status = sw_puzzle_make(&t->pairs, a->before.layout.columns, a->before.layout.rows, &t->puzzle, err);
    if (!status)
        status = fix(t, options, a, err);
    if (!status)
        status = push(t, a->before.layout.places, &a->before, err);
    if (status)
        return status;
    set_unknown(t, a);
    status = hunt(t, options, a, progress, context, err);
    if (!status)
        status = push(t, a->after.layout.places, &a->after, err);
    if (!status)
        status = sw_arrange_say_notes(t->first, t->outlines, a, err);
    if (!status && !sw_arrangement_fits(a))
        status = look_for_hope(t, options, a, err);
    if (status)
        return status;
    sw_arrange_say_next(t->first, a);
    return SW_OK;
}

bool sw_arrangement_fits(const sw_arrangement *arrangement)
{
    for (size_t i = 0; i < arrangement->after.seam_count; i++)
        if (sw_verdict_of(arrangement->after.seams[i].max_mm, arrangement->after.seams[i].u95_mm,
                          arrangement->tolerance_mm) != SW_WITHIN)
            return false;
    return true;
}

sw_status sw_arrange(const sw_inspection *inspections, size_t count, const sw_layout *layouts,
                     const sw_arrange_options *options, void (*progress)(void *context, const char *what, double share),
                     void *context, sw_arrangement *arrangement, sw_error *err)
{
    static const sw_arrange_options none = {.tolerance_mm = 0};
    memset(arrangement, 0, sizeof *arrangement);
    options = options ? options : &none;
    sw_status status = check(inspections, count, layouts, options, err);
    if (status)
        return status;
    task t = {.first = &inspections[0], .tiles = inspections[0].tile_count};
    status = sw_range_take(SW_TOLERANCE_MM, "the tolerance", options->tolerance_mm, t.first->tolerance_mm,
                           &arrangement->tolerance_mm, err);
    if (!status)
        status = arrange(&t, inspections, count, layouts, options, progress, context, arrangement, err);
    free_task(&t);
    if (status)
        sw_arrangement_free(arrangement);
    return status;
}
