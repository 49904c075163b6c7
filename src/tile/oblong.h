/* oblong.h - tiles that all measure longer one way than the other: cut so, or the cards or the picture are stretched. */
#ifndef SW_TILE_OBLONG_H
#define SW_TILE_OBLONG_H

#include "seamwright/report.h"
#include "track/track.h"

/* Logarithm of how many times longer all tiles are from west to east than from north to south; 0 where that is less than tiles are cut
 * to, or they differ too much to tell. */
double sw_tiles_oblong(const sw_inspection *inspection);

/* Widens lengths and angles by what they would be wrong by if it were not the tiles. */
void sw_tiles_hold_oblong(sw_inspection *inspection);

/* Where tiles are not of the size told (off: sw_tiles_size_off), the cards may not be either: widens lengths, and the places of tracks, by that share. Between
 * making the tiles and making the seams. */
void sw_tiles_hold_size(double off, sw_tracks *tracks, sw_inspection *inspection);

#endif
