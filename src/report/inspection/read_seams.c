/* read_seams.c - the seams and the ranked list of an inspection.json. */
#include "report/inspection/read.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *verdict_word(int i)
{
    return sw_verdict_name((sw_verdict)i);
}

static const char *action_word(int i)
{
    return sw_action_name((sw_action)i);
}

/* Which edges face each other here; what is wrong otherwise. */
static void read_edges(sw_reading *r, const sw_inspection *ins, const json_t *from, sw_seam *seam)
{
    const json_t *edges = sw_read_list(r, from, "edges", SW_MUST);
    sw_side side[2] = {SW_NORTH, SW_NORTH};
    int tile[2] = {0, 0};
    if (r->status)
        return;
    for (int k = 0; k < 2; k++)
        if (json_array_size(edges) != 2 ||
            !sw_read_edge_name(ins, json_string_value(json_array_get(edges, (size_t)k)), &tile[k], &side[k])) {
            sw_read_wrong(r, "\"edges\" are not two edges of this table's tiles");
            return;
        }
    seam->first = tile[0];
    seam->second = tile[1];
    seam->upright = side[0] == SW_EAST;
    int level = side[0] == SW_SOUTH, right = tile[0] % ins->table.columns == ins->table.columns - 1;
    if (!(seam->upright && side[1] == SW_WEST && tile[1] == tile[0] + 1 && !right) &&
        !(level && side[1] == SW_NORTH && tile[1] == tile[0] + ins->table.columns))
        sw_read_wrong(r, "its two edges do not face each other");
    else if (sw_read_flag(r, from, "upright", seam->upright) != seam->upright)
        sw_read_wrong(r, "\"upright\" does not go with its edges");
}

static void read_gap(sw_reading *r, const json_t *from, sw_seam *seam)
{
    const json_t *gap = sw_read_object(r, from, "gap_mm", SW_MUST);
    seam->mean_mm = sw_read_number(r, gap, "mean", SW_MUST, NAN);
    seam->min_mm = sw_read_number(r, gap, "min", SW_MUST, NAN);
    seam->max_mm = sw_read_number(r, gap, "max", SW_MUST, NAN);
    seam->max_at_mm = sw_read_number(r, gap, "max_at_mm", SW_MUST, NAN);
    seam->mean_u95_mm = sw_read_number(r, gap, "mean_u95", SW_MUST, NAN);
    seam->max_u95_mm = sw_read_number(r, gap, "max_u95", SW_MUST, NAN);
}

static void read_stations(sw_reading *r, const json_t *from, sw_seam *seam)
{
    const json_t *stations = sw_read_object(r, from, "stations", SW_MUST);
    const json_t *at = sw_read_list(r, stations, "at_mm", SW_MUST), *gap = sw_read_list(r, stations, "gap_mm", SW_MUST),
                 *u95 = sw_read_list(r, stations, "u95_mm", SW_MUST),
                 *state = sw_read_list(r, stations, "state", SW_MUST);
    size_t count = json_array_size(at);
    if (json_array_size(gap) != count || json_array_size(u95) != count || json_array_size(state) != count)
        sw_read_wrong(r, "the lists in \"stations\" are not of one length");
    seam->stations = sw_read_room(r, count, sizeof *seam->stations);
    for (size_t i = 0; !r->status && i < count; i++) {
        sw_station *station = &seam->stations[seam->station_count++];
        station->at_mm = sw_read_place(r, at, i, i ? station[-1].at_mm : -INFINITY);
        station->gap_mm = sw_read_item(r, gap, i, "gap_mm");
        station->u95_mm = sw_read_item(r, u95, i, "u95_mm");
        station->state = sw_read_state(r, state, i, station->gap_mm);
        if (station->gap_mm < 0)
            sw_read_wrong(r, "a gap is below 0");
    }
}

static void read_point(sw_reading *r, const json_t *from, const char *key, sw_point *to)
{
    const json_t *point = sw_read_object(r, from, key, SW_MAY);
    if (!point)
        return;
    to->x = sw_read_number(r, point, "x_mm", SW_MUST, NAN);
    to->y = sw_read_number(r, point, "y_mm", SW_MUST, NAN);
}

static int at_seam(const sw_chip *chip, const void *context)
{
    const sw_seam *seam = context;
    return (chip->tile == seam->first && chip->side == (seam->upright ? SW_EAST : SW_SOUTH)) ||
           (chip->tile == seam->second && chip->side == (seam->upright ? SW_WEST : SW_NORTH));
}

static void make_name(const sw_inspection *ins, sw_seam *seam)
{
    snprintf(seam->name, sizeof seam->name, "%.7s-%.7s", ins->tiles[seam->first].name, ins->tiles[seam->second].name);
}

static void read_seam(sw_reading *r, const sw_inspection *ins, const json_t *from, sw_seam *seam)
{
    char name[32];
    sw_read_at(r, "a seam");
    sw_read_text(r, from, "name", SW_MUST, name, sizeof name);
    if (!r->status)
        sw_read_at(r, "seam %.15s", name);
    read_edges(r, ins, from, seam);
    if (r->status)
        return;
    make_name(ins, seam);
    if (strcmp(name, seam->name) != 0)
        sw_read_wrong(r, "its edges belong to %s", seam->name);
    seam->length_mm = sw_read_number(r, from, "length_mm", SW_MUST, NAN);
    sw_read_derive_ends(ins, seam);
    read_point(r, from, "start", &seam->start_mm);
    read_point(r, from, "end", &seam->end_mm);
    int verdict = sw_read_choice(r, json_object_get(from, "verdict"), "verdict", verdict_word, SW_TOO_CLOSE + 1);
    seam->verdict = verdict < 0 ? SW_TOO_CLOSE : (sw_verdict)verdict;
    read_gap(r, from, seam);
    seam->taper_mm = sw_read_number(r, from, "taper_mm", SW_MUST, NAN);
    seam->taper_u95_mm = sw_read_number(r, from, "taper_u95_mm", SW_MUST, NAN);
    seam->corner_step_mm = sw_read_number(r, from, "corner_step_mm", SW_MUST, NAN);
    sw_read_chips(r, ins, sw_read_list(r, from, "chips", SW_MAY), at_seam, seam, &seam->chips, &seam->chip_count);
    read_stations(r, from, seam);
}

/* A seam of which the file says nothing: not seen. */
static void add_unseen(const sw_inspection *ins, int first, int upright, sw_seam *seam)
{
    *seam = (sw_seam){.upright = upright,
                      .first = first,
                      .second = first + (upright ? 1 : ins->table.columns),
                      .verdict = SW_TOO_CLOSE};
    make_name(ins, seam);
    seam->length_mm = seam->mean_mm = seam->min_mm = seam->max_mm = seam->max_at_mm = NAN;
    seam->mean_u95_mm = seam->max_u95_mm = seam->taper_mm = seam->taper_u95_mm = seam->corner_step_mm = NAN;
    sw_read_derive_ends(ins, seam);
}

/* Marks in `had` (2 bits a tile: east and south) which seams came; one that comes twice is wrong. */
static void mark(sw_reading *r, const sw_seam *seam, unsigned char *had)
{
    unsigned char bit = seam->upright ? 1 : 2;
    if (had[seam->first] & bit)
        sw_read_wrong(r, "it comes twice");
    had[seam->first] |= bit;
}

static void add_missing(sw_inspection *ins, const unsigned char *had)
{
    for (int i = 0; i < (int)ins->tile_count; i++) {
        if (i % ins->table.columns < ins->table.columns - 1 && !(had[i] & 1))
            add_unseen(ins, i, 1, &ins->seams[ins->seam_count++]);
        if (i + ins->table.columns < (int)ins->tile_count && !(had[i] & 2))
            add_unseen(ins, i, 0, &ins->seams[ins->seam_count++]);
    }
}

void sw_read_seams(sw_reading *r, const json_t *root, sw_inspection *ins)
{
    sw_read_at(r, "%s", "");
    const json_t *list = sw_read_list(r, root, "seams", SW_MUST);
    size_t columns = (size_t)ins->table.columns, rows = (size_t)ins->table.rows;
    size_t most = (columns - 1) * rows + columns * (rows - 1);
    if (json_array_size(list) > most)
        sw_read_wrong(r, "%zu seams are listed, but a table of %zu x %zu has %zu", json_array_size(list), columns, rows,
                      most);
    ins->seams = sw_read_room(r, most, sizeof *ins->seams);
    unsigned char *had = sw_read_room(r, ins->tile_count, 1);
    for (size_t i = 0; !r->status && i < json_array_size(list); i++) {
        sw_seam *seam = &ins->seams[ins->seam_count++];
        read_seam(r, ins, json_array_get(list, i), seam);
        if (!r->status)
            mark(r, seam, had);
    }
    if (!r->status)
        add_missing(ins, had);
    free(had);
}

static int seam_index(const sw_inspection *ins, const char *name)
{
    for (size_t i = 0; name && i < ins->seam_count; i++)
        if (strcmp(ins->seams[i].name, name) == 0)
            return (int)i;
    return -1;
}

static void read_advice(sw_reading *r, const sw_inspection *ins, const json_t *from, sw_advice *advice)
{
    const json_t *seam = json_object_get(from, "seam");
    advice->seam = seam_index(ins, json_string_value(seam));
    if (!sw_read_edge_name(ins, json_string_value(json_object_get(from, "edge")), &advice->tile, &advice->side))
        sw_read_wrong(r, "\"edge\" is no edge of this table's tiles");
    if (advice->seam < 0 && seam && !json_is_null(seam))
        sw_read_wrong(r, "\"seam\" is no seam of this table");
    int action = sw_read_choice(r, json_object_get(from, "action"), "action", action_word, SW_LEAVE + 1);
    advice->action = action < 0 ? SW_LEAVE : (sw_action)action;
    advice->remove_mm = sw_read_number(r, from, "remove_mm", SW_MUST, 0);
    advice->from_mm = sw_read_number(r, from, "from_mm", SW_MUST, 0);
    advice->to_mm = sw_read_number(r, from, "to_mm", SW_MUST, 0);
    advice->worst_gap_mm = sw_read_number(r, from, "worst_gap_mm", SW_MUST, NAN);
    advice->u95_mm = sw_read_number(r, from, "u95_mm", SW_MUST, NAN);
    sw_read_text(r, from, "reason", SW_MUST, advice->reason, sizeof advice->reason);
}

void sw_read_ranking(sw_reading *r, const json_t *root, sw_inspection *ins)
{
    sw_read_at(r, "%s", "");
    const json_t *list = sw_read_list(r, root, "ranking", SW_MAY);
    ins->ranking = sw_read_room(r, json_array_size(list), sizeof *ins->ranking);
    for (size_t i = 0; !r->status && i < json_array_size(list); i++) {
        sw_advice *advice = &ins->ranking[ins->advice_count++];
        sw_read_at(r, "line %zu of \"ranking\"", i + 1);
        advice->rank = sw_read_whole(r, json_array_get(list, i), "rank", 1, 1000000, SW_MAY, (int)i + 1);
        read_advice(r, ins, json_array_get(list, i), advice);
    }
}
