/* corners.h - the four corners of a card or a table: their order, and those that somebody points at. */
#ifndef SW_PHOTO_CORNERS_H
#define SW_PHOTO_CORNERS_H

#include "seamwright/photo.h"
#include "seamwright/status.h"

/* Puts four corners, sensor px in any order, into the order NW NE SE SW as the photo is shown: the one nearest the shown picture's top
 * left first, then clockwise round their middle. */
void sw_corners_order(const sw_photo *photo, sw_point *corners_px);

/* The four corners that were pointed at, as sensor px in that order. */
void sw_corners_take(const sw_photo *photo, const sw_corners *told, sw_point *corners_px);

/* SW_BAD_INPUT: one lies outside the photo, two lie closer than SW_POINTED_APART_PX, or they are not the corners of a rectangle seen from
 * above: a dent, three in a line. option: the word that the sentence names. */
sw_status sw_corners_check(const sw_photo *photo, const sw_corners *told, const char *option, sw_error *err);

#endif
