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
/* Light below this is as good as none. */
static const double DARKEST = 1e-4;
/* Tops of one colour differ by no more than the first figure from one side of a seam to the other, logarithm of light (clean photos: 0.01). Steps of
 * the floor that no shadow makes: clean photos show up to 0.17, most less than the second; the third is beyond doubt. */
static const double STEP_LEAST = 0.05, FLOOR_LEAST = 0.08, FLOOR_SURE = 0.25;
/* A shadow takes the same share of all light, but patches of the floor have grain, and shade of their own: floor's step over tops'. */
static const double ALIKE_LEAST = 0.55, ALIKE_MOST = 1.6;
/* How far the steps of seams in one line differ that one shadow makes, share. */
static const double ONE_SHADOW = 0.3;

/* Mean of the logarithm of the floor's light beyond the end of a line that goes `out`, to its left (way 1) or right (-1); NaN outside the photo. */
static double floor_at(const sw_photo *photo, const sw_scale *scale, sw_point end, sw_point out, int way)
{
    double sum = 0, n = 0;
    for (int i = 0; i < ALONG * ACROSS; i++) {
        double along = FLOOR_FROM_MM + (FLOOR_TO_MM - FLOOR_FROM_MM) * (i / ACROSS) / (ALONG - 1),
               beside = way * (BESIDE_FROM_MM + (BESIDE_TO_MM - BESIDE_FROM_MM) * (i % ACROSS) / (ACROSS - 1));
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
    return floor_at(j->photo, j->scale, end, out, second) - floor_at(j->photo, j->scale, end, out, -second);
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

static void judge_line(sw_seams_job *j, bool upright, int line)
{
    const sw_grid *g = j->grid;
    const int count = upright ? g->rows : g->columns;
    const sw_grid_side *first = upright ? &g->upright[line][0] : &g->level[0][line],
                       *last = upright ? &g->upright[line][count - 1] : &g->level[count - 1][line];
    const int left = upright ? -1 : 1; /* second tiles lie to the right of the way north, to the left of the way west */
    const double floor[2] = {floor_step(j, first->to, first->from, left), floor_step(j, last->from, last->to, -left)};
    double step[SW_GRID_MOST] = {0};
    bool cast[SW_GRID_MOST];
    sw_trace *of[SW_GRID_MOST];
    for (int k = 0; k < count; k++) {
        of[k] = upright ? &j->traces->upright[line * g->rows + k] : &j->traces->level[k * (g->rows + 1) + line];
        step[k] = NAN;
        for (int m = 0; m < j->seam_count; m++)
            if (j->seams[m].trace == of[k])
                step[k] = step_at(&j->seams[m]);
    }
    sw_cast_in_line(step, count, floor, cast);
    for (int k = 0; k < count; k++)
        of[k]->cast = cast[k];
}

void sw_cast_judge(sw_seams_job *j)
{
    for (int line = 1; line < j->grid->columns; line++)
        judge_line(j, true, line);
    for (int line = 1; line < j->grid->rows; line++)
        judge_line(j, false, line);
}
