/* tiles.c - what several photos say of each tile's own shape. It does not change when a tile is moved, so all
 * photos count. */
#include <math.h>
#include <stdlib.h>

#include "inspect/combine/together.h"
#include "tile/parts.h"

/* A figure of a tile that has an uncertainty: how to read it from a photo's tile, and where to put what was joined. */
typedef sw_photo_figure read_figure(const sw_tile *tile, int side);
typedef void put_figure(sw_tile *tile, int side, const sw_joined *joined);

static sw_photo_figure read_angle(const sw_tile *tile, int side)
{
    const sw_corner *c = &tile->corners[side];
    return (sw_photo_figure){c->angle_deg, c->u95_deg / 2, c->u_random_deg};
}

static void put_angle(sw_tile *tile, int side, const sw_joined *j)
{
    sw_corner *c = &tile->corners[side];
    c->angle_deg = j->value;
    c->u95_deg = 2 * j->u;
    c->u_random_deg = j->u_random;
    sw_parts_rescale(j->u, j->u_random, &c->angle_parts);
}

static sw_photo_figure read_length(const sw_tile *tile, int side)
{
    const sw_edge *e = &tile->edges[side];
    return (sw_photo_figure){e->length_mm, e->length_u95_mm / 2, e->length_u_random_mm};
}

static void put_length(sw_tile *tile, int side, const sw_joined *j)
{
    sw_edge *e = &tile->edges[side];
    e->length_mm = j->value;
    e->length_u95_mm = 2 * j->u;
    e->length_u_random_mm = j->u_random;
    sw_parts_rescale(j->u, j->u_random, &e->length_parts);
}

static sw_photo_figure read_straightness(const sw_tile *tile, int side)
{
    const sw_edge *e = &tile->edges[side];
    return (sw_photo_figure){e->straightness_mm, e->straightness_u95_mm / 2, e->straightness_u_random_mm};
}

static void put_straightness(sw_tile *tile, int side, const sw_joined *j)
{
    sw_edge *e = &tile->edges[side];
    e->straightness_mm = j->value;
    e->straightness_u95_mm = 2 * j->u;
    e->straightness_u_random_mm = j->u_random;
    sw_parts_rescale(j->u, j->u_random, &e->straightness_parts);
}

static void read_all(const sw_together *t, size_t tile, int side, read_figure *read)
{
    for (size_t k = 0; k < t->count; k++)
        t->readings[k] = read(&t->photos[k].tiles[tile], side);
}

static sw_spread join_figure(const sw_together *t, read_figure *read, put_figure *put)
{
    sw_tally tally = {0};
    for (size_t i = 0; i < t->out->tile_count; i++)
        for (int s = 0; s < 4; s++) {
            read_all(t, i, s, read);
            sw_tally_add(&tally, t->readings, t->count);
        }
    sw_spread spread = sw_tally_close(&tally, 1);
    for (size_t i = 0; i < t->out->tile_count; i++)
        for (int s = 0; s < 4; s++) {
            read_all(t, i, s, read);
            sw_joined j = sw_join(t->readings, t->count, &spread);
            if (j.photos > 0)
                put(&t->out->tiles[i], s, &j);
        }
    return spread;
}

/* proud_mm of an edge at a place, linear between its good points; NaN outside them. */
static double proud_at(const sw_edge *edge, double at, size_t *hint)
{
    const sw_rim_point *p = edge->points;
    size_t i = *hint;
    while (i + 2 < edge->point_count && p[i + 1].at_mm <= at)
        i++;
    *hint = i;
    if (edge->point_count < 2 || at < p[i].at_mm || at > p[i + 1].at_mm || p[i].state != SW_STATION_OK ||
        p[i + 1].state != SW_STATION_OK)
        return NAN;
    double step = p[i + 1].at_mm - p[i].at_mm, part = step > 0 ? (at - p[i].at_mm) / step : 0;
    return (1 - part) * p[i].proud_mm + part * p[i + 1].proud_mm;
}

/* Proud and shy at the first photo's points, plain means. Edges begin at their corners, which differ by some hundredths
 * of a mm from photo to photo; that does not matter. */
static sw_status join_points(const sw_together *t, size_t tile, int side)
{
    sw_edge *out = &t->out->tiles[tile].edges[side];
    double *count = calloc(out->point_count + 1, sizeof *count);
    if (!count)
        return SW_NO_MEMORY;
    for (size_t k = 1; k < t->count; k++) {
        size_t hint = 0;
        for (size_t i = 0; i < out->point_count; i++) {
            sw_rim_point *p = &out->points[i];
            double more =
                p->state == SW_STATION_OK ? proud_at(&t->photos[k].tiles[tile].edges[side], p->at_mm, &hint) : NAN;
            if (isfinite(more) && isfinite(p->proud_mm)) {
                count[i]++;
                p->proud_mm += (more - p->proud_mm) / (count[i] + 1);
            }
        }
    }
    free(count);
    return SW_OK;
}

/* Mean over the photos that have a figure. */
static double mean_of(const double *values, size_t count)
{
    double sum = 0, n = 0;
    for (size_t k = 0; k < count; k++)
        if (isfinite(values[k])) {
            sum += values[k];
            n++;
        }
    return n > 0 ? sum / n : NAN;
}

/* Figures without an uncertainty of their own. values has room for one number a photo. */
static sw_status join_plain(const sw_together *t, size_t tile, double *values)
{
    sw_tile *out = &t->out->tiles[tile];
    sw_status status = SW_OK;
    for (size_t k = 0; k < t->count; k++)
        values[k] = t->photos[k].tiles[tile].side_mm;
    out->side_mm = mean_of(values, t->count);
    for (int s = 0; !status && s < 4; s++) {
        for (size_t k = 0; k < t->count; k++)
            values[k] = t->photos[k].tiles[tile].edges[s].bow_mm;
        out->edges[s].bow_mm = mean_of(values, t->count);
        status = join_points(t, tile, s);
    }
    return status;
}

static sw_status join_rim_chips(const sw_together *t, size_t tile)
{
    const sw_chip **lists = calloc(t->count, sizeof *lists);
    size_t *many = calloc(t->count, sizeof *many);
    sw_tile *out = &t->out->tiles[tile];
    sw_status status = lists && many ? SW_OK : SW_NO_MEMORY;
    static const sw_chip none[1];
    for (size_t k = 0; !status && k < t->count; k++) {
        lists[k] = t->photos[k].tiles[tile].chips ? t->photos[k].tiles[tile].chips : none;
        many[k] = t->photos[k].tiles[tile].chip_count;
    }
    if (!status)
        status = sw_join_chips(lists, many, t->count, &out->chips, &out->chip_count);
    free(lists);
    free(many);
    return status;
}

sw_status sw_join_tiles(sw_together *t)
{
    double *values = calloc(t->count, sizeof *values);
    sw_status status = values ? SW_OK : SW_NO_MEMORY;
    t->repeat->angle_deg = join_figure(t, read_angle, put_angle);
    t->repeat->length = join_figure(t, read_length, put_length);
    t->repeat->straightness = join_figure(t, read_straightness, put_straightness);
    for (size_t i = 0; !status && i < t->out->tile_count; i++) {
        status = join_plain(t, i, values);
        if (!status)
            status = join_rim_chips(t, i);
    }
    free(values);
    return status;
}
