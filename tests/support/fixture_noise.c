#include "support/fixture_noise.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/maths_check.h"

/* Means, extremes and taper of its stations, by the plain formulas. */
static void sum_up(sw_seam *seam)
{
    double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
    seam->max_mm = NAN;
    for (size_t i = 0; i < seam->station_count; i++) {
        const sw_station *s = &seam->stations[i];
        if (s->state != SW_STATION_OK)
            continue;
        n++;
        sx += s->at_mm;
        sy += s->gap_mm;
        sxx += s->at_mm * s->at_mm;
        sxy += s->at_mm * s->gap_mm;
        if (!(seam->max_mm >= s->gap_mm)) {
            seam->max_mm = s->gap_mm;
            seam->max_at_mm = s->at_mm;
        }
    }
    seam->mean_mm = n > 0 ? sy / n : NAN;
    seam->taper_mm = n > 0 ? (n * sxy - sx * sy) / (n * sxx - sx * sx) * seam->length_mm : NAN;
}

void fixture_widen(sw_seam *seam, double by_mm)
{
    for (size_t i = 0; i < seam->station_count; i++)
        seam->stations[i].gap_mm += by_mm;
    sum_up(seam);
}

static void blur_seam(sw_seam *seam, const fixture_noise *noise, uint32_t *seed)
{
    double offset = noise->drawn_mm * normal(seed), slope = noise->drawn_mm * normal(seed),
           u = hypot(noise->random_mm, noise->common_mm);
    for (size_t i = 0; i < seam->station_count; i++) {
        sw_station *s = &seam->stations[i];
        if (s->state == SW_STATION_UNSEEN)
            continue;
        s->gap_mm += 1 + offset + slope * (s->at_mm / seam->length_mm - 0.5); /* 1 mm wider: none is near closed */
        s->u95_mm = 2 * u;
        s->u_random_mm = noise->random_mm;
    }
    sum_up(seam);
    seam->mean_u95_mm = seam->taper_u95_mm = seam->max_u95_mm = 2 * u;
    seam->mean_u_random_mm = seam->taper_u_random_mm = noise->random_mm;
}

static void blur_tile(sw_tile *tile, const fixture_noise *noise, uint32_t *seed)
{
    double u = hypot(noise->random_mm, noise->common_mm);
    for (int s = 0; s < 4; s++) {
        sw_edge *e = &tile->edges[s];
        sw_corner *c = &tile->corners[s];
        e->length_mm += noise->drawn_mm * normal(seed);
        e->straightness_mm += 1 + noise->drawn_mm * normal(seed);
        c->angle_deg += noise->drawn_mm * normal(seed) / 100;
        e->length_u95_mm = e->straightness_u95_mm = 2 * u;
        e->length_u_random_mm = e->straightness_u_random_mm = noise->random_mm;
        c->u95_deg = 2 * u / 100;
        c->u_random_deg = noise->random_mm / 100;
    }
}

void fixture_shot(int shot, const char *file, const fixture_noise *noise, sw_inspection *inspection)
{
    uint32_t seed = 1000003u * (uint32_t)(shot + 1);
    fixture_inspection(inspection);
    snprintf(inspection->file, sizeof inspection->file, "%s", file);
    for (size_t i = 0; i < inspection->seam_count; i++)
        blur_seam(&inspection->seams[i], noise, &seed);
    for (size_t i = 0; i < inspection->tile_count; i++)
        blur_tile(&inspection->tiles[i], noise, &seed);
}

sw_seam *fixture_seam(const sw_inspection *inspection, const char *name)
{
    for (size_t i = 0; i < inspection->seam_count; i++)
        if (strcmp(inspection->seams[i].name, name) == 0)
            return &inspection->seams[i];
    fprintf(stderr, "fixture: no seam %s\n", name);
    exit(99);
}
