#include "support/made/judge_model.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* Turns are reckoned by how far they move a tile's corner, about, mm. */
static const double ARM_MM = 150;
/* Steps between two tiles' corners along their seam that are accepted, mm; those there already may stay. Tiles of
 * common make differ by a third of it, and four in a row add up to it. */
static const double STEP_MM = 4;

const double JUDGE_REACH_MM[JUDGE_ROUNDS] = {20, 20, 5, 0.5, 0.2, 0.1};

void *judge_get(size_t count, size_t size)
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
                        const judge_rules *rules, judge_station *s)
{
    s->gap = made_gap(table, seam, line, at, MADE_CLEAN);
    s->open = made_gap(table, seam, line, at, MADE_CHIPPED);
    if (rules->leans)
        s->open = fmin(s->open, made_gap(table, seam, line, at, MADE_BASE));
    s->limits = at >= rules->end_mm && at <= line->length_mm - rules->end_mm &&
                !made_chipped(table, seam, line, at, rules->step_mm);
}

static void add_seam(judge_stations *all, const judge_rules *rules, int slopes, int j)
{
    const made_table *table = all->table;
    const made_seam *seam = &all->seams[j];
    made_line line = made_seam_line(table, seam);
    int steps = (int)ceil(line.length_mm / rules->step_mm);
    for (int k = 0; k <= steps; k++) {
        double at = fmin(k * rules->step_mm, line.length_mm);
        judge_station *s = &all->list[all->count++];
        s->seam = j;
        s->place = 2 * at / line.length_mm - 1;
        add_station(table, seam, &line, at, rules, s);
        all->limiting[j] += s->limits;
        if (!slopes)
            continue;
        find_slopes(table, seam, &line, at, line.across, s->slope);
        for (int e = 0; e < 2; e++)
            s->at[e] = edge_at(table, seam, made_foot(table, seam, &line, at, e), e);
    }
}

/* only: as in judge_stations; of one tile the seams whose second it is. */
static judge_stations look(const made_table *table, const judge_rules *rules, int slopes, int only)
{
    judge_stations all = {.table = table, .only = only};
    int count = made_seams(table, NULL);
    made_seam *seams = judge_get((size_t)count, sizeof *seams);
    made_seams(table, seams);
    for (int j = 0; j < count; j++) {
        if (only && seams[j].second != only)
            continue;
        if (all.seam_count == JUDGE_SEAMS) {
            fputs("judge: too many seams\n", stderr);
            exit(99);
        }
        all.seams[all.seam_count++] = seams[j];
    }
    free(seams);
    int room = all.seam_count * ((int)(MADE_SAMPLES / rules->step_mm) + 4);
    all.list = judge_get((size_t)room, sizeof *all.list);
    for (int j = 0; j < all.seam_count; j++)
        add_seam(&all, rules, slopes, j);
    return all;
}

judge_stations judge_look_along(const made_table *table, const judge_rules *rules, int slopes)
{
    return look(table, rules, slopes, 0);
}

judge_stations judge_look_around(const made_table *table, const judge_rules *rules, int tile)
{
    return look(table, rules, 1, tile);
}

/* Columns: seam by seam and knot by knot, first and second edge in turn; then the motions. */
int judge_knot_column(int knots, int seam, int knot, int second)
{
    return (seam * knots + knot) * 2 + second;
}

int judge_edge_index(const made_seam *seam, int second)
{
    int side = seam->upright ? (second ? SW_WEST : SW_EAST) : (second ? SW_NORTH : SW_SOUTH);
    return 4 * (second ? seam->second : seam->first) + side;
}

int judge_forbidden(const judge_rules *rules, const made_seam *seam, int second)
{
    return rules->forbidden && rules->forbidden[judge_edge_index(seam, second)];
}

int judge_moving(const judge_stations *all)
{
    return all->only ? 1 : all->table->columns * all->table->rows - 1;
}

/* Of a tile's three motions the first one's column, counted from the first of all; below 0: it stays. */
static int motion_of(const judge_stations *all, int tile)
{
    if (all->only)
        return tile == all->only ? 0 : -1;
    return 3 * (tile - 1);
}

/* Two tiles' motions' terms in a distance between them; columns of motions start at `first`. Returns how many. */
static int tile_terms(const judge_stations *all, int tile_a, int tile_b, const double slope[6],
                      const judge_rules *rules, int first, int *column, double *factor)
{
    int terms = 0;
    for (int k = 0; k < 6; k++) {
        int motion = motion_of(all, k < 3 ? tile_a : tile_b);
        if (motion < 0 || (rules->fixed_turns && k % 3 == 2))
            continue;
        column[terms] = first + motion + k % 3;
        factor[terms++] = slope[k];
    }
    return terms;
}

int judge_motion_terms(const judge_stations *all, const judge_station *s, const judge_rules *rules, int first,
                       int *column, double *factor)
{
    const made_seam *seam = &all->seams[s->seam];
    return tile_terms(all, seam->first, seam->second, s->slope, rules, first, column, factor);
}

void judge_reach_boxes(judge_lp *lp, int first, int moving, double reach)
{
    for (int k = 0; k < 3 * moving; k++)
        judge_lp_box(lp, first + k, -reach, reach);
}

void judge_ease_motions(judge_lp *lp, int first, int ease, int moving, double cost)
{
    for (int k = 0; k < 2 * moving; k++) {
        int column[] = {first + 3 * (k / 2) + k % 2, ease + k};
        judge_lp_row(lp, 2, column, (double[]){1, -1}, 0);
        judge_lp_row(lp, 2, column, (double[]){-1, -1}, 0);
        judge_lp_cost(lp, ease + k, cost);
    }
}

void judge_move(made_table *table, int only, const double *x)
{
    int from = only ? only : 1, to = only ? only + 1 : table->columns * table->rows;
    for (int i = from; i < to; i++, x += 3) {
        table->tiles[i].x_mm += x[0];
        table->tiles[i].y_mm += x[1];
        table->tiles[i].turn_rad += x[2] / ARM_MM;
    }
}

/* A tile's edge as first or second of a seam: its seam, -1 when it lies at the rim. */
static int seam_of(const judge_stations *all, int tile, sw_side side, int *second)
{
    *second = side == SW_NORTH || side == SW_WEST;
    for (int j = 0; j < all->seam_count; j++)
        if ((*second ? all->seams[j].second : all->seams[j].first) == tile &&
            all->seams[j].upright == (side == SW_EAST || side == SW_WEST))
            return j;
    return -1;
}

/* Corners that have a way: reach + slopes . motion - what comes off (removal may be NULL) <= 0. */
void judge_corners_apart(judge_lp *lp, const judge_stations *all, const judge_rules *rules, int first,
                         const judge_removal *removal)
{
    for (int i = 0; rules->corners && i < all->corners->count; i++) {
        const judge_corner *k = &all->corners->list[i];
        int column[8];
        double factor[8], slope[6];
        if (k->way == JUDGE_NO_WAY || (all->only && k->lower != all->only))
            continue;
        double reach = judge_corner_reach(all->table, k, slope);
        slope[2] /= ARM_MM;
        slope[5] /= ARM_MM;
        int terms = tile_terms(all, k->upper, k->lower, slope, rules, first, column, factor);
        for (int lower = 0; removal && lower < 2; lower++) {
            int last, second, seam;
            seam = seam_of(all, lower ? k->lower : k->upper, judge_corner_edge(k, lower, &last), &second);
            if (seam < 0 || judge_forbidden(rules, &all->seams[seam], second))
                continue;
            column[terms] = judge_knot_column(removal->knots, seam, last ? removal->knots - 1 : 0, second);
            factor[terms++] = -1;
        }
        judge_lp_row(lp, terms, column, factor, -reach);
    }
}

/* Tiles do not slip along a seam so far that rows and columns step: a column with a taper would be driven in like a
 * wedge otherwise. */
void judge_no_steps(judge_lp *lp, const judge_stations *all, const judge_rules *rules, int first)
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
        int terms = tile_terms(all, seam->first, seam->second, slope, rules, first, column, factor);
        judge_lp_row(lp, terms, column, factor, most - step);
        for (int k = 0; k < terms; k++)
            factor[k] = -factor[k];
        judge_lp_row(lp, terms, column, factor, most + step);
    }
}
