/* The edge of a shadow in a line of seams: told from tops of two colours by the floor beyond the table. */
#include "support/maths_check.h"

#include <stdlib.h>

#include "seam/cast.h"
#include "seam/job.h"
#include "support/seam_read.h"

typedef struct in_line {
    double step[4], floor[2];
    bool cast[4];
} in_line;

static void check(const in_line *l, size_t number)
{
    bool cast[4];
    sw_cast_in_line(l->step, 4, l->floor, cast);
    for (int k = 0; k < 4; k++)
        if (cast[k] != l->cast[k])
            fail_msg("line %zu: seam %d counts as %s", number, k, cast[k] ? "shaded" : "clear");
}

static void a_shadow_goes_on_over_the_floor(void **state)
{
    static const in_line LINES[] = {
        {{-0.5, -0.52, -0.5, -0.49}, {-0.45, -0.55}, {1, 1, 1, 1}}, /* from rim to rim */
        {{0.16, 0.16, 0.15, 0.16}, {0.13, NAN}, {1, 1, 1, 1}},      /* one rim's floor is out of the photo */
        {{0.5, 0.5, 0.02, 0}, {0.5, 0.01}, {1, 1, 0, 0}},           /* it ends on the table */
        {{0, 0.01, 0.5, 0.5}, {0.02, 0.6}, {0, 0, 1, 1}},
        {{-0.5, NAN, -0.5, -0.5}, {-0.5, 0}, {1, 0, 1, 1}}, /* a seam in its way is not seen */
        {{0.5, 0.3, 0.3, 0.3}, {0.5, 0}, {1, 0, 0, 0}},     /* what goes on is another step */
    };
    (void)state;
    for (size_t k = 0; k < sizeof LINES / sizeof *LINES; k++)
        check(&LINES[k], k);
}

static void colours_do_not(void **state)
{
    static const in_line LINES[] = {
        {{0.5, 0.5, 0.5, 0.5}, {0.05, -0.06}, {0}},       /* rows of two colours */
        {{0.15, -0.15, 0.15, -0.15}, {0.15, -0.17}, {0}}, /* in turn, on a floor with grain */
        {{0.5, 0.5, 0.5, 0.5}, {-0.5, -0.5}, {0}},        /* the floor is lighter where the tops are darker */
        {{0.01, -0.01, 0.02, 0}, {0.3, 0.3}, {0}},        /* two floors under one table */
        {{NAN, NAN, NAN, NAN}, {0.5, 0.5}, {0}},          {{0.5, 0.5, 0.5, 0.5}, {NAN, NAN}, {0}},
        {{0.5, 0.5, 0.5, 0.5}, {1.2, 0.1}, {0}},
    };
    (void)state;
    for (size_t k = 0; k < sizeof LINES / sizeof *LINES; k++)
        check(&LINES[k], k);
}

/* Two by two tiles on a floor, one px a mm, y down; all beyond a place is shaded, across upright lines or level ones. */
enum { SIZE = 900, FIRST = 250, TILE = 200 };
typedef struct table {
    sw_photo photo;
    float linear[256];
    sw_scale scale;
    sw_grid grid;
    sw_traces traces;
    sw_trace upright[12];
    sw_seam_job seams[4];
    seam_read read[4];
    sw_seams_job job;
} table;

static void lay_sides(table *t)
{
    for (int line = 0; line < 3; line++)
        for (int k = 0; k < 2; k++) {
            double at = FIRST + TILE * line, from = FIRST + TILE * k, to = from + TILE;
            t->grid.upright[line][k] = (sw_grid_side){{at, -from}, {at, -to}, 1};
            t->grid.level[k][line] = (sw_grid_side){{from, -at}, {to, -at}, 1};
        }
}

/* light_first, light_second: of the tops before and behind the middle upright, or level, line; floor: the same of the floor. */
static void start(table *t, bool upright, bool reversed, double first, double second, double floor_first,
                  double floor_second)
{
    *t = (table){.scale = {.lens = {.fx = 1, .fy = 1},
                           .to_plane = {{1, 0, 0}, {0, -1, 0}, {0, 0, 1}},
                           .to_mm = {{1, 0, 0}, {0, -1, 0}, {0, 0, 1}}},
                 .grid = {.columns = 2, .rows = 2, .tile_mm = TILE}};
    t->photo = (sw_photo){.width_px = SIZE, .height_px = SIZE, .bits = 8, .linear = t->linear};
    t->photo.luma8 = malloc(SIZE * SIZE);
    for (int i = 0; i < 256; i++)
        t->linear[i] = (float)i / 255;
    for (int i = 0; i < SIZE * SIZE; i++) {
        bool behind = (upright ? i % SIZE : i / SIZE) >= FIRST + TILE;
        t->photo.luma8[i] = (uint8_t)lround(255 * (behind ? floor_second : floor_first));
    }
    lay_sides(t);
    t->traces = (sw_traces){.columns = 2, .rows = 2, .count = 12, .upright = t->upright, .level = t->upright + 6};
    for (int k = 0; k < 4; k++) {
        bool up = k < 2, across = up == upright;
        sw_trace *trace = up ? &t->traces.upright[2 + k] : &t->traces.level[(k - 2) * 3 + 1];
        seam_read_start(&t->read[k], first, 0.3, 0.9);
        for (int i = 0; i < READ_STATIONS; i++)
            *(reversed ? &t->read[k].roughs[i].low : &t->read[k].roughs[i].high) = across ? second : first;
        *trace = t->read[k].trace;
        trace->places = t->read[k].places;
        trace->reversed = reversed;
        t->seams[k] = (sw_seam_job){.trace = trace, .reading = &t->read[k].reading};
    }
    t->job = (sw_seams_job){.photo = &t->photo,
                            .scale = &t->scale,
                            .grid = &t->grid,
                            .traces = &t->traces,
                            .seams = t->seams,
                            .seam_count = 4};
}

static void it_is_found_on_a_table(void **state)
{
    (void)state;
    for (int way = 0; way < 8; way++) {
        bool upright = way & 1, reversed = way & 2, dark_first = way & 4;
        static table t;
        start(&t, upright, reversed, dark_first ? 0.3 : 0.5, dark_first ? 0.5 : 0.3, dark_first ? 0.12 : 0.2,
              dark_first ? 0.2 : 0.12);
        sw_cast_judge(&t.job);
        for (int k = 0; k < 4; k++)
            assert_int_equal(t.seams[k].trace->cast, (k < 2) == upright);
        free(t.photo.luma8);
        start(&t, upright, reversed, dark_first ? 0.3 : 0.5, dark_first ? 0.5 : 0.3, 0.2, 0.2);
        sw_cast_judge(&t.job);
        for (int k = 0; k < 4; k++)
            assert_false(t.seams[k].trace->cast);
        free(t.photo.luma8);
    }
}

/* A bar of shadow along the middle line, as the floor shows it; a seam that is no wider than usual, between tops as light as elsewhere, is none of it, nor on a
 * striped floor one as dark as a gap. */
static void a_bar_on_a_line(void **state)
{
    (void)state;
    for (int way = 0; way < 64; way++) {
        bool upright = way & 1, wide = way & 2, dark = way & 4, on_floor = way & 8, black = way & 16,
             striped = way & 32;
        static table t;
        static sw_top_light tops[4];
        start(&t, upright, false, 0.5, 0.5, 0.2, 0.2);
        t.job.tops = tops;
        t.traces.patterned = striped;
        for (int i = 0; i < 4; i++)
            tops[i] = (sw_top_light){.half_mm = TILE / 2, .c = {log(0.5)}, .spread = 0.006};
        for (int i = 0; on_floor && i < SIZE * SIZE; i++)
            if (abs((upright ? i % SIZE : i / SIZE) - FIRST - TILE - 2) <= 3)
                t.photo.luma8[i] = (uint8_t)lround(255 * 0.15);
        for (int k = 0; k < 4; k++)
            for (int i = 0; i < READ_STATIONS && (k < 2) == upright; i++) {
                if (wide)
                    seam_read_gap(&t.read[k], i, 6, black ? 0.95 : 0.6);
                if (wide && !black)
                    t.read[k].roughs[i].lacks *= 0.6;
                if (dark)
                    t.read[k].roughs[i].low = t.read[k].roughs[i].high = 0.4;
            }
        sw_cast_judge(&t.job);
        for (int k = 0; k < 4; k++)
            assert_int_equal(t.seams[k].trace->cast,
                             on_floor && ((wide && !(black && striped)) || dark) && (k < 2) == upright);
        free(t.photo.luma8);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_shadow_goes_on_over_the_floor),
        cmocka_unit_test(colours_do_not),
        cmocka_unit_test(it_is_found_on_a_table),
        cmocka_unit_test(a_bar_on_a_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
