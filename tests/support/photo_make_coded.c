/* photo_make_coded.c - the encoders of photo_make.h, one library a format. */
#include "support/photo_make.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include <jpeglib.h>
#include <libheif/heif.h>
#include <png.h>
#include <tiffio.h>
#include <webp/encode.h>
#include <webp/mux.h>

static void append(made *to, const void *data, size_t size)
{
    uint8_t *more = realloc(to->data, to->size + size + 1);
    assert_non_null(more);
    memcpy(more + to->size, data, size);
    to->data = more;
    to->size += size;
}

static uint8_t to8(uint16_t sample)
{
    return (uint8_t)((sample * 255u + 32767u) / 65535u);
}

/* The scene as 8-bit samples: one channel is luma, three are colours, four are inks (255 - colour, black 0). */
static uint8_t *samples8(const scene *seen, int channels)
{
    size_t count = (size_t)seen->width * (size_t)seen->height;
    uint8_t *out = calloc(count, (size_t)channels);
    assert_non_null(out);
    for (size_t i = 0; i < count; i++)
        for (int c = 0; c < channels; c++) {
            double luma = scene_luma(seen, (int)(i % (size_t)seen->width), (int)(i / (size_t)seen->width));
            if (channels == 1)
                out[i] = (uint8_t)(luma * 255 + 0.5);
            else if (c < 3)
                out[i * (size_t)channels + (size_t)c] = to8(seen->rgb[3 * i + (size_t)c]);
            else
                out[i * (size_t)channels + (size_t)c] = 255;
        }
    return out;
}

static void set_jpeg_kind(struct jpeg_compress_struct *jpeg, jpeg_kind kind)
{
    static const J_COLOR_SPACE in[] = {JCS_GRAYSCALE, JCS_RGB, JCS_RGB, JCS_RGB, JCS_CMYK};
    static const J_COLOR_SPACE coded[] = {JCS_GRAYSCALE, JCS_YCbCr, JCS_YCbCr, JCS_RGB, JCS_CMYK};
    jpeg->in_color_space = in[kind];
    jpeg->input_components = kind == JPEG_GREY ? 1 : kind == JPEG_CMYK ? 4 : 3;
    jpeg_set_defaults(jpeg);
    jpeg_set_colorspace(jpeg, coded[kind]);
    if (kind == JPEG_YCC)
        jpeg->comp_info[0].h_samp_factor = jpeg->comp_info[0].v_samp_factor = 1;
}

made make_jpeg(const scene *seen, jpeg_kind kind, int quality, int progressive, const made *exif)
{
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr errors;
    jpeg_scan_info one_each[DCTSIZE2];
    unsigned char *data = NULL;
    unsigned long size = 0;
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_compress(&jpeg);
    jpeg_mem_dest(&jpeg, &data, &size);
    jpeg.image_width = (JDIMENSION)seen->width;
    jpeg.image_height = (JDIMENSION)seen->height;
    set_jpeg_kind(&jpeg, kind);
    jpeg_set_quality(&jpeg, quality, TRUE);
    if (progressive == 1)
        jpeg_simple_progression(&jpeg);
    for (int k = 0; k < DCTSIZE2; k++)
        one_each[k] = (jpeg_scan_info){.comps_in_scan = 1, .Ss = k, .Se = k};
    if (progressive == 2) {
        jpeg.scan_info = one_each;
        jpeg.num_scans = DCTSIZE2;
    }
    jpeg_start_compress(&jpeg, TRUE);
    if (exif)
        jpeg_write_marker(&jpeg, JPEG_APP0 + 1, exif->data, (unsigned)exif->size);
    uint8_t *samples = samples8(seen, jpeg.input_components);
    while (jpeg.next_scanline < jpeg.image_height) {
        JSAMPROW row = samples + (size_t)jpeg.next_scanline * (size_t)seen->width * (size_t)jpeg.input_components;
        jpeg_write_scanlines(&jpeg, &row, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    free(samples);
    return (made){data, size};
}

static void png_append(png_structp png, png_bytep data, size_t size)
{
    append(png_get_io_ptr(png), data, size);
}

static void png_nothing(png_structp png)
{
    (void)png;
}

/* One row in PNG's own form: packed below 8 bits, big-endian at 16. */
static void png_row(const scene *seen, png_kind kind, int y, uint8_t *row)
{
    int channels = kind.colours == PNG_COLOR_TYPE_RGB          ? 3
                   : kind.colours == PNG_COLOR_TYPE_RGB_ALPHA  ? 4
                   : kind.colours == PNG_COLOR_TYPE_GRAY_ALPHA ? 2
                                                               : 1;
    for (int x = 0; x < seen->width; x++)
        for (int c = 0; c < channels; c++) {
            size_t at = (size_t)y * (size_t)seen->width + (size_t)x;
            uint16_t sample = channels >= 3 && c < 3 ? seen->rgb[3 * at + (size_t)c]
                              : c == 0               ? (uint16_t)(scene_luma(seen, x, y) * 65535 + 0.5)
                                                     : 40000; /* alpha, to be dropped */
            size_t to = (size_t)x * (size_t)channels + (size_t)c;
            if (kind.bits == 16) {
                row[2 * to] = (uint8_t)(sample >> 8);
                row[2 * to + 1] = (uint8_t)sample;
            } else {
                unsigned levels = (1u << kind.bits) - 1, value = (sample * levels + 32767u) / 65535u;
                size_t bit = to * (size_t)kind.bits;
                row[bit / 8] = (uint8_t)(row[bit / 8] | value << (8 - kind.bits - (int)(bit % 8)));
            }
        }
}

/* Palette entry i: a colour whose luma is easy to foretell, see test_photo_formats.c. */
static void png_palette(png_structp png, png_infop info, int bits)
{
    png_color colours[256];
    for (int i = 0; i < 1 << bits; i++)
        colours[i] = (png_color){(png_byte)i, (png_byte)(255 - i), (png_byte)(i / 2)};
    png_set_PLTE(png, info, colours, 1 << bits);
}

made make_png(const scene *seen, png_kind kind, const made *exif)
{
    made out = {0};
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    png_set_write_fn(png, &out, png_append, png_nothing);
    png_set_IHDR(png, info, (png_uint_32)seen->width, (png_uint_32)seen->height, kind.bits, kind.colours,
                 kind.interlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
                 PNG_FILTER_TYPE_DEFAULT);
    if (kind.colours == PNG_COLOR_TYPE_PALETTE)
        png_palette(png, info, kind.bits);
    if (kind.gamma > 0)
        png_set_gAMA(png, info, kind.gamma);
    if (exif)
        png_set_eXIf_1(png, info, (png_uint_32)exif->size - 6, exif->data + 6); /* without "Exif\0\0" */
    png_write_info(png, info);
    size_t stride = (size_t)seen->width * 8;
    uint8_t *rows = calloc((size_t)seen->height, stride);
    uint8_t **row = calloc((size_t)seen->height, sizeof *row);
    assert_true(rows && row);
    for (int y = 0; y < seen->height; y++) {
        row[y] = rows + (size_t)y * stride;
        png_row(seen, kind, y, row[y]);
    }
    png_write_image(png, row);
    png_write_end(png, NULL);
    png_destroy_write_struct(&png, &info);
    free(row);
    free(rows);
    return out;
}

static made whole_file(const char *path)
{
    made out = {0};
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    uint8_t buffer[4096];
    size_t count;
    while ((count = fread(buffer, 1, sizeof buffer, file)) > 0)
        append(&out, buffer, count);
    fclose(file);
    return out;
}

static void tiff_header(TIFF *tiff, const scene *seen, tiff_kind kind, int channels)
{
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, (uint32_t)seen->width);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, (uint32_t)seen->height);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, kind.bits);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, channels);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, kind.photometric);
    TIFFSetField(tiff, TIFFTAG_COMPRESSION, kind.compression);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    if (kind.photometric == PHOTOMETRIC_YCBCR)
        TIFFSetField(tiff, TIFFTAG_JPEGCOLORMODE, JPEGCOLORMODE_RGB);
    if (kind.compression == COMPRESSION_JPEG)
        TIFFSetField(tiff, TIFFTAG_JPEGQUALITY, 100);
    if (kind.tile_px) {
        TIFFSetField(tiff, TIFFTAG_TILEWIDTH, (uint32_t)kind.tile_px);
        TIFFSetField(tiff, TIFFTAG_TILELENGTH, (uint32_t)kind.tile_px);
    } else {
        TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, kind.compression == COMPRESSION_JPEG ? 16u : 5u);
    }
    if (kind.photometric == PHOTOMETRIC_PALETTE) {
        uint16_t red[256], green[256], blue[256];
        for (int i = 0; i < 256; i++) {
            red[i] = (uint16_t)(257 * i);
            green[i] = (uint16_t)(257 * (255 - i));
            blue[i] = (uint16_t)(257 * (i / 2));
        }
        TIFFSetField(tiff, TIFFTAG_COLORMAP, red, green, blue);
    }
}

static uint16_t tiff_sample(const scene *seen, tiff_kind kind, int channels, int x, int y, int channel)
{
    if (x >= seen->width || y >= seen->height)
        return 0;
    size_t at = (size_t)y * (size_t)seen->width + (size_t)x;
    uint16_t grey = (uint16_t)(scene_luma(seen, x, y) * 65535 + 0.5);
    if (channels >= 3)
        return channel < 3 ? seen->rgb[3 * at + (size_t)channel] : 0;
    return kind.photometric == PHOTOMETRIC_MINISWHITE ? (uint16_t)(65535 - grey) : grey;
}

/* Fills a row or tile whose top-left pixel is (x, y). */
static void tiff_piece(const scene *seen, tiff_kind kind, int channels, int x, int y, int width, int height, void *out)
{
    size_t at = 0;
    for (int row = 0; row < height; row++)
        for (int i = 0; i < width; i++)
            for (int c = 0; c < channels; c++, at++) {
                uint16_t sample = tiff_sample(seen, kind, channels, x + i, y + row, c);
                if (kind.bits == 8)
                    ((uint8_t *)out)[at] = to8(sample);
                else
                    ((uint16_t *)out)[at] = sample;
            }
}

static void tiff_pixels(TIFF *tiff, const scene *seen, tiff_kind kind, int channels)
{
    int side = kind.tile_px;
    void *piece = calloc((size_t)(seen->width + side * side), (size_t)channels * 2);
    assert_non_null(piece);
    if (!side)
        for (int y = 0; y < seen->height; y++) {
            tiff_piece(seen, kind, channels, 0, y, seen->width, 1, piece);
            assert_int_equal(TIFFWriteScanline(tiff, piece, (uint32_t)y, 0), 1);
        }
    for (int y = 0; side && y < seen->height; y += side)
        for (int x = 0; x < seen->width; x += side) {
            tiff_piece(seen, kind, channels, x, y, side, side, piece);
            assert_true(TIFFWriteTile(tiff, piece, (uint32_t)x, (uint32_t)y, 0, 0) > 0);
        }
    free(piece);
}

/* The EXIF directory is written after the picture's own, whose pointer to it is then set. */
static void tiff_facts(TIFF *tiff, const exif_facts *facts)
{
    uint64_t offset = 0;
    assert_true(TIFFWriteDirectory(tiff));
    assert_int_equal(TIFFCreateEXIFDirectory(tiff), 0);
    TIFFSetField(tiff, EXIFTAG_DATETIMEORIGINAL, facts->taken);
    TIFFSetField(tiff, EXIFTAG_FOCALLENGTH, (double)facts->focal_numerator / facts->focal_denominator);
    TIFFSetField(tiff, EXIFTAG_FOCALLENGTHIN35MMFILM, facts->focal_35mm);
    assert_true(TIFFWriteCustomDirectory(tiff, &offset));
    assert_true(TIFFSetDirectory(tiff, 0));
    TIFFSetField(tiff, TIFFTAG_EXIFIFD, offset);
    assert_true(TIFFRewriteDirectory(tiff));
}

made make_tiff(const scene *seen, tiff_kind kind, const exif_facts *facts)
{
    char path[] = "/tmp/photo_make_XXXXXX";
    int file = mkstemp(path);
    assert_true(file >= 0);
    TIFF *tiff = TIFFFdOpen(file, path, kind.mode);
    assert_non_null(tiff);
    int channels = kind.photometric == PHOTOMETRIC_RGB || kind.photometric == PHOTOMETRIC_YCBCR ? 3 : 1;
    tiff_header(tiff, seen, kind, channels);
    if (facts) {
        TIFFSetField(tiff, TIFFTAG_ORIENTATION, facts->orientation);
        TIFFSetField(tiff, TIFFTAG_MAKE, facts->maker);
        TIFFSetField(tiff, TIFFTAG_MODEL, facts->model);
    }
    tiff_pixels(tiff, seen, kind, channels);
    if (facts)
        tiff_facts(tiff, facts);
    TIFFClose(tiff);
    made out = whole_file(path);
    unlink(path);
    return out;
}

made make_webp(const scene *seen, int lossless, const made *exif)
{
    uint8_t *samples = samples8(seen, 3), *data = NULL;
    size_t size = lossless ? WebPEncodeLosslessRGB(samples, seen->width, seen->height, 3 * seen->width, &data)
                           : WebPEncodeRGB(samples, seen->width, seen->height, 3 * seen->width, 100, &data);
    free(samples);
    assert_true(size > 0);
    made out = {0};
    append(&out, data, size);
    WebPFree(data);
    if (!exif)
        return out;
    WebPMux *mux = WebPMuxNew();
    WebPData picture = {out.data, out.size}, block = {exif->data, exif->size}, file;
    WebPMuxSetImage(mux, &picture, 1);
    WebPMuxSetChunk(mux, "EXIF", &block, 1);
    assert_int_equal(WebPMuxAssemble(mux, &file), WEBP_MUX_OK);
    out.size = 0;
    append(&out, file.bytes, file.size);
    WebPDataClear(&file);
    WebPMuxDelete(mux);
    return out;
}

static void heic_fill(struct heif_image *image, const scene *seen, int bits, int full_range)
{
    int stride, half_stride;
    uint8_t *luma = heif_image_get_plane(image, heif_channel_Y, &stride);
    double black = full_range ? 0 : 16 << (bits - 8), white = full_range ? (1 << bits) - 1 : 235 << (bits - 8);
    for (int y = 0; y < seen->height; y++)
        for (int x = 0; x < seen->width; x++) {
            uint16_t sample = (uint16_t)(black + (white - black) * scene_luma(seen, x, y) + 0.5);
            if (bits == 8)
                luma[y * stride + x] = (uint8_t)sample;
            else
                memcpy(luma + y * stride + 2 * x, &sample, sizeof sample);
        }
    for (enum heif_channel c = heif_channel_Cb; c <= heif_channel_Cr; c++) {
        uint8_t *chroma = heif_image_get_plane(image, c, &half_stride);
        uint16_t neutral = (uint16_t)(1 << (bits - 1));
        for (int y = 0; y < (seen->height + 1) / 2; y++)
            for (int x = 0; x < (seen->width + 1) / 2; x++) {
                if (bits == 8)
                    chroma[y * half_stride + x] = (uint8_t)neutral;
                else
                    memcpy(chroma + y * half_stride + 2 * x, &neutral, sizeof neutral);
            }
    }
}

static struct heif_image *heic_picture(const scene *seen, int bits, const struct heif_color_profile_nclx *profile)
{
    struct heif_image *image = NULL;
    heif_image_create(seen->width, seen->height, heif_colorspace_YCbCr, heif_chroma_420, &image);
    int half_width = (seen->width + 1) / 2, half_height = (seen->height + 1) / 2;
    heif_image_add_plane(image, heif_channel_Y, seen->width, seen->height, bits);
    heif_image_add_plane(image, heif_channel_Cb, half_width, half_height, bits);
    heif_image_add_plane(image, heif_channel_Cr, half_width, half_height, bits);
    heic_fill(image, seen, bits, profile->full_range_flag);
    heif_image_set_nclx_color_profile(image, profile);
    return image;
}

static struct heif_error heic_append(struct heif_context *context, const void *data, size_t size, void *user)
{
    (void)context;
    append(user, data, size);
    return (struct heif_error){heif_error_Ok, heif_suberror_Unspecified, ""};
}

static uint8_t *find(made *file, const char *name)
{
    for (size_t i = 0; i + 4 <= file->size; i++)
        if (memcmp(file->data + i, name, 4) == 0)
            return file->data + i;
    fail_msg("no box %s", name);
    return NULL;
}

/* libheif 1.15 writes a turned picture with the size after the turn, and the turn before the size. ISO/IEC 23008-12
 * (6.5.3: ispe is the size of the reconstructed picture; transformations follow it) and phones have it the other way
 * round: mended here by swapping the two numbers in ispe, and properties 2 (irot) and 3 (ispe) in the list ipma. */
static void mend_turned_heic(made *file)
{
    uint8_t *size = find(file, "ispe") + 8, number[4];
    memcpy(number, size, 4);
    memcpy(size, size + 4, 4);
    memcpy(size + 4, number, 4);
    uint8_t *list = find(file, "ipma");
    for (int i = 4; i < 24; i++)
        if ((list[i] & 0x7f) == 2 && (list[i + 1] & 0x7f) == 3) {
            uint8_t first = list[i];
            list[i] = list[i + 1];
            list[i + 1] = first;
            return;
        }
    fail_msg("irot and ispe are not where they were expected");
}

made make_heic(const scene *seen, int bits, int full_range, int turn, const made *exif)
{
    made out = {0};
    struct heif_context *context = heif_context_alloc();
    struct heif_encoder *encoder = NULL;
    struct heif_image_handle *handle = NULL;
    if (heif_context_get_encoder_for_format(context, heif_compression_HEVC, &encoder).code == heif_error_Ok) {
        struct heif_color_profile_nclx *profile = heif_nclx_color_profile_alloc();
        profile->full_range_flag = (uint8_t)full_range;
        profile->matrix_coefficients = heif_matrix_coefficients_ITU_R_BT_601_6;
        struct heif_image *image = heic_picture(seen, bits, profile);
        struct heif_encoding_options *options = heif_encoding_options_alloc();
        struct heif_writer writer = {1, heic_append};
        options->image_orientation = (enum heif_orientation)turn;
        options->macOS_compatibility_workaround_no_nclx_profile = 0;
        options->output_nclx_profile = profile; /* else libheif makes the full range of it */
        heif_encoder_set_lossy_quality(encoder, 95);
        assert_int_equal(heif_context_encode_image(context, image, encoder, options, &handle).code, heif_error_Ok);
        if (exif)
            heif_context_add_exif_metadata(context, handle, exif->data, (int)exif->size);
        assert_int_equal(heif_context_write(context, &writer, &out).code, heif_error_Ok);
        heif_encoding_options_free(options);
        heif_nclx_color_profile_free(profile);
        heif_image_release(image);
    }
    if (out.size && turn >= 5)
        mend_turned_heic(&out);
    heif_image_handle_release(handle);
    heif_encoder_release(encoder);
    heif_context_free(context);
    return out;
}
