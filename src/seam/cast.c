#include "seam/cast.h"

#include <math.h>

#include "maths/stats.h"
#include "scale/frame.h"
#include "seam/job.h"
#include "seam/reading.h"

/* Where the floor is looked at, mm: from the table's rim on, and to either side of the seams' line. Edges that matter run within a few mm of the
 * line; patches so large even out a floor's grain. */
static const double FLOOR_FROM_MM = 12, FLOOR_TO_MM = 52, BESIDE_FROM_MM = 9, BESIDE_TO_MM = 29;
enum { ALONG = 21, ACROSS = 11 };
/* A band of shadow on the floor: its middle lies within so many mm of the seams' line, it is even over so many mm to either side, and the floor is lighter
 * from so far to so far. */
static const double BAND_REACH_MM = 5, BAND_HALF_MM = 1.5, BAND_CLEAR_MM = 5, BAND_TO_MM = 9, BAND_STEP_MM = 1;
/* It is so much darker than the floor to both sides, logarithm of light (clean photos: up to 0.06). */
static const double BAND_LEAST = 0.1;
/* With such a band in its line a seam is doubtful that is wider than this, mm, or beside which the tops are darker than the last figure, logarithm of light. On a
 * patterned floor bands are everywhere, and a wide one only that lacks less of the light between its rims than this share (clean photos: 0.85 and more). */
static const double BAR_APART_MM = 2.5, BAR_LACKS = 0.8, BAR_OFF = 0.05;
/* Light below this is as good as none. */
static const double DARKEST = 1e-4;
/* Tops of one colour differ by no more than the first figure from one side of a seam to the other, logarithm of light (clean photos: 0.01). Steps of
 * the floor that no shadow makes: clean photos show up to 0.17, most less than the second; the third is beyond doubt. */
static const double STEP_LEAST = 0.05, FLOOR_LEAST = 0.08, FLOOR_SURE = 0.25;
/* A shadow takes the same share of all light, but patches of the floor have grain, and shade of their own: floor's step over tops'. */
static const double ALIKE_LEAST = 0.55, ALIKE_MOST = 1.6;
/* How far the steps of seams in one line differ that one shadow makes, share. */
static const double ONE_SHADOW = 0.3;

/* Mean of the logarithm of the floor's light beyond the end of a line that goes `out`, from so far to its left to so far, mm; NaN outside the photo. */
static double floor_at(const sw_photo *photo, const sw_scale *scale, sw_point end, sw_point out, double from_mm,
                       double to_mm)
{
    double sum = 0, n = 0;
    for (int i = 0; i < ALONG * ACROSS; i++) {
        double along = FLOOR_FROM_MM + (FLOOR_TO_MM - FLOOR_FROM_MM) * (i / ACROSS) / (ALONG - 1),
               beside = from_mm + (to_mm - from_mm) * (i % ACROSS) / (ACROSS - 1);
        sw_point mm = {end.x + along * out.x - beside * out.y, end.y + along * out.y + beside * out.x},
                 px = sw_scale_to_px(scale, mm);
        if (!(px.x >= 0 && px.y >= 0 && px.x < photo->width_px - 1 && px.y < photo->height_px - 1))
            continue;
        sum += log(fmax(DARKEST, photo->linear[sw_photo_at(photo, (int)lround(px.x), (int)lround(px.y))]));
        n++;
    }
    return 2 * n > ALONG * ACROSS ? sum / n : NAN;
}

/* Step of the floor's light across a line where it goes on beyond `end`; second: whether the seams' second tiles lie to its left or right. */
static double floor_step(const sw_seams_job *j, sw_point from, sw_point end, int second)
{
    double length = hypot(end.x - from.x, end.y - from.y);
    sw_point out = {(end.x - from.x) / length, (end.y - from.y) / length};
    return floor_at(j->photo, j->scale, end, out, second * BESIDE_FROM_MM, second * BESIDE_TO_MM) -
           floor_at(j->photo, j->scale, end, out, -second * BESIDE_FROM_MM, -second * BESIDE_TO_MM);
}

/* By how much the floor is darker in a band along a line, where that goes on beyond `end`, than on both sides of it: logarithm of light. */
static double floor_band(const sw_seams_job *j, sw_point from, sw_point end)
{
    double length = hypot(end.x - from.x, end.y - from.y), most = 0;
    sw_point out = {(end.x - from.x) / length, (end.y - from.y) / length};
    for (double c = -BAND_REACH_MM; c <= BAND_REACH_MM; c += BAND_STEP_MM) {
        double here = floor_at(j->photo, j->scale, end, out, c - BAND_HALF_MM, c + BAND_HALF_MM),
               left = floor_at(j->photo, j->scale, end, out, c + BAND_CLEAR_MM, c + BAND_TO_MM),
               right = floor_at(j->photo, j->scale, end, out, c - BAND_TO_MM, c - BAND_CLEAR_MM);
        most = fmax(most, fmin(left, right) - here);
    }
    return most;
}

/* Whether a seam looks as if a bar of shadow lay in it: wide, or with tops beside it that are darker than they are elsewhere. */
static bool looks_barred(const sw_seams_job *j, const sw_seam_job *s)
{
    enum { MOST = 256 };
    const sw_trace *t = s->trace;
    const sw_top_light *low = &j->tops[s->edge[t->tangent >= 0 ? SW_NEAR : SW_FAR] / 4],
                       *high = &j->tops[s->edge[t->tangent >= 0 ? SW_FAR : SW_NEAR] / 4];
    double apart[MOST], lacks[MOST], off[MOST];
    size_t n = 0;
    for (int i = 0, every = t->count / MOST + 1; s->reading && i < t->count; i += every) {
        const sw_rough *a = &s->reading->roughs[i];
        if (!t->places[i].seen)
            continue;
        apart[n] = (a->high_rim - a->low_rim) / t->px_per_mm;
        lacks[n] = a->lacks / (a->high_rim - a->low_rim);
        off[n++] = fmin(log(a->low) - sw_top_light_at(low, s->reading->mm[i]),
                        log(a->high) - sw_top_light_at(high, s->reading->mm[i]));
    }
    bool wide = n && sw_median(apart, n) > BAR_APART_MM;
    return (wide && (!j->traces->patterned || sw_median(lacks, n) < BAR_LACKS)) || (n && sw_median(off, n) < -BAR_OFF);
}

/* Step of the tops' light right beside a seam, from its first tile to its second. */
static double step_at(const sw_seam_job *s)
{
    enum { MOST = 256 };
    const sw_trace *t = s->trace;
    double v[MOST];
    size_t n = 0;
    for (int i = 0, every = t->count / MOST + 1; s->reading && i < t->count; i += every) {
        const sw_rough *a = &s->reading->roughs[i];
        if (t->places[i].seen && a->low > 0 && a->high > 0)
            v[n++] = t->reversed ? log(a->low / a->high) : log(a->high / a->low);
    }
    return n ? sw_median(v, n) : NAN;
}

static bool alike(double floor, double step)
{
    return floor / step > ALIKE_LEAST && floor / step < ALIKE_MOST;
}

/* Whether tops in a line go up here and down there: they are of two colours. */
static bool two_colours(const double *step, int count)
{
    bool up = false, down = false;
    for (int k = 0; k < count; k++) {
        up |= step[k] > STEP_LEAST;
        down |= step[k] < -STEP_LEAST;
    }
    return up && down;
}

void sw_cast_in_line(const double *step, int count, const double floor[2], bool *cast)
{
    const double least = two_colours(step, count) ? FLOOR_SURE : FLOOR_LEAST;
    for (int k = 0; k < count; k++)
        cast[k] = false;
    for (int end = 0; end < 2; end++) {
        if (!(fabs(floor[end]) > least))
            continue;
        /* from the rim inwards, as far as the shadow's edge follows the line; what is not seen breaks nothing off */
        for (int n = 0; n < count; n++) {
            int k = end ? count - 1 - n : n, before = end ? k + 1 : k - 1;
            if (isnan(step[k]))
                continue;
            bool goes_on =
                n == 0 || isnan(step[before]) || fabs(step[k] - step[before]) < ONE_SHADOW * fabs(step[before]);
            if (!goes_on || !(fabs(step[k]) > STEP_LEAST) || !alike(floor[end], step[k]))
                break;
            cast[k] = true;
        }
    }
}

static void judge_line(sw_seams_job *j, sw_seam_job *const *seam_of, bool upright, int line)
{
    const sw_grid *g = j->grid;
    const int count = upright ? g->rows : g->columns;
    const sw_grid_side *first = upright ? &g->upright[line][0] : &g->level[0][line],
                       *last = upright ? &g->upright[line][count - 1] : &g->level[count - 1][line];
    const int left = upright ? -1 : 1; /* second tiles lie to the right of the way north, to the left of the way west */
    const double floor[2] = {floor_step(j, first->to, first->from, left), floor_step(j, last->from, last->to, -left)};
    double step[SW_GRID_MOST] = {0};
    bool cast[SW_GRID_MOST];
    const bool band =
        floor_band(j, first->to, first->from) > BAND_LEAST || floor_band(j, last->from, last->to) > BAND_LEAST;
    sw_seam_job *of[SW_GRID_MOST] = {0};
    for (int k = 0; k < count; k++) {
        const sw_trace *t =
            upright ? &j->traces->upright[line * g->rows + k] : &j->traces->level[k * (g->rows + 1) + line];
        of[k] = seam_of[t - j->traces->upright];
        step[k] = of[k] ? step_at(of[k]) : NAN;
    }
    sw_cast_in_line(step, count, floor, cast);
    for (int k = 0; k < count; k++)
        if (of[k])
            of[k]->trace->cast = cast[k] || (band && looks_barred(j, of[k]));
}

void sw_cast_judge(sw_seams_job *j)
{
    sw_seam_job *seam_of[2 * SW_GRID_MOST * (SW_GRID_MOST + 1)] = {0}; /* by their traces, which lie in one row */
    for (int k = 0; k < j->seam_count; k++)
        seam_of[j->seams[k].trace - j->traces->upright] = &j->seams[k];
    for (int line = 1; line < j->grid->columns; line++)
        judge_line(j, seam_of, true, line);
    for (int line = 1; line < j->grid->rows; line++)
        judge_line(j, seam_of, false, line);
}
