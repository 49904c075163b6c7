#include "seam/shoulder.h"

#include <math.h>

double sw_shoulder_tilt(double bin)
{
    return bin * M_PI / 2 / SW_SHOULDER_BINS;
}

double sw_shoulder_begins(int k, double tangent, bool far)
{
    double tilt = sw_shoulder_tilt(k), out = 1 - sin(tilt), deep = 1 - cos(tilt);
    /* What lies deeper shows nearer to the camera's foot; the far side face begins a radius deep, the near one is hidden by its own
     * shoulder from where the view touches it. */
    double touch = 1 + tangent - sqrt(1 + tangent * tangent);
    return far ? out + (1 - deep) * tangent : fmax(0, out + deep * tangent - touch);
}

double sw_round_horizon(double deep, double round)
{
    return (sqrt(deep * deep + 1 + 2 * round) - deep) / (1 + 2 * round);
}

/* Share of a lamp in sight at x times the depth to which half of it shines (as of cavity.c's walls). */
static double in_sight(double x, double penumbra)
{
    return fmax(0, fmin(1, (1 + penumbra - x) / (2 * penumbra)));
}

double sw_shoulder_lit(const sw_shoulder_light *l, int k, double round, double opposite, double *bounced)
{
    double tilt = sw_shoulder_tilt(k + 0.5), c = cos(tilt), s = sin(tilt), front = 1, horizon = M_PI / 2;
    if (opposite >= 0) {
        double across = 1 + round * (1 - s), down = round * (1 - c), slant = fmax(l->slant, 1e-3);
        horizon = 2 * atan(sw_round_horizon((down - opposite) / across, opposite / across));
        double ends = across / slant + opposite * (1 - (sqrt(1 + slant * slant) - 1) / slant);
        front = in_sight(down / ends, l->penumbra);
    }
    *bounced = (1 - sin(horizon - tilt)) / (1 + cos(horizon));
    /* Under an even sky (1 + cos tilt) / 2 of its light; what an uneven one, or a lamp along the rim, has more goes with the cosine. */
    return l->wall * (1 + sin(horizon - tilt)) + (1 - l->share - l->share_behind - 2 * l->wall) * c +
           l->share * (c + l->slant * s) * front + l->share_behind * fmax(0, c - l->slant_behind * s);
}
