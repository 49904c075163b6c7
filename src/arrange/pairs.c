#include "arrange/pairs.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void sw_profile_make(const sw_outline *first, sw_side first_side, const sw_outline *second, sw_side second_side,
                     sw_profile *profile)
{
    int reach = first->reach < second->reach ? first->reach : second->reach, seen = 0;
    const sw_outline_sample *a = first->samples[first_side], *b = second->samples[second_side];
    profile->count = 0;
    profile->seen = 0;
    for (int k = -reach; a && b && k <= reach; k++) {
        const sw_outline_sample *one = &a[first->reach + k], *two = &b[second->reach - k];
        if (one->known == SW_OUTLINE_UNKNOWN || two->known == SW_OUTLINE_UNKNOWN)
            continue;
        int n = profile->count++;
        profile->u[n] = k * SW_OUTLINE_PITCH_MM;
        profile->f[n] = -(one->proud_mm + two->proud_mm);
        profile->limits[n] = one->known == SW_OUTLINE_SEEN && two->known == SW_OUTLINE_SEEN;
        seen += profile->limits[n];
    }
    if (profile->count)
        profile->seen = (double)seen / (2 * reach + 1);
}

/* Corners of the hull above (way 1) or below (way -1) the places, by growing u (Andrew 1979). Above only limiting
 * places count. */
static int chain(const sw_profile *p, int way, sw_hull_place *out)
{
    int n = 0;
    for (int i = 0; i < p->count; i++) {
        if (way > 0 && !p->limits[i])
            continue;
        double u = p->u[i], f = p->f[i];
        while (n > 1 && way * ((out[n - 1].u - out[n - 2].u) * (f - out[n - 2].f) -
                               (out[n - 1].f - out[n - 2].f) * (u - out[n - 2].u)) >=
                            0)
            n--;
        out[n++] = (sw_hull_place){(float)u, (float)f};
    }
    return n;
}

/* The corner that is highest (way 1) or lowest (way -1) once tilted. */
static const sw_hull_place *extreme(const sw_hull_place *corners, int count, int way, double tilt)
{
    const sw_hull_place *best = corners;
    double top = way * (best->f + tilt * best->u);
    for (int i = 1; i < count; i++) {
        double height = way * (corners[i].f + tilt * corners[i].u);
        if (height < top)
            break; /* heights along a hull rise, then fall */
        top = height;
        best = &corners[i];
    }
    return best;
}

double sw_pair_range(const sw_pairs *pairs, const sw_pair *pair, double tilt)
{
    if (!pair->upper)
        return pairs->unknown_mm;
    const sw_hull_place *corners = pairs->places + pair->places;
    const sw_hull_place *high = extreme(corners, pair->upper, 1, tilt),
                        *low = extreme(corners + pair->upper, pair->lower, -1, tilt);
    return (double)high->f - low->f + tilt * ((double)high->u - low->u) + (double)pair->apart_mm;
}

/* range and its slope. */
static double range_slope(const sw_pairs *pairs, const sw_pair *pair, double tilt, double *slope)
{
    const sw_hull_place *corners = pairs->places + pair->places;
    const sw_hull_place *high = extreme(corners, pair->upper, 1, tilt),
                        *low = extreme(corners + pair->upper, pair->lower, -1, tilt);
    *slope = (double)high->u - low->u;
    return (double)high->f - low->f + tilt * *slope + (double)pair->apart_mm;
}

/* The least range: lines of slope on either side of it cross at it at last (a convex function made of straight pieces).
 */
static void find_zone(const sw_pairs *pairs, sw_pair *pair)
{
    enum { ROUNDS = 60 }; /* each takes away a piece for good; edges have fewer */
    double a = -SW_PAIR_MOST_TILT, b = SW_PAIR_MOST_TILT, slope_a, slope_b, best = 0;
    double fa = range_slope(pairs, pair, a, &slope_a), fb = range_slope(pairs, pair, b, &slope_b);
    for (int round = 0; round < ROUNDS; round++) {
        if (!(slope_a < 0) || !(slope_b > 0)) {
            best = slope_a < 0 ? b : a;
            break;
        }
        double slope, t = (fb - fa + slope_a * a - slope_b * b) / (slope_a - slope_b);
        double f = range_slope(pairs, pair, t, &slope), bound = fa + slope_a * (t - a);
        best = t;
        if (f <= bound + 1e-7 || t <= a || t >= b)
            break;
        if (slope < 0) {
            a = t;
            fa = f;
            slope_a = slope;
        } else {
            b = t;
            fb = f;
            slope_b = slope;
        }
    }
    pair->tilt_rad = (float)best;
    pair->zone_mm = (float)sw_pair_range(pairs, pair, pair->tilt_rad);
}

/* Where range comes down to `most`, from far out (Newton on a convex function never steps over). */
static double root(const sw_pairs *pairs, const sw_pair *pair, double most, double t)
{
    enum { ROUNDS = 60 };
    for (int round = 0; round < ROUNDS; round++) {
        double slope, over = range_slope(pairs, pair, t, &slope) - most;
        if (over <= 1e-9 || slope == 0)
            break;
        double next = t - over / slope;
        if ((t > pair->tilt_rad) != (next > pair->tilt_rad))
            return pair->tilt_rad; /* rounding, at the very zone */
        t = next;
    }
    return t;
}

void sw_pair_span(const sw_pairs *pairs, const sw_pair *pair, double most, double *from, double *to)
{
    if (!pair->upper)
        return;
    *from = root(pairs, pair, most, *from);
    *to = root(pairs, pair, most, *to);
}

void sw_pairs_free(sw_pairs *pairs)
{
    free(pairs->pairs);
    free(pairs->places);
    memset(pairs, 0, sizeof *pairs);
}

/* Adds corners to the store; false when memory is out. */
static bool keep(sw_pairs *pairs, size_t *count, size_t *room, const sw_hull_place *corners, int n)
{
    if (*count + (size_t)n > *room) {
        size_t more = 2 * *room + 4096;
        sw_hull_place *bigger = realloc(pairs->places, more * sizeof *bigger);
        if (!bigger)
            return false;
        pairs->places = bigger;
        *room = more;
    }
    if (n)
        memcpy(pairs->places + *count, corners, (size_t)n * sizeof *corners);
    *count += (size_t)n;
    return true;
}

/* False when memory is out. */
static bool add_pair(sw_pairs *pairs, const sw_outline *outlines, const sw_faces *faces, bool least, int i, int j,
                     sw_profile *profile, size_t *count, size_t *room)
{
    sw_hull_place corners[2 * SW_OUTLINE_MOST];
    int sense;
    sw_pair *pair = (sw_pair *)sw_pair_of(pairs, i, j, &sense);
    const sw_apart apart = faces ? sw_faces_apart(faces, i, j) : (sw_apart){0, 0};
    *pair = (sw_pair){.places = *count, .apart_mm = (float)(least ? apart.least_mm : apart.most_mm)};
    if (i / 4 == j / 4)
        return true; /* a tile does not lie beside itself */
    sw_profile_make(&outlines[i / 4], (sw_side)(i % 4), &outlines[j / 4], (sw_side)(j % 4), profile);
    if (profile->seen < SW_JOINT_LEAST_SEEN)
        return true;
    pair->upper = chain(profile, 1, corners);
    pair->lower = chain(profile, -1, corners + pair->upper);
    if (!keep(pairs, count, room, corners, pair->upper + pair->lower))
        return false;
    find_zone(pairs, pair);
    return true;
}

sw_status sw_pairs_make(const sw_outline *outlines, size_t tiles, const sw_faces *faces, bool least, sw_pairs *pairs,
                        sw_error *err)
{
    memset(pairs, 0, sizeof *pairs);
    if (tiles > SW_PAIRS_MOST_TILES)
        return sw_fail(err, SW_BAD_INPUT, "the table has %zu tiles; the search for a better arrangement takes up to %d",
                       tiles, SW_PAIRS_MOST_TILES);
    size_t edges = 4 * tiles, count = 0, room = 0;
    pairs->edges = (int)edges;
    pairs->pairs = calloc(edges * edges / 2 + 1, sizeof *pairs->pairs);
    sw_profile *profile = malloc(sizeof *profile);
    bool held = pairs->pairs && profile;
    for (int i = 0; held && i < pairs->edges; i++)
        for (int j = i + 1; held && j < pairs->edges; j++)
            held = add_pair(pairs, outlines, faces, least, i, j, profile, &count, &room);
    free(profile);
    if (held)
        return SW_OK;
    sw_pairs_free(pairs);
    return sw_fail(err, SW_NO_MEMORY, "not enough memory to compare all edges; close other programs and try again");
}
