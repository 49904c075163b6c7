/* read.h - the parts of inspection.json, read back. */
#ifndef SW_REPORT_INSPECTION_READ_H
#define SW_REPORT_INSPECTION_READ_H

#include "report/common/read.h"

/* The parts of the file. Tiles come first: the others name them; marks come after seams. */
void sw_read_tiles(sw_reading *r, const json_t *root, sw_inspection *ins);
void sw_read_seams(sw_reading *r, const json_t *root, sw_inspection *ins);
void sw_read_marks(sw_reading *r, const json_t *root, sw_inspection *ins);
void sw_read_ranking(sw_reading *r, const json_t *root, sw_inspection *ins);

/* The best square of a tile from its corners and how proud it is at them. */
void sw_read_derive_square(sw_tile *tile);
/* Where the rim's places are on the table, from the best square. */
void sw_read_derive_places(sw_tile *tile);
/* A seam's two ends from its tiles' corners. */
void sw_read_derive_ends(const sw_inspection *ins, sw_seam *seam);

/* The whole, from a file's text. */
sw_status sw_inspection_parse(const char *text, size_t length, const char *path, sw_inspection *ins, sw_error *err);

#endif
