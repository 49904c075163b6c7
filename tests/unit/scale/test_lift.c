/* A scale lifted to a top that stands higher and slants, against the plain way: the straight line from the camera through a place of
 * the mm frame's plane, and where it meets the top. */
#include "support/maths_check.h"

#include "scale/frame.h"
#include "scale/plane.h"

static const double CAMERA[3] = {120, -700, 1100}, TURN = 0.2, NOD = 0.35;
static const double OTHER[3] = {125, -690, 1108};

/* A pinhole over (place), nodded about its right and turned about the vertical: mm -> normal plane. */
static void plane_of(const double place[3], double to_plane[3][3], double to_mm[3][3])
{
    const double ct = cos(TURN), st = sin(TURN), cn = cos(NOD), sn = sin(NOD);
    const double right[3] = {ct, st, 0}, down[3] = {st * cn, -ct * cn, -sn}, ahead[3] = {-st * sn, ct * sn, -cn},
                 *axes[3] = {right, down, ahead};
    double h[3][3];
    for (int i = 0; i < 3; i++) {
        h[i][0] = axes[i][0];
        h[i][1] = axes[i][1];
        h[i][2] = -axes[i][0] * place[0] - axes[i][1] * place[1] - axes[i][2] * place[2];
    }
    for (int i = 0; i < 9; i++)
        to_plane[i / 3][i % 3] = h[i / 3][i % 3] / h[2][2];
    assert_int_equal(sw_invert3(to_plane, to_mm), SW_OK);
}

static sw_scale level_scale(void)
{
    sw_scale s = {.lens = {.source = SW_LENS_PROFILE, .width_px = 4000, .height_px = 3000}, .alternative_count = 1};
    s.lens.fx = s.lens.fy = 3000, s.lens.cx = 2000, s.lens.cy = 1500, s.lens.k1 = 0.05;
    sw_lens other = s.lens;
    other.fx *= 1.001;
    const double numbers[SW_LENS_NUMBERS] = {other.fx, other.fy, other.cx, other.cy, other.k1};
    for (int i = 0; i < SW_LENS_NUMBERS; i++)
        s.alternatives[0].lens[i] = numbers[i];
    plane_of(CAMERA, s.to_plane, s.to_mm);
    plane_of(OTHER, s.alternatives[0].to_plane, s.alternatives[0].to_mm);
    return s;
}

/* Where the line from the camera to a place of the plane meets the top: camera + k (place - camera), of which the height is both
 * camera (1 - k) and the top's there. */
static sw_point met(const double camera[3], const sw_top *top, sw_point on_plane)
{
    double dx = on_plane.x - camera[0], dy = on_plane.y - camera[1];
    double at_foot = top->rise_mm + top->east * (camera[0] - top->at.x) + top->north * (camera[1] - top->at.y);
    double k = (camera[2] - at_foot) / (camera[2] + top->east * dx + top->north * dy);
    return (sw_point){camera[0] + k * dx, camera[1] + k * dy};
}

static const sw_top TOPS[] = {{10, 0, 0, {150, -150}},         {-12, 0, 0, {450, -450}},
                              {0, 0.006, 0, {150, -150}},      {0, 0, -0.006, {450, -150}},
                              {8, -0.004, 0.005, {450, -450}}, {15, 0.05, 0.1, {150, -750}}};
enum { TOPS_COUNT = sizeof TOPS / sizeof *TOPS };

static void compare(const sw_scale *level, const sw_scale *lifted, const double camera[3], const sw_top *top)
{
    double most = 0;
    for (int i = 0; i < 9; i++) {
        sw_point px = {300 + 1700 * (i % 3), 300 + 1200 * (i / 3)}, plane = sw_scale_to_mm(level, px),
                 want = met(camera, top, plane), got = sw_scale_to_mm(lifted, px), back = sw_scale_to_px(lifted, want);
        expect_near("east", got.x, want.x, 1e-7);
        expect_near("north", got.y, want.y, 1e-7);
        expect_near("right", back.x, px.x, 1e-6);
        expect_near("down", back.y, px.y, 1e-6);
        most = fmax(most, sw_distance(plane, want));
    }
    assert_true(most > 0.1); /* the lift matters at all */
}

static void tops_against_straight_lines(void **state)
{
    (void)state;
    const sw_scale level = level_scale();
    for (int i = 0; i < TOPS_COUNT; i++) {
        sw_scale lifted;
        assert_int_equal(sw_scale_lift(&level, &TOPS[i], &lifted), SW_OK);
        compare(&level, &lifted, CAMERA, &TOPS[i]);
    }
}

/* What else the picture would allow has its own camera. */
static void alternatives_move_with_their_own_cameras(void **state)
{
    (void)state;
    const sw_scale level = level_scale();
    for (int i = 0; i < TOPS_COUNT; i++) {
        sw_scale lifted, other, other_lifted;
        assert_int_equal(sw_scale_lift(&level, &TOPS[i], &lifted), SW_OK);
        sw_scale_take_alternative(&level, 0, &other);
        sw_scale_take_alternative(&lifted, 0, &other_lifted);
        compare(&other, &other_lifted, OTHER, &TOPS[i]);
    }
}

static void a_top_in_the_plane_changes_nothing(void **state)
{
    (void)state;
    const sw_scale level = level_scale();
    const sw_top in_plane = {.at = {150, -150}};
    sw_scale lifted;
    assert_int_equal(sw_scale_lift(&level, &in_plane, &lifted), SW_OK);
    for (int i = 0; i < 9; i++)
        assert_true(lifted.to_plane[i / 3][i % 3] == level.to_plane[i / 3][i % 3]);
}

static void a_top_beside_the_camera_is_refused(void **state)
{
    (void)state;
    const sw_scale level = level_scale();
    const sw_top high = {.rise_mm = 600};
    sw_scale lifted;
    assert_int_equal(sw_scale_lift(&level, &high, &lifted), SW_BAD_INPUT);
    for (int i = 0; i < 9; i++)
        assert_true(lifted.to_plane[i / 3][i % 3] == level.to_plane[i / 3][i % 3]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tops_against_straight_lines),
        cmocka_unit_test(alternatives_move_with_their_own_cameras),
        cmocka_unit_test(a_top_in_the_plane_changes_nothing),
        cmocka_unit_test(a_top_beside_the_camera_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
