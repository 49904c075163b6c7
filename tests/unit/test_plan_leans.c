/* Which faces lean: made-up tables of known leans, inspected as they lie and again in the arrangement that the plan itself
 * proposes to settle what is open; see src/plan/lean.h, settling.c. */
#include "maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "made_table.h"
#include "seamwright/layout.h"
#include "seamwright/plan.h"

static const double TOLERANCE_MM = 0.5;
/* A face with less lean than this does not lean, mm: as tight as hands push (TIGHT_MM of src/plan/lean.c). */
static const double LEANS_MM = 0.1;

/* A tile as it lies after a quarter turn clockwise: north becomes east. Places run towards east and north on every edge,
 * so those of north and south are turned about. */
static made_tile turned(const made_tile *from)
{
    made_tile to = *from;
    for (int s = 0; s < 4; s++) {
        const made_edge *old = &from->edges[s];
        made_edge *edge = &to.edges[(s + 1) % 4];
        *edge = *old;
        for (int i = 0; i < old->count && s % 2 == 0; i++)
            edge->dev[i] = old->dev[old->count - 1 - i];
        for (int c = 0; c < old->chip_count && s % 2 == 0; c++)
            edge->chips[c].u_mm = -old->chips[c].u_mm;
    }
    return to;
}

/* The same tiles put down as a layout says, still to be laid. */
static made_table put(const made_table *from, const sw_layout *layout)
{
    made_table to = made_new(layout->columns, layout->rows, from->tiles[0].side_mm);
    for (int p = 0; p < to.columns * to.rows; p++) {
        double x = to.tiles[p].x_mm, y = to.tiles[p].y_mm;
        to.tiles[p] = from->tiles[layout->places[p].tile];
        for (int k = 0; k < layout->places[p].turns; k++)
            to.tiles[p] = turned(&to.tiles[p]);
        to.tiles[p].x_mm = x;
        to.tiles[p].y_mm = y;
    }
    return to;
}

typedef struct counts {
    int faces, held, known, known_leaning, open, none_leaning;
    double lean_squares;
} counts;

/* Leans against the truth; faces that are to be bevelled. */
static counts count(const made_table *table, const sw_plan *plan)
{
    counts c = {0};
    for (size_t i = 0; i < plan->lean_count; i++) {
        const sw_lean *l = &plan->leans[i];
        double lean = table->tiles[l->tile].edges[l->side].lean_mm;
        c.faces++;
        c.held += lean >= l->least_mm - 1e-6 && lean <= l->most_mm + 1e-6;
        c.lean_squares += (lean - l->lean_mm) * (lean - l->lean_mm);
if(getenv("SHOW")&&!(lean >= l->least_mm - 1e-6 && lean <= l->most_mm + 1e-6))printf("    miss tile %d side %d lean %.3f [%.3f %.3f] est %.3f\n",l->tile,l->side,lean,l->least_mm,l->most_mm,l->lean_mm);
    }
    for (size_t e = 0; e < plan->edge_count; e++) {
        const sw_edge_plan *edge = &plan->edges[e];
        double lean = table->tiles[edge->tile].edges[edge->side].lean_mm;
        c.known += edge->lean == SW_LEAN_KNOWN;
        c.known_leaning += edge->lean == SW_LEAN_KNOWN && lean > LEANS_MM;
        c.open += edge->lean == SW_LEAN_OPEN;
if(getenv("SHOW")&&edge->lean == SW_LEAN_KNOWN && lean <= LEANS_MM)printf("    wrong known tile %d side %d lean %.3f bevel %.3f\n",edge->tile,edge->side,lean,edge->bevel_mm);
    }
    return c;
}

static void make_plan(const sw_inspection *all, size_t n, const sw_layout *layouts, sw_plan *plan)
{
    sw_error err = {""};
    if (sw_plan_make(all, n, layouts, &(sw_plan_options){0}, plan, &err))
        fail_msg("no plan: %s", err.text);
}

static void add(counts *sum, const counts *c)
{
    sum->faces += c->faces;
    sum->held += c->held;
    sum->known += c->known;
    sum->known_leaning += c->known_leaning;
    sum->open += c->open;
    sum->lean_squares += c->lean_squares;
}

static void tell(const char *what, const counts *c)
{
    print_message("%s %d of %d intervals hold, RMS %.2f mm; %d faces known (%d do lean), %d open\n", what, c->held,
                  c->faces, sqrt(c->lean_squares / fmax(1, c->faces)), c->known, c->known_leaning, c->open);
}

/* One table, laid twice. Returns 0 when no further arrangement is proposed. */
static int lay_twice(uint32_t seed, const made_quality *quality, counts *one, counts *two)
{
    sw_inspection all[2];
    sw_layout layouts[2];
    sw_plan plan, both;
    sw_error err = {""};
    made_table table = made_new(3, 3, 300);
    made_cut(&table, quality, seed);
    made_lay(&table, quality, seed);
    made_inspect(&table, &made_as_photos, TOLERANCE_MM, seed, &all[0]);
    make_plan(all, 1, NULL, &plan);
    *one = count(&table, &plan);
    int proposed = plan.settling_layout != NULL;
    if (proposed) {
        assert_int_equal(sw_layout_as_is(&all[0], &layouts[0], &err), SW_OK);
        assert_int_equal(sw_layout_read(plan.settling_layout, &all[0], &layouts[1], &err), SW_OK);
        made_table again = put(&table, &layouts[1]);
        made_lay(&again, quality, seed + 100);
        made_inspect(&again, &made_as_photos, TOLERANCE_MM, seed + 100, &all[1]);
        make_plan(all, 2, layouts, &both);
        *two = count(&table, &both);
        print_message("  %u: \"%s\"\n", (unsigned)seed, plan.settling_layout);
        sw_plan_free(&both);
        sw_inspection_free(&all[1]);
        sw_layout_free(&layouts[0]);
        sw_layout_free(&layouts[1]);
        made_free(&again);
    }
    sw_plan_free(&plan);
    sw_inspection_free(&all[0]);
    made_free(&table);
    return proposed;
}

static void settled_by_a_second_arrangement(void **state)
{
    (void)state;
    made_quality q = made_by_volunteers;
    counts first = {0}, second = {0};
    q.lean_mm = 1.2;
    q.touching = 1;
    int proposals = 0;
    for (uint32_t seed = 1; seed <= 8; seed++) {
        counts one, two;
        if (!lay_twice(seed, &q, &one, &two))
            continue;
        proposals++;
        tell("    one:", &one);
        tell("    two:", &two);
        add(&first, &one);
        add(&second, &two);
    }
    tell("  all, one:", &first);
    tell("  all, two:", &second);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(settled_by_a_second_arrangement)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
