#include "study/walls.h"

#include <math.h>
#include <string.h>

/* A part at depth u is LEAST_PART + GROWTH u gaps high: 240 of them reach 43 gaps down. With four times as many the passed
 * light differs by under 1e-4 of the tops'. */
static const double LEAST_PART = 0.0101, GROWTH = 0.0184;
/* Light goes to and fro until a round adds less than this anywhere, at most so often. */
static const double LEAST_ADDED = 1e-8;
enum { ROUNDS = 400 };

/* What an upright wall gets of an even sky, over what it gets in the open: the other wall hides all that stands less than
 * atan u above level, and that is the share sin(atan u). */
static double sky_at(double u)
{
    return 1 - sin(atan(u));
}

/* A lamp that shines over the other rim goes `slant` gaps across for each gap down. The rim hides it by and by. */
static double lamp_at(double u, double slant, double penumbra)
{
    return fmin(1, fmax(0, 0.5 + (1 - u * slant) / (2 * penumbra)));
}

double walls_direct(const walls *w, int side, double u)
{
    double slant = w->slant[side];
    return w->sky * sky_at(u) + w->share[side] * slant * lamp_at(u, slant, w->penumbra);
}

/* Of a wall without end along the slot, a strip dz high, one gap away and z up or down, gives dz / (2 (1 + z^2)^1.5) of
 * its brightness: the point kernel of a diffuse strip. */
static double kernel(double z)
{
    return 0.5 / pow(1 + z * z, 1.5);
}

void walls_light(const sw_slot_light *light, const sw_slot_other *other, walls *w)
{
    static double gives[WALLS_PARTS][WALLS_PARTS];
    const double albedo[WALLS_SIDES] = {light->albedo / sqrt(other->top_ratio), light->albedo * sqrt(other->top_ratio)};
    double high[WALLS_PARTS], direct[WALLS_SIDES][WALLS_PARTS], at = 0;
    w->slant[WALLS_FAR] = exp(light->slant);
    w->share[WALLS_FAR] = light->share;
    w->slant[WALLS_NEAR] = other->slant;
    w->share[WALLS_NEAR] = other->share;
    w->sky = light->wall;
    w->penumbra = light->penumbra;
    memset(w->passed, 0, sizeof w->passed);
    for (int i = 0; i < WALLS_PARTS; i++) {
        high[i] = LEAST_PART + GROWTH * at;
        w->middle[i] = at + high[i] / 2;
        at += high[i];
        for (int side = 0; side < WALLS_SIDES; side++)
            direct[side][i] = walls_direct(w, side, w->middle[i]);
    }
    for (int i = 0; i < WALLS_PARTS; i++)
        for (int j = 0; j < WALLS_PARTS; j++)
            gives[i][j] = kernel(w->middle[i] - w->middle[j]) * high[j];
    double added = 1;
    for (int round = 0; round < ROUNDS && added > LEAST_ADDED; round++) {
        added = 0;
        for (int side = 0; side < WALLS_SIDES; side++)
            for (int i = 0; i < WALLS_PARTS; i++) {
                double sum = 0;
                for (int j = 0; j < WALLS_PARTS; j++)
                    sum += gives[i][j] * (direct[!side][j] + w->passed[!side][j]);
                sum *= albedo[!side];
                added = fmax(added, fabs(sum - w->passed[side][i]));
                w->passed[side][i] = sum;
            }
    }
}

double walls_passed(const walls *w, int side, double u)
{
    const double *v = w->passed[side];
    int i = 0;
    while (i < WALLS_PARTS - 2 && w->middle[i + 1] < u)
        i++;
    if (u > w->middle[WALLS_PARTS - 1])
        return 0;
    return v[i] + (v[i + 1] - v[i]) * (u - w->middle[i]) / (w->middle[i + 1] - w->middle[i]);
}
