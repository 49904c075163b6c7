/* overlay.c - the table seen straight from above, each seam with its gap: layout and order of drawing. */
#include "report/overlay/overlay.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "paper/letters.h"
#include "report/common/words.h"
#include "report/picture/picture.h"

/* Picture sizes. 1800 px hold a 3x3 table of 300 mm at nearly 2 px/mm, where 0.5 mm is one pixel, and still show on any
 * screen; above 3 px/mm a phone photo has nothing more to show. */
static const double MOST_PX_PER_MM = 3, WIDEST_PX = 1800, TALLEST_PX = 3600;
/* White around the table: room for the outermost names and for seeing the tiles' rims. */
static const double MARGIN_MM = 25;
/* Text is 6 % of a tile: about 7 px high on a phone that shows a 3x3 table 390 px wide; limits for huge and small
 * tables. */
static const double FONT_PER_TILE = 0.06, SMALLEST_FONT_PX = 11, LARGEST_FONT_PX = 34;
/* The widest gap is drawn at most this wide, as a share of a tile: eye-catching, and clear of the tile's name. */
static const double WIDEST_RIBBON_PER_TILE = 1.0 / 12;
enum { MOST_WIDENED = 20 };

static double widened_of(const sw_inspection *inspection)
{
    double widest = 0;
    for (size_t i = 0; i < inspection->seam_count; i++)
        widest = fmax(widest, inspection->seams[i].max_mm); /* fmax passes NaN over */
    return sw_times_larger(widest, inspection->table.tile_mm * WIDEST_RIBBON_PER_TILE, MOST_WIDENED);
}

/* Works out scale and sizes; the legend's height follows from the width. */
static sw_status lay_out(sw_canvas *canvas, const sw_inspection *inspection, const char *path, sw_error *err)
{
    sw_bounds around;
    sw_status status = sw_bounds_of(inspection, path, &around, err);
    if (status)
        return status;
    double width = around.east_mm - around.west_mm + 2 * MARGIN_MM,
           height = around.north_mm - around.south_mm + 2 * MARGIN_MM;
    canvas->px_per_mm = fmin(MOST_PX_PER_MM, fmin(WIDEST_PX / width, TALLEST_PX / height));
    canvas->west_mm = around.west_mm - MARGIN_MM;
    canvas->north_mm = around.north_mm + MARGIN_MM;
    canvas->width_px = (int)ceil(width * canvas->px_per_mm);
    canvas->picture_px = (int)ceil(height * canvas->px_per_mm);
    double font = inspection->table.tile_mm * canvas->px_per_mm * FONT_PER_TILE;
    canvas->font_px = fmax(SMALLEST_FONT_PX, fmin(LARGEST_FONT_PX, font));
    canvas->widened = widened_of(inspection);
    return SW_OK;
}

static sw_status no_memory(const char *path, sw_error *err)
{
    return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory to draw it; close other programs and try again", path);
}

static sw_status open_surface(sw_canvas *canvas, int width, int height, const char *path, sw_error *err)
{
    cairo_destroy(canvas->pen);
    cairo_surface_destroy(canvas->surface);
    canvas->surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    canvas->pen = cairo_create(canvas->surface);
    if (cairo_status(canvas->pen) != CAIRO_STATUS_SUCCESS)
        return no_memory(path, err);
    return SW_OK;
}

static sw_status draw(const sw_canvas *canvas, const sw_inspection *inspection, const sw_photo *photo, sw_error *err)
{
    cairo_set_source_rgb(canvas->pen, 1, 1, 1);
    cairo_paint(canvas->pen);
    sw_status status = sw_overlay_picture(canvas, inspection, photo, err);
    if (status)
        return status;
    size_t *order = sw_seams_worst_first(inspection);
    if (!order && inspection->seam_count)
        return sw_fail(err, SW_NO_MEMORY, "not enough memory to draw the overlay; close other programs and try again");
    sw_overlay_names(canvas, inspection);
    for (size_t i = inspection->seam_count; i-- > 0;) /* the worst last, so that nothing covers it */
        sw_overlay_ribbon(canvas, &inspection->seams[order[i]]);
    sw_overlay_chips(canvas, inspection);
    if (order)
        sw_overlay_labels(canvas, inspection, order[0]);
    sw_overlay_legend(canvas, inspection, true);
    free(order);
    return SW_OK;
}

sw_status sw_report_overlay(const sw_inspection *inspection, const sw_photo *photo, const char *path, sw_error *err)
{
    sw_canvas canvas;
    memset(&canvas, 0, sizeof canvas);
    if (!photo || (!photo->luma8 && !photo->luma16))
        return sw_fail(err, SW_BAD_INPUT,
                       "%s: the overlay needs the photo; give it, or write the report without pictures", path);
    sw_status status = lay_out(&canvas, inspection, path, err);
    if (!status)
        status = sw_letters_check(path, err);
    if (!status) /* a small surface to measure the legend's text on */
        status = open_surface(&canvas, 1, 1, path, err);
    if (!status) {
        canvas.height_px = canvas.picture_px + (int)ceil(sw_overlay_legend(&canvas, inspection, false));
        status = open_surface(&canvas, canvas.width_px, canvas.height_px, path, err);
    }
    if (!status)
        status = draw(&canvas, inspection, photo, err);
    if (!status && cairo_status(canvas.pen) != CAIRO_STATUS_SUCCESS) /* what came after that was not drawn */
        status = no_memory(path, err);
    if (!status)
        status = sw_overlay_save(&canvas, path, err);
    cairo_destroy(canvas.pen);
    cairo_surface_destroy(canvas.surface);
    return status;
}
