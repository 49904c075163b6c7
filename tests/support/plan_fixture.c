#include "support/plan_fixture.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { KNOTS = 13 };
static const double SIDE_MM = 300, HEIGHT_MM = 45, PI_MM = 3.14159265358979;

static void *get(size_t count, size_t size)
{
    void *memory = calloc(count, size);
    if (!memory) {
        fputs("plan_fixture: out of memory\n", stderr);
        exit(99);
    }
    return memory;
}

/* What comes off at KNOTS places 25 mm apart, in hundredths of a mm. */
typedef struct made {
    int tile;
    sw_side side;
    int hundredths[KNOTS];
    double bevel_mm;
    sw_lean_known lean;
    const char *why;
} made;

static const made EDGES[PLAN_FIXTURE_EDGES] = {
    {4,
     SW_EAST,
     {125, 104, 83, 62, 42, 21, 0, 0, 0, 0, 0, 0, 0},
     0,
     SW_LEAN_NONE,
     "B2 east: take 1.25 mm off at the north end, tapering to nothing 150 mm from it: B2 and C2 touch there, which "
     "holds "
     "the seam open further south."},
    {8,
     SW_WEST,
     {62, 30, 8, 0, 0, 0, 0, 0, 0, 4, 16, 33, 55},
     0,
     SW_LEAN_NONE,
     "C3 west: take 0.62 mm off at the north end and 0.55 mm off at the south end; the middle is hollow & must stay."},
    {3,
     SW_NORTH,
     {15, 17, 20, 24, 30, 36, 41, 36, 30, 24, 20, 17, 15},
     0.8,
     SW_LEAN_KNOWN,
     "A2 north: take 0.41 mm off in the middle, 0.15 mm at the ends, and bevel 0.8 mm at the base: its side face "
     "leans."},
    {0,
     SW_SOUTH,
     {0, 0, 0, 0, 2, 4, 6, 4, 2, 0, 0, 0, 0},
     0,
     SW_LEAN_NONE,
     "A1 south: take 0.06 mm off in the middle: a few strokes with fine paper, then look again."},
    {1,
     SW_WEST,
     {0},
     1.2,
     SW_LEAN_KNOWN,
     "B1 west: bevel 1.2 mm at the base, tapering to nothing at the top edge: its side face leans."},
    {2,
     SW_SOUTH,
     {0},
     0.9,
     SW_LEAN_OPEN,
     "C1 south: the tops stay 0.9 mm apart though pushed tight. It leans, or C2 north does: hold a try square to both "
     "before any bevel."},
};

static void fill_edge(sw_edge_plan *edge, const made *from)
{
    edge->tile = from->tile;
    edge->side = from->side;
    edge->length_mm = SIDE_MM;
    edge->bevel_mm = from->bevel_mm;
    edge->bevel_deg = atan(from->bevel_mm / HEIGHT_MM) * 180 / PI_MM;
    edge->lean = from->lean;
    snprintf(edge->why, sizeof edge->why, "%s", from->why);
    for (int i = 0; i < KNOTS; i++)
        edge->deepest_mm = fmax(edge->deepest_mm, from->hundredths[i] / 100.0);
    if (!(edge->deepest_mm > 0))
        return;
    edge->true_up_count = KNOTS;
    edge->true_up = get(KNOTS, sizeof *edge->true_up);
    for (int i = 0; i < KNOTS; i++) {
        edge->true_up[i] = (sw_removal){i * SIDE_MM / (KNOTS - 1), from->hundredths[i] / 100.0};
        if (i > 0)
            edge->removed_mm2 += (edge->true_up[i].remove_mm + edge->true_up[i - 1].remove_mm) / 2 * 25;
    }
}

/* Pushed and after as shares of now; the wide ones stand off, the unseen stay unseen. */
static void fill_seams(const sw_inspection *inspection, sw_plan *plan)
{
    plan->seam_count = inspection->seam_count;
    plan->seams = get(plan->seam_count, sizeof *plan->seams);
    for (size_t i = 0; i < plan->seam_count; i++) {
        const sw_seam *from = &inspection->seams[i];
        sw_seam_plan *seam = &plan->seams[i];
        snprintf(seam->name, sizeof seam->name, "%s", from->name);
        seam->max_now_mm = from->max_mm;
        seam->max_now_u95_mm = from->max_u95_mm;
        seam->max_pushed_mm = isfinite(from->max_mm) ? 0.6 * from->max_mm : NAN;
        seam->max_after_mm = isfinite(from->max_mm) ? fmin(0.41, 0.3 * from->max_mm) : NAN;
        seam->forecast_mm = seam->max_after_mm;
        seam->forecast_u95_mm = 0.05;
        seam->best_mm = 0.9 * seam->forecast_mm;
        seam->forecast = isfinite(from->max_mm) ? SW_WITHIN : SW_TOO_CLOSE;
        seam->standoff_mm = i == 4 ? 0.9 : i == 0 ? 1.2 : 0;
        seam->touch_count = isfinite(from->max_mm) ? (int)(i % 3) : 0;
        for (int k = 0; k < seam->touch_count; k++)
            seam->touch_mm[k] = 12 + 265.0 * k;
    }
}

static void note(sw_notes *notes, sw_note_kind kind, const char *place, const char *text)
{
    if (sw_note_add(notes, kind, "%s", text) != SW_OK)
        abort();
    sw_note_at(notes, place);
}

static void start(const sw_inspection *inspection, sw_plan *plan)
{
    memset(plan, 0, sizeof *plan);
    plan->tolerance_mm = 0.5;
    plan->deepest_cut_mm = 3;
    plan->height_mm = HEIGHT_MM;
    plan->common_tile_mm = plan->common_tile_u95_mm = NAN;
    plan->limiting_tile = -1;
    fill_seams(inspection, plan);
}

static int seam_named(const sw_inspection *inspection, const char *name)
{
    for (size_t i = 0; i < inspection->seam_count; i++)
        if (strcmp(inspection->seams[i].name, name) == 0)
            return (int)i;
    abort();
}

static void fill_work(const sw_inspection *inspection, sw_plan *plan)
{
    static const sw_work_line lines[PLAN_FIXTURE_WORK] = {
        {0,
         "open along its whole length",
         "Hold a try square to C1 south; if it leans, sand its base, up to 0.9 mm, less and less to nothing at the "
         "top.",
         0.8,
         2.6,
         1.9,
         {5},
         1},
        {0,
         "held open at its north end",
         "B2 east: 1.25 mm off at the north end & nothing beyond 150 mm. C3 west: leave the middle.",
         0.3,
         1.9,
         1.2,
         {0, 1},
         2},
        {-1,
         "2 chips",
         "Fill C1 west at 118 mm and A3 north at 40 mm with wood filler or foam paste.",
         0,
         1.2,
         1.2,
         {0},
         0}};
    plan->work_count = PLAN_FIXTURE_WORK;
    plan->work = memcpy(get(1, sizeof lines), lines, sizeof lines);
    plan->work[0].seam = seam_named(inspection, "C1-C2");
    plan->work[1].seam = seam_named(inspection, "B2-C2");
}

static void fill_by_limit(sw_plan *plan)
{
    static const sw_limit_cost costs[PLAN_FIXTURE_LIMITS] = {{0.3, 5, 12, 1404.25}, {0.5, 3, 6, 512.5}, {2.0, 0, 1, 0}};
    plan->by_limit_count = PLAN_FIXTURE_LIMITS;
    plan->by_limit = memcpy(get(1, sizeof costs), costs, sizeof costs);
}

void plan_fixture(const sw_inspection *inspection, sw_plan *plan)
{
    static char settling[] = "A1 B1 C1r / A2 B2 C2 / A3 B3 C3h";
    start(inspection, plan);
    plan->edge_count = PLAN_FIXTURE_EDGES;
    plan->edges = get(PLAN_FIXTURE_EDGES, sizeof *plan->edges);
    for (int i = 0; i < PLAN_FIXTURE_EDGES; i++) {
        fill_edge(&plan->edges[i], &EDGES[i]);
        plan->removed_total_mm2 += plan->edges[i].removed_mm2;
    }
    fill_work(inspection, plan);
    fill_by_limit(plan);
    plan->lean_count = 4;
    plan->leans = get(4, sizeof *plan->leans);
    plan->leans[0] = (sw_lean){1, SW_WEST, 1.2, 1.0, 1.4, false};
    plan->leans[1] = (sw_lean){2, SW_SOUTH, 0.45, 0, 0.9, false};
    plan->leans[2] = (sw_lean){3, SW_NORTH, 0.8, 0.7, INFINITY, false};
    plan->leans[3] = (sw_lean){5, SW_NORTH, 0.45, 0, 0.9, false};
    plan->answer_count = 2;
    plan->answers = get(2, sizeof *plan->answers);
    plan->answers[0] = (sw_lean_answer){1, SW_WEST, 1.2};
    plan->answers[1] = (sw_lean_answer){0, SW_EAST, 0};
    note(&plan->cannot, SW_NOTE_CHIP, "C1 west",
         "B1-C1: a chip of 14 mm, 2.4 mm deep, in C1 west: fill it; sanding the whole edge down to it would cost 2.4 "
         "mm.");
    note(&plan->cannot, SW_NOTE_SEAM_UNSEEN, "B2-B3", "B2-B3 was not seen: nothing is planned for it.");
    note(&plan->notes, SW_NOTE_HEIGHT_ASSUMED, "A1", "The side faces are taken to be 45 mm high.");
    note(&plan->notes, SW_NOTE_SEAM_UNSEEN, "A2-A3",
         "34 % of A2-A3 lay under a card & was taken to be straight there.");
    plan->settling_layout = memcpy(get(1, sizeof settling), settling, sizeof settling);
    snprintf(
        plan->next, sizeof plan->next,
        "Hold a try square to C1 south and C2 north; then sand B2 east, a little at a time, and photograph again.");
}

void plan_fixture_nothing(const sw_inspection *inspection, sw_plan *plan)
{
    start(inspection, plan);
    for (size_t i = 0; i < plan->seam_count; i++) {
        sw_seam_plan *seam = &plan->seams[i];
        seam->max_now_mm = 0.3;
        seam->max_now_u95_mm = 0.05;
        seam->max_pushed_mm = seam->max_after_mm = seam->forecast_mm = seam->best_mm = 0.2;
        seam->forecast = SW_WITHIN;
        seam->standoff_mm = 0;
    }
    snprintf(plan->next, sizeof plan->next, "Nothing to sand: push the tiles together and leave them as they are.");
}

void plan_fixture_any(const sw_inspection *inspection, sw_plan *plan)
{
    plan_fixture(inspection, plan);
    plan->purpose = SW_PLAN_ANY;
    plan->common_tile_mm = 299.42;
    plan->common_tile_u95_mm = 0.11;
    plan->limiting_tile = 8;
    plan->fits_every_way = 1;
    for (size_t i = 0; i < plan->seam_count; i++) {
        plan->seams[i].max_after_mm = plan->seams[i].forecast_mm = plan->seams[i].best_mm = 0.42;
        plan->seams[i].forecast = SW_WITHIN;
    }
    plan->work_count = plan->by_limit_count = 0;
    plan->cannot.count = 0;
}

void plan_fixture_stretch(sw_plan *plan, double length_mm)
{
    for (size_t i = 0; i < plan->edge_count; i++) {
        sw_edge_plan *edge = &plan->edges[i];
        double by = length_mm / edge->length_mm;
        edge->length_mm = length_mm;
        edge->removed_mm2 *= by;
        for (size_t k = 0; k < edge->true_up_count; k++)
            edge->true_up[k].at_mm *= by;
    }
}
