/* json_own.c - what inspection.json must hold beyond the ranges of its members: which tile a name means, which
 * edges meet, what follows from what. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspection/tops.h"
#include "report/inspection/json_own.h"
#include "report/inspection/read.h"

/* What figures lose when they are written, twice and to spare, mm. */
static const double ROUNDED_MM = 0.001;

/* ---- scale ---- */

/* A number without a sign, moving *text on; NaN when there is none. The program's locale must not matter here. */
static double take_digits(const char **text)
{
    const char *at = *text;
    double number = 0, place = 1;
    for (; *at >= '0' && *at <= '9'; at++)
        number = number * 10 + (*at - '0');
    if (*at == '.')
        for (at++; *at >= '0' && *at <= '9'; at++)
            number += (*at - '0') * (place /= 10);
    if (at == *text)
        return NAN;
    *text = at;
    return number;
}

/* "99.6x99.8" or "100". */
static bool take_sides(const char **text, double *x, double *y)
{
    *x = *y = take_digits(text);
    if (**text == 'x') {
        (*text)++;
        *y = take_digits(text);
    }
    return isfinite(*x) && isfinite(*y);
}

void sw_take_reference(sw_reading *r, const sw_field *field, const json_t *value, void *at_reference)
{
    sw_reference *to = at_reference;
    const char *at = json_string_value(value);
    if (json_is_null(value) || (at && !*at))
        return;
    bool good = at && take_sides(&at, &to->outer_x_mm, &to->outer_y_mm);
    if (good && *at == '/') {
        at++;
        good = take_sides(&at, &to->inner_x_mm, &to->inner_y_mm);
    }
    if (!good || *at)
        sw_read_wrong(r, "\"%s\" is no card like 100/60", field->key);
}

/* ---- tiles ---- */

/* A place without a figure was not seen, whatever its state says: nothing downstream need ask twice. */
static void judge_state(sw_station_state *state, double figure)
{
    if (!isfinite(figure))
        *state = SW_STATION_UNSEEN;
}

void sw_check_rim(sw_reading *r, const sw_field *field, const json_t *from, void *to)
{
    sw_rim_point *point = to;
    (void)r, (void)field, (void)from;
    judge_state(&point->state, point->proud_mm);
    point->mm = (sw_point){NAN, NAN};
}

void sw_check_edge(sw_reading *r, const sw_field *field, const json_t *from, void *to)
{
    sw_edge *edge = to;
    size_t seen = 0;
    (void)r, (void)field;
    if (json_object_get(from, "seen"))
        return;
    for (size_t i = 0; i < edge->point_count; i++)
        seen += edge->points[i].state != SW_STATION_UNSEEN;
    edge->seen = edge->point_count ? (double)seen / (double)edge->point_count : 0;
}

void sw_start_tile(sw_reading *r, const sw_field *field, const json_t *from, void *to)
{
    (void)r, (void)field, (void)from;
    sw_tile_unknown(to);
}

void sw_check_tile(sw_reading *r, const sw_field *field, const json_t *from, void *to)
{
    const sw_inspection *ins = sw_named_in(r->context);
    sw_tile *tile = to;
    int index = (int)(tile - ins->tiles);
    (void)field;
    if (tile->row * ins->table.columns + tile->column != index || tile->column >= ins->table.columns)
        sw_read_wrong(r, "\"column\" and \"row\" are not where its name says");
    for (size_t i = 0; i < tile->chip_count; i++)
        if (tile->chips[i].tile != index)
            sw_read_wrong(r, "a chip lies on an edge that is not here");
    if (!json_object_get(from, "height_u95_mm"))
        tile->height_mm = NAN; /* an older file: it holds what the user said, from the table */
    if (!json_object_get(from, "best_square"))
        sw_read_derive_square(tile);
    sw_read_derive_places(tile);
}

/* Reads a tile into the place that its name says. */
static void take_tile(sw_reading *r, const sw_field *field, const json_t *from, sw_inspection *ins)
{
    const char *name = json_string_value(json_object_get(from, "name"));
    int column, row;
    if (!name)
        sw_read_wrong(r, "a tile has no \"name\"");
    else if (!sw_tile_of_name(name, &column, &row) || column >= ins->table.columns || row >= ins->table.rows)
        sw_read_wrong(r, "\"%.12s\" is no tile of a table of %d x %d", name, ins->table.columns, ins->table.rows);
    if (r->status)
        return;
    sw_tile *tile = &ins->tiles[row * ins->table.columns + column];
    if (tile->name[0])
        sw_read_wrong(r, "tile %.7s comes twice", name);
    tile->column = column;
    tile->row = row;
    sw_read_within(r, "tile %.7s", name);
    sw_take_object(r, field, from, tile);
    r->place[0] = 0;
}

void sw_take_tiles(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    sw_inspection *ins = sw_struct_of(field, at);
    size_t count = (size_t)ins->table.columns * (size_t)ins->table.rows;
    if (json_array_size(value) != count)
        sw_read_wrong(r, "%zu tiles are listed, but the table has %d x %d", json_array_size(value), ins->table.columns,
                      ins->table.rows);
    ins->tiles = sw_read_room(r, count, sizeof *ins->tiles);
    ins->tile_count = ins->tiles ? count : 0;
    for (size_t i = 0; !r->status && i < count; i++)
        take_tile(r, field, json_array_get(value, i), ins);
}

/* ---- seams ---- */

static void seam_name(const sw_inspection *ins, const sw_seam *seam, char name[sizeof seam->name])
{
    snprintf(name, sizeof seam->name, "%.7s-%.7s", ins->tiles[seam->first].name, ins->tiles[seam->second].name);
}

/* Which edges face each other here. */
void sw_take_seam_edges(sw_reading *r, const sw_field *field, const json_t *value, void *to)
{
    const sw_inspection *ins = sw_named_in(r->context);
    char name[sizeof((sw_seam *)0)->name];
    sw_seam *seam = to;
    sw_side side[2];
    int tile[2];
    for (int k = 0; k < 2; k++)
        if (json_array_size(value) != 2 ||
            !sw_edge_of_name(ins, json_string_value(json_array_get(value, (size_t)k)), &tile[k], &side[k])) {
            sw_read_wrong(r, "\"%s\" are not two edges of this table's tiles", field->key);
            return;
        }
    seam->first = tile[0];
    seam->second = tile[1];
    seam->upright = side[0] == SW_EAST;
    int level = side[0] == SW_SOUTH, right = tile[0] % ins->table.columns == ins->table.columns - 1;
    if (!(seam->upright && side[1] == SW_WEST && tile[1] == tile[0] + 1 && !right) &&
        !(level && side[1] == SW_NORTH && tile[1] == tile[0] + ins->table.columns))
        sw_read_wrong(r, "its two edges do not face each other");
    seam_name(ins, seam, name);
    if (strcmp(name, seam->name) != 0)
        sw_read_wrong(r, "its edges belong to %s", name);
    sw_read_derive_ends(ins, seam);
}

void sw_check_station(sw_reading *r, const sw_field *field, const json_t *from, void *to)
{
    sw_station *station = to;
    (void)field, (void)from;
    judge_state(&station->state, station->gap_mm);
    if (station->gap_mm < 0)
        sw_read_wrong(r, "a gap is below 0");
}

static bool lies_at(const sw_chip *chip, const sw_seam *seam)
{
    return (chip->tile == seam->first && chip->side == (seam->upright ? SW_EAST : SW_SOUTH)) ||
           (chip->tile == seam->second && chip->side == (seam->upright ? SW_WEST : SW_NORTH));
}

/* The seam of these two places among the first `count`, -1: none. */
static int find_seam(const sw_inspection *ins, size_t count, int first, bool upright)
{
    for (size_t i = 0; i < count; i++)
        if (ins->seams[i].first == first && !ins->seams[i].upright == !upright)
            return (int)i;
    return -1;
}

void sw_start_seam(sw_reading *r, const sw_field *field, const json_t *from, void *to)
{
    (void)r, (void)field, (void)from;
    sw_seam_unknown(to);
}

void sw_check_seam(sw_reading *r, const sw_field *field, const json_t *from, void *to)
{
    const sw_inspection *ins = sw_named_in(r->context);
    const sw_seam *seam = to;
    (void)field, (void)from;
    if (seam->min_mm > seam->mean_mm + ROUNDED_MM || seam->mean_mm > seam->max_mm + ROUNDED_MM)
        sw_read_wrong(r, "its mean gap is not between its least and its widest");
    if (!seam->upright != (ins->table.columns == 1 || seam->second != seam->first + 1))
        sw_read_wrong(r, "\"upright\" does not go with its edges");
    for (size_t i = 0; i < seam->chip_count; i++)
        if (!lies_at(&seam->chips[i], seam))
            sw_read_wrong(r, "a chip lies on an edge that is not here");
    if (find_seam(ins, (size_t)(seam - ins->seams), seam->first, seam->upright) >= 0)
        sw_read_wrong(r, "it comes twice");
}

/* A seam of which the file says nothing: not seen. */
static void add_unseen(sw_inspection *ins, int first, bool upright)
{
    sw_seam *seam = &ins->seams[ins->seam_count++];
    *seam = (sw_seam){.upright = upright,
                      .first = first,
                      .second = first + (upright ? 1 : ins->table.columns),
                      .verdict = SW_TOO_CLOSE};
    seam_name(ins, seam, seam->name);
    seam->length_mm = seam->mean_mm = seam->min_mm = seam->max_mm = seam->max_at_mm = NAN;
    seam->mean_u95_mm = seam->max_u95_mm = seam->taper_mm = seam->taper_u95_mm = seam->corner_step_mm = NAN;
    sw_seam_unknown(seam);
    sw_read_derive_ends(ins, seam);
}

static void add_missing(sw_reading *r, sw_inspection *ins, size_t most)
{
    size_t listed = ins->seam_count;
    sw_seam *room = realloc(ins->seams, (most + 1) * sizeof *room);
    if (!room) {
        sw_read_no_memory(r);
        return;
    }
    ins->seams = room;
    for (int i = 0; i < (int)ins->tile_count; i++) {
        if (i % ins->table.columns < ins->table.columns - 1 && find_seam(ins, listed, i, true) < 0)
            add_unseen(ins, i, true);
        if (i + ins->table.columns < (int)ins->tile_count && find_seam(ins, listed, i, false) < 0)
            add_unseen(ins, i, false);
    }
}

void sw_take_seams(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    sw_inspection *ins = sw_struct_of(field, at);
    size_t columns = (size_t)ins->table.columns, rows = (size_t)ins->table.rows;
    size_t most = (columns - 1) * rows + columns * (rows - 1);
    if (json_array_size(value) > most)
        sw_read_wrong(r, "%zu seams are listed, but a table of %zu x %zu has %zu", json_array_size(value), columns,
                      rows, most);
    sw_take_list(r, field, value, at);
    if (!r->status)
        add_missing(r, ins, most);
}

/* ---- marks, advice, the whole ---- */

void sw_take_marks(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    if (json_array_size(value) > 2 * sw_named_in(r->context)->seam_count)
        sw_read_wrong(r, "a seam has two marks at most");
    sw_take_list(r, field, value, at);
}

void sw_check_mark(sw_reading *r, const sw_field *field, const json_t *from, void *to)
{
    const sw_inspection *ins = sw_named_in(r->context);
    sw_mark *mark = to;
    bool upright = mark->side == SW_EAST || mark->side == SW_WEST,
         later = mark->side == SW_WEST || mark->side == SW_NORTH;
    int first = mark->tile - (!later ? 0 : upright ? 1 : ins->table.columns);
    (void)field, (void)from;
    mark->seam = find_seam(ins, ins->seam_count, first, upright);
    if (mark->seam < 0)
        sw_read_wrong(r, "a half-way mark lies at no seam");
    for (const sw_mark *other = ins->marks; other < mark; other++)
        if (other->tile == mark->tile && other->side == mark->side)
            sw_read_wrong(r, "an edge has two half-way marks");
    mark->u_random_mm = mark->step_u_random_mm = mark->mm.x = mark->mm.y = NAN; /* not in the file */
}

void sw_start_advice(sw_reading *r, const sw_field *field, const json_t *from, void *to)
{
    const sw_inspection *ins = sw_named_in(r->context);
    sw_advice *advice = to;
    (void)field, (void)from;
    advice->rank = (int)(advice - ins->ranking) + 1;
    advice->seam = -1;
}

void sw_take_seam_name(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    const sw_inspection *ins = sw_named_in(r->context);
    const char *name = json_string_value(value);
    for (size_t i = 0; name && i < ins->seam_count; i++)
        if (strcmp(ins->seams[i].name, name) == 0)
            *(int *)at = (int)i;
    if (*(int *)at < 0 && !json_is_null(value))
        sw_read_wrong(r, "\"%s\" is no seam of this table", field->key);
}

void sw_start_top(sw_reading *r, const sw_field *field, const json_t *from, void *to)
{
    const sw_inspection *ins = sw_named_in(r->context);
    sw_top_advice *top = to;
    (void)field, (void)from;
    top->rank = (int)(top - ins->tops) + 1;
    top->level_mm = NAN;
}

void sw_take_tile_name(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    const sw_inspection *ins = sw_named_in(r->context);
    const char *name = json_string_value(value);
    for (size_t i = 0; name && i < ins->tile_count; i++)
        if (strcmp(ins->tiles[i].name, name) == 0) {
            *(int *)at = (int)i;
            return;
        }
    sw_read_wrong(r, "\"%s\" is no tile of this table", field->key);
}

json_t *sw_put_mended(const sw_field *field, const void *at, sw_putting *p)
{
    const sw_top_advice *top = sw_struct_of(field, at);
    json_t *array = json_array();
    for (size_t i = 0; i < top->seam_count; i++)
        sw_json_append(array, sw_put_seam_name(field, &top->seams[i], p), &p->failed);
    return array;
}

void sw_take_mended(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    sw_top_advice *top = sw_struct_of(field, at);
    size_t most = sizeof top->seams / sizeof *top->seams;
    if (!json_is_array(value) || json_array_size(value) > most)
        sw_read_wrong(r, "\"%s\" is no list of up to %zu seams", field->key, most);
    for (size_t i = 0; !r->status && i < json_array_size(value); i++) {
        top->seams[i] = -1;
        sw_take_seam_name(r, field, json_array_get(value, i), &top->seams[i]);
        if (top->seams[i] < 0)
            sw_read_wrong(r, "\"%s\" holds what is no seam", field->key);
        top->seam_count++;
    }
}

/* The distance between stations, where the file does not say it. */
void sw_check_inspection(sw_reading *r, const sw_field *field, const json_t *from, void *to)
{
    sw_inspection *ins = to;
    (void)r, (void)field;
    for (size_t i = 0; !json_object_get(from, "step_mm") && i < ins->seam_count; i++)
        if (ins->seams[i].station_count > 1) {
            ins->step_mm = ins->seams[i].stations[1].at_mm - ins->seams[i].stations[0].at_mm;
            return;
        }
}
