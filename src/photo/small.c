#include "small.h"

#include <stdlib.h>
#include <string.h>

/* The longer side of the reduced picture, px: a 100 mm card on a 900 mm table is still 60 px wide, and a pass over it
 * costs about a sixteenth of the photo's. */
enum { SMALL_SIDE_PX = 1000 };

/* Adds one row of the photo to the sums of its blocks. */
static void add_row(const sw_photo *photo, int y, int factor, int width, uint32_t *sums)
{
    size_t first = (size_t)y * (size_t)photo->width_px;
    if (photo->bits == 8) {
        const uint8_t *row = photo->luma8 + first;
        for (int x = 0; x < width; x++)
            for (int i = 0; i < factor; i++)
                sums[x] += *row++;
        return;
    }
    const uint16_t *row = photo->luma16 + first;
    for (int x = 0; x < width; x++)
        for (int i = 0; i < factor; i++)
            sums[x] += *row++;
}

sw_status sw_small_make(const sw_photo *photo, sw_small *small, sw_error *err)
{
    memset(small, 0, sizeof *small);
    int longer = photo->width_px > photo->height_px ? photo->width_px : photo->height_px;
    int factor = (longer + SMALL_SIDE_PX / 2) / SMALL_SIDE_PX;
    factor = factor < 1 ? 1 : factor;
    int width = photo->width_px / factor, height = photo->height_px / factor;
    if (width < 1 || height < 1)
        return sw_fail(err, SW_BAD_INPUT, "the photo is only %d x %d pixels; take it larger", photo->width_px,
                       photo->height_px);
    uint16_t *values = malloc((size_t)width * (size_t)height * sizeof *values);
    uint32_t *sums = malloc((size_t)width * sizeof *sums);
    if (!values || !sums) {
        free(values);
        free(sums);
        return sw_fail(err, SW_NO_MEMORY, "not enough memory for the reduced picture");
    }
    double scale = (photo->bits == 8 ? 257.0 : 1.0) / ((double)factor * factor);
    for (int y = 0; y < height; y++) {
        memset(sums, 0, (size_t)width * sizeof *sums);
        for (int i = 0; i < factor; i++)
            add_row(photo, y * factor + i, factor, width, sums);
        for (int x = 0; x < width; x++)
            values[(size_t)y * (size_t)width + (size_t)x] = (uint16_t)(sums[x] * scale + 0.5);
    }
    free(sums);
    *small = (sw_small){factor, width, height, values};
    return SW_OK;
}

void sw_small_free(sw_small *small)
{
    if (!small)
        return;
    free(small->values);
    memset(small, 0, sizeof *small);
}
