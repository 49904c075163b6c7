/* read_tiles.c - the tiles of an inspection.json. */
#include "report/inspection/read.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static void read_points(sw_reading *r, const json_t *from, sw_edge *edge)
{
    const json_t *at = sw_read_list(r, from, "at_mm", SW_MUST), *proud = sw_read_list(r, from, "proud_mm", SW_MUST),
                 *state = sw_read_list(r, from, "state", SW_MAY);
    size_t count = json_array_size(at), seen = 0;
    if (json_array_size(proud) != count || (state && json_array_size(state) != count))
        sw_read_wrong(r, "\"at_mm\", \"proud_mm\" and \"state\" are not of one length");
    edge->points = sw_read_room(r, count, sizeof *edge->points);
    for (size_t i = 0; !r->status && i < count; i++) {
        sw_rim_point *point = &edge->points[edge->point_count++];
        point->at_mm = sw_read_place(r, at, i, i ? point[-1].at_mm : -INFINITY);
        point->proud_mm = sw_read_item(r, proud, i, "proud_mm");
        point->state = sw_read_state(r, state, i, point->proud_mm);
        point->mm = (sw_point){NAN, NAN};
        seen += point->state != SW_STATION_UNSEEN;
    }
    edge->seen = count ? (double)seen / (double)count : 0;
}

static void read_edge(sw_reading *r, const json_t *from, sw_edge *edge)
{
    edge->length_mm = sw_read_number(r, from, "length_mm", SW_MUST, NAN);
    edge->length_u95_mm = sw_read_number(r, from, "length_u95_mm", SW_MUST, NAN);
    edge->straightness_mm = sw_read_number(r, from, "straightness_mm", SW_MUST, NAN);
    edge->straightness_u95_mm = sw_read_number(r, from, "straightness_u95_mm", SW_MUST, NAN);
    edge->bow_mm = sw_read_number(r, from, "bow_mm", SW_MUST, NAN);
    read_points(r, from, edge);
    edge->seen = sw_read_number(r, from, "seen", SW_MAY, edge->seen);
}

static void read_corner(sw_reading *r, const json_t *from, sw_corner *corner)
{
    corner->mm.x = sw_read_number(r, from, "x_mm", SW_MUST, NAN);
    corner->mm.y = sw_read_number(r, from, "y_mm", SW_MUST, NAN);
    corner->angle_deg = sw_read_number(r, from, "angle_deg", SW_MUST, NAN);
    corner->u95_deg = sw_read_number(r, from, "u95_deg", SW_MUST, NAN);
}

static int on_tile(const sw_chip *chip, const void *tile)
{
    return chip->tile == *(const int *)tile;
}

static void read_square(sw_reading *r, const json_t *from, sw_tile *tile)
{
    const json_t *square = sw_read_object(r, from, "best_square", SW_MAY);
    if (square) {
        tile->centre_mm.x = sw_read_number(r, square, "x_mm", SW_MUST, NAN);
        tile->centre_mm.y = sw_read_number(r, square, "y_mm", SW_MUST, NAN);
        tile->turn_rad = sw_read_number(r, square, "turn_rad", SW_MUST, NAN);
        tile->side_mm = sw_read_number(r, square, "side_mm", SW_MUST, NAN);
    } else {
        sw_read_derive_square(tile);
    }
    sw_read_derive_places(tile);
}

static void read_tile(sw_reading *r, const sw_inspection *ins, const json_t *from, sw_tile *tile)
{
    const json_t *corners, *edges;
    int index = (int)(tile - ins->tiles);
    sw_read_at(r, "tile %.7s", tile->name);
    if (sw_read_whole(r, from, "column", 0, 25, SW_MAY, tile->column) != tile->column ||
        sw_read_whole(r, from, "row", 0, 98, SW_MAY, tile->row) != tile->row)
        sw_read_wrong(r, "\"column\" and \"row\" are not where its name says");
    double height = sw_read_number(r, from, "height_mm", SW_MAY, 0);
    tile->height_mm = height > 0 ? height : 0;
    corners = sw_read_object(r, from, "corners", SW_MUST);
    edges = sw_read_object(r, from, "edges", SW_MUST);
    for (int i = 0; i < 4; i++) {
        const char *corner = sw_corner_label((sw_corner_name)i), *side = sw_side_name((sw_side)i);
        sw_read_at(r, "tile %.7s, corner %s", tile->name, corner);
        read_corner(r, sw_read_object(r, corners, corner, SW_MUST), &tile->corners[i]);
        sw_read_at(r, "tile %.7s, %s edge", tile->name, side);
        read_edge(r, sw_read_object(r, edges, side, SW_MUST), &tile->edges[i]);
    }
    sw_read_at(r, "tile %.7s", tile->name);
    if (!r->status)
        read_square(r, from, tile);
    sw_read_chips(r, ins, sw_read_list(r, from, "chips", SW_MAY), on_tile, &index, &tile->chips, &tile->chip_count);
}

/* The tile's place by its name; NULL when the table has no such place or it is taken. */
static sw_tile *place_of(sw_reading *r, sw_inspection *ins, const json_t *from)
{
    char name[16];
    int column, row;
    sw_read_at(r, "%s", "");
    sw_read_text(r, from, "name", SW_MUST, name, sizeof name);
    if (!r->status &&
        (!sw_read_tile_name(name, &column, &row) || column >= ins->table.columns || row >= ins->table.rows))
        sw_read_wrong(r, "\"%.12s\" is no tile of a table of %d x %d", name, ins->table.columns, ins->table.rows);
    if (r->status)
        return NULL;
    sw_tile *tile = &ins->tiles[row * ins->table.columns + column];
    if (tile->name[0]) {
        sw_read_wrong(r, "tile %.7s comes twice", name);
        return NULL;
    }
    snprintf(tile->name, sizeof tile->name, "%.7s", name);
    tile->column = column;
    tile->row = row;
    return tile;
}

void sw_read_tiles(sw_reading *r, const json_t *root, sw_inspection *ins)
{
    const json_t *list = sw_read_list(r, root, "tiles", SW_MUST);
    size_t count = (size_t)ins->table.columns * (size_t)ins->table.rows;
    if (json_array_size(list) != count)
        sw_read_wrong(r, "%zu tiles are listed, but the table has %d x %d", json_array_size(list), ins->table.columns,
                      ins->table.rows);
    ins->tiles = sw_read_room(r, count, sizeof *ins->tiles);
    ins->tile_count = ins->tiles ? count : 0;
    for (size_t i = 0; !r->status && i < count; i++) {
        sw_tile *tile = place_of(r, ins, json_array_get(list, i));
        if (tile)
            read_tile(r, ins, json_array_get(list, i), tile);
    }
}
