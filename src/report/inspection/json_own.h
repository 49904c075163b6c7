/* json_own.h - the members of inspection.json that are more than one member of a struct, and what must hold between
 * members. The functions are named in the tables of json_fields.c. */
#ifndef SW_REPORT_INSPECTION_JSON_OWN_H
#define SW_REPORT_INSPECTION_JSON_OWN_H

#include "report/common/json_names.h"

extern const sw_fields sw_inspection_fields;

/* Writing. */
json_t *sw_put_reference(const sw_field *field, const void *scale, sw_putting *p);
json_t *sw_put_verdict(const sw_field *field, const void *inspection, sw_putting *p);
json_t *sw_put_seam_edges(const sw_field *field, const void *seam, sw_putting *p);
json_t *sw_put_mark_seam(const sw_field *field, const void *mark, sw_putting *p);
json_t *sw_put_advice_seam(const sw_field *field, const void *advice, sw_putting *p);
json_t *sw_put_repeatability(const sw_field *field, const void *inspection, sw_putting *p);
json_t *sw_put_spread_name(const sw_field *field, const void *seam_spread, sw_putting *p);
json_t *sw_put_spread_limit(const sw_field *field, const void *seam_spread, sw_putting *p);
json_t *sw_put_spread_counts(const sw_field *field, const void *seam_spread, sw_putting *p);
json_t *sw_put_spread_means(const sw_field *field, const void *seam_spread, sw_putting *p);
bool sw_has_repeatability(const void *inspection);
bool sw_is_left_out(const void *budget_line);

/* Reading: members. Tiles come first: the others name them; marks come after seams. */
void sw_take_reference(sw_reading *r, const sw_field *field, const json_t *value, void *scale);
void sw_take_tiles(sw_reading *r, const sw_field *field, const json_t *value, void *inspection);
void sw_take_seams(sw_reading *r, const sw_field *field, const json_t *value, void *inspection);
void sw_take_seam_edges(sw_reading *r, const sw_field *field, const json_t *value, void *seam);
void sw_take_marks(sw_reading *r, const sw_field *field, const json_t *value, void *inspection);
void sw_take_advice_seam(sw_reading *r, const sw_field *field, const json_t *value, void *advice);

/* Reading: before and after a struct's members. */
void sw_start_seam(sw_reading *r, const json_t *from, void *seam);
void sw_start_advice(sw_reading *r, const json_t *from, void *advice);
void sw_check_rim(sw_reading *r, const json_t *from, void *point);
void sw_check_edge(sw_reading *r, const json_t *from, void *edge);
void sw_check_tile(sw_reading *r, const json_t *from, void *tile);
void sw_check_station(sw_reading *r, const json_t *from, void *station);
void sw_check_seam(sw_reading *r, const json_t *from, void *seam);
void sw_check_mark(sw_reading *r, const json_t *from, void *mark);
void sw_check_inspection(sw_reading *r, const json_t *from, void *inspection);

#endif
