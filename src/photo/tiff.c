/* tiff.c - TIFF by libtiff: grey, palette or colour, 8 or 16 bit, in strips or tiles; the first picture of the file. */
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <tiffio.h>

#include "photo/decode.h"

/* Largest single piece of memory libtiff may take, bytes. It holds at most a strip or tile as stored, and lists of
 * them; photo programs write pieces far below this, and the picture itself is ours. */
#define MAX_PIECE_BYTES ((tmsize_t)256 << 20)

/* Most samples a pixel: red, green, blue, alpha and a few extra masks. */
#define MAX_SAMPLES 8

typedef struct tiff_reader {
    TIFF *tiff;
    const sw_source *source;
    sw_photo *photo;
    sw_error *err;
    size_t at;      /* where libtiff is in the source */
    char text[160]; /* libtiff's first complaint */
    uint16_t bits, samples, colours, planes, compression;
    uint8_t palette_luma[256];
    void *piece; /* a row or a tile */
} tiff_reader;

static tmsize_t take_bytes(thandle_t handle, void *out, tmsize_t count)
{
    tiff_reader *reader = handle;
    size_t left = reader->at < reader->source->size ? reader->source->size - reader->at : 0;
    size_t taken = count < 0 ? 0 : (size_t)count < left ? (size_t)count : left;
    memcpy(out, reader->source->data + (left ? reader->at : 0), taken);
    reader->at += taken;
    return (tmsize_t)taken;
}

static tmsize_t refuse_bytes(thandle_t handle, void *in, tmsize_t count)
{
    (void)handle, (void)in, (void)count;
    return -1;
}

static toff_t seek(thandle_t handle, toff_t offset, int whence)
{
    tiff_reader *reader = handle;
    toff_t base = whence == SEEK_CUR ? reader->at : whence == SEEK_END ? reader->source->size : 0;
    reader->at = (size_t)(base + offset);
    return reader->at;
}

static int close_nothing(thandle_t handle)
{
    (void)handle;
    return 0;
}

static toff_t size_of(thandle_t handle)
{
    return ((tiff_reader *)handle)->source->size;
}

/* libtiff only reads through the mapping; its type just cannot say so. */
static int map_source(thandle_t handle, void **base, toff_t *size)
{
    const sw_source *source = ((tiff_reader *)handle)->source;
    memcpy(base, &source->data, sizeof *base);
    *size = source->size;
    return 1;
}

static void unmap_nothing(thandle_t handle, void *base, toff_t size)
{
    (void)handle, (void)base, (void)size;
}

static void keep_text(tiff_reader *reader, const char *format, va_list arguments)
{
    if (!reader->text[0])
        vsnprintf(reader->text, sizeof reader->text, format, arguments);
}

static int heed_error(TIFF *tiff, void *user, const char *module, const char *format, va_list arguments)
{
    (void)tiff, (void)module;
    keep_text(user, format, arguments);
    return 1; /* handled: nothing is printed */
}

/* Most warnings are about unknown labels. Those of the JPEG inside a TIFF mean half a picture. */
static int heed_warning(TIFF *tiff, void *user, const char *module, const char *format, va_list arguments)
{
    (void)tiff;
    if (module && strncmp(module, "JPEG", 4) == 0)
        keep_text(user, format, arguments);
    return 1;
}

static sw_status damaged(const tiff_reader *reader)
{
    return sw_photo_damaged(reader->source, reader->text[0] ? reader->text : "it makes no sense", reader->err);
}

static sw_status open_tiff(tiff_reader *reader)
{
    TIFFOpenOptions *options = TIFFOpenOptionsAlloc();
    if (!options)
        return sw_photo_no_memory(reader->source, reader->err);
    TIFFOpenOptionsSetMaxSingleMemAlloc(options, MAX_PIECE_BYTES);
    TIFFOpenOptionsSetErrorHandlerExtR(options, heed_error, reader);
    TIFFOpenOptionsSetWarningHandlerExtR(options, heed_warning, reader);
    reader->tiff = TIFFClientOpenExt(reader->source->name, "r", reader, take_bytes, refuse_bytes, seek, close_nothing,
                                     size_of, map_source, unmap_nothing, options);
    TIFFOpenOptionsFree(options);
    return reader->tiff ? SW_OK : damaged(reader);
}

static sw_status refuse(const tiff_reader *reader, const char *what)
{
    return sw_fail(reader->err, SW_BAD_INPUT, "%.200s: a rare kind of TIFF (%s); save it as PNG or ordinary TIFF",
                   reader->source->name, what);
}

/* Whether samples are red, green and blue. */
static bool has_colours(const tiff_reader *reader)
{
    return reader->colours != PHOTOMETRIC_MINISBLACK && reader->colours != PHOTOMETRIC_MINISWHITE &&
           reader->colours != PHOTOMETRIC_PALETTE;
}

static bool colours_understood(const tiff_reader *reader)
{
    switch (reader->colours) {
    case PHOTOMETRIC_MINISBLACK:
    case PHOTOMETRIC_MINISWHITE:
        return true;
    case PHOTOMETRIC_PALETTE:
        return reader->bits == 8;
    case PHOTOMETRIC_RGB:
        return reader->samples >= 3;
    case PHOTOMETRIC_YCBCR: /* libjpeg turns it into RGB on request */
        return reader->samples == 3 && reader->compression == COMPRESSION_JPEG;
    default:
        return false;
    }
}

/* What kind of TIFF it is, from the header alone. */
static sw_status read_header(tiff_reader *reader)
{
    TIFF *tiff = reader->tiff;
    uint32_t width = 0, height = 0;
    uint16_t format = SAMPLEFORMAT_UINT;
    TIFFGetField(tiff, TIFFTAG_IMAGEWIDTH, &width);
    TIFFGetField(tiff, TIFFTAG_IMAGELENGTH, &height);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_BITSPERSAMPLE, &reader->bits);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_SAMPLESPERPIXEL, &reader->samples);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_PLANARCONFIG, &reader->planes);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_COMPRESSION, &reader->compression);
    TIFFGetFieldDefaulted(tiff, TIFFTAG_SAMPLEFORMAT, &format);
    sw_status status = sw_photo_fits(reader->source, width, height, reader->err);
    if (status)
        return status;
    if (!TIFFGetField(tiff, TIFFTAG_PHOTOMETRIC, &reader->colours) || !colours_understood(reader))
        return refuse(reader, "its colours");
    if (reader->bits != 8 && reader->bits != 16)
        return refuse(reader, "neither 8 nor 16 bits a sample");
    if (format != SAMPLEFORMAT_UINT && format != SAMPLEFORMAT_VOID)
        return refuse(reader, "its samples are not whole numbers");
    if (reader->samples > MAX_SAMPLES || (reader->samples > 1 && reader->planes != PLANARCONFIG_CONTIG))
        return refuse(reader, "its colours stand in separate planes");
    if (!TIFFIsCODECConfigured(reader->compression))
        return refuse(reader, "its compression");
    if (reader->colours == PHOTOMETRIC_YCBCR)
        TIFFSetField(tiff, TIFFTAG_JPEGCOLORMODE, JPEGCOLORMODE_RGB);
    status = sw_photo_room(reader->source, width, height, reader->bits, reader->photo, reader->err);
    return !status && has_colours(reader) ? sw_photo_colour_room(reader->source, reader->photo, reader->err) : status;
}

/* Palette entries have 16 bits. */
static sw_status read_palette(tiff_reader *reader)
{
    uint16_t *red, *green, *blue;
    if (reader->colours != PHOTOMETRIC_PALETTE)
        return SW_OK;
    if (!TIFFGetField(reader->tiff, TIFFTAG_COLORMAP, &red, &green, &blue))
        return damaged(reader);
    for (int i = 0; i < 256; i++)
        reader->palette_luma[i] = (uint8_t)((sw_luma_of(red[i], green[i], blue[i]) + 128) / 257);
    return SW_OK;
}

static uint32_t luma8_of(const tiff_reader *reader, const uint8_t *pixel)
{
    switch (reader->colours) {
    case PHOTOMETRIC_MINISBLACK:
        return pixel[0];
    case PHOTOMETRIC_MINISWHITE:
        return 255u - pixel[0];
    case PHOTOMETRIC_PALETTE:
        return reader->palette_luma[pixel[0]];
    default:
        return sw_luma_of(pixel[0], pixel[1], pixel[2]);
    }
}

static uint32_t luma16_of(const tiff_reader *reader, const uint16_t *pixel)
{
    switch (reader->colours) {
    case PHOTOMETRIC_MINISBLACK:
        return pixel[0];
    case PHOTOMETRIC_MINISWHITE:
        return 65535u - pixel[0];
    default:
        return sw_luma_of(pixel[0], pixel[1], pixel[2]);
    }
}

static void add_colours(const tiff_reader *reader, size_t from, size_t x, size_t y)
{
    uint32_t c[3];
    for (size_t k = 0; k < 3; k++)
        c[k] = reader->bits == 8 ? ((const uint8_t *)reader->piece)[from + k]
                                 : ((const uint16_t *)reader->piece)[from + k] >> 8;
    sw_photo_add_colour(reader->photo, x, y, c[0], c[1], c[2]);
}

/* Turns count pixels, the row'th of a piece piece_width wide, into luma at (x, y). */
static void take_row(const tiff_reader *reader, size_t row, size_t piece_width, size_t x, size_t y, size_t count)
{
    size_t from = row * piece_width * reader->samples, to = y * (size_t)reader->photo->width_px + x;
    for (size_t i = 0; i < count; i++, from += reader->samples) {
        if (reader->bits == 8)
            reader->photo->luma8[to + i] = (uint8_t)luma8_of(reader, (const uint8_t *)reader->piece + from);
        else
            reader->photo->luma16[to + i] = (uint16_t)luma16_of(reader, (const uint16_t *)reader->piece + from);
        if (reader->photo->chroma)
            add_colours(reader, from, x + i, y);
    }
}

/* Takes memory for a row or tile of width x height pixels; libtiff must agree on its size. */
static sw_status take_piece(tiff_reader *reader, uint64_t width, uint64_t height, uint64_t libtiff_bytes)
{
    uint64_t bytes = width * height * reader->samples * (reader->bits / 8u);
    if (bytes != libtiff_bytes)
        return damaged(reader);
    if (bytes > (uint64_t)MAX_PIECE_BYTES)
        return refuse(reader, "very large tiles");
    reader->piece = malloc((size_t)bytes);
    return reader->piece ? SW_OK : sw_photo_no_memory(reader->source, reader->err);
}

static sw_status read_strips(tiff_reader *reader)
{
    size_t width = (size_t)reader->photo->width_px;
    sw_status status = take_piece(reader, width, 1, TIFFScanlineSize64(reader->tiff));
    for (int y = 0; !status && y < reader->photo->height_px; y++) {
        if (TIFFReadScanline(reader->tiff, reader->piece, (uint32_t)y, 0) < 0)
            status = damaged(reader);
        else
            take_row(reader, 0, width, 0, (size_t)y, width);
    }
    return status;
}

static sw_status read_tile(tiff_reader *reader, size_t x, size_t y, size_t tile_width, size_t tile_height)
{
    size_t width = (size_t)reader->photo->width_px - x, height = (size_t)reader->photo->height_px - y;
    if (TIFFReadTile(reader->tiff, reader->piece, (uint32_t)x, (uint32_t)y, 0, 0) < 0)
        return damaged(reader);
    for (size_t row = 0; row < tile_height && row < height; row++)
        take_row(reader, row, tile_width, x, y + row, tile_width < width ? tile_width : width);
    return SW_OK;
}

static sw_status read_tiles(tiff_reader *reader)
{
    uint32_t width = 0, height = 0;
    TIFFGetField(reader->tiff, TIFFTAG_TILEWIDTH, &width);
    TIFFGetField(reader->tiff, TIFFTAG_TILELENGTH, &height);
    if (!width || !height || width > SW_PHOTO_MAX_SIDE_PX || height > SW_PHOTO_MAX_SIDE_PX)
        return damaged(reader);
    sw_status status = take_piece(reader, width, height, TIFFTileSize64(reader->tiff));
    for (size_t y = 0; !status && y < (size_t)reader->photo->height_px; y += height)
        for (size_t x = 0; !status && x < (size_t)reader->photo->width_px; x += width)
            status = read_tile(reader, x, y, width, height);
    return status;
}

static void read_facts(tiff_reader *reader)
{
    TIFF *tiff = reader->tiff;
    uint16_t orientation = 0, focal_35mm = 0;
    char *maker = NULL, *model = NULL, *taken = NULL;
    float focal_mm = 0;
    toff_t exif = 0;
    if (TIFFGetField(tiff, TIFFTAG_ORIENTATION, &orientation))
        sw_photo_set_orientation(reader->photo, orientation);
    TIFFGetField(tiff, TIFFTAG_MAKE, &maker);
    TIFFGetField(tiff, TIFFTAG_MODEL, &model);
    sw_photo_set_camera(reader->photo, maker ? maker : "", model ? model : "");
    if (!TIFFGetField(tiff, TIFFTAG_EXIFIFD, &exif) || !TIFFReadEXIFDirectory(tiff, exif))
        return;
    if (TIFFGetField(tiff, EXIFTAG_DATETIMEORIGINAL, &taken) && taken)
        sw_photo_set_taken(reader->photo, taken, strlen(taken));
    TIFFGetField(tiff, EXIFTAG_FOCALLENGTH, &focal_mm);
    TIFFGetField(tiff, EXIFTAG_FOCALLENGTHIN35MMFILM, &focal_35mm);
    sw_photo_set_focal(reader->photo, focal_mm, focal_35mm);
}

sw_status sw_decode_tiff(const sw_source *source, sw_photo *photo, sw_error *err)
{
    tiff_reader reader = {.source = source, .photo = photo, .err = err};
    sw_status status = open_tiff(&reader);
    if (!status)
        status = read_header(&reader);
    if (!status)
        status = read_palette(&reader);
    if (!status)
        status = TIFFIsTiled(reader.tiff) ? read_tiles(&reader) : read_strips(&reader);
    if (!status && reader.text[0])
        status = damaged(&reader);
    if (!status)
        read_facts(&reader);
    if (reader.tiff)
        TIFFClose(reader.tiff);
    free(reader.piece);
    return status;
}
