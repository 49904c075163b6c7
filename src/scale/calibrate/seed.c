/* seed.c - a crossing seen by itself.
 *
 *        . 0 .          On a ring round a crossing light and dark alternate four times: the changes give the two lines.
 *     .  ##|  .         Along a line the light side and the dark side change places at the next crossing: that gives
 * the 3 ---##+---- 1      steps. Nothing else is assumed, so a grid that was put together wrongly does no harm. . |##.
 *        . 2 .  */
#include "scale/calibrate/seed.h"

#include <math.h>

/* Samples on the ring: 4 degrees apart, finer than a line's direction is needed (a tenth of a square, one square on).
 */
enum { RING = 90 };
/* Light against dark on the ring, linear: less than this is a shadow's edge, not print. */
static const double RING_CONTRAST = 0.05;
/* Opposite changes lie half a turn apart; perspective and a centre a pixel off move them by less. rad */
static const double OPPOSITE = 0.35;
/* How far beside a line its two sides are read, and how finely it is walked, in radii; and how far until it is given
 * up: a radius is 0.15 squares at least. */
static const double BESIDE = 0.5, STRIDE = 0.1, FARTHEST = 14;

/* Radii tried, in units, and the shortest step one may answer with, in radii: each sees squares of 1.5 to 14 radii. */
static const double RADII[] = {3, 5, 8, 13, 21, 34};
static const double LEAST = 1.5;

/* Linear light at the nearest pixel; -1 outside. */
static double light_at(const sw_photo *photo, double x, double y)
{
    int column = (int)lround(x), row = (int)lround(y);
    if (column < 0 || row < 0 || column >= photo->width_px || row >= photo->height_px)
        return -1;
    return photo->linear[sw_photo_at(photo, column, row)];
}

/* The four places of the ring where light changes, as angles. */
static sw_status read_ring(const sw_photo *photo, sw_point c, double radius, double angles[4])
{
    double ring[RING], least = 1, most = 0;
    int changes = 0;
    for (int i = 0; i < RING; i++) {
        double angle = 2 * M_PI * i / RING;
        ring[i] = light_at(photo, c.x + radius * cos(angle), c.y + radius * sin(angle));
        least = fmin(least, ring[i]);
        most = fmax(most, ring[i]);
    }
    if (least < 0 || most - least < RING_CONTRAST)
        return SW_NOT_FOUND;
    for (int i = 0; i < RING; i++) {
        double middle = (least + most) / 2;
        if ((ring[i] < middle) == (ring[(i + 1) % RING] < middle))
            continue;
        if (changes == 4)
            return SW_NOT_FOUND;
        angles[changes++] = 2 * M_PI * (i + 0.5) / RING;
    }
    return changes == 4 ? SW_OK : SW_NOT_FOUND;
}

/* Difference of the two sides of a line, s along it; NAN outside. */
static double sides_at(const sw_photo *photo, sw_point c, sw_point along, sw_point beside, double s)
{
    double x = c.x + s * along.x, y = c.y + s * along.y;
    double a = light_at(photo, x + beside.x, y + beside.y), b = light_at(photo, x - beside.x, y - beside.y);
    return a < 0 || b < 0 ? NAN : a - b;
}

/* Distance along a line to the next crossing; 0 when there is none in sight. Near the crossing the sides are mixed: the
 * walk starts a radius away, and the crossing lies where the difference has half turned round. */
static double walk(const sw_photo *photo, sw_point c, sw_point along, sw_point beside, double radius)
{
    double start = sides_at(photo, c, along, beside, radius), last_like = radius;
    for (double s = radius; s < FARTHEST * radius; s += STRIDE * radius) {
        double now = sides_at(photo, c, along, beside, s);
        if (isnan(now))
            return 0;
        if (now * start > 0.5 * start * start)
            last_like = s;
        if (now * start < -0.5 * start * start)
            return (s + last_like) / 2;
    }
    return 0;
}

/* The line through angles a and b (half a turn apart), as a step to the next crossing, found on either side. */
static sw_status read_step(const sw_photo *photo, sw_point c, double a, double b, double across, double radius,
                           sw_point *step)
{
    double apart = remainder(b - a - M_PI, 2 * M_PI);
    if (fabs(apart) > OPPOSITE)
        return SW_NOT_FOUND;
    double angle = a + apart / 2;
    sw_point along = {cos(angle), sin(angle)};
    sw_point beside = {BESIDE * radius * cos(across), BESIDE * radius * sin(across)};
    double length = walk(photo, c, along, beside, radius);
    if (length == 0)
        length = walk(photo, c, (sw_point){-along.x, -along.y}, beside, radius);
    *step = (sw_point){length * along.x, length * along.y};
    return length > 0 ? SW_OK : SW_NOT_FOUND;
}

/* The angles grow clockwise as the photo is seen (y down), so down lies clockwise of across: the board as printed,
 * never mirrored. A bend keeps its sign from photo to photo. */
static sw_status seed_read(const sw_photo *photo, sw_point px, double radius_px, sw_saddle_guess *guess)
{
    double angles[4];
    if (read_ring(photo, px, radius_px, angles))
        return SW_NOT_FOUND;
    guess->px = px;
    return read_step(photo, px, angles[0], angles[2], angles[1], radius_px, &guess->across) ||
                   read_step(photo, px, angles[1], angles[3], angles[0], radius_px, &guess->down)
               ? SW_NOT_FOUND
               : SW_OK;
}

sw_status sw_seed_search(const sw_photo *photo, sw_point px, double unit_px, sw_saddle_guess *guess)
{
    for (size_t i = 0; i < sizeof RADII / sizeof *RADII; i++) {
        double radius_px = RADII[i] * unit_px;
        if (seed_read(photo, px, radius_px, guess) == 0 &&
            hypot(guess->across.x, guess->across.y) > LEAST * radius_px &&
            hypot(guess->down.x, guess->down.y) > LEAST * radius_px)
            return SW_OK;
    }
    return SW_NOT_FOUND;
}
