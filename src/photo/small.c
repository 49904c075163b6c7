#include "photo/small.h"

#include <stdlib.h>
#include <string.h>

/* The longer side of the reduced picture, px: a 100 mm card on a 900 mm table is still 60 px wide, and a pass over it
 * costs about a sixteenth of the photo's. */
enum { SMALL_SIDE_PX = 1000 };

/* Pixels added up at a time: a fixed number, so that compilers make vectors of them. */
enum { AT_ONCE = 16 };

/* Adds rows of 8-bit pixels up, column by column. 255 times as many rows as a block has (under 40) fit 16 bits. */
static void add_up(const uint8_t *restrict rows, size_t stride, int factor, size_t count, uint16_t *restrict columns)
{
    memset(columns, 0, count * sizeof *columns);
    for (int i = 0; i < factor; i++, rows += stride) {
        size_t x = 0;
        for (; x + AT_ONCE <= count; x += AT_ONCE)
            for (int k = 0; k < AT_ONCE; k++)
                columns[x + (size_t)k] = (uint16_t)(columns[x + (size_t)k] + rows[x + (size_t)k]);
        for (; x < count; x++)
            columns[x] = (uint16_t)(columns[x] + rows[x]);
    }
}

/* Adds numbers to the sums of the blocks they belong to. */
static void add_to_blocks(const uint16_t *from, int factor, int width, uint32_t *sums)
{
    for (int x = 0; x < width; x++)
        for (int i = 0; i < factor; i++)
            sums[x] += *from++;
}

/* Sums of one row of blocks. columns: room for a row of the photo. */
static void sum_blocks(const sw_photo *photo, int y, int factor, int width, uint16_t *columns, uint32_t *sums)
{
    size_t stride = (size_t)photo->width_px, first = (size_t)y * (size_t)factor * stride;
    memset(sums, 0, (size_t)width * sizeof *sums);
    if (photo->bits == 8) {
        add_up(photo->luma8 + first, stride, factor, (size_t)width * (size_t)factor, columns);
        add_to_blocks(columns, factor, width, sums);
        return;
    }
    for (int i = 0; i < factor; i++)
        add_to_blocks(photo->luma16 + first + (size_t)i * stride, factor, width, sums);
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
    uint16_t *columns = malloc((size_t)photo->width_px * sizeof *columns);
    if (!values || !sums || !columns) {
        free(values);
        free(sums);
        free(columns);
        return sw_fail(err, SW_NO_MEMORY, "not enough memory for the reduced picture");
    }
    double scale = (photo->bits == 8 ? 257.0 : 1.0) / ((double)factor * factor);
    for (int y = 0; y < height; y++) {
        sum_blocks(photo, y, factor, width, columns, sums);
        for (int x = 0; x < width; x++)
            values[(size_t)y * (size_t)width + (size_t)x] = (uint16_t)(sums[x] * scale + 0.5);
    }
    free(sums);
    free(columns);
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
