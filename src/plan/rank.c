/* rank.c - one line of advice a seam, the most urgent first.
 *
 * Along a seam, let p(s) be how far the two facing edges together stand proud of their tiles' own squares. Pushed
 * together, the tiles touch where p is greatest, and the gap elsewhere is max p - p(s). If that stays within the
 * tolerance, the edges are not to blame: something holds the tiles apart (lean, or they were not pushed). Otherwise the
 * places where p(s) is more than the tolerance above its least must come down, where the tiles touch, never where they
 * gape; and the edge whose own share of p varies more is the one to sand.
 */
#include "rank.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Less than this is not worth picking up a sanding block for, mm. */
static const double LEAST_REMOVAL_MM = 0.05;
/* p is looked at every so many mm. */
static const double SAMPLE_MM = 4;
enum { SAMPLES_MOST = 512 };

typedef struct pair {
    int count;
    double at[SAMPLES_MOST], p[2][SAMPLES_MOST];
} pair;

static sw_side facing_side(const sw_seam *seam, int rim)
{
    return seam->upright ? (rim ? SW_WEST : SW_EAST) : (rim ? SW_NORTH : SW_SOUTH);
}

static const sw_edge *facing_edge(const sw_inspection *ins, const sw_seam *seam, int rim)
{
    return &ins->tiles[rim ? seam->second : seam->first].edges[facing_side(seam, rim)];
}

/* proud_mm of an edge at a place, from the nearest of its good points; NaN where there is none within 3 mm. */
static double proud_at(const sw_edge *edge, double at)
{
    double best = 3, value = NAN;
    for (size_t i = 0; i < edge->point_count; i++)
        if (edge->points[i].state == SW_STATION_OK && fabs(edge->points[i].at_mm - at) < best) {
            best = fabs(edge->points[i].at_mm - at);
            value = edge->points[i].proud_mm;
        }
    return value;
}

static void load_pair(const sw_inspection *ins, const sw_seam *seam, pair *out)
{
    out->count = 0;
    double step = fmax(SAMPLE_MM, seam->length_mm / (SAMPLES_MOST - 1));
    for (double at = step; at < seam->length_mm && out->count < SAMPLES_MOST; at += step) {
        double a = proud_at(facing_edge(ins, seam, 0), at), b = proud_at(facing_edge(ins, seam, 1), at);
        if (isnan(a) || isnan(b))
            continue;
        out->at[out->count] = at;
        out->p[0][out->count] = a;
        out->p[1][out->count++] = b;
    }
}

/* A stretch that must come down, and by how much at most. A hollow edge has two, with the gap's widest place between
 * them. */
typedef struct stretch {
    double from, to, most;
} stretch;

static void keep_stretch(stretch best[2], stretch now)
{
    if (now.most > best[0].most) {
        best[1] = best[0];
        best[0] = now;
    } else if (now.most > best[1].most) {
        best[1] = now;
    }
}

/* No sanding block takes less than this, mm: a shorter stretch is widened to it, as far as the edge goes. */
static const double BLOCK_MM = 20;

static void widen(stretch *s, double end)
{
    double more = fmax(0, BLOCK_MM - (s->to - s->from)) / 2;
    if (s->most > 0 && more > 0) {
        s->from = fmax(0, s->from - more);
        s->to = fmin(end, s->from + BLOCK_MM);
    }
}

/* Which edge to sand, how much at most, and from where to where: the two stretches that stand out most, the first in
 * the advice itself. Returns 0 when none needs it. */
static int find_removal(const pair *p, double tolerance, double u, sw_advice *a, stretch best[2], int *rim)
{
    double low = INFINITY, range[2], most[2] = {-INFINITY, -INFINITY}, least[2] = {INFINITY, INFINITY};
    for (int i = 0; i < p->count; i++) {
        low = fmin(low, p->p[0][i] + p->p[1][i]);
        for (int r = 0; r < 2; r++) {
            most[r] = fmax(most[r], p->p[r][i]);
            least[r] = fmin(least[r], p->p[r][i]);
        }
    }
    for (int r = 0; r < 2; r++)
        range[r] = most[r] - least[r];
    *rim = range[1] > range[0];
    stretch now = {0, 0, 0};
    best[0] = best[1] = now;
    for (int i = 0; i <= p->count; i++) {
        double off = i < p->count ? p->p[0][i] + p->p[1][i] - low - tolerance - u : 0;
        if (off >= LEAST_REMOVAL_MM) {
            now.from = now.most > 0 ? now.from : p->at[i];
            now.to = p->at[i];
            now.most = fmax(now.most, off);
            continue;
        }
        keep_stretch(best, now);
        now.most = 0;
    }
    for (int k = 0; k < 2; k++)
        widen(&best[k], p->at[p->count - 1] + p->at[0]);
    a->remove_mm = best[0].most;
    a->from_mm = best[0].from;
    a->to_mm = best[0].to;
    return a->remove_mm > 0;
}

static const char *edge_name(const sw_inspection *ins, const sw_advice *a, char *buffer, size_t size)
{
    snprintf(buffer, size, "%s %s", ins->tiles[a->tile].name, sw_side_name(a->side));
    return buffer;
}

static void name_edge(const sw_seam *seam, int rim, sw_advice *a)
{
    a->tile = rim ? seam->second : seam->first;
    a->side = facing_side(seam, rim);
}

static void say_sand(const sw_inspection *ins, const sw_seam *seam, const stretch *other, sw_advice *a)
{
    char name[32], more[96] = "";
    a->action = SW_TRUE_UP;
    if (other->most > 0)
        snprintf(more, sizeof more, ", and up to %.1f mm between %.0f and %.0f mm,", other->most, other->from,
                 other->to);
    snprintf(a->reason, sizeof a->reason,
             "%s stands proud of its tile's own square between %.0f and %.0f mm, where the tiles touch; taking up to "
             "%.1f mm off there%s "
             "lets the seam close at its widest place (%.0f mm).",
             edge_name(ins, a, name, sizeof name), a->from_mm, a->to_mm, a->remove_mm, more, seam->max_at_mm);
}

static void advise_over(const sw_inspection *ins, const sw_seam *seam, sw_advice *a)
{
    pair p;
    stretch best[2];
    int rim = 0;
    load_pair(ins, seam, &p);
    if (p.count >= 5 && find_removal(&p, ins->tolerance_mm, a->u95_mm / 2, a, best, &rim)) {
        name_edge(seam, rim, a);
        say_sand(ins, seam, &best[1], a);
        return;
    }
    name_edge(seam, rim, a);
    a->action = SW_CHECK;
    if (p.count < 5)
        snprintf(a->reason, sizeof a->reason,
                 "The seam is open, but too little of its two edges was seen to say which one; move "
                 "what hides them and photograph again.");
    else
        snprintf(a->reason, sizeof a->reason,
                 "Both top edges are straight and square enough, yet the tiles stay apart: push them together; if the "
                 "gap stays, hold "
                 "a try square to both side faces, one leans.");
}

static void advise(const sw_inspection *ins, int index, sw_advice *a)
{
    const sw_seam *seam = &ins->seams[index];
    memset(a, 0, sizeof *a);
    a->seam = index;
    a->worst_gap_mm = seam->max_mm;
    a->u95_mm = seam->max_u95_mm;
    name_edge(seam, 0, a);
    if (seam->verdict == SW_OVER) {
        advise_over(ins, seam, a);
    } else if (seam->verdict == SW_TOO_CLOSE) {
        a->action = SW_CHECK;
        if (isnan(seam->max_mm))
            snprintf(a->reason, sizeof a->reason, "Nothing of this seam could be read; clear it and photograph again.");
        else
            snprintf(a->reason, sizeof a->reason,
                     "Too close to the tolerance to call from this photo: do not sand; try a feeler gauge at %.0f mm, "
                     "or photograph "
                     "from nearer.",
                     seam->max_at_mm);
    } else {
        a->action = SW_LEAVE;
        snprintf(a->reason, sizeof a->reason, "Within tolerance all along; leave it.");
    }
}

static void advise_fill(const sw_inspection *ins, int index, const sw_chip *chip, sw_advice *a)
{
    const sw_seam *seam = &ins->seams[index];
    memset(a, 0, sizeof *a);
    a->seam = index;
    a->tile = chip->tile;
    a->side = chip->side;
    a->action = SW_FILL;
    a->from_mm = fmax(0, chip->at_mm - chip->length_mm / 2);
    a->to_mm = chip->at_mm + chip->length_mm / 2;
    a->worst_gap_mm = seam->max_mm;
    a->u95_mm = seam->max_u95_mm;
    snprintf(a->reason, sizeof a->reason,
             "A chip, %.0f mm long and %.1f mm deep: fill it; never sand a whole edge for a chip.", chip->length_mm,
             chip->depth_mm);
}

/* Order: open seams by how far they are over, then those too close to call, then chips, then what is fine. */
static int urgency(const sw_inspection *ins, const sw_advice *a)
{
    if (a->action == SW_FILL)
        return 2;
    const sw_seam *seam = &ins->seams[a->seam];
    return seam->verdict == SW_OVER ? 0 : seam->verdict == SW_TOO_CLOSE ? 1 : 3;
}

static int before(const sw_inspection *ins, const sw_advice *a, const sw_advice *b)
{
    int ua = urgency(ins, a), ub = urgency(ins, b);
    if (ua != ub)
        return ua < ub;
    double ga = isnan(a->worst_gap_mm) ? 1e9 : a->worst_gap_mm, gb = isnan(b->worst_gap_mm) ? 1e9 : b->worst_gap_mm;
    return ga > gb;
}

sw_status sw_rank(sw_inspection *ins, sw_error *err)
{
    size_t most = ins->seam_count, n = 0;
    for (size_t i = 0; i < ins->seam_count; i++)
        most += ins->seams[i].chip_count;
    ins->ranking = calloc(most + 1, sizeof *ins->ranking);
    if (!ins->ranking)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the ranking", ins->file);
    for (size_t i = 0; i < ins->seam_count; i++) {
        advise(ins, (int)i, &ins->ranking[n++]);
        for (size_t k = 0; k < ins->seams[i].chip_count; k++)
            advise_fill(ins, (int)i, &ins->seams[i].chips[k], &ins->ranking[n++]);
    }
    for (size_t i = 1; i < n; i++) {
        sw_advice a = ins->ranking[i];
        size_t k = i;
        for (; k > 0 && before(ins, &a, &ins->ranking[k - 1]); k--)
            ins->ranking[k] = ins->ranking[k - 1];
        ins->ranking[k] = a;
    }
    for (size_t i = 0; i < n; i++)
        ins->ranking[i].rank = (int)i + 1;
    ins->advice_count = n;
    return SW_OK;
}
