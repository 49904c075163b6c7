/* picture.c - the photo as seen straight from above, in grey.
 *
 * The mapping mm -> photo is smooth (a lens and a homography), so it is worked out at nodes GRID_PX apart only and
 * taken as bilinear between them. Its error is an eighth of the second difference between nodes: under 0.1 photo pixel
 * for a phone lens, where 1 % of distortion bends a line by some 1e-5 per pixel of canvas.
 */
#include <math.h>
#include <stdlib.h>

#include "inspection/tops.h"
#include "report/overlay/overlay.h"
#include "scale/frame.h"

enum { GRID_PX = 16, MOST_SAMPLES = 4, LEVELS = 256 };
/* The picture is a quiet ground: its bright parts are brought to this grey, so that dark photos read, too. */
static const double BRIGHT_SHARE = 0.9, BRIGHT_GREY = 222, MOST_GAIN = 3;

typedef struct lookup {
    const sw_photo *photo;
    const sw_point *nodes; /* photo pixels */
    int columns, rows;     /* of nodes */
    int samples;           /* across one canvas pixel, so that no line of the photo falls between samples */
} lookup;

/* Photo coordinates times ONE, so that the inner loop is whole numbers: 2^-12 px is far finer than a grey level shows.
 */
enum { ONE_BITS = 12, ONE = 1 << ONE_BITS, WEIGHT_BITS = 8 };

/* Stored brightness, 0 to 255, bilinear with weights of 1/256; negative outside the photo. */
static inline int bright_at(const sw_photo *photo, int x, int y)
{
    int column = x >> ONE_BITS, row = y >> ONE_BITS;
    if (x < 0 || y < 0 || column >= photo->width_px - 1 || row >= photo->height_px - 1)
        return -1;
    unsigned right = (unsigned)(x & (ONE - 1)) >> (ONE_BITS - WEIGHT_BITS), left = (1u << WEIGHT_BITS) - right;
    unsigned down = (unsigned)(y & (ONE - 1)) >> (ONE_BITS - WEIGHT_BITS), up = (1u << WEIGHT_BITS) - down;
    unsigned above = sw_photo_at(photo, column, row) * left + sw_photo_at(photo, column + 1, row) * right;
    unsigned below = sw_photo_at(photo, column, row + 1) * left + sw_photo_at(photo, column + 1, row + 1) * right;
    /* At most 65535 * 2^16, which unsigned holds. */
    unsigned value = (above * up + below * down) >> (2 * WEIGHT_BITS);
    return (int)(photo->bits == 8 ? value : value >> 8);
}

/* A photo coordinate as a whole number; places far outside (or not a number) become one so far out that the steps
 * across a cell do not lead back in. */
static int whole(double px)
{
    const double far_px = 1 << (30 - ONE_BITS);
    return fabs(px) < far_px ? (int)floor(px * ONE) : -(1 << 30);
}

/* The same for a step between pixels; 0 where the mapping breaks down (behind the camera), so that nothing overflows.
 */
static int whole_step(double px)
{
    const double wildest_px = 1024;
    return fabs(px) < wildest_px ? (int)(px * ONE) : 0;
}

static sw_point between(sw_point a, sw_point b, double share)
{
    return (sw_point){a.x + (b.x - a.x) * share, a.y + (b.y - a.y) * share};
}

/* One row of a canvas cell: count pixels from canvas column x on, into out. Each pixel is the mean of samples x
 * samples. */
static void fill_row(const lookup *from, int x, int y, int count, const unsigned char *tone, unsigned *out)
{
    const sw_point *node = from->nodes + (size_t)(y / GRID_PX) * (size_t)from->columns + (size_t)(x / GRID_PX);
    int n = from->samples, sums[GRID_PX] = {0}, outside[GRID_PX] = {0};
    for (int j = 0; j < n; j++) {
        double down = (y % GRID_PX + (j + 0.5) / n) / GRID_PX;
        sw_point west = between(node[0], node[from->columns], down),
                 east = between(node[1], node[from->columns + 1], down);
        for (int i = 0; i < n; i++) {
            sw_point first = between(west, east, (i + 0.5) / n / GRID_PX);
            int at_x = whole(first.x), at_y = whole(first.y);
            int step_x = whole_step((east.x - west.x) / GRID_PX), step_y = whole_step((east.y - west.y) / GRID_PX);
            for (int k = 0; k < count; k++, at_x += step_x, at_y += step_y) {
                int value = bright_at(from->photo, at_x, at_y);
                sums[k] += value;
                outside[k] |= value < 0;
            }
        }
    }
    for (int k = 0; k < count; k++)
        if (!outside[k])
            out[k] = tone[sums[k] / (n * n)] * 0x010101u;
}

/* Stored brightness -> grey shown: a gain, in STEPS levels; fewer levels make the file half as large and show as well.
 */
static void make_tone(const lookup *from, unsigned char tone[LEVELS])
{
    size_t histogram[LEVELS] = {0}, count = 0, below = 0;
    int bright = 0;
    for (size_t i = 0; i < (size_t)from->columns * (size_t)from->rows; i++) {
        int value = bright_at(from->photo, whole(from->nodes[i].x), whole(from->nodes[i].y));
        if (value >= 0) {
            histogram[value]++;
            count++;
        }
    }
    while (bright < LEVELS - 1 && (double)(below += histogram[bright]) < BRIGHT_SHARE * (double)count)
        bright++;
    double gain = fmin(MOST_GAIN, BRIGHT_GREY / fmax(bright, 1));
    for (int i = 0; i < LEVELS; i++)
        tone[i] = (unsigned char)fmin(LEVELS - 1, i * gain);
}

/* Samples across a canvas pixel: each bilinear sample is fed by two photo pixels, so this many leave none out. */
static int samples_for(const sw_canvas *canvas, const sw_scale *scale)
{
    double photo_px = scale->px_per_mm / canvas->px_per_mm;
    return photo_px > 2 ? (int)fmin(MOST_SAMPLES, ceil(photo_px / 2)) : 1;
}

/* How far the top under a place stands above the mm frame's plane; 0 where heights are not known. */
static double rise_at(const sw_inspection *inspection, sw_point mm)
{
    const sw_table *table = &inspection->table;
    int column = (int)fmax(0, fmin(table->columns - 1, floor(mm.x / table->tile_mm)));
    int row = (int)fmax(0, fmin(table->rows - 1, floor(-mm.y / table->tile_mm)));
    size_t i = (size_t)row * (size_t)table->columns + (size_t)column;
    return i < inspection->tile_count ? sw_rise_at(&inspection->tiles[i], mm) : 0;
}

/* Where the photo shows a place of the table: a higher top hides what lies farther from the camera's foot. camera may
 * be NULL. */
static sw_point photo_place(const sw_inspection *inspection, const double camera[3], sw_point mm)
{
    double rise = camera ? rise_at(inspection, mm) : 0;
    if (rise == 0)
        return sw_scale_to_px(&inspection->scale, mm);
    double k = camera[2] / (camera[2] - rise);
    return sw_scale_to_px(&inspection->scale,
                          (sw_point){camera[0] + k * (mm.x - camera[0]), camera[1] + k * (mm.y - camera[1])});
}

sw_status sw_overlay_picture(const sw_canvas *canvas, const sw_inspection *inspection, const sw_photo *photo,
                             sw_error *err)
{
    int columns = canvas->width_px / GRID_PX + 2, rows = canvas->picture_px / GRID_PX + 2;
    double place[3], *camera = sw_camera_place(&inspection->scale, place) ? NULL : place;
    sw_point *nodes = malloc((size_t)columns * (size_t)rows * sizeof *nodes);
    if (!nodes)
        return sw_fail(err, SW_NO_MEMORY, "not enough memory to draw the overlay; close other programs and try again");
    for (int j = 0; j < rows; j++)
        for (int i = 0; i < columns; i++) {
            sw_point mm = {canvas->west_mm + i * GRID_PX / canvas->px_per_mm,
                           canvas->north_mm - j * GRID_PX / canvas->px_per_mm};
            nodes[(size_t)j * (size_t)columns + (size_t)i] = photo_place(inspection, camera, mm);
        }
    lookup from = {photo, nodes, columns, rows, samples_for(canvas, &inspection->scale)};
    unsigned char tone[LEVELS];
    make_tone(&from, tone);
    cairo_surface_flush(canvas->surface);
    unsigned char *pixels = cairo_image_surface_get_data(canvas->surface);
    int stride = cairo_image_surface_get_stride(canvas->surface);
    for (int y = 0; y < canvas->picture_px; y++) {
        unsigned *row = (unsigned *)(void *)(pixels + (size_t)y * (size_t)stride);
        for (int x = 0; x < canvas->width_px; x += GRID_PX) {
            int count = canvas->width_px - x < GRID_PX ? canvas->width_px - x : GRID_PX;
            fill_row(&from, x, y, count, tone, row + x);
        }
    }
    cairo_surface_mark_dirty(canvas->surface);
    free(nodes);
    return SW_OK;
}
