/* Tiles on tops that are not level, as one photo's cards say: what their angles and lengths hold of the other reading. A camera
 * 1000 mm straight above the middle of a table of 2 x 1 tiles of 300 mm; cards say that A1 stands 10 mm higher than B1. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "scale/plane.h"
#include "tile/otherwise.h"

enum { TILES = 2 };
static const double HIGH_MM = 1000, SIDE_MM = 300, RISE_MM = 5, BEFORE_MM = 0.2, BEFORE_DEG = 0.03;

typedef struct bench {
    sw_tops tops;
    sw_track upright[TILES + 1], level[2 * TILES];
    sw_tracks tracks;
    sw_tile tiles[TILES];
    sw_inspection ins;
    sw_otherwise other;
} bench;

/* stretch: how much longer the scale takes what lies along x. */
static sw_scale scale_above(double stretch)
{
    sw_scale s = {.lens = {.source = SW_LENS_PROFILE, .width_px = 4000, .height_px = 3000, .fx = 3000, .fy = 3000}};
    s.to_plane[0][0] = 1 / HIGH_MM / stretch;
    s.to_plane[0][2] = -SIDE_MM / HIGH_MM / stretch;
    s.to_plane[1][1] = -1 / HIGH_MM;
    s.to_plane[1][2] = -SIDE_MM / 2 / HIGH_MM;
    s.to_plane[2][2] = 1;
    assert_int_equal(sw_invert3(s.to_plane, s.to_mm), SW_OK);
    return s;
}

/* Lengths as measured on tops that stand as told. sizes: of both tiles. */
static void lay(bench *b, double a_mm, double b_mm)
{
    memset(b, 0, sizeof *b);
    b->tracks = (sw_tracks){.columns = TILES, .rows = 1, .count = TILES + 1, .upright = b->upright, .level = b->level};
    b->tops = (sw_tops){.source = SW_TOPS_MEASURED, .columns = TILES, .rows = 1, .uneven = true};
    b->ins.tiles = b->tiles;
    b->ins.tile_count = TILES;
    b->ins.scale = scale_above(1);
    b->other = (sw_otherwise){.possible = true, .scale = scale_above(1)};
    for (int t = 0; t < TILES; t++) {
        double size = t ? b_mm : a_mm, rise = t ? -RISE_MM : RISE_MM, west = t * SIDE_MM;
        b->tops.told[t][0] = true;
        b->tops.top[t][0].rise_mm = rise;
        b->level[2 * t].tops[SW_SECOND].rise_mm = rise; /* the tile lies south of its north line */
        b->tiles[t] = (sw_tile){.column = t};
        const sw_point corners[4] = {{west, 0}, {west + size, 0}, {west + size, -size}, {west, -size}};
        for (int k = 0; k < 4; k++) {
            b->tiles[t].corners[k] = (sw_corner){.mm = corners[k], .angle_deg = 90, .u95_deg = BEFORE_DEG};
            b->tiles[t].corners[k].angle_parts.u[SW_PART_TEXTURE] = BEFORE_DEG / 2;
            b->tiles[t].edges[k] = (sw_edge){.length_mm = size, .length_u95_mm = BEFORE_MM};
            b->tiles[t].edges[k].length_parts.u[SW_PART_TEXTURE] = BEFORE_MM / 2;
        }
    }
}

/* What was added to a figure's ±, as a standard uncertainty. */
static double added(double u95, double before)
{
    return sqrt(u95 * u95 - before * before) / 2;
}

/* If the tops are level after all, a length is longer by the share rise / height of the camera over that top; and which card is right is not known,
 * so by as much as both stand apart. */
static void lengths_hold_that_cards_differ(void **state)
{
    (void)state;
    bench b;
    lay(&b, SIDE_MM, SIDE_MM * 1.004);
    assert_int_equal(sw_tops_by_sizes(&b.tops, &b.ins), SW_SIZES_SAY_NOTHING);
    sw_tiles_hold_otherwise(&b.tracks, &b.tops, &b.other, &b.ins);
    double apart = 2 * RISE_MM / HIGH_MM * SIDE_MM, level = RISE_MM / (HIGH_MM - RISE_MM) * SIDE_MM;
    for (int k = 0; k < 4; k++) {
        expect_near("length", added(b.tiles[0].edges[k].length_u95_mm, BEFORE_MM), hypot(apart, level) / sqrt(3), 0.01);
        expect_near("angle", b.tiles[0].corners[k].u95_deg, BEFORE_DEG, 1e-9);
    }
}

/* Sizes alike as told, and not if level: the heights are real, and only what the other reading makes of them is held. */
static void alike_tiles_confirm_heights(void **state)
{
    (void)state;
    bench b;
    lay(&b, SIDE_MM, SIDE_MM * 1.0005);
    assert_int_equal(sw_tops_by_sizes(&b.tops, &b.ins), SW_SIZES_CONFIRM);
    sw_tiles_hold_otherwise(&b.tracks, &b.tops, &b.other, &b.ins);
    double level = RISE_MM / (HIGH_MM - RISE_MM) * SIDE_MM;
    expect_near("length", added(b.tiles[0].edges[0].length_u95_mm, BEFORE_MM), level / sqrt(3), 0.01);
}

/* A reading by which the tops stand just as high makes nothing else of the lengths. */
static void heights_that_both_readings_share_add_nothing(void **state)
{
    (void)state;
    bench b;
    lay(&b, SIDE_MM, SIDE_MM * 1.0005);
    b.other.rise_mm[0][0] = RISE_MM;
    b.other.rise_mm[1][0] = -RISE_MM;
    sw_tiles_hold_otherwise(&b.tracks, &b.tops, &b.other, &b.ins);
    expect_near("length", added(b.tiles[0].edges[0].length_u95_mm, BEFORE_MM), 0, 0.01);
    expect_near("length", added(b.tiles[1].edges[0].length_u95_mm, BEFORE_MM), 0, 0.01);
}

/* Alike if level, one per cent apart as told: the cards differ, not the tops. */
static void alike_tiles_deny_heights(void **state)
{
    (void)state;
    bench b;
    lay(&b, SIDE_MM * (1 - RISE_MM / HIGH_MM), SIDE_MM * (1 + RISE_MM / HIGH_MM));
    assert_int_equal(sw_tops_by_sizes(&b.tops, &b.ins), SW_SIZES_DENY);
    b.tops.told[1][0] = false; /* one tile has nothing to be compared with */
    assert_int_equal(sw_tops_by_sizes(&b.tops, &b.ins), SW_SIZES_SAY_NOTHING);
}

/* Three tiles of which one card is 0.6 % too large: what two tiles could be by chance three are not. */
static void three_alike_tiles_deny_heights(void **state)
{
    (void)state;
    bench b;
    const double rise[] = {0, 6, 0}, far = 20 * HIGH_MM;
    for (int count = 2; count <= 3; count++) {
        sw_tile tiles[3];
        memset(tiles, 0, sizeof tiles);
        lay(&b, SIDE_MM, SIDE_MM);
        b.ins.scale = scale_above(1);
        b.ins.tiles = tiles;
        b.ins.tile_count = (size_t)count;
        b.tops.columns = count;
        for (int t = 0; t < count; t++) {
            b.tops.told[t][0] = true;
            b.tops.top[t][0].rise_mm = rise[t];
            tiles[t].column = t;
            for (int k = 0; k < 4; k++)
                tiles[t].edges[k].length_mm = SIDE_MM * (1 - rise[t] / HIGH_MM) + 0.05 * t;
        }
        assert_int_equal(sw_tops_by_sizes(&b.tops, &b.ins), count == 3 ? SW_SIZES_DENY : SW_SIZES_SAY_NOTHING);
        for (int k = 0; k < 4; k++)
            tiles[1].edges[k].length_mm = SIDE_MM * (1 - rise[1] / far);
        assert_int_equal(sw_tops_by_sizes(&b.tops, &b.ins), SW_SIZES_CONFIRM);
    }
}

/* Another lens that makes all figures longer one way: a tile turned by 45 degrees is no square by it. */
static void angles_hold_the_other_reading(void **state)
{
    (void)state;
    const double stretch = 1.01;
    bench b;
    lay(&b, SIDE_MM, SIDE_MM);
    const sw_point corners[4] = {{150, 62}, {362, -150}, {150, -362}, {-62, -150}};
    for (int k = 0; k < 4; k++)
        b.tiles[0].corners[k].mm = corners[k];
    b.other.scale = scale_above(stretch);
    sw_tiles_hold_otherwise(&b.tracks, &b.tops, &b.other, &b.ins);
    double off_deg = 2 * (atan(stretch) - atan(1)) * 180 / M_PI;
    for (int k = 0; k < 4; k++)
        expect_near("angle", added(b.tiles[0].corners[k].u95_deg, BEFORE_DEG), off_deg / sqrt(3), 0.005);
}

static void nothing_is_added_without_another_reading(void **state)
{
    (void)state;
    bench b;
    lay(&b, SIDE_MM, SIDE_MM);
    b.other.possible = false;
    sw_tiles_hold_otherwise(&b.tracks, &b.tops, &b.other, &b.ins);
    assert_true(b.tiles[0].edges[0].length_u95_mm == BEFORE_MM && b.tiles[1].corners[2].u95_deg == BEFORE_DEG);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lengths_hold_that_cards_differ),
        cmocka_unit_test(alike_tiles_confirm_heights),
        cmocka_unit_test(alike_tiles_deny_heights),
        cmocka_unit_test(three_alike_tiles_deny_heights),
        cmocka_unit_test(heights_that_both_readings_share_add_nothing),
        cmocka_unit_test(angles_hold_the_other_reading),
        cmocka_unit_test(nothing_is_added_without_another_reading),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
