/* room.c - the size check, the photo's memory, and the failures every format shares. */
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>

#include "photo/decode.h"

double sw_srgb_to_linear(double encoded)
{
    return encoded <= 0.04045 ? encoded / 12.92 : pow((encoded + 0.055) / 1.055, 2.4);
}

sw_status sw_photo_damaged(const sw_source *source, const char *detail, sw_error *err)
{
    return sw_fail(err, SW_BAD_INPUT,
                   "%.200s: the picture is damaged or cut short (%.160s); copy it from the phone again", source->name,
                   detail);
}

sw_status sw_photo_no_memory(const sw_source *source, sw_error *err)
{
    return sw_fail(err, SW_NO_MEMORY, "%.255s: not enough memory for this photo; close other programs", source->name);
}

sw_status sw_photo_fits(const sw_source *source, uint64_t width, uint64_t height, sw_error *err)
{
    if (width == 0 || height == 0)
        return sw_photo_damaged(source, "it claims to be without pixels", err);
    /* The sides come first, so that the product below cannot overflow. */
    if (width <= SW_PHOTO_MAX_SIDE_PX && height <= SW_PHOTO_MAX_SIDE_PX && width * height <= SW_PHOTO_MAX_PIXELS)
        return SW_OK;
    return sw_fail(err, SW_BAD_INPUT,
                   "%.200s: claims %llu x %llu pixels, over the limit of %u million pixels and %u a side; make a "
                   "smaller copy of it",
                   source->name, (unsigned long long)width, (unsigned long long)height, SW_PHOTO_MAX_PIXELS / 1000000u,
                   SW_PHOTO_MAX_SIDE_PX);
}

/* Memory for pixels, on huge pages as far as they fit in whole: getting millions of pixels by pages of 4 kB costs half as
 * much as decoding them. Where the system has no huge pages, or others, nothing changes. */
static void *room_for_pixels(size_t bytes)
{
    const size_t huge_page = (size_t)2 << 20; /* on 64-bit PCs and phones */
    void *room = NULL;
    if (!posix_memalign(&room, huge_page, bytes))
        madvise(room, bytes / huge_page * huge_page, MADV_HUGEPAGE);
    return room;
}

sw_status sw_photo_room(const sw_source *source, uint64_t width, uint64_t height, int bits, sw_photo *photo,
                        sw_error *err)
{
    sw_status status = sw_photo_fits(source, width, height, err);
    if (status)
        return status;
    size_t count = (size_t)width * (size_t)height, levels = (size_t)1 << bits;
    photo->width_px = (int)width;
    photo->height_px = (int)height;
    photo->bits = bits;
    photo->linear = malloc(levels * sizeof *photo->linear);
    if (bits == 8)
        photo->luma8 = room_for_pixels(count);
    else
        photo->luma16 = room_for_pixels(count * sizeof *photo->luma16);
    if (!photo->linear || (!photo->luma8 && !photo->luma16))
        return sw_photo_no_memory(source, err);
    for (size_t i = 0; i < levels; i++)
        photo->linear[i] = (float)sw_srgb_to_linear((double)i / (double)(levels - 1));
    return SW_OK;
}

sw_status sw_photo_colour_room(const sw_source *source, sw_photo *photo, sw_error *err)
{
    photo->chroma_width_px = photo->width_px / 2;
    photo->chroma_height_px = photo->height_px / 2;
    size_t bytes = 2 * (size_t)photo->chroma_width_px * (size_t)photo->chroma_height_px;
    photo->chroma = bytes > 0 ? room_for_pixels(bytes) : NULL;
    if (photo->chroma)
        memset(photo->chroma, 0, bytes);
    return photo->chroma || bytes == 0 ? SW_OK : sw_photo_no_memory(source, err);
}

/* Cb or Cr of a colour: weights of JFIF 1.02, scaled by 65536, their sum 0. */
static uint32_t chroma_of(int64_t red, int64_t green, int64_t blue)
{
    int64_t value = (red + green + blue + (128 << 16) + (1 << 15)) >> 16;
    return (uint32_t)(value < 0 ? 0 : value > 255 ? 255 : value);
}

/* A quarter of each of four numbers adds up to their mean, if they are rounded down after 0, 1, 2 and 3 were added: for four equal ones exactly
 * (Hermite's identity). */
void sw_photo_add_colour(sw_photo *photo, size_t x, size_t y, uint32_t red, uint32_t green, uint32_t blue)
{
    size_t column = x / 2, row = y / 2, of_four = x % 2 + 2 * (y % 2);
    if (!photo->chroma || column >= (size_t)photo->chroma_width_px || row >= (size_t)photo->chroma_height_px)
        return;
    int64_t r = red, g = green, b = blue;
    uint8_t *pair = photo->chroma + 2 * (row * (size_t)photo->chroma_width_px + column);
    pair[0] = (uint8_t)(pair[0] + (chroma_of(-11059 * r, -21709 * g, 32768 * b) + of_four) / 4);
    pair[1] = (uint8_t)(pair[1] + (chroma_of(32768 * r, -27439 * g, -5329 * b) + of_four) / 4);
}
