/* How far tiles still stand turned, from strokes along one side of one tile at a time: every side of the block counts,
 * its outermost ones too. */
#include "support/maths_check.h"

#include "table/turn.h"

enum { COUNT = 60 };
static const double TILE_MM = 300, REACH_MM = 8, TURN = 0.02;

/* Strokes every few mm along a side that is turned counter-clockwise about its middle. */
static double turn_of(const sw_block *b, int upright, int line, int cell)
{
    sw_stroke strokes[COUNT];
    double x = upright ? b->x[line] : (b->x[cell] + b->x[cell + 1]) / 2,
           y = upright ? (b->y[cell] + b->y[cell + 1]) / 2 : b->y[line];
    for (int i = 0; i < COUNT; i++) {
        double along = 4 * (i - (COUNT - 1) / 2.0), across = along * TURN;
        strokes[i] = (sw_stroke){.x = (float)(upright ? x - across : x + along),
                                 .y = (float)(upright ? y + along : y + across),
                                 .gx = upright ? 1 : 0,
                                 .gy = upright ? 0 : 1,
                                 .weight = 1};
    }
    return sw_leftover_turn(&(sw_strokes){strokes, COUNT, 1}, b, REACH_MM);
}

static void every_side_counts(void **state)
{
    (void)state;
    for (int columns = 1; columns <= 3; columns++)
        for (int rows = 1; rows <= 3; rows++) {
            sw_block b = {.columns = columns, .rows = rows};
            for (int i = 0; i <= columns; i++)
                b.x[i] = 100 + i * TILE_MM;
            for (int i = 0; i <= rows; i++)
                b.y[i] = -50 - i * TILE_MM;
            for (int upright = 0; upright < 2; upright++)
                for (int line = 0; line <= (upright ? columns : rows); line++)
                    for (int cell = 0; cell < (upright ? rows : columns); cell++)
                        expect_near("turn", turn_of(&b, upright, line, cell), TURN, 1e-5);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_side_counts)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
