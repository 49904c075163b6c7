#include "support/made/judge_model.h"

#include <math.h>
#include <stdlib.h>

const judge_rules judge_usual = {.end_mm = 5, .step_mm = 1, .knot_mm = 10};

/* What a mm of motion costs beside a mm of gap, so that tiles do not drift where drifting changes nothing. */
static const double EASE = 1e-5;
/* The second aim may not cost more of the first than this, mm. */
static const double SPARE_MM = 1e-5;

void judge_look(const made_table *table, const judge_rules *rules, judge_settled *settled)
{
    judge_stations all = judge_look_along(table, rules, 0);
    settled->seam_count = all.seam_count;
    settled->worst_mm = settled->sum_mm = settled->overlap_mm = 0;
    for (int j = 0; j < all.seam_count; j++)
        settled->max_mm[j] = settled->whole_mm[j] = -INFINITY;
    for (int i = 0; i < all.count; i++) {
        const judge_station *s = &all.list[i];
        settled->overlap_mm = fmax(settled->overlap_mm, -s->open);
        if (s->limits)
            settled->max_mm[s->seam] = fmax(settled->max_mm[s->seam], s->gap);
        if (s->open - s->gap <= 0) /* no chip here */
            settled->whole_mm[s->seam] = fmax(settled->whole_mm[s->seam], s->gap);
    }
    settled->corner_mm = made_corner_overlap(table);
    for (int j = 0; j < all.seam_count; j++) {
        settled->worst_mm = fmax(settled->worst_mm, settled->max_mm[j]);
        settled->sum_mm += settled->max_mm[j];
    }
    free(all.list);
}

void judge_settled_free(judge_settled *settled)
{
    made_free(&settled->table);
}

/* No overlap: -slopes . motion <= open. */
static void keep_apart(judge_lp *lp, const judge_stations *all, const judge_rules *rules)
{
    for (int i = 0; i < all->count; i++) {
        int column[6];
        double factor[6];
        int terms = judge_motion_terms(all, &all->list[i], rules, 0, column, factor);
        for (int k = 0; k < terms; k++)
            factor[k] = -factor[k];
        judge_lp_row(lp, terms, column, factor, all->list[i].open);
    }
    judge_corners_apart(lp, all, rules, 0, NULL);
    judge_no_steps(lp, all, rules, 0);
}

/* Columns behind the motions: each seam's widest gap, then the table's. most: of the table's, INFINITY to find it. */
static judge_end push_worst(const judge_stations *all, const judge_rules *rules, int tiles, double reach, double most,
                            double *x)
{
    int motions = 3 * (tiles - 1), table_widest = motions + all->seam_count;
    judge_lp *lp = judge_lp_new(table_widest + 1 + 2 * (tiles - 1));
    judge_reach_boxes(lp, 0, tiles, reach);
    judge_ease_motions(lp, 0, table_widest + 1, tiles, EASE);
    keep_apart(lp, all, rules);
    for (int i = 0; i < all->count; i++) {
        int column[7];
        double factor[7];
        int terms = judge_motion_terms(all, &all->list[i], rules, 0, column, factor);
        column[terms] = motions + all->list[i].seam;
        factor[terms++] = -1;
        if (all->list[i].limits)
            judge_lp_row(lp, terms, column, factor, -all->list[i].gap);
    }
    for (int j = 0; j < all->seam_count; j++) {
        judge_lp_row(lp, 2, (int[]){motions + j, table_widest}, (double[]){1, -1},
                     rules->allow_mm ? rules->allow_mm[j] : 0);
        judge_lp_cost(lp, motions + j, isfinite(most));
    }
    if (isfinite(most))
        judge_lp_row(lp, 1, &table_widest, (double[]){1}, most);
    else
        judge_lp_cost(lp, table_widest, 1);
    judge_end end = judge_lp_solve(lp, x, NULL);
    judge_lp_free(lp);
    return end;
}

static judge_end push_sum(const judge_stations *all, const judge_rules *rules, int tiles, double reach, double *x)
{
    int motions = 3 * (tiles - 1);
    double *cost = judge_get((size_t)motions, sizeof *cost);
    judge_lp *lp = judge_lp_new(motions + 2 * (tiles - 1));
    judge_reach_boxes(lp, 0, tiles, reach);
    judge_ease_motions(lp, 0, motions, tiles, EASE);
    keep_apart(lp, all, rules);
    for (int i = 0; i < all->count; i++) {
        int column[6];
        double factor[6];
        int terms = judge_motion_terms(all, &all->list[i], rules, 0, column, factor);
        for (int k = 0; all->list[i].limits && k < terms; k++)
            cost[column[k]] += factor[k] / all->limiting[all->list[i].seam];
    }
    for (int k = 0; k < motions; k++)
        judge_lp_cost(lp, k, cost[k]);
    judge_end end = judge_lp_solve(lp, x, NULL);
    judge_lp_free(lp);
    free(cost);
    return end;
}

judge_end judge_settle(const made_table *table, judge_aim aim, const judge_rules *rules, judge_settled *settled)
{
    int tiles = table->columns * table->rows;
    double *x = judge_get((size_t)(5 * tiles + JUDGE_SEAMS + 1), sizeof *x);
    judge_end end = JUDGE_SOLVED;
    *settled = (judge_settled){.table = made_copy(table)};
    judge_corners corners = judge_corners_of(table);
    for (int round = 0; !end && round < JUDGE_ROUNDS; round++) {
        if (round < JUDGE_CHOOSING)
            judge_corners_choose(&settled->table, &corners);
        judge_stations all = judge_look_along(&settled->table, rules, 1);
        all.corners = &corners;
        if (aim == JUDGE_SUM)
            end = push_sum(&all, rules, tiles, JUDGE_REACH_MM[round], x);
        else {
            end = push_worst(&all, rules, tiles, JUDGE_REACH_MM[round], INFINITY, x);
            double most = x[3 * (tiles - 1) + all.seam_count];
            if (!end)
                end = push_worst(&all, rules, tiles, JUDGE_REACH_MM[round],
                                 (rules->allow_mm ? fmax(0, most) : most) + SPARE_MM, x);
        }
        if (!end)
            judge_move(&settled->table, x);
        free(all.list);
    }
    free(x);
    judge_look(&settled->table, rules, settled);
    return end;
}
