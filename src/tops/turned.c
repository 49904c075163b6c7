#include <math.h>
#include <string.h>

#include "tops/tops.h"

/* Clockwise by a quarter: a place (x, y) goes to (y + width, -x), north becomes east. */
static void quarter(const sw_tops *was, sw_tops *to)
{
    double width = 0;
    for (int r = 0; r < was->rows; r++) /* of the turned table; tops stand at their tiles' middles */
        width = fmax(width, -2 * was->top[0][r].at.y / (2 * r + 1) * was->rows);
    *to = (sw_tops){.source = was->source,
                    .columns = was->rows,
                    .rows = was->columns,
                    .several = was->several,
                    .uneven = was->uneven,
                    .spread_mm = was->spread_mm,
                    .slope_spread = was->slope_spread};
    for (int c = 0; c < was->columns; c++)
        for (int r = 0; r < was->rows; r++) {
            int column = was->rows - 1 - r, row = c;
            const sw_top *t = &was->top[c][r];
            to->top[column][row] = (sw_top){t->rise_mm, t->north, -t->east, {t->at.y + width, -t->at.x}};
            to->told[column][row] = was->told[c][r];
            to->height_u_mm[column][row] = was->height_u_mm[c][r];
            to->slope_u[column][row] = was->slope_u[c][r];
            to->step_u_level_mm[column][row] = was->step_u_upright_mm[c][r];
            if (r > 0)
                to->step_u_upright_mm[column + 1][row] = was->step_u_level_mm[c][r];
        }
}

void sw_tops_turn(const sw_tops *from, int quarter_turns, sw_tops *to)
{
    *to = *from;
    for (int q = 0; q < quarter_turns; q++) {
        const sw_tops was = *to;
        quarter(&was, to);
    }
}
