/* json_names.h - members of JSON files that several reports have: the program, edges by their names.
 *
 * The context of every report's table is a struct that begins with a pointer to an inspection: tiles, edges and seams
 * have its names.
 */
#ifndef SW_REPORT_COMMON_JSON_NAMES_H
#define SW_REPORT_COMMON_JSON_NAMES_H

#include "seamwright/inspection.h"
#include "json/fields.h"

static inline const sw_inspection *sw_named_in(const void *context)
{
    return *(const sw_inspection *const *)context;
}

#define SW_PROGRAM .put = sw_put_program
json_t *sw_put_program(const sw_field *field, const void *from, sw_putting *p);

/* The photo of the inspection whose names are used. */
#define SW_NAMED_PHOTO .put = sw_put_named_photo
json_t *sw_put_named_photo(const sw_field *field, const void *from, sw_putting *p);

/* "A1 east", from a struct's tile and side. */
#define SW_EDGE(type) SW_EDGE_TAKEN_BY(type, sw_take_edge)
#define SW_EDGE_TAKEN_BY(type, taker)                                                                                  \
    .at = offsetof(type, tile), .beside = offsetof(type, side), .put = sw_put_edge, .take = taker
json_t *sw_put_edge(const sw_field *field, const void *from, sw_putting *p);
void sw_take_edge(sw_reading *r, const sw_field *field, const json_t *value, void *to);

/* "B2" -> its column and row, from 0; false when the text is no tile's name. */
bool sw_tile_of_name(const char *text, int *column, int *row);
/* "B2 east" -> index of the tile and side. False when it is no edge of this table; text may be NULL. */
bool sw_edge_of_name(const sw_inspection *ins, const char *text, int *tile, sw_side *side);

#endif
