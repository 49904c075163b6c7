/* look.c - a few hundred places worth a closer look, from a reduced picture. */
#include "scale/calibrate/look.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "vision/opencv.h"

/* The reduced picture's longer side. A board that fills a third of the frame has squares of 30 px there. The larger one
 * is for OpenCV's second try, at a board far away: 1.5 s instead of 0.3 s. */
static const int REDUCED_PX[SW_LOOKS] = {1000, 2000};
/* Second differences are taken over this many reduced pixels: more than the blur that reducing leaves. */
enum { REACH = 2 };
/* A place is the best of its neighbourhood, this far each way. */
enum { APART = 3 };
/* So many places are kept: the crossings of a large board, and as many deceptions beside it. */
enum { SPOTS_MOST = 300 };
/* (Levels of 255)^2 of second difference: what print in deep shade has, and well over noise. */
static const float STRENGTH_LEAST = 400;

typedef struct picture {
    uint8_t *grey;
    int width, height;
    int k; /* the photo's pixels to one */
} picture;

/* Mean of k x k stored samples, 8 bit; a reduced pixel X stands at (X + 1/2) k - 1/2. */
static sw_status reduce(const sw_photo *photo, int longest, picture *p, sw_error *err)
{
    int longer = photo->width_px > photo->height_px ? photo->width_px : photo->height_px;
    int k = longer > longest ? (longer + longest / 2) / longest : 1;
    *p = (picture){.width = photo->width_px / k, .height = photo->height_px / k, .k = k};
    p->grey = malloc((size_t)p->width * (size_t)p->height);
    if (!p->grey)
        return sw_fail(err, SW_NO_MEMORY, "out of memory");
    unsigned area = (unsigned)(k * k), shift = (unsigned)photo->bits - 8;
    for (int y = 0; y < p->height; y++) {
        for (int x = 0; x < p->width; x++) {
            unsigned sum = 0;
            for (int j = 0; j < k; j++)
                for (int i = 0; i < k; i++)
                    sum += sw_photo_at(photo, x * k + i, y * k + j) >> shift;
            p->grey[(size_t)y * (size_t)p->width + (size_t)x] = (uint8_t)((sum + area / 2) / area);
        }
    }
    return SW_OK;
}

static sw_point enlarge(const picture *p, double x, double y)
{
    return (sw_point){(x + 0.5) * p->k - 0.5, (y + 0.5) * p->k - 0.5};
}

/* ---- saddles ---- */

/* Minus the determinant of the second derivatives: large where light curves up one way and down the other. */
static float strength(const picture *p, int x, int y)
{
    const uint8_t *c = p->grey + (ptrdiff_t)y * p->width + x;
    const ptrdiff_t row = (ptrdiff_t)REACH * p->width;
    int xx = c[-REACH] - 2 * c[0] + c[REACH], yy = c[-row] - 2 * c[0] + c[row];
    float xy = (float)(c[-row - REACH] - c[-row + REACH] - c[row - REACH] + c[row + REACH]) / 4;
    return xy * xy - (float)xx * (float)yy;
}

static bool is_best_near(const float *map, const picture *p, int x, int y)
{
    float here = map[(size_t)y * (size_t)p->width + (size_t)x];
    for (int j = -APART; j <= APART; j++) {
        for (int i = -APART; i <= APART; i++) {
            float there = map[(size_t)(y + j) * (size_t)p->width + (size_t)(x + i)];
            if (there > here || (there == here && (j < 0 || (j == 0 && i < 0))))
                return false;
        }
    }
    return true;
}

typedef struct found {
    sw_point at;
    float strength;
} found;

static int stronger_first(const void *a, const void *b)
{
    float x = ((const found *)a)->strength, y = ((const found *)b)->strength;
    return x < y ? 1 : x > y ? -1 : 0;
}

static float *strengths(const picture *p)
{
    float *map = calloc((size_t)p->width * (size_t)p->height, sizeof *map);
    for (int y = REACH; map && y < p->height - REACH; y++)
        for (int x = REACH; x < p->width - REACH; x++)
            map[(size_t)y * (size_t)p->width + (size_t)x] = strength(p, x, y);
    return map;
}

/* All that are best of their neighbourhood, for free(); at most one to APART x APART pixels. */
static found *gather(const picture *p, const float *map, size_t *count)
{
    found *all = malloc(((size_t)p->width * (size_t)p->height / (APART * APART) + 1) * sizeof *all);
    *count = 0;
    for (int y = APART; all && y < p->height - APART; y++) {
        for (int x = APART; x < p->width - APART; x++) {
            float s = map[(size_t)y * (size_t)p->width + (size_t)x];
            if (s >= STRENGTH_LEAST && is_best_near(map, p, x, y))
                all[(*count)++] = (found){enlarge(p, x, y), s};
        }
    }
    return all;
}

static sw_status keep_strongest(found *all, size_t count, sw_spots *spots, sw_error *err)
{
    qsort(all, count, sizeof *all, stronger_first);
    spots->count = count < SPOTS_MOST ? count : SPOTS_MOST;
    spots->points = malloc((spots->count + 1) * sizeof *spots->points);
    if (!spots->points)
        return sw_fail(err, SW_NO_MEMORY, "out of memory");
    for (size_t i = 0; i < spots->count; i++)
        spots->points[i] = all[i].at;
    return SW_OK;
}

sw_status sw_look_for_saddles(const sw_photo *photo, sw_spots *spots, sw_error *err)
{
    picture p;
    size_t count = 0;
    *spots = (sw_spots){0};
    sw_status status = reduce(photo, REDUCED_PX[0], &p, err);
    if (status != SW_OK)
        return status;
    float *map = strengths(&p);
    found *all = map ? gather(&p, map, &count) : NULL;
    status = all ? keep_strongest(all, count, spots, err) : sw_fail(err, SW_NO_MEMORY, "out of memory");
    if (status != SW_OK)
        *spots = (sw_spots){0};
    spots->unit_px = p.k;
    free(all);
    free(map);
    free(p.grey);
    return status;
}

/* ---- OpenCV ---- */

/* From the middle of OpenCV's list, which is the middle of its grid, outwards: most sure to be a crossing. */
static sw_status keep_grid(const picture *p, const sw_crossing_grid *grid, sw_spots *spots, sw_error *err)
{
    int count = grid->across * grid->down;
    spots->points = malloc((size_t)count * sizeof *spots->points);
    if (!spots->points)
        return sw_fail(err, SW_NO_MEMORY, "out of memory");
    for (int n = 0; n < 2 * count; n++) {
        int i = count / 2 + (n % 2 ? -(n + 1) / 2 : n / 2);
        if (i >= 0 && i < count)
            spots->points[spots->count++] = enlarge(p, grid->corners[i].x, grid->corners[i].y);
    }
    return SW_OK;
}

sw_status sw_look_with_opencv(const sw_photo *photo, int least, int try, sw_spots *spots, sw_error *err)
{
    picture p;
    sw_crossing_grid grid;
    *spots = (sw_spots){0};
    sw_status status = reduce(photo, REDUCED_PX[try], &p, err);
    if (status != SW_OK)
        return status;
    status = sw_vision_checkerboard(p.grey, p.width, p.height, least, &grid, err);
    if (status == SW_OK)
        status = keep_grid(&p, &grid, spots, err);
    spots->unit_px = p.k;
    sw_crossing_grid_free(&grid);
    free(p.grey);
    return status;
}
