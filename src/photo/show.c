/* show.c - from the sensor's frame to the picture as it is shown, and back. */
#include "photo/decode.h"

/* JEITA CP-3451 (EXIF), tag 0x0112: the value says which side of the shown scene the stored row 0 and column 0 are.
 *
 *   value  row 0   column 0          value  row 0   column 0
 *     1    top     left                5    left    top
 *     2    top     right               6    right   top
 *     3    bottom  right               7    right   bottom
 *     4    bottom  left                8    left    bottom
 *
 * So for 1 to 4 the stored x runs along the shown x, for 5 to 8 along the shown y; and an axis is turned round when its
 * zero is at the right or the bottom. */
sw_point sw_photo_show(const sw_photo *photo, sw_point sensor_px)
{
    double right = photo->width_px - 1.0, bottom = photo->height_px - 1.0;
    double x = sensor_px.x, y = sensor_px.y;
    switch (photo->orientation) {
    case 2:
        return (sw_point){right - x, y};
    case 3:
        return (sw_point){right - x, bottom - y};
    case 4:
        return (sw_point){x, bottom - y};
    case 5:
        return (sw_point){y, x};
    case 6:
        return (sw_point){bottom - y, x};
    case 7:
        return (sw_point){bottom - y, right - x};
    case 8:
        return (sw_point){y, right - x};
    default:
        return sensor_px;
    }
}

/* Shown as stored, mirrored and turned by half a turn each undo themselves, and so do 5 and 7, which swap the axes; 6 and 8, quarter
 * turns, undo each other but for the sides' lengths. */
sw_point sw_photo_sensor(const sw_photo *photo, sw_point shown_px)
{
    double right = photo->width_px - 1.0, bottom = photo->height_px - 1.0;
    double x = shown_px.x, y = shown_px.y;
    switch (photo->orientation) {
    case 6:
        return (sw_point){y, bottom - x};
    case 7:
        return (sw_point){right - y, bottom - x};
    case 8:
        return (sw_point){right - y, x};
    default:
        return sw_photo_show(photo, shown_px);
    }
}
