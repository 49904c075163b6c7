/* agree.c - see agree.h; README.md has the model. */
#include "scale/agree.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/lsq.h"
#include "maths/stats.h"
#include "scale/lens.h"
#include "scale/plane.h"

/* Numbers that all cards share, and each card's own. */
enum { AT_TILT_X, AT_TILT_Y, AT_HEIGHT, AT_SPREAD, AT_LENS, AT_FOCAL = AT_LENS + SW_LENS_PRIORS, SHARED };
enum { AT_X, AT_Y, AT_TURN, AT_RISE, AT_EAST, AT_NORTH, AT_STRETCH, POSE };
enum { NUMBERS_MOST = SHARED + POSE * SW_SQUARES_MAX };
/* A side's points are joined into so many: a bow shows in three, a kink in four. */
enum { SIDE_GROUPS = 4, CARD_ROWS = 2 * 4 * SIDE_GROUPS, PRIOR_ROWS = 4 };
/* A dozen do with a profile. A focal length guessed a third off takes 200: it is told by what slant the cards' sizes and shapes agree
 * on. */
enum { ROUNDS_MOST = 400 };

/* Tops of one table stand 0 to 20 mm apart (steps.md): the spread that such tables have, mm. Tops slant by 0.15 degrees, cards on
 * them (glue, edges that lift) by twice as much. */
static const double RISE_SD_MM = 7, SLOPE_SD = 0.005;
/* Printers draw one way longer than the other by some 0.3 % (common practice, no source); which way is across is not known. */
static const double STRETCH_SD = 0.0015;
/* A card that is left out may lie anywhere, mm, anyhow. */
static const double RISE_FREE_MM = 2000, SLOPE_FREE = 1;
/* What is left out counts a thousand times less. */
static const double OUT = 1e3;
/* As the fit of the scale has them (bundle.c), px. */
static const double POINT_FLOOR_PX = 0.02, SPREAD_PRIOR_PX = 0.1, SPREAD_FREE_PX = 10;
/* Steps between the tops of one table, mm (steps.md), and what the fit may be off by. Cards that differ by more are not of one size. */
static const double STEP_MOST_MM = 20, STEP_SLACK_MM = 3;
/* Sizes that differ by more than this share are told before anything is fitted: perspective's part is known to a few per cent. */
static const double GROSS = 0.2;
/* A card whose sides' points lie off a flat square by this, RMS, is curled, creased or no square. Flat ones leave 0.01 to 0.03 px on
 * 59 made photos; a curl 0.5 mm high seen 20 degrees off the vertical 0.1 px, of 2 mm 0.4 px. Cards cut by hand are as square as hands
 * make them. */
static const double BENT_PX = 0.12, BENT_MM = 0.04, BENT_CUT_MM = 0.25;
/* Of a lens without a profile (find.c has more of it), relative. */
static const double FOCAL_U = 0.15;
/* A tile of 300 mm does not stand on an edge 12 mm high; a card that slants by more lies on something. */
static const double ASLANT = 0.04;

typedef struct side_point {
    sw_point px, normal;
    double sd;
} side_point;

typedef struct card {
    side_point points[2][4][SIDE_GROUPS];
    int counts[2][4], rims;
    bool light, out;
    double px_per_mm;
} card;

typedef struct story {
    const sw_scale *scale;
    sw_lens lens;
    card *cards;
    int count;
    bool fit_lens, frames;
    double focal_u;   /* relative */
    double height_mm; /* to begin with */
    double mirrored;  /* -1: the picture shows the table as a mirror does */
    double half[2][2];
} story;

static void undistort_all(story *s)
{
    for (int c = 0; c < s->count; c++)
        for (int rim = 0; rim < s->cards[c].rims; rim++)
            for (int side = 0; side < 4; side++)
                for (int i = 0; i < s->cards[c].counts[rim][side]; i++) {
                    side_point *p = &s->cards[c].points[rim][side][i];
                    p->normal = sw_lens_undistort(&s->lens, p->px);
                }
}

/* Joins neighbouring points of a side. */
static void load_side(const sw_rim_square *from, int side, side_point *to, int *count)
{
    int all = from->counts[side];
    *count = 0;
    for (int g = 0; g < SIDE_GROUPS; g++) {
        double n = 0, x = 0, y = 0;
        for (int i = g * all / SIDE_GROUPS; i < (g + 1) * all / SIDE_GROUPS; i++) {
            const sw_side_point *p = &from->points[side][i];
            n += p->weight;
            x += p->weight * p->px.x;
            y += p->weight * p->px.y;
        }
        if (n > 0)
            to[(*count)++] =
                (side_point){.px = {x / n, y / n}, .sd = hypot(from->scatter_px / sqrt(n), POINT_FLOOR_PX)};
    }
}

static void load(const sw_sighting *sightings, story *s)
{
    double side_mm = s->half[0][0] + s->half[0][1];
    for (int c = 0; c < s->count; c++) {
        card *to = &s->cards[c];
        to->rims = sightings[c].rim_count;
        to->light = sightings[c].light;
        to->px_per_mm = sightings[c].quad.size_px / side_mm;
        for (int rim = 0; rim < to->rims; rim++)
            for (int side = 0; side < 4; side++)
                load_side(&sightings[c].rims[rim], side, to->points[rim][side], &to->counts[rim][side]);
    }
    undistort_all(s);
}

/* The sight line of a point of the normal plane in the plane's frame: x east, y north, z up, the camera over the origin. */
static void sight_line(const double *q, double mirrored, sw_point normal, double d[3])
{
    double x = mirrored * normal.x, y = -normal.y, z = -1;
    double cx = cos(q[AT_TILT_X]), sx = sin(q[AT_TILT_X]), cy = cos(q[AT_TILT_Y]), sy = sin(q[AT_TILT_Y]);
    double y1 = cx * y - sx * z, z1 = sx * y + cx * z;
    d[0] = cy * x + sy * z1;
    d[1] = y1;
    d[2] = -sy * x + cy * z1;
}

/* Where it meets a card, in mm along the card's own sides, from its middle. */
static sw_point on_card(const double d[3], double height_mm, const double *pose)
{
    double e = pose[AT_EAST], n = pose[AT_NORTH];
    double far = (height_mm - pose[AT_RISE] + e * pose[AT_X] + n * pose[AT_Y]) / (e * d[0] + n * d[1] - d[2]);
    double x = far * d[0] - pose[AT_X], y = far * d[1] - pose[AT_Y];
    double up = e * x + n * y, flat = x * x + y * y, longer = flat > 0 ? sqrt(1 + up * up / flat) : 1;
    double c = cos(pose[AT_TURN]) * longer, t = sin(pose[AT_TURN]) * longer;
    return (sw_point){c * x + t * y, -t * x + c * y};
}

static sw_status use_lens(story *s, const double *n)
{
    sw_lens *l = &s->lens;
    const sw_lens *from = &s->scale->lens;
    double longer = exp(n[AT_FOCAL - AT_LENS]);
    if (n[0] == l->k1 && n[1] == l->k2 && n[2] == l->p1 && n[3] == l->p2 && l->fx == from->fx * longer)
        return SW_OK;
    if (fabs(n[0]) > 1 || fabs(n[1]) > 2 || fabs(n[2]) > 0.05 || fabs(n[3]) > 0.05 || fabs(n[4]) > 1)
        return SW_BAD_INPUT;
    l->k1 = n[0];
    l->k2 = n[1];
    l->p1 = n[2];
    l->p2 = n[3];
    l->fx = from->fx * longer;
    l->fy = from->fy * longer;
    undistort_all(s);
    return SW_OK;
}

/* Distances of a card's points outside its sides, px, one after the other; those that are not there are 0. */
static void card_misfits(const story *s, const double *q, int which, double *px)
{
    const card *c = &s->cards[which];
    const double *pose = q + SHARED + POSE * which, height_mm = s->height_mm * exp(q[AT_HEIGHT]);
    for (int rim = 0; rim < 2; rim++)
        for (int side = 0; side < 4; side++)
            for (int i = 0; i < SIDE_GROUPS; i++, px++) {
                *px = 0;
                if (rim >= c->rims || i >= c->counts[rim][side])
                    continue;
                double d[3];
                sight_line(q, s->mirrored, c->points[rim][side][i].normal, d);
                sw_point mm = on_card(d, height_mm, pose);
                double along = side == SW_NORTH ? mm.y : side == SW_SOUTH ? -mm.y : side == SW_EAST ? mm.x : -mm.x;
                bool level = side == SW_NORTH || side == SW_SOUTH;
                double outside = along - s->half[rim][level] * (1 + (level ? -1 : 1) * pose[AT_STRETCH]);
                *px = outside * c->px_per_mm + (rim > 0 || c->light ? -1 : 1) * q[AT_SPREAD];
            }
}

static sw_status residuals(void *context, const double *q, double *r, double *jacobian)
{
    (void)jacobian;
    story *s = context;
    if (s->fit_lens && use_lens(s, q + AT_LENS))
        return SW_BAD_INPUT;
    for (int c = 0; c < s->count; c++) {
        const card *k = &s->cards[c];
        const double *pose = q + SHARED + POSE * c, *end = r + CARD_ROWS;
        const side_point *p = &k->points[0][0][0];
        card_misfits(s, q, c, r);
        for (; r < end; r++, p++)
            *r = p->sd > 0 ? *r / p->sd / (k->out ? OUT : 1) : 0;
        *r++ = pose[AT_RISE] / (k->out ? RISE_FREE_MM : RISE_SD_MM);
        *r++ = pose[AT_EAST] / (k->out ? SLOPE_FREE : SLOPE_SD);
        *r++ = pose[AT_NORTH] / (k->out ? SLOPE_FREE : SLOPE_SD);
        *r++ = pose[AT_STRETCH] / STRETCH_SD;
    }
    *r++ = q[AT_SPREAD] / (s->frames ? SPREAD_FREE_PX : SPREAD_PRIOR_PX);
    for (int k = 0; k < SW_LENS_PRIORS; k++)
        *r++ = q[AT_LENS + k] / (s->fit_lens ? SW_LENS_PRIOR[k] : 1);
    *r++ = q[AT_FOCAL] / (s->fit_lens && s->focal_u > 0 ? s->focal_u : 1);
    return SW_OK;
}

/* The middle one of the cards' own normals, in camera coordinates, says how the camera is tilted; the middle one of their sizes how
 * high it hangs. */
static void start_tilt(const sw_point (*corners)[4], const story *s, double *q)
{
    double parts[3][SW_SQUARES_MAX];
    size_t n = 0;
    for (int c = 0; c < s->count; c++) {
        double h[3][3];
        if (sw_plane_of_square(s->half[0][0], s->half[0][1], corners[c], h))
            continue;
        double x = h[1][0] * h[2][1] - h[2][0] * h[1][1], y = h[2][0] * h[0][1] - h[0][0] * h[2][1],
               z = h[0][0] * h[1][1] - h[1][0] * h[0][1], way = (z < 0 ? 1 : -1) / sqrt(x * x + y * y + z * z);
        parts[0][n] = s->mirrored * x * way;
        parts[1][n] = -y * way;
        parts[2][n++] = -z * way;
    }
    if (n == 0)
        return;
    double x = sw_median(parts[0], n), y = sw_median(parts[1], n), z = sw_median(parts[2], n);
    q[AT_TILT_X] = atan2(y, z);
    q[AT_TILT_Y] = atan2(-x, hypot(y, z));
}

static sw_point on_unit_plane(const double *q, double mirrored, sw_point normal)
{
    double d[3];
    sight_line(q, mirrored, normal, d);
    return (sw_point){-d[0] / d[2], -d[1] / d[2]};
}

/* Every card level, as high as its size says. */
static void start(const sw_sighting *sightings, story *s, double *q)
{
    double heights[SW_SQUARES_MAX], own[SW_SQUARES_MAX], turn = 0, side_mm = s->half[0][0] + s->half[0][1];
    sw_point corners[SW_SQUARES_MAX][4];
    for (int c = 0; c < s->count; c++) {
        sw_point *p = corners[c];
        for (int k = 0; k < 4; k++)
            p[k] = sw_lens_undistort(&s->lens, sightings[c].quad.corners[k]);
        turn += (p[1].x - p[0].x) * (p[2].y - p[0].y) - (p[1].y - p[0].y) * (p[2].x - p[0].x);
    }
    s->mirrored = turn < 0 ? -1 : 1;
    start_tilt((const sw_point(*)[4])corners, s, q);
    for (int c = 0; c < s->count; c++) {
        double *pose = q + SHARED + POSE * c, round = 0;
        sw_point p[4];
        for (int k = 0; k < 4; k++)
            p[k] = on_unit_plane(q, s->mirrored, corners[c][k]);
        for (int k = 0; k < 4; k++)
            round += hypot(p[k].x - p[(k + 1) % 4].x, p[k].y - p[(k + 1) % 4].y);
        own[c] = heights[c] = side_mm / (round / 4);
        for (int k = 0; k < 4; k++) {
            pose[AT_X] += p[k].x * own[c] / 4;
            pose[AT_Y] += p[k].y * own[c] / 4;
        }
        pose[AT_TURN] = atan2(p[1].y - p[0].y + p[2].y - p[3].y, p[1].x - p[0].x + p[2].x - p[3].x);
    }
    s->height_mm = sw_median(heights, (size_t)s->count);
    for (int c = 0; c < s->count; c++)
        q[SHARED + POSE * c + AT_RISE] = s->height_mm - own[c];
}

static sw_status fit(story *s, double *q)
{
    size_t rows = (size_t)(s->count * (CARD_ROWS + PRIOR_ROWS) + 2 + SW_LENS_PRIORS);
    sw_status status =
        sw_lsq_fit(residuals, s, rows, (size_t)(SHARED + POSE * s->count), true, ROUNDS_MOST, q, NULL, NULL);
    return status == SW_NO_MEMORY ? status : SW_OK; /* else the best that was found is told */
}

static void tell(const story *s, const double *q, sw_card_story *stories)
{
    double px[CARD_ROWS], height_mm = s->height_mm * exp(q[AT_HEIGHT]);
    for (int c = 0; c < s->count; c++) {
        const double *pose = q + SHARED + POSE * c;
        sw_card_story *to = &stories[c];
        double sum = 0, n = 0;
        card_misfits(s, q, c, px);
        to->bend_mm = 0;
        for (int i = 0; i < CARD_ROWS; i++) {
            sum += px[i] * px[i];
            n += px[i] != 0;
            to->bend_mm = fmax(to->bend_mm, fabs(px[i]) / s->cards[c].px_per_mm);
        }
        to->misfit_px = sqrt(sum / fmax(n, 1));
        to->rise_mm = pose[AT_RISE];
        to->slope = hypot(pose[AT_EAST], pose[AT_NORTH]);
        to->size = height_mm / (height_mm - pose[AT_RISE]);
    }
}

/* Leaves out the card that fits a flat square in or near the plane worst, if one is none. */
static bool leave_out_bent(story *s, sw_card_story *stories)
{
    int worst = -1;
    double most = 1;
    for (int c = 0; c < s->count; c++) {
        double allowed_mm = s->cards[c].light ? BENT_CUT_MM : BENT_MM;
        double much = stories[c].misfit_px / fmax(BENT_PX, allowed_mm * s->cards[c].px_per_mm);
        much = fmax(much, stories[c].slope / ASLANT);
        if (!s->cards[c].out && much > most) {
            most = much;
            worst = c;
        }
    }
    if (worst < 0)
        return false;
    s->cards[worst].out = true;
    stories[worst].fault = stories[worst].slope / ASLANT == most ? SW_CARD_ASLANT : SW_CARD_BENT;
    return true;
}

static int by_rise(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The largest set of cards whose rises lie within `width`: its least rise. False when there is no such majority. */
static bool find_most(const story *s, const sw_card_story *stories, double width, double *least)
{
    double rises[SW_SQUARES_MAX];
    int n = 0, best = 0;
    for (int c = 0; c < s->count; c++)
        if (!s->cards[c].out)
            rises[n++] = stories[c].rise_mm;
    qsort(rises, (size_t)n, sizeof *rises, by_rise);
    for (int i = 0; i < n; i++) {
        int held = 0;
        while (i + held < n && rises[i + held] <= rises[i] + width)
            held++;
        if (held > best) {
            best = held;
            *least = rises[i];
        }
    }
    return 2 * best > n;
}

/* Leaves out cards that no step between tops explains. *changed: some were. False when nothing tells which are right: then the fewer
 * of the two largest sets are marked. */
static bool leave_out_sizes(story *s, sw_card_story *stories, double width, bool *changed)
{
    double least = 0;
    bool most = find_most(s, stories, width, &least);
    *changed = false;
    for (int c = 0; c < s->count; c++)
        if (!s->cards[c].out && (stories[c].rise_mm < least || stories[c].rise_mm > least + width)) {
            s->cards[c].out = true;
            stories[c].fault = SW_CARD_OTHER_SIZE;
            *changed = true;
        }
    return most;
}

static int count_in(const story *s)
{
    int n = 0;
    for (int c = 0; c < s->count; c++)
        n += !s->cards[c].out;
    return n;
}

/* Fits, leaves out, fits again until the rest agree. */
static sw_status settle(story *s, const sw_sighting *sightings, sw_card_story *stories, sw_cards_verdict *verdict)
{
    double q[NUMBERS_MOST];
    bool changed = true;
    memset(stories, 0, (size_t)s->count * sizeof *stories);
    *verdict = SW_CARDS_AGREE;
    for (int round = 0; changed; round++) {
        memset(q, 0, sizeof q);
        start(sightings, s, q);
        if (round > 0 && fit(s, q))
            return SW_NO_MEMORY;
        tell(s, q, stories);
        double width = round > 0 ? STEP_MOST_MM + STEP_SLACK_MM : GROSS * s->height_mm;
        if (round > 0 && leave_out_bent(s, stories))
            continue;
        if (count_in(s) == 0) {
            *verdict = SW_CARDS_BENT;
            return SW_OK;
        }
        if (!leave_out_sizes(s, stories, width, &changed)) {
            *verdict = SW_CARDS_DISAGREE;
            return SW_OK;
        }
        changed |= round == 0;
    }
    return SW_OK;
}

/* The same with the lens as if there were no profile: whether all cards then agree. */
static sw_status agree_freely(story *s, const sw_sighting *sightings, bool *agree)
{
    sw_card_story stories[SW_SQUARES_MAX];
    sw_cards_verdict verdict;
    s->fit_lens = true;
    s->focal_u = FOCAL_U;
    for (int c = 0; c < s->count; c++)
        s->cards[c].out = false;
    sw_status status = settle(s, sightings, stories, &verdict);
    *agree = !status && verdict == SW_CARDS_AGREE && count_in(s) == s->count;
    return status;
}

sw_status sw_cards_weigh(const sw_sighting *sightings, int count, const sw_scale *scale, sw_card_story *stories,
                         sw_cards_verdict *verdict)
{
    const sw_reference *ref = &scale->reference;
    bool profile = scale->lens.source == SW_LENS_PROFILE, agree = false;
    story s = {.scale = scale,
               .lens = scale->lens,
               .count = count,
               .fit_lens = !profile,
               .focal_u = scale->focal_u_rel,
               .frames = ref->inner_x_mm > 0,
               .half = {{ref->outer_x_mm / 2, ref->outer_y_mm / 2}, {ref->inner_x_mm / 2, ref->inner_y_mm / 2}}};
    s.cards = calloc((size_t)count, sizeof *s.cards);
    if (!s.cards)
        return SW_NO_MEMORY;
    load(sightings, &s);
    sw_status status = settle(&s, sightings, stories, verdict);
    if (!status && profile && (*verdict != SW_CARDS_AGREE || count_in(&s) < count))
        status = agree_freely(&s, sightings, &agree);
    if (agree)
        *verdict = SW_CARDS_LENS;
    free(s.cards);
    return status;
}
