/* chips.c - the chips that most of several photos show. */
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "inspect/combine/together.h"

/* The same chip in two photos: their middles lie within half of a chip's length and this, mm. */
static const double CHIP_NEAR_MM = 4;

static bool same_chip(const sw_chip *a, const sw_chip *b)
{
    return a->tile == b->tile && a->side == b->side &&
           fabs(a->at_mm - b->at_mm) < CHIP_NEAR_MM + fmax(a->length_mm, b->length_mm) / 2;
}

/* The chip of a list that lies nearest to `like`; NULL when it has none like it. */
static const sw_chip *find_chip(const sw_chip *chips, size_t count, const sw_chip *like)
{
    const sw_chip *best = NULL;
    for (size_t i = 0; i < count; i++)
        if (same_chip(&chips[i], like) &&
            (!best || fabs(chips[i].at_mm - like->at_mm) < fabs(best->at_mm - like->at_mm)))
            best = &chips[i];
    return best;
}

/* Mean of all photos' readings of a chip; how many show it. */
static size_t mean_chip(const sw_chip *const *chips, const size_t *counts, size_t photos, const sw_chip *like,
                        sw_chip *mean)
{
    size_t n = 0;
    *mean = *like;
    mean->at_mm = mean->length_mm = mean->depth_mm = 0;
    for (size_t k = 0; k < photos; k++) {
        const sw_chip *c = chips[k] ? find_chip(chips[k], counts[k], like) : NULL;
        if (!c)
            continue;
        n++;
        mean->at_mm += c->at_mm;
        mean->length_mm += c->length_mm;
        mean->depth_mm += c->depth_mm;
    }
    mean->at_mm /= (double)n;
    mean->length_mm /= (double)n;
    mean->depth_mm /= (double)n;
    return n;
}

sw_status sw_join_chips(const sw_chip *const *chips, const size_t *counts, size_t photos, sw_chip **joined,
                        size_t *joined_count)
{
    size_t all = 0, voters = 0, n = 0;
    for (size_t k = 0; k < photos; k++) {
        all += chips[k] ? counts[k] : 0;
        voters += chips[k] != NULL;
    }
    sw_chip *out = calloc(all + 1, sizeof *out);
    if (!out)
        return SW_NO_MEMORY;
    for (size_t k = 0; k < photos; k++)
        for (size_t i = 0; chips[k] && i < counts[k]; i++) {
            sw_chip mean;
            size_t seen = mean_chip(chips, counts, photos, &chips[k][i], &mean);
            if (2 * seen >= voters && !find_chip(out, n, &mean))
                out[n++] = mean;
        }
    free(*joined);
    *joined = out;
    *joined_count = n;
    return SW_OK;
}
