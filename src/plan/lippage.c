/* lippage.c - one tile after the other, each time the one whose change brings most steps within the limit.
 *
 *        ____ e             A tile that is packed up by d (planed down: d < 0) stands e + d above its neighbour at each end
 *   ____|                   of the seam between them. Along a seam two planes differ by a straight line, so its two ends
 *    t    neighbour         say all: step_largest_mm is the one, 2 step_mm - step_largest_mm the other.
 */
#include "plan/lippage.h"

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Nobody planes or packs finer, mm. */
static const double TENTH_MM = 0.1;
enum { SIDES = 4 };

/* A seam's step: the first tile's top above the second's. */
typedef struct step {
    double end_mm[2], u95_mm; /* NaN: not known */
} step;

/* A tile's seams. */
typedef struct around {
    int seam[SIDES];
    int count;
} around;

typedef struct tops {
    sw_inspection *ins;
    step *steps;    /* seam after seam, as they are once all advice so far was followed */
    around *around; /* tile after tile */
} tops;

/* A change of one tile: a whole number of tenths of a millimetre, + packed up; and how the tile's steps stand after it. */
typedef struct change {
    int tile, tenths;
    int over;   /* of this tile's steps */
    int mended; /* that are no longer over, less those that come to be */
    int gained; /* that come within, less those that no longer are */
} change;

/* What the step between a tile and its neighbour is once it is changed, seen from the seam's first tile. */
static step changed(const tops *t, int seam, int tile, double by_mm)
{
    step s = t->steps[seam];
    double up_mm = t->ins->seams[seam].first == tile ? by_mm : -by_mm;
    s.end_mm[0] += up_mm;
    s.end_mm[1] += up_mm;
    return s;
}

static sw_verdict verdict_of(const tops *t, const step *s)
{
    return sw_verdict_of(fmax(fabs(s->end_mm[0]), fabs(s->end_mm[1])), s->u95_mm, t->ins->lippage_mm);
}

static change count_change(const tops *t, int tile, int tenths)
{
    change c = {.tile = tile, .tenths = tenths};
    const around *a = &t->around[tile];
    for (int i = 0; i < a->count; i++) {
        step after = changed(t, a->seam[i], tile, tenths * TENTH_MM);
        sw_verdict now = verdict_of(t, &t->steps[a->seam[i]]), then = verdict_of(t, &after);
        c.over += then == SW_OVER;
        c.mended += (now == SW_OVER) - (then == SW_OVER);
        c.gained += (then == SW_WITHIN) - (now == SW_WITHIN);
    }
    return c;
}

/* Most steps come within, then most are no longer over, then the least change; packing up takes nothing off. */
static bool better(const change *a, const change *b)
{
    if (a->gained != b->gained)
        return a->gained > b->gained;
    if (a->mended != b->mended)
        return a->mended > b->mended;
    if (abs(a->tenths) != abs(b->tenths))
        return abs(a->tenths) < abs(b->tenths);
    return a->tenths > b->tenths;
}

/* Tenths beyond which no step of the tile can come within. */
static int farthest(const tops *t, const around *a)
{
    double most = 0;
    for (int i = 0; i < a->count; i++)
        for (int end = 0; end < 2; end++)
            most = fmax(most, fabs(t->steps[a->seam[i]].end_mm[end])); /* fmax leaves NaN out */
    return (int)fmin(ceil((most + t->ins->lippage_mm) / TENTH_MM), INT_MAX / 2);
}

/* The best change of this tile; one that mends nothing counts for nothing (mended 0). */
static change best_of_tile(const tops *t, int tile)
{
    change best = {.tile = tile};
    int most = count_change(t, tile, 0).over ? farthest(t, &t->around[tile]) : 0;
    for (int tenths = -most; tenths <= most; tenths++) {
        change c = count_change(t, tile, tenths);
        if (c.mended > 0 && (!best.mended || better(&c, &best)))
            best = c;
    }
    return best;
}

static change best_change(const tops *t)
{
    change best = {.mended = 0};
    for (size_t i = 0; i < t->ins->tile_count; i++) {
        change c = best_of_tile(t, (int)i);
        if (c.mended > 0 && (!best.mended || better(&c, &best)))
            best = c;
    }
    return best;
}

/* The change that lays the tile level with its neighbours on the mean, where it goes farther the same way and mends as
 * much; else NaN. */
static double level_with_neighbours(const tops *t, const change *c)
{
    const around *a = &t->around[c->tile];
    double sum = 0;
    int n = 0;
    for (int i = 0; i < a->count; i++)
        for (int end = 0; end < 2; end++) {
            int sense = t->ins->seams[a->seam[i]].first == c->tile ? 1 : -1;
            double up = sense * t->steps[a->seam[i]].end_mm[end];
            if (isfinite(up)) {
                sum += up;
                n++;
            }
        }
    int level = n ? (int)lround(-sum / n / TENTH_MM) : 0;
    change then = count_change(t, c->tile, level);
    bool farther = c->tenths > 0 ? level > c->tenths : level < c->tenths;
    return farther && then.gained >= c->gained && then.mended >= c->mended ? abs(level) * TENTH_MM : NAN;
}

/* "A1-B1, B1-C1 and B1-B2" */
static void name_mended(const sw_inspection *ins, const sw_top_advice *a, char *names, size_t room)
{
    names[0] = 0;
    for (size_t i = 0; i < a->seam_count; i++) {
        size_t at = strlen(names);
        const char *before = i == 0 ? "" : i + 1 < a->seam_count ? ", " : " and ";
        snprintf(names + at, room - at, "%s%s", before, ins->seams[a->seams[i]].name);
    }
}

static void give_reason(const tops *t, bool all_within, sw_top_advice *a)
{
    enum { ROOM = 96 };
    char names[ROOM];
    name_mended(t->ins, a, names, sizeof names);
    int length =
        snprintf(a->reason, sizeof a->reason, "%s then %s %s %.1f mm.", names, a->seam_count == 1 ? "is" : "are",
                 all_within ? "within" : "no longer surely over", t->ins->lippage_mm);
    if (isfinite(a->level_mm))
        snprintf(a->reason + length, sizeof a->reason - (size_t)length,
                 " %.1f mm would lay %s level with its neighbours.", a->level_mm, t->ins->tiles[a->tile].name);
}

/* Writes the change down as advice, and makes it. */
static void follow(tops *t, const change *c)
{
    const around *near = &t->around[c->tile];
    bool all_within = true;
    sw_top_advice *a = &t->ins->tops[t->ins->top_count++];
    *a = (sw_top_advice){.rank = (int)t->ins->top_count,
                         .tile = c->tile,
                         .action = c->tenths < 0 ? SW_PLANE_DOWN : SW_PACK_UP,
                         .by_mm = abs(c->tenths) * TENTH_MM,
                         .level_mm = level_with_neighbours(t, c)};
    for (int i = 0; i < near->count; i++) {
        int seam = near->seam[i];
        step after = changed(t, seam, c->tile, c->tenths * TENTH_MM);
        if (verdict_of(t, &t->steps[seam]) == SW_OVER && verdict_of(t, &after) != SW_OVER) {
            a->seams[a->seam_count++] = seam;
            all_within &= verdict_of(t, &after) == SW_WITHIN;
        }
        t->steps[seam] = after;
    }
    give_reason(t, all_within, a);
}

static void load(tops *t)
{
    for (size_t i = 0; i < t->ins->seam_count; i++) {
        const sw_seam *seam = &t->ins->seams[i];
        t->steps[i] = (step){{seam->step_largest_mm, 2 * seam->step_mm - seam->step_largest_mm}, seam->step_u95_mm};
        around *one = &t->around[seam->first], *other = &t->around[seam->second];
        if (one->count < SIDES && other->count < SIDES) {
            one->seam[one->count++] = (int)i;
            other->seam[other->count++] = (int)i;
        }
    }
}

sw_status sw_lippage_advise(sw_inspection *ins, sw_error *err)
{
    free(ins->tops);
    ins->tops = NULL;
    ins->top_count = 0;
    if (!(ins->lippage_mm > 0))
        return SW_OK;
    tops t = {ins, calloc(ins->seam_count + 1, sizeof *t.steps), calloc(ins->tile_count + 1, sizeof *t.around)};
    ins->tops = calloc(ins->seam_count + 1, sizeof *ins->tops); /* each line mends one step or more */
    bool room = t.steps && t.around && ins->tops;
    if (room)
        load(&t);
    for (change c; room && ins->top_count < ins->seam_count && (c = best_change(&t)).mended > 0;)
        follow(&t, &c);
    free(t.steps);
    free(t.around);
    return room ? SW_OK : sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for advice on the tops", ins->file);
}
