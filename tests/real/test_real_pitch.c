/* A made checkerboard in two 16-bit photos, two poses before one camera: how even the pitch reads, and whether the widths
 * of its squares repeat.
 *
 * Source: ../shared/real/README.md; photos by J. Blaber (Apache-2.0): 16 x 16 crossings, 2.032 mm apart. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "bundle.h"
#include "calibrate.h"
#include "calibrate_board.h"
#include "calibrate_model.h"
#include "real.h"
#include "stats.h"

enum { POSES = 2, CROSSINGS = 16, SPOTS = CROSSINGS * CROSSINGS };
static const double PITCH_MM = 2.032;

typedef struct pose {
    sw_photo photo;
    sw_board_view seen;
    sw_sight sights[SPOTS];
} pose;

static pose poses[POSES];
static sw_view views[POSES];
static sw_lens lens;

static int find(void **state)
{
    (void)state;
    const sw_checkerboard board = {CROSSINGS + 1, CROSSINGS + 1, PITCH_MM};
    for (int p = 0; p < POSES; p++) {
        char file[64];
        sw_error err = {""};
        snprintf(file, sizeof file, "dot_vision_checker_16276941_cam2_pose%d.png", p + 1);
        real_load("checkerboard-16bit", file, &poses[p].photo);
        if (sw_board_find(&poses[p].photo, board, &poses[p].seen, &err)) {
            printf("%s\n", err.text);
            return -1;
        }
        printf("%zu crossings %d x %d\n", poses[p].seen.count, poses[p].seen.columns, poses[p].seen.rows);
    }
    return 0;
}

static void take(int p)
{
        views[p] = (sw_view){.sights = poses[p].sights, .count = 0, .sides_known = 1};
        for (size_t i = 0; i < poses[p].seen.count && i < SPOTS; i++) {
            const sw_crossing *c = &poses[p].seen.crossings[i];
            poses[p].sights[views[p].count++] = (sw_sight){
                .board_mm = {PITCH_MM * (c->column - 7.5), PITCH_MM * (c->row - 7.5)}, .px = c->px, .u_px = c->u_px};
        }
}

static void explore(void **state)
{
    (void)state;
    for (int round = 0; round < 3; round++) {
    for (int p = 0; p < POSES; p++) take(p);
    const struct { const char *n; sw_solve_options o; } tries[] = {
        {"plain k1 k2 keep", {.keep_all = 1, .priors = 1}}, {"all", {.tangential = 1, .k3 = 1, .shape = 1, .priors = 1}}, {"nob", {.tangential = 1, .k3 = 1, .priors = 1}},{"keep all shape", {.keep_all=1,.shape = 1, .priors = 1}}};
    for (int t = 0; t < 4; t++) {
        sw_solution s;
        sw_error err = {""};
        if (sw_calibrate_solve(views, 2, 2048, 1536, &tries[t].o, &lens, &s, &err)) {
            printf("%s: %s\n", tries[t].n, err.text);
            continue;
        }
        printf("%s: fx %.1f +- %.1f c %.1f %.1f k1 %.4f k2 %.3f rms %.4f (%.4f %.4f) stretch %.5f +- %.5f curve %.3f %.3f %.3f out %zu\n", tries[t].n, lens.fx, sqrt(lens.covariance[0][0]), lens.cx, lens.cy, lens.k1, lens.k2, lens.residual_px, views[0].residual_px, views[1].residual_px, s.stretch, s.u_stretch, s.curve[0], s.curve[1], s.curve[2], s.left_out);
    }
    for (int p = 0; p < POSES; p++) sw_board_refine(&poses[p].photo, &lens, &poses[p].seen);
    }
}

static void plane_of(const sw_view *view, double to_mm[3][3])
{
    sw_rotation rotation;
    double to_plane[3][3];
    sw_rotation_from(view->turn, &rotation);
    for (int i = 0; i < 3; i++) {
        to_plane[i][0] = rotation.r[i][0];
        to_plane[i][1] = rotation.r[i][1];
        to_plane[i][2] = view->shift_mm[i];
    }
    assert_int_equal(sw_invert3(to_plane, to_mm), 0);
}

static void widths(void **state)
{
    (void)state;
    const sw_solve_options o = {.tangential = 1, .k3 = 1, .priors = 1};
    for (int p = 0; p < POSES; p++) take(p);
    assert_int_equal(sw_calibrate_solve(views, 2, 2048, 1536, &o, &lens, NULL, NULL), 0);
    for (int curve = 0; curve < REAL_CURVES; curve++)
        for (int p = 0; p < POSES; p++) {
            sw_photo *photo = &poses[p].photo;
            double to_mm[3][3], w[2][2000];
            size_t n[2] = {0, 0};
            sw_esf esf = {{0}, {0}, 0, 0, 0};
            plane_of(&views[p], to_mm);
            real_set_curve(photo, curve);
            const sw_crossing *at[SPOTS] = {0};
            for (size_t i = 0; i < poses[p].seen.count; i++)
                at[poses[p].seen.crossings[i].row * CROSSINGS + poses[p].seen.crossings[i].column] = &poses[p].seen.crossings[i];
            for (int r = 0; r + 1 < CROSSINGS; r++)
                for (int c = 0; c + 1 < CROSSINGS; c++) {
                    const sw_crossing *q[4] = {at[r * CROSSINGS + c], at[r * CROSSINGS + c + 1], at[(r + 1) * CROSSINGS + c + 1], at[(r + 1) * CROSSINGS + c]};
                    if (!q[0] || !q[1] || !q[2] || !q[3]) continue;
                    sw_point k[4] = {q[0]->px, q[1]->px, q[2]->px, q[3]->px};
                    sw_point m = {(k[0].x + k[2].x) / 2, (k[0].y + k[2].y) / 2}, e = {(k[0].x + k[1].x) / 2, (k[0].y + k[1].y) / 2};
                    sw_point out = {2 * e.x - m.x, 2 * e.y - m.y};
                    int dark = sw_photo_at(photo, (int)m.x, (int)m.y) < sw_photo_at(photo, (int)out.x, (int)out.y);
                    sw_rim_square rim;
                    double side = hypot(k[0].x - k[1].x, k[0].y - k[1].y);
                    if (sw_sides_read(photo, NULL, k, dark, 0.3 * side / 2, &rim, dark ? &esf : NULL) < 4) continue;
                    double pos[4];
                    for (int s = 0; s < 4; s++) {
                        double sum = 0, ws = 0;
                        for (int i = 0; i < rim.counts[s]; i++) {
                            sw_point mm = sw_plane_apply(to_mm, sw_lens_undistort(&lens, rim.points[s][i].px));
                            sum += rim.points[s][i].weight * (s % 2 ? mm.x : mm.y);
                            ws += rim.points[s][i].weight;
                        }
                        pos[s] = sum / ws;
                    }
                    w[dark][n[dark]++] = fabs(pos[1] - pos[3]);
                    w[dark][n[dark]++] = fabs(pos[2] - pos[0]);
                }
            printf("%s pose %d: dark %zu %.4f sd %.4f, light %zu %.4f sd %.4f; halfway %.3f\n", REAL_CURVE_NAMES[curve], p + 1, n[1], sw_mean(w[1], n[1]), sw_deviation(w[1], n[1]), n[0], sw_mean(w[0], n[0]), sw_deviation(w[0], n[0]), real_half_way_px(photo, &esf));
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(explore),
        cmocka_unit_test(widths),
    };
    if (!real_is_there("checkerboard-16bit"))
        return REAL_SKIPPED;
    return cmocka_run_group_tests(tests, find, NULL);
}
