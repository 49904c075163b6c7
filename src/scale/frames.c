#include "scale/frames.h"

#include <math.h>
#include <stdio.h>

#include "maths/point.h"
#include "maths/stats.h"
#include "seamwright/defaults_and_ranges.h"

/* A side moves by ink and light (README.md): so many px of both sides together, and by what a ruler reads wrong. */
static const double MOVED_PX = 3, MEASURED_WRONG = 0.02;
/* Sizes that are printed, mm, each with the ratio that sw_frame_inner_mm gives it; neighbours' ratios are 0.05 apart. */
static const double PRINTED_MM[] = {40, 60, 80, 100, 120, 140, 160};
enum { PRINTED = sizeof PRINTED_MM / sizeof *PRINTED_MM };
/* A ratio so near to that of a printed size is taken for it: half of the way to the next. */
static const double SAME = 0.02;

double sw_frame_inner_mm(double outer_mm)
{
    const double usual = SW_REFERENCE_MM.usual, ratio = SW_INNER_USUAL_MM / usual, most = 0.75, least = 0.45;
    return round(outer_mm * fmax(least, fmin(most, ratio + (outer_mm - usual) / (4 * usual))));
}

double sw_frame_ratio(const sw_reference *reference)
{
    double outer = reference->outer_x_mm + reference->outer_y_mm;
    return (reference->inner_x_mm + reference->inner_y_mm) / outer;
}

static double around(const sw_point corners[4])
{
    double sum = 0;
    for (int c = 0; c < 4; c++)
        sum += sw_distance(corners[c], corners[(c + 1) % 4]);
    return sum;
}

double sw_frame_ratio_seen(const sw_sighting *sightings, int count)
{
    double seen[SW_SQUARES_MAX];
    size_t n = 0;
    for (int i = 0; i < count; i++) {
        sw_point outer[4], inner[4];
        if (sightings[i].rim_count == 2 && !sw_sides_corners(&sightings[i].rims[0], outer) &&
            !sw_sides_corners(&sightings[i].rims[1], inner))
            seen[n++] = around(inner) / around(outer);
    }
    return sw_median(seen, n);
}

bool sw_frame_ratio_fits(double told, double seen, double size_px)
{
    return !(fabs(seen - told) > MEASURED_WRONG + MOVED_PX / size_px);
}

int sw_frame_sizes(void)
{
    return PRINTED;
}

double sw_frame_ratio_of(int size)
{
    return sw_frame_inner_mm(PRINTED_MM[size]) / PRINTED_MM[size];
}

sw_status sw_frame_refuse(const char *file, const sw_reference *told, double seen, sw_error *err)
{
    char size[64] = "";
    for (int i = 0; i < PRINTED; i++) {
        if (fabs(seen - sw_frame_ratio_of(i)) < SAME)
            snprintf(size, sizeof size, ", as frames of %g/%g have it", PRINTED_MM[i],
                     sw_frame_inner_mm(PRINTED_MM[i]));
    }
    return sw_fail(err, SW_BAD_INPUT,
                   "%s: the cards in the picture are not those told: their inner side is %.2f of the outer one%s, not "
                   "%.2f; measure your card and tell its sides (--reference)",
                   file, seen, size, sw_frame_ratio(told));
}
