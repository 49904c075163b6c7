#include "scale/pointed.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/line.h"
#include "maths/point.h"
#include "seamwright/defaults_and_ranges.h"

/* An edge is looked for farther from the clicked side than clicks may be off, as corners also slip along it; less far than a card's
 * white margin (10 of 100 mm), beyond which other edges lie. Then nearer and nearer to where it was found, as crossings may have missed
 * it near the corners at first. */
static const double REACH[] = {1.6, 0.8, 0.4};
enum { PULLS = sizeof REACH / sizeof *REACH };
/* Crossings of a side, and what is left out at either end of it, share: corners may be off along it, too. */
enum { CROSSINGS = 40 };
static const double END_SHARE = 0.12;
/* Pixels on either side of an edge that say how dark it is there, past the blur's middle; and the farthest reach in pixels. */
enum { GAP = 1, LEVEL = 4, REACH_MOST = 100, SPAN = 2 * (REACH_MOST + GAP + LEVEL) + 1 };
/* A line so far from the click as is looked is worth less by this share than one on it. */
static const double FAR_COSTS = 0.3;
/* Mean step along a line, share of the brightest place near it, below which it is no card's edge: a white card on a white tile, 0.69 on
 * 0.6 of the light, makes 0.13. */
static const double STEP_LEAST = 0.03;
/* Keeps the share from growing in the dark, of the range. */
static const double DARK_FLOOR = 0.01;

/* Light along one side: at crossing k, place i lies i - reach - GAP - LEVEL px outside the clicked side. */
typedef struct strip {
    int reach;
    sw_point at[CROSSINGS], out; /* crossings on the clicked side; the unit normal that points outwards */
    double light[CROSSINGS][SPAN];
    double step[CROSSINGS][2 * REACH_MOST + 1]; /* at -reach to reach; light outside is positive */
} strip;

static double light_at(const sw_photo *photo, double x, double y)
{
    int column = (int)lround(x), row = (int)lround(y);
    if (column < 0 || row < 0 || column >= photo->width_px || row >= photo->height_px)
        return NAN;
    return photo->linear[sw_photo_at(photo, column, row)];
}

static double sum_of(const double *v, int n)
{
    double sum = 0;
    for (int i = 0; i < n; i++)
        sum += v[i];
    return sum;
}

static void read_strip(const sw_photo *photo, sw_point a, sw_point b, sw_point inside, int reach, strip *s)
{
    const sw_point along = sw_times(sw_minus(b, a), 1 / sw_distance(a, b));
    const int span = reach + GAP + LEVEL;
    s->reach = reach;
    s->out = (sw_point){along.y, -along.x};
    if ((inside.x - a.x) * s->out.x + (inside.y - a.y) * s->out.y > 0)
        s->out = sw_times(s->out, -1);
    for (int k = 0; k < CROSSINGS; k++) {
        s->at[k] = sw_between(a, b, END_SHARE + (1 - 2 * END_SHARE) * k / (CROSSINGS - 1));
        for (int i = -span; i <= span; i++) {
            double x = s->at[k].x + i * s->out.x, y = s->at[k].y + i * s->out.y, sum = 0;
            for (int w = -1; w <= 1; w++)
                sum += light_at(photo, x + w * along.x, y + w * along.y) / 3;
            s->light[k][i + span] = sum;
        }
        double most = DARK_FLOOR;
        for (int i = 0; i <= 2 * span; i++)
            most = fmax(most, s->light[k][i]);
        for (int i = 0; i <= 2 * reach; i++) {
            const double *v = &s->light[k][i]; /* LEVEL inside, GAP, the place, GAP, LEVEL outside */
            double step = (sum_of(v + LEVEL + 2 * GAP + 1, LEVEL) - sum_of(v, LEVEL)) / (LEVEL * most);
            s->step[k][i] = isnan(step) ? 0 : step;
        }
    }
}

/* The straight line across the strip along which the light steps most: `way` 1 to the light outside, -1 to the dark. Its ends are
 * returned in `line`; the step's mean, less what distance costs. */
static double best_line(const strip *s, int way, sw_point line[2])
{
    double best = -INFINITY;
    for (int a = -s->reach; a <= s->reach; a++)
        for (int b = -s->reach; b <= s->reach; b++) {
            double sum = 0;
            for (int k = 0; k < CROSSINGS; k++) {
                double at = a + (double)(b - a) * k / (CROSSINGS - 1);
                sum += fmax(0, way * s->step[k][(int)(at + s->reach + 0.5)]);
            }
            sum *= (1 - FAR_COSTS * (abs(a) + abs(b)) / (2.0 * s->reach)) / CROSSINGS;
            if (sum > best) {
                best = sum;
                line[0] = (sw_point){s->at[0].x + a * s->out.x, s->at[0].y + a * s->out.y};
                line[1] = (sw_point){s->at[CROSSINGS - 1].x + b * s->out.x, s->at[CROSSINGS - 1].y + b * s->out.y};
            }
        }
    return best;
}

/* Corners where the best lines cross; how clear the least clear of them is, 0: they are none. */
static double pull(const sw_photo *photo, const sw_point *corners, double reach, int way, sw_point *better)
{
    const sw_point inside =
        sw_between(sw_between(corners[0], corners[2], 0.5), sw_between(corners[1], corners[3], 0.5), 0.5);
    sw_line lines[4];
    strip s;
    double least = INFINITY;
    for (int side = 0; side < 4; side++) {
        const sw_point a = corners[side], b = corners[(side + 1) % 4];
        sw_point line[2];
        double off = fmax(SW_POINTED_OFF_PX, SW_POINTED_OFF_SHARE * sw_distance(a, b));
        read_strip(photo, a, b, inside, (int)fmin(REACH_MOST, ceil(reach * off)), &s);
        least = fmin(least, best_line(&s, way, line));
        if (sw_line_fit(line, NULL, 2, &lines[side], NULL))
            return 0;
    }
    for (int c = 0; c < 4; c++)
        if (sw_line_cross(&lines[(c + 3) % 4], &lines[c], &better[c]))
            return 0;
    return least >= STEP_LEAST ? least : 0;
}

bool sw_quad_pull_in(const sw_photo *photo, bool frame, sw_quad *quad, bool *light)
{
    sw_point dark_px[4], light_px[4];
    double dark = pull(photo, quad->corners, REACH[0], 1, dark_px),
           bright = frame ? 0 : pull(photo, quad->corners, REACH[0], -1, light_px);
    if (!(dark > 0) && !(bright > 0))
        return false;
    *light = bright > dark;
    memcpy(quad->corners, *light ? light_px : dark_px, sizeof quad->corners);
    for (int i = 1; i < PULLS; i++) {
        const sw_point from[4] = {quad->corners[0], quad->corners[1], quad->corners[2], quad->corners[3]};
        if (pull(photo, from, REACH[i], *light ? -1 : 1, quad->corners) <= 0)
            return false;
    }
    quad->size_px = 0;
    for (int c = 0; c < 4; c++)
        quad->size_px += sw_distance(quad->corners[c], quad->corners[(c + 1) % 4]) / 4;
    return true;
}
