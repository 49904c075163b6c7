#include "photo/corners.h"

#include <math.h>
#include <stdbool.h>

#include "maths/point.h"
#include "seamwright/defaults_and_ranges.h"

/* A right angle stays between these, degrees, when it is seen from up to 45 degrees off the vertical (its legs' ratio then changes by
 * cos 45 at most: atan(1 / cos 45) is 55, doubled 109), with room for clicks that are off. */
static const double ANGLE_LEAST_DEG = 30, ANGLE_MOST_DEG = 150;

static sw_point middle_of(const sw_point *p)
{
    return (sw_point){(p[0].x + p[1].x + p[2].x + p[3].x) / 4, (p[0].y + p[1].y + p[2].y + p[3].y) / 4};
}

void sw_corners_order(const sw_photo *photo, sw_point *corners_px)
{
    sw_point shown[4], sorted[4];
    double angle[4];
    int first = 0;
    for (int i = 0; i < 4; i++)
        shown[i] = sw_photo_show(photo, corners_px[i]);
    const sw_point middle = middle_of(shown);
    for (int i = 0; i < 4; i++) { /* y points down: growing angles run clockwise */
        const double a = atan2(shown[i].y - middle.y, shown[i].x - middle.x);
        int at = i;
        for (; at > 0 && angle[at - 1] > a; at--) {
            angle[at] = angle[at - 1];
            sorted[at] = sorted[at - 1];
        }
        angle[at] = a;
        sorted[at] = corners_px[i];
    }
    double least = INFINITY;
    for (int i = 0; i < 4; i++) {
        const sw_point at = sw_photo_show(photo, sorted[i]);
        if (at.x + at.y < least) {
            least = at.x + at.y;
            first = i;
        }
    }
    for (int i = 0; i < 4; i++)
        corners_px[i] = sorted[(first + i) % 4];
}

void sw_corners_take(const sw_photo *photo, const sw_corners *told, sw_point *corners_px)
{
    for (int i = 0; i < 4; i++)
        corners_px[i] = sw_photo_sensor(photo, told->shown_px[i]);
    sw_corners_order(photo, corners_px);
}

/* Whether each turns off by about a right angle, all the same way round. */
static bool rectangular(const sw_point *p)
{
    for (int i = 0; i < 4; i++) {
        const sw_point in = sw_minus(p[i], p[(i + 3) % 4]), out = sw_minus(p[(i + 1) % 4], p[i]);
        const double turn = atan2(in.x * out.y - in.y * out.x, in.x * out.x + in.y * out.y) * 180 / M_PI;
        if (!(turn > 180 - ANGLE_MOST_DEG && turn < 180 - ANGLE_LEAST_DEG))
            return false;
    }
    return true;
}

sw_status sw_corners_check(const sw_photo *photo, const sw_corners *told, const char *option, sw_error *err)
{
    const sw_point *p = told->shown_px;
    const bool lies = photo->orientation >= 5; /* shown turned by a quarter */
    const double width = lies ? photo->height_px : photo->width_px, height = lies ? photo->width_px : photo->height_px;
    for (int i = 0; i < 4; i++)
        if (!(p[i].x >= -0.5 && p[i].y >= -0.5 && p[i].x <= width - 0.5 && p[i].y <= height - 0.5))
            return sw_fail(err, SW_BAD_INPUT,
                           "%s: %s %g,%g lies outside the picture, which is %.0f x %.0f pixels as it is shown",
                           photo->file, option, p[i].x, p[i].y, width, height);
    for (int i = 0; i < 4; i++)
        for (int k = 0; k < i; k++)
            if (!(sw_distance(p[i], p[k]) >= SW_POINTED_APART_PX))
                return sw_fail(err, SW_BAD_INPUT,
                               "%s: two corners of %s, %g,%g and %g,%g, are less than %d pixels apart, which is too "
                               "small to measure by; point at four different corners, or go nearer",
                               photo->file, option, p[k].x, p[k].y, p[i].x, p[i].y, SW_POINTED_APART_PX);
    const sw_photo as_shown = {.width_px = (int)width, .height_px = (int)height, .orientation = 1};
    sw_point around[4] = {p[0], p[1], p[2], p[3]};
    sw_corners_order(&as_shown, around);
    if (!rectangular(around))
        return sw_fail(err, SW_BAD_INPUT,
                       "%s: the corners of %s at %g,%g %g,%g %g,%g %g,%g are not those of a square or rectangle seen "
                       "from above: three of them lie nearly in a line, or one lies between the others",
                       photo->file, option, p[0].x, p[0].y, p[1].x, p[1].y, p[2].x, p[2].y, p[3].x, p[3].y);
    return SW_OK;
}
