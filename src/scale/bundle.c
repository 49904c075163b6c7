/* bundle.c - README.md says how the squares' edge points lead to one plane seen through one lens. All squares are loose:
 * only their sides are known. */
#include "scale/bundle.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/line.h"
#include "maths/lsq.h"
#include "scale/lens.h"
#include "scale/plane.h"
#include "scale/side_error.h"

/* Places of the fitted numbers. */
enum {
    AT_H = 0,
    AT_SPREAD = 8,
    AT_LENS = 9,
    AT_FOCAL = 13,
    LENS_NUMBERS = 5,
    AT_POSES = AT_LENS + LENS_NUMBERS,
    POSE = 3
};
enum { NUMBERS_MOST = AT_POSES + POSE * (SW_SQUARES_MAX - 1) };

/* Random error of one edge point, px: what crossings leave after grouping, and what JPEG and mosaic leave along a whole side
 * (seen on flat practice edges; it does not average out over neighbours, so points are not allowed to weigh more). */
static const double POINT_FLOOR_PX = 0.02;
/* Without a frame nothing measures the edge spread: prior, px (0.07 px was seen on sharpened pictures in linear light). */
static const double SPREAD_PRIOR_PX = 0.1;
/* The focal length's logarithm comes after them, with the scale's focal_u_rel: it is fitted only to squares on different levels, which
 * show how high the camera hangs. */
const double SW_LENS_PRIOR[SW_LENS_PRIORS] = {0.08, 0.12, 0.0006, 0.0006};
/* How exactly h1.h2 = 0 and |h1| = |h2| hold for a calibrated camera, relative: focal length good to 0.3 % and a tilt of
 * 0.2 rad give 0.003 * 0.2^2. */
static const double RIGID_SD = 1.5e-4;
/* With a guessed focal length (20 % off) and tilts up to 0.2 rad the same is only good to this. */
static const double RIGID_SD_GUESSED = 0.016;
/* Rounds: four frames settle in under ten. Thirty plain squares on a real board that was not flat took 65, most of them
 * along the valley where scale and spread trade places. A focal length guessed a fifth off needs about 50. */
enum { ROUNDS_MOST = 150 };

typedef struct sight_point {
    sw_point px, normal;
    int square, side, inner;
    bool light_inside; /* the side has its dark outside, as an inner side of a frame or a light card's has */
    double sd;
} sight_point;

typedef struct bundle {
    sw_side_errors sides;
    bool weigh; /* residuals by the common errors of their sides, too */
    sw_lens lens;
    double half[2][2]; /* [inner][x, y] mm */
    sight_point *points;
    int count, squares, numbers, rows;
    bool fit_lens, fit_focal, frames;
    double start_fx, start_fy, focal_u; /* before the fit, px; relative */
    double px_per_mm, start_length;     /* of the first square, and what length_at_origin says of the same */
    sw_top tops[SW_SQUARES_MAX]; /* the top each square lies on, over the mm frame's plane, at the square's middle */
    bool uneven;                 /* some square lies off that plane */
    double camera[3];            /* only when uneven, for the numbers being tried */
    struct {
        double c, s;
    } turns[SW_SQUARES_MAX]; /* of every square's pose, for the numbers being tried */
} bundle;

static void unpack(const double *q, double h[3][3])
{
    for (int i = 0; i < 8; i++)
        h[i / 3][i % 3] = q[AT_H + i];
    h[2][2] = 1;
}

static void undistort_all(bundle *b)
{
    for (int i = 0; i < b->count; i++)
        b->points[i].normal = sw_lens_undistort(&b->lens, b->points[i].px);
}

/* Where the sight line that meets the mm frame's plane at `mm` meets the top under a square whose middle is at `middle`. */
static sw_point on_top(const bundle *b, int square, sw_point middle, sw_point mm)
{
    if (!b->uneven)
        return mm;
    const sw_top *t = &b->tops[square];
    const double *c = b->camera, x = mm.x - c[0], y = mm.y - c[1];
    double over = c[2] - t->rise_mm - t->east * (c[0] - middle.x) - t->north * (c[1] - middle.y);
    double share = over / (c[2] + t->east * x + t->north * y);
    return (sw_point){c[0] + share * x, c[1] + share * y};
}

/* Distance of a point outside its side, mm. */
static double outside_mm(const bundle *b, const double *q, const double to_mm[3][3], const sight_point *p)
{
    const double none[POSE] = {0}, *pose = p->square > 0 ? q + AT_POSES + POSE * (p->square - 1) : none;
    sw_point mm = on_top(b, p->square, (sw_point){pose[0], pose[1]}, sw_plane_apply(to_mm, p->normal));
    if (p->square > 0) {
        double x = mm.x - pose[0], y = mm.y - pose[1], c = b->turns[p->square].c, s = b->turns[p->square].s;
        mm = (sw_point){c * x + s * y, -s * x + c * y};
    }
    double along = p->side == SW_NORTH ? mm.y : p->side == SW_SOUTH ? -mm.y : p->side == SW_EAST ? mm.x : -mm.x;
    return along - b->half[p->inner][p->side == SW_NORTH || p->side == SW_SOUTH];
}

static void put_lens(const double *n, double fx, double fy, sw_lens *lens)
{
    lens->fx = fx;
    lens->fy = fy;
    lens->k1 = n[0];
    lens->k2 = n[1];
    lens->p1 = n[2];
    lens->p2 = n[3];
}

/* Takes over the lens numbers (k1 k2 p1 p2, logarithm of the focal length's change) if they have changed. SW_BAD_INPUT
 * when no lens is like that. */
static sw_status use_lens(bundle *b, const double *n)
{
    sw_lens *l = &b->lens;
    double fx = b->fit_focal ? b->start_fx * exp(n[4]) : b->start_fx,
           fy = b->fit_focal ? b->start_fy * exp(n[4]) : b->start_fy;
    if (n[0] == l->k1 && n[1] == l->k2 && n[2] == l->p1 && n[3] == l->p2 && fx == l->fx)
        return SW_OK;
    if (fabs(n[0]) > 1 || fabs(n[1]) > 2 || fabs(n[2]) > 0.05 || fabs(n[3]) > 0.05 || fabs(n[4]) > 1)
        return SW_BAD_INPUT;
    put_lens(n, fx, fy, l);
    undistort_all(b);
    return SW_OK;
}

/* What a millimetre at the first square's middle is long on the normal plane (root of a square millimetre's area). */
static double length_at_origin(const double h[3][3])
{
    double xx = h[0][0] - h[0][2] * h[2][0], xy = h[0][1] - h[0][2] * h[2][1];
    double yx = h[1][0] - h[1][2] * h[2][0], yy = h[1][1] - h[1][2] * h[2][1];
    return sqrt(fabs(xx * yy - xy * yx));
}

/* Residuals are px, so millimetres are turned into px by the homography tried, not by the one at the start: else a
 * smaller scale would make every residual smaller, and plain squares' scale, held by the spread's prior only, would run
 * away where squares fit badly (a real board that was not flat: 3 %). */
static sw_status residuals(void *context, const double *q, double *r, double *jacobian)
{
    (void)jacobian;
    bundle *b = context;
    double h[3][3], to_mm[3][3];
    unpack(q, h);
    if (sw_invert3(h, to_mm) || (b->uneven && sw_plane_camera(h, b->camera)))
        return SW_BAD_INPUT;
    if (b->fit_lens && use_lens(b, q + AT_LENS))
        return SW_BAD_INPUT;
    double px_per_mm = b->px_per_mm * length_at_origin(h) / b->start_length;
    px_per_mm *= b->fit_focal ? b->lens.fx / b->start_fx : 1; /* a longer lens shows the normal plane larger */
    for (int s = 1; s < b->squares; s++) {
        b->turns[s].c = cos(q[AT_POSES + POSE * (s - 1) + 2]);
        b->turns[s].s = sin(q[AT_POSES + POSE * (s - 1) + 2]);
    }
    for (int i = 0; i < b->count; i++) {
        const sight_point *p = &b->points[i];
        double px = outside_mm(b, q, to_mm, p) * px_per_mm + (p->light_inside ? -1 : 1) * q[AT_SPREAD];
        if (!isfinite(px))
            return SW_BAD_INPUT;
        r[i] = px / p->sd;
    }
    if (b->weigh)
        sw_side_errors_weigh(&b->sides, r);
    double *prior = r + b->count;
    prior[0] = q[AT_SPREAD] / (b->frames ? 10.0 : SPREAD_PRIOR_PX);
    for (int k = 0; k < LENS_NUMBERS - 1; k++)
        prior[1 + k] = q[AT_LENS + k] / (b->fit_lens ? SW_LENS_PRIOR[k] : 1);
    prior[LENS_NUMBERS] = q[AT_FOCAL] / (b->fit_focal ? b->focal_u : 1);
    sw_plane_rigid(h, b->lens.source == SW_LENS_PROFILE || b->fit_focal ? RIGID_SD : RIGID_SD_GUESSED,
                   prior + 1 + LENS_NUMBERS);
    return SW_OK;
}

/* Homography of the first square from its four corners: linear in the eight numbers. */
static sw_status first_homography(const bundle *b, const sw_point *corner_px, double *q)
{
    sw_point normal[4];
    double h[3][3];
    for (int c = 0; c < 4; c++)
        normal[c] = sw_lens_undistort(&b->lens, corner_px[c]);
    if (sw_plane_of_square(b->half[0][0], b->half[0][1], normal, h))
        return SW_BAD_INPUT;
    memcpy(q + AT_H, h, 8 * sizeof *q);
    return SW_OK;
}

/* The points from `first` on are those of one side. */
static void add_side(bundle *b, int first)
{
    double along[SW_SIDE_POINTS], sd[SW_SIDE_POINTS];
    int n = b->count - first;
    for (int i = 0; i < n; i++) {
        const sight_point *p = &b->points[first + i];
        along[i] = hypot(p->px.x - b->points[first].px.x, p->px.y - b->points[first].px.y);
        sd[i] = p->sd;
    }
    sw_side_errors_add(&b->sides, first, n, along, sd);
}

static sw_status load_points(const sw_sighting *sightings, int count, bundle *b)
{
    int room = count * 2 * 4 * SW_SIDE_POINTS;
    b->points = malloc((size_t)room * sizeof *b->points);
    if (!b->points)
        return SW_NO_MEMORY;
    for (int s = 0; s < count; s++)
        for (int rim = 0; rim < sightings[s].rim_count; rim++)
            for (int side = 0; side < 4; side++) {
                int first = b->count;
                for (int i = 0; i < sightings[s].rims[rim].counts[side]; i++) {
                    const sw_side_point *at = &sightings[s].rims[rim].points[side][i];
                    double sd = sightings[s].rims[rim].scatter_px / sqrt(at->weight);
                    b->points[b->count++] = (sight_point){.px = at->px,
                                                          .square = s,
                                                          .side = side,
                                                          .inner = rim,
                                                          .light_inside = rim > 0 || sightings[s].light,
                                                          .sd = sqrt(sd * sd + POINT_FLOOR_PX * POINT_FLOOR_PX)};
                }
                add_side(b, first);
            }
    undistort_all(b);
    return SW_OK;
}

/* Starting pose of every further square: its corners through the first square's homography. */
static void start_poses(const bundle *b, const sw_sighting *sightings, double *q)
{
    double h[3][3], to_mm[3][3];
    unpack(q, h);
    sw_invert3(h, to_mm);
    for (int s = 1; s < b->squares; s++) {
        sw_point mm[4];
        double *pose = q + AT_POSES + POSE * (s - 1);
        for (int c = 0; c < 4; c++) {
            mm[c] = sw_plane_apply(to_mm, sw_lens_undistort(&b->lens, sightings[s].quad.corners[c]));
            pose[0] += mm[c].x / 4;
            pose[1] += mm[c].y / 4;
        }
        pose[2] = atan2(mm[1].y - mm[0].y + mm[2].y - mm[3].y, mm[1].x - mm[0].x + mm[2].x - mm[3].x);
    }
}

/* What the fitted numbers make of a lens when they are moved. */
static void follow_lens(const bundle *b, const double *moved, const double *q, sw_lens *lens)
{
    double longer = b->fit_focal ? exp(moved[AT_FOCAL] - q[AT_FOCAL]) : 1;
    put_lens(moved + AT_LENS, lens->fx * longer, lens->fy * longer, lens);
}

/* q is moved to `moved`, with this lens. */
static void add_alternative(const sw_lens *lens, const double *moved, const double *q, sw_scale *scale)
{
    sw_scale_alternative *a = &scale->alternatives[scale->alternative_count];
    *a = (sw_scale_alternative){.edge_spread_change_px = moved[AT_SPREAD] - q[AT_SPREAD]};
    sw_lens_numbers(lens, a->lens);
    unpack(moved, a->to_plane);
    if (!sw_invert3(a->to_plane, a->to_mm))
        scale->alternative_count++;
}

/* Standard deviations of one square's worth of fitted numbers become alternatives: the columns of the covariance's Cholesky
 * factor, most telling first; poses move no other point and are left out. */
static void add_alternatives(const bundle *b, const double *q, const double *covariance, int n, double inflate,
                             sw_scale *scale)
{
    enum { KEPT = AT_POSES };
    double l[KEPT][KEPT];
    for (int i = 0; i < KEPT; i++)
        for (int j = 0; j < KEPT; j++)
            l[i][j] = covariance[i * n + j] * inflate;
    sw_covariance_root(&l[0][0], KEPT);
    scale->edge_spread_alone_px = l[AT_SPREAD][AT_SPREAD];
    for (int j = 0; j < KEPT && scale->alternative_count < SW_SCALE_ALTERNATIVES; j++) {
        double moved[AT_POSES];
        for (int i = 0; i < KEPT; i++)
            moved[i] = q[i] + l[i][j];
        if (j == AT_SPREAD || (j >= AT_LENS && scale->lens.source != SW_LENS_ESTIMATED) ||
            (j == AT_FOCAL && !b->fit_focal))
            continue;
        sw_lens lens = scale->lens;
        if (lens.source == SW_LENS_ESTIMATED)
            follow_lens(b, moved, q, &lens);
        add_alternative(&lens, moved, q, scale);
    }
}

/* J' r for the Jacobian at q, by central differences with steps of a hundredth standard deviation: fills columns (numbers x rows,
 * one number after the other). */
static sw_status jacobian_columns(bundle *b, const double *q, const double *covariance, double *columns, double *r)
{
    double moved[NUMBERS_MOST];
    int n = b->numbers, rows = b->rows;
    for (int j = 0; j < n; j++) {
        double step = 0.01 * sqrt(covariance[j * n + j]);
        for (int side = 0; side < 2; side++) {
            memcpy(moved, q, (size_t)n * sizeof *moved);
            moved[j] += side ? -step : step;
            if (residuals(b, moved, r, NULL))
                return SW_BAD_INPUT;
            for (int i = 0; i < rows; i++)
                columns[j * rows + i] = side ? (columns[j * rows + i] - r[i]) / (2 * step) : r[i];
        }
    }
    return SW_OK;
}

/* The covariance of numbers fitted to points that are wrong side by side: (J'J)^-1 with weighed residuals; and how far the sides are
 * from what is expected of them. Which numbers are best hardly depends on it, so they stay. room holds numbers x
 * (rows + numbers) + 2 rows. */
static double weigh_sides(bundle *b, const double *q, double *covariance, double *room)
{
    double *columns = room, *r = room + (size_t)b->numbers * (size_t)b->rows;
    int n = b->numbers;
    b->weigh = true;
    if (jacobian_columns(b, q, covariance, columns, r) || residuals(b, q, r, NULL))
        return 1;
    double *normal = r + 2 * b->rows;
    for (int j = 0; j < n; j++)
        for (int k = 0; k <= j; k++) {
            double sum = 0;
            for (int i = 0; i < b->rows; i++)
                sum += columns[j * b->rows + i] * columns[k * b->rows + i];
            normal[j * n + k] = normal[k * n + j] = sum;
        }
    if (!sw_cholesky_invert(normal, (size_t)n))
        memcpy(covariance, normal, (size_t)n * (size_t)n * sizeof *normal);
    return sw_side_errors_misfit(&b->sides, r, n);
}

/* Along each of its independent directions the fitted numbers follow by -(J'J)^-1 J' (change of the residuals). room holds numbers x
 * rows + 2 rows. */
static void add_lens_alternatives(bundle *b, const double *q, const double *covariance, double *room, sw_scale *scale)
{
    double l[SW_LENS_NUMBERS][SW_LENS_NUMBERS], *columns = room, *r0 = room + (size_t)b->numbers * (size_t)b->rows,
                                                *r = r0 + b->rows;
    const sw_lens keep = b->lens;
    if (jacobian_columns(b, q, covariance, columns, r) || residuals(b, q, r0, NULL))
        return;
    sw_lens_unfitted_root(&keep, l);
    for (int j = 0; j < SW_LENS_NUMBERS && scale->alternative_count < SW_SCALE_ALTERNATIVES; j++) {
        double moved[NUMBERS_MOST], side[NUMBERS_MOST], numbers[SW_LENS_NUMBERS];
        if (!(l[j][j] > 0))
            continue;
        sw_lens_numbers(&keep, numbers);
        for (int i = j; i < SW_LENS_NUMBERS; i++)
            numbers[i] += l[i][j];
        sw_lens_take_numbers(numbers, &b->lens);
        undistort_all(b);
        if (!residuals(b, q, r, NULL)) {
            for (int k = 0; k < b->numbers; k++) {
                side[k] = 0;
                for (int i = 0; i < b->rows; i++)
                    side[k] += columns[k * b->rows + i] * (r[i] - r0[i]);
            }
            for (int k = 0; k < b->numbers; k++) {
                moved[k] = q[k];
                for (int i = 0; i < b->numbers; i++)
                    moved[k] -= covariance[k * b->numbers + i] * side[i];
            }
            if (b->fit_lens)
                follow_lens(b, moved, q, &b->lens);
            add_alternative(&b->lens, moved, q, scale);
        }
        b->lens = keep;
    }
    undistort_all(b);
}

/* Corners of a square's rim, px: a lens bends its sides, so they are crossed on the normal plane. Left alone where that fails. */
static void straight_corners(const bundle *b, int square, int inner, sw_point corners[4])
{
    sw_point points[SW_SIDE_POINTS], crossed[4];
    sw_line sides[4];
    for (int side = 0; side < 4; side++) {
        size_t n = 0;
        for (int i = 0; i < b->count && n < SW_SIDE_POINTS; i++)
            if (b->points[i].square == square && b->points[i].inner == inner && b->points[i].side == side)
                points[n++] = b->points[i].normal;
        if (n < 2 || sw_line_fit(points, NULL, n, &sides[side], NULL))
            return;
    }
    for (int c = 0; c < 4; c++)
        if (sw_line_cross(&sides[(c + 3) % 4], &sides[c], &crossed[c]))
            return;
    for (int c = 0; c < 4; c++)
        corners[c] = sw_lens_distort(&b->lens, crossed[c]);
}

static void fill_squares(const bundle *b, const sw_sighting *sightings, const double *q, sw_scale *scale)
{
    const double sx[4] = {-1, 1, 1, -1}, sy[4] = {1, 1, -1, -1};
    for (int s = 0; s < b->squares; s++) {
        double pose[POSE] = {0};
        if (s > 0)
            memcpy(pose, q + AT_POSES + POSE * (s - 1), sizeof pose);
        sw_point outer[4], inner[4] = {{0, 0}};
        memcpy(outer, sightings[s].quad.corners, sizeof outer);
        straight_corners(b, s, 0, outer);
        if (sightings[s].rim_count > 1)
            straight_corners(b, s, 1, inner);
        for (int c = 0; c < 4; c++) {
            double u = sx[c] * b->half[0][0], v = sy[c] * b->half[0][1];
            scale->squares[s].corners_px[c] = outer[c];
            scale->squares[s].inner_px[c] = inner[c];
            scale->squares[s].corners_mm[c] = (sw_point){pose[0] + cos(pose[2]) * u - sin(pose[2]) * v,
                                                         pose[1] + sin(pose[2]) * u + cos(pose[2]) * v};
        }
    }
    scale->square_count = b->squares;
}

static double rms_px(bundle *b, const double *q, double *r)
{
    double sum = 0;
    residuals(b, q, r, NULL);
    for (int i = 0; i < b->count; i++)
        sum += r[i] * r[i] * b->points[i].sd * b->points[i].sd;
    return b->count ? sqrt(sum / b->count) : NAN;
}

sw_status sw_bundle_fit(const sw_sighting *sightings, int count, sw_scale *scale, sw_error *err)
{
    bundle b = {.lens = scale->lens,
                .squares = count,
                .numbers = AT_POSES + POSE * (count - 1),
                .start_fx = scale->lens.fx,
                .start_fy = scale->lens.fy,
                .focal_u = scale->focal_u_rel};
    sw_status status = SW_OK;
    double q[NUMBERS_MOST] = {0}, cost = 0, *covariance = NULL, *r = NULL;
    b.half[0][0] = scale->reference.outer_x_mm / 2;
    b.half[0][1] = scale->reference.outer_y_mm / 2;
    b.half[1][0] = scale->reference.inner_x_mm / 2;
    b.half[1][1] = scale->reference.inner_y_mm / 2;
    b.fit_lens = scale->lens.source == SW_LENS_ESTIMATED;
    b.frames = scale->reference.inner_x_mm > 0;
    b.px_per_mm = sightings[0].quad.size_px / (b.half[0][0] + b.half[0][1]);
    for (int s = 0; s < count; s++) {
        b.tops[s] = sightings[s].top;
        b.uneven |= !sw_top_in_plane(&b.tops[s]);
        b.fit_focal |= b.fit_lens && b.focal_u > 0 && b.tops[s].rise_mm != b.tops[0].rise_mm;
    }
    if (load_points(sightings, count, &b)) {
        status = sw_fail(err, SW_NO_MEMORY, "not enough memory for the reference squares");
        goto done;
    }
    b.rows = b.count + LENS_NUMBERS + 3;
    covariance = malloc((size_t)b.numbers * (size_t)b.numbers * sizeof *covariance);
    r = malloc(((size_t)b.rows * (size_t)(b.numbers + 2) + (size_t)b.numbers * (size_t)b.numbers) * sizeof *r);
    if (!covariance || !r) {
        status = sw_fail(err, SW_NO_MEMORY, "not enough memory for the reference squares");
        goto done;
    }
    if (first_homography(&b, sightings[0].quad.corners, q)) {
        status = sw_fail(err, SW_NOT_FOUND,
                         "the reference square is seen too slanted to be measured; photograph from above");
        goto done;
    }
    double start[3][3];
    unpack(q, start);
    b.start_length = length_at_origin(start);
    start_poses(&b, sightings, q);
    status = sw_lsq_fit(residuals, &b, (size_t)b.rows, (size_t)b.numbers, true, ROUNDS_MOST, q, covariance, &cost);
    if (status && status != SW_NOT_FOUND) {
        status = sw_fail(err, SW_NOT_FOUND,
                         "the reference squares do not fit one flat plane; do they lie flat, all on the tiles?");
        goto done;
    }
    status = SW_OK;
    scale->residual_px = rms_px(&b, q, r); /* at q, so that b.lens is that of q, too */
    scale->lens = b.lens;
    unpack(q, scale->to_plane);
    sw_invert3(scale->to_plane, scale->to_mm);
    scale->px_per_mm = b.px_per_mm * (b.uneven ? 1 - b.tops[0].rise_mm / b.camera[2] : 1);
    scale->edge_spread_px = q[AT_SPREAD];
    scale->edge_spread_u_px = sqrt(covariance[AT_SPREAD * b.numbers + AT_SPREAD]);
    double misfit = fmax(1, fmax(cost / fmax(1, b.rows - b.numbers), weigh_sides(&b, q, covariance, r)));
    scale->misfit = misfit;
    scale->alternative_count = 0;
    add_alternatives(&b, q, covariance, b.numbers, sw_misfit_inflation(misfit), scale);
    if (b.fit_focal)
        scale->focal_u_rel = sqrt(covariance[AT_FOCAL * b.numbers + AT_FOCAL] * sw_misfit_inflation(misfit));
    fill_squares(&b, sightings, q, scale);
    add_lens_alternatives(&b, q, covariance, r, scale);
done:
    free(covariance);
    free(r);
    free(b.points);
    return status;
}
