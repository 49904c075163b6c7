/* The made-up table against answers found with pencil and paper. */
#include "support/maths_check.h"

#include <stdlib.h>

#include "support/made/made_table.h"
#include "support/made/shapes.h"

static const double SIDE = 300;

/* B1 lies 0.5 mm off; A1's east edge stands out by 0.002 u (north end out). */
static void a_wedge_and_a_turn(void **state)
{
    (void)state;
    made_table t = made_new(2, 1, SIDE);
    made_seam seam = {0, 1, 1};
    double slope = 0.002;
    t.tiles[1].x_mm += 0.5;
    made_shape(&t, 0, SW_EAST, wedge, &slope);
    made_line line = made_seam_line(&t, &seam);
    /* The line is half-way, so turned by 0.001; gaps across it grow by 1 part in 2 million. */
    expect_near("direction", line.along.x, -0.001, 1e-8);
    expect_near("across", line.across.x, 1, 1e-6);
    expect_near("length", line.length_mm, 300, 1e-3);
    expect_near("north end", made_gap(&t, &seam, &line, 0, MADE_CLEAN), 0.2, 1e-3);
    expect_near("south end", made_gap(&t, &seam, &line, 300, MADE_CLEAN), 0.8, 1e-3);
    expect_near("place", made_foot(&t, &seam, &line, 10, 0), 140, 1e-3);
    /* Turning B1 by 0.002 clockwise about its centre makes its edge parallel: the gap is then even. */
    t.tiles[1].turn_rad = -0.002;
    line = made_seam_line(&t, &seam);
    double a = made_gap(&t, &seam, &line, 20, MADE_CLEAN), b = made_gap(&t, &seam, &line, 280, MADE_CLEAN);
    expect_near("even", a, b, 2e-6);
    expect_near("even gap", a, 0.5 + 150 * (1 - cos(0.002)), 2e-3);
    made_free(&t);
}

/* Everything turned together: gaps stay, exactly. */
static void turning_the_table_changes_nothing(void **state)
{
    (void)state;
    made_table t = made_new(2, 2, SIDE), u;
    made_cut(&t, &made_by_volunteers, 5);
    made_lay(&t, &made_by_volunteers, 5);
    u = made_copy(&t);
    double turn = 0.05, c = cos(turn), s = sin(turn);
    for (int i = 0; i < 4; i++) {
        made_tile *tile = &u.tiles[i];
        double x = tile->x_mm, y = tile->y_mm;
        tile->x_mm = c * x - s * y + 20;
        tile->y_mm = s * x + c * y - 7;
        tile->turn_rad += turn;
    }
    made_seam seams[4];
    assert_int_equal(made_seams(&t, seams), 4);
    for (int k = 0; k < 4; k++) {
        made_line a = made_seam_line(&t, &seams[k]), b = made_seam_line(&u, &seams[k]);
        expect_near("length", a.length_mm, b.length_mm, 1e-9);
        for (double at = 0; at < 300; at += 7)
            expect_near("gap", made_gap(&t, &seams[k], &a, at, MADE_CLEAN), made_gap(&u, &seams[k], &b, at, MADE_CLEAN),
                        1e-9);
    }
    made_free(&t);
    made_free(&u);
}

static void chips_and_bases(void **state)
{
    (void)state;
    made_table t = made_new(1, 2, SIDE);
    made_seam seam = {0, 1, 0};
    t.tiles[1].y_mm -= 1;
    t.tiles[0].edges[SW_SOUTH].chips[0] = (made_chip){-50, 6, 2};
    t.tiles[0].edges[SW_SOUTH].chip_count = 1;
    t.tiles[1].edges[SW_NORTH].lean_mm = 0.4;
    made_line line = made_seam_line(&t, &seam);
    expect_near("clean", made_gap(&t, &seam, &line, 100, MADE_CLEAN), 1, 1e-9);
    expect_near("chip", made_gap(&t, &seam, &line, 100, MADE_CHIPPED), 3, 1e-9);
    expect_near("base", made_gap(&t, &seam, &line, 100, MADE_BASE), 0.6, 1e-9);
    assert_true(made_chipped(&t, &seam, &line, 105.9, 0));
    assert_false(made_chipped(&t, &seam, &line, 106.1, 0));
    made_free(&t);
}

/* What is taken off opens the gap by as much, by places from the north or west corner. */
static void sanding_opens(void **state)
{
    (void)state;
    made_table t = made_new(2, 2, SIDE);
    const double at[] = {0, 100, 300}, off[] = {0.6, 0.2, 0.2};
    const made_removal one = {at, off, 3}, none = {0};
    made_seam seams[4];
    made_seams(&t, seams);
    for (int side = 0; side < 4; side++) {
        made_table copy = made_copy(&t);
        static const int whose[] = {3, 0, 0, 3}, which[] = {2, 0, 1, 3}; /* tile, and the seam it has that side at */
        made_removal removal[4] = {none, none, none, none};
        removal[side] = one;
        made_sand(&copy.tiles[whose[side]], removal);
        made_line line = made_seam_line(&copy, &seams[which[side]]);
        expect_near("50", made_gap(&copy, &seams[which[side]], &line, 50, MADE_CLEAN), 0.4, 2e-3);
        expect_near("200", made_gap(&copy, &seams[which[side]], &line, 200, MADE_CLEAN), 0.2, 2e-3);
        made_free(&copy);
    }
    t.tiles[0].edges[SW_EAST].lean_mm = 0.5;
    made_bevel(&t.tiles[0], SW_EAST, 0.3);
    expect_near("lean", t.tiles[0].edges[SW_EAST].lean_mm, 0.2, 1e-12);
    made_free(&t);
}

/* Laid tiles touch where they should: every least base gap is 0.01 when all are pushed tight, but for turns and for
 * tiles moved off a diagonal neighbour. */
static void laid_tight(void **state)
{
    (void)state;
    made_quality q = made_by_volunteers;
    q.touching = 1;
    q.lean_mm = 1.2;
    made_table t = made_new(3, 3, SIDE);
    made_cut(&t, &q, 11);
    made_lay(&t, &q, 11);
    made_seam seams[12];
    int tight = 0, count = made_seams(&t, seams);
    assert_int_equal(count, 12);
    for (int k = 0; k < count; k++) {
        made_line line = made_seam_line(&t, &seams[k]);
        double least = INFINITY;
        for (double at = 0; at < line.length_mm; at += 0.5)
            least = fmin(least, made_gap(&t, &seams[k], &line, at, MADE_BASE));
        assert_true(least > 0);
        tight += fabs(least - 0.01) < 0.002;
    }
    assert_true(tight >= 10);
    expect_near("corners clear", made_corner_overlap(&t), 0, 1e-9);
    made_free(&t);
}

/* Two edges facing each other that bow, and a tile that is 1 mm too long, laid: gaps at the ends. */
static void bows_and_a_longer_tile(void **state)
{
    (void)state;
    made_table t = made_new(2, 1, SIDE);
    const made_quality tight = {.touching = 1};
    double height = 0.3, half = 0.5;
    made_shape(&t, 0, SW_EAST, bowed, &height);
    made_shape(&t, 1, SW_WEST, bowed, &height);
    made_shape(&t, 1, SW_EAST, offset, &half);
    made_lay(&t, &tight, 1);
    made_seam seam = {0, 1, 1};
    made_line line = made_seam_line(&t, &seam);
    expect_near("middle", made_gap(&t, &seam, &line, 150, MADE_CLEAN), 0.01, 1e-4);
    expect_near("end", made_gap(&t, &seam, &line, 0, MADE_CLEAN), 0.61, 1e-4);
    sw_point a = made_corner(&t.tiles[1], SW_NW), b = made_corner(&t.tiles[1], SW_NE);
    expect_near("length", hypot(a.x - b.x, a.y - b.y), 300.5, 1e-9);
    made_free(&t);
}

/* An exact inspection says what is true; stations and points lie where they say. */
static void inspected_exactly(void **state)
{
    (void)state;
    made_quality q = made_by_volunteers;
    q.chips = 0.3;
    made_table t = made_new(3, 2, SIDE);
    made_cut(&t, &q, 3);
    made_lay(&t, &q, 3);
    sw_inspection ins;
    made_inspect(&t, &made_exact, 0.5, 1, &ins);
    assert_int_equal(ins.tile_count, 6);
    assert_int_equal(ins.seam_count, 7);
    made_seam seams[7];
    made_seams(&t, seams);
    int bitten = 0;
    for (int k = 0; k < 7; k++) {
        const sw_seam *s = &ins.seams[k];
        made_line line = made_seam_line(&t, &seams[k]);
        for (size_t i = 0; i < s->station_count; i++) {
            const sw_station *m = &s->stations[i];
            double clean = made_gap(&t, &seams[k], &line, m->at_mm, MADE_CLEAN);
            expect_near("gap", m->gap_mm, fmax(0, made_gap(&t, &seams[k], &line, m->at_mm, MADE_CHIPPED)), 1e-9);
            bitten += m->gap_mm > clean + 0.5 && m->state == SW_STATION_CHIP;
        }
        assert_int_equal(s->stations[2].state == SW_STATION_END || s->stations[2].state == SW_STATION_CHIP, 1);
        /* Both edges' own points, taken across the seam, give the gap too, but for the slope between points. */
        const sw_edge *first = &ins.tiles[s->first].edges[s->upright ? SW_EAST : SW_SOUTH];
        const sw_edge *second = &ins.tiles[s->second].edges[s->upright ? SW_WEST : SW_NORTH];
        sw_point p = first->points[150].mm, r = second->points[150].mm;
        double across = (r.x - p.x) * line.across.x + (r.y - p.y) * line.across.y;
        double at = (p.x - line.start.x) * line.along.x + (p.y - line.start.y) * line.along.y;
        expect_near("place", at, first->points[150].at_mm, 4);
        expect_near("points", across, made_gap(&t, &seams[k], &line, at, MADE_CLEAN), 0.02);
    }
    assert_true(bitten > 5);
    for (size_t i = 0; i < ins.tile_count; i++) {
        expect_near("turn", ins.tiles[i].turn_rad, t.tiles[i].turn_rad, 0.006);
        expect_near("centre",
                    hypot(ins.tiles[i].centre_mm.x - t.tiles[i].x_mm, ins.tiles[i].centre_mm.y - t.tiles[i].y_mm), 0,
                    1.5);
        assert_true(isfinite(ins.tiles[i].edges[2].points[100].proud_mm));
    }
    sw_inspection_free(&ins);
    made_free(&t);
}

/* Over many seams the stated uncertainty is honest: gaps are off by more than u95 about once in twenty, and outlines
 * and gaps go together as rims and gaps of a photo do. */
static void noise_is_as_stated(void **state)
{
    (void)state;
    double n = 0, outside = 0, mean_off = 0, seams_seen = 0;
    made_quality q = made_by_volunteers;
    q.least_gap_mm[0] = 0.3; /* nothing is cut off at 0 */
    q.touching = 0;
    for (uint32_t seed = 1; seed <= 12; seed++) {
        made_table t = made_new(3, 3, SIDE);
        made_seam seams[12];
        sw_inspection ins;
        made_cut(&t, &q, seed);
        made_lay(&t, &q, seed);
        made_inspect(&t, &made_as_photos, 0.5, seed, &ins);
        made_seams(&t, seams);
        for (size_t j = 0; j < ins.seam_count; j++) {
            const sw_seam *s = &ins.seams[j];
            made_line line = made_seam_line(&t, &seams[j]);
            double off = 0;
            for (size_t k = 0; k < s->station_count; k++) {
                double e = s->stations[k].gap_mm - made_gap(&t, &seams[j], &line, s->stations[k].at_mm, MADE_CHIPPED);
                outside += fabs(e) > s->stations[k].u95_mm;
                off += e / (double)s->station_count;
                n++;
            }
            mean_off += off * off;
            seams_seen++;
        }
        sw_inspection_free(&ins);
        made_free(&t);
    }
    expect_near("outside u95", outside / n, 0.045, 0.045);
    expect_near("common part", sqrt(mean_off / seams_seen), 0.03, 0.006);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_wedge_and_a_turn), cmocka_unit_test(turning_the_table_changes_nothing),
        cmocka_unit_test(chips_and_bases),    cmocka_unit_test(sanding_opens),
        cmocka_unit_test(laid_tight),         cmocka_unit_test(bows_and_a_longer_tile),
        cmocka_unit_test(inspected_exactly),  cmocka_unit_test(noise_is_as_stated)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
