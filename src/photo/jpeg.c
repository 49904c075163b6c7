/* jpeg.c - JPEG by libjpeg-turbo: luma at full size, colours as the file holds them. */
#include <setjmp.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include <jpeglib.h>

#include <jerror.h>

#include "photo/decode.h"

/* Most passes over the picture that a progressive JPEG may take. libjpeg's own script writes 10, optimisers up to about
 * twice that; a hostile file of a few kB can ask for thousands of passes over a 130 megapixel picture. */
#define MAX_SCANS 50

/* Rows handed over at once; libjpeg makes them 8 or 16 at a time (one row of blocks). */
#define ROWS_AT_ONCE 16u

typedef struct jpeg_reader {
    struct jpeg_decompress_struct jpeg;
    struct jpeg_error_mgr errors;
    struct jpeg_progress_mgr progress;
    jmp_buf escape;
    bool in_header;
    bool too_many_scans;
    const sw_source *source;
    sw_photo *photo;
    sw_error *err;
} jpeg_reader;

static void give_up(j_common_ptr jpeg)
{
    jpeg_reader *reader = jpeg->client_data;
    longjmp(reader->escape, 1);
}

/* Some cameras round the data up with a few zero bytes before the end mark (seen from libjpeg: "extraneous bytes").
 * More than these is a zeroed tail, and anything else means that the decoder lost its place. */
#define MAX_PADDING_BYTES 15

/* At the time of this warning the source stands just behind the bytes that were skipped. */
static bool harmless_padding(const jpeg_reader *reader)
{
    const int *parts = reader->errors.msg_parm.i; /* how many bytes, before which mark */
    const uint8_t *end = reader->jpeg.src->next_input_byte;
    if (parts[0] > MAX_PADDING_BYTES || parts[0] > end - reader->source->data || parts[1] != JPEG_EOI)
        return false;
    for (int i = 1; i <= parts[0]; i++)
        if (end[-i] != 0)
            return false;
    return true;
}

/* libjpeg "succeeds" on a damaged file: it warns and fills the rest with grey. So the first warning about the data ends
 * the decoding. The others concern labels that do not touch the pixels we use. */
static void heed_warning(j_common_ptr jpeg, int level)
{
    jpeg_reader *reader = jpeg->client_data;
    if (level >= 0) /* 0 and up: tracing */
        return;
    switch (jpeg->err->msg_code) {
    case JWRN_ADOBE_XFORM:
    case JWRN_JFIF_MAJOR:
    case JWRN_BOGUS_ICC:
    case JWRN_NOT_SEQUENTIAL: /* zeroes instead of 0..63 in the scan header, written by some phones */
        return;
    case JWRN_EXTRANEOUS_DATA:
        /* Between the marks ahead of the picture some phones leave odd bytes; a table lost there is an error of its
         * own. */
        if (reader->in_header || harmless_padding(reader))
            return;
        break;
    default:
        break;
    }
    give_up(jpeg);
}

static void count_scans(j_common_ptr jpeg)
{
    jpeg_reader *reader = jpeg->client_data;
    if (reader->jpeg.input_scan_number <= MAX_SCANS)
        return;
    reader->too_many_scans = true;
    give_up(jpeg);
}

static sw_status why_it_failed(jpeg_reader *reader)
{
    char text[JMSG_LENGTH_MAX];
    const char *name = reader->source->name;
    if (reader->too_many_scans)
        return sw_photo_damaged(reader->source, "it is cut into far too many passes", reader->err);
    reader->errors.format_message((j_common_ptr)&reader->jpeg, text);
    switch (reader->errors.msg_code) {
    case JERR_OUT_OF_MEMORY:
        return sw_photo_no_memory(reader->source, reader->err);
    case JERR_IMAGE_TOO_BIG:
        return sw_photo_fits(reader->source, reader->jpeg.image_width, reader->jpeg.image_height, reader->err);
    case JERR_BAD_PRECISION:
    case JERR_SOF_UNSUPPORTED:
        return sw_fail(reader->err, SW_BAD_INPUT, "%.200s: a rare kind of JPEG (%.160s); save it as ordinary JPEG",
                       name, text);
    default:
        return sw_photo_damaged(reader->source, text, reader->err);
    }
}

/* Luma comes straight from the file for grey and YCbCr, by libjpeg's Rec. 601 weights from RGB. Ink colours (CMYK,
 * YCCK) say nothing certain about light, so they are refused. */
static sw_status check_colours(const jpeg_reader *reader)
{
    switch (reader->jpeg.jpeg_color_space) {
    case JCS_GRAYSCALE:
    case JCS_YCbCr:
    case JCS_RGB:
        return SW_OK;
    default:
        return sw_fail(reader->err, SW_BAD_INPUT,
                       "%.200s: its colours are coded for printing (CMYK) or unknown; use the phone's own file, or "
                       "save it with sRGB colours",
                       reader->source->name);
    }
}

static void read_exif(const jpeg_reader *reader)
{
    for (jpeg_saved_marker_ptr m = reader->jpeg.marker_list; m; m = m->next) {
        if (m->data_length < 6 || memcmp(m->data, "Exif\0\0", 6) != 0)
            continue;
        sw_photo_read_exif(m->data, m->data_length, reader->photo);
        return;
    }
}

/* How coarsely the lowest frequencies of luma, or of green, are kept; see sw_photo. libjpeg keeps a table's steps row after row. */
static double step_of(const struct jpeg_decompress_struct *jpeg)
{
    enum { DIAGONALS = 5 }; /* frequencies whose row and column add up to less */
    const JQUANT_TBL *table = jpeg->comp_info[jpeg->jpeg_color_space == JCS_RGB].quant_table;
    double sum = 0;
    int count = 0;
    for (int row = 0; table && row < DIAGONALS; row++)
        for (int column = 0; row + column < DIAGONALS; column++, count++)
            sum += table->quantval[row * DCTSIZE + column];
    return count ? sum / count : 0;
}

/* How many pixels of luma lie beside each other on one sample of colour; 0: no whole number. */
static int pixels_a_sample(int most, int own)
{
    return most % own ? 0 : most / own;
}

/* Whether the planes can be taken as they lie in the file: luma at full size, both colours alike and no finer. */
static bool has_planes(const struct jpeg_decompress_struct *jpeg)
{
    const jpeg_component_info *c = jpeg->comp_info;
    return jpeg->jpeg_color_space == JCS_YCbCr && jpeg->num_components == 3 &&
           c[0].h_samp_factor == jpeg->max_h_samp_factor && c[0].v_samp_factor == jpeg->max_v_samp_factor &&
           c[1].h_samp_factor == c[2].h_samp_factor && c[1].v_samp_factor == c[2].v_samp_factor &&
           pixels_a_sample(jpeg->max_h_samp_factor, c[1].h_samp_factor) &&
           pixels_a_sample(jpeg->max_v_samp_factor, c[1].v_samp_factor);
}

/* Colours of the pixel lines from `line` on, of so many of them: each the mean over two by two pixels. */
static void take_colours(const jpeg_reader *reader, const JSAMPIMAGE planes, int line, int lines)
{
    const jpeg_component_info *c = reader->jpeg.comp_info;
    const sw_photo *photo = reader->photo;
    int across = pixels_a_sample(c[0].h_samp_factor, c[1].h_samp_factor),
        down = pixels_a_sample(c[0].v_samp_factor, c[1].v_samp_factor);
    for (int y = 0; y + 1 < lines && (line + y) / 2 < photo->chroma_height_px; y += 2) {
        uint8_t *out = photo->chroma + 2 * (size_t)((line + y) / 2) * (size_t)photo->chroma_width_px;
        for (int of = 0; of < 2; of++) {
            const JSAMPLE *upper = planes[1 + of][y / down], *lower = planes[1 + of][(y + 1) / down];
            if (across == 2 && upper == lower) /* as phones do it */
                for (int x = 0; x < photo->chroma_width_px; x++)
                    out[2 * x + of] = upper[x];
            else
                for (int x = 0; x < photo->chroma_width_px; x++) {
                    int left = 2 * x / across, right = (2 * x + 1) / across;
                    out[2 * x + of] = (uint8_t)((upper[left] + upper[right] + lower[left] + lower[right] + 2) / 4);
                }
        }
    }
}

/* Room for one row of blocks of a plane, padded to whole blocks; it goes when the decoder does. */
static JSAMPARRAY block_row(struct jpeg_decompress_struct *jpeg, const jpeg_component_info *c)
{
    JDIMENSION blocks = c->width_in_blocks + (JDIMENSION)c->h_samp_factor;
    return jpeg->mem->alloc_sarray((j_common_ptr)jpeg, JPOOL_IMAGE, blocks * DCTSIZE,
                                   (JDIMENSION)(c->v_samp_factor * DCTSIZE));
}

static void read_planes(const jpeg_reader *reader, struct jpeg_decompress_struct *jpeg)
{
    const sw_photo *photo = reader->photo;
    const size_t width = (size_t)photo->width_px;
    const int lines = jpeg->max_v_samp_factor * DCTSIZE;
    JSAMPARRAY planes[3];
    for (int i = 0; i < 3; i++)
        planes[i] = block_row(jpeg, &jpeg->comp_info[i]);
    for (int line = 0; line < photo->height_px; line += lines) {
        jpeg_read_raw_data(jpeg, planes, (JDIMENSION)lines);
        for (int y = 0; y < lines && line + y < photo->height_px; y++)
            memcpy(photo->luma8 + (size_t)(line + y) * width, planes[0][y], width);
        take_colours(reader, planes, line, lines);
    }
}

static void read_rows(jpeg_reader *reader)
{
    struct jpeg_decompress_struct *jpeg = &reader->jpeg;
    while (jpeg->output_scanline < jpeg->output_height) {
        JSAMPROW rows[ROWS_AT_ONCE];
        for (size_t i = 0; i < ROWS_AT_ONCE; i++) /* libjpeg does not touch rows past the last */
            rows[i] = reader->photo->luma8 + (jpeg->output_scanline + i) * (size_t)jpeg->output_width;
        jpeg_read_scanlines(jpeg, rows, ROWS_AT_ONCE);
    }
}

/* A progressive file may end cleanly with its finer passes missing: a blurred picture, which libjpeg takes for whole.
 * coef_bits says for each coefficient how many low bits are still to come, -1 when it never came. */
static bool passes_complete(const struct jpeg_decompress_struct *jpeg)
{
    int components = jpeg->jpeg_color_space == JCS_RGB ? 3 : 1; /* those that luma is made of */
    for (int c = 0; c < components; c++)
        for (int k = 0; k < DCTSIZE2; k++)
            if (jpeg->coef_bits[c][k] != 0)
                return false;
    return true;
}

static sw_status decode(jpeg_reader *reader)
{
    struct jpeg_decompress_struct *jpeg = &reader->jpeg;
    jpeg_mem_src(jpeg, reader->source->data, reader->source->size);
    jpeg_save_markers(jpeg, JPEG_APP0 + 1, 0xffff);
    reader->in_header = true;
    jpeg_read_header(jpeg, TRUE);
    reader->in_header = false;
    sw_status status = sw_photo_fits(reader->source, jpeg->image_width, jpeg->image_height, reader->err);
    if (!status)
        status = check_colours(reader);
    if (!status)
        status = sw_photo_room(reader->source, jpeg->image_width, jpeg->image_height, 8, reader->photo, reader->err);
    if (status)
        return status;
    read_exif(reader);
    bool planes = has_planes(jpeg);
    if (planes)
        status = sw_photo_colour_room(reader->source, reader->photo, reader->err);
    if (status)
        return status;
    jpeg->out_color_space = planes ? JCS_YCbCr : JCS_GRAYSCALE;
    jpeg->raw_data_out = planes;
    jpeg_start_decompress(jpeg);
    if (planes)
        read_planes(reader, jpeg);
    else
        read_rows(reader);
    reader->photo->jpeg_step = step_of(jpeg);
    if (jpeg->progressive_mode && !passes_complete(jpeg))
        return sw_photo_damaged(reader->source, "its last passes are missing", reader->err);
    jpeg_finish_decompress(jpeg); /* reads on to the end mark, so that a missing one is noticed */
    return SW_OK;
}

/* Alone with setjmp: no variable of this function changes after it. */
static sw_status decode_or_escape(jpeg_reader *reader)
{
    if (setjmp(reader->escape))
        return why_it_failed(reader);
    jpeg_create_decompress(&reader->jpeg);
    reader->jpeg.progress = &reader->progress;
    return decode(reader);
}

sw_status sw_decode_jpeg(const sw_source *source, sw_photo *photo, sw_error *err)
{
    jpeg_reader reader = {.source = source, .photo = photo, .err = err};
    reader.jpeg.err = jpeg_std_error(&reader.errors);
    reader.jpeg.client_data = &reader;
    reader.errors.error_exit = give_up;
    reader.errors.emit_message = heed_warning;
    reader.progress.progress_monitor = count_scans;
    sw_status status = decode_or_escape(&reader);
    jpeg_destroy_decompress(&reader.jpeg);
    return status;
}
