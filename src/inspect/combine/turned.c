/* turned.c - one quarter turn counter-clockwise: the place (x, y) goes to (-y, x), north becomes west.
 *
 *      A1 | B1 | C1           C1 | C2
 *      ---+----+---    -->    ---+---         tile (column, row) goes to (row, columns - 1 - column)
 *      A2 | B2 | C2           B1 | B2
 *                             ---+---
 *                             A1 | A2
 *
 * What ran from the west end (level edges and seams) then runs from the south end, so its places are counted the other
 * way round; what ran from the north end runs from the west end, as it should.
 */
#include "inspect/combine/turned.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct turn {
    int columns, rows; /* before the turn */
    double shift_mm;   /* moves the turned table's north-west corner back to where the old one's was */
} turn;

static sw_point place(const turn *t, sw_point mm)
{
    return (sw_point){-mm.y, mm.x - t->shift_mm};
}

static sw_side side_after(sw_side side)
{
    return (sw_side)((side + 3) % 4);
}

static int tile_after(const turn *t, int tile)
{
    int column = tile % t->columns, row = tile / t->columns;
    return (t->columns - 1 - column) * t->rows + row;
}

static void turn_chip(const turn *t, sw_chip *chip, double length_mm)
{
    if (chip->side == SW_NORTH || chip->side == SW_SOUTH)
        chip->at_mm = length_mm - chip->at_mm;
    chip->side = side_after(chip->side);
    chip->tile = tile_after(t, chip->tile);
}

static void turn_edge(const turn *t, sw_edge *edge, bool level)
{
    for (size_t i = 0; i < edge->point_count; i++) {
        sw_rim_point *p = &edge->points[i];
        p->mm = place(t, p->mm);
        if (level)
            p->at_mm = edge->length_mm - p->at_mm;
    }
    for (size_t i = 0, j = edge->point_count; level && i + 1 < j; i++) {
        sw_rim_point other = edge->points[--j];
        edge->points[j] = edge->points[i];
        edge->points[i] = other;
    }
}

static void turn_tile(const turn *t, const sw_tile *from, sw_tile *to)
{
    *to = *from;
    to->column = from->row;
    to->row = t->columns - 1 - from->column;
    snprintf(to->name, sizeof to->name, "%c%u", (char)('A' + to->column), (unsigned)(to->row + 1) % 1000u);
    to->centre_mm = place(t, from->centre_mm);
    to->rise_east = -from->rise_north; /* what lay south lies east */
    to->rise_north = from->rise_east;
    for (size_t i = 0; i < to->chip_count; i++)
        turn_chip(t, &to->chips[i], from->edges[to->chips[i].side].length_mm);
    for (int s = 0; s < 4; s++) {
        int after = side_after((sw_side)s);
        to->edges[after] = from->edges[s];
        turn_edge(t, &to->edges[after], s == SW_NORTH || s == SW_SOUTH);
        to->corners[after] = from->corners[s]; /* north-west becomes south-west, and so on */
        to->corners[after].mm = place(t, from->corners[s].mm);
    }
}

/* The second tile's mark against the first's changes its sense as the seam's slip does. */
static void turn_mark(const turn *t, const sw_tile *before, sw_mark *mark)
{
    if (mark->side == SW_NORTH || mark->side == SW_SOUTH) {
        mark->at_mm = before[mark->tile].edges[mark->side].length_mm - mark->at_mm;
        mark->from_half_mm = -mark->from_half_mm;
    }
    mark->side = side_after(mark->side);
    mark->tile = tile_after(t, mark->tile);
    mark->mm = place(t, mark->mm);
    mark->step_mm = -mark->step_mm;
}

/* A level seam becomes an upright one that runs the other way. */
static void reverse_seam(sw_seam *seam)
{
    sw_point end = seam->end_mm;
    seam->end_mm = seam->start_mm;
    seam->start_mm = end;
    seam->taper_mm = -seam->taper_mm;
    seam->max_at_mm = seam->length_mm - seam->max_at_mm;
    for (size_t i = 0; i < seam->station_count; i++)
        seam->stations[i].at_mm = seam->length_mm - seam->stations[i].at_mm;
    for (size_t i = 0, j = seam->station_count; i + 1 < j; i++) {
        sw_station other = seam->stations[--j];
        seam->stations[j] = seam->stations[i];
        seam->stations[i] = other;
    }
}

static void turn_seam(const turn *t, const sw_tile *tiles, sw_seam *seam)
{
    int first = tile_after(t, seam->first), second = tile_after(t, seam->second);
    for (size_t i = 0; i < seam->chip_count; i++)
        turn_chip(t, &seam->chips[i], seam->length_mm);
    /* The east tile comes to lie north. Either way slip and direction change their sense against each other once. */
    seam->first = seam->upright ? second : first;
    seam->second = seam->upright ? first : second;
    seam->corner_step_mm = -seam->corner_step_mm;
    if (seam->upright) { /* its tiles change places */
        seam->step_mm = -seam->step_mm;
        seam->step_largest_mm = -seam->step_largest_mm;
    }
    seam->start_mm = place(t, seam->start_mm);
    seam->end_mm = place(t, seam->end_mm);
    if (!seam->upright)
        reverse_seam(seam);
    seam->upright = !seam->upright;
    snprintf(seam->name, sizeof seam->name, "%s-%s", tiles[seam->first].name, tiles[seam->second].name);
}

/* Tile after tile, the upright seam first. */
static int by_place(const void *a, const void *b)
{
    const sw_seam *one = a, *two = b;
    if (one->first != two->first)
        return one->first < two->first ? -1 : 1;
    return two->upright - one->upright;
}

static int mark_by_place(const void *a, const void *b)
{
    const sw_mark *one = a, *two = b;
    if (one->seam != two->seam)
        return one->seam < two->seam ? -1 : 1;
    /* of one seam the first tile's, whose east or south side it is */
    return (two->side == SW_EAST || two->side == SW_SOUTH) - (one->side == SW_EAST || one->side == SW_SOUTH);
}

/* Marks after their seams, which have changed places. */
static void order_marks(sw_inspection *ins)
{
    for (size_t m = 0; m < ins->mark_count; m++) {
        sw_mark *mark = &ins->marks[m];
        bool upright = mark->side == SW_EAST || mark->side == SW_WEST;
        bool second = mark->side == SW_WEST || mark->side == SW_NORTH;
        for (size_t i = 0; i < ins->seam_count; i++) {
            const sw_seam *s = &ins->seams[i];
            if (s->upright == upright && (second ? s->second : s->first) == mark->tile)
                mark->seam = (int)i;
        }
    }
    if (ins->mark_count)
        qsort(ins->marks, ins->mark_count, sizeof *ins->marks, mark_by_place);
}

static sw_status quarter(sw_inspection *ins, sw_error *err)
{
    turn t = {ins->table.columns, ins->table.rows, ins->table.columns * ins->table.tile_mm};
    sw_tile *tiles = calloc(ins->tile_count + 1, sizeof *tiles);
    if (!tiles)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory to combine photos", ins->file);
    for (size_t i = 0; i < ins->tile_count; i++)
        turn_tile(&t, &ins->tiles[i], &tiles[tile_after(&t, (int)i)]);
    for (size_t i = 0; i < ins->mark_count; i++)
        turn_mark(&t, ins->tiles, &ins->marks[i]);
    free(ins->tiles);
    ins->tiles = tiles;
    for (size_t i = 0; i < ins->seam_count; i++)
        turn_seam(&t, tiles, &ins->seams[i]);
    ins->table.columns = t.rows;
    ins->table.rows = t.columns;
    return SW_OK;
}

sw_status sw_inspection_turn(sw_inspection *inspection, int quarter_turns, sw_error *err)
{
    sw_status status = SW_OK;
    for (int i = 0; !status && i < ((quarter_turns % 4) + 4) % 4; i++)
        status = quarter(inspection, err);
    if (inspection->seam_count)
        qsort(inspection->seams, inspection->seam_count, sizeof *inspection->seams, by_place);
    order_marks(inspection);
    return status;
}
