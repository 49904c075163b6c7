/* A made checkerboard in two 16-bit photos, two poses before one camera: how even its pitch reads, and whether the
 * widths of its squares repeat from pose to pose.
 *
 * Source: ../shared/real/README.md; photos by J. Blaber (Apache-2.0): 16 x 16 crossings, 2.032 mm apart. The squares'
 * widths are not known (others' reading: black 2.092 to 2.095 mm, white 1.969 to 1.972 mm in every view).
 *
 * What this can show: the pitch is what the scale is made from, so its mean over the whole board is 2.032 mm whatever
 * we do. It is a check only where the scale was not made: lens and poses from one half of the board, the pitch read in
 * the other half. That tells of crossings, lens and poses together; it tells nothing of the absolute length. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "maths/stats.h"
#include "real/real.h"
#include "scale/calibrate/board.h"
#include "scale/calibrate/calibrate.h"
#include "scale/calibrate/model.h"
#include "scale/plane.h"
#include "support/mean.h"

enum { POSES = 2, ACROSS = 16, CROSSINGS = ACROSS * ACROSS };
static const double PITCH_MM = 2.032;
/* Asked for: pitch, and change of widths between the poses. 5 um is a tenth of a pixel here. */
static const double PITCH_WITHIN = 0.002, WIDTH_WITHIN_MM = 0.005;

typedef struct pose {
    sw_photo photo;
    sw_crossing crossings[CROSSINGS]; /* row after row */
} pose;

static pose poses[POSES];

/* A scale: the lens, and for each pose the way from its plane to mm. */
typedef struct plane {
    sw_lens lens;
    double to_mm[POSES][3][3];
} plane;

typedef struct part {
    int first_column, last_column, first_row, last_row;
} part;
static const part WHOLE = {0, ACROSS - 1, 0, ACROSS - 1};

static int inside(const part *p, const sw_crossing *c)
{
    return c->column >= p->first_column && c->column <= p->last_column && c->row >= p->first_row &&
           c->row <= p->last_row;
}

/* Lens and poses from the crossings of one part of the board, in both photos. */
static int solve(const part *from, plane *out)
{
    static sw_sight sights[POSES][CROSSINGS];
    static const sw_solve_options options = {.tangential = 1, .k3 = 1, .priors = 1};
    sw_view views[POSES];
    sw_error err = {""};
    for (int p = 0; p < POSES; p++) {
        views[p] = (sw_view){.sights = sights[p], .sides_known = 1};
        for (int i = 0; i < CROSSINGS; i++) {
            const sw_crossing *c = &poses[p].crossings[i];
            if (inside(from, c))
                sights[p][views[p].count++] =
                    (sw_sight){.board_mm = {PITCH_MM * c->column, PITCH_MM * c->row}, .px = c->px, .u_px = c->u_px};
        }
    }
    if (sw_calibrate_solve(views, POSES, 2048, 1536, &options, &out->lens, NULL, &err)) {
        printf("%s\n", err.text);
        return -1;
    }
    for (int p = 0; p < POSES; p++) {
        sw_rotation rotation;
        double to_plane[3][3];
        sw_rotation_from(views[p].turn, &rotation);
        for (int i = 0; i < 3; i++) {
            to_plane[i][0] = rotation.r[i][0];
            to_plane[i][1] = rotation.r[i][1];
            to_plane[i][2] = views[p].shift_mm[i];
        }
        if (sw_invert3(to_plane, out->to_mm[p]))
            return -1;
    }
    return 0;
}

static int keep(pose *p, const sw_board_view *seen)
{
    if (seen->count != CROSSINGS || seen->columns != ACROSS || seen->rows != ACROSS) {
        printf("%s: %zu crossings\n", p->photo.file, seen->count);
        return -1;
    }
    for (int i = 0; i < CROSSINGS; i++)
        p->crossings[seen->crossings[i].row * ACROSS + seen->crossings[i].column] = seen->crossings[i];
    return 0;
}

/* Every crossing of both photos, found as the lens profile finds them: two looks. */
static int find(void **state)
{
    (void)state;
    const sw_checkerboard board = {ACROSS + 1, ACROSS + 1, PITCH_MM};
    static sw_board_view seen[POSES];
    plane rough;
    for (int p = 0; p < POSES; p++) {
        char file[64];
        snprintf(file, sizeof file, "dot_vision_checker_16276941_cam2_pose%d.png", p + 1);
        real_load("checkerboard-16bit", file, &poses[p].photo);
        if (sw_board_find(&poses[p].photo, board, &seen[p], NULL) || keep(&poses[p], &seen[p]))
            return -1;
    }
    if (solve(&WHOLE, &rough))
        return -1;
    for (int p = 0; p < POSES; p++) {
        sw_board_refine(&poses[p].photo, &rough.lens, &seen[p]);
        if (keep(&poses[p], &seen[p]))
            return -1;
        sw_board_view_free(&seen[p]);
    }
    return 0;
}

static int give_back(void **state)
{
    (void)state;
    for (int p = 0; p < POSES; p++)
        sw_photo_free(&poses[p].photo);
    return 0;
}

/* ---- pitch ---- */

static sw_point mm_of(const plane *scale, int p, sw_point px)
{
    return sw_plane_apply(scale->to_mm[p], sw_lens_undistort(&scale->lens, px));
}

/* Distances of neighbouring crossings of a part, mm. */
static size_t pitches(const plane *scale, int p, const part *of, double *out)
{
    size_t n = 0;
    for (int i = 0; i < CROSSINGS; i++)
        for (int step = 1; step <= ACROSS; step += ACROSS - 1) {
            if ((step == 1 && i % ACROSS == ACROSS - 1) || i + step >= CROSSINGS)
                continue;
            const sw_crossing *a = &poses[p].crossings[i], *b = &poses[p].crossings[i + step];
            if (!inside(of, a) || !inside(of, b))
                continue;
            sw_point ma = mm_of(scale, p, a->px), mb = mm_of(scale, p, b->px);
            out[n++] = hypot(ma.x - mb.x, ma.y - mb.y);
        }
    return n;
}

static void pitch_in_the_half_not_fitted(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        part fitted, read;
    } halves[] = {
        {"west", {0, 7, 0, 15}, {8, 15, 0, 15}},
        {"east", {8, 15, 0, 15}, {0, 7, 0, 15}},
        {"north", {0, 15, 0, 7}, {0, 15, 8, 15}},
        {"south", {0, 15, 8, 15}, {0, 15, 0, 7}},
    };
    for (int h = 0; h < 4; h++) {
        plane scale;
        assert_int_equal(solve(&halves[h].fitted, &scale), 0);
        for (int p = 0; p < POSES; p++) {
            double mm[2 * CROSSINGS];
            size_t n = pitches(&scale, p, &halves[h].read, mm);
            double mean = mean_of(mm, n);
            printf(
                "scale from the %s half, pose %d: pitch in the other half %.4f mm (%+.3f %%), single ones +-%.4f mm\n",
                halves[h].name, p + 1, mean, 100 * (mean / PITCH_MM - 1), deviation_of(mm, n));
            assert_true(fabs(mean / PITCH_MM - 1) < PITCH_WITHIN);
        }
    }
}

/* Scale from the whole board: how far single distances scatter. A crossing good to 0.05 px each way (2.4 um) makes a
 * distance good to 3.5 um; twice that is allowed. */
static void single_pitches_hardly_scatter(void **state)
{
    (void)state;
    plane scale;
    assert_int_equal(solve(&WHOLE, &scale), 0);
    for (int p = 0; p < POSES; p++) {
        double mm[2 * CROSSINGS];
        size_t n = pitches(&scale, p, &WHOLE, mm);
        double mean = mean_of(mm, n), scatter = deviation_of(mm, n);
        printf("scale from the whole board, pose %d: %zu distances, %.5f mm, single ones +-%.4f mm\n", p + 1, n, mean,
               scatter);
        assert_true(scatter < 0.007);
    }
    printf("lens: %.3f px RMS, fx %.1f +- %.1f, k1 %.3f (two poses only)\n", scale.lens.residual_px, scale.lens.fx,
           sqrt(scale.lens.covariance[0][0]), scale.lens.k1);
}

/* ---- widths ---- */

/* Place of the sides that way (0: north and south, 1: east and west) of the square whose north-west crossing is i, mm,
 * read along the middle half of the side only: the neighbours' edges begin at its ends. */
static int read_across(const plane *scale, int p, int i, int way, int dark, double *width_mm)
{
    /* Share of half the side, 7 px: both poses can be read to the same distance from the edge (one lies at 45 degrees
     * to the rows, where a crossing reaches no farther). How far the levels are read makes the widths: 2.072 mm at 5
     * px. */
    static const double REACH = 0.35;
    const sw_crossing *c = poses[p].crossings;
    const sw_point k[4] = {c[i].px, c[i + 1].px, c[i + ACROSS + 1].px, c[i + ACROSS].px};
    sw_point cut[4];
    sw_rim_square rim;
    double at[4], side = hypot(k[0].x - k[1].x, k[0].y - k[1].y);
    for (int n = 0; n < 4; n++) {
        const sw_point *other = &k[way == 0 ? n ^ 1 : 3 - n];
        cut[n] = (sw_point){k[n].x + 0.25 * (other->x - k[n].x), k[n].y + 0.25 * (other->y - k[n].y)};
    }
    sw_sides_read(&poses[p].photo, NULL, cut, dark, REACH * side / 2, &rim, NULL);
    for (int s = way; s < 4; s += 2) {
        double sum = 0, weight = 0;
        for (int n = 0; n < rim.counts[s]; n++) {
            sw_point mm = mm_of(scale, p, rim.points[s][n].px);
            sum += rim.points[s][n].weight * (way == 0 ? mm.y : mm.x);
            weight += rim.points[s][n].weight;
        }
        if (rim.counts[s] < 3)
            return -1;
        at[s] = sum / weight;
    }
    *width_mm = fabs(at[way] - at[way + 2]);
    return 0;
}

static int is_dark(int p, int i)
{
    const sw_photo *photo = &poses[p].photo;
    const sw_crossing *c = &poses[p].crossings[i];
    sw_point here = {c->px.x + (c->across.x + c->down.x) / 2, c->px.y + (c->across.y + c->down.y) / 2};
    sw_point east = {here.x + c->across.x, here.y + c->across.y};
    return sw_photo_at(photo, (int)here.x, (int)here.y) < sw_photo_at(photo, (int)east.x, (int)east.y);
}

/* Mean width of the dark or the light squares, across and down. */
static double mean_width(const plane *scale, int p, int dark, double *scatter_mm)
{
    double widths[2 * CROSSINGS];
    size_t n = 0, squares = 0;
    for (int i = 0; i < CROSSINGS - ACROSS; i++) {
        if (i % ACROSS == ACROSS - 1 || is_dark(p, i) != dark)
            continue;
        squares++;
        for (int way = 0; way < 2; way++)
            n += read_across(scale, p, i, way, dark, &widths[n]) == 0;
    }
    assert_in_range(squares, 112, 113);
    assert_true(n >= 2 * squares - 4);
    *scatter_mm = deviation_of(widths, n);
    return mean_of(widths, n);
}

/* The camera is no phone: its stored values go with the light, so they are taken as they are; the sRGB curve is tried
 * to show the difference. */
static void widths_repeat_from_pose_to_pose(void **state)
{
    (void)state;
    plane scale;
    double scatter[REAL_CURVES][2];
    assert_int_equal(solve(&WHOLE, &scale), 0);
    for (int curve = 0; curve < REAL_CURVES; curve++)
        for (int dark = 0; dark < 2; dark++) {
            double width[POSES];
            for (int p = 0; p < POSES; p++) {
                real_set_curve(&poses[p].photo, curve);
                width[p] = mean_width(&scale, p, dark, &scatter[curve][dark]);
            }
            printf("%s, %s squares: %.4f and %.4f mm in the two poses, %+.1f um; single ones +-%.1f um\n",
                   REAL_CURVE_NAMES[curve], dark ? "black" : "white", width[0], width[1], 1000 * (width[1] - width[0]),
                   1000 * scatter[curve][dark]);
            assert_true(fabs(width[1] - width[0]) < WIDTH_WITHIN_MM);
        }
    assert_true(scatter[REAL_STRAIGHT][0] < scatter[REAL_SRGB][0] && scatter[REAL_STRAIGHT][1] < scatter[REAL_SRGB][1]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pitch_in_the_half_not_fitted),
        cmocka_unit_test(single_pitches_hardly_scatter),
        cmocka_unit_test(widths_repeat_from_pose_to_pose),
    };
    if (!real_is_there("checkerboard-16bit"))
        return REAL_SKIPPED;
    return cmocka_run_group_tests(tests, find, give_back);
}
