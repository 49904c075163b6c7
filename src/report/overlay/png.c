/* png.c - the canvas as a PNG file of few colours: cairo's own writer keeps three bytes a pixel and compresses
 * hardest, which takes longer than all the rest of the overlay. */
#include <errno.h>
#include <math.h>
#include <png.h>
#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/overlay/overlay.h"

enum { COMPRESSION = 4 }; /* zlib level: 1 to 4 took the same time here, 6 twice as long for 7 % less */

static void keep_message(png_structp png, png_const_charp message)
{
    snprintf(png_get_error_ptr(png), 128, "%s", message);
    longjmp(png_jmpbuf(png), 1);
}

static void ignore(png_structp png, png_const_charp message)
{
    (void)png;
    (void)message;
}

/* The colours of the file: GREYS greys for the picture, the styles' own colours, and a cube for the soft rims between
 * them. One byte a pixel instead of three is a third of the work and half the file; more greys than this show no
 * better. */
enum {
    GREYS = 64,
    RED_STEPS = 5,
    GREEN_STEPS = 6,
    BLUE_STEPS = 5,
    STYLES = 6,
    COLOURS = GREYS + STYLES + RED_STEPS * GREEN_STEPS * BLUE_STEPS
};
/* Mixed colours are looked up by their upper 5 bits. */
enum { KEY_BITS = 5, KEYS = 1 << (3 * KEY_BITS) };

typedef struct palette {
    png_color colours[COLOURS];
    unsigned char nearest[KEYS];
} palette;

static png_color from_style(sw_colour colour)
{
    return (png_color){(png_byte)lround(255 * colour.red), (png_byte)lround(255 * colour.green),
                       (png_byte)lround(255 * colour.blue)};
}

static int nearest_of(const palette *from, int red, int green, int blue)
{
    int best = 0, least = 3 * 255 * 255 + 1;
    for (int i = 0; i < COLOURS; i++) {
        int r = from->colours[i].red - red, g = from->colours[i].green - green, b = from->colours[i].blue - blue;
        int far = r * r + g * g + b * b;
        if (far < least) {
            least = far;
            best = i;
        }
    }
    return best;
}

static void make_palette(palette *to)
{
    int count = 0;
    for (int i = 0; i < GREYS; i++) {
        png_byte grey = (png_byte)(i * 255 / (GREYS - 1));
        to->colours[count++] = (png_color){grey, grey, grey};
    }
    for (int i = 0; i < RED_STEPS * GREEN_STEPS * BLUE_STEPS; i++)
        to->colours[count++] = (png_color){(png_byte)(i / (GREEN_STEPS * BLUE_STEPS) * 255 / (RED_STEPS - 1)),
                                           (png_byte)(i / BLUE_STEPS % GREEN_STEPS * 255 / (GREEN_STEPS - 1)),
                                           (png_byte)(i % BLUE_STEPS * 255 / (BLUE_STEPS - 1))};
    for (int i = 0; i < STYLES / 2; i++) {
        sw_style style = sw_style_of((sw_verdict)i);
        to->colours[count++] = from_style(style.fill);
        to->colours[count++] = from_style(style.line);
    }
    for (int i = 0; i < KEYS; i++) { /* the middle of each key's cell */
        int red = (i >> 10) * 8 + 4, green = (i >> 5 & 31) * 8 + 4, blue = (i & 31) * 8 + 4;
        to->nearest[i] = (unsigned char)nearest_of(to, red, green, blue);
    }
    for (int i = COLOURS - STYLES; i < COLOURS; i++) {
        png_color c = to->colours[i];
        to->nearest[(c.red >> 3) << 10 | (c.green >> 3) << 5 | c.blue >> 3] = (unsigned char)i;
    }
}

/* 0xRRGGBB words to places in the palette. */
static void reduce(const palette *with, const unsigned char *from, int count, unsigned char *to)
{
    const unsigned *pixels = (const unsigned *)(const void *)from;
    for (int i = 0; i < count; i++) {
        unsigned red = pixels[i] >> 16 & 255, green = pixels[i] >> 8 & 255, blue = pixels[i] & 255;
        if (red == green && green == blue)
            to[i] = (unsigned char)((red * (GREYS - 1) + 127) / 255);
        else
            to[i] = with->nearest[(red >> 3) << 10 | (green >> 3) << 5 | blue >> 3];
    }
}

/* Returns 0 when libpng gave up (its message is kept). */
static int encode(png_structp png, png_infop info, FILE *file, const sw_canvas *canvas, const palette *with,
                  unsigned char *row)
{
    const unsigned char *pixels = cairo_image_surface_get_data(canvas->surface);
    int stride = cairo_image_surface_get_stride(canvas->surface);
    if (setjmp(png_jmpbuf(png)))
        return 0;
    png_init_io(png, file);
    png_set_compression_level(png, COMPRESSION);
    png_set_filter(png, 0, PNG_FILTER_NONE);
    png_set_IHDR(png, info, (png_uint_32)canvas->width_px, (png_uint_32)canvas->height_px, 8, PNG_COLOR_TYPE_PALETTE,
                 PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    png_set_PLTE(png, info, with->colours, COLOURS);
    png_write_info(png, info);
    for (int y = 0; y < canvas->height_px; y++) {
        reduce(with, pixels + (size_t)y * (size_t)stride, canvas->width_px, row);
        png_write_row(png, row);
    }
    png_write_end(png, NULL);
    return 1;
}

sw_status sw_overlay_save(const sw_canvas *canvas, const char *path, sw_error *err)
{
    char message[128] = "out of memory";
    int done = 0;
    cairo_surface_flush(canvas->surface);
    unsigned char *row = malloc((size_t)canvas->width_px);
    palette *colours = malloc(sizeof *colours);
    FILE *file = fopen(path, "wb");
    if (!file)
        snprintf(message, sizeof message, "%s", strerror(errno));
    png_structp png =
        row && colours && file ? png_create_write_struct(PNG_LIBPNG_VER_STRING, message, keep_message, ignore) : NULL;
    png_infop info = png ? png_create_info_struct(png) : NULL;
    if (info) {
        make_palette(colours);
        done = encode(png, info, file, canvas, colours, row);
    }
    png_destroy_write_struct(png ? &png : NULL, info ? &info : NULL);
    bool lost = file && ferror(file);
    if (file && (fclose(file) != 0 || lost) && done) {
        snprintf(message, sizeof message, "%s", strerror(errno));
        done = 0;
    }
    free(row);
    free(colours);
    if (!done)
        return sw_fail(err, SW_CANNOT_WRITE, "%s: the picture cannot be written (%s); is the disk full?", path,
                       message);
    return SW_OK;
}
