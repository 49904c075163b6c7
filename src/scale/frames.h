/* frames.h - which printed frame a card is: each size that we print has a ratio of inner to outer side of its own. */
#ifndef SW_SCALE_FRAMES_H
#define SW_SCALE_FRAMES_H

#include "scale/bundle.h"

/* Ratio of inner to outer side as told; 0: a plain square. */
double sw_frame_ratio(const sw_reference *reference);

/* The same as the picture shows it, the median of all cards; NaN where no inner side was read. */
double sw_frame_ratio_seen(const sw_sighting *sightings, int count);

/* Whether cards so wide, px, may have the ratio told when another one is seen: light and ink move each side by a pixel or so. */
bool sw_frame_ratio_fits(double told, double seen, double size_px);

/* How many sizes we print, and the ratio of each. */
int sw_frame_sizes(void);
double sw_frame_ratio_of(int size);

/* SW_BAD_INPUT: the sentence on cards that are not those told. */
sw_status sw_frame_refuse(const char *file, const sw_reference *told, double seen, sw_error *err);

#endif
