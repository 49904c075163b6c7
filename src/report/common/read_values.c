#include "report/common/read.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/common/sheet.h"

/* No table is a kilometre wide, and no other figure of an inspection is larger. */
static const double MOST = 1e6;
enum { TEXT_ROOM = 256 };

void sw_read_wrong(sw_reading *r, const char *format, ...)
{
    char what[TEXT_ROOM];
    va_list list;
    if (r->status)
        return;
    va_start(list, format);
    vsnprintf(what, sizeof what, format, list);
    va_end(list);
    r->status = sw_fail(r->err, SW_BAD_INPUT, "%.200s: %s%s%.160s; make it again with 'seamwright inspect'", r->path,
                        r->place, r->place[0] ? ": " : "", what);
}

void sw_read_no_memory(sw_reading *r)
{
    if (!r->status)
        r->status =
            sw_fail(r->err, SW_NO_MEMORY, "%.255s: not enough memory to read it; close other programs", r->path);
}

void sw_read_at(sw_reading *r, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    vsnprintf(r->place, sizeof r->place, format, list);
    va_end(list);
}

/* The member, NULL when it is not there or the reading failed before. */
static json_t *member(sw_reading *r, const json_t *from, const char *key, sw_need need)
{
    json_t *value = r->status ? NULL : json_object_get(from, key);
    if (!value && need == SW_MUST)
        sw_read_wrong(r, "\"%s\" is missing", key);
    return value;
}

json_t *sw_read_object(sw_reading *r, const json_t *from, const char *key, sw_need need)
{
    json_t *value = member(r, from, key, need);
    if (value && !json_is_object(value))
        sw_read_wrong(r, "\"%s\" is no object", key);
    return json_is_object(value) ? value : NULL;
}

json_t *sw_read_list(sw_reading *r, const json_t *from, const char *key, sw_need need)
{
    json_t *value = member(r, from, key, need);
    if (value && !json_is_array(value) && !json_is_null(value))
        sw_read_wrong(r, "\"%s\" is no list", key);
    return json_is_array(value) ? value : NULL;
}

static double figure(sw_reading *r, const json_t *value, const char *key)
{
    double number = json_number_value(value);
    if (json_is_null(value))
        return NAN;
    if (!json_is_number(value))
        sw_read_wrong(r, "\"%s\" is no number", key);
    else if (!(fabs(number) <= MOST))
        sw_read_wrong(r, "\"%s\" is out of range", key);
    return r->status ? NAN : number;
}

double sw_read_number(sw_reading *r, const json_t *from, const char *key, sw_need need, double instead)
{
    const json_t *value = member(r, from, key, need);
    return value ? figure(r, value, key) : instead;
}

int sw_read_whole(sw_reading *r, const json_t *from, const char *key, int least, int most, sw_need need, int instead)
{
    const json_t *value = member(r, from, key, need);
    if (!value)
        return instead;
    json_int_t whole = json_integer_value(value);
    if (!json_is_integer(value) || whole < least || whole > most) {
        sw_read_wrong(r, "\"%s\" is no whole number from %d to %d", key, least, most);
        return instead;
    }
    return (int)whole;
}

int sw_read_flag(sw_reading *r, const json_t *from, const char *key, int instead)
{
    const json_t *value = member(r, from, key, SW_MAY);
    if (value && !json_is_boolean(value))
        sw_read_wrong(r, "\"%s\" is neither true nor false", key);
    return json_is_boolean(value) ? json_is_true(value) : instead;
}

void sw_read_text(sw_reading *r, const json_t *from, const char *key, sw_need need, char *out, size_t room)
{
    const json_t *value = member(r, from, key, need);
    out[0] = 0;
    if (!value || json_is_null(value))
        return;
    if (!json_is_string(value))
        sw_read_wrong(r, "\"%s\" is no text", key);
    else
        sw_utf8_clean(json_string_value(value), out, room);
}

double sw_read_item(sw_reading *r, const json_t *list, size_t i, const char *key)
{
    return r->status ? NAN : figure(r, json_array_get(list, i), key);
}

double sw_read_place(sw_reading *r, const json_t *list, size_t i, double last)
{
    double at = sw_read_item(r, list, i, "at_mm");
    if (!(at > last))
        sw_read_wrong(r, "the places in \"at_mm\" do not rise");
    return at;
}

int sw_read_choice(sw_reading *r, const json_t *text, const char *key, const char *(*name)(int), int count)
{
    const char *word = json_string_value(text);
    for (int i = 0; word && i < count; i++)
        if (strcmp(word, name(i)) == 0)
            return i;
    sw_read_wrong(r, "\"%s\" is none of the words it can be", key);
    return -1;
}

void *sw_read_room(sw_reading *r, size_t count, size_t size)
{
    void *room = r->status ? NULL : calloc(count + 1, size);
    if (!room)
        sw_read_no_memory(r);
    return room;
}

int sw_read_tile_name(const char *text, int *column, int *row)
{
    size_t digits = strspn(text + (text[0] != 0), "0123456789");
    if (text[0] < 'A' || text[0] > 'Z' || digits < 1 || digits > 2 || text[1] == '0' || text[1 + digits])
        return 0;
    *column = text[0] - 'A';
    *row = atoi(text + 1) - 1;
    return 1;
}

int sw_read_edge_name(const sw_inspection *ins, const char *text, int *tile, sw_side *side)
{
    char name[8];
    int column, row;
    const char *blank = text ? strchr(text, ' ') : NULL;
    if (!blank || (size_t)(blank - text) >= sizeof name)
        return 0;
    memcpy(name, text, (size_t)(blank - text));
    name[blank - text] = 0;
    if (!sw_read_tile_name(name, &column, &row) || column >= ins->table.columns || row >= ins->table.rows)
        return 0;
    for (int s = 0; s < 4; s++)
        if (strcmp(blank + 1, sw_side_name((sw_side)s)) == 0) {
            *tile = row * ins->table.columns + column;
            *side = (sw_side)s;
            return 1;
        }
    return 0;
}

static const char *state_word(int i)
{
    return sw_station_state_name((sw_station_state)i);
}

sw_station_state sw_read_state(sw_reading *r, const json_t *states, size_t i, double number)
{
    int known = SW_STATION_UNSEEN;
    if (!states)
        return isfinite(number) ? SW_STATION_OK : SW_STATION_UNSEEN;
    if (!r->status)
        known = sw_read_choice(r, json_array_get(states, i), "state", state_word, SW_STATION_UNSEEN + 1);
    /* A place without a figure was not seen, whatever its state says: nothing downstream need ask twice. */
    return known < 0 || !isfinite(number) ? SW_STATION_UNSEEN : (sw_station_state)known;
}

void sw_read_chips(sw_reading *r, const sw_inspection *ins, const json_t *list, sw_read_belongs *belongs,
                   const void *context, sw_chip **chips, size_t *count)
{
    *chips = sw_read_room(r, json_array_size(list), sizeof **chips);
    for (size_t i = 0; !r->status && i < json_array_size(list); i++) {
        const json_t *from = json_array_get(list, i);
        sw_chip *chip = &(*chips)[(*count)++];
        const char *edge = json_string_value(json_object_get(from, "edge"));
        if (!sw_read_edge_name(ins, edge, &chip->tile, &chip->side) || !belongs(chip, context))
            sw_read_wrong(r, "a chip lies on an edge that is not here");
        chip->at_mm = sw_read_number(r, from, "at_mm", SW_MUST, NAN);
        chip->length_mm = sw_read_number(r, from, "length_mm", SW_MUST, NAN);
        chip->depth_mm = sw_read_number(r, from, "depth_mm", SW_MUST, NAN);
    }
}
