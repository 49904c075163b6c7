#include "support/made/judge_model.h"

#include <math.h>
#include <stdlib.h>

#include "support/maths_check.h"

const judge_rules judge_usual = {.end_mm = 5, .step_mm = 1, .knot_mm = 10};

/* What a mm of motion costs beside a mm of gap, so that tiles do not drift where drifting changes nothing. */
static const double EASE = 1e-5;
/* The second aim may not cost more of the first than this, mm. */
static const double SPARE_MM = 1e-5;
/* By how much a hand presses one place harder than another, a share: the sum then is the least there is but for about as
 * much of what differs between the ways, and the way is a corner of them all, as chance has it. */
static const double UNEVEN = 0.02;
/* So often all rounds are gone through when corners come to overlap by the last of them. */
enum { PASSES = 4 };

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
    if (!all->only) /* one tile is held by its two neighbours, and by nothing where it must slip along them */
        judge_no_steps(lp, all, rules, 0);
}

/* Columns behind the motions: each seam's widest gap, then the table's. most: of the table's, INFINITY to find it. */
static judge_end push_worst(const judge_stations *all, const judge_rules *rules, int tiles, double reach, double most,
                            double *x)
{
    int motions = 3 * (tiles - 1), table_widest = motions + all->seam_count;
    judge_lp *lp = judge_lp_new(table_widest + 1 + 2 * (tiles - 1));
    judge_reach_boxes(lp, 0, tiles - 1, reach);
    judge_ease_motions(lp, 0, table_widest + 1, tiles - 1, EASE);
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

/* How hard a seam is pressed at its middle, and how that grows towards its end. */
typedef struct pressed {
    double mean, tilt;
} pressed;

/* By seam. Free it. */
static pressed *press(int seams, uint32_t hand)
{
    pressed *p = judge_get((size_t)seams, sizeof *p);
    if (hand)
        hand = hand * 2654435761u % 2147483646u + 1; /* stirred: neighbouring seeds are alike */
    for (int j = 0; j < seams; j++)
        p[j] = hand ? (pressed){1 + UNEVEN * normal(&hand), UNEVEN * normal(&hand)} : (pressed){1, 0};
    return p;
}

static judge_end push_sum(const judge_stations *all, const judge_rules *rules, const pressed *hard, double reach,
                          double *x)
{
    int moving = judge_moving(all), motions = 3 * moving;
    double *cost = judge_get((size_t)motions, sizeof *cost);
    judge_lp *lp = judge_lp_new(motions + 2 * moving);
    judge_reach_boxes(lp, 0, moving, reach);
    judge_ease_motions(lp, 0, motions, moving, EASE);
    keep_apart(lp, all, rules);
    for (int i = 0; i < all->count; i++) {
        const judge_station *s = &all->list[i];
        int column[6];
        double factor[6];
        int terms = judge_motion_terms(all, s, rules, 0, column, factor);
        for (int k = 0; s->limits && k < terms; k++)
            cost[column[k]] +=
                factor[k] * (hard[s->seam].mean + hard[s->seam].tilt * s->place) / all->limiting[s->seam];
    }
    for (int k = 0; k < motions; k++)
        judge_lp_cost(lp, k, cost[k]);
    judge_end end = judge_lp_solve(lp, x, NULL);
    judge_lp_free(lp);
    free(cost);
    return end;
}

static judge_end push_round(judge_settled *settled, judge_aim aim, const judge_rules *rules, const pressed *hard,
                            const judge_corners *corners, double reach, double *x)
{
    int tiles = settled->table.columns * settled->table.rows;
    judge_stations all = judge_look_along(&settled->table, rules, 1);
    judge_end end;
    all.corners = corners;
    if (aim == JUDGE_SUM)
        end = push_sum(&all, rules, hard, reach, x);
    else {
        end = push_worst(&all, rules, tiles, reach, INFINITY, x);
        double most = x[3 * (tiles - 1) + all.seam_count];
        if (!end)
            end = push_worst(&all, rules, tiles, reach, (rules->allow_mm ? fmax(0, most) : most) + SPARE_MM, x);
    }
    if (!end)
        judge_move(&settled->table, 0, x);
    free(all.list);
    return end;
}

judge_end judge_settle(const made_table *table, judge_aim aim, const judge_rules *rules, judge_settled *settled)
{
    double *x = judge_get((size_t)(5 * table->columns * table->rows + JUDGE_SEAMS + 1), sizeof *x);
    judge_end end = JUDGE_SOLVED;
    *settled = (judge_settled){.table = made_copy(table)};
    judge_corners corners = judge_corners_of(table);
    pressed *hard = press(made_seams(table, NULL), rules->hand);
    for (int pass = 0; !end && pass < PASSES; pass++) {
        if (pass && !(rules->corners && judge_corners_choose(&settled->table, &corners)))
            break; /* no corner came to overlap by the last rounds */
        for (int round = 0; !end && round < JUDGE_ROUNDS; round++) {
            if (round < JUDGE_CHOOSING)
                judge_corners_choose(&settled->table, &corners);
            end = push_round(settled, aim, rules, hard, &corners, JUDGE_REACH_MM[round], x);
        }
    }
    free(x);
    free(hard);
    judge_look(&settled->table, rules, settled);
    return end;
}

/* Puts a tile's north-west corner to those of its neighbours to the west and north, wherever it lay. */
static void put_near(made_table *table, int i)
{
    made_tile *tile = &table->tiles[i];
    sw_point mine = made_corner(tile, SW_NW), west = mine, north = mine;
    if (i % table->columns)
        west = north = made_corner(&tile[-1], SW_NE);
    if (i >= table->columns)
        north = made_corner(&tile[-table->columns], SW_SW);
    tile->x_mm += (i % table->columns ? west : north).x - mine.x;
    tile->y_mm += north.y - mine.y;
}

/* A tile of the first row or column lies flush with its one neighbour, which does not hold it along their seam. */
static void put_flush(made_table *table, int i)
{
    made_tile *tile = &table->tiles[i];
    sw_point mine = made_corner(tile, SW_NW);
    if (i < table->columns)
        tile->y_mm += made_corner(&tile[-1], SW_NE).y - mine.y;
    else if (i % table->columns == 0)
        tile->x_mm += made_corner(&tile[-table->columns], SW_SW).x - mine.x;
}

/* The tile's north-east corner would lie under the tile diagonally above, and its west neighbour leaves it no way but
 * south. Where less is gained by that, the tile above is tapped aside instead, and those east of it with it. */
static void tap_aside(made_table *table, int tile, judge_corners *corners)
{
    for (int i = 0; i < corners->count; i++) {
        judge_corner *k = &corners->list[i];
        double slope[6];
        if (k->lower != tile || k->east > 0 || k->way != JUDGE_BY_X)
            continue;
        double by = fmax(0, judge_corner_reach(table, k, slope));
        k->way = JUDGE_NO_WAY;
        for (int t = k->upper; t / table->columns == k->upper / table->columns; t++)
            table->tiles[t].x_mm += by;
    }
}

static judge_end push_one(made_table *table, int tile, const judge_rules *rules, const pressed *hard)
{
    judge_corners corners = judge_corners_of(table);
    judge_end end = JUDGE_SOLVED;
    put_near(table, tile);
    for (int round = 0; !end && round < JUDGE_ROUNDS; round++) {
        double x[5];
        if (round < JUDGE_CHOOSING) {
            put_flush(table, tile); /* a turn moved its corner */
            judge_corners_choose(table, &corners);
        }
        if (rules->corners && tile % table->columns)
            tap_aside(table, tile, &corners);
        judge_stations all = judge_look_around(table, rules, tile);
        all.corners = &corners;
        end = push_sum(&all, rules, hard, JUDGE_REACH_MM[round], x);
        if (!end)
            judge_move(table, tile, x);
        free(all.list);
    }
    return end;
}

judge_end judge_from_corner(const made_table *table, const judge_rules *rules, judge_settled *settled)
{
    pressed *hard = press(2, rules->hand);
    judge_end end = JUDGE_SOLVED;
    *settled = (judge_settled){.table = made_copy(table)};
    for (int i = 1; !end && i < table->columns * table->rows; i++)
        end = push_one(&settled->table, i, rules, hard);
    free(hard);
    judge_look(&settled->table, rules, settled);
    return end;
}
