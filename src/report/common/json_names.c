#include "report/common/json_names.h"

#include <stdlib.h>
#include <string.h>

#include "report/common/words.h"
#include "seamwright/seamwright.h"

json_t *sw_put_program(const sw_field *field, const void *from, sw_putting *p)
{
    (void)field, (void)from, (void)p;
    return json_string("seamwright " SW_VERSION);
}

json_t *sw_put_named_photo(const sw_field *field, const void *from, sw_putting *p)
{
    (void)field, (void)from;
    return sw_json_text(sw_named_in(p->context)->file);
}

json_t *sw_put_edge(const sw_field *field, const void *from, sw_putting *p)
{
    char name[EDGE_NAME_ROOM];
    int tile = *(const int *)((const char *)from + field->at);
    sw_side side = *(const sw_side *)((const char *)from + field->beside);
    return sw_json_text(sw_edge_name(sw_named_in(p->context), tile, side, name));
}

void sw_take_edge(sw_reading *r, const sw_field *field, const json_t *value, void *to)
{
    int *tile = (int *)((char *)to + field->at);
    sw_side *side = (sw_side *)((char *)to + field->beside);
    if (!sw_edge_of_name(sw_named_in(r->context), json_string_value(value), tile, side))
        sw_read_wrong(r, "\"%s\" is no edge of this table's tiles", field->key);
}

bool sw_tile_of_name(const char *text, int *column, int *row)
{
    size_t digits = strspn(text + (text[0] != 0), "0123456789");
    if (text[0] < 'A' || text[0] > 'Z' || digits < 1 || digits > 2 || text[1] == '0' || text[1 + digits])
        return false;
    *column = text[0] - 'A';
    *row = atoi(text + 1) - 1;
    return true;
}

bool sw_edge_of_name(const sw_inspection *ins, const char *text, int *tile, sw_side *side)
{
    char name[8];
    int column, row;
    const char *blank = text ? strchr(text, ' ') : NULL;
    if (!blank || (size_t)(blank - text) >= sizeof name)
        return false;
    memcpy(name, text, (size_t)(blank - text));
    name[blank - text] = 0;
    if (!sw_tile_of_name(name, &column, &row) || column >= ins->table.columns || row >= ins->table.rows)
        return false;
    for (int s = 0; s < 4; s++)
        if (strcmp(blank + 1, sw_side_name((sw_side)s)) == 0) {
            *tile = row * ins->table.columns + column;
            *side = (sw_side)s;
            return true;
        }
    return false;
}
