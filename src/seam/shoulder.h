/* shoulder.h - a rounded rim: the quarter round between a top and the side face below it.
 *
 *     top ______
 *               `-.      x from the side face outwards, 0 to r; the surface is tilted by a = asin(1 - x / r) and lies
 *                  \     r (1 - cos a) below the top
 *                  |
 */
#ifndef SW_SEAM_SHOULDER_H
#define SW_SEAM_SHOULDER_H

#include "seam/slot_model.h"

/* Its brightness in bins of even tilt, from the top to the side face, in units of the top's own; and where they begin, in radii
 * from where the side face begins, as the camera sees it. */
enum { SW_SHOULDER_BINS = 5, SW_NEAR = 0, SW_FAR = 1 };
typedef struct sw_shoulder {
    double level[SW_SHOULDER_BINS], by[SW_SHOULDER_BINS][SW_LIGHT_BLUR], begins[SW_SHOULDER_BINS];
    double radius_mm;
} sw_shoulder;

/* What lights a shoulder: the sky's light on an upright wall in the open; lamps that shine on it from the front and from behind
 * (share of the light on the tops, and how far it goes across for each step down); how gradually they end. */
typedef struct sw_shoulder_light {
    double wall, share, slant, share_behind, slant_behind, penumbra;
} sw_shoulder_light;

/* Tangent of half the angle from the zenith up to which a point sees the sky beside a round rim of radius `round`, a distance of 1
 * away, from `deep` below that rim's centre. */
double sw_round_horizon(double deep, double round);

/* Light from sky and lamps, mean over bin k. round, opposite: radii of this rim and of the one across, in units of the distance of
 * the side faces; round 0 or more. opposite below 0: nothing stands across. horizon: cosine of what it hides, for bounced light. */
double sw_shoulder_lit(const sw_shoulder_light *light, int k, double round, double opposite, double *bounced);

/* Where bin k begins, in radii outside the side face as seen under a view of this tangent (across the rim, from above): far rims
 * show all of their shoulder, near ones hide its end. */
double sw_shoulder_begins(int k, double tangent, bool far);

/* The middle of bin k: tilt, radians. */
double sw_shoulder_tilt(double bin);

#endif
