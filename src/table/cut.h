/* cut.h - whether the table goes on beyond the photo, or reaches its frame. */
#ifndef SW_TABLE_CUT_H
#define SW_TABLE_CUT_H

#include "table/block.h"

/* Sides of the table and of the picture as it is shown: left, right, top, bottom. */
const char *sw_cut_side_name(int side);

/* The side at which the picture cuts tiles off, or -1. */
int sw_cut_side(const sw_photo *photo, const sw_scale *scale, const sw_search *s, const sw_block *b);

/* Whether so little shows beyond the table's side that nobody can say whether tiles go on there, or its own rim is cut. */
bool sw_cut_touches(const sw_photo *photo, const sw_scale *scale, const sw_block *b, int side);

#endif
