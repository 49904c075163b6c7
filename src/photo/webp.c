/* webp.c - WebP by libwebp. The lossy kind holds luma itself; the lossless kind holds colours. */
#include <stdlib.h>
#include <string.h>

#include <webp/decode.h>

#include "photo/decode.h"

/* Numbers in a RIFF file are little-endian. */
static uint32_t number_at(const uint8_t *at)
{
    return (uint32_t)at[0] | (uint32_t)at[1] << 8 | (uint32_t)at[2] << 16 | (uint32_t)at[3] << 24;
}

/* The chunk of that name (WebP container: chunks of name, size, data, padded to an even size), NULL when there is none.
 */
static const uint8_t *find_chunk(const sw_source *source, const char *name, size_t *size)
{
    size_t at = 12; /* after "RIFF", size, "WEBP" */
    while (source->size - at > 8) {
        const uint8_t *chunk = source->data + at;
        size_t left = source->size - at - 8;
        *size = number_at(chunk + 4);
        if (*size > left)
            return NULL;
        if (memcmp(chunk, name, 4) == 0)
            return chunk + 8;
        at += 8 + *size;
        if (*size % 2 && at < source->size)
            at++;
    }
    return NULL;
}

static sw_status read_header(const sw_source *source, WebPBitstreamFeatures *features, sw_error *err)
{
    if (source->size < 12 || memcmp(source->data, "RIFF", 4) != 0)
        return sw_photo_not_understood(source, err);
    if (WebPGetFeatures(source->data, source->size, features) != VP8_STATUS_OK)
        return sw_photo_damaged(source, "its header makes no sense", err);
    if (features->has_animation)
        return sw_fail(err, SW_BAD_INPUT, "%.255s: this is a moving picture; take a still photo", source->name);
    return sw_photo_fits(source, (uint64_t)features->width, (uint64_t)features->height, err);
}

static sw_status run(const sw_source *source, WebPDecoderConfig *config, sw_error *err)
{
    switch (WebPDecode(source->data, source->size, config)) {
    case VP8_STATUS_OK:
        return SW_OK;
    case VP8_STATUS_OUT_OF_MEMORY:
        return sw_photo_no_memory(source, err);
    default:
        return sw_photo_damaged(source, "its data makes no sense or ends too early", err);
    }
}

/* Lossy WebP is VP8 (RFC 6386): luma by Rec. 601 in the studio range, 16 for black to 235 for white. Spread to 0 to
 * 255. */
static void spread_range(uint8_t *luma, size_t count)
{
    uint8_t full[256];
    for (int i = 0; i < 256; i++) {
        int value = ((i - 16) * 255 + 219 / 2) / 219;
        full[i] = (uint8_t)(i <= 16 ? 0 : value > 255 ? 255 : value);
    }
    for (size_t i = 0; i < count; i++)
        luma[i] = full[luma[i]];
}

/* Chroma in the studio range spreads over 224 steps about 128. */
static uint8_t spread_chroma(uint8_t stored)
{
    int value = 128 + (stored - 128) * 255 / 224;
    return (uint8_t)(value < 0 ? 0 : value > 255 ? 255 : value);
}

/* Planes of Cb and of Cr, one after the other, into pairs. */
static void take_chroma(sw_photo *photo, const uint8_t *colour, size_t half_width, size_t half_count)
{
    size_t width = (size_t)photo->chroma_width_px, count = width * (size_t)photo->chroma_height_px;
    for (size_t i = 0; i < count; i++) {
        size_t at = i / width * half_width + i % width;
        photo->chroma[2 * i] = spread_chroma(colour[at]);
        photo->chroma[2 * i + 1] = spread_chroma(colour[half_count + at]);
    }
}

static sw_status decode_lossy(const sw_source *source, WebPDecoderConfig *config, sw_photo *photo, sw_error *err)
{
    size_t width = (size_t)photo->width_px, count = width * (size_t)photo->height_px;
    size_t half_width = (width + 1) / 2, half_count = half_width * (((size_t)photo->height_px + 1) / 2);
    uint8_t *colour = malloc(2 * half_count);
    if (!colour)
        return sw_photo_no_memory(source, err);
    config->output.colorspace = MODE_YUV;
    config->output.u.YUVA = (WebPYUVABuffer){.y = photo->luma8,
                                             .y_stride = (int)width,
                                             .y_size = count,
                                             .u = colour,
                                             .u_stride = (int)half_width,
                                             .u_size = half_count,
                                             .v = colour + half_count,
                                             .v_stride = (int)half_width,
                                             .v_size = half_count};
    sw_status status = run(source, config, err);
    if (!status)
        status = sw_photo_colour_room(source, photo, err);
    if (!status) {
        spread_range(photo->luma8, count);
        take_chroma(photo, colour, half_width, half_count);
    }
    free(colour);
    return status;
}

static sw_status decode_lossless(const sw_source *source, WebPDecoderConfig *config, sw_photo *photo, sw_error *err)
{
    size_t count = (size_t)photo->width_px * (size_t)photo->height_px;
    uint8_t *colours = malloc(3 * count);
    if (!colours)
        return sw_photo_no_memory(source, err);
    config->output.colorspace = MODE_RGB;
    config->output.u.RGBA = (WebPRGBABuffer){.rgba = colours, .stride = 3 * photo->width_px, .size = 3 * count};
    sw_status status = run(source, config, err);
    if (!status)
        status = sw_photo_colour_room(source, photo, err);
    for (size_t i = 0, width = (size_t)photo->width_px; !status && i < count; i++) {
        const uint8_t *c = colours + 3 * i;
        photo->luma8[i] = (uint8_t)sw_luma_of(c[0], c[1], c[2]);
        sw_photo_add_colour(photo, i % width, i / width, c[0], c[1], c[2]);
    }
    free(colours);
    return status;
}

sw_status sw_decode_webp(const sw_source *source, sw_photo *photo, sw_error *err)
{
    WebPDecoderConfig config;
    if (!WebPInitDecoderConfig(&config))
        return sw_fail(err, SW_BROKEN, "%.255s: libwebp is not the version expected", source->name);
    sw_status status = read_header(source, &config.input, err);
    if (!status)
        status = sw_photo_room(source, (uint64_t)config.input.width, (uint64_t)config.input.height, 8, photo, err);
    if (status)
        return status;
    config.output.is_external_memory = 1;
    int lossless = config.input.format == 2;
    status = lossless ? decode_lossless(source, &config, photo, err) : decode_lossy(source, &config, photo, err);
    size_t size = 0;
    const uint8_t *exif = find_chunk(source, "EXIF", &size);
    if (!status && exif)
        sw_photo_read_exif(exif, size, photo);
    return status;
}
