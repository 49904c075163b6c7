/* Arrangements: sheets cut by crooked lines must come back together; the fast judge against pushing; two by two against
 * all layouts. */
#include "support/maths_check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "arrange/descend.h"
#include "arrange/pushed.h"
#include "seamwright/arrange.h"
#include "seamwright/defaults_and_ranges.h"
#include "support/jigsaw.h"

enum { MOST_TILES = 24 };
/* With the sanitizers everything takes ten times as long: one sheet of nine tiles will do, and none of 24. */
#ifdef __SANITIZE_ADDRESS__
enum { SHEETS = 1, LARGE_TABLE = 0 };
#else
enum { SHEETS = 3, LARGE_TABLE = 1 };
#endif

/* A shuffled sheet and how to lay it as it was cut. */
typedef struct sheet {
    sw_inspection ins;
    int order[MOST_TILES], turns[MOST_TILES];
} sheet;

static sheet cut_sheet(int columns, int rows, jigsaw_cut cut, uint32_t seed)
{
    sheet s;
    jigsaw_shuffle(columns * rows, s.order, s.turns, &seed);
    s.ins = jigsaw_make(columns, rows, &cut, s.order, s.turns, &seed);
    return s;
}

/* What a search judges with, for layouts of the test's own. */
typedef struct bench {
    sw_outline outlines[MOST_TILES];
    sw_pairs pairs;
    sw_puzzle puzzle;
    int tiles;
} bench;

static void bench_start(bench *b, const sw_inspection *ins)
{
    b->tiles = (int)ins->tile_count;
    for (int i = 0; i < b->tiles; i++)
        assert_int_equal(sw_outline_make(&ins->tiles[i], &b->outlines[i], NULL), SW_OK);
    assert_int_equal(sw_pairs_make(b->outlines, ins->tile_count, NULL, false, &b->pairs, NULL), SW_OK);
    assert_int_equal(sw_puzzle_make(&b->pairs, ins->table.columns, ins->table.rows, &b->puzzle, NULL), SW_OK);
}

static void bench_end(bench *b)
{
    for (int i = 0; i < b->tiles; i++)
        sw_outline_free(&b->outlines[i]);
    sw_puzzle_free(&b->puzzle);
    sw_pairs_free(&b->pairs);
}

static sw_settled push(const bench *b, const sw_place *places)
{
    sw_joints joints;
    sw_settled settled;
    sw_error err = {{0}};
    assert_int_equal(sw_joints_make(&b->puzzle, places, b->outlines, 300, &joints, NULL), SW_OK);
    if (sw_settle(joints.centres, joints.places, joints.joints, joints.count, &settled, &err))
        fail_msg("settle: %s", err.text);
    sw_joints_free(&joints);
    return settled;
}

/* The widest gap of a layout after an ordinary push. */
static double pressed(const bench *b, const sw_place *places)
{
    sw_pushed pushed;
    sw_error err = {{0}};
    double worst = 0;
    if (sw_pushed_make(&b->puzzle, places, b->outlines, 300, &pushed, &err))
        fail_msg("press: %s", err.text);
    for (size_t j = 0; j < pushed.count; j++)
        worst = fmax(worst, pushed.max_mm[j]);
    sw_pushed_free(&pushed);
    return worst;
}

/* The widest gap of the sheet laid as it was cut, pushed. */
static double as_cut(const sheet *s)
{
    bench b;
    sw_place places[MOST_TILES];
    bench_start(&b, &s->ins);
    for (int p = 0; p < b.tiles; p++)
        places[p] = (sw_place){s->order[p], s->turns[p]};
    double worst = pressed(&b, places);
    bench_end(&b);
    return worst;
}

static sw_arrangement arrange(const sw_inspection *ins, const sw_arrange_options *options)
{
    sw_arrangement a;
    sw_error err = {{0}};
    struct timespec from, to;
    clock_gettime(CLOCK_MONOTONIC, &from);
    if (sw_arrange(ins, 1, NULL, options, NULL, NULL, &a, &err))
        fail_msg("arrange: %s", err.text);
    clock_gettime(CLOCK_MONOTONIC, &to);
    char *text = sw_layout_text(&a.after.layout, ins);
    print_message("  %dx%d: widest %.4f -> %.4f mm, sum %.3f -> %.3f mm, %zu layouts, %.1f s: %s\n", ins->table.columns,
                  ins->table.rows, a.before.worst_mm, a.after.worst_mm, a.before.sum_mm, a.after.sum_mm, a.tried,
                  (double)(to.tv_sec - from.tv_sec) + 1e-9 * (double)(to.tv_nsec - from.tv_nsec), text);
    free(text);
    return a;
}

/* Long enough for any machine: the work is bounded, the clock shall not decide. */
static const double NO_LIMIT_S = 1e6;

static const jigsaw_cut CROOKED = {1.5, 0, 0, 0}, WAVY = {1.5, 0.8, 0.5, 0}, ROUGH = {1.5, 0.8, 0.5, 0.03};

/* Nine tiles find back together, at least as well as they were cut. */
static void nine_tiles(void **state)
{
    (void)state;
    static const jigsaw_cut *const cuts[] = {&WAVY, &CROOKED, &ROUGH};
    for (uint32_t k = 0; k < SHEETS; k++) {
        sheet s = cut_sheet(3, 3, *cuts[k], 11 + k);
        double cut = as_cut(&s);
        sw_arrange_options options = {.seconds = NO_LIMIT_S};
        sw_arrangement a = arrange(&s.ins, &options);
        print_message("  as cut: %.4f mm\n", cut);
        if (!(a.after.worst_mm <= cut + 0.01))
            fail_msg("sheet %u: %.4f mm found, %.4f as cut", k, a.after.worst_mm, cut);
        assert_true(a.better && a.moved > 0 && a.before.worst_mm > cut + 0.2);
        assert_int_equal(a.after.seam_count, 12);
        sw_arrangement_free(&a);
        sw_inspection_free(&s.ins);
    }
}

static void twenty_four_tiles(void **state)
{
    (void)state;
    if (!LARGE_TABLE) {
        print_message("  left out in a build with sanitizers\n");
        skip();
    }
    sheet s = cut_sheet(6, 4, WAVY, 5);
    double cut = as_cut(&s);
    sw_arrange_options options = {.seconds = NO_LIMIT_S};
    sw_arrangement a = arrange(&s.ins, &options);
    print_message("  as cut: %.4f mm\n", cut);
    assert_true(a.after.worst_mm <= cut + 0.01);
    sw_arrangement_free(&a);
    sw_inspection_free(&s.ins);
}

/* The same seed, the same answer, whatever the threads do; and kept tiles stay. */
static void same_and_kept(void **state)
{
    (void)state;
    static const int keep[] = {4, 0};
    sheet s = cut_sheet(3, 3, (jigsaw_cut){1.5, 0.8, 0.5, 0.4}, 3);
    sw_arrange_options options = {.seconds = NO_LIMIT_S, .seed = 7, .keep = keep, .keep_count = 2};
    sw_arrangement a = arrange(&s.ins, &options), b = arrange(&s.ins, &options);
    for (int p = 0; p < 9; p++) {
        assert_int_equal(a.after.layout.places[p].tile, b.after.layout.places[p].tile);
        assert_int_equal(a.after.layout.places[p].turns, b.after.layout.places[p].turns);
    }
    assert_true(a.after.worst_mm == b.after.worst_mm && a.tried == b.tried);
    for (int k = 0; k < 2; k++) {
        assert_int_equal(a.after.layout.places[keep[k]].tile, keep[k]);
        assert_int_equal(a.after.layout.places[keep[k]].turns, 0);
    }
    assert_true(a.better && a.moved <= 7);
    sw_arrangement_free(&a);
    sw_arrangement_free(&b);
    sw_inspection_free(&s.ins);
}

/* Random layouts: the widest gap by difference constraints and by pushing. */
static void judges_agree(void **state)
{
    (void)state;
    static const int sizes[][2] = {{2, 2}, {3, 3}, {4, 2}, {1, 5}};
    uint32_t seed = 99;
    for (int k = 0; k < 24; k++) {
        int columns = sizes[k % 4][0], rows = sizes[k % 4][1], count = columns * rows;
        sheet s = cut_sheet(columns, rows, (jigsaw_cut){1.5, 0.8, 0.5, 0.3}, 100 + (uint32_t)k);
        bench b;
        int order[MOST_TILES], turns[MOST_TILES];
        sw_place places[MOST_TILES];
        double tilts[MOST_TILES] = {0}, *work;
        bench_start(&b, &s.ins);
        jigsaw_shuffle(count, order, turns, &seed);
        for (int p = 0; p < count; p++)
            places[p] = (sw_place){order[p], turns[p]};
        work = calloc(sw_puzzle_work(&b.puzzle), sizeof *work);
        assert_non_null(work);
        double worst = sw_puzzle_worst(&b.puzzle, places, INFINITY, tilts, work), most = 0;
        sw_settled all = push(&b, places);
        expect_near("fast judge", worst, all.worst_mm, 2e-4);
        for (int m = 0; m < b.puzzle.meeting_count; m++)
            most = fmax(most, sw_puzzle_gap(&b.puzzle, places, m, tilts));
        expect_near("the turns it leaves", most, worst, 1e-4);
        sw_settled_free(&all);
        free(work);
        bench_end(&b);
        sw_inspection_free(&s.ins);
    }
}

/* Two by two, by hand: the gap of two edges straight from the inspection's places, mm. Place x of the first edge counts
 * from its north or west end after the layout's turns. */
static double proud(const sw_inspection *ins, const sw_place *place, int side, int i)
{
    static const int last = 300;
    int own = (side - place->turns + 4) % 4,
        flip = (own == SW_NORTH || own == SW_EAST) != (side == SW_NORTH || side == SW_EAST);
    return ins->tiles[place->tile].edges[own].points[flip ? last - i : i].proud_mm;
}

/* Widest gap of two tiles pushed together when the second is turned by `tilt` against the first. */
static double by_hand(const sw_inspection *ins, const sw_place *a, const sw_place *b, int upright, double tilt)
{
    double least = INFINITY, most = -INFINITY;
    for (int i = 0; i <= 300; i += 5) {
        double along =
            (i - 150) *
            (upright ? tilt
                     : -tilt); /* a turn to the left opens the south of an upright seam, the west of a level one */
        double gap =
            along - proud(ins, a, upright ? SW_EAST : SW_SOUTH, i) - proud(ins, b, upright ? SW_WEST : SW_NORTH, i);
        least = fmin(least, gap);
        most = i > 4 && i < 296 ? fmax(most, gap) : most;
    }
    return most - least;
}

/* Steps of a golden section: 0.06 rad come down to some millionths. */
enum { GOLDEN = 22 };
typedef struct trial {
    const sw_inspection *ins;
    const sw_place *places;
    double far_turn; /* of the tile at the south-east */
} trial;

static double over_near(const trial *t, int near, double turn)
{
    int upright = near == 1; /* the north-east tile: upright seam to the first, level one to the last */
    return fmax(by_hand(t->ins, &t->places[0], &t->places[near], upright, turn),
                by_hand(t->ins, &t->places[near], &t->places[3], !upright, t->far_turn - turn));
}

static double over_far(trial *t, double turn)
{
    double worst = 0;
    t->far_turn = turn;
    for (int near = 1; near < 3; near++) {
        double a = -0.03, b = 0.03;
        for (int k = 0; k < GOLDEN; k++) {
            double p = a + (b - a) * 0.382, q = b - (b - a) * 0.382;
            if (over_near(t, near, p) < over_near(t, near, q))
                b = q;
            else
                a = p;
        }
        worst = fmax(worst, over_near(t, near, (a + b) / 2));
    }
    return worst;
}

/* What two tiles leave at least, however they are turned against each other. */
static double alone(const sw_inspection *ins, const sw_place *a, const sw_place *b, int upright)
{
    double from = -0.03, to = 0.03;
    for (int k = 0; k < GOLDEN; k++) {
        double p = from + (to - from) * 0.382, q = to - (to - from) * 0.382;
        if (by_hand(ins, a, b, upright, p) < by_hand(ins, a, b, upright, q))
            to = q;
        else
            from = p;
    }
    return by_hand(ins, a, b, upright, (from + to) / 2);
}

/* Does one of the four seams alone leave more than `best`? */
static int hopeless(const sw_inspection *ins, const sw_place places[4], double best)
{
    return alone(ins, &places[0], &places[1], 1) > best || alone(ins, &places[0], &places[2], 0) > best ||
           alone(ins, &places[1], &places[3], 0) > best || alone(ins, &places[2], &places[3], 1) > best;
}

static double widest_by_hand(const sw_inspection *ins, const sw_place places[4])
{
    trial t = {ins, places, 0};
    double a = -0.03, b = 0.03;
    for (int k = 0; k < GOLDEN; k++) {
        double p = a + (b - a) * 0.382, q = b - (b - a) * 0.382;
        if (over_far(&t, p) < over_far(&t, q))
            b = q;
        else
            a = p;
    }
    return over_far(&t, (a + b) / 2);
}

/* The least widest gap that ways down from random layouts end at, by the fast judge. */
static double by_descents(const sw_inspection *ins)
{
    enum { DESCENTS = 60 };
    const sw_deadline never = sw_deadline_in(NO_LIMIT_S);
    double best = INFINITY;
    uint32_t seed = 5;
    bench b;
    bench_start(&b, ins);
    for (int k = 0; k < DESCENTS; k++) {
        int order[MOST_TILES], turns[MOST_TILES];
        sw_place places[MOST_TILES];
        sw_score score;
        size_t tried = 0;
        jigsaw_shuffle(b.tiles, order, turns, &seed);
        for (int p = 0; p < b.tiles; p++)
            places[p] = (sw_place){order[p], turns[p]};
        assert_int_equal(sw_descend(&b.puzzle, &never, places, &score, &tried, NULL), SW_OK);
        best = fmin(best, score.worst_mm);
    }
    bench_end(&b);
    return best;
}

/* All layouts of four tiles that are not one another turned as a whole: tile 0 stays unturned at each place in turn,
 * which covers them. The best by hand is the best that ways down find; an ordinary push leaves more, and least for the
 * arrangement given. */
static void two_by_two(void **state)
{
    (void)state;
    for (uint32_t seed = 1; seed < 3; seed++) {
        sheet s = cut_sheet(2, 2, WAVY, seed), others[3];
        double best = INFINITY;
        for (int k = 0; k < 3; k++) { /* tiles of four sheets, so that nothing fits */
            others[k] = cut_sheet(2, 2, WAVY, 10 * seed + (uint32_t)k);
            sw_tile keep = s.ins.tiles[k];
            s.ins.tiles[k] = others[k].ins.tiles[k];
            others[k].ins.tiles[k] = keep;
        }
        int layouts = 0;
        for (int code = 0; code < 24 * 64; code++) {
            int free_tiles[4] = {0, 1, 2, 3}, rest = code / 64, turns = code % 64;
            sw_place places[4];
            for (int p = 0; p < 4; p++) {
                int pick = rest % (4 - p), tile = free_tiles[pick];
                rest /= 4 - p;
                memmove(free_tiles + pick, free_tiles + pick + 1, (size_t)(3 - pick) * sizeof *free_tiles);
                places[p] = (sw_place){tile, tile ? (turns >> (2 * (tile - 1))) & 3 : 0};
            }
            if (!hopeless(&s.ins, places, best))
                best = fmin(best, widest_by_hand(&s.ins, places));
            layouts++;
        }
        assert_int_equal(layouts, 1536);
        sw_arrange_options options = {.seconds = NO_LIMIT_S};
        sw_arrangement a = arrange(&s.ins, &options);
        print_message("  best of all by hand: %.4f mm\n", best);
        /* By hand to the very corner; outlines extend the last 5 mm as straight lines. */
        expect_near("the best of all layouts", by_descents(&s.ins), best, 0.02);
        assert_true(a.after.worst_mm > best - 0.02 && a.after.worst_mm < a.before.worst_mm);
        sw_arrangement_free(&a);
        for (int k = 0; k < 3; k++)
            sw_inspection_free(&others[k].ins);
        sw_inspection_free(&s.ins);
    }
}

/* A table that closes is left alone; an edge nobody saw is no place to hide in, and tiles not measured stay. */
static void left_alone(void **state)
{
    (void)state;
    static const int order[4] = {0, 1, 2, 3}, turns[4] = {0};
    uint32_t seed = 8;
    sw_inspection ins = jigsaw_make(2, 2, &WAVY, order, turns, &seed);
    sw_arrange_options options = {.seconds = NO_LIMIT_S};
    sw_arrangement a = arrange(&ins, &options);
    assert_int_equal(a.better, 0);
    assert_int_equal(a.moved, 0);
    assert_non_null(strstr(a.next, "Push the tiles together as they lie"));
    sw_arrangement_free(&a);
    for (size_t i = 0; i < ins.tiles[1].edges[SW_NORTH].point_count; i++)
        ins.tiles[1].edges[SW_NORTH].points[i].state = SW_STATION_UNSEEN;
    ins.tiles[3].side_mm = NAN;
    for (size_t i = 0; i < ins.tiles[0].edges[SW_EAST].point_count; i++) /* now A1 does not fit where it is */
        ins.tiles[0].edges[SW_EAST].points[i].proud_mm += i > 150 ? 2 : 0;
    a = arrange(&ins, &options);
    assert_int_equal(a.after.layout.places[3].tile, 3);
    assert_int_equal(a.after.layout.places[3].turns, 0);
    for (size_t i = 0; i < a.after.seam_count;
         i++) { /* A1-B1 and A1-A2 are known now; the unmeasured tile's seams are not */
        const sw_arranged_seam *seam = &a.after.seams[i];
        assert_int_equal(isnan(seam->max_mm), seam->first == 3 || seam->second == 3);
    }
    int told = 0;
    for (size_t i = 0; i < a.notes.count; i++)
        told |= strstr(a.notes.list[i].text, "B2 was not measured") != NULL;
    assert_true(told);
    sw_arrangement_free(&a);
    sw_inspection_free(&ins);
}

static void refused(void **state)
{
    (void)state;
    static const int keep[] = {4};
    sheet s = cut_sheet(2, 2, WAVY, 1);
    sw_arrangement a;
    sw_error err;
    sw_arrange_options options = {.keep = keep, .keep_count = 1};
    assert_int_equal(sw_arrange(&s.ins, 1, NULL, &options, NULL, NULL, &a, &err), SW_BAD_INPUT);
    assert_int_equal(sw_arrange(&s.ins, 1, NULL, &(sw_arrange_options){.tolerance_mm = SW_TOLERANCE_MOST_MM + 1}, NULL,
                                NULL, &a, &err),
                     SW_BAD_INPUT);
    sw_inspection both[2] = {s.ins, s.ins};
    assert_int_equal(sw_arrange(both, 2, NULL, NULL, NULL, NULL, &a, &err), SW_BAD_INPUT);
    both[1].table.columns = 4;
    both[1].table.rows = 1;
    sw_layout layouts[2];
    assert_int_equal(sw_layout_as_is(&s.ins, &layouts[0], NULL), SW_OK);
    assert_int_equal(sw_layout_as_is(&s.ins, &layouts[1], NULL), SW_OK);
    assert_int_equal(sw_arrange(both, 2, layouts, NULL, NULL, NULL, &a, &err), SW_BAD_INPUT);
    assert_null(a.after.seams);
    sw_layout_free(&layouts[0]);
    sw_layout_free(&layouts[1]);
    sw_inspection_free(&s.ins);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(judges_agree),      cmocka_unit_test(two_by_two), cmocka_unit_test(nine_tiles),
        cmocka_unit_test(same_and_kept),     cmocka_unit_test(left_alone), cmocka_unit_test(refused),
        cmocka_unit_test(twenty_four_tiles),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
