/* read.h - an inspection.json read back. */
#ifndef SW_REPORT_INSPECTION_READ_H
#define SW_REPORT_INSPECTION_READ_H

#include "seamwright/report.h"

/* The best square of a tile from its corners and how proud it is at them. */
void sw_read_derive_square(sw_tile *tile);
/* Where the rim's places are on the table, from the best square. */
void sw_read_derive_places(sw_tile *tile);
/* A seam's two ends from its tiles' corners. */
void sw_read_derive_ends(const sw_inspection *ins, sw_seam *seam);

/* sw_inspection_read from a file's text. */
sw_status sw_inspection_parse(const char *text, size_t length, const char *path, sw_inspection *ins, sw_error *err);

#endif
