/* heif.c - HEIC by libheif: the Y plane as it is coded. */
#include <stdlib.h>
#include <string.h>

#include <libheif/heif.h>

#include "photo/decode.h"

typedef struct heic_reader {
    struct heif_context *context;
    struct heif_image_handle *handle;
    struct heif_decoding_options *options;
    struct heif_image *image;
    const sw_source *source;
    sw_photo *photo;
    sw_error *err;
} heic_reader;

static sw_status check(const heic_reader *reader, struct heif_error result)
{
    switch (result.code) {
    case heif_error_Ok:
        return SW_OK;
    case heif_error_Memory_allocation_error:
        if (result.subcode != heif_suberror_Security_limit_exceeded)
            return sw_photo_no_memory(reader->source, reader->err);
        break;
    case heif_error_Unsupported_feature:
    case heif_error_Unsupported_filetype:
        return sw_fail(reader->err, SW_BAD_INPUT, "%.200s: a rare kind of HEIC (%.160s); save it as JPEG",
                       reader->source->name, result.message);
    default:
        break;
    }
    return sw_photo_damaged(reader->source, result.message, reader->err);
}

static sw_status open_picture(heic_reader *reader)
{
    reader->context = heif_context_alloc();
    reader->options = heif_decoding_options_alloc();
    if (!reader->context || !reader->options)
        return sw_photo_no_memory(reader->source, reader->err);
    heif_context_set_maximum_image_size_limit(reader->context, SW_PHOTO_MAX_SIDE_PX);
    sw_status status = check(reader, heif_context_read_from_memory_without_copy(reader->context, reader->source->data,
                                                                                reader->source->size, NULL));
    if (!status)
        status = check(reader, heif_context_get_primary_image_handle(reader->context, &reader->handle));
    if (status)
        return status;
    int width = heif_image_handle_get_ispe_width(reader->handle);
    int height = heif_image_handle_get_ispe_height(reader->handle);
    if (width <= 0 || height <= 0)
        return sw_photo_damaged(reader->source, "it does not state its size", reader->err);
    return sw_photo_fits(reader->source, (uint64_t)width, (uint64_t)height, reader->err);
}

static void read_exif(const heic_reader *reader)
{
    heif_item_id id;
    if (heif_image_handle_get_list_of_metadata_block_IDs(reader->handle, "Exif", &id, 1) != 1)
        return;
    size_t size = heif_image_handle_get_metadata_size(reader->handle, id);
    uint8_t *block = size > 4 && size <= reader->source->size ? malloc(size) : NULL;
    if (block && heif_image_handle_get_metadata(reader->handle, id, block).code == heif_error_Ok) {
        /* ISO/IEC 23008-12, annex A: four bytes, big-endian, say how far behind them the TIFF header starts. */
        size_t skip = (size_t)block[0] << 24 | (size_t)block[1] << 16 | (size_t)block[2] << 8 | block[3];
        if (skip < size - 4)
            sw_photo_read_exif(block + 4 + skip, size - 4 - skip, reader->photo);
    }
    free(block);
}

/* The decoder turns the picture upright by the file's own transformations, whatever EXIF says. When a quarter turn is
 * among them (the sides swap) and EXIF agrees that the sensor lay on its side, we ask for the sensor's own pixels
 * instead and keep the orientation beside them, as with a JPEG. Otherwise the decoder's upright picture is all there
 * is: orientation 1. */
static void choose_frame(const heic_reader *reader)
{
    int stored_width = heif_image_handle_get_ispe_width(reader->handle);
    int stored_height = heif_image_handle_get_ispe_height(reader->handle);
    int turned = stored_width != stored_height && heif_image_handle_get_width(reader->handle) == stored_height &&
                 heif_image_handle_get_height(reader->handle) == stored_width;
    if (turned && reader->photo->orientation >= 5)
        reader->options->ignore_transformations = 1;
    else
        reader->photo->orientation = 1;
}

static sw_status decode_picture(heic_reader *reader)
{
    reader->options->strict_decoding = 1;
    sw_status status = check(reader, heif_decode_image(reader->handle, &reader->image, heif_colorspace_YCbCr,
                                                       heif_chroma_undefined, reader->options));
    if (status)
        return status;
    struct heif_error warning;
    if (heif_image_get_decoding_warnings(reader->image, 0, &warning, 1) > 0)
        return sw_photo_damaged(reader->source, warning.message, reader->err);
    return SW_OK;
}

/* One plane of the picture: where its rows are, and how deep its samples. */
typedef struct plane {
    const uint8_t *at;
    int stride, bits;
} plane;

static uint32_t sample_at(const plane *from, size_t x, size_t y)
{
    const uint8_t *row = from->at + y * (size_t)from->stride;
    if (from->bits <= 8)
        return row[x];
    uint16_t sample;
    memcpy(&sample, row + 2 * x, sizeof sample);
    return sample;
}

/* libheif 1.15 spreads the studio range itself when asked for YCbCr and then attaches no profile; where it hands the
 * coded samples over as they are, the profile says so. */
static int full_range(const heic_reader *reader)
{
    struct heif_color_profile_nclx *profile = NULL;
    if (heif_image_get_nclx_color_profile(reader->image, &profile).code != heif_error_Ok)
        return 1;
    int full = profile->full_range_flag;
    heif_nclx_color_profile_free(profile);
    return full;
}

/* Stored sample -> luma8 or luma16 sample. Studio range (ITU-T H.273: black 16, white 235 at 8 bits, shifted left for
 * more) is spread out. levels has 1 << bits entries. */
static void fill_levels(uint16_t *levels, int bits, int full, int photo_bits)
{
    double top = photo_bits == 8 ? 255 : 65535;
    double black = full ? 0 : 16 << (bits - 8), white = full ? (1 << bits) - 1 : 235 << (bits - 8);
    for (int i = 0; i < 1 << bits; i++) {
        double share = (i - black) / (white - black);
        share = share < 0 ? 0 : share > 1 ? 1 : share;
        levels[i] = (uint16_t)(share * top + 0.5);
    }
}

static void fill_luma(sw_photo *photo, const plane *from, const uint16_t *levels)
{
    size_t width = (size_t)photo->width_px, height = (size_t)photo->height_px;
    uint32_t last = (1u << from->bits) - 1; /* samples may carry stray bits above their depth */
    for (size_t y = 0; y < height; y++) {
        for (size_t x = 0; x < width; x++) {
            uint16_t luma = levels[sample_at(from, x, y) & last];
            if (photo->bits == 8)
                photo->luma8[y * width + x] = (uint8_t)luma;
            else
                photo->luma16[y * width + x] = luma;
        }
    }
}

static sw_status take_luma(heic_reader *reader)
{
    plane luma;
    luma.at = heif_image_get_plane_readonly(reader->image, heif_channel_Y, &luma.stride);
    luma.bits = heif_image_get_bits_per_pixel_range(reader->image, heif_channel_Y);
    if (!luma.at || luma.bits < 8 || luma.bits > 16)
        return sw_fail(reader->err, SW_BAD_INPUT, "%.255s: a rare kind of HEIC (%d bits); save it as JPEG",
                       reader->source->name, luma.bits);
    sw_status status = sw_photo_room(reader->source, (uint64_t)heif_image_get_width(reader->image, heif_channel_Y),
                                     (uint64_t)heif_image_get_height(reader->image, heif_channel_Y),
                                     luma.bits > 8 ? 16 : 8, reader->photo, reader->err);
    if (status)
        return status;
    uint16_t *levels = malloc(sizeof *levels << luma.bits);
    if (!levels)
        return sw_photo_no_memory(reader->source, reader->err);
    fill_levels(levels, luma.bits, full_range(reader), reader->photo->bits);
    fill_luma(reader->photo, &luma, levels);
    free(levels);
    return SW_OK;
}

/* Both planes of colour, where they have half the luma's size and its range is the whole one; else the photo counts as grey. */
static sw_status take_colours(heic_reader *reader)
{
    static const enum heif_channel channels[2] = {heif_channel_Cb, heif_channel_Cr};
    plane from[2];
    sw_photo *photo = reader->photo;
    for (int of = 0; of < 2; of++) {
        from[of].at = heif_image_get_plane_readonly(reader->image, channels[of], &from[of].stride);
        from[of].bits = heif_image_get_bits_per_pixel_range(reader->image, channels[of]);
        if (!from[of].at || from[of].bits < 8 || from[of].bits > 16 || !full_range(reader) ||
            heif_image_get_width(reader->image, channels[of]) != (photo->width_px + 1) / 2 ||
            heif_image_get_height(reader->image, channels[of]) != (photo->height_px + 1) / 2)
            return SW_OK;
    }
    sw_status status = sw_photo_colour_room(reader->source, photo, reader->err);
    size_t width = (size_t)photo->chroma_width_px, count = width * (size_t)photo->chroma_height_px;
    for (size_t i = 0; !status && i < 2 * count; i++) {
        const plane *of = &from[i % 2];
        photo->chroma[i] = (uint8_t)(sample_at(of, i / 2 % width, i / 2 / width) >> (of->bits - 8));
    }
    return status;
}

sw_status sw_decode_heif(const sw_source *source, sw_photo *photo, sw_error *err)
{
    int head = source->size > 64 ? 64 : (int)source->size; /* enough for the file's list of kinds */
    if (heif_check_filetype(source->data, head) == heif_filetype_no)
        return sw_photo_not_understood(source, err);
    heic_reader reader = {.source = source, .photo = photo, .err = err};
    sw_status status = open_picture(&reader);
    if (!status) {
        read_exif(&reader);
        choose_frame(&reader);
        status = decode_picture(&reader);
    }
    if (!status)
        status = take_luma(&reader);
    if (!status)
        status = take_colours(&reader);
    heif_image_release(reader.image);
    heif_image_handle_release(reader.handle);
    heif_decoding_options_free(reader.options);
    heif_context_free(reader.context);
    return status;
}
