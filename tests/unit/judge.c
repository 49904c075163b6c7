#include "judge.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "judge_corners.h"

const judge_rules judge_usual = {.end_mm = 5, .step_mm = 1, .knot_mm = 10};

/* Turns are reckoned by how far they move a tile's corner, about, mm. */
static const double ARM_MM = 150;
/* How far tiles may move from round to round, mm; each round starts with the exact geometry at the last one's poses. */
static const double REACH_MM[] = {20, 20, 5, 0.5, 0.2, 0.1};
/* Corners' ways are chosen before the first rounds only, so that the last ones can converge. */
enum { ROUNDS = 6, CHOOSING_ROUNDS = 3 };
/* Steps between two tiles' corners along their seam that are accepted, mm; those there already may stay. Tiles of
 * common make differ by a third of it, and four in a row add up to it. */
static const double STEP_MM = 4;
/* What a mm of motion costs beside a mm of gap, so that tiles do not drift where drifting changes nothing; beside a mm2
 * of removal. */
static const double EASE = 1e-5, EASE_MM2 = 1e-3;
/* The second aim may not cost more of the first than this, mm. */
static const double SPARE_MM = 1e-5;

/* A station of a seam as the tiles lie, and how the gap changes with the six motions x, y, turn (by ARM_MM) of its
 * first and second tile. */
typedef struct station {
    int seam, limits;
    double gap, open; /* between clean edges; between edges with their chips, less what leans keep apart */
    double slope[6];
    double at[2]; /* of the first's and the second's edge, from its north or west corner */
} station;

typedef struct stations {
    station *list;
    int count, seam_count;
    made_seam seams[JUDGE_SEAMS];
    int limiting[JUDGE_SEAMS]; /* stations that limit */
    const made_table *table;
    const judge_corners *corners;
} stations;

static void *get(size_t count, size_t size)
{
    void *memory = calloc(count + 1, size);
    if (!memory) {
        fputs("judge: out of memory\n", stderr);
        exit(99);
    }
    return memory;
}

/* ---- stations ---- */

/* How the distance between the two tiles along `way` at a place of the seam changes with their six motions.
 *
 * Across the seam that is the gap but for slips along it, which are left out: tiles are not to be slid until their
 * waves match. What they do all the same is in the next round's exact gaps. */
static void find_slopes(const made_table *table, const made_seam *seam, const made_line *line, double at, sw_point way,
                        double slope[6])
{
    sw_point p = {line->start.x + at * line->along.x, line->start.y + at * line->along.y};
    for (int e = 0; e < 2; e++) {
        const made_tile *tile = &table->tiles[e ? seam->second : seam->first];
        double sign = e ? 1 : -1;
        slope[3 * e] = sign * way.x;
        slope[3 * e + 1] = sign * way.y;
        slope[3 * e + 2] = sign * (way.y * (p.x - tile->x_mm) - way.x * (p.y - tile->y_mm)) / ARM_MM;
    }
}

/* Distance of a foot from its edge's north or west corner. */
static double edge_at(const made_table *table, const made_seam *seam, double u, int second)
{
    double low, high;
    sw_side side = seam->upright ? (second ? SW_WEST : SW_EAST) : (second ? SW_NORTH : SW_SOUTH);
    made_span(&table->tiles[second ? seam->second : seam->first], side, &low, &high);
    return seam->upright ? high - u : u - low;
}

static void add_station(const made_table *table, const made_seam *seam, const made_line *line, double at,
                        const judge_rules *rules, station *s)
{
    s->gap = made_gap(table, seam, line, at, MADE_CLEAN);
    s->open = made_gap(table, seam, line, at, MADE_CHIPPED);
    if (rules->leans)
        s->open = fmin(s->open, made_gap(table, seam, line, at, MADE_BASE));
    s->limits = at >= rules->end_mm && at <= line->length_mm - rules->end_mm &&
                !made_chipped(table, seam, line, at, rules->step_mm);
}

/* slopes: 1 to find slopes and places too. */
static stations look_along(const made_table *table, const judge_rules *rules, int slopes)
{
    stations all = {.table = table};
    all.seam_count = made_seams(table, NULL);
    if (all.seam_count > JUDGE_SEAMS) {
        fputs("judge: too many seams\n", stderr);
        exit(99);
    }
    made_seams(table, all.seams);
    int room = all.seam_count * ((int)(MADE_SAMPLES / rules->step_mm) + 4);
    all.list = get((size_t)room, sizeof *all.list);
    for (int j = 0; j < all.seam_count; j++) {
        const made_seam *seam = &all.seams[j];
        made_line line = made_seam_line(table, seam);
        int steps = (int)ceil(line.length_mm / rules->step_mm);
        for (int k = 0; k <= steps; k++) {
            double at = fmin(k * rules->step_mm, line.length_mm);
            station *s = &all.list[all.count++];
            s->seam = j;
            add_station(table, seam, &line, at, rules, s);
            all.limiting[j] += s->limits;
            if (!slopes)
                continue;
            find_slopes(table, seam, &line, at, line.across, s->slope);
            for (int e = 0; e < 2; e++)
                s->at[e] = edge_at(table, seam, made_foot(table, seam, &line, at, e), e);
        }
    }
    return all;
}

void judge_look(const made_table *table, const judge_rules *rules, judge_settled *settled)
{
    stations all = look_along(table, rules, 0);
    settled->seam_count = all.seam_count;
    settled->worst_mm = settled->sum_mm = settled->overlap_mm = 0;
    for (int j = 0; j < all.seam_count; j++)
        settled->max_mm[j] = settled->whole_mm[j] = -INFINITY;
    for (int i = 0; i < all.count; i++) {
        const station *s = &all.list[i];
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

/* ---- pushing ---- */

/* Columns: seam by seam and knot by knot, first and second edge in turn; then the motions. */
static int knot_column(int knots, int seam, int knot, int second)
{
    return (seam * knots + knot) * 2 + second;
}

static int edge_index(const made_seam *seam, int second)
{
    int side = seam->upright ? (second ? SW_WEST : SW_EAST) : (second ? SW_NORTH : SW_SOUTH);
    return 4 * (second ? seam->second : seam->first) + side;
}

static int forbidden(const judge_rules *rules, const made_seam *seam, int second)
{
    return rules->forbidden && rules->forbidden[edge_index(seam, second)];
}

/* The motions' terms in a station's gap; columns of motions start at `first`, tile 0 stays. Returns how many. */
static int tile_terms(int tile_a, int tile_b, const double slope[6], const judge_rules *rules, int first, int *column,
                      double *factor)
{
    int terms = 0;
    for (int k = 0; k < 6; k++) {
        int tile = k < 3 ? tile_a : tile_b;
        if (tile == 0 || (rules->fixed_turns && k % 3 == 2))
            continue;
        column[terms] = first + 3 * (tile - 1) + k % 3;
        factor[terms++] = slope[k];
    }
    return terms;
}

static int motion_terms(const stations *all, const station *s, const judge_rules *rules, int first, int *column,
                        double *factor)
{
    const made_seam *seam = &all->seams[s->seam];
    return tile_terms(seam->first, seam->second, s->slope, rules, first, column, factor);
}

static void reach_boxes(judge_lp *lp, int first, int tiles, double reach)
{
    for (int k = 0; k < 3 * (tiles - 1); k++)
        judge_lp_box(lp, first + k, -reach, reach);
}

/* Columns from `ease` on, two a tile but the first: how far it moves each way, at a cost. */
static void ease_motions(judge_lp *lp, int first, int ease, int tiles, double cost)
{
    for (int k = 0; k < 2 * (tiles - 1); k++) {
        int column[] = {first + 3 * (k / 2) + k % 2, ease + k};
        judge_lp_row(lp, 2, column, (double[]){1, -1}, 0);
        judge_lp_row(lp, 2, column, (double[]){-1, -1}, 0);
        judge_lp_cost(lp, ease + k, cost);
    }
}

static void move(made_table *table, const double *x)
{
    for (int i = 1; i < table->columns * table->rows; i++, x += 3) {
        table->tiles[i].x_mm += x[0];
        table->tiles[i].y_mm += x[1];
        table->tiles[i].turn_rad += x[2] / ARM_MM;
    }
}

/* A tile's edge as first or second of a seam: its seam, -1 when it lies at the rim. */
static int seam_of(const stations *all, int tile, sw_side side, int *second)
{
    *second = side == SW_NORTH || side == SW_WEST;
    for (int j = 0; j < all->seam_count; j++)
        if ((*second ? all->seams[j].second : all->seams[j].first) == tile &&
            all->seams[j].upright == (side == SW_EAST || side == SW_WEST))
            return j;
    return -1;
}

/* Corners that have a way: reach + slopes . motion - what comes off (removal may be NULL) <= 0. */
static void corners_apart(judge_lp *lp, const stations *all, const judge_rules *rules, int first,
                          const judge_removal *removal)
{
    for (int i = 0; rules->corners && i < all->corners->count; i++) {
        const judge_corner *k = &all->corners->list[i];
        int column[8];
        double factor[8], slope[6];
        if (k->way == JUDGE_NO_WAY)
            continue;
        double reach = judge_corner_reach(all->table, k, slope);
        slope[2] /= ARM_MM;
        slope[5] /= ARM_MM;
        int terms = tile_terms(k->upper, k->lower, slope, rules, first, column, factor);
        for (int lower = 0; removal && lower < 2; lower++) {
            int last, second, seam;
            seam = seam_of(all, lower ? k->lower : k->upper, judge_corner_edge(k, lower, &last), &second);
            if (seam < 0 || forbidden(rules, &all->seams[seam], second))
                continue;
            column[terms] = knot_column(removal->knots, seam, last ? removal->knots - 1 : 0, second);
            factor[terms++] = -1;
        }
        judge_lp_row(lp, terms, column, factor, -reach);
    }
}

/* Tiles do not slip along a seam so far that rows and columns step: a column with a taper would be driven in like a
 * wedge otherwise. */
static void no_steps(judge_lp *lp, const stations *all, const judge_rules *rules, int first)
{
    for (int j = 0; j < all->seam_count; j++) {
        const made_seam *seam = &all->seams[j];
        made_line line = made_seam_line(all->table, seam);
        sw_point a = made_corner(&all->table->tiles[seam->first], seam->upright ? SW_NE : SW_SW);
        sw_point b = made_corner(&all->table->tiles[seam->second], SW_NW);
        double step = (b.x - a.x) * line.along.x + (b.y - a.y) * line.along.y, most = fmax(fabs(step), STEP_MM);
        double slope[6], factor[6];
        int column[6];
        find_slopes(all->table, seam, &line, line.length_mm / 2, line.along, slope);
        int terms = tile_terms(seam->first, seam->second, slope, rules, first, column, factor);
        judge_lp_row(lp, terms, column, factor, most - step);
        for (int k = 0; k < terms; k++)
            factor[k] = -factor[k];
        judge_lp_row(lp, terms, column, factor, most + step);
    }
}

/* No overlap: -slopes . motion <= open. */
static void keep_apart(judge_lp *lp, const stations *all, const judge_rules *rules)
{
    for (int i = 0; i < all->count; i++) {
        int column[6];
        double factor[6];
        int terms = motion_terms(all, &all->list[i], rules, 0, column, factor);
        for (int k = 0; k < terms; k++)
            factor[k] = -factor[k];
        judge_lp_row(lp, terms, column, factor, all->list[i].open);
    }
    corners_apart(lp, all, rules, 0, NULL);
    no_steps(lp, all, rules, 0);
}

/* Columns behind the motions: each seam's widest gap, then the table's. most: of the table's, INFINITY to find it. */
static judge_end push_worst(const stations *all, const judge_rules *rules, int tiles, double reach, double most,
                            double *x)
{
    int motions = 3 * (tiles - 1), table_widest = motions + all->seam_count;
    judge_lp *lp = judge_lp_new(table_widest + 1 + 2 * (tiles - 1));
    reach_boxes(lp, 0, tiles, reach);
    ease_motions(lp, 0, table_widest + 1, tiles, EASE);
    keep_apart(lp, all, rules);
    for (int i = 0; i < all->count; i++) {
        int column[7];
        double factor[7];
        int terms = motion_terms(all, &all->list[i], rules, 0, column, factor);
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

static judge_end push_sum(const stations *all, const judge_rules *rules, int tiles, double reach, double *x)
{
    int motions = 3 * (tiles - 1);
    double *cost = get((size_t)motions, sizeof *cost);
    judge_lp *lp = judge_lp_new(motions + 2 * (tiles - 1));
    reach_boxes(lp, 0, tiles, reach);
    ease_motions(lp, 0, motions, tiles, EASE);
    keep_apart(lp, all, rules);
    for (int i = 0; i < all->count; i++) {
        int column[6];
        double factor[6];
        int terms = motion_terms(all, &all->list[i], rules, 0, column, factor);
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
    double *x = get((size_t)(5 * tiles + JUDGE_SEAMS + 1), sizeof *x);
    judge_end end = JUDGE_SOLVED;
    *settled = (judge_settled){.table = made_copy(table)};
    judge_corners corners = judge_corners_of(table);
    for (int round = 0; !end && round < ROUNDS; round++) {
        if (round < CHOOSING_ROUNDS)
            judge_corners_choose(&settled->table, &corners);
        stations all = look_along(&settled->table, rules, 1);
        all.corners = &corners;
        if (aim == JUDGE_SUM)
            end = push_sum(&all, rules, tiles, REACH_MM[round], x);
        else {
            end = push_worst(&all, rules, tiles, REACH_MM[round], INFINITY, x);
            double most = x[3 * (tiles - 1) + all.seam_count];
            if (!end)
                end = push_worst(&all, rules, tiles, REACH_MM[round],
                                 (rules->allow_mm ? fmax(0, most) : most) + SPARE_MM, x);
        }
        if (!end)
            move(&settled->table, x);
        free(all.list);
    }
    free(x);
    judge_look(&settled->table, rules, settled);
    return end;
}

/* ---- least removal ---- */

/* Terms of what comes off both edges at a station. */
static int removal_terms(const stations *all, const station *s, const judge_rules *rules, const judge_removal *r,
                         int *column, double *factor)
{
    int terms = 0;
    for (int e = 0; e < 2; e++) {
        if (forbidden(rules, &all->seams[s->seam], e))
            continue;
        const double *at = r->at_mm + edge_index(&all->seams[s->seam], e) * r->knots;
        double place = fmin(fmax(s->at[e] / (at[1] - at[0]), 0), r->knots - 1.0);
        int k = (int)fmin(floor(place), r->knots - 2.0);
        column[terms] = knot_column(r->knots, s->seam, k, e);
        factor[terms++] = 1 - (place - k);
        column[terms] = knot_column(r->knots, s->seam, k + 1, e);
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

static judge_end find_removal(const stations *all, double tolerance, const judge_rules *rules, int tiles, double reach,
                              const judge_removal *r, double *x)
{
    int first = 2 * r->knots * all->seam_count;
    judge_lp *lp = judge_lp_new(first + 5 * (tiles - 1));
    reach_boxes(lp, first, tiles, reach);
    ease_motions(lp, first, first + 3 * (tiles - 1), tiles, EASE_MM2);
    for (int j = 0; j < all->seam_count; j++)
        for (int k = 0; k < r->knots; k++)
            for (int e = 0; e < 2; e++) {
                int column = knot_column(r->knots, j, k, e);
                judge_lp_row(lp, 1, &column, (double[]){-1}, 0);
                judge_lp_cost(lp, column, share(r, edge_index(&all->seams[j], e), k));
            }
    for (int i = 0; i < all->count; i++) {
        const station *s = &all->list[i];
        int column[10];
        double factor[10];
        int terms = removal_terms(all, s, rules, r, column, factor);
        terms += motion_terms(all, s, rules, first, column + terms, factor + terms);
        if (s->limits)
            judge_lp_row(lp, terms, column, factor, tolerance - s->gap);
        for (int k = 0; k < terms; k++)
            factor[k] = -factor[k];
        judge_lp_row(lp, terms, column, factor, s->open);
    }
    corners_apart(lp, all, rules, first, r);
    no_steps(lp, all, rules, first);
    judge_end end = judge_lp_solve(lp, x, NULL);
    judge_lp_free(lp);
    return end;
}

static void take_removal(const stations *all, const double *x, judge_removal *r)
{
    r->area_mm2 = 0;
    for (int j = 0; j < all->seam_count; j++)
        for (int e = 0; e < 2; e++) {
            int edge = edge_index(&all->seams[j], e);
            r->area_by_edge[edge] = 0;
            for (int k = 0; k < r->knots; k++) {
                double off = fmax(0, x[knot_column(r->knots, j, k, e)]);
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
    r.at_mm = get((size_t)(r.edges * r.knots), sizeof *r.at_mm);
    r.off_mm = get((size_t)(r.edges * r.knots), sizeof *r.off_mm);
    r.area_by_edge = get((size_t)r.edges, sizeof *r.area_by_edge);
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
    double *x = get((size_t)(2 * removal->knots * JUDGE_SEAMS + 5 * tiles), sizeof *x);
    judge_end end = JUDGE_SOLVED;
    for (int round = 0; !end && round < ROUNDS; round++) {
        if (round < CHOOSING_ROUNDS)
            judge_corners_choose(&moved, &corners);
        stations all = look_along(&moved, rules, 1);
        all.corners = &corners;
        end = find_removal(&all, tolerance_mm, rules, tiles, REACH_MM[round], removal, x);
        if (!end) {
            take_removal(&all, x, removal);
            move(&moved, x + 2 * removal->knots * all.seam_count);
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
