/* json_names.h - members of JSON files that several reports have: the program, tiles, edges and seams by their names.
 *
 * The context of every report's table is a struct that begins with a pointer to an inspection, whose names are used.
 */
#ifndef SW_REPORT_COMMON_JSON_NAMES_H
#define SW_REPORT_COMMON_JSON_NAMES_H

#include "seamwright/inspection.h"
#include "json/fields.h"

sw_put sw_put_program, sw_put_photo_name, sw_put_tile_name, sw_put_seam_name, sw_put_edge;
sw_take sw_take_edge;

static inline const sw_inspection *sw_named_in(const void *context)
{
    return *(const sw_inspection *const *)context;
}

/* From an index; null for one that is none. */
#define SW_TILE_NAME(type, member) SW_MEMBER(type, member), .put = sw_put_tile_name
#define SW_SEAM_NAME(type, member) SW_MEMBER(type, member), .put = sw_put_seam_name
/* "A1 east", from a struct's tile and side. */
#define SW_EDGE(type) SW_EDGE_TAKEN_BY(sw_take_edge, type)
#define SW_EDGE_TAKEN_BY(taker, type)                                                                                  \
    .at = offsetof(type, tile), .beside = offsetof(type, side), .put = sw_put_edge, .take = taker

/* "A1 east" and "B1 west" as a list; NULL: out of memory. */
json_t *sw_put_two_edges(const sw_inspection *ins, const int tile[2], const sw_side side[2]);

/* "B2" -> its column and row, from 0; false when the text is no tile's name. */
bool sw_tile_of_name(const char *text, int *column, int *row);
/* "B2 east" -> index of the tile and side. False when it is no edge of this table; text may be NULL. */
bool sw_edge_of_name(const sw_inspection *ins, const char *text, int *tile, sw_side *side);

#endif
