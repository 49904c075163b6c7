/* seams.c - every seam's stations, means, extremes and verdict. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspection/unseen.h"
#include "maths/guard.h"
#include "tile/outline.h"
#include "tile/parts.h"

/* A bite that reaches this near to a seam's end, mm, cannot be told from the crossing seam. */
static const double CHIP_CLEAR_MM = 2;

/* A gap between hand-cut edges changes by this much for each mm along the seam (standard deviation, common practice, no source); not
 * within the stretch that smoothing spans, mm. */
static const double WANDER = 0.004, NEAR_MM = 4;

static double lesser(double a, double b)
{
    return isnan(a) ? b : isnan(b) ? a : fmin(a, b);
}

static double greater(double a, double b)
{
    return isnan(a) ? b : isnan(b) ? a : fmax(a, b);
}

/* Where the two tiles face each other: from the later of their two corners at the start to the earlier at the end. */
static void find_ends(const sw_track *t, const sw_inspection *ins, sw_seam *seam, double *from, double *to)
{
    const sw_tile *a = &ins->tiles[seam->first], *b = &ins->tiles[seam->second];
    const sw_corner *a0 = &a->corners[seam->upright ? SW_NE : SW_SW], *a1 = &a->corners[SW_SE];
    const sw_corner *b0 = &b->corners[SW_NW], *b1 = &b->corners[seam->upright ? SW_SW : SW_NE];
    double length = t->count ? t->points[t->count - 1].at_mm : 0;
    *from = greater(sw_track_at(t, a0->mm), sw_track_at(t, b0->mm));
    *to = lesser(sw_track_at(t, a1->mm), sw_track_at(t, b1->mm));
    if (isnan(*from))
        *from = 0;
    if (isnan(*to) || *to <= *from)
        *to = length;
    double slip0 = sw_track_at(t, b0->mm) - sw_track_at(t, a0->mm),
           slip1 = sw_track_at(t, b1->mm) - sw_track_at(t, a1->mm);
    seam->corner_step_mm = (slip0 + slip1) / 2;
}

/* The track point at or before `at`, and the part of the way to the next. */
static int locate(const sw_track *t, double at, int hint, double *part)
{
    while (hint + 2 < t->count && t->points[hint + 1].at_mm <= at)
        hint++;
    double step = t->points[hint + 1].at_mm - t->points[hint].at_mm;
    *part = step > 0 ? fmin(1, fmax(0, (at - t->points[hint].at_mm) / step)) : 0;
    return hint;
}

static double gap_of(const sw_track_point *p)
{
    double gap = p->chip[0] || p->chip[1] ? p->raw[1] - p->raw[0] : p->across[1] - p->across[0];
    return p->seen ? fmax(0, gap) : NAN;
}

static void fill_station(const sw_track *t, double at, double length, int i, double part, sw_station *s)
{
    const sw_track_point *a = &t->points[i], *b = &t->points[i + 1];
    const sw_track_point *near = part < 0.5 ? a : b;
    double ga = gap_of(a), gb = gap_of(b);
    s->at_mm = at;
    s->gap_mm = isnan(ga) ? gb : isnan(gb) ? ga : (1 - part) * ga + part * gb;
    s->u95_mm = 2 * hypot(near->random_mm, near->systematic_mm);
    s->u_random_mm = near->random_mm;
    s->state = SW_STATION_OK;
    if (at < SW_SEAM_END_MM || at > length - SW_SEAM_END_MM)
        s->state = SW_STATION_END;
    if (a->chip[0] || a->chip[1] || b->chip[0] || b->chip[1])
        s->state = SW_STATION_CHIP;
    if (!near->seen || isnan(s->gap_mm) || isnan(s->u95_mm)) {
        s->state = SW_STATION_UNSEEN;
        s->gap_mm = s->u95_mm = s->u_random_mm = NAN;
    }
}

/* What a gap's uncertainty is made of at one place. */
static sw_parts place_parts(const sw_track *t, const sw_track_point *p)
{
    sw_parts parts = {.degrees_of_freedom = t->gap_freedom};
    sw_parts_random(p->random_mm * p->random_mm, p->noise_mm * p->noise_mm, &parts);
    parts.u[SW_PART_LIGHT] = p->light_mm;
    parts.u[SW_PART_MODEL] = p->model_mm;
    parts.u[SW_PART_PIXELS] = p->pixels_mm;
    parts.u[SW_PART_SPREAD] = p->spread_mm;
    parts.u[SW_PART_HEIGHT] = p->height_mm;
    return parts;
}

/* Of the mean of a seam of which only n stations were seen: the rest may be as far from their mean as single ones are. */
static double hidden_u(const sw_seam *seam, double n, double mean)
{
    double squares = 0, hidden = (double)sw_stations_unseen(seam);
    for (size_t k = 0; k < seam->station_count; k++) {
        const sw_station *s = &seam->stations[k];
        if (s->state == SW_STATION_OK)
            squares += (s->gap_mm - mean) * (s->gap_mm - mean);
    }
    return n > 0 ? hidden / (hidden + n) * sqrt(squares / n) : 0;
}

/* Of a mean over all places of the track: what is random averages out over so many independent ones, the rest does not.
 */
static sw_parts mean_parts(const sw_track *t, double places)
{
    double v[SW_PART_COUNT] = {0}, seen = 0;
    for (int i = 0; i < t->count; i++) {
        if (!t->points[i].seen)
            continue;
        sw_parts at = place_parts(t, &t->points[i]);
        for (int k = 0; k < SW_PART_COUNT; k++)
            v[k] += at.u[k] * at.u[k];
        seen++;
    }
    v[SW_PART_NOISE] /= places;
    v[SW_PART_TEXTURE] /= places;
    sw_parts parts = {.degrees_of_freedom = t->gap_freedom};
    for (int k = 0; k < SW_PART_COUNT; k++)
        parts.u[k] = sqrt(v[k] / seen);
    return parts;
}

/* The nearest station that counts from k on in one direction; -1: none. */
static long nearest_ok(const sw_seam *seam, long k, int way)
{
    for (long i = k; i >= 0 && i < (long)seam->station_count; i += way)
        if (seam->stations[i].state == SW_STATION_OK)
            return i;
    return -1;
}

/* How wide the gap may be where it was not seen, mm (one-sided 95 %): as between the places beside it, and farther from them edges wander;
 * 0 where all was seen. */
static double hidden_most(const sw_seam *seam)
{
    double most = 0;
    for (long k = 0; k < (long)seam->station_count; k++) {
        const sw_station *s = &seam->stations[k];
        long a = nearest_ok(seam, k, -1), b = nearest_ok(seam, k, 1);
        if (s->state != SW_STATION_UNSEEN || (a < 0 && b < 0))
            continue;
        const sw_station *before = &seam->stations[a < 0 ? b : a], *after = &seam->stations[b < 0 ? a : b];
        double span = after->at_mm - before->at_mm, part = span > 0 ? (s->at_mm - before->at_mm) / span : 0;
        double off_mm = fmin(a < 0 ? INFINITY : s->at_mm - before->at_mm, b < 0 ? INFINITY : after->at_mm - s->at_mm);
        double gap = (1 - part) * before->gap_mm + part * after->gap_mm, u95 = fmax(before->u95_mm, after->u95_mm);
        most = fmax(most, gap + SW_GUARD * hypot(u95, 2 * WANDER * fmax(0, off_mm - NEAR_MM)));
    }
    return most;
}

/* Means, extremes and the straight-line taper over the stations that count. */
static void summarise(const sw_track *t, double tolerance, sw_seam *seam)
{
    double n = 0, sum = 0, random = 0, shared = 0, sx = 0, sxx = 0, sxy = 0;
    seam->min_mm = seam->max_mm = seam->mean_mm = seam->max_at_mm = seam->mean_u95_mm = seam->max_u95_mm = NAN;
    seam->taper_mm = seam->taper_u95_mm = NAN;
    for (size_t k = 0; k < seam->station_count; k++) {
        const sw_station *s = &seam->stations[k];
        if (s->state != SW_STATION_OK)
            continue;
        double x = s->at_mm - seam->length_mm / 2;
        n++;
        sum += s->gap_mm;
        sx += x;
        sxx += x * x;
        sxy += x * s->gap_mm;
        if (isnan(seam->max_mm) || s->gap_mm > seam->max_mm) {
            seam->max_mm = s->gap_mm;
            seam->max_at_mm = s->at_mm;
            seam->max_u95_mm = s->u95_mm;
        }
        seam->min_mm = lesser(seam->min_mm, s->gap_mm);
    }
    for (int i = 0; i < t->count; i++)
        if (t->points[i].seen) {
            random += t->points[i].random_mm * t->points[i].random_mm;
            shared += t->points[i].systematic_mm * t->points[i].systematic_mm;
        }
    seam->verdict = sw_verdict_of(seam->max_mm, seam->max_u95_mm, tolerance);
    if (n < 3)
        return;
    double seen = 0;
    for (int i = 0; i < t->count; i++)
        seen += t->points[i].seen;
    double step = seam->station_count > 1 ? seam->stations[1].at_mm - seam->stations[0].at_mm : 1;
    double places = fmax(1, n * step / SW_INDEPENDENT_MM);
    random /= seen;
    shared /= seen;
    seam->mean_mm = sum / n;
    seam->mean_u_random_mm = sqrt(random / places);
    seam->mean_parts = mean_parts(t, places);
    seam->mean_parts.u[SW_PART_HIDDEN] = hidden_u(seam, n, seam->mean_mm);
    seam->mean_u95_mm = 2 * sw_parts_u(&seam->mean_parts);
    double var = sxx - sx * sx / n, slope = var > 0 ? (sxy - sx * sum / n) / var : 0;
    seam->taper_mm = slope * seam->length_mm;
    seam->taper_u_random_mm = seam->length_mm * sqrt(random / places * n / var);
    seam->taper_u95_mm =
        2 * seam->length_mm *
        sqrt(random / places * n / var + shared * slope * slope / fmax(1e-6, seam->mean_mm * seam->mean_mm));
}

/* The widest gap of a seam that is within may be where it was not seen: its uncertainty then reaches as far as that may be. Of one that is
 * over, what is hidden changes nothing. */
static void heed_hidden(double tolerance, sw_seam *seam)
{
    double u95 = ((seam->hidden_mm = hidden_most(seam)) - seam->max_mm) / SW_GUARD;
    if (seam->verdict != SW_WITHIN || !(u95 > seam->max_u95_mm))
        return;
    seam->max_parts.u[SW_PART_HIDDEN] = sqrt(u95 * u95 - seam->max_u95_mm * seam->max_u95_mm) / 2;
    seam->seen_u95_mm = seam->max_u95_mm;
    seam->max_u95_mm = u95;
    seam->verdict = sw_verdict_of(seam->max_mm, seam->max_u95_mm, tolerance);
}

static sw_status fill_chips(const sw_track *t, double from, sw_seam *seam)
{
    seam->chips = calloc((size_t)t->chip_count + 1, sizeof *seam->chips);
    if (!seam->chips)
        return SW_NO_MEMORY;
    for (int k = 0; k < t->chip_count; k++) {
        const sw_track_chip *c = &t->chips[k];
        sw_side side =
            seam->upright ? (c->rim == SW_FIRST ? SW_EAST : SW_WEST) : (c->rim == SW_FIRST ? SW_SOUTH : SW_NORTH);
        double at = c->at_mm - from;
        if (at - c->length_mm / 2 < CHIP_CLEAR_MM || at + c->length_mm / 2 > seam->length_mm - CHIP_CLEAR_MM)
            continue;
        seam->chips[seam->chip_count++] =
            (sw_chip){c->rim == SW_FIRST ? seam->first : seam->second, side, at, c->length_mm, c->depth_mm};
    }
    return SW_OK;
}

static sw_point on_middle(const sw_track *t, double at)
{
    double sum = 0, n = 0;
    for (int i = 0; i < t->count; i++) {
        double middle = (t->points[i].across[0] + t->points[i].across[1]) / 2;
        if (t->points[i].seen && fabs(t->points[i].at_mm - at) < 25 && isfinite(middle)) {
            sum += middle;
            n++;
        }
    }
    double across = n > 0 ? sum / n : 0;
    return (sw_point){t->origin.x + at * t->u.x + across * t->n.x, t->origin.y + at * t->u.y + across * t->n.y};
}

static sw_status make_seam(const sw_track *t, sw_inspection *ins, int upright, int column, int row, sw_seam *seam)
{
    double from, to;
    seam->upright = upright;
    seam->first = row * ins->table.columns + column;
    seam->second = upright ? seam->first + 1 : seam->first + ins->table.columns;
    snprintf(seam->name, sizeof seam->name, "%s-%s", ins->tiles[seam->first].name, ins->tiles[seam->second].name);
    find_ends(t, ins, seam, &from, &to);
    seam->length_mm = to - from;
    seam->start_mm = on_middle(t, from);
    seam->end_mm = on_middle(t, to);
    size_t count = (size_t)fmax(0, floor((seam->length_mm - 0.5 * ins->step_mm) / ins->step_mm) + 1);
    seam->stations = calloc(count + 1, sizeof *seam->stations);
    if (!seam->stations)
        return SW_NO_MEMORY;
    int hint = 0;
    for (size_t k = 0; k < count && t->count > 1; k++) {
        double at = ((double)k + 0.5) * ins->step_mm, part;
        hint = locate(t, from + at, hint, &part);
        fill_station(t, at, seam->length_mm, hint, part, &seam->stations[seam->station_count++]);
    }
    summarise(t, ins->tolerance_mm, seam);
    if (isfinite(seam->max_mm)) {
        double part;
        hint = locate(t, from + seam->max_at_mm, 0, &part);
        seam->max_parts = place_parts(t, &t->points[part < 0.5 ? hint : hint + 1]);
        heed_hidden(ins->tolerance_mm, seam);
    }
    return fill_chips(t, from, seam);
}

sw_status sw_seams_make(const sw_tracks *tracks, sw_inspection *ins, sw_error *err)
{
    int columns = tracks->columns, rows = tracks->rows;
    size_t count = (size_t)((columns - 1) * rows + columns * (rows - 1));
    ins->seams = calloc(count + 1, sizeof *ins->seams);
    if (!ins->seams)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", ins->file);
    for (int r = 0; r < rows; r++)
        for (int c = 0; c < columns; c++)
            for (int upright = 1; upright >= 0; upright--) {
                if (upright ? c + 1 >= columns : r + 1 >= rows)
                    continue;
                const sw_track *t = upright ? sw_upright_track(tracks, c + 1, r) : sw_level_track(tracks, c, r + 1);
                if (make_seam(t, ins, upright, c, r, &ins->seams[ins->seam_count++]))
                    return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the seams", ins->file);
            }
    return SW_OK;
}
