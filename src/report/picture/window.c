/* window.c
 *
 * The mapping mm -> photo is smooth (a lens and a homography), so it is worked out at nodes GRID_PX apart only and
 * taken as bilinear between them. Its error is an eighth of the second difference between nodes: under 0.1 photo pixel
 * for a phone lens, where 1 % of distortion bends a line by some 1e-5 per pixel of the picture.
 */
#include "report/picture/window.h"

#include <math.h>
#include <stdlib.h>

#include "inspection/tops.h"
#include "scale/frame.h"

enum { GRID_PX = 16, MOST_SAMPLES = 4 };
/* The picture is a quiet ground: its bright parts are brought to this grey, so that dark photos read, too. */
static const double BRIGHT_SHARE = 0.9, BRIGHT_GREY = 222, MOST_GAIN = 3;

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

/* One row of a cell: count pixels from column x on, into out. Each pixel is the mean of samples x samples. */
static void fill_cell(const sw_window *from, int x, int y, int count, const unsigned char *tone, unsigned char *out)
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
            out[k] = tone[sums[k] / (n * n)];
}

void sw_window_row(const sw_window *window, int y, const unsigned char tone[SW_GREYS], unsigned char *out)
{
    for (int x = 0; x < window->width_px; x += GRID_PX) {
        int count = window->width_px - x < GRID_PX ? window->width_px - x : GRID_PX;
        fill_cell(window, x, y, count, tone, out + x);
    }
}

void sw_window_count(const sw_window *window, size_t seen[SW_GREYS])
{
    for (size_t i = 0; i < (size_t)window->columns * (size_t)window->rows; i++) {
        int value = bright_at(window->photo, whole(window->nodes[i].x), whole(window->nodes[i].y));
        if (value >= 0)
            seen[value]++;
    }
}

void sw_tone_make(const size_t seen[SW_GREYS], unsigned char tone[SW_GREYS])
{
    size_t count = 0, below = 0;
    int bright = 0;
    for (int i = 0; i < SW_GREYS; i++)
        count += seen[i];
    while (bright < SW_GREYS - 1 && (double)(below += seen[bright]) < BRIGHT_SHARE * (double)count)
        bright++;
    double gain = fmin(MOST_GAIN, BRIGHT_GREY / fmax(bright, 1));
    for (int i = 0; i < SW_GREYS; i++)
        tone[i] = (unsigned char)fmin(SW_GREYS - 1, i * gain);
}

/* Samples across a pixel: each bilinear sample is fed by two photo pixels, so this many leave none out. */
static int samples_for(double px_per_mm, const sw_scale *scale)
{
    double photo_px = scale->px_per_mm / px_per_mm;
    return photo_px > 2 ? (int)fmin(MOST_SAMPLES, ceil(photo_px / 2)) : 1;
}

sw_status sw_window_make(const sw_inspection *inspection, const sw_photo *photo, int width_px, int height_px,
                         double px_per_mm, sw_window_place *place, const void *context, sw_window *window,
                         sw_error *err)
{
    int columns = width_px / GRID_PX + 2, rows = height_px / GRID_PX + 2;
    *window = (sw_window){.photo = photo,
                          .width_px = width_px,
                          .height_px = height_px,
                          .columns = columns,
                          .rows = rows,
                          .nodes = malloc((size_t)columns * (size_t)rows * sizeof *window->nodes),
                          .samples = samples_for(px_per_mm, &inspection->scale)};
    if (!window->nodes)
        return sw_fail(err, SW_NO_MEMORY, "not enough memory to draw the pictures; close other programs and try again");
    for (int j = 0; j < rows; j++)
        for (int i = 0; i < columns; i++)
            window->nodes[(size_t)j * (size_t)columns + (size_t)i] = place(context, i * GRID_PX, j * GRID_PX);
    return SW_OK;
}

void sw_window_free(sw_window *window)
{
    if (window)
        free(window->nodes);
    if (window)
        window->nodes = NULL;
}

void sw_above_make(const sw_inspection *inspection, sw_above *above)
{
    *above = (sw_above){.inspection = inspection};
    above->known = sw_camera_place(&inspection->scale, above->camera) == SW_OK;
}

sw_point sw_above_px(const sw_above *above, sw_point mm, double rise_mm)
{
    const sw_scale *scale = &above->inspection->scale;
    const double *camera = above->camera;
    if (rise_mm == 0 || !above->known)
        return sw_scale_to_px(scale, mm);
    double k = camera[2] / (camera[2] - rise_mm);
    return sw_scale_to_px(scale, (sw_point){camera[0] + k * (mm.x - camera[0]), camera[1] + k * (mm.y - camera[1])});
}

sw_point sw_above_table_px(const sw_above *above, sw_point mm)
{
    const sw_table *table = &above->inspection->table;
    int column = (int)fmax(0, fmin(table->columns - 1, floor(mm.x / table->tile_mm)));
    int row = (int)fmax(0, fmin(table->rows - 1, floor(-mm.y / table->tile_mm)));
    size_t i = (size_t)row * (size_t)table->columns + (size_t)column;
    bool on_tile = i < above->inspection->tile_count;
    return sw_above_px(above, mm, on_tile ? sw_rise_at(&above->inspection->tiles[i], mm) : 0);
}

sw_point sw_table_view_place(const void *context, double x, double y)
{
    const sw_table_view *view = context;
    return sw_above_table_px(&view->above,
                             (sw_point){view->west_mm + x / view->px_per_mm, view->north_mm - y / view->px_per_mm});
}
