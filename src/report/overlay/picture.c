/* picture.c - the photo as seen straight from above, in grey. */
#include <stdlib.h>
#include <string.h>

#include "report/overlay/overlay.h"
#include "report/picture/window.h"

enum { PAPER_WHITE = 255 };

static void draw_rows(const sw_canvas *canvas, const sw_window *window, unsigned char *grey)
{
    unsigned char tone[SW_GREYS];
    size_t seen[SW_GREYS] = {0};
    sw_window_count(window, seen);
    sw_tone_make(seen, tone);
    cairo_surface_flush(canvas->surface);
    unsigned char *pixels = cairo_image_surface_get_data(canvas->surface);
    int stride = cairo_image_surface_get_stride(canvas->surface);
    for (int y = 0; y < canvas->picture_px; y++) {
        unsigned *row = (unsigned *)(void *)(pixels + (size_t)y * (size_t)stride);
        memset(grey, PAPER_WHITE, (size_t)canvas->width_px);
        sw_window_row(window, y, tone, grey);
        for (int x = 0; x < canvas->width_px; x++)
            row[x] = grey[x] * 0x010101u;
    }
    cairo_surface_mark_dirty(canvas->surface);
}

sw_status sw_overlay_picture(const sw_canvas *canvas, const sw_inspection *inspection, const sw_photo *photo,
                             sw_error *err)
{
    sw_table_view from = {.west_mm = canvas->west_mm, .north_mm = canvas->north_mm, .px_per_mm = canvas->px_per_mm};
    sw_window window;
    sw_above_make(inspection, &from.above);
    unsigned char *grey = malloc((size_t)canvas->width_px);
    sw_status status =
        grey ? sw_window_make(inspection, photo, canvas->width_px, canvas->picture_px, canvas->px_per_mm,
                              sw_table_view_place, &from, &window, err)
             : sw_fail(err, SW_NO_MEMORY, "not enough memory to draw the overlay; close other programs and try again");
    if (!status) {
        draw_rows(canvas, &window, grey);
        sw_window_free(&window);
    }
    free(grey);
    return status;
}
