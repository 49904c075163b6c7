/* clicks.h - corners as somebody points at them: off, and begun anywhere, either way round. */
#ifndef SW_SUPPORT_CLICKS_H
#define SW_SUPPORT_CLICKS_H

#include "seamwright/photo.h"
#include "support/maths_check.h"

/* A place that is off by `off`, in any direction. */
static inline sw_point click_near(sw_point at, double off, uint32_t *seed)
{
    double way = between(seed, 0, 2 * 3.14159265358979323846);
    return (sw_point){at.x + off * cos(way), at.y + off * sin(way)};
}

static inline sw_corners clicked(const sw_point shown_px[4], uint32_t *seed)
{
    sw_corners told;
    int first = (int)between(seed, 0, 4), step = between(seed, 0, 1) < 0.5 ? 1 : 3;
    for (int i = 0; i < 4; i++)
        told.shown_px[(first + i * step) % 4] = shown_px[i];
    return told;
}

#endif
