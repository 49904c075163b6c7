/* walls.h - the light on the two walls of a deep slot, worked out without src/seam, by plain fine parts and many rounds.
 *
 *     top |      | top        depth u, in gaps, grows downward; far and near wall face each other one gap apart
 *     ----+      +----
 *         | near |  far       a wall's light is in units of the light on the tops
 */
#ifndef SW_STUDY_WALLS_H
#define SW_STUDY_WALLS_H

#include "seam/slot_model.h"

enum { WALLS_FAR, WALLS_NEAR, WALLS_SIDES };

/* Fine parts, finest at the rims; what the walls pass to each other at the parts' middles. */
enum { WALLS_PARTS = 240 };
typedef struct walls {
    double slant[WALLS_SIDES], share[WALLS_SIDES], sky, penumbra; /* of the light from outside */
    double middle[WALLS_PARTS], passed[WALLS_SIDES][WALLS_PARTS];
} walls;

/* light: the lamp on the far wall, the sky, the walls' mean albedo (geometric) and the penumbra. other: the lamp on the near wall,
 * and how much lighter that is. */
void walls_light(const sw_slot_light *light, const sw_slot_other *other, walls *out);

/* Light from outside, and what the other wall passes on, at depth u. */
double walls_direct(const walls *w, int side, double u);
double walls_passed(const walls *w, int side, double u);

#endif
