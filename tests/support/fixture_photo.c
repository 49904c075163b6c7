#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/fixture.h"

enum { TOP = 190, GAP = 20, FLOOR = 90, LEVELS = 256 };

/* Stored brightness at a place of the table: the bench, a tile's top, or a gap as wide as its seam's mean. */
static uint8_t shade(const sw_inspection *inspection, sw_point mm)
{
    double pitch = 301, half = 150;
    if (mm.x < -half || mm.y > half || mm.x > 2 * pitch + half || mm.y < -2 * pitch - half)
        return FLOOR;
    for (size_t i = 0; i < inspection->seam_count; i++) {
        const sw_seam *seam = &inspection->seams[i];
        double across = seam->upright ? mm.x - seam->start_mm.x : mm.y - seam->start_mm.y;
        double along = seam->upright ? seam->start_mm.y - mm.y : mm.x - seam->start_mm.x;
        if (along >= 0 && along <= seam->length_mm && fabs(across) < seam->mean_mm / 2)
            return GAP;
    }
    return TOP;
}

void fixture_photo(const sw_inspection *inspection, sw_photo *photo)
{
    const sw_scale *scale = &inspection->scale;
    memset(photo, 0, sizeof *photo);
    photo->width_px = inspection->width_px;
    photo->height_px = inspection->height_px;
    photo->bits = 8;
    photo->orientation = 1;
    photo->luma8 = malloc((size_t)photo->width_px * (size_t)photo->height_px);
    photo->linear = malloc(LEVELS * sizeof *photo->linear);
    if (!photo->luma8 || !photo->linear)
        exit(99);
    for (int i = 0; i < LEVELS; i++)
        photo->linear[i] = (float)i / (LEVELS - 1);
    memset(photo->luma8, FLOOR, (size_t)photo->width_px * (size_t)photo->height_px);
    /* From the table to the photo, in steps finer than a pixel: needs no inverse of the mapping. */
    for (double y = -780; y <= 180; y += 0.5)
        for (double x = -180; x <= 780; x += 0.5) {
            sw_point at = sw_scale_to_px(scale, (sw_point){x, y});
            long column = lround(at.x), row = lround(at.y);
            if (column >= 0 && row >= 0 && column < photo->width_px && row < photo->height_px)
                photo->luma8[(size_t)row * (size_t)photo->width_px + (size_t)column] =
                    shade(inspection, (sw_point){x, y});
        }
}
