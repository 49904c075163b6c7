/* Which tile to plane down or pack up, from tables whose answer is plain. */
#include "support/maths_check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspection/tops.h"
#include "plan/lippage.h"

enum { SIDE = 3, TILES = SIDE * SIDE, SEAMS = 12 };

typedef struct nine {
    sw_tile tiles[TILES];
    sw_seam seams[SEAMS];
    sw_inspection ins;
} nine;

/* 3 x 3 tiles of 300 mm that touch, level, their tops as high as said. */
static void make(nine *n, const double rises[TILES], double u95_mm, double limit_mm)
{
    *n = (nine){.ins = {.table = {.columns = SIDE, .rows = SIDE, .tile_mm = 300}, .lippage_mm = limit_mm}};
    n->ins.tiles = n->tiles;
    n->ins.tile_count = TILES;
    n->ins.seams = n->seams;
    for (int i = 0; i < TILES; i++) {
        sw_tile *tile = &n->tiles[i];
        double x = 300 * (i % SIDE), y = -300 * (i / SIDE);
        snprintf(tile->name, sizeof tile->name, "%c%d", 'A' + i % SIDE, 1 + i / SIDE);
        tile->centre_mm = (sw_point){x + 150, y - 150};
        tile->side_mm = 300;
        for (int upright = 1; upright >= 0; upright--) {
            int second = i + (upright ? 1 : SIDE);
            if (upright ? i % SIDE == SIDE - 1 : second >= TILES)
                continue;
            sw_seam *seam = &n->seams[n->ins.seam_count++];
            *seam = (sw_seam){.first = i, .second = second, .upright = upright};
            seam->start_mm = upright ? (sw_point){x + 300, y} : (sw_point){x, y - 300};
            seam->end_mm = (sw_point){x + 300, y - 300};
            snprintf(seam->name, sizeof seam->name, "%c%d-%c%d", 'A' + i % SIDE, 1 + i / SIDE, 'A' + second % SIDE,
                     1 + second / SIDE);
        }
    }
    sw_tops_unknown(&n->ins);
    for (int i = 0; i < TILES; i++) {
        n->tiles[i].rise_mm = rises[i];
        n->tiles[i].height_u95_mm = u95_mm / sqrt(2); /* so that steps have u95_mm */
    }
    sw_tops_settle(&n->ins);
}

static void advise(nine *n)
{
    sw_error err = {""};
    if (sw_lippage_advise(&n->ins, &err))
        fail_msg("%s", err.text);
    for (size_t i = 0; i < n->ins.top_count; i++) {
        const sw_top_advice *a = &n->ins.tops[i];
        assert_int_equal(a->rank, i + 1);
        assert_true(a->by_mm > 0.05 && a->seam_count >= 1 && a->seam_count <= 4);
        assert_true(isnan(a->level_mm) || a->level_mm > a->by_mm);
        assert_true(strlen(a->reason) > 10 && a->reason[strlen(a->reason) - 1] == '.');
    }
}

/* Steps that are surely over once all advice was followed to the letter. */
static int over_after(nine *n)
{
    int over = 0;
    for (size_t i = 0; i < n->ins.top_count; i++) {
        const sw_top_advice *a = &n->ins.tops[i];
        n->tiles[a->tile].rise_mm += a->action == SW_PACK_UP ? a->by_mm : -a->by_mm;
    }
    sw_tops_settle(&n->ins);
    for (size_t i = 0; i < n->ins.seam_count; i++)
        over += sw_step_verdict(&n->ins, &n->seams[i]) == SW_OVER;
    return over;
}

/* B2 stands 3 mm above all others: its four steps come within 1 mm, guard band 0.16, when 2.2 mm come off. */
static void a_high_tile_is_planed_down(void **state)
{
    static const double RISES[TILES] = {0, 0, 0, 0, 3, 0, 0, 0, 0};
    (void)state;
    nine n;
    make(&n, RISES, 0.2, 1);
    advise(&n);
    assert_int_equal(n.ins.top_count, 1);
    const sw_top_advice *a = &n.ins.tops[0];
    assert_int_equal(a->tile, 4);
    assert_int_equal(a->action, SW_PLANE_DOWN);
    expect_near("by", a->by_mm, 2.2, 1e-9);
    expect_near("level", a->level_mm, 3, 1e-9);
    assert_int_equal(a->seam_count, 4);
    assert_string_equal(a->reason,
                        "B1-B2, A2-B2, B2-C2 and B2-B3 then are within 1.0 mm. 3.0 mm would lay B2 level with "
                        "its neighbours.");
    assert_int_equal(over_after(&n), 0);
    free(n.ins.tops);
}

static void a_low_tile_is_packed_up(void **state)
{
    static const double RISES[TILES] = {0, 0, 0, 0, 0, 0, 0, 0, -2};
    (void)state;
    nine n;
    make(&n, RISES, 0, 1);
    advise(&n);
    assert_int_equal(n.ins.top_count, 1);
    assert_int_equal(n.ins.tops[0].tile, 8);
    assert_int_equal(n.ins.tops[0].action, SW_PACK_UP);
    expect_near("by", n.ins.tops[0].by_mm, 1, 1e-9);
    assert_int_equal(over_after(&n), 0);
    free(n.ins.tops);
}

/* Two tiles only, A1 3 mm above B1: either change does; packing takes nothing off. */
static void packing_before_planing(void **state)
{
    static const double RISES[TILES] = {3};
    (void)state;
    nine n;
    make(&n, RISES, 0, 1);
    n.ins.seam_count = 1;
    advise(&n);
    assert_int_equal(n.ins.top_count, 1);
    assert_int_equal(n.ins.tops[0].tile, 1);
    assert_int_equal(n.ins.tops[0].action, SW_PACK_UP);
    free(n.ins.tops);
}

/* One tile high, another low: first the one whose change mends more. */
static void one_after_the_other(void **state)
{
    static const double RISES[TILES] = {0, 2.5, 0, 0, 0, 0, -2.5, 0, 0};
    (void)state;
    nine n;
    make(&n, RISES, 0.1, 1);
    advise(&n);
    assert_int_equal(n.ins.top_count, 2);
    assert_int_equal(n.ins.tops[0].tile, 1); /* three steps */
    assert_int_equal(n.ins.tops[0].seam_count, 3);
    assert_int_equal(n.ins.tops[1].tile, 6); /* two */
    assert_int_equal(n.ins.tops[1].action, SW_PACK_UP);
    assert_int_equal(over_after(&n), 0);
    free(n.ins.tops);
}

/* A stair of three levels: no advice makes a step over that was none. */
static void a_stair(void **state)
{
    static const double RISES[TILES] = {0, 1.5, 3, 0, 1.5, 3, 0, 1.5, 3};
    (void)state;
    nine n;
    make(&n, RISES, 0.2, 1);
    advise(&n);
    assert_true(n.ins.top_count >= 3);
    assert_int_equal(over_after(&n), 0);
    free(n.ins.tops);
}

/* A ± as large as the limit: nothing can be said to be within, but a step far over it is over. */
static void a_coarse_figure_still_gives_advice(void **state)
{
    static const double RISES[TILES] = {0, 0, 0, 0, 4, 0, 0, 0, 0};
    (void)state;
    nine n;
    make(&n, RISES, 1.5, 1);
    advise(&n);
    assert_int_equal(n.ins.top_count, 1);
    assert_int_equal(n.ins.tops[0].tile, 4);
    assert_non_null(strstr(n.ins.tops[0].reason, "are no longer surely over 1.0 mm"));
    free(n.ins.tops);
}

/* Tilted against each other: whole tiles up or down do not help. */
static void tilted_tops_are_left_alone(void **state)
{
    static const double RISES[TILES] = {0};
    (void)state;
    nine n;
    make(&n, RISES, 0.1, 1);
    n.tiles[0].rise_north = 0.03; /* A1, against B1 only: 4.5 mm up at the seam's north end, down at its south end */
    n.ins.seam_count = 1;
    sw_tops_settle(&n.ins);
    expect_near("largest", fabs(n.seams[0].step_largest_mm), 4.5, 1e-9);
    advise(&n);
    assert_int_equal(sw_step_verdict(&n.ins, &n.seams[0]), SW_OVER);
    assert_int_equal(n.ins.top_count, 0);
    free(n.ins.tops);
}

static void nothing_where_nothing_is_asked_over_or_known(void **state)
{
    static const double RISES[TILES] = {0, 0, 0, 0, 3, 0, 0, 0, 0};
    (void)state;
    nine n;
    make(&n, RISES, 0.2, 0);
    advise(&n);
    assert_int_equal(n.ins.top_count, 0);
    assert_int_equal(sw_step_verdict(&n.ins, &n.seams[0]), SW_TOO_CLOSE);
    free(n.ins.tops);
    make(&n, RISES, 0.2, 4);
    advise(&n);
    assert_int_equal(n.ins.top_count, 0);
    assert_int_equal(sw_step_verdict(&n.ins, &n.seams[0]), SW_WITHIN);
    free(n.ins.tops);
    make(&n, RISES, 0.2, 1);
    n.tiles[4].height_u95_mm = NAN;
    sw_tops_settle(&n.ins);
    advise(&n);
    assert_int_equal(n.ins.top_count, 0);
    free(n.ins.tops);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_high_tile_is_planed_down),
        cmocka_unit_test(a_low_tile_is_packed_up),
        cmocka_unit_test(packing_before_planing),
        cmocka_unit_test(one_after_the_other),
        cmocka_unit_test(a_stair),
        cmocka_unit_test(a_coarse_figure_still_gives_advice),
        cmocka_unit_test(tilted_tops_are_left_alone),
        cmocka_unit_test(nothing_where_nothing_is_asked_over_or_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
