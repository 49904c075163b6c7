/* outline.c - corners, lengths, angles and straightness of every tile. */
#include "tile/outline.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "maths/budget.h"
#include "maths/hull.h"
#include "maths/line.h"
#include "maths/lsq.h"
#include "scale/frame.h"
#include "scale/split.h"
#include "tile/parts.h"
#include "tile/square.h"

/* A corner is where the rims cross, each extended from its last stretch of this length (interface.md: 20 mm or so). */
static const double CORNER_FROM_MM = 4, CORNER_LENGTH_MM = 30;
/* What light in the slots does to a rim over long stretches widens or narrows a minimum zone by about this, and moves one end of
 * its line against the other, px (found on generated photos whose truth is known). */
static const double STRAIGHT_FLOOR_PX = 0.11, TILT_FLOOR_PX = 0.08;
/* A rim needs this many places for a line. */
enum { LEAST_PLACES = 12 };

const sw_track *sw_side_track(const sw_tracks *t, int column, int row, sw_side side, int *rim)
{
    *rim = side == SW_NORTH || side == SW_WEST ? SW_SECOND : SW_FIRST;
    switch (side) {
    case SW_NORTH:
        return sw_level_track(t, column, row);
    case SW_SOUTH:
        return sw_level_track(t, column, row + 1);
    case SW_WEST:
        return sw_upright_track(t, column, row);
    default:
        return sw_upright_track(t, column + 1, row);
    }
}

static bool usable(const sw_track_point *p, int rim)
{
    return p->seen && isfinite(p->across[rim]) && !p->chip[rim];
}

/* Least-squares line through a rim's usable places with `at` between from and to (track's own at). */
static sw_status rim_line(const sw_track *t, int rim, double from, double to, sw_point *work, sw_line *line)
{
    size_t n = 0;
    for (int i = 0; i < t->count; i++)
        if (usable(&t->points[i], rim) && t->points[i].at_mm >= from && t->points[i].at_mm <= to)
            work[n++] = sw_track_mm(t, i, rim);
    return n < LEAST_PLACES ? SW_NOT_FOUND : sw_line_fit(work, NULL, n, line, NULL);
}

static double track_length(const sw_track *t)
{
    return t->count ? t->points[t->count - 1].at_mm : 0;
}

/* What is needed of a tile while it is measured. */
typedef struct draft {
    const sw_track *track[4];
    int rim[4];
    sw_line whole[4];
    sw_point *work;
    double px_per_mm;
} draft;

/* Ends of the edge on its track: at of the north or west corner, and of the other. */
static void edge_ends(const draft *d, const sw_tile *tile, int side, double *from, double *to)
{
    double a = sw_track_at(d->track[side], tile->corners[side].mm),
           b = sw_track_at(d->track[side], tile->corners[(side + 1) % 4].mm);
    *from = fmin(a, b);
    *to = fmax(a, b);
}

/* Corners: first from whole lines, then from the rims' last stretches. */
static sw_status find_corners(draft *d, sw_tile *tile)
{
    sw_line middle[4];
    for (int s = 0; s < 4; s++) {
        double l = track_length(d->track[s]);
        if (rim_line(d->track[s], d->rim[s], 0.06 * l, 0.94 * l, d->work, &middle[s]))
            return SW_NOT_FOUND;
    }
    for (int c = 0; c < 4; c++)
        if (sw_line_cross(&middle[(c + 3) % 4], &middle[c], &tile->corners[c].mm))
            return SW_NOT_FOUND;
    sw_point refined[4];
    for (int c = 0; c < 4; c++) {
        sw_line ends[2];
        for (int k = 0; k < 2; k++) {
            int s = k ? c : (c + 3) % 4;
            double at = sw_track_at(d->track[s], tile->corners[c].mm), l = track_length(d->track[s]);
            bool start = at < l / 2;
            double from = start ? at + CORNER_FROM_MM : at - CORNER_FROM_MM - CORNER_LENGTH_MM;
            if (rim_line(d->track[s], d->rim[s], from, from + CORNER_LENGTH_MM, d->work, &ends[k]))
                ends[k] = middle[s];
        }
        if (sw_line_cross(&ends[0], &ends[1], &refined[c]))
            refined[c] = tile->corners[c].mm;
    }
    for (int c = 0; c < 4; c++)
        tile->corners[c].mm = refined[c];
    return SW_OK;
}

static sw_status whole_lines(draft *d, const sw_tile *tile)
{
    for (int s = 0; s < 4; s++) {
        double from, to;
        edge_ends(d, tile, s, &from, &to);
        if (rim_line(d->track[s], d->rim[s], from + CORNER_FROM_MM, to - CORNER_FROM_MM, d->work, &d->whole[s]))
            return SW_NOT_FOUND;
    }
    return SW_OK;
}

/* Direction of a side as one walks clockwise round the tile. */
static sw_point clockwise(const sw_line *line, int side)
{
    sw_point u = {-line->ny, line->nx};
    double along = side == SW_NORTH ? u.x : side == SW_EAST ? -u.y : side == SW_SOUTH ? -u.x : u.y;
    return along < 0 ? (sw_point){-u.x, -u.y} : u;
}

static double angle_between(sw_point arriving, sw_point leaving)
{
    double cross = arriving.x * leaving.y - arriving.y * leaving.x,
           dot = arriving.x * leaving.x + arriving.y * leaving.y;
    return 180 - fabs(atan2(cross, dot)) * 180 / M_PI;
}

/* The inside angle at corner c of the quadrilateral of four points, degrees. */
static double quad_angle(const sw_point *p, int c)
{
    sw_point in = {p[c].x - p[(c + 3) % 4].x, p[c].y - p[(c + 3) % 4].y};
    sw_point out = {p[(c + 1) % 4].x - p[c].x, p[(c + 1) % 4].y - p[c].y};
    return angle_between(in, out);
}

/* What a rim's usable places say of their own uncertainty. */
typedef struct rim_rating {
    double count, sum, squares; /* of rim_random_mm */
    double noise_share;         /* of the variance */
    double light_mm, model_mm;  /* what all of the rim may be off by together: half the variance of a gap's */
    double freedom;
} rim_rating;

static rim_rating rate_rim(const sw_track *t, int rim)
{
    rim_rating r = {.freedom = t->rim_freedom[rim]};
    double noise = 0;
    for (int i = 0; i < t->count; i++)
        if (usable(&t->points[i], rim)) {
            double u = t->points[i].rim_random_mm[rim], own = t->points[i].rim_noise_mm[rim];
            r.count++;
            r.sum += u;
            r.squares += u * u;
            r.light_mm += t->points[i].light_mm / M_SQRT2;
            r.model_mm += t->points[i].model_mm / M_SQRT2;
            noise += own * own;
        }
    r.light_mm /= fmax(1, r.count);
    r.model_mm /= fmax(1, r.count);
    r.noise_share = r.squares > 0 ? noise / r.squares : 0;
    return r;
}

/* Standard uncertainty of a whole line's direction from the rim's own scatter, radians: independent places every
 * SW_INDEPENDENT_MM. */
static double direction_u(const sw_track *t, const rim_rating *r, double length)
{
    double places = fmax(2, r->count / t->count * length / SW_INDEPENDENT_MM);
    return r->count > 0 ? sqrt(r->squares / r->count) * sqrt(12 / places) / length : 0.01;
}

/* Variances that come through the scale, part by part, for every corner's angle and every edge's length and bow. */
typedef struct through_scale {
    double angle[4][SW_PART_COUNT], length[4][SW_PART_COUNT], bow[4][SW_PART_COUNT];
} through_scale;

/* Angles, lengths and bows under every alternative. */
static void scale_uncertainty(const sw_scale *scale, const sw_scale_split *split, const sw_tile *tile,
                              through_scale *out)
{
    sw_point px[4], middle_px[4];
    double angle[4][SW_SCALE_ALTERNATIVES], length[4][SW_SCALE_ALTERNATIVES], bow[4][SW_SCALE_ALTERNATIVES];
    memset(out, 0, sizeof *out);
    for (int c = 0; c < 4; c++) {
        sw_point a = tile->corners[c].mm, b = tile->corners[(c + 1) % 4].mm;
        px[c] = sw_scale_to_px(scale, a);
        middle_px[c] = sw_scale_to_px(scale, (sw_point){(a.x + b.x) / 2, (a.y + b.y) / 2});
    }
    for (int i = 0; i < scale->alternative_count; i++) {
        sw_scale other;
        sw_point p[4];
        sw_scale_take_alternative(scale, i, &other);
        for (int c = 0; c < 4; c++)
            p[c] = sw_scale_to_mm(&other, px[c]);
        for (int c = 0; c < 4; c++) {
            sw_point q[4];
            for (int k = 0; k < 4; k++)
                q[k] = tile->corners[k].mm;
            angle[c][i] = quad_angle(p, c) - quad_angle(q, c);
            double l = hypot(p[(c + 1) % 4].x - p[c].x, p[(c + 1) % 4].y - p[c].y);
            length[c][i] = l - hypot(q[(c + 1) % 4].x - q[c].x, q[(c + 1) % 4].y - q[c].y);
            sw_point m = sw_scale_to_mm(&other, middle_px[c]);
            bow[c][i] =
                ((m.x - p[c].x) * (p[(c + 1) % 4].y - p[c].y) - (m.y - p[c].y) * (p[(c + 1) % 4].x - p[c].x)) / l;
        }
    }
    for (int c = 0; c < 4; c++) {
        sw_scale_split_add(split, angle[c], out->angle[c]);
        sw_scale_split_add(split, length[c], out->length[c]);
        sw_scale_split_add(split, bow[c], out->bow[c]);
    }
}

static double corner_u(const rim_rating *r)
{
    return r->count > 0 ? 1.5 * r->sum / r->count : 0.2; /* extended beyond its own places: half as much again */
}

/* By place: near an end, where only one of two rims is found, neighbours can come to lie the other way round. */
static void sort_points(sw_edge *edge)
{
    for (size_t i = 1; i < edge->point_count; i++) {
        sw_rim_point point = edge->points[i];
        size_t k = i;
        for (; k > 0 && edge->points[k - 1].at_mm > point.at_mm; k--)
            edge->points[k] = edge->points[k - 1];
        edge->points[k] = point;
    }
}

static sw_status fill_points(const draft *d, int side, const sw_tile *tile, sw_edge *edge)
{
    const sw_track *t = d->track[side];
    double from, to, seen = 0, all = 0;
    edge_ends(d, tile, side, &from, &to);
    edge->points = calloc((size_t)t->count + 1, sizeof *edge->points);
    if (!edge->points)
        return SW_NO_MEMORY;
    for (int i = 0; i < t->count; i++) {
        const sw_track_point *p = &t->points[i];
        double at = p->at_mm - from;
        if (at < 0 || at > to - from)
            continue;
        all++;
        bool good = p->seen && isfinite(p->across[d->rim[side]]);
        seen += good;
        sw_rim_point *out = &edge->points[edge->point_count++];
        out->at_mm = at;
        out->state = !good                                                    ? SW_STATION_UNSEEN
                     : p->chip[d->rim[side]]                                  ? SW_STATION_CHIP
                     : at < SW_SEAM_END_MM || at > to - from - SW_SEAM_END_MM ? SW_STATION_END
                                                                              : SW_STATION_OK;
        out->mm = good ? sw_track_mm(t, i, d->rim[side]) : (sw_point){NAN, NAN};
        out->proud_mm = NAN;
    }
    sort_points(edge);
    edge->seen = all > 0 ? seen / all : 0;
    return SW_OK;
}

/* Places of an edge that say how straight it is. */
static size_t straight_places(const sw_edge *edge, sw_point *out)
{
    size_t n = 0;
    for (size_t i = 0; i < edge->point_count; i++)
        if (edge->points[i].state == SW_STATION_OK)
            out[n++] = edge->points[i].mm;
    return n;
}

/* Height of the parabola through an edge's places over its whole length, + to the left of the way from the first to the last. */
static double bow_of(const sw_point *p, size_t n, double length)
{
    double m[3] = {0}, y[3] = {0}, dx = p[n - 1].x - p[0].x, dy = p[n - 1].y - p[0].y, l = hypot(dx, dy), xx = 0,
           x3 = 0, x4 = 0;
    for (size_t i = 0; i < n; i++) {
        double x = ((p[i].x - p[0].x) * dx + (p[i].y - p[0].y) * dy) / l / length - 0.5;
        double v = ((p[i].y - p[0].y) * dx - (p[i].x - p[0].x) * dy) / l;
        m[0]++;
        m[1] += x;
        xx += x * x;
        x3 += x * x * x;
        x4 += x * x * x * x;
        y[0] += v;
        y[1] += v * x;
        y[2] += v * x * x;
    }
    double a[9] = {m[0], m[1], xx, m[1], xx, x3, xx, x3, x4};
    return sw_cholesky_solve(a, y, 3) ? NAN : -y[2] / 4;
}

/* Relative standard uncertainty of a tile's lengths from taking it to its own level: the camera's height is as
 * uncertain as its focal length. */
static double lift_u(const draft *d, const sw_scale *scale)
{
    double camera[3], rise = d->track[SW_NORTH]->rise_mm[d->rim[SW_NORTH]];
    return rise == 0 || sw_camera_place(scale, camera) ? 0 : fabs(rise) / camera[2] * scale->focal_u_rel;
}

/* Length from corner to corner, and what its uncertainty is made of. */
static void measure_length(const draft *d, int side, const sw_scale *scale, const sw_tile *tile, const double *through,
                           sw_edge *edge)
{
    sw_point a = tile->corners[side].mm, b = tile->corners[(side + 1) % 4].mm;
    bool level = side == SW_NORTH || side == SW_SOUTH;
    int across = level ? SW_EAST : SW_NORTH, opposite = level ? SW_WEST : SW_SOUTH;
    rim_rating r = rate_rim(d->track[across], d->rim[across]), far = rate_rim(d->track[opposite], d->rim[opposite]);
    double corner = corner_u(&r), thickness = scale->thickness_u_rel, size = scale->reference_u_rel;
    sw_parts *parts = &edge->length_parts;
    edge->length_mm = hypot(b.x - a.x, b.y - a.y);
    edge->length_u_random_mm = M_SQRT2 * corner;
    sw_parts_from(through, parts);
    sw_parts_random(2 * corner * corner, 2 * corner * corner * r.noise_share, parts);
    parts->u[SW_PART_THICKNESS] = thickness * edge->length_mm;
    parts->u[SW_PART_SIZE] = sqrt(fmax(0, size * size - thickness * thickness)) * edge->length_mm;
    parts->u[SW_PART_LIGHT] = hypot(r.light_mm, far.light_mm);
    parts->u[SW_PART_MODEL] = hypot(r.model_mm, far.model_mm);
    parts->u[SW_PART_HEIGHT] = lift_u(d, scale) * edge->length_mm;
    parts->degrees_of_freedom = r.freedom;
    edge->length_u95_mm = 2 * sw_parts_u(parts);
}

static void measure_edge(const draft *d, int side, const through_scale *through, sw_edge *edge)
{
    size_t n = straight_places(edge, d->work);
    rim_rating r = rate_rim(d->track[side], d->rim[side]);
    double random = r.count > 0 ? r.sum / r.count : 0.1;
    if (n < LEAST_PLACES) {
        edge->straightness_mm = edge->straightness_u95_mm = edge->bow_mm = NAN;
        return;
    }
    sw_straightness s = sw_straightness_of(d->work, n, random, SW_INDEPENDENT_MM);
    edge->straightness_mm = s.width_mm;
    edge->straightness_u_random_mm = s.u_mm;
    sw_parts *parts = &edge->straightness_parts;
    sw_parts_from(through->bow[side], parts);
    sw_parts_random(s.u_mm * s.u_mm, s.u_mm * s.u_mm * r.noise_share, parts);
    parts->u[SW_PART_MODEL] = STRAIGHT_FLOOR_PX / d->px_per_mm;
    edge->straightness_u95_mm = 2 * sw_parts_u(parts);
    edge->bow_mm = bow_of(d->work, n, edge->length_mm);
    if (side == SW_SOUTH || side == SW_WEST)
        edge->bow_mm = -edge->bow_mm;
}

/* Angle at a corner between the lines of the two whole edges, and what its uncertainty is made of. */
static void measure_angle(const draft *d, int c, const sw_tile *tile, const through_scale *through, sw_corner *corner)
{
    int sides[2] = {(c + 3) % 4, c};
    sw_component random[2];
    sw_budget both;
    double variance = 0, noise = 0, tilt = 0;
    corner->angle_deg = angle_between(clockwise(&d->whole[sides[0]], sides[0]), clockwise(&d->whole[c], c));
    for (int k = 0; k < 2; k++) {
        int s = sides[k];
        rim_rating r = rate_rim(d->track[s], d->rim[s]);
        double u = direction_u(d->track[s], &r, tile->edges[s].length_mm) * 180 / M_PI;
        random[k] = (sw_component){sw_part_name(SW_PART_TEXTURE), u, r.freedom, 1};
        variance += u * u;
        noise += u * u * r.noise_share;
        tilt = hypot(tilt, TILT_FLOOR_PX / d->px_per_mm / tile->edges[s].length_mm * 180 / M_PI);
    }
    corner->u_random_deg = sqrt(variance);
    sw_parts_from(through->angle[c], &corner->angle_parts);
    sw_parts_random(variance, noise, &corner->angle_parts);
    corner->angle_parts.u[SW_PART_MODEL] = tilt;
    if (!sw_budget_combine(random, 2, &both))
        corner->angle_parts.degrees_of_freedom = both.degrees_of_freedom;
    corner->u95_deg = 2 * sw_parts_u(&corner->angle_parts);
}

/* One tile; SW_NOT_FOUND where its edges were not read well enough. */
static sw_status make_tile(const sw_tracks *tracks, const sw_scale *scale, const sw_scale_split *split, sw_tile *tile,
                           sw_point *work)
{
    draft d = {.work = work, .px_per_mm = scale->px_per_mm};
    through_scale through;
    snprintf(tile->name, sizeof tile->name, "%c%u", (char)('A' + tile->column), (unsigned)(tile->row + 1) % 1000u);
    for (int s = 0; s < 4; s++)
        d.track[s] = sw_side_track(tracks, tile->column, tile->row, (sw_side)s, &d.rim[s]);
    if (find_corners(&d, tile) || whole_lines(&d, tile))
        return SW_NOT_FOUND;
    scale_uncertainty(scale, split, tile, &through);
    for (int s = 0; s < 4; s++) {
        if (fill_points(&d, s, tile, &tile->edges[s]))
            return SW_NO_MEMORY;
        measure_length(&d, s, scale, tile, through.length[s], &tile->edges[s]);
        measure_edge(&d, s, &through, &tile->edges[s]);
    }
    for (int c = 0; c < 4; c++)
        measure_angle(&d, c, tile, &through, &tile->corners[c]);
    sw_square_fit(tile);
    return SW_OK;
}

/* NaN, never a guess. */
static void blank_tile(sw_tile *tile)
{
    for (int c = 0; c < 4; c++)
        tile->corners[c] = (sw_corner){.mm = {NAN, NAN}, .angle_deg = NAN, .u95_deg = NAN, .u_random_deg = NAN};
    for (int s = 0; s < 4; s++) {
        sw_edge *e = &tile->edges[s];
        e->length_mm = e->length_u95_mm = e->straightness_mm = e->straightness_u95_mm = e->bow_mm = NAN;
    }
    tile->centre_mm = (sw_point){NAN, NAN};
    tile->turn_rad = tile->side_mm = NAN;
}

/* Chips on sides at the table's own rim go with the tile. */
static sw_status rim_chips(const sw_tracks *tracks, sw_inspection *ins, int index)
{
    sw_tile *tile = &ins->tiles[index];
    for (int s = 0; s < 4; s++) {
        int rim;
        const sw_track *t = sw_side_track(tracks, tile->column, tile->row, (sw_side)s, &rim);
        for (int k = 0; !t->has[!rim] && k < t->chip_count; k++) {
            sw_chip *chips = realloc(tile->chips, (tile->chip_count + 1) * sizeof *chips);
            if (!chips)
                return SW_NO_MEMORY;
            tile->chips = chips;
            chips[tile->chip_count++] =
                (sw_chip){index, (sw_side)s, t->chips[k].at_mm, t->chips[k].length_mm, t->chips[k].depth_mm};
        }
    }
    return SW_OK;
}

sw_status sw_tiles_make(const sw_tracks *tracks, sw_inspection *ins, sw_error *err)
{
    int longest = 1;
    sw_scale_split split;
    sw_scale_split_make(&ins->scale, &split);
    for (int k = 0; k < tracks->count; k++)
        longest = tracks->upright[k].count > longest ? tracks->upright[k].count : longest;
    ins->tile_count = (size_t)tracks->columns * (size_t)tracks->rows;
    ins->tiles = calloc(ins->tile_count, sizeof *ins->tiles);
    sw_point *work = malloc(((size_t)longest + 1) * sizeof *work);
    sw_status status = ins->tiles && work ? SW_OK : SW_NO_MEMORY;
    for (size_t i = 0; !status && i < ins->tile_count; i++) {
        sw_tile *tile = &ins->tiles[i];
        tile->column = (int)i % tracks->columns;
        tile->row = (int)i / tracks->columns;
        status = make_tile(tracks, &ins->scale, &split, tile, work);
        if (status == SW_NOT_FOUND)
            blank_tile(tile);
        if (status != SW_NO_MEMORY)
            status = rim_chips(tracks, ins, (int)i);
    }
    free(work);
    return status ? sw_fail(err, status, "%s: not enough memory for the tiles", ins->file) : SW_OK;
}
