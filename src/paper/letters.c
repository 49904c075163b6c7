#include "paper/letters.h"

static const char *const FAMILY[SW_LETTERS_COUNT] = {"sans-serif", "sans-serif", "monospace"};
static const cairo_font_weight_t WEIGHT[SW_LETTERS_COUNT] = {CAIRO_FONT_WEIGHT_NORMAL, CAIRO_FONT_WEIGHT_BOLD,
                                                             CAIRO_FONT_WEIGHT_BOLD};

void sw_letters_choose(cairo_t *pen, sw_letters letters, double size)
{
    cairo_select_font_face(pen, FAMILY[letters], CAIRO_FONT_SLANT_NORMAL, WEIGHT[letters]);
    cairo_set_font_size(pen, size);
}

/* Whether these letters come from a font: cairo's own strokes, which stand in where none is installed, are a "user" font. */
static bool are_there(cairo_t *pen, sw_letters letters)
{
    sw_letters_choose(pen, letters, 10);
    cairo_scaled_font_t *font = cairo_get_scaled_font(pen);
    return cairo_scaled_font_status(font) == CAIRO_STATUS_SUCCESS &&
           cairo_scaled_font_get_type(font) != CAIRO_FONT_TYPE_USER;
}

sw_status sw_letters_check(const char *path, sw_error *err)
{
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
    cairo_t *pen = cairo_create(surface);
    bool there = true;
    for (int i = 0; i < SW_LETTERS_COUNT; i++)
        there = there && are_there(pen, (sw_letters)i);
    cairo_destroy(pen);
    cairo_surface_destroy(surface);
    return there ? SW_OK
                 : sw_fail(err, SW_CANNOT_READ,
                           "%.200s: its letters cannot be drawn, as no font is installed or its file cannot be opened; "
                           "install a font (DejaVu, for example), close other programs and try again",
                           path);
}
