/* develop.h - what a camera, and a program after it, makes of a sharp edge: one forward model, and what this project's
 * reading makes of the outcome.
 *
 *   step in linear light -> blur (with halo) -> tone curve -> sharpening -> range of the file -> softening
 *
 * Everything after the tone curve happens in stored values.
 */
#ifndef SW_SCALE_DEVELOP_H
#define SW_SCALE_DEVELOP_H

#include "photo/crossing.h"
#include "scale/squares.h"

/* Grid of a modelled edge: step and half length, px. */
#define SW_DEVELOP_STEP 0.1
enum { SW_DEVELOP_HALF = 160, SW_DEVELOP_GRID = 2 * SW_DEVELOP_HALF + 1 };

/* The tone curve's extra steepness c on top of sRGB: v + 2 c v (1 - v) (v - 1/2), the lowest polynomial that keeps
 * black, middle and white where they are. v and the result are shares of the range, 0 to 1. c from 0 to
 * SW_CONTRAST_MOST keeps it rising. */
#define SW_CONTRAST_MOST 0.9
double sw_tone(double v, double contrast);
double sw_tone_back(double v, double contrast);

/* Linear light to stored share: sRGB curve (IEC 61966-2-1), then sw_tone; and back. */
double sw_stored_of(double linear, double contrast);
double sw_light_of(double stored, double contrast);

/* Stored values, share of the range, of an edge at x = 0 between two levels given in linear light, bright side +. */
void sw_develop_edge(const sw_response *response, double dark, double bright, double stored[SW_DEVELOP_GRID]);

/* How far into the bright side an edge seems to lie when `made` is what happened to it and `read` is what its reader
 * takes back: by the area between the levels, px. + : a dark slot reads wider on this side. */
double sw_develop_shift(const sw_response *made, const sw_response *read, double dark, double bright);

#endif
