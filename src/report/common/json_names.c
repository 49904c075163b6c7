#include "report/common/json_names.h"

#include <stdio.h>
#include <string.h>

#include "report/common/words.h"
#include "seamwright/seamwright.h"

json_t *sw_put_program(const sw_field *field, const void *at, sw_putting *p)
{
    (void)field, (void)at, (void)p;
    return json_string("seamwright " SW_VERSION);
}

json_t *sw_put_photo_name(const sw_field *field, const void *at, sw_putting *p)
{
    (void)field, (void)at;
    return sw_json_text(sw_named_in(p->context)->file);
}

json_t *sw_put_tile_name(const sw_field *field, const void *at, sw_putting *p)
{
    const sw_inspection *ins = sw_named_in(p->context);
    int tile = *(const int *)at;
    (void)field;
    return tile >= 0 && (size_t)tile < ins->tile_count ? sw_json_text(ins->tiles[tile].name) : json_null();
}

json_t *sw_put_seam_name(const sw_field *field, const void *at, sw_putting *p)
{
    const sw_inspection *ins = sw_named_in(p->context);
    int seam = *(const int *)at;
    (void)field;
    return seam >= 0 && (size_t)seam < ins->seam_count ? sw_json_text(ins->seams[seam].name) : json_null();
}

json_t *sw_put_edge(const sw_field *field, const void *at, sw_putting *p)
{
    char name[EDGE_NAME_ROOM];
    sw_side side = *(const sw_side *)((const char *)at - field->at + field->beside);
    return sw_json_text(sw_edge_name(sw_named_in(p->context), *(const int *)at, side, name));
}

void sw_take_edge(sw_reading *r, const sw_field *field, const json_t *value, void *at)
{
    sw_side *side = (sw_side *)((char *)at - field->at + field->beside);
    if (!sw_edge_of_name(sw_named_in(r->context), json_string_value(value), at, side))
        sw_read_wrong(r, "\"%s\" is no edge of this table's tiles", field->key);
}

json_t *sw_put_two_edges(const sw_inspection *ins, const int tile[2], const sw_side side[2])
{
    char one[EDGE_NAME_ROOM], other[EDGE_NAME_ROOM];
    return json_pack("[ss]", sw_edge_name(ins, tile[0], side[0], one), sw_edge_name(ins, tile[1], side[1], other));
}

bool sw_tile_of_name(const char *text, int *column, int *row)
{
    char letter, again[16];
    if (sscanf(text, "%c%2d", &letter, row) != 2 || letter < 'A' || letter > 'Z' || *row < 1)
        return false;
    snprintf(again, sizeof again, "%c%d", letter, *row);
    *column = letter - 'A';
    (*row)--;
    return strcmp(text, again) == 0;
}

bool sw_edge_of_name(const sw_inspection *ins, const char *text, int *tile, sw_side *side)
{
    char letter, name[EDGE_NAME_ROOM];
    int row;
    if (!text || sscanf(text, "%c%2d", &letter, &row) != 2)
        return false;
    *tile = (row - 1) * ins->table.columns + letter - 'A';
    for (*side = SW_NORTH; *side <= SW_WEST; (*side)++)
        if (strcmp(text, sw_edge_name(ins, *tile, *side, name)) == 0)
            return true;
    return false;
}
