#include "seam/search.h"

#include <math.h>
#include <stdlib.h>

#include "maths/stats.h"
#include "seam/stairs.h"

/* Widths of the gap that are tried, px; a fit finds the way from one to the next. */
enum { WIDTHS = 8, PLACES = 33, ANCHORS = 16 };
static const double WIDTH_PX[WIDTHS] = {0.4, 1.4, 2.6, 4.2, 6.4, 9.5, 14, 20};
/* Distance of the places that are tried, px. */
static const double PLACE_PX = 1;
/* What a place costs is taken together with that of so many anchors on either side: a seam runs straight. */
enum { BESIDE = 2 };

/* Cost of what the samples do not show. */
static const float UNSEEN = 1e9F;
/* So far inside the samples both rims have to lie, px. */
static const double INSIDE_PX = 2;

/* A station that costs so many times the usual may have a chip: so far, px, is one of its rims moved out to see. */
static const double ODD = 2.5;
enum { CHIPS = 3 };
static const double CHIP_PX[CHIPS] = {2, 4.5, 8};

typedef struct searched {
    int station[ANCHORS], count;
    float cost[ANCHORS][WIDTHS][PLACES];
    double centre[ANCHORS], width[ANCHORS];
} searched;

static void pick_anchors(const sw_slot_station *stations, int count, searched *s)
{
    int used = 0, at = 0;
    for (int i = 0; i < count; i++)
        used += stations[i].used;
    int every = used / ANCHORS + 1;
    s->count = 0;
    for (int i = 0; i < count && s->count < ANCHORS; i++)
        if (stations[i].used && at++ % every == every / 2)
            s->station[s->count++] = i;
}

static bool in_sight(const sw_slot_station *s)
{
    float least = INFINITY, most = -INFINITY;
    for (int i = 0; i < s->count; i++) {
        least = fminf(least, s->x[i]);
        most = fmaxf(most, s->x[i]);
    }
    return s->centre - s->width / 2 > least + INSIDE_PX && s->centre + s->width / 2 < most - INSIDE_PX;
}

/* Samples of a station's first pixel line, which will do. */
static int first_line(const sw_slot_station *s)
{
    int n = s->count > 0;
    while (n < s->count && s->x[n] > s->x[n - 1])
        n++;
    return n;
}

/* How stations are looked at. */
typedef struct looking {
    const sw_edge_table *table;
    bool far_high;
    float sharp;
    double noise;
} looking;

/* What a slot so wide costs at every place. Its bands are laid out once: where they lie does not change them. */
static void try_width(const looking *l, const sw_bin_light *bins, const sw_slot_station *stations, double width, int w,
                      searched *s)
{
    for (int a = 0; a < s->count; a++) {
        sw_slot_station at = stations[s->station[a]];
        sw_stairs st = {.sharp = l->sharp, .reach = l->table->reach / l->sharp};
        at.width = width;
        at.count = first_line(&at);
        at.centre = 0;
        sw_stairs_build(&at, bins, l->far_high, bins->step.px_per_mm, &st);
        for (int k = 0; k < PLACES; k++) {
            sw_slot_normal n;
            at.centre = (k - PLACES / 2) * PLACE_PX;
            if (in_sight(&at))
                sw_stairs_sum_own(l->table, &at, &st, l->noise, &n);
            s->cost[a][w][k] = in_sight(&at) ? (float)n.cost : UNSEEN;
        }
    }
}

/* The best place and width at an anchor, its neighbours asked too. */
static void choose(searched *s, int anchor, const double seen[WIDTHS])
{
    double least = INFINITY;
    for (int w = 0; w < WIDTHS; w++)
        for (int k = 0; k < PLACES; k++) {
            double sum = 0;
            for (int b = anchor - BESIDE; b <= anchor + BESIDE; b++)
                if (b >= 0 && b < s->count)
                    sum += s->cost[b][w][k];
            if (sum >= least)
                continue;
            least = sum;
            s->centre[anchor] = (k - PLACES / 2) * PLACE_PX;
            s->width[anchor] = seen[w];
        }
}

static void spread(const searched *s, sw_slot_station *stations, int count)
{
    int a = 0;
    for (int i = 0; i < count; i++) {
        while (a + 1 < s->count && s->station[a + 1] <= i)
            a++;
        int b = a + 1 < s->count && s->station[a] <= i ? a + 1 : a;
        double part = b > a ? (double)(i - s->station[a]) / (s->station[b] - s->station[a]) : 0;
        stations[i].centre = s->centre[a] + part * (s->centre[b] - s->centre[a]);
        stations[i].width = s->width[a] + part * (s->width[b] - s->width[a]);
    }
}

/* What a station costs with the width it has. */
static double cost_of(const looking *l, const sw_bin_light *bins, const sw_slot_station *s)
{
    sw_stairs st = {.sharp = l->sharp, .reach = l->table->reach / l->sharp};
    sw_slot_normal n;
    sw_stairs_build(s, bins, l->far_high, bins->step.px_per_mm, &st);
    sw_stairs_sum_own(l->table, s, &st, l->noise, &n);
    return n.cost;
}

/* Moves one rim of a station out as far as fits best: a chip. */
static void move_rim(const looking *l, const sw_bin_light *bins, double cost, sw_slot_station *s)
{
    const sw_slot_station start = *s;
    for (int side = -1; side <= 1; side += 2)
        for (int w = 0; w < CHIPS; w++) {
            sw_slot_station at = start;
            at.centre += side * CHIP_PX[w] / 2;
            at.width += CHIP_PX[w];
            double here = in_sight(&at) ? cost_of(l, bins, &at) : INFINITY;
            if (here >= cost)
                continue;
            cost = here;
            s->centre = at.centre;
            s->width = at.width;
        }
}

/* Stations that cost much more than usual are looked at on their own. */
static sw_status look_at_odd_ones(const looking *l, const sw_bin_light *bins, sw_slot_station *stations, int count)
{
    double *cost = malloc(2 * (size_t)count * sizeof *cost);
    size_t n = 0;
    if (!cost)
        return SW_NO_MEMORY;
    for (int i = 0; i < count; i++)
        if (stations[i].used)
            cost[n++] = cost[count + i] = cost_of(l, bins, &stations[i]);
    double odd = n ? ODD * sw_median(cost, n) : 0;
    for (int i = 0; i < count; i++)
        if (stations[i].used && cost[count + i] > odd)
            move_rim(l, bins, cost[count + i], &stations[i]);
    free(cost);
    return SW_OK;
}

static void light_up(const sw_cavity *cavity, const sw_slot_prior *prior, const sw_slot_light *light, double width_px,
                     sw_bin_light *bins)
{
    sw_slot_other other = prior->other;
    other.gap_mm = width_px / prior->px_per_mm + fmax(0, -light->step) * prior->view;
    sw_light_bins(cavity, light, &other, bins);
    bins->stepped = true;
    sw_stepped_light(light, prior->view, prior->px_per_mm, &bins->step);
}

sw_status sw_slot_search(const sw_cavity *cavity, const sw_edge_table *table, sw_slot_station *stations, int count,
                         bool far_high, const sw_slot_prior *prior, const sw_slot_light *light, double noise, bool all)
{
    double seen[WIDTHS], usual = 0;
    sw_bin_light bins;
    const looking l = {table, far_high, (float)exp(-light->blur), noise};
    searched *s = malloc(sizeof *s);
    if (!s)
        return SW_NO_MEMORY;
    pick_anchors(stations, count, s);
    for (int w = 0; w < WIDTHS; w++) {
        seen[w] = WIDTH_PX[w] + fmax(0, light->step) * prior->view * prior->px_per_mm; /* a free wall shows, too */
        light_up(cavity, prior, light, WIDTH_PX[w], &bins);
        try_width(&l, &bins, stations, seen[w], w, s);
    }
    for (int a = 0; a < s->count; a++) {
        choose(s, a, seen);
        usual += (s->width[a] - seen[0] + WIDTH_PX[0]) / s->count;
    }
    if (s->count)
        spread(s, stations, count);
    int found = s->count;
    free(s);
    if (!found || !all)
        return found ? SW_OK : SW_NOT_FOUND;
    light_up(cavity, prior, light, usual, &bins);
    return look_at_odd_ones(&l, &bins, stations, count);
}
