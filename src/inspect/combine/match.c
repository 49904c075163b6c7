#include "inspect/combine/match.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspect/combine/turned.h"
#include "inspection/copy.h"

/* A seam counts as moved when it differs by this many standard uncertainties (common practice calls 3 an outlier; the
 * stated ones do not hold every light, so 5) and by this much, mm: less than that, light alone may do. */
static const double MOVED_SIGMAS = 5, MOVED_LEAST_MM = 0.15;
/* Tiles of one size may be rounded to sizes this far apart, mm. */
static const double TILE_ROUNDING_MM = 1.01;
/* A place this near to a station, in steps, is the station's. */
static const double HAIR = 1e-6;
/* Seams are compared over this many common places at least. */
enum { PLACES_LEAST = 10 };
/* One seam that moved must not outweigh all others when the turn is sought. */
static const double CHI_MOST = 100;
/* A photo is taken to be turned only when that fits clearly better: by this factor, and by this much (3 sigma). */
static const double CLEARLY = 0.5, CLEARLY_CHI = 9;

sw_station sw_station_at(const sw_seam *seam, double at)
{
    const sw_station *s = seam->stations;
    sw_station out = {at, NAN, NAN, SW_STATION_UNSEEN, NAN};
    size_t n = seam->station_count, low = 0, high = n;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (s[middle].at_mm <= at)
            low = middle + 1;
        else
            high = middle;
    }
    if (n < 2)
        return out;
    size_t i = low < 1 ? 0 : low > n - 1 ? n - 2 : low - 1;
    const sw_station *a = &s[i], *b = &s[i + 1];
    double part = (at - a->at_mm) / (b->at_mm - a->at_mm);
    if (!(part > -1 && part < 2))
        return out; /* a whole station beyond either end */
    const sw_station *near = part < 0.5 ? a : b, *other = near == a ? b : a;
    if (near->state == SW_STATION_UNSEEN)
        return out;
    if (part < HAIR || part > 1 - HAIR || other->state == SW_STATION_UNSEEN)
        other = near;                    /* right at a station, beyond the last one, or next to what was not seen */
    double share = fmin(part, 1 - part); /* of the other */
    out.state = other->state == SW_STATION_CHIP ? SW_STATION_CHIP : near->state;
    out.gap_mm = other == near ? near->gap_mm : (1 - share) * near->gap_mm + share * other->gap_mm;
    out.u95_mm = other == near ? near->u95_mm : (1 - share) * near->u95_mm + share * other->u95_mm;
    out.u_random_mm = other == near ? near->u_random_mm : (1 - share) * near->u_random_mm + share * other->u_random_mm;
    return out;
}

double sw_difference_most(const sw_difference *d)
{
    return d->mean_mm + (d->mean_mm < 0 ? -1 : 1) * fabs(d->taper_mm) / 2;
}

sw_difference sw_seam_difference(const sw_seam *first, const sw_seam *second)
{
    sw_difference d = {0};
    double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
    double u_mean = hypot(first->mean_u95_mm, second->mean_u95_mm) / 2;
    double u_taper = hypot(first->taper_u95_mm, second->taper_u95_mm) / 2;
    for (size_t i = 0; i < first->station_count; i++) {
        const sw_station *a = &first->stations[i];
        if (a->state != SW_STATION_OK)
            continue;
        sw_station b = sw_station_at(second, a->at_mm);
        if (b.state != SW_STATION_OK)
            continue;
        double x = a->at_mm / first->length_mm - 0.5, y = b.gap_mm - a->gap_mm;
        n++;
        sx += x;
        sy += y;
        sxx += x * x;
        sxy += x * y;
    }
    double spread = sxx - sx * sx / n;
    if (n < PLACES_LEAST || !(u_mean > 0) || !(u_taper > 0) || !(spread > 0))
        return d;
    d.comparable = true;
    d.taper_mm = (sxy - sx * sy / n) / spread;
    d.mean_mm = sy / n;
    double a = d.mean_mm / u_mean, b = d.taper_mm / u_taper;
    d.chi_square = a * a + b * b;
    d.moved = fmax(fabs(a), fabs(b)) > MOVED_SIGMAS && fabs(sw_difference_most(&d)) > MOVED_LEAST_MM;
    return d;
}

/* How badly two tables that lie alike differ: infinite when they cannot be the same. */
static double differ(const sw_inspection *first, const sw_inspection *second, sw_difference *differences)
{
    double sum = 0, compared = 0;
    if (first->table.columns != second->table.columns || first->table.rows != second->table.rows ||
        first->seam_count != second->seam_count)
        return INFINITY;
    for (size_t i = 0; i < first->seam_count; i++) {
        differences[i] = sw_seam_difference(&first->seams[i], &second->seams[i]);
        sum += fmin(differences[i].chi_square, CHI_MOST);
        compared += differences[i].comparable;
    }
    return compared > 0 ? sum / compared * (double)first->seam_count : INFINITY;
}

static sw_status refuse(const sw_inspection *first, const sw_inspection *second, size_t number, const char *why,
                        sw_error *err)
{
    return sw_fail(err, SW_BAD_INPUT, "%.160s (photo %zu) does not show the same table as %.160s (photo 1): %s",
                   second->file, number, first->file, why);
}

static sw_status refuse_counts(const sw_inspection *first, const sw_inspection *second, size_t number, sw_error *err)
{
    char why[160];
    snprintf(why, sizeof why, "%d by %d tiles of %.0f mm here, %d by %d of %.0f mm there; inspect them one by one",
             second->table.columns, second->table.rows, second->table.tile_mm, first->table.columns, first->table.rows,
             first->table.tile_mm);
    return refuse(first, second, number, why, err);
}

/* Most seams differ: another table, or tiles pushed about. */
static sw_status check_moved(const sw_inspection *first, const sw_inspection *second, size_t number,
                             const sw_difference *differences, sw_error *err)
{
    char why[200];
    size_t compared = 0, moved = 0, worst = 0;
    for (size_t i = 0; i < first->seam_count; i++) {
        compared += differences[i].comparable;
        moved += differences[i].moved;
        if (fabs(sw_difference_most(&differences[i])) > fabs(sw_difference_most(&differences[worst])))
            worst = i;
    }
    if (compared == 0)
        return refuse(first, second, number, "no seam was seen in both; photograph the whole table, its seams clear",
                      err);
    if (2 * moved <= compared)
        return SW_OK;
    snprintf(why, sizeof why,
             "%zu of %zu seams differ, %s by %.2f mm; was a tile moved? Inspect them one by one, or photograph again",
             moved, compared, first->seams[worst].name, fabs(sw_difference_most(&differences[worst])));
    return refuse(first, second, number, why, err);
}

sw_status sw_match(const sw_inspection *first, sw_inspection *second, size_t number, sw_difference *differences,
                   int *quarter_turns, sw_error *err)
{
    double score[4];
    int best = 0;
    sw_status status = SW_OK;
    *quarter_turns = 0;
    if (fabs(first->table.tile_mm - second->table.tile_mm) > TILE_ROUNDING_MM)
        return refuse_counts(first, second, number, err);
    for (int q = 0; !status && q < 4; q++) {
        score[q] = differ(first, second, differences);
        status = sw_inspection_turn(second, 1, err);
    }
    if (status)
        return status;
    for (int q = 1; q < 4; q++)
        if (score[q] < score[best])
            best = q;
    if (!(isfinite(score[0]) || isfinite(score[1]) || isfinite(score[2]) || isfinite(score[3])) &&
        !(first->table.columns == second->table.columns && first->table.rows == second->table.rows) &&
        !(first->table.columns == second->table.rows && first->table.rows == second->table.columns))
        return refuse_counts(first, second, number, err);
    if (isfinite(score[0]) && !(score[best] < CLEARLY * score[0] - CLEARLY_CHI))
        best = 0;
    status = sw_inspection_turn(second, best, err);
    if (status)
        return status;
    *quarter_turns = best;
    differ(first, second, differences);
    return check_moved(first, second, number, differences, err);
}
