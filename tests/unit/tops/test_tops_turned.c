/* Tops turned as the table of a photo that lies turned: each plane stands over the same places, and each line between tiles keeps its own. */
#include "support/maths_check.h"

#include <string.h>

#include "tops/tops.h"

enum { COLUMNS = 3, ROWS = 2 };
static const double TILE_MM = 300;

/* Every number different. */
static void make(sw_tops *tops)
{
    memset(tops, 0, sizeof *tops);
    tops->source = SW_TOPS_MEASURED;
    tops->columns = COLUMNS;
    tops->rows = ROWS;
    tops->uneven = true;
    tops->spread_mm = 4;
    tops->slope_spread = 0.001;
    for (int c = 0; c < COLUMNS; c++)
        for (int r = 0; r < ROWS; r++) {
            double k = 1 + c + COLUMNS * r;
            tops->top[c][r] = (sw_top){k, 1e-3 * k, -2e-3 * sqrt(k), {(c + 0.5) * TILE_MM, -(r + 0.5) * TILE_MM}};
            tops->told[c][r] = c != r;
            tops->height_u_mm[c][r] = 0.1 * k;
            tops->slope_u[c][r] = 1e-4 * k;
            if (c > 0)
                tops->step_u_upright_mm[c][r] = 0.01 * k;
            if (r > 0)
                tops->step_u_level_mm[c][r] = 0.02 * k;
        }
}

static int column_of(sw_point p)
{
    return (int)floor(p.x / TILE_MM);
}

static int row_of(sw_point p)
{
    return (int)floor(-p.y / TILE_MM);
}

/* Of the line between two tiles beside each other, by their middles. */
static double step_u(const sw_tops *t, sw_point a, sw_point b)
{
    bool upright = fabs(a.x - b.x) > fabs(a.y - b.y);
    sw_point later = upright ? (a.x > b.x ? a : b) : (a.y < b.y ? a : b);
    return upright ? t->step_u_upright_mm[column_of(later)][row_of(later)]
                   : t->step_u_level_mm[column_of(later)][row_of(later)];
}

/* The table's middle is the pivot; one quarter clockwise takes what lies north of it to its east. */
static sw_point turned(sw_point p, int quarters)
{
    double columns = COLUMNS, rows = ROWS;
    for (int q = 0; q < quarters; q++) {
        double x = p.x - columns * TILE_MM / 2, y = p.y + rows * TILE_MM / 2, swap = columns;
        columns = rows;
        rows = swap;
        p = (sw_point){y + columns * TILE_MM / 2, -x - rows * TILE_MM / 2};
    }
    return p;
}

static void compare_tile(const sw_tops *was, const sw_tops *now, int c, int r, int q)
{
    static const sw_point OFF[3] = {{0, 0}, {120, 0}, {0, 90}};
    for (int i = 0; i < 3; i++) {
        sw_point p = {(c + 0.5) * TILE_MM + OFF[i].x, -(r + 0.5) * TILE_MM + OFF[i].y}, at = turned(p, q);
        int column = column_of(at), row = row_of(at);
        expect_near("height there", sw_top_rise(&now->top[column][row], at), sw_top_rise(&was->top[c][r], p), 1e-9);
        assert_true(now->told[column][row] == was->told[c][r]);
        expect_near("height's u", now->height_u_mm[column][row], was->height_u_mm[c][r], 0);
        expect_near("slope's u", now->slope_u[column][row], was->slope_u[c][r], 0);
    }
    sw_point middle = {(c + 0.5) * TILE_MM, -(r + 0.5) * TILE_MM}, east = {middle.x + TILE_MM, middle.y},
             south = {middle.x, middle.y - TILE_MM};
    if (c + 1 < COLUMNS)
        expect_near("step's u, east", step_u(now, turned(middle, q), turned(east, q)), step_u(was, middle, east), 0);
    if (r + 1 < ROWS)
        expect_near("step's u, south", step_u(now, turned(middle, q), turned(south, q)), step_u(was, middle, south), 0);
}

static void tops_go_with_the_table(void **state)
{
    (void)state;
    static sw_tops was, now;
    make(&was);
    for (int q = 0; q <= 4; q++) {
        sw_tops_turn(&was, q, &now);
        assert_int_equal(now.columns, q % 2 ? ROWS : COLUMNS);
        assert_true(now.source == was.source && now.uneven);
        assert_true(now.spread_mm == was.spread_mm && now.slope_spread == was.slope_spread);
        for (int c = 0; c < COLUMNS; c++)
            for (int r = 0; r < ROWS; r++)
                compare_tile(&was, &now, c, r, q);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(tops_go_with_the_table)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
