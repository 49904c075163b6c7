/* png.c - PNG by libpng, 8 or 16 bit, turned to luma row by row inside libpng. */
#include <setjmp.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <png.h>

#include "photo/decode.h"

/* Largest text, colour profile or EXIF chunk taken, bytes; a hostile one could inflate without end. */
#define MAX_CHUNK_BYTES ((png_alloc_size_t)4 << 20)

typedef struct png_reader {
    png_structp png;
    png_infop info;
    jmp_buf escape;
    char text[160]; /* libpng's last complaint */
    size_t at;      /* how much of the source has been read */
    png_bytepp rows;
    const sw_source *source;
    sw_photo *photo;
    sw_error *err;
} png_reader;

static void give_up(png_structp png, png_const_charp text)
{
    png_reader *reader = png_get_error_ptr(png);
    snprintf(reader->text, sizeof reader->text, "%s", text);
    longjmp(reader->escape, 1);
}

/* libpng only warns when the pixel data (chunk IDAT) runs short, long or fails its check sum at the very end. */
static void heed_warning(png_structp png, png_const_charp text)
{
    if (strncmp(text, "IDAT", 4) == 0)
        give_up(png, text);
}

static void take_bytes(png_structp png, png_bytep out, size_t count)
{
    png_reader *reader = png_get_io_ptr(png);
    if (count > reader->source->size - reader->at)
        give_up(png, "it ends too early");
    memcpy(out, reader->source->data + reader->at, count);
    reader->at += count;
}

static void configure(png_reader *reader)
{
    png_structp png = reader->png;
    png_set_read_fn(png, reader, take_bytes);
    png_set_crc_action(png, PNG_CRC_ERROR_QUIT, PNG_CRC_WARN_DISCARD);
    png_set_user_limits(png, PNG_UINT_31_MAX, PNG_UINT_31_MAX); /* sw_photo_fits has the say, with its own sentence */
    png_set_chunk_malloc_max(png, MAX_CHUNK_BYTES);
}

static bool little_endian(void)
{
    const uint16_t one = 1;
    return *(const uint8_t *)&one == 1;
}

/* Three channels -> luma in the first, in place. (libpng's own grey is weighed in linear light when there is a gamma
 * chunk, and cut instead of rounded at 8 bits.) */
static void to_luma(png_structp png, png_row_infop row, png_bytep data)
{
    sw_photo *photo = png_get_user_transform_ptr(png);
    size_t y = png_get_current_row_number(png);
    if (row->bit_depth == 8) {
        for (size_t i = 0; i < row->width; i++) {
            const png_byte *c = data + 3 * i;
            sw_photo_add_colour(photo, i, y, c[0], c[1], c[2]);
            data[i] = (uint8_t)sw_luma_of(c[0], c[1], c[2]);
        }
        return;
    }
    uint16_t *wide = (uint16_t *)(void *)data; /* libpng's rows are aligned for it */
    for (size_t i = 0; i < row->width; i++) {
        const uint16_t *c = wide + 3 * i;
        sw_photo_add_colour(photo, i, y, c[0] >> 8, c[1] >> 8, c[2] >> 8);
        wide[i] = (uint16_t)sw_luma_of(c[0], c[1], c[2]);
    }
}

/* Everything ends as one channel of 8 or 16 bits, palette numbers still as numbers. Alpha is dropped: a photo has none
 * worth the name. */
static void ask_for_luma(png_reader *reader, int colours, int bits)
{
    png_structp png = reader->png;
    png_set_strip_alpha(png);
    if (colours == PNG_COLOR_TYPE_PALETTE)
        png_set_packing(png);
    if (colours == PNG_COLOR_TYPE_GRAY)
        png_set_expand_gray_1_2_4_to_8(png);
    if (bits == 16 && little_endian())
        png_set_swap(png);
    if (colours == PNG_COLOR_TYPE_RGB || colours == PNG_COLOR_TYPE_RGB_ALPHA) {
        png_set_read_user_transform_fn(png, to_luma);
        png_set_user_transform_info(png, reader->photo, bits, 1);
    }
    png_set_interlace_handling(png);
    png_read_update_info(png, reader->info);
}

static sw_status set_rows(png_reader *reader)
{
    const sw_photo *photo = reader->photo;
    size_t width = (size_t)photo->width_px, height = (size_t)photo->height_px;
    reader->rows = malloc(height * sizeof *reader->rows);
    if (!reader->rows)
        return sw_photo_no_memory(reader->source, reader->err);
    for (size_t y = 0; y < height; y++)
        reader->rows[y] = photo->bits == 8 ? photo->luma8 + y * width : (png_bytep)(photo->luma16 + y * width);
    return SW_OK;
}

static void read_exif(const png_reader *reader)
{
    png_uint_32 size = 0;
    png_bytep block = NULL;
    if (png_get_eXIf_1(reader->png, reader->info, &size, &block))
        sw_photo_read_exif(block, size, reader->photo);
}

/* Palette numbers -> luma, in place. A number past the palette's end has no colour: the file is damaged. */
static void look_up_palette(png_reader *reader)
{
    png_colorp palette = NULL;
    int size = 0;
    png_get_PLTE(reader->png, reader->info, &palette, &size);
    uint8_t luma[256] = {0};
    for (int i = 0; i < size; i++)
        luma[i] = (uint8_t)sw_luma_of(palette[i].red, palette[i].green, palette[i].blue);
    size_t width = (size_t)reader->photo->width_px, count = width * (size_t)reader->photo->height_px;
    uint8_t *at = reader->photo->luma8;
    for (size_t i = 0; i < count; i++) {
        if (at[i] >= size)
            give_up(reader->png, "it uses colours that its palette does not have");
        const png_color *c = &palette[at[i]];
        sw_photo_add_colour(reader->photo, i % width, i / width, c->red, c->green, c->blue);
        at[i] = luma[at[i]];
    }
}

static sw_status decode(png_reader *reader)
{
    png_structp png = reader->png;
    configure(reader);
    png_read_info(png, reader->info);
    int colours = png_get_color_type(png, reader->info);
    int bits = png_get_bit_depth(png, reader->info) == 16 ? 16 : 8;
    sw_status status = sw_photo_room(reader->source, png_get_image_width(png, reader->info),
                                     png_get_image_height(png, reader->info), bits, reader->photo, reader->err);
    if (status)
        return status;
    /* pixels of an interlaced file do not come row by row */
    if ((colours & PNG_COLOR_MASK_COLOR) && png_get_interlace_type(png, reader->info) == PNG_INTERLACE_NONE)
        status = sw_photo_colour_room(reader->source, reader->photo, reader->err);
    if (status)
        return status;
    ask_for_luma(reader, colours, bits);
    if (png_get_rowbytes(png, reader->info) != (size_t)reader->photo->width_px * (size_t)(bits / 8))
        return sw_fail(reader->err, SW_BROKEN, "%.255s: libpng gives rows of an unexpected size", reader->source->name);
    status = set_rows(reader);
    if (status)
        return status;
    png_read_image(png, reader->rows);
    png_read_end(png, reader->info);
    if (colours == PNG_COLOR_TYPE_PALETTE)
        look_up_palette(reader);
    read_exif(reader);
    return SW_OK;
}

/* Alone with setjmp: no variable of this function changes after it. */
static sw_status decode_or_escape(png_reader *reader)
{
    if (setjmp(reader->escape))
        return sw_photo_damaged(reader->source, reader->text, reader->err);
    return decode(reader);
}

sw_status sw_decode_png(const sw_source *source, sw_photo *photo, sw_error *err)
{
    png_reader reader = {.source = source, .photo = photo, .err = err};
    sw_status status = SW_NO_MEMORY;
    reader.png = png_create_read_struct(PNG_LIBPNG_VER_STRING, &reader, give_up, heed_warning);
    if (reader.png)
        reader.info = png_create_info_struct(reader.png);
    if (reader.info)
        status = decode_or_escape(&reader);
    else
        sw_photo_no_memory(source, err);
    png_destroy_read_struct(&reader.png, &reader.info, NULL);
    free(reader.rows);
    return status;
}
