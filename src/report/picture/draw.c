/* draw.c - table.jpg and seams.jpg: their layout and their pixels. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "inspection/tops.h"
#include "report/picture/picture.h"
#include "seamwright/report.h"

/* The table: 1600 px hold 3 x 3 tiles of 300 mm at 1.7 px/mm, and are enough for a screen; a phone photo has no more than
 * 3 px/mm to show of it. Its rims keep some ground round them. */
static const double TABLE_MOST_PX = 1600, TABLE_MOST_PX_PER_MM = 3, TABLE_MARGIN_MM = 12;
/* The strips: as fine as the photo, to the next half; beyond 8 px/mm there is nothing to tell, gaps being read to 0.05 mm or
 * so. Wide enough to show a gap of 10 mm and what lies beside it, and a little of the crossing seams. */
static const double STRIP_MOST_PX_PER_MM = 8, STRIP_STEPS_PER_MM = 2, NO_LESS = 0.97, STRIP_ACROSS_MM = 24,
                    STRIP_BEYOND_MM = 6;
/* A megabyte: the photo's grain costs about a third of a byte a pixel. */
static const double STRIPS_MOST_PX = 3e6;
/* A JPEG file has at most 65500 rows (libjpeg), and so many are beyond what browsers draw. */
static const double MOST_ROWS = 32000;
/* Where the photo shows nothing. */
enum { NOTHING_GREY = 128 };

sw_status sw_picture_table(const sw_inspection *inspection, const char *path, sw_picture *picture, sw_error *err)
{
    sw_bounds around;
    sw_status status = sw_bounds_of(inspection, path, &around, err);
    if (status)
        return status;
    double width = around.east_mm - around.west_mm + 2 * TABLE_MARGIN_MM,
           height = around.north_mm - around.south_mm + 2 * TABLE_MARGIN_MM;
    double px_per_mm = fmin(TABLE_MOST_PX_PER_MM, TABLE_MOST_PX / fmax(width, height));
    *picture = (sw_picture){.width_px = (int)fmin(TABLE_MOST_PX, ceil(width * px_per_mm)),
                            .height_px = (int)fmin(TABLE_MOST_PX, ceil(height * px_per_mm)),
                            .px_per_mm = px_per_mm,
                            .west_mm = around.west_mm - TABLE_MARGIN_MM,
                            .north_mm = around.north_mm + TABLE_MARGIN_MM};
    return SW_OK;
}

static double seam_length(const sw_seam *seam)
{
    return hypot(seam->end_mm.x - seam->start_mm.x, seam->end_mm.y - seam->start_mm.y);
}

sw_status sw_picture_seams(const sw_inspection *inspection, const char *path, sw_picture *picture, sw_error *err)
{
    double longest = 0, count = (double)inspection->seam_count, fine = NO_LESS * inspection->scale.px_per_mm;
    for (size_t i = 0; i < inspection->seam_count; i++)
        longest = fmax(longest, seam_length(&inspection->seams[i])); /* fmax passes NaN over */
    double along = longest + 2 * STRIP_BEYOND_MM;
    double most = fmin(sqrt(STRIPS_MOST_PX / (count * along * STRIP_ACROSS_MM)), MOST_ROWS / (count * STRIP_ACROSS_MM));
    double px_per_mm = fmin(STRIP_MOST_PX_PER_MM, ceil(STRIP_STEPS_PER_MM * fmax(fine, 0)) / STRIP_STEPS_PER_MM);
    if (px_per_mm > most)
        px_per_mm = most;
    int strip_px = (int)(2 * round(px_per_mm * STRIP_ACROSS_MM / 2)); /* even: the middle line lies between two rows */
    if (!(longest > 0) || strip_px < 2)
        return sw_fail(err, SW_BAD_INPUT, "%s: there is no seam to draw; inspect a photo first", path);
    *picture = (sw_picture){.width_px = (int)ceil(along * px_per_mm),
                            .height_px = strip_px * (int)inspection->seam_count,
                            .px_per_mm = px_per_mm,
                            .from_mm = -STRIP_BEYOND_MM,
                            .strip_px = strip_px,
                            .strips = (int)inspection->seam_count};
    return SW_OK;
}

/* One side of a seam's strip: that of one tile, on whose top it is taken to lie, so that its rim stands where it was
 * measured. */
typedef struct strip_view {
    sw_above above;
    const sw_picture *picture;
    const sw_seam *seam;
    const sw_tile *tile;
    sw_point along; /* unit, from the seam's start to its end */
    double top_px;  /* of this half in the strip */
} strip_view;

static sw_point strip_place(const void *context, double x, double y)
{
    const strip_view *view = context;
    const sw_picture *p = view->picture;
    double at = p->from_mm + x / p->px_per_mm, up = (p->strip_px / 2.0 - view->top_px - y) / p->px_per_mm;
    /* Up is a quarter turn counter-clockwise from the way along: east of a seam that runs south, north of one that runs
     * east. */
    sw_point mm = {view->seam->start_mm.x + at * view->along.x - up * view->along.y,
                   view->seam->start_mm.y + at * view->along.y + up * view->along.x};
    return sw_above_px(&view->above, mm, sw_rise_at(view->tile, mm));
}

static sw_status no_memory(const char *path, sw_error *err)
{
    return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory to draw it; close other programs and try again", path);
}

/* All pixels grey, for free(). */
static unsigned char *blank(const sw_picture *picture)
{
    size_t count = (size_t)picture->width_px * (size_t)picture->height_px;
    unsigned char *pixels = malloc(count);
    if (pixels)
        memset(pixels, NOTHING_GREY, count);
    return pixels;
}

static sw_status save(const sw_picture *picture, sw_picture_of of, const sw_inspection *inspection,
                      const unsigned char *pixels, const char *path, sw_error *err)
{
    char *comment = sw_picture_comment(picture, of, inspection);
    sw_status status = comment ? sw_jpeg_save(path, pixels, picture->width_px, picture->height_px, comment, err)
                               : no_memory(path, err);
    free(comment);
    return status;
}

static sw_status need_photo(const sw_photo *photo, const char *path, sw_error *err)
{
    if (photo && (photo->luma8 || photo->luma16))
        return SW_OK;
    return sw_fail(err, SW_BAD_INPUT, "%s: the picture needs the photo; give it, or write the report without pictures",
                   path);
}

sw_status sw_report_table_picture(const sw_inspection *inspection, const sw_photo *photo, const char *path,
                                  sw_error *err)
{
    sw_picture picture;
    sw_window window = {0};
    unsigned char tone[SW_GREYS], *pixels = NULL;
    size_t seen[SW_GREYS] = {0};
    sw_table_view view;
    sw_status status = need_photo(photo, path, err);
    if (!status)
        status = sw_picture_table(inspection, path, &picture, err);
    if (!status && !(pixels = blank(&picture)))
        status = no_memory(path, err);
    if (!status) {
        view =
            (sw_table_view){.west_mm = picture.west_mm, .north_mm = picture.north_mm, .px_per_mm = picture.px_per_mm};
        sw_above_make(inspection, &view.above);
        status = sw_window_make(inspection, photo, picture.width_px, picture.height_px, picture.px_per_mm,
                                sw_table_view_place, &view, &window, err);
    }
    if (!status) {
        sw_window_count(&window, seen);
        sw_tone_make(seen, tone);
        for (int y = 0; y < picture.height_px; y++)
            sw_window_row(&window, y, tone, pixels + (size_t)y * (size_t)picture.width_px);
        status = save(&picture, SW_PICTURE_TABLE, inspection, pixels, path, err);
    }
    sw_window_free(&window);
    free(pixels);
    return status;
}

/* Both sides of a seam, the upper one first: the second tile's beside an upright seam, the first one's beside a level one. */
static sw_status make_strip(const strip_view *view, const sw_photo *photo, size_t seam, sw_window halves[2],
                            sw_error *err)
{
    const sw_inspection *inspection = view->above.inspection;
    strip_view half = *view;
    sw_status status = SW_OK;
    half.seam = &inspection->seams[seam];
    double length = seam_length(half.seam);
    half.along = (sw_point){(half.seam->end_mm.x - half.seam->start_mm.x) / length,
                            (half.seam->end_mm.y - half.seam->start_mm.y) / length};
    for (int lower = 0; !status && lower < 2; lower++) {
        bool second = half.seam->upright != (lower == 1);
        half.tile = &inspection->tiles[second ? half.seam->second : half.seam->first];
        half.top_px = lower ? half.picture->strip_px / 2.0 : 0;
        status = sw_window_make(inspection, photo, half.picture->width_px, half.picture->strip_px / 2,
                                half.picture->px_per_mm, strip_place, &half, &halves[lower], err);
    }
    return status;
}

static void fill_strips(const sw_picture *picture, const sw_window *halves, unsigned char *pixels)
{
    unsigned char tone[SW_GREYS];
    size_t seen[SW_GREYS] = {0};
    int half_px = picture->strip_px / 2;
    for (int h = 0; h < 2 * picture->strips; h++)
        sw_window_count(&halves[h], seen);
    sw_tone_make(seen, tone);
    for (int h = 0; h < 2 * picture->strips; h++)
        for (int y = 0; y < half_px; y++)
            sw_window_row(&halves[h], y, tone, pixels + ((size_t)h * half_px + y) * (size_t)picture->width_px);
}

sw_status sw_report_seams_picture(const sw_inspection *inspection, const sw_photo *photo, const char *path,
                                  sw_error *err)
{
    sw_picture picture = {0};
    sw_window *halves = calloc(2 * inspection->seam_count + 1, sizeof *halves);
    unsigned char *pixels = NULL;
    strip_view view = {.picture = &picture};
    sw_status status = need_photo(photo, path, err);
    if (!status)
        status = sw_picture_seams(inspection, path, &picture, err);
    if (!status && (!halves || !(pixels = blank(&picture))))
        status = no_memory(path, err);
    sw_above_make(inspection, &view.above);
    for (size_t i = 0; !status && i < inspection->seam_count; i++)
        status = make_strip(&view, photo, i, &halves[2 * i], err);
    if (!status) {
        fill_strips(&picture, halves, pixels);
        status = save(&picture, SW_PICTURE_SEAMS, inspection, pixels, path, err);
    }
    for (size_t h = 0; halves && h < 2 * inspection->seam_count; h++)
        sw_window_free(&halves[h]);
    free(halves);
    free(pixels);
    return status;
}
