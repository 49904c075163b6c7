#include "track/flank.h"

#include <math.h>

#include "maths/guard.h"
#include "maths/stats.h"

/* How far the reading may be drawn along, mm: by a chip, which a nearly closed seam follows into; by the seam that crosses. */
static const double CHIP_REACH_MM = 20, END_REACH_MM = 15;
/* What lies so much farther on says how wide the seam is. */
static const double AFAR_MM = 30;
/* A gap between hand-cut edges changes by this much for each mm along the seam (twice the standard deviation, common practice, no source). */
static const double WANDERS = 0.008;
/* A step whose part of the gap is as uncertain as this (standard deviation, mm) is not known. */
static const double STEP_UNKNOWN_MM = 0.05;
enum { LEAST_PLACES = 8, MOST_PLACES = 256 };

static double gap_at(const sw_track_point *p)
{
    double gap = p->across[SW_SECOND] - p->across[SW_FIRST];
    return p->seen && !p->chip[SW_FIRST] && !p->chip[SW_SECOND] ? fmax(0, gap) : NAN;
}

/* Median gap of the places from `from` to `to` mm away from a place, on one side of it; NaN where too few were seen. */
static double gap_afar(const sw_track *t, double at_mm, int way, double from, double to)
{
    double gaps[MOST_PLACES];
    size_t n = 0;
    int every = (int)(AFAR_MM / (MOST_PLACES * fmax(1e-3, sw_track_step(t)))) + 1;
    for (int i = 0; i < t->count && n < MOST_PLACES; i += every) {
        double away = way * (t->points[i].at_mm - at_mm), gap = gap_at(&t->points[i]);
        if (away >= from && away <= to && isfinite(gap))
            gaps[n++] = gap;
    }
    return n >= LEAST_PLACES ? sw_median(gaps, n) : NAN;
}

/* Either gap may be the right one. */
static void widen(sw_track *t, double at_mm, int way, double reach, double afar, double unknown_step)
{
    for (int i = 0; isfinite(afar) && i < t->count; i++) {
        sw_track_point *p = &t->points[i];
        double away = way * (p->at_mm - at_mm), off = fabs(gap_at(p) - afar);
        if (away < 0 || away > reach || p->height_mm < unknown_step || !(off > WANDERS * (reach + AFAR_MM / 2 - away)))
            continue;
        p->model_mm = hypot(p->model_mm, SW_BETWEEN * off);
        sw_track_point_sum(p);
    }
}

static void beside_chip(sw_track *t, const sw_track_chip *chip)
{
    double end[2], afar[2];
    for (int far = 0; far < 2; far++) {
        int way = far ? 1 : -1;
        end[far] = chip->at_mm + way * chip->length_mm / 2;
        afar[far] = gap_afar(t, end[far], way, CHIP_REACH_MM, CHIP_REACH_MM + AFAR_MM);
    }
    for (int far = 0; far < 2; far++) /* where nothing was seen on one side, the other tells */
        widen(t, end[far], far ? 1 : -1, CHIP_REACH_MM, isfinite(afar[far]) ? afar[far] : afar[!far], 0);
}

static void beside_crossing(sw_track *t, double at_mm, int way)
{
    widen(t, at_mm, way, END_REACH_MM, gap_afar(t, at_mm, way, END_REACH_MM, END_REACH_MM + AFAR_MM), STEP_UNKNOWN_MM);
}

void sw_flank_widen(sw_track *t)
{
    for (int k = 0; k < t->chip_count; k++)
        beside_chip(t, &t->chips[k]);
    if (t->count > 1) {
        beside_crossing(t, t->points[0].at_mm, 1);
        beside_crossing(t, t->points[t->count - 1].at_mm, -1);
    }
}
