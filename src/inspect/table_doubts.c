#include "inspect/table_doubts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "inspection/tiles_size.h"
#include "table/cut.h"
#include "tile/oblong.h"

/* Tiles for tables and floors: from bathroom tiles to slabs (memory of the trade). */
static const double USUAL_LEAST_MM = 95, USUAL_MOST_MM = 650;

/* "left", "top and right": the sides at which the table reaches the photo's rim. Returns how many. */
static int sides_of(const sw_grid *grid, char *text, size_t room)
{
    int n = 0, all = 0;
    for (int side = 0; side < SW_GRID_SIDES; side++)
        all += grid->touches[side];
    text[0] = 0;
    for (int side = 0; side < SW_GRID_SIDES; side++) {
        size_t used = strlen(text);
        if (!grid->touches[side])
            continue;
        n++;
        snprintf(text + used, room - used, "%s%s", n == 1 ? "" : n == all ? " and " : ", ", sw_cut_side_name(side));
    }
    return n;
}

static sw_status note_touching(const sw_grid *grid, sw_inspection *ins)
{
    char sides[64];
    int count = sides_of(grid, sides, sizeof sides);
    if (!count)
        return SW_OK;
    return sw_note_add(
        &ins->notes, SW_NOTE_TABLE_AT_FRAME,
        "The table reaches the picture's edge at the %s: tiles that go on beyond it are missing here, and outer edges "
        "there are measured only as far as they are seen. Step back so that some floor shows on all sides.",
        sides);
}

/* Where the size told and the one measured differ, one of the two figures the user typed is wrong. */
static sw_status note_size(double off, sw_inspection *ins)
{
    double told = ins->table.tile_mm, size = (1 + off) * told;
    if (off == 0)
        return SW_OK;
    const sw_reference *r = &ins->scale.reference;
    double outer = (r->outer_x_mm + r->outer_y_mm) / 2;
    return sw_note_add(
        &ins->notes, SW_NOTE_SIZE_DOUBTFUL,
        "The tiles measure %.1f mm where %g mm were told, %.1f %% %s: if %g mm is right, the cards' outer "
        "side is %.1f mm and not %g mm as told, and every figure here is wrong by that share (the \302\261 "
        "holds that). Measure a tile and a card.",
        size, told, 100 * fabs(off), off < 0 ? "less" : "more", told, outer / (1 + off), outer);
}

/* Nobody told the tiles' size, and hardly any tiles are of the one that the cards as told make them. */
static sw_status note_unusual(sw_inspection *ins)
{
    double size = sw_tiles_size(ins, NULL);
    if (ins->table.tile_given || !(size < USUAL_LEAST_MM || size > USUAL_MOST_MM))
        return SW_OK;
    const sw_reference *r = &ins->scale.reference;
    return sw_note_add(
        &ins->notes, SW_NOTE_SIZE_DOUBTFUL,
        "The tiles measure %.0f mm if the cards' outer side is %g mm as told: an unusual size. Measure a "
        "tile and a card; if one of them is not so, tell the card's sides (--reference): every figure here "
        "hangs on them.",
        size, (r->outer_x_mm + r->outer_y_mm) / 2);
}

/* Squares that are none, all the same way. */
static sw_status note_oblong(sw_inspection *ins)
{
    double percent = 100 * (exp(fabs(sw_tiles_oblong(ins))) - 1);
    if (!(percent > 0))
        return SW_OK;
    return sw_note_add(
        &ins->notes, SW_NOTE_SIZE_DOUBTFUL,
        "All tiles measure %.1f %% longer from %s: they were cut so, or the cards were printed longer "
        "one way, or a program stretched the picture. Measure a tile both ways, and a card (the \302\261 of "
        "lengths and angles holds either).",
        percent,
        sw_tiles_oblong(ins) > 0 ? "west to east than from north to south" : "north to south than from west to east");
}

sw_status sw_note_table(const sw_grid *grid, double size_off, sw_inspection *ins)
{
    sw_status status = note_touching(grid, ins);
    if (!status)
        status = note_size(size_off, ins);
    if (!status)
        status = note_oblong(ins);
    return status ? status : note_unusual(ins);
}
