#include "support/made/rounds.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "support/made/judge_model.h"

const double ROUNDS_SMALL_MM = 0.1;
/* A try square shows a lean from here on, mm. */
static const double SQUARE_MM = 0.1;
/* Of a cut: less is rounding, mm. */
static const double NOTHING_MM = 1e-9;

/* Other distances of stations than the usual: of the least removal, and of pushes that were not solved. */
static const double STEPS_MM[] = {2, 1.5};
enum { STEP_COUNT = sizeof STEPS_MM / sizeof *STEPS_MM };
/* One who knows the outlines: how often tried; part of what is over by which a seam's limit is tightened; the tightest. */
enum { KNOWING_ROUNDS = 8 };
static const double TIGHTEN = 0.8, TIGHTEST_MM = 0.02;

const judge_rules rounds_judging = {.end_mm = 5, .step_mm = 1, .knot_mm = 25, .leans = 1, .corners = 1};

/* ---- carrying out ---- */

void rounds_sand(const sw_plan *plan, made_table *table)
{
    int edges = 4 * table->columns * table->rows;
    made_removal *removal = judge_get((size_t)edges, sizeof *removal);
    double **memory = judge_get((size_t)edges, sizeof *memory);
    for (size_t e = 0; e < plan->edge_count; e++) {
        const sw_edge_plan *edge = &plan->edges[e];
        int k = 4 * edge->tile + (int)edge->side, n = (int)edge->true_up_count;
        if (!n || memory[k])
            continue;
        memory[k] = judge_get(2 * (size_t)n, sizeof **memory);
        for (int i = 0; i < n; i++) {
            memory[k][i] = edge->true_up[i].at_mm;
            memory[k][n + i] = edge->true_up[i].remove_mm;
        }
        removal[k] = (made_removal){memory[k], memory[k] + n, n};
    }
    for (int i = 0; i < table->columns * table->rows; i++)
        made_sand(&table->tiles[i], &removal[4 * i]);
    for (int k = 0; k < edges; k++)
        free(memory[k]);
    free(memory);
    free(removal);
}

/* What the try square said so far; at most one answer a face. */
typedef struct answers {
    sw_lean_answer *list;
    size_t count;
} answers;

static void answer(answers *all, const sw_edge_plan *edge, double lean_mm)
{
    size_t i = 0;
    while (i < all->count && (all->list[i].tile != edge->tile || all->list[i].side != edge->side))
        i++;
    all->list[i] = (sw_lean_answer){edge->tile, edge->side, lean_mm};
    all->count += i == all->count;
}

/* What is left of a lean is what the try square says when the work is done: nothing where there was none to see. */
static void bevel(const sw_plan *plan, made_table *table, answers *said)
{
    for (size_t e = 0; e < plan->edge_count; e++) {
        const sw_edge_plan *edge = &plan->edges[e];
        double *lean = &table->tiles[edge->tile].edges[edge->side].lean_mm;
        if (!(edge->bevel_mm > 0))
            continue;
        if (*lean > SQUARE_MM)
            made_bevel(&table->tiles[edge->tile], edge->side, edge->bevel_mm);
        answer(said, edge, *lean > SQUARE_MM ? *lean : 0);
    }
}

/* Where rounding keeps the solver from its end, other stations do not; the figures are those of all stations. */
static judge_end push_once(const rounds_rules *rules, const judge_rules *judging, const made_table *table,
                           judge_settled *s)
{
    judge_rules tried = *judging;
    judge_end end = JUDGE_GAVE_UP;
    for (int k = 0; k <= STEP_COUNT && end != JUDGE_SOLVED; k++) {
        if (k) {
            judge_settled_free(s);
            tried.step_mm = STEPS_MM[k - 1];
        }
        end = rules->way == ROUNDS_CORNER ? judge_from_corner(table, &tried, s)
                                          : judge_settle(table, JUDGE_SUM, &tried, s);
    }
    judge_look(&s->table, judging, s);
    return end;
}

static void push(const rounds_rules *rules, uint32_t hand, made_table *table, rounds_loop *loop, double *came_mm)
{
    judge_rules judging = rounds_judging;
    judge_settled s;
    judging.hand = hand;
    judging.corners = rules->corners;
    judge_end end = push_once(rules, &judging, table, &s);
    loop->gave_up += end != JUDGE_SOLVED;
    loop->overlap_mm = fmax(loop->overlap_mm, fmax(s.overlap_mm, rules->corners ? s.corner_mm : 0));
    memcpy(came_mm, s.max_mm, sizeof s.max_mm);
    made_free(table);
    *table = made_copy(&s.table);
    judge_settled_free(&s);
}

/* ---- what a plan says ---- */

static void take_seams(const sw_inspection *ins, const sw_plan *plan, rounds_plan *out)
{
    for (size_t j = 0; j < plan->seam_count; j++) {
        const sw_seam_plan *from = &plan->seams[j];
        rounds_seam *to = &out->seams[j];
        snprintf(to->name, sizeof to->name, "%s", from->name);
        to->seen_mm = from->max_now_mm;
        to->seen_u95_mm = from->max_now_u95_mm;
        to->seen = ins->seams[j].verdict;
        to->forecast_mm = from->forecast_mm;
        to->forecast_u95_mm = from->forecast_u95_mm;
        to->forecast = from->forecast;
        if (!(from->forecast_u95_mm > 0)) { /* a planner that makes no forecasts yet */
            to->forecast_mm = from->max_after_mm;
            to->forecast_u95_mm = from->max_now_u95_mm;
            to->forecast = sw_verdict_of(to->forecast_mm, to->forecast_u95_mm, plan->tolerance_mm);
        }
        out->over += to->seen == SW_OVER;
    }
}

/* An edge's seam; -1: at the rim. */
static int seam_at(const sw_inspection *ins, const sw_edge_plan *edge)
{
    int second = edge->side == SW_NORTH || edge->side == SW_WEST,
        upright = edge->side == SW_EAST || edge->side == SW_WEST;
    for (size_t j = 0; j < ins->seam_count; j++)
        if (ins->seams[j].upright == upright && (second ? ins->seams[j].second : ins->seams[j].first) == edge->tile)
            return (int)j;
    return -1;
}

static void add_line(int seam, rounds_plan *out)
{
    out->chip_lines += seam < 0;
    if (seam < 0)
        return;
    out->lines++;
    out->seams[seam].lines++;
    out->lines_within += out->seams[seam].seen == SW_WITHIN;
}

static void take_work(const sw_inspection *ins, const sw_plan *plan, rounds_plan *out)
{
    for (size_t e = 0; e < plan->edge_count; e++) {
        const sw_edge_plan *edge = &plan->edges[e];
        int cut = edge->deepest_mm > NOTHING_MM;
        out->true_ups += cut;
        out->bevels += edge->bevel_mm > 0;
        out->small +=
            (cut && edge->deepest_mm < ROUNDS_SMALL_MM) || (edge->bevel_mm > 0 && edge->bevel_mm < ROUNDS_SMALL_MM);
        out->deepest_mm = fmax(out->deepest_mm, edge->deepest_mm);
        out->asked_mm2 += edge->removed_mm2;
        if (!plan->work_count)
            add_line(seam_at(ins, edge), out);
    }
    out->listed = plan->work_count > 0;
    for (size_t k = 0; k < plan->work_count; k++)
        add_line(plan->work[k].seam, out);
}

static double seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Inspects, plans, and takes what the plan says. Free the plan. */
static void make_plan(const made_table *table, const rounds_rules *rules, int round, const answers *said,
                      rounds_plan *out, sw_plan *plan)
{
    sw_inspection ins;
    sw_error err = {""};
    sw_plan_options options = {0};
    if (rules->answers) {
        options.answers = said->list;
        options.answer_count = said->count;
    }
    made_inspect(table, &rules->noise, rules->tolerance_mm, rules->seed * 16u + (uint32_t)round, &ins);
    double start = seconds();
    if (sw_plan_make(&ins, 1, NULL, &options, plan, &err)) {
        fprintf(stderr, "rounds: no plan: %s\n", err.text);
        exit(99);
    }
    out->seconds = seconds() - start;
    out->fits = sw_plan_fits(plan);
    take_seams(&ins, plan, out);
    take_work(&ins, plan, out);
    sw_inspection_free(&ins);
}

/* ---- rounds ---- */

made_table rounds_table(int columns, int rows, const made_quality *quality, uint32_t seed)
{
    made_table table = made_new(columns, rows, 300);
    judge_rules judging = rounds_judging;
    judge_settled s;
    made_cut(&table, quality, seed);
    made_lay(&table, quality, seed);
    judging.hand = seed * 16u + ROUNDS_PLANS;
    judge_settle(&table, JUDGE_SUM, &judging, &s);
    made_free(&table);
    return s.table;
}

static void lie(const made_table *table, double *mm)
{
    judge_settled s;
    judge_look(table, &rounds_judging, &s);
    memcpy(mm, s.max_mm, sizeof s.max_mm);
}

void rounds_run(const made_table *laid, const rounds_rules *rules, rounds_loop *loop)
{
    int tiles = laid->columns * laid->rows;
    answers said = {judge_get(4 * (size_t)tiles, sizeof *said.list), 0};
    *loop = (rounds_loop){.columns = laid->columns,
                          .rows = laid->rows,
                          .seam_count = made_seams(laid, NULL),
                          .tolerance_mm = rules->tolerance_mm,
                          .seed = rules->seed,
                          .corners = rules->corners,
                          .from = made_copy(laid)};
    made_table table = made_copy(laid);
    lie(&table, loop->first_mm);
    for (int round = 0; round < ROUNDS_PLANS; round++) {
        rounds_plan *out = &loop->plans[round];
        double came_mm[JUDGE_SEAMS];
        sw_plan plan;
        make_plan(&table, rules, round, &said, out, &plan);
        lie(&table, came_mm);
        if (round < ROUNDS_CARRIED && plan.edge_count) { /* nothing to do: nobody pushes again */
            rounds_sand(&plan, &table);
            bevel(&plan, &table, &said);
            push(rules, rules->seed * 16u + (uint32_t)round, &table, loop, came_mm);
        }
        for (int j = 0; j < loop->seam_count; j++)
            out->seams[j].came_mm = came_mm[j];
        sw_plan_free(&plan);
    }
    loop->to = table;
    free(said.list);
}

void rounds_free(rounds_loop *loop)
{
    made_free(&loop->from);
    made_free(&loop->to);
}

/* ---- figures ---- */

double rounds_area(const rounds_loop *loop)
{
    double area = 0;
    for (int round = 0; round < ROUNDS_CARRIED; round++)
        area += loop->plans[round].asked_mm2;
    return area;
}

/* The first outlines with the leans that were left, as the tiles lay at last. */
static made_table bevelled(const rounds_loop *loop)
{
    made_table table = made_copy(&loop->to);
    for (int i = 0; i < table.columns * table.rows; i++)
        for (int s = 0; s < 4; s++)
            memcpy(table.tiles[i].edges[s].dev, loop->from.tiles[i].edges[s].dev, sizeof table.tiles[i].edges[s].dev);
    return table;
}

/* allow_mm: of each seam beyond the limit. */
static judge_end least_removal(const made_table *table, const rounds_loop *loop, const double *allow_mm, double knot_mm,
                               judge_removal *least)
{
    judge_rules judging = rounds_judging;
    judge_end end = JUDGE_GAVE_UP;
    judging.allow_mm = allow_mm;
    judging.corners = loop->corners;
    judging.knot_mm = knot_mm;
    /* Half the rows or fewer: areas hardly change. Where rounding keeps a solve from its end, other rows do not. */
    for (int k = 0; k < STEP_COUNT && end == JUDGE_GAVE_UP; k++) {
        if (k)
            judge_removal_free(least);
        judging.step_mm = STEPS_MM[k];
        end = judge_least_removal(table, loop->tolerance_mm, &judging, least);
    }
    return end;
}

double rounds_least(const rounds_loop *loop, rounds_keeps keeps, double knot_mm)
{
    double allow[JUDGE_SEAMS];
    judge_removal least;
    made_table table = bevelled(loop);
    for (int j = 0; j < loop->seam_count; j++) {
        allow[j] = loop->plans[ROUNDS_CARRIED - 1].seams[j].came_mm - loop->tolerance_mm;
        if (keeps == ROUNDS_LIMIT)
            allow[j] = fmax(0, allow[j]);
    }
    judge_end end = least_removal(&table, loop, allow, knot_mm, &least);
    double area = end == JUDGE_SOLVED ? least.area_mm2 : NAN;
    judge_removal_free(&least);
    made_free(&table);
    return area;
}

double rounds_knowing(const rounds_loop *loop, rounds_way way, double by_mm, int *over)
{
    double allow[JUDGE_SEAMS] = {0}, area = NAN;
    made_table from = bevelled(loop);
    rounds_rules rules = {.way = way, .corners = loop->corners};
    *over = loop->seam_count;
    for (int k = 0; k < KNOWING_ROUNDS && *over; k++) {
        double came_mm[JUDGE_SEAMS];
        judge_removal least;
        rounds_loop unused = {0};
        made_table table = made_copy(&from);
        int here = 0;
        if (least_removal(&from, loop, allow, rounds_judging.knot_mm, &least) == JUDGE_SOLVED) {
            judge_carry_out(&least, &table);
            push(&rules, loop->seed * 16u + ROUNDS_CARRIED - 1, &table, &unused, came_mm);
            for (int j = 0; j < loop->seam_count; j++) {
                double beyond = came_mm[j] - loop->tolerance_mm;
                here += beyond > by_mm;
                if (beyond > 0)
                    allow[j] = fmax(allow[j] - TIGHTEN * beyond, TIGHTEST_MM - loop->tolerance_mm);
            }
            if (here < *over) {
                *over = here;
                area = least.area_mm2;
            }
        }
        judge_removal_free(&least);
        made_free(&table);
    }
    made_free(&from);
    return area;
}

static double widest(const rounds_loop *loop, int rounds, int seam)
{
    return rounds ? loop->plans[rounds - 1].seams[seam].came_mm : loop->first_mm[seam];
}

int rounds_over(const rounds_loop *loop, int rounds, double by_mm)
{
    int count = 0;
    for (int j = 0; j < loop->seam_count; j++)
        count += widest(loop, rounds, j) > loop->tolerance_mm + by_mm;
    return count;
}

double rounds_widest(const rounds_loop *loop, int rounds)
{
    double most = 0;
    for (int j = 0; j < loop->seam_count; j++)
        most = fmax(most, widest(loop, rounds, j));
    return most;
}
