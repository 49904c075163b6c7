#include "tile/parts.h"

#include <math.h>
#include <stdbool.h>

double sw_parts_u(const sw_parts *parts)
{
    double sum = 0;
    for (int k = 0; k < SW_PART_COUNT; k++)
        sum += parts->u[k] * parts->u[k];
    return sqrt(sum);
}

const char *sw_part_name(sw_part part)
{
    static const char *const names[SW_PART_COUNT] = {
        "noise",    "texture", "light in the gap", "model of the light", "coarse pixels",  "edge spread", "card size",
        "card fit", "lens",    "perspective",      "card thickness",     "hidden stretch", "height"};
    return (unsigned)part < SW_PART_COUNT ? names[part] : "";
}

const char *sw_part_kind_name(sw_part_kind kind)
{
    return kind == SW_SEEN ? "seen in this photo" : kind == SW_FROM_PROFILE ? "from the lens profile" : "assumed";
}

const char *sw_budget_figure_name(sw_budget_figure figure)
{
    static const char *const names[SW_BUDGET_FIGURES] = {"widest gap", "mean gap", "corner angle", "edge length",
                                                         "straightness"};
    return (unsigned)figure < SW_BUDGET_FIGURES ? names[figure] : "";
}

void sw_parts_from(const double variance[SW_PART_COUNT], sw_parts *parts)
{
    *parts = (sw_parts){.degrees_of_freedom = 0};
    for (int k = 0; k < SW_PART_COUNT; k++)
        parts->u[k] = sqrt(fmax(0, variance[k]));
}

void sw_parts_random(double variance, double noise_variance, sw_parts *parts)
{
    double noise = fmin(fmax(0, noise_variance), variance);
    parts->u[SW_PART_NOISE] = sqrt(noise);
    parts->u[SW_PART_TEXTURE] = sqrt(variance - noise);
}

void sw_parts_rescale(double u, double u_random, sw_parts *parts)
{
    double random = hypot(parts->u[SW_PART_NOISE], parts->u[SW_PART_TEXTURE]), whole = sw_parts_u(parts);
    double common = sqrt(fmax(0, whole * whole - random * random));
    double share = sqrt(fmax(0, u * u - u_random * u_random));
    if (!(whole > 0) || !isfinite(u) || !isfinite(u_random))
        return;
    for (int k = 0; k < SW_PART_COUNT; k++) {
        bool is_random = k == SW_PART_NOISE || k == SW_PART_TEXTURE;
        double had = is_random ? random : common, has = is_random ? u_random : share;
        parts->u[k] = had > 0 ? parts->u[k] * has / had : 0;
    }
    /* what had no part to go into: spread between photos where one photo showed none, or the other way round */
    double left = sqrt(fmax(0, u * u - sw_parts_u(parts) * sw_parts_u(parts)));
    parts->u[SW_PART_TEXTURE] = hypot(parts->u[SW_PART_TEXTURE], left);
}

void sw_parts_add(double u, sw_part part, sw_parts *parts, double *u95)
{
    if (!isfinite(*u95) || !isfinite(u))
        return;
    parts->u[part] = hypot(parts->u[part], u);
    *u95 = 2 * sw_parts_u(parts);
}
