#include "seam/sight.h"

#include <math.h>
#include <stdlib.h>

#include "maths/running.h"
#include "maths/stats.h"

/* A side is a tile's top while its light is within this of what the whole top makes expected there, logarithm: on clean photos 99 of 100
 * stations stay within 0.05. Of tops with print or stains so many of their spreads. */
static const double LIGHT_OFF = 0.10, LIGHT_SPREADS = 6;
/* A shadow darkens both sides alike, within this (logarithm), and leaves the line to be seen. */
static const double SHADOW_ALIKE = 0.12, LINE_DEPTH = 0.25;
/* Beside a step the lower top lies in shade, which leaves so much of the light (logarithm): 0.35. */
static const double SHADE_OFF = 1.05;
/* In a soft photo the dark line reaches into what is read of the sides: for each px of blur beyond the usual. */
static const double SOFT_OFF = 0.25, SOFT_PX = 1.2;
/* Stored values of so large a share of their range are clipped: nothing shows in a glare. */
static const double CLIPPED = 0.985;
/* Stations over which a side's light is taken together: longer than dust, a pencil mark or a chip's crumbs. */
enum { TOGETHER = 3 };
static const double LINE_TOGETHER_MM = 2;

/* A line breaks off where within so many mm its width falls by so much, mm, to under so large a share: sanded and sawn edges do not,
 * but at chips; those are short, and wider than what is left and right of them. */
/* A line suddenly so much wider than before, mm, is no gap between straight edges. */
static const double MUCH_WIDER_MM = 1.5;
/* The step between tops of two colours (logarithm of their light) hides narrow lines: less is known of their width, mm. */
static const double TOPS_DIFFER = 0.15;
/* More breaks than this make the pieces between them no chips: a seam has one or two. */
enum { CHIPS_MOST = 4 };
static const double BREAK_WITHIN_MM = 4, BREAK_OVER_MM = 6, BREAK_MM = 0.2, BREAK_DIFFER_MM = 0.35, BREAK_SHARE = 0.5,
                    CHIP_LONG_MM = 25;
/* Fewer stations make no reliable width. */
static const double BREAK_STATIONS = 6;
/* At its very ends the sides are the crossing seam's, mm. */
static const double SIDE_END_MM = 4;
/* So near to its ends a seam shows the one that crosses it, mm. */
static const double END_MM = 8;
/* What is next to a cover is half covered: nothing so near counts, mm. */
static const double MARGIN_MM = 2.5;

/* Share of a seam from which on the rest is not believed either. */
static const double REMNANT = 0.85;

typedef struct looked {
    double *off[2]; /* light of the sides against their tops', logarithm */
    double *width;  /* of the dark line, mm */
    double *depth;  /* share of the lesser top's light that it lacks */
    double *work;
    unsigned char *covered;
    int count;
    double mm;       /* from station to station */
    double break_mm; /* what counts as breaking off */
} looked;

static bool take_room(int count, looked *l)
{
    size_t n = (size_t)count;
    *l = (looked){.count = count};
    l->off[0] = malloc(5 * n * sizeof *l->work);
    l->covered = calloc(n, 1);
    if (!l->off[0] || !l->covered)
        return false;
    l->off[1] = l->off[0] + n;
    l->width = l->off[1] + n;
    l->depth = l->width + n;
    l->work = l->depth + n;
    return true;
}

static void leave_room(looked *l)
{
    free(l->off[0]);
    free(l->covered);
}

static void look(const sw_scale *scale, const sw_top_light *const beside[2], const sw_trace *t,
                 const sw_seam_reading *w, looked *l)
{
    const int ends = (int)ceil(END_MM / l->mm);
    int differ = 0;
    for (int i = 0; i < t->count; i++) {
        const sw_trace_place *p = &t->places[i];
        const sw_rough *a = &w->roughs[i];
        l->off[0][i] = l->off[1][i] = l->width[i] = l->depth[i] = NAN;
        bool end = i < ends || i >= t->count - ends;
        if (!p->seen)
            continue;
        sw_point px = sw_trace_pixel(t, p, p->path_px);
        sw_point mm = sw_scale_to_mm(scale, px);
        l->off[0][i] = log(a->low) - sw_top_light_at(beside[0], mm);
        l->off[1][i] = log(a->high) - sw_top_light_at(beside[1], mm);
        l->width[i] = end ? NAN : a->lacks / t->px_per_mm;
        l->depth[i] = 1 - a->dark / fmin(a->low, a->high);
        differ += fabs(log(a->low / a->high)) > TOPS_DIFFER ? 1 : -1;
    }
    l->break_mm = differ > 0 ? BREAK_DIFFER_MM : BREAK_MM;
}

/* Running medians of what was seen, in place. */
static void steady(double *values, int half, looked *l)
{
    for (int i = 0; i < l->count; i++)
        l->work[i] = values[i];
    sw_running_median(l->work, l->count, half, 1, 1, values);
}

/* Whether a side's light, off from its top's by so much, is not a top's. */
static bool strange(const sw_top_light *top, double off, double soft, bool stepped)
{
    double limit = fmax(LIGHT_OFF, LIGHT_SPREADS * top->spread) + soft;
    return off > limit || off < -(stepped ? fmax(SHADE_OFF, limit) : limit);
}

/* Sides that are not their tiles' tops. */
static void find_strange_sides(const sw_photo *photo, const sw_top_light *const beside[2], const sw_seam_reading *w,
                               double soft, bool stepped, looked *l)
{
    const int ends = (int)ceil(SIDE_END_MM / l->mm);
    const double glare = photo->linear[(int)(CLIPPED * ((1 << photo->bits) - 1))];
    for (int i = ends; i < l->count - ends; i++) {
        double a = l->off[0][i], b = l->off[1][i];
        bool off = strange(beside[0], a, soft, stepped) || strange(beside[1], b, soft, stepped);
        bool shadow = fabs(a - b) < SHADOW_ALIKE && l->depth[i] > LINE_DEPTH;
        bool clipped = fmax(w->roughs[i].low, w->roughs[i].high) >= glare;
        l->covered[i] |= (off && !shadow) || clipped;
    }
}

/* Median width of the line over BREAK_OVER_MM from a station on, in one direction. */
static double width_beyond(const looked *l, int from, int way)
{
    enum { MOST = 64 };
    double v[MOST];
    size_t n = 0, wanted = (size_t)fmin(MOST, fmax(BREAK_STATIONS, ceil(BREAK_OVER_MM / l->mm)));
    for (int i = from; i >= 0 && i < l->count && n < wanted; i += way)
        if (isfinite(l->width[i]) && !l->covered[i])
            v[n++] = l->width[i];
    return 2 * n >= wanted ? sw_median(v, n) : NAN;
}

/* How far a line that is wider than `least` goes on from a station, mm. */
static double goes_on_mm(const looked *l, int from, int way, double least)
{
    int i = from, missed = 0;
    for (; i >= 0 && i < l->count && missed < 3; i += way)
        missed = l->width[i] >= least || isnan(l->width[i]) ? 0 : missed + 1;
    return (abs(i - from) - missed) * l->mm;
}

/* Takes out the narrow side of a break, up to where the line is as wide again. */
static void cover_on(looked *l, int from, int way, double least)
{
    int wide = 0;
    for (int i = from; i >= 0 && i < l->count && wide < 3; i += way) {
        wide = l->width[i] >= least ? wide + 1 : 0;
        l->work[i] = wide == 0;
    }
}

/* A line that is suddenly so much wider, mm, over more than a chip's length is as likely something that lies on the seam: a cable. */
static void cover_wide(looked *l, int from, int way, double least)
{
    int missed = 0;
    for (int i = from; i >= 0 && i < l->count && missed < 3; i += way) {
        missed = l->width[i] < least ? missed + 1 : 0;
        l->work[i] = 1;
    }
}

/* Whether the line breaks off at a station, the narrow side lying that way; between: half-way from the narrow to the wide. */
static bool breaks_off(const looked *l, int i, int half, int way, double *between, double *by)
{
    double narrow = width_beyond(l, i + way * half, way), wide = width_beyond(l, i - way * half, -way);
    *between = (wide + narrow) / 2;
    *by = wide - narrow;
    return wide - narrow > l->break_mm && narrow < BREAK_SHARE * wide;
}

/* How many times it does, stations next to each other counted once. */
static int count_breaks(const looked *l, int half)
{
    int breaks = 0, last[2] = {-l->count, -l->count};
    double between, by;
    for (int i = half; i < l->count - half; i++)
        for (int way = -1; way <= 1; way += 2)
            if (breaks_off(l, i, half, way, &between, &by)) {
                breaks += i > last[way > 0] + 2 * half;
                last[way > 0] = i;
            }
    return breaks;
}

static void find_breaks(looked *l)
{
    int half = (int)ceil(BREAK_WITHIN_MM / 2 / l->mm);
    bool chips = count_breaks(l, half) <= 2 * CHIPS_MOST;
    double between, by;
    for (int i = 0; i < l->count; i++)
        l->work[i] = 0;
    for (int i = half; i < l->count - half; i++)
        for (int way = -1; way <= 1; way += 2) {
            if (!breaks_off(l, i, half, way, &between, &by))
                continue;
            if (chips && goes_on_mm(l, i - way * half, -way, between) <= CHIP_LONG_MM)
                continue;
            cover_on(l, i + way * half, way, between);
            if (by > MUCH_WIDER_MM && goes_on_mm(l, i - way * half, -way, between) > CHIP_LONG_MM)
                cover_wide(l, i - way * half, -way, between);
        }
    for (int i = 0; i < l->count; i++)
        l->covered[i] |= l->work[i] > 0;
}

/* A few stations on either side go with what is covered. */
static void widen(looked *l)
{
    int margin = (int)ceil(MARGIN_MM / l->mm);
    for (int i = 0; i < l->count; i++)
        l->work[i] = l->covered[i];
    for (int i = 0; i < l->count; i++)
        for (int k = i - margin; k <= i + margin && l->work[i] > 0; k++)
            if (k >= 0 && k < l->count)
                l->covered[k] = 1;
}

/* What little is left of a seam that is covered nearly all along is as likely a seam's look-alike. */
static void drop_remnants(const sw_trace *t, looked *l)
{
    double covered = 0, seen = 0;
    for (int i = 0; i < l->count; i++) {
        covered += t->places[i].seen && l->covered[i];
        seen += t->places[i].seen;
    }
    for (int i = 0; i < l->count && covered > REMNANT * seen; i++)
        l->covered[i] = 1;
}

sw_status sw_sight_judge(const sw_photo *photo, const sw_scale *scale, const sw_top_light *const beside[2], sw_trace *t,
                         const sw_seam_reading *w)
{
    looked l;
    if (!take_room(t->count, &l)) {
        leave_room(&l);
        return SW_NO_MEMORY;
    }
    l.mm = t->count > 1 ? fabs(t->places[t->count - 1].line - t->places[0].line) / (t->count - 1) / t->px_per_mm : 1;
    look(scale, beside, t, w, &l);
    for (int side = 0; side < 2; side++)
        steady(l.off[side], TOGETHER, &l);
    steady(l.width, (int)fmax(1, round(LINE_TOGETHER_MM / l.mm)), &l);
    steady(l.depth, (int)fmax(1, round(LINE_TOGETHER_MM / l.mm)), &l);
    double soft = SOFT_OFF * fmax(0, scale->blur_px - SOFT_PX);
    find_strange_sides(photo, beside, w, soft, t->stepped || t->step_u_mm > 0, &l);
    find_breaks(&l);
    widen(&l);
    drop_remnants(t, &l);
    for (int i = 0; i < t->count; i++)
        t->places[i].seen &= !l.covered[i];
    leave_room(&l);
    return SW_OK;
}
