/* cut.h - whether the table goes on beyond the photo. */
#ifndef SW_TABLE_CUT_H
#define SW_TABLE_CUT_H

#include "table/block.h"

/* The side of the picture that cuts the table off ("left", "right", "top", "bottom"), or NULL. */
const char *sw_cut_side(const sw_photo *photo, const sw_scale *scale, const sw_search *s, const sw_block *b);

#endif
