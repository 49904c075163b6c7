/* Joints of known width in real photos: five photos of 8 x 8 black squares with white joints, read with our own square
 * finder and our own rims.
 *
 * Source: Z. Zhang, "A flexible new technique for camera calibration", Microsoft Research technical report MSR-TR-98-71
 * (1998): CalibIm1 to CalibIm5, and the corners published with them. Squares of 0.5 inch, 0.888889 inch apart: joints of
 * 0.388889 inch, 9.878 mm. */
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
#include "calibrate_model.h"
#include "real.h"
#include "stats.h"
#include "../unit/zhang_corners.h"

enum { SIDE = 8, SQUARES = SIDE * SIDE, JOINTS = 2 * SIDE * (SIDE - 1) };
static const double INCH_MM = 25.4, SIDE_MM = 12.7, PITCH_MM = 0.888889 * 25.4, JOINT_MM = 0.888889 * 25.4 - 12.7;

/* Where the four sides of each square lie on the board, mm: x of east and west, y of north and south. */
typedef struct sides_mm {
    int seen[SQUARES];
    double at[SQUARES][4];
} sides_mm;

typedef struct joints {
    size_t count;
    double mean_mm, scatter_mm;
    double pitch_mm; /* mean distance of neighbouring squares' middles */
} joints;

static sw_sight sights[ZHANG_VIEWS * ZHANG_CORNERS];
static sw_view views[ZHANG_VIEWS];
static sw_lens lens;

static int solve(void **state)
{
    (void)state;
    static const double X[4] = {0, 0.5, 0.5, 0}, Y[4] = {-0.5, -0.5, 0, 0};
    const sw_solve_options as_published = {.fy = 1, .keep_all = 1};
    for (int v = 0; v < ZHANG_VIEWS; v++) {
        views[v] = (sw_view){.sights = sights + v * ZHANG_CORNERS, .count = ZHANG_CORNERS, .sides_known = 1};
        for (int i = 0; i < ZHANG_CORNERS; i++)
            views[v].sights[i] = (sw_sight){.board_mm = {PITCH_MM * (i / 4 % SIDE) + INCH_MM * X[i % 4],
                                                         -PITCH_MM * (i / 4 / SIDE) + INCH_MM * Y[i % 4]},
                                            .px = {ZHANG[v][2 * i], ZHANG[v][2 * i + 1]},
                                            .u_px = 1};
    }
    return sw_calibrate_solve(views, ZHANG_VIEWS, 640, 480, &as_published, &lens, NULL, NULL) == SW_OK ? 0 : -1;
}

/* Photo -> the board's plane, through the camera and the pose that the published corners have. */
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

static sw_point on_board(const double to_mm[3][3], sw_point px)
{
    return sw_plane_apply(to_mm, sw_lens_undistort(&lens, px));
}

static void published_sides(int v, sides_mm *s)
{
    double to_mm[3][3];
    plane_of(&views[v], to_mm);
    for (int k = 0; k < SQUARES; k++) {
        sw_point c[4];
        for (int i = 0; i < 4; i++)
            c[i] = on_board(to_mm, views[v].sights[4 * k + i].px);
        s->seen[k] = 1;
        s->at[k][SW_NORTH] = (c[0].y + c[1].y) / 2;
        s->at[k][SW_EAST] = (c[1].x + c[2].x) / 2;
        s->at[k][SW_SOUTH] = (c[2].y + c[3].y) / 2;
        s->at[k][SW_WEST] = (c[3].x + c[0].x) / 2;
    }
}

/* Which square of the board has these corners, to within 3 px; -1: none. */
static int square_at(int v, const sw_point *corners)
{
    for (int k = 0; k < SQUARES; k++) {
        double off = 0;
        for (int i = 0; i < 4; i++)
            off = fmax(off, hypot(corners[i].x - views[v].sights[4 * k + i].px.x,
                                  corners[i].y - views[v].sights[4 * k + i].px.y));
        if (off < 3)
            return k;
    }
    return -1;
}

/* Rough corners of all squares by the square finder, which takes up to 32 at a time: strips of the photo, each square
 * (some 30 px) whole in one of them. */
static void find_squares(const sw_photo *photo, int v, int *found, sw_point rough[SQUARES][4])
{
    enum { STRIP_PX = 160, STEP_PX = 80, WINDOW_PX = 30 };
    memset(found, 0, SQUARES * sizeof *found);
    for (int top = 0; top + STRIP_PX <= photo->height_px; top += STEP_PX) {
        sw_photo strip = *photo;
        sw_small small;
        sw_quad quads[SW_SQUARES_MAX];
        strip.luma8 += top * photo->width_px;
        strip.height_px = STRIP_PX;
        assert_int_equal(sw_small_make(&strip, &small, NULL), SW_OK);
        int count = sw_quads_find(&strip, &small, WINDOW_PX, quads);
        sw_small_free(&small);
        for (int i = 0; i < count; i++) {
            for (int c = 0; c < 4; c++)
                quads[i].corners[c].y += top;
            int k = square_at(v, quads[i].corners);
            if (k < 0)
                continue;
            found[k] = 1;
            memcpy(rough[k], quads[i].corners, sizeof quads[i].corners);
        }
    }
}

static double side_at(const double to_mm[3][3], const sw_rim_square *rim, int side)
{
    double sum = 0, weight = 0;
    for (int i = 0; i < rim->counts[side]; i++) {
        const sw_side_point *p = &rim->points[side][i];
        sw_point mm = on_board(to_mm, p->px);
        sum += p->weight * (side == SW_NORTH || side == SW_SOUTH ? mm.y : mm.x);
        weight += p->weight;
    }
    return sum / weight;
}

static void own_sides(const sw_photo *photo, int v, const sw_response *response, sides_mm *s, sw_esf *esf)
{
    static sw_point rough[SQUARES][4];
    double to_mm[3][3];
    plane_of(&views[v], to_mm);
    find_squares(photo, v, s->seen, rough);
    for (int k = 0; k < SQUARES; k++) {
        sw_rim_square rim;
        if (s->seen[k] && real_read_square(photo, response, rough[k], &rim, esf))
            s->seen[k] = 0;
        for (int side = 0; s->seen[k] && side < 4; side++)
            s->at[k][side] = side_at(to_mm, &rim, side);
    }
}

/* All joints between neighbours that are both seen. Rows of the board go north, as its y does southwards. */
static joints join(const sides_mm *s)
{
    double widths[JOINTS], pitches[JOINTS];
    joints j = {0};
    for (int k = 0; k < SQUARES; k++) {
        int east = k + 1, north = k + SIDE;
        if (k % SIDE < SIDE - 1 && s->seen[k] && s->seen[east]) {
            widths[j.count] = s->at[east][SW_WEST] - s->at[k][SW_EAST];
            pitches[j.count++] = (s->at[east][SW_WEST] + s->at[east][SW_EAST] - s->at[k][SW_WEST] - s->at[k][SW_EAST]) / 2;
        }
        if (north < SQUARES && s->seen[k] && s->seen[north]) {
            widths[j.count] = s->at[k][SW_NORTH] - s->at[north][SW_SOUTH];
            pitches[j.count++] = (s->at[k][SW_NORTH] + s->at[k][SW_SOUTH] - s->at[north][SW_NORTH] - s->at[north][SW_SOUTH]) / 2;
        }
    }
    j.mean_mm = sw_mean(widths, j.count);
    j.scatter_mm = sw_deviation(widths, j.count);
    j.pitch_mm = sw_mean(pitches, j.count);
    return j;
}

static void explore(void **state)
{
    (void)state;
    printf("fx %.3f fy %.3f cx %.3f cy %.3f k1 %.5f k2 %.5f rms %.4f\n", lens.fx, lens.fy, lens.cx, lens.cy, lens.k1, lens.k2, lens.residual_px);
    for (int v = 0; v < ZHANG_VIEWS; v++) {
        static sides_mm s;
        published_sides(v, &s);
        joints p = join(&s);
        printf("view %d published: %zu joints mean %.3f scatter %.3f pitch %.3f\n", v + 1, p.count, p.mean_mm, p.scatter_mm, p.pitch_mm);
        for (int curve = 0; curve < REAL_CURVES; curve++) {
            char file[32];
            sw_photo photo;
            sw_esf esf = {{0}, {0}, 0, 0, 0};
            snprintf(file, sizeof file, "CalibIm%d.png", v + 1);
            real_load("zhang", file, &photo);
            real_set_curve(&photo, curve);
            own_sides(&photo, v, NULL, &s, &esf);
            joints o = join(&s);
            sw_response r = sw_response_fit(&photo, &esf);
            printf("   %-14s %zu joints mean %.3f scatter %.3f pitch %.3f halfway %.3f px; response blur %.2f halo %.2f sharpen %.2f r %.2f misfit %.4f poor %d\n", REAL_CURVE_NAMES[curve], o.count, o.mean_mm, o.scatter_mm, o.pitch_mm, real_half_way_px(&photo, &esf), r.blur_px, r.halo, r.sharpen, r.radius_px, r.misfit, r.poor);
            if (curve==0 && !r.poor) { own_sides(&photo, v, &r, &s, NULL); o = join(&s); printf("    with response   %zu joints mean %.3f scatter %.3f pitch %.3f\n", o.count, o.mean_mm, o.scatter_mm, o.pitch_mm);}
            sw_photo_free(&photo);
        }
    }
    (void)SIDE_MM; (void)JOINT_MM;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(explore),
    };
    if (!real_is_there("zhang"))
        return REAL_SKIPPED;
    return cmocka_run_group_tests(tests, solve, NULL);
}
