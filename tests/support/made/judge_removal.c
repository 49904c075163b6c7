#include "support/made/judge_model.h"

#include <math.h>
#include <stdlib.h>

/* What a mm of motion costs beside a mm2 of removal, so that tiles do not drift where drifting changes nothing. */
static const double EASE_MM2 = 1e-3;

/* Terms of what comes off both edges at a station. */
static int removal_terms(const judge_stations *all, const judge_station *s, const judge_rules *rules,
                         const judge_removal *r, int *column, double *factor)
{
    int terms = 0;
    for (int e = 0; e < 2; e++) {
        if (judge_forbidden(rules, &all->seams[s->seam], e))
            continue;
        const double *at = r->at_mm + judge_edge_index(&all->seams[s->seam], e) * r->knots;
        double place = fmin(fmax(s->at[e] / (at[1] - at[0]), 0), r->knots - 1.0);
        int k = (int)fmin(floor(place), r->knots - 2.0);
        column[terms] = judge_knot_column(r->knots, s->seam, k, e);
        factor[terms++] = 1 - (place - k);
        column[terms] = judge_knot_column(r->knots, s->seam, k + 1, e);
        factor[terms++] = place - k;
    }
    return terms;
}

/* Length of edge that a knot stands for, mm. */
static double share(const judge_removal *r, int edge, int knot)
{
    const double *at = r->at_mm + edge * r->knots;
    return (at[1] - at[0]) * (knot == 0 || knot == r->knots - 1 ? 0.5 : 1);
}

static judge_end find_removal(const judge_stations *all, double tolerance, const judge_rules *rules, int tiles,
                              double reach, const judge_removal *r, double *x)
{
    int first = 2 * r->knots * all->seam_count;
    judge_lp *lp = judge_lp_new(first + 5 * (tiles - 1));
    judge_reach_boxes(lp, first, tiles - 1, reach);
    judge_ease_motions(lp, first, first + 3 * (tiles - 1), tiles - 1, EASE_MM2);
    for (int j = 0; j < all->seam_count; j++)
        for (int k = 0; k < r->knots; k++)
            for (int e = 0; e < 2; e++) {
                int column = judge_knot_column(r->knots, j, k, e);
                judge_lp_row(lp, 1, &column, (double[]){-1}, 0);
                judge_lp_cost(lp, column, share(r, judge_edge_index(&all->seams[j], e), k));
            }
    for (int i = 0; i < all->count; i++) {
        const judge_station *s = &all->list[i];
        int column[10];
        double factor[10];
        int terms = removal_terms(all, s, rules, r, column, factor);
        terms += judge_motion_terms(all, s, rules, first, column + terms, factor + terms);
        if (s->limits)
            judge_lp_row(lp, terms, column, factor,
                         tolerance + (rules->allow_mm ? rules->allow_mm[s->seam] : 0) - s->gap);
        for (int k = 0; k < terms; k++)
            factor[k] = -factor[k];
        judge_lp_row(lp, terms, column, factor, s->open);
    }
    judge_corners_apart(lp, all, rules, first, r);
    judge_no_steps(lp, all, rules, first);
    judge_end end = judge_lp_solve(lp, x, NULL);
    judge_lp_free(lp);
    return end;
}

static void take_removal(const judge_stations *all, const double *x, judge_removal *r)
{
    r->area_mm2 = 0;
    for (int j = 0; j < all->seam_count; j++)
        for (int e = 0; e < 2; e++) {
            int edge = judge_edge_index(&all->seams[j], e);
            r->area_by_edge[edge] = 0;
            for (int k = 0; k < r->knots; k++) {
                double off = fmax(0, x[judge_knot_column(r->knots, j, k, e)]);
                r->off_mm[edge * r->knots + k] = off;
                r->area_by_edge[edge] += off * share(r, edge, k);
            }
            r->area_mm2 += r->area_by_edge[edge];
        }
}

static judge_removal no_removal(const made_table *table, const judge_rules *rules)
{
    judge_removal r = {.edges = 4 * table->columns * table->rows};
    r.knots = (int)lround(table->tiles[0].side_mm / rules->knot_mm) + 1;
    r.at_mm = judge_get((size_t)(r.edges * r.knots), sizeof *r.at_mm);
    r.off_mm = judge_get((size_t)(r.edges * r.knots), sizeof *r.off_mm);
    r.area_by_edge = judge_get((size_t)r.edges, sizeof *r.area_by_edge);
    for (int e = 0; e < r.edges; e++) {
        double low, high;
        made_span(&table->tiles[e / 4], (sw_side)(e % 4), &low, &high);
        for (int k = 0; k < r.knots; k++)
            r.at_mm[e * r.knots + k] = (high - low) * k / (r.knots - 1);
    }
    return r;
}

judge_end judge_least_removal(const made_table *table, double tolerance_mm, const judge_rules *rules,
                              judge_removal *removal)
{
    int tiles = table->columns * table->rows;
    *removal = no_removal(table, rules);
    made_table moved = made_copy(table);
    judge_corners corners = judge_corners_of(table);
    double *x = judge_get((size_t)(2 * removal->knots * JUDGE_SEAMS + 5 * tiles), sizeof *x);
    judge_end end = JUDGE_SOLVED;
    for (int round = 0; !end && round < JUDGE_ROUNDS; round++) {
        if (round < JUDGE_CHOOSING)
            judge_corners_choose(&moved, &corners);
        judge_stations all = judge_look_along(&moved, rules, 1);
        all.corners = &corners;
        end = find_removal(&all, tolerance_mm, rules, tiles, JUDGE_REACH_MM[round], removal, x);
        if (!end) {
            take_removal(&all, x, removal);
            judge_move(&moved, 0, x + 2 * removal->knots * all.seam_count);
        }
        free(all.list);
    }
    free(x);
    made_free(&moved);
    return end;
}

void judge_carry_out(const judge_removal *r, made_table *table)
{
    for (int i = 0; i < table->columns * table->rows; i++) {
        made_removal sides[4];
        for (int s = 0; s < 4; s++) {
            int from = (4 * i + s) * r->knots;
            sides[s] = (made_removal){r->at_mm + from, r->off_mm + from, r->knots};
        }
        made_sand(&table->tiles[i], sides);
    }
}

void judge_removal_free(judge_removal *removal)
{
    free(removal->at_mm);
    free(removal->off_mm);
    free(removal->area_by_edge);
    *removal = (judge_removal){0};
}
