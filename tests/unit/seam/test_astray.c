/* A line followed instead of the seam: a table of 4 x 3 tiles whose traces run where they are told. And a tile that is not there. */
#include "support/maths_check.h"

#include "seam/astray.h"
#include "seam/top_light.h"

enum { COLUMNS = 4, ROWS = 3, STATIONS = 60, TRACES = (COLUMNS + 1) * ROWS + COLUMNS * (ROWS + 1) };
static const double TILE = 300;

typedef struct table {
    sw_trace_place places[TRACES][STATIONS];
    sw_trace upright[TRACES];
    sw_traces traces;
} table;

static sw_grid GRID = {.columns = COLUMNS, .rows = ROWS, .tile_mm = 300};

/* One px is one mm, y down. */
static const sw_scale SCALE = {.lens = {.fx = 1, .fy = 1},
                               .to_plane = {{1, 0, 0}, {0, -1, 0}, {0, 0, 1}},
                               .to_mm = {{1, 0, 0}, {0, -1, 0}, {0, 0, 1}}};

static void lay(table *t, int k, bool upright, double across, double from)
{
    t->upright[k] = (sw_trace){.along_row = upright, .px_per_mm = 1, .places = t->places[k], .count = STATIONS};
    for (int i = 0; i < STATIONS; i++)
        t->places[k][i] = (sw_trace_place){.line = from + TILE * (i + 0.5) / STATIONS, .path_px = across, .seen = true};
}

/* Tiles as a hand cuts them: lines up to 0.4 mm off. */
static void start(table *t)
{
    const int uprights = (COLUMNS + 1) * ROWS;
    for (int i = 0; i <= COLUMNS; i++)
        for (int r = 0; r < ROWS; r++)
            lay(t, i * ROWS + r, true, i * TILE + 0.4 * sin(3 * i + r), r * TILE);
    for (int c = 0; c < COLUMNS; c++)
        for (int j = 0; j <= ROWS; j++)
            lay(t, uprights + c * (ROWS + 1) + j, false, j * TILE + 0.4 * sin(2 * j + c), c * TILE);
    t->traces = (sw_traces){
        .columns = COLUMNS, .rows = ROWS, .count = TRACES, .upright = t->upright, .level = t->upright + uprights};
}

static int strays(const table *t)
{
    int n = 0;
    for (int k = 0; k < TRACES; k++)
        n += t->upright[k].astray;
    return n;
}

static void move(sw_trace *trace, double by)
{
    for (int i = 0; i < trace->count; i++)
        trace->places[i].path_px += by;
}

static void hand_cut_tiles_have_none(void **state)
{
    (void)state;
    static table t;
    start(&t);
    assert_int_equal(sw_astray_judge(&SCALE, &GRID, &t.traces), SW_OK);
    assert_int_equal(strays(&t), 0);
}

static void a_line_beside_is_found(void **state)
{
    (void)state;
    for (int upright = 0; upright < 2; upright++)
        for (int way = -1; way <= 1; way += 2) {
            static table t;
            start(&t);
            sw_trace *stray = upright ? &t.traces.upright[2 * ROWS + 1] : &t.traces.level[1 * (ROWS + 1) + 2];
            move(stray, 3.5 * way);
            assert_int_equal(sw_astray_judge(&SCALE, &GRID, &t.traces), SW_OK);
            assert_int_equal(strays(&t), 1);
            assert_true(stray->astray);
        }
}

/* Tiles that are larger than the others move all beyond them, and no line was mistaken. */
static void large_tiles_are_none(void **state)
{
    (void)state;
    static table t;
    start(&t);
    for (int i = 2; i <= COLUMNS; i++)
        move(&t.traces.upright[i * ROWS], i == 2 ? 3.5 : 7); /* two of them, side by side */
    assert_int_equal(sw_astray_judge(&SCALE, &GRID, &t.traces), SW_OK);
    assert_int_equal(strays(&t), 0);
}

/* The table's own rims have a tile at one side only. */
static void a_rim_is_never_one(void **state)
{
    (void)state;
    static table t;
    start(&t);
    move(&t.traces.upright[0], 3.5);
    assert_int_equal(sw_astray_judge(&SCALE, &GRID, &t.traces), SW_OK);
    assert_int_equal(strays(&t), 0);
}

enum { TILES = 6 };

static void start_tops(sw_top_light tops[TILES])
{
    for (int i = 0; i < TILES; i++)
        tops[i] = (sw_top_light){.c = {-1.1 - 0.05 * i}, .spread = 0.006 + 0.0004 * i};
}

static int missing(const sw_top_light tops[TILES], const sw_floor_light *floor)
{
    int found = 0;
    for (int i = 0; i < TILES; i++)
        found += sw_top_light_missing(tops, TILES, i, floor) ? 1 << i : 0;
    return found;
}

/* In the place of a tile lies the floor, lit or in shade, wood with its grain or plain. */
static void a_tile_that_is_not_there(void **state)
{
    static const struct {
        sw_floor_light floor;
        double light, spread;
        bool gone;
    } PLACES[] = {
        {{-2.8, -2.4, -2.0}, -1.9, 0.07, true},   /* lit wood */
        {{-2.8, -2.4, -2.0}, -2.7, 0.05, true},   /* the same in shade */
        {{-2.8, -2.4, -2.0}, -2.35, 0.006, true}, /* a plain floor */
        {{-2.8, -2.4, -2.0}, -1.9, 0.006, false}, /* a darker tile */
        {{-2.8, -2.4, -2.0}, -1.35, 0.07, false}, /* a printed one */
        {{-2.8, -2.4, -2.0}, -0.4, 0.07, false},  /* and a white one with print */
        {{INFINITY, NAN, -INFINITY}, -1.9, 0.07, false},
    };
    (void)state;
    for (size_t k = 0; k < sizeof PLACES / sizeof *PLACES; k++) {
        sw_top_light tops[TILES];
        start_tops(tops);
        assert_int_equal(missing(tops, &PLACES[k].floor), 0);
        tops[3].c[0] = PLACES[k].light;
        tops[3].spread = PLACES[k].spread;
        if (missing(tops, &PLACES[k].floor) != (PLACES[k].gone ? 8 : 0))
            fail_msg("place %zu: %d", k, missing(tops, &PLACES[k].floor));
    }
}

/* All but one are gone: the floor is what is usual. A table of one printed kind, as light as the floor, has all its tiles. */
static void one_tile_on_the_floor(void **state)
{
    (void)state;
    const sw_floor_light floor = {-2.2, -2.1, -2.0};
    sw_top_light tops[TILES];
    for (int i = 0; i < TILES; i++)
        tops[i] = (sw_top_light){.c = {i == 2 ? -0.7 : -1.95 - 0.02 * i}, .spread = i == 2 ? 0.007 : 0.04};
    assert_int_equal(missing(tops, &floor), (1 << TILES) - 1 - (1 << 2));
    for (int i = 0; i < TILES; i++)
        tops[i].spread = 0.04;
    assert_int_equal(missing(tops, &floor), 0);
}

/* A table of a light like the floor's has all its tiles. */
static void tops_like_the_floor(void **state)
{
    (void)state;
    sw_top_light tops[TILES];
    start_tops(tops);
    assert_int_equal(missing(tops, &(sw_floor_light){-1.3, -1.2, -1.1}), 0);
}

/* Print is known by its spread; where a third of the tops show it all count: patches may lie between stripes. */
static void printed_tops(void **state)
{
    (void)state;
    for (int printed = 0; printed <= 6; printed++) {
        sw_top_light tops[6] = {{.spread = NAN}};
        for (int i = 1; i < 6; i++)
            tops[i].spread = i <= printed ? 0.05 : 0.012;
        sw_top_light_find_printed(tops, 6);
        for (int i = 0; i < 6; i++)
            assert_int_equal(tops[i].printed, printed >= 2 || (i == 1 && printed == 1));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hand_cut_tiles_have_none), cmocka_unit_test(a_line_beside_is_found),
        cmocka_unit_test(large_tiles_are_none),     cmocka_unit_test(a_rim_is_never_one),
        cmocka_unit_test(a_tile_that_is_not_there), cmocka_unit_test(tops_like_the_floor),
        cmocka_unit_test(one_tile_on_the_floor),    cmocka_unit_test(printed_tops),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
