/* The solver behind the lens profile, on corner lists: against a published camera, against made cameras, and its
 * uncertainties against what really scatters. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "maths/lsq.h"
#include "scale/calibrate/calibrate.h"
#include "scale/calibrate/model.h"
#include "scale/calibrate/notes.h"
#include "support/zhang_corners.h"

enum { VIEWS = 8, COLUMNS = 9, ROWS = 6, CORNERS = COLUMNS * ROWS };

static const sw_solve_options ALL = {.tangential = 1, .k3 = 1, .shape = 1, .priors = 1};

/* ---- Zhang's data ---- */

static void zhang_views(sw_view views[ZHANG_VIEWS], sw_sight *sights)
{
    static const double X[4] = {0, 0.5, 0.5, 0}, Y[4] = {-0.5, -0.5, 0, 0};
    const double inch = 25.4, pitch = 0.888889;
    for (int v = 0; v < ZHANG_VIEWS; v++) {
        views[v] = (sw_view){.sights = sights + v * ZHANG_CORNERS, .count = ZHANG_CORNERS, .sides_known = 1};
        for (int i = 0; i < ZHANG_CORNERS; i++) {
            int column = i / 4 % 8, row = i / 32;
            views[v].sights[i] = (sw_sight){
                .board_mm = {inch * (pitch * column + X[i % 4]), inch * (-pitch * row + Y[i % 4])},
                .px = {ZHANG[v][2 * i], ZHANG[v][2 * i + 1]},
                .u_px = 1,
            };
        }
    }
}

/* k1 and k2 only, as Zhang fitted; he let the axes be skew (by 0.2 px in 832) and fx, fy apart. */
static void zhang_published_camera(void **state)
{
    (void)state;
    static sw_sight sights[ZHANG_VIEWS * ZHANG_CORNERS];
    sw_view views[ZHANG_VIEWS];
    for (int fy = 0; fy < 2; fy++) {
        const sw_solve_options options = {.fy = fy, .keep_all = 1};
        sw_lens lens;
        zhang_views(views, sights);
        assert_int_equal(sw_calibrate_solve(views, ZHANG_VIEWS, 640, 480, &options, &lens, NULL, NULL), SW_OK);
        assert_true(fabs(lens.fx - 832.5) < 0.5);
        assert_true(fabs(lens.fy - 832.53) < 0.5);
        assert_true(fabs(lens.cx - 303.959) < 0.5);
        assert_true(fabs(lens.cy - 206.585) < 0.5);
        assert_true(fabs(lens.k1 - -0.228601) < 0.001);
        assert_true(fabs(lens.k2 - 0.190353) < 0.005);
        assert_true(lens.p1 == 0 && lens.p2 == 0 && lens.k3 == 0);
    }
}

/* ---- made views ---- */

typedef struct made_views {
    sw_view views[VIEWS];
    sw_sight sights[VIEWS][CORNERS];
    uint64_t state;
} made_views;

/* Sum of 12 uniform numbers less 6: mean 0, standard deviation 1. */
static double noise(uint64_t *state)
{
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        *state = *state * 6364136223846793005u + 1442695040888963407u; /* Knuth, MMIX */
        sum += (double)(*state >> 11) / 9007199254740992.0;
    }
    return sum;
}

static const double CAMERA[SW_CAMERA_NUMBERS] = {
    [SW_F] = 2900,       [SW_RATIO] = 1,       [SW_LENS_CX] = 2010,    [SW_LENS_CY] = 1480, [SW_LENS_K1] = 0.11,
    [SW_LENS_K2] = -0.3, [SW_LENS_P1] = 0.001, [SW_LENS_P2] = -0.0007, [SW_LENS_K3] = 0.25, [SW_STRETCH] = 1};

/* The board slanted by 29 degrees to a different side in each view, all over the frame; noise_px per axis. */
static void make_views(made_views *m, const double camera[SW_CAMERA_NUMBERS], double noise_px)
{
    const double scale = camera[SW_F] / 2900;
    for (int v = 0; v < VIEWS; v++) {
        double turn[3] = {0.5 * cos(2.4 * v), 0.5 * sin(2.4 * v), 0.4 * (v % 5 - 2)};
        double shift[3] = {55 * (v % 4 - 1.5), 70 * (v / 4 - 0.5), scale * (360 + 50 * (v % 3))};
        sw_rotation rotation;
        sw_rotation_from(turn, &rotation);
        m->views[v] = (sw_view){.sights = m->sights[v], .count = CORNERS, .sides_known = 1};
        for (int i = 0; i < CORNERS; i++) {
            sw_projected at;
            sw_sight *s = &m->sights[v][i];
            s->board_mm = (sw_point){25 * (i % COLUMNS - (COLUMNS - 1) / 2.0), 25 * (i / COLUMNS - (ROWS - 1) / 2.0)};
            assert_int_equal(sw_model_project(camera, &rotation, shift, s->board_mm, 1, 0, &at), 0);
            s->px = (sw_point){at.px.x + noise_px * noise(&m->state), at.px.y + noise_px * noise(&m->state)};
            s->u_px = 0.02;
            s->left_out = 1; /* the solver must not care */
        }
    }
}

static sw_status solve(made_views *m, const sw_solve_options *options, sw_lens *lens, sw_solution *solution)
{
    return sw_calibrate_solve(m->views, VIEWS, 4000, 3000, options, lens, solution, NULL);
}

static void exact_corners_give_the_exact_camera(void **state)
{
    (void)state;
    static made_views m;
    const sw_solve_options options = {.tangential = 1, .k3 = 1};
    sw_lens lens;
    make_views(&m, CAMERA, 0);
    assert_int_equal(solve(&m, &options, &lens, NULL), SW_OK);
    assert_true(fabs(lens.fx - 2900) < 1e-4 && lens.fy == lens.fx);
    assert_true(fabs(lens.cx - 2010) < 1e-4 && fabs(lens.cy - 1480) < 1e-4);
    assert_true(fabs(lens.k1 - 0.11) < 1e-7 && fabs(lens.k2 - -0.3) < 1e-6 && fabs(lens.k3 - 0.25) < 1e-6);
    assert_true(fabs(lens.p1 - 0.001) < 1e-8 && fabs(lens.p2 - -0.0007) < 1e-8);
    assert_true(lens.residual_px < 1e-5);
    assert_int_equal(lens.source, SW_LENS_PROFILE);
    assert_int_equal(lens.photos, VIEWS);
    assert_int_equal(lens.width_px, 4000);
    assert_int_equal(lens.height_px, 3000);
}

/* The distance of a result from the truth in its own covariance is chi-squared with 8 degrees of freedom (fx = fy is
 * one number): over 30 trials its mean lies within 8 +- 4 sqrt(16 / 30) = 8 +- 2.9 for all but one run in 15000. */
static void the_covariance_is_what_scatters(void **state)
{
    (void)state;
    enum { TRIALS = 30, FREE = 8 };
    static const int AT[FREE] = {0, 2, 3, 4, 5, 6, 7, 8};
    static made_views m;
    double sum = 0, residuals = 0;
    for (int trial = 0; trial < TRIALS; trial++) {
        sw_lens lens;
        double c[FREE * FREE], off[FREE], along[FREE];
        make_views(&m, CAMERA, 0.05);
        assert_int_equal(solve(&m, &ALL, &lens, NULL), SW_OK);
        const double found[9] = {lens.fx, lens.fy, lens.cx, lens.cy, lens.k1, lens.k2, lens.p1, lens.p2, lens.k3};
        const double truth[9] = {2900, 2900, 2010, 1480, 0.11, -0.3, 0.001, -0.0007, 0.25};
        for (int i = 0; i < FREE; i++) {
            off[i] = along[i] = found[AT[i]] - truth[AT[i]];
            for (int k = 0; k < FREE; k++)
                c[i * FREE + k] = lens.covariance[AT[i]][AT[k]];
        }
        assert_int_equal(sw_cholesky_solve(c, along, FREE), 0);
        for (int i = 0; i < FREE; i++)
            sum += off[i] * along[i];
        residuals += lens.residual_px;
        assert_true(lens.covariance[0][1] == lens.covariance[0][0]);
        assert_true(lens.covariance[1][4] == lens.covariance[4][0]);
    }
    assert_true(fabs(sum / TRIALS - FREE) < 2.9);
    /* RMS distance: sqrt(2) noise, less the share that 60 numbers take from 864. */
    assert_true(fabs(residuals / TRIALS - 0.05 * sqrt(2 * (1 - 60 / 864.0))) < 0.002);
}

static void wrong_corners_are_left_out(void **state)
{
    (void)state;
    static made_views m;
    sw_lens with, without;
    sw_solution solution;
    m.state = 7;
    make_views(&m, CAMERA, 0.02);
    assert_int_equal(solve(&m, &ALL, &without, NULL), SW_OK);
    m.state = 7;
    make_views(&m, CAMERA, 0.02);
    for (int i = 0; i < 6; i++)
        m.sights[i][9 * i].px.x += i % 2 ? 3 : -1;
    assert_int_equal(solve(&m, &ALL, &with, &solution), SW_OK);
    assert_in_range(solution.left_out, 6, 7);
    for (int i = 0; i < 6; i++)
        assert_int_equal(m.sights[i][9 * i].left_out, 1);
    assert_true(fabs(with.fx - without.fx) < 0.2 * sqrt(without.covariance[0][0]) + 0.01);
    assert_true(with.residual_px < 0.03);
}

static void a_bent_and_stretched_board_is_seen_through(void **state)
{
    (void)state;
    static made_views m;
    double camera[SW_CAMERA_NUMBERS];
    sw_lens lens;
    sw_solution solution;
    memcpy(camera, CAMERA, sizeof camera);
    camera[SW_STRETCH] = 1.006;
    camera[SW_CURVE_XX] = 0.15;
    camera[SW_CURVE_XY] = -0.05;
    camera[SW_CURVE_YY] = 0.03;
    make_views(&m, camera, 0.02);
    assert_int_equal(solve(&m, &ALL, &lens, &solution), SW_OK);
    assert_true(fabs(solution.stretch - 1.006) < 5 * solution.u_stretch && solution.u_stretch < 1e-4);
    for (int i = 0; i < 3; i++)
        assert_true(fabs(solution.curve[i] - camera[SW_CURVE_XX + i]) < 5 * solution.u_curve[i]);
    assert_true(fabs(lens.fx - 2900) < 5 * sqrt(lens.covariance[0][0]));
    sw_notes notes = {0};
    assert_int_equal(sw_note_board(m.views, VIEWS, &lens, &solution, &notes), SW_OK);
    assert_int_equal(notes.count, 2);
    assert_non_null(strstr(notes.list[0].text, "bent"));
    assert_non_null(strstr(notes.list[1].text, "0.6 % taller"));
    sw_notes_free(&notes);
    /* Taken for flat, it bends the lens. */
    const sw_solve_options flat = {.tangential = 1, .k3 = 1, .priors = 1};
    assert_int_equal(solve(&m, &flat, &lens, NULL), SW_OK);
    assert_true(lens.residual_px > 0.2);
}

/* Through a telephoto lens with barrel distortion OpenCV's start has some slants mirrored (without a second look at
 * them the fit ends at f 14900 and 5 px). */
static void mirrored_slants_are_told_apart(void **state)
{
    (void)state;
    static made_views m;
    double camera[SW_CAMERA_NUMBERS];
    sw_lens lens;
    memcpy(camera, CAMERA, sizeof camera);
    camera[SW_F] = 9800;
    camera[SW_LENS_K1] = -3.7;
    camera[SW_LENS_K2] = camera[SW_LENS_K3] = 0;
    make_views(&m, camera, 0.01);
    assert_int_equal(solve(&m, &ALL, &lens, NULL), SW_OK);
    assert_true(lens.residual_px < 0.02);
    assert_true(fabs(lens.fx - 9800) < 5 * sqrt(lens.covariance[0][0]));
}

/* The board far away in the middle of the frame tells nothing of the third radial term; the priors keep it calm, and
 * what is not known is said. */
static void priors_keep_calm_what_is_not_seen(void **state)
{
    (void)state;
    static made_views m;
    double camera[SW_CAMERA_NUMBERS];
    sw_lens calm, wild;
    memcpy(camera, CAMERA, sizeof camera);
    camera[SW_LENS_K1] = camera[SW_LENS_K2] = camera[SW_LENS_K3] = 0;
    m.state = 5;
    make_views(&m, camera, 0);
    for (int v = 0; v < VIEWS; v++) {
        double turn[3] = {0.5 * cos(2.4 * v), 0.5 * sin(2.4 * v), 0.4 * (v % 5 - 2)};
        double shift[3] = {60 * (v % 4 - 1.5), 70 * (v / 4 - 0.5), 1400};
        sw_rotation rotation;
        sw_projected at;
        sw_rotation_from(turn, &rotation);
        for (int i = 0; i < CORNERS; i++) {
            assert_int_equal(sw_model_project(camera, &rotation, shift, m.sights[v][i].board_mm, 1, 0, &at), 0);
            m.sights[v][i].px = (sw_point){at.px.x + 0.1 * noise(&m.state), at.px.y + 0.1 * noise(&m.state)};
        }
    }
    const sw_solve_options free = {.tangential = 1, .k3 = 1};
    assert_int_equal(solve(&m, &ALL, &calm, NULL), SW_OK);
    /* r at the frame's corner is 0.862: a tenth of the way there is the prior of k3 r^6, and it holds k3 within 0.24.
     */
    assert_true(sqrt(calm.covariance[8][8]) < 0.25);
    assert_true(fabs(calm.k3) < 0.75);
    assert_true(fabs(calm.fx - 2900) < 5 * sqrt(calm.covariance[0][0]));
    sw_status status = solve(&m, &free, &wild, NULL);
    assert_true(status != SW_OK || sqrt(wild.covariance[8][8]) > 2);
}

static void mirroring_twice_is_nothing(void **state)
{
    (void)state;
    static const double TURNS[][3] = {{0.5, 0.2, -0.3}, {2.9, 0.4, -0.8}, {0.01, 0, 0}, {-1, 2, 2}};
    const double shift[3] = {100, -50, 400};
    for (int i = 0; i < 4; i++) {
        double once[3], twice[3];
        sw_rotation a, b;
        sw_mirror_turn(TURNS[i], shift, once);
        sw_mirror_turn(once, shift, twice);
        sw_rotation_from(TURNS[i], &a);
        sw_rotation_from(twice, &b);
        for (int k = 0; k < 9; k++)
            assert_true(fabs(a.r[k / 3][k % 3] - b.r[k / 3][k % 3]) < 1e-9);
    }
}

static void the_slopes_are_slopes(void **state)
{
    (void)state;
    double camera[SW_CAMERA_NUMBERS], pose[6] = {0.4, -0.3, 0.7, 30, -20, 400};
    memcpy(camera, CAMERA, sizeof camera);
    camera[SW_RATIO] = 1.01;
    camera[SW_STRETCH] = 1.02;
    camera[SW_CURVE_XX] = 0.5;
    camera[SW_CURVE_XY] = 0.3;
    camera[SW_CURVE_YY] = -0.4;
    const sw_point corner = {75, -50};
    sw_rotation rotation;
    sw_projected at, high, low;
    sw_rotation_from(pose, &rotation);
    assert_int_equal(sw_model_project(camera, &rotation, pose + 3, corner, 1, 1, &at), 0);
    for (int i = 0; i < SW_CAMERA_NUMBERS + SW_POSE_NUMBERS; i++) {
        int of_pose = i - SW_CAMERA_NUMBERS;
        double *number = of_pose < 0 ? &camera[i] : &pose[of_pose], was = *number, h = 1e-6 * fmax(1, fabs(was));
        *number = was + h;
        sw_rotation_from(pose, &rotation);
        sw_model_project(camera, &rotation, pose + 3, corner, 1, 0, &high);
        *number = was - h;
        sw_rotation_from(pose, &rotation);
        sw_model_project(camera, &rotation, pose + 3, corner, 1, 0, &low);
        *number = was;
        double x = (high.px.x - low.px.x) / (2 * h), y = (high.px.y - low.px.y) / (2 * h);
        double got_x = of_pose < 0 ? at.by_camera[0][i] : at.by_pose[0][of_pose];
        double got_y = of_pose < 0 ? at.by_camera[1][i] : at.by_pose[1][of_pose];
        assert_true(fabs(got_x - x) < 1e-6 * (1 + fabs(x)) && fabs(got_y - y) < 1e-6 * (1 + fabs(y)));
    }
}

/* Square-on views show a scale and no focal length. */
static void square_on_views_leave_the_focal_length_open(void **state)
{
    (void)state;
    static made_views m;
    sw_lens lens;
    m.state = 3;
    make_views(&m, CAMERA, 0);
    for (int v = 0; v < VIEWS; v++) {
        double turn[3] = {0, 0, 0.3 * v}, shift[3] = {30 * (v % 3 - 1), 20 * (v / 3 - 1), 400};
        sw_rotation rotation;
        sw_projected at;
        sw_rotation_from(turn, &rotation);
        for (int i = 0; i < CORNERS; i++) {
            sw_model_project(CAMERA, &rotation, shift, m.sights[v][i].board_mm, 1, 0, &at);
            m.sights[v][i].px = (sw_point){at.px.x + 0.1 * noise(&m.state), at.px.y + 0.1 * noise(&m.state)};
        }
    }
    sw_status status = solve(&m, &ALL, &lens, NULL);
    assert_true(status == SW_BAD_INPUT || sqrt(lens.covariance[0][0]) / lens.fx > 0.02);
}

static void too_few_corners_are_refused(void **state)
{
    (void)state;
    static made_views m;
    sw_lens lens, none;
    sw_error err = {{0}};
    memset(&none, 0, sizeof none);
    make_views(&m, CAMERA, 0);
    m.views[0].count = 4;
    assert_int_equal(sw_calibrate_solve(m.views, 1, 4000, 3000, &ALL, &lens, NULL, &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, "too few"));
    assert_memory_equal(&lens, &none, sizeof lens);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(zhang_published_camera),
        cmocka_unit_test(exact_corners_give_the_exact_camera),
        cmocka_unit_test(the_covariance_is_what_scatters),
        cmocka_unit_test(wrong_corners_are_left_out),
        cmocka_unit_test(a_bent_and_stretched_board_is_seen_through),
        cmocka_unit_test(mirrored_slants_are_told_apart),
        cmocka_unit_test(priors_keep_calm_what_is_not_seen),
        cmocka_unit_test(mirroring_twice_is_nothing),
        cmocka_unit_test(the_slopes_are_slopes),
        cmocka_unit_test(square_on_views_leave_the_focal_length_open),
        cmocka_unit_test(too_few_corners_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
