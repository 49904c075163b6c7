#include "table/heights.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "maths/point.h"
#include "seamwright/defaults_and_ranges.h"

static void name_of(int column, int row, char name[8])
{
    snprintf(name, 8, "%c%d", (char)('A' + column), (row + 1) % 1000);
}

/* Place of a named tile; false when the table has none of that name. */
static bool find_tile(const char *name, int columns, int rows, int *column, int *row)
{
    for (*column = 0; *column < columns; ++*column)
        for (*row = 0; *row < rows; ++*row) {
            char here[8];
            name_of(*column, *row, here);
            if (strcmp(name, here) == 0)
                return true;
        }
    return false;
}

static sw_status no_such_tile(const char *file, const char *name, int columns, int rows, sw_error *err)
{
    char last[8];
    name_of(columns - 1, rows - 1, last);
    return sw_fail(err, SW_BAD_INPUT,
                   "%s: --height names tile %.7s, but the table in the picture has %d x %d tiles, A1 to %s", file, name,
                   columns, rows, last);
}

/* Writes the named heights down; the others stay 0. */
static sw_status take_named(const char *file, const sw_tile_height *named, size_t count, int columns, int rows,
                            sw_heights *out, sw_error *err)
{
    for (size_t i = 0; i < count; i++) {
        int column, row;
        if (!find_tile(named[i].tile, columns, rows, &column, &row))
            return no_such_tile(file, named[i].tile, columns, rows, err);
        out->mm[column][row] = named[i].height_mm;
    }
    return SW_OK;
}

sw_status sw_table_check(int columns, int rows, sw_error *err)
{
    if (columns >= 1 && columns <= SW_TABLE_MOST && rows >= 1 && rows <= SW_TABLE_MOST)
        return SW_OK;
    return sw_fail(err, SW_BAD_INPUT, "a table has 1 to %d tiles across and 1 to %d down", SW_TABLE_MOST,
                   SW_TABLE_MOST);
}

sw_status sw_heights_check(double usual_mm, const sw_tile_height *named, size_t count, sw_error *err)
{
    double low = usual_mm > 0 ? usual_mm : INFINITY, high = usual_mm > 0 ? usual_mm : 0;
    sw_status status = usual_mm != 0 ? sw_range_check(SW_HEIGHT_MM, "the height of the tops", usual_mm, err) : SW_OK;
    for (size_t i = 0; !status && i < count; i++) {
        status = sw_range_check(SW_HEIGHT_MM, "a tile's height", named[i].height_mm, err);
        low = fmin(low, named[i].height_mm);
        high = fmax(high, named[i].height_mm);
        for (size_t j = 0; !status && j < i; j++)
            if (strcmp(named[i].tile, named[j].tile) == 0)
                status =
                    sw_fail(err, SW_BAD_INPUT, "tile %.7s is named twice; give each tile one height", named[i].tile);
    }
    if (!status && high - low > SW_HEIGHTS_APART_MOST_MM)
        status =
            sw_fail(err, SW_BAD_INPUT, "the heights differ by %g mm; one photo is good for tiles up to %g mm apart",
                    high - low, SW_HEIGHTS_APART_MOST_MM);
    return status;
}

sw_status sw_heights_of(const char *file, double usual_mm, const sw_tile_height *named, size_t count, int columns,
                        int rows, sw_heights *out, sw_error *err)
{
    memset(out, 0, sizeof *out);
    sw_status status = take_named(file, named, count, columns, rows, out, err);
    double low = INFINITY;
    for (size_t i = 0; i < count; i++)
        low = fmin(low, named[i].height_mm);
    out->plane_mm = usual_mm > 0 ? usual_mm : count > 0 ? low : 0;
    for (int c = 0; !status && c < columns; c++)
        for (int r = 0; r < rows; r++) {
            double *mm = &out->mm[c][r];
            out->assumed += *mm <= 0 && !(usual_mm > 0) && count > 0;
            out->known[c][r] = count > 0 && (*mm > 0 || usual_mm > 0);
            *mm = *mm > 0 ? *mm : out->plane_mm;
            out->uneven |= *mm != out->plane_mm;
        }
    if (status)
        memset(out, 0, sizeof *out);
    return status;
}

void sw_heights_tile_at(const sw_grid *grid, sw_point mm, int *column, int *row)
{
    *column = *row = 0;
    while (*column + 1 < grid->columns && mm.x > grid->upright[*column + 1][0].from.x)
        ++*column;
    while (*row + 1 < grid->rows && mm.y < grid->level[0][*row + 1].from.y)
        ++*row;
}

void sw_heights_give(const sw_heights *heights, sw_grid *grid)
{
    sw_tops *tops = &grid->tops;
    memset(tops, 0, sizeof *tops);
    tops->source = SW_TOPS_GIVEN;
    tops->columns = grid->columns;
    tops->rows = grid->rows;
    for (int c = 0; c < grid->columns; c++)
        for (int r = 0; r < grid->rows; r++) {
            sw_point nw = grid->upright[c][r].from, se = grid->upright[c + 1][r].to;
            tops->top[c][r] = (sw_top){.rise_mm = heights->mm[c][r] - heights->plane_mm, .at = sw_between(nw, se, 0.5)};
            tops->told[c][r] = heights->known[c][r];
            tops->height_u_mm[c][r] = SW_HEIGHT_GIVEN_U_MM;
            tops->step_u_upright_mm[c][r] = tops->step_u_level_mm[c][r] = M_SQRT2 * SW_HEIGHT_GIVEN_U_MM;
        }
}

void sw_heights_tops_beside(const sw_grid *grid, bool upright, int column, int row, sw_top tops[2])
{
    int before_column = column - upright, before_row = row - !upright;
    bool first = before_column >= 0 && before_row >= 0, second = column < grid->columns && row < grid->rows;
    tops[0] = first ? grid->tops.top[before_column][before_row] : (sw_top){0};
    tops[1] = second ? grid->tops.top[column][row] : (sw_top){0};
}

void sw_heights_beside(const sw_grid *grid, bool upright, int column, int row, double rise_mm[2])
{
    const sw_grid_side *side = upright ? &grid->upright[column][row] : &grid->level[column][row];
    sw_top tops[2];
    sw_heights_tops_beside(grid, upright, column, row, tops);
    for (int k = 0; k < 2; k++)
        rise_mm[k] = sw_top_rise(&tops[k], sw_between(side->from, side->to, 0.5));
}

double sw_heights_step_u(const sw_grid *grid, bool upright, int column, int row)
{
    return upright ? grid->tops.step_u_upright_mm[column][row] : grid->tops.step_u_level_mm[column][row];
}
