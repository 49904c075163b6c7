/* json_own.h - what must hold between the members of an inspection.json, and those that are more than one member of a
 * struct. The functions are named in the tables of json_fields.c. */
#ifndef SW_REPORT_INSPECTION_JSON_OWN_H
#define SW_REPORT_INSPECTION_JSON_OWN_H

#include "report/common/json_names.h"

extern const sw_json_kind sw_inspection_json;

/* Tiles come first: the others name them; marks come after seams. */
sw_take sw_take_reference, sw_take_tiles, sw_take_seams, sw_take_seam_edges, sw_take_marks, sw_take_seam_name,
    sw_take_tile_name, sw_take_mended;
sw_put sw_put_mended;
/* Steps of reading (SW_STEP): before and after the other members. */
sw_take sw_start_advice, sw_start_tile, sw_start_seam, sw_start_top, sw_check_rim, sw_check_edge, sw_check_tile,
    sw_check_station, sw_check_seam, sw_check_mark, sw_check_inspection;

#endif
