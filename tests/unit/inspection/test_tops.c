/* Tops: what follows from planes in the mm frame, and what is said where nothing is known. */
#include "support/maths_check.h"

#include "inspection/tops.h"

/* A1 and B1 side by side, A2 and B2 below them, 300 mm each, touching; A1's north-west corner at (0, 0). */
typedef struct four {
    sw_tile tiles[4];
    sw_seam seams[4];
    sw_inspection ins;
} four;

static void make(four *f)
{
    static const sw_seam SEAMS[4] = {
        {.first = 0, .second = 1, .upright = true, .start_mm = {300, 0}, .end_mm = {300, -300}},
        {.first = 0, .second = 2, .start_mm = {0, -300}, .end_mm = {300, -300}},
        {.first = 1, .second = 3, .start_mm = {300, -300}, .end_mm = {600, -300}},
        {.first = 2, .second = 3, .upright = true, .start_mm = {300, -300}, .end_mm = {300, -600}},
    };
    *f = (four){.ins = {.tile_count = 4, .seam_count = 4}};
    f->ins.tiles = f->tiles;
    f->ins.seams = f->seams;
    for (int i = 0; i < 4; i++) {
        f->seams[i] = SEAMS[i];
        f->tiles[i].side_mm = 300;
        f->tiles[i].centre_mm = (sw_point){150 + 300 * (i % 2), -150 - 300 * (i / 2)};
    }
    sw_tops_unknown(&f->ins);
}

static void nothing_is_known_at_first(void **state)
{
    (void)state;
    four f;
    make(&f);
    sw_tops_settle(&f.ins);
    for (int i = 0; i < 4; i++) {
        assert_true(isnan(f.tiles[i].height_mm) && isnan(f.tiles[i].height_u95_mm) && isnan(f.tiles[i].tilt_deg));
        assert_true(isnan(f.tiles[i].edges[i].rim_mm) && isnan(f.tiles[i].edges[i].rim_u95_mm));
        assert_true(isnan(f.seams[i].step_mm) && isnan(f.seams[i].step_u95_mm) && isnan(f.seams[i].step_largest_mm));
        assert_true(f.tiles[i].rise_mm == 0 && !sw_height_known(&f.tiles[i]));
    }
}

/* Level tops at 1, 2, 4 and 9 mm: the median is 3. */
static void level_tops(void **state)
{
    static const double RISES[4] = {1, 2, 4, 9}, STEPS[4] = {-1, -3, -7, -5};
    (void)state;
    four f;
    make(&f);
    for (int i = 0; i < 4; i++) {
        f.tiles[i].rise_mm = RISES[i];
        f.tiles[i].height_u95_mm = 0.3;
    }
    sw_tops_settle(&f.ins);
    for (int i = 0; i < 4; i++) {
        expect_near("height", f.tiles[i].height_mm, RISES[i] - 3, 1e-12);
        expect_near("step", f.seams[i].step_mm, STEPS[i], 1e-12);
        expect_near("largest", f.seams[i].step_largest_mm, STEPS[i], 1e-12);
        expect_near("its own", f.seams[i].step_u95_mm, 0.3 * sqrt(2), 1e-12);
        assert_true(isnan(f.tiles[i].tilt_deg));
    }
}

/* One tile unknown: the median is that of the others, and its seams' steps are not known. */
static void what_is_not_known_stays_out(void **state)
{
    (void)state;
    four f;
    make(&f);
    for (int i = 0; i < 3; i++) {
        f.tiles[i].rise_mm = 2 * i;
        f.tiles[i].height_u95_mm = 0.1;
    }
    f.tiles[3].rise_mm = 100;
    sw_tops_settle(&f.ins);
    expect_near("A1", f.tiles[0].height_mm, -2, 1e-12);
    assert_true(isnan(f.tiles[3].height_mm));
    expect_near("A1-B1", f.seams[0].step_mm, -2, 1e-12);
    assert_true(isnan(f.seams[2].step_mm) && isnan(f.seams[3].step_largest_mm));
}

/* A1 rises by 3 mm from west to east and by 6 mm from south to north; all others lie level at 0. At its east edge it
 * stands 1.5 mm higher than in its middle, 4.5 at the north end and -1.5 at the south end. */
static void a_tilted_top(void **state)
{
    (void)state;
    four f;
    make(&f);
    for (int i = 0; i < 4; i++) {
        f.tiles[i].height_u95_mm = 0.2;
        f.tiles[i].tilt_u95_deg = 0.1;
    }
    f.tiles[0].rise_east = 0.01;
    f.tiles[0].rise_north = 0.02;
    sw_tops_settle(&f.ins);
    expect_near("tilt", f.tiles[0].tilt_deg, atan(hypot(0.01, 0.02)) * 180 / M_PI, 1e-9);
    expect_near("tilt of a level one", f.tiles[1].tilt_deg, 0, 1e-12);
    expect_near("A1-B1", f.seams[0].step_mm, 1.5, 1e-9);
    expect_near("A1-B1, largest", f.seams[0].step_largest_mm, 4.5, 1e-9);
    expect_near("A1-A2", f.seams[1].step_mm, -3, 1e-9);
    expect_near("A1-A2, largest", f.seams[1].step_largest_mm, -4.5, 1e-9); /* at its west end */
    double lever = 0.1 * M_PI / 180 * 150;
    expect_near("its own", f.seams[0].step_u95_mm, sqrt(2 * (0.2 * 0.2 + lever * lever)), 1e-9);
    expect_near("at a place", sw_rise_at(&f.tiles[0], (sw_point){300, 0}), 4.5, 1e-9);
}

/* A tile that was not seen has no middle. */
static void a_tile_without_a_middle_is_level(void **state)
{
    (void)state;
    sw_tile tile = {.rise_mm = 2, .rise_east = 0.1, .centre_mm = {NAN, NAN}};
    expect_near("rise", sw_rise_at(&tile, (sw_point){0, 0}), 2, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_is_known_at_first),        cmocka_unit_test(level_tops),
        cmocka_unit_test(what_is_not_known_stays_out),      cmocka_unit_test(a_tilted_top),
        cmocka_unit_test(a_tile_without_a_middle_is_level),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
