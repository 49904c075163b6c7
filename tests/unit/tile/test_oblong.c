/* Tiles that all measure longer one way: chance, cut, or held by the ±. */
#include "support/maths_check.h"

#include <string.h>

#include "inspection/tiles_size.h"
#include "tile/oblong.h"

enum { TILES = 4 };

typedef struct bench {
    sw_tile tiles[TILES];
    sw_inspection ins;
} bench;

/* long_by[t]: share by which a tile is longer from west to east; the one card lies turned. */
static void lay(bench *b, const double long_by[TILES], double turn_rad)
{
    memset(b, 0, sizeof *b);
    b->ins.tiles = b->tiles;
    b->ins.tile_count = TILES;
    b->ins.scale.square_count = 1;
    b->ins.scale.squares[0].corners_mm[1] = (sw_point){cos(turn_rad), sin(turn_rad)};
    for (int t = 0; t < TILES; t++)
        for (int k = 0; k < 4; k++) {
            bool level = k == SW_NORTH || k == SW_SOUTH;
            b->tiles[t].edges[k] = (sw_edge){.length_mm = 200 * (level ? 1 + long_by[t] : 1), .length_u95_mm = 0.2};
            b->tiles[t].edges[k].length_parts.u[SW_PART_TEXTURE] = 0.1;
            b->tiles[t].corners[k] = (sw_corner){.angle_deg = 90, .u95_deg = 0.04};
            b->tiles[t].corners[k].angle_parts.u[SW_PART_TEXTURE] = 0.02;
        }
}

static void scatter_and_little_say_nothing(void **state)
{
    (void)state;
    bench b;
    lay(&b, (const double[TILES]){0.003, 0.0035, 0.0032, 0.003}, 0);
    assert_true(sw_tiles_oblong(&b.ins) == 0);
    lay(&b, (const double[TILES]){0.03, -0.01, 0.02, -0.015}, 0);
    assert_true(sw_tiles_oblong(&b.ins) == 0);
    sw_tiles_hold_oblong(&b.ins);
    assert_true(b.tiles[0].edges[0].length_u95_mm == 0.2);
}

static void what_all_show_is_held(void **state)
{
    (void)state;
    bench b;
    for (int way = -1; way < 2; way += 2) {
        const double by[TILES] = {0.014 * way, 0.015 * way, 0.016 * way, 0.015 * way};
        lay(&b, by, 0.1);
        expect_near("oblong", sw_tiles_oblong(&b.ins), 0.015 * way, 0.0003);
        sw_tiles_hold_oblong(&b.ins);
        expect_near("length", b.tiles[0].edges[SW_EAST].length_u95_mm, hypot(0.2, 2 * 0.015 * 200 / sqrt(3)), 0.05);
        expect_near("angle", b.tiles[0].corners[0].u95_deg, hypot(0.04, 2 * 0.015 * sin(0.2) / sqrt(3) * 180 / M_PI),
                    0.005);
    }
}

/* Tiles of 200 mm that were told to be 206: lengths and gaps may all be 3 % off; what was not seen stays so. */
static void another_size_than_told_is_held(void **state)
{
    (void)state;
    bench b;
    lay(&b, (const double[TILES]){0}, 0);
    b.ins.table = (sw_table){.tile_mm = 206, .tile_given = true};
    double off = sw_tiles_size_off(&b.ins);
    expect_near("off", off, 200.0 / 206 - 1, 1e-9);
    sw_track_point points[] = {
        {.across = {-1, 2}, .light_mm = sqrt(3) * 0.01, .spread_mm = 0.01, .systematic_mm = 0.02},
        {.across = {NAN, 2}, .systematic_mm = 0.02}};
    sw_track track = {.points = points, .count = 2};
    sw_tracks tracks = {.columns = 1, .rows = 1, .count = 1, .upright = &track};
    sw_tiles_hold_size(off, &tracks, &b.ins);
    double by = fabs(off) / sqrt(3);
    expect_near("length", b.tiles[1].edges[SW_WEST].length_u95_mm, 2 * hypot(0.1, by * 200), 1e-6);
    expect_near("gap", points[0].systematic_mm, hypot(0.02, by * 3), 1e-9);
    expect_near("its part", points[0].spread_mm, hypot(0.01, by * 3), 1e-9);
    assert_true(points[1].systematic_mm == 0.02);
    b.ins.table.tile_mm = 201;
    assert_true(sw_tiles_size_off(&b.ins) == 0);
    sw_tiles_hold_size(0, &tracks, &b.ins);
    expect_near("nothing more", points[0].systematic_mm, hypot(0.02, by * 3), 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(scatter_and_little_say_nothing),
                                       cmocka_unit_test(what_all_show_is_held),
                                       cmocka_unit_test(another_size_than_told_is_held)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
