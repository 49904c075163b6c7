/* Any bytes are a plan or a sentence. Fuzzed with libFuzzer (see replay.c for the everyday run). */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "report/plan/parts.h"
#include "seamwright/defaults_and_ranges.h"
#include "seamwright/report.h"

enum { COLUMNS = 2, ROWS = 2, TILES = COLUMNS * ROWS };
static const double TILE_MM = 300;

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void demand(int truth)
{
    if (!truth)
        abort();
}

/* The table that the plan should be for: A1 to B2, the last one's edges not measured. */
static sw_inspection table_of(sw_tile tiles[TILES])
{
    static const char *const names[TILES] = {"A1", "B1", "A2", "B2"};
    sw_inspection ins = {.tolerance_mm = 0.5, .tiles = tiles, .tile_count = TILES};
    ins.table.columns = COLUMNS;
    ins.table.rows = ROWS;
    ins.table.tile_mm = TILE_MM;
    for (int i = 0; i < TILES; i++) {
        tiles[i] = (sw_tile){.column = i % COLUMNS, .row = i / COLUMNS};
        strcpy(tiles[i].name, names[i]);
        for (int s = 0; s < 4; s++)
            tiles[i].edges[s].length_mm = i < TILES - 1 ? TILE_MM - i : NAN;
    }
    return ins;
}

static void check_edge(const sw_edge_plan *edge)
{
    double deepest = 0;
    demand(edge->tile >= 0 && edge->tile < TILES && edge->side >= SW_NORTH && edge->side <= SW_WEST);
    demand(memchr(edge->why, 0, sizeof edge->why) != NULL);
    demand(edge->length_mm >= 0 && edge->length_mm < 1e6);
    demand(edge->true_up_count != 1 && (edge->true_up_count == 0) == (edge->true_up == NULL));
    for (size_t k = 0; k < edge->true_up_count; k++) {
        const sw_removal *at = &edge->true_up[k];
        demand(at->at_mm >= 0 && at->at_mm < 1e6 && (k == 0 || at->at_mm > at[-1].at_mm));
        demand(at->remove_mm >= 0 && at->remove_mm < 1e6);
        deepest = fmax(deepest, at->remove_mm);
    }
    demand(edge->deepest_mm == deepest && edge->removed_mm2 >= 0 && isfinite(edge->removed_mm2));
    demand(edge->bevel_mm >= 0 && edge->bevel_mm < 1e6 && edge->bevel_deg >= 0 && edge->bevel_deg < 90);
    demand((edge->bevel_mm > 0) == (edge->lean != SW_LEAN_NONE));
}

static void check_answers(const sw_plan *plan)
{
    char met[TILES][4] = {{0}};
    demand(plan->answer_count <= sizeof met);
    for (size_t i = 0; i < plan->answer_count; i++) {
        const sw_lean_answer *a = &plan->answers[i];
        demand(a->tile >= 0 && a->tile < TILES && a->side >= SW_NORTH && a->side <= SW_WEST);
        demand(a->lean_mm >= 0 && a->lean_mm <= 20 && !met[a->tile][a->side]++);
    }
}

/* Whatever was read can be said and written. */
static void check_writers(const sw_plan *plan, const sw_inspection *first)
{
    sw_error err = {""};
    char *text = sw_report_plan_text(plan, first, "fuzz");
    demand(text != NULL);
    free(text);
    demand(sw_report_plan_json(plan, first, "/dev/null", &err) == SW_OK);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    sw_tile tiles[TILES];
    sw_inspection first = table_of(tiles);
    sw_plan plan;
    sw_error err = {""};
    if (sw_plan_parse((const char *)data, size, "fuzz", &first, &plan, &err)) {
        demand(!plan.edges && plan.edge_count == 0 && !plan.answers);
        demand(strncmp(err.text, "fuzz: ", 6) == 0 && !strchr(err.text, '\n'));
        return 0;
    }
    char met[TILES][4] = {{0}};
    double removed = 0;
    demand(plan.edge_count <= sizeof met);
    demand(plan.tolerance_mm >= SW_TOLERANCE_LEAST_MM && plan.tolerance_mm <= SW_TOLERANCE_MOST_MM);
    demand(plan.purpose == SW_PLAN_LAYOUT || plan.purpose == SW_PLAN_ANY);
    for (size_t i = 0; i < plan.edge_count; i++) {
        check_edge(&plan.edges[i]);
        demand(!met[plan.edges[i].tile][plan.edges[i].side]++);
        removed += plan.edges[i].removed_mm2;
    }
    demand(plan.removed_total_mm2 == removed);
    check_answers(&plan);
    check_writers(&plan, &first);
    sw_plan_free(&plan);
    return 0;
}
