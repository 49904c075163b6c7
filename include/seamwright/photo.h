/* photo.h - a photo's brightness, in the frame of the sensor.
 *
 * Pixel convention, used everywhere: the centre of the top-left pixel is (0, 0), x to the right, y down.
 * The pixels stay as the sensor saw them, because that is where a lens profile holds; the orientation tag is kept beside
 * them and only decides which way is "north" (see sw_photo_show).
 */
#ifndef SEAMWRIGHT_PHOTO_H
#define SEAMWRIGHT_PHOTO_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Largest photo accepted, in pixels; larger claims are refused from the header alone, before memory is taken. */
#define SW_PHOTO_MAX_PIXELS 130000000u

typedef struct sw_point {
    double x, y;
} sw_point;

/* Four corners that somebody points at, px as the photo is shown (sw_photo_show), in any order. */
typedef struct sw_corners {
    sw_point shown_px[4];
} sw_corners;

/* Free with sw_photo_free. */
typedef struct sw_photo {
    int width_px, height_px;
    int bits;         /* 8: luma8 is set, 16: luma16 is set */
    uint8_t *luma8;   /* width_px * height_px samples, row after row, no padding; stored (encoded) luma, not linear */
    uint16_t *luma16; /* the same for 16-bit photos */
    float *linear;    /* stored sample -> linear light, 0 to 1 (sRGB curve, IEC 61966-2-1); 1 << bits entries */
    uint8_t *
        chroma; /* chroma_width_px * chroma_height_px pairs, row after row: Cb and Cr of JPEG (JFIF 1.02), 128 each where there is no
                          colour, of stored values brought to 8 bits; pair (X, Y) is the mean over pixels 2 X to 2 X + 1, 2 Y to 2 Y + 1. NULL: the
                          photo is grey, or of a kind whose colours are not read */
    int chroma_width_px, chroma_height_px; /* halves of the photo's own, rounded down */
    int orientation;                       /* EXIF orientation tag, 1 to 8; 1 when there is none */
    char taken[32];                        /* "2026-05-01 10:12:00" or "" */
    char camera[96];                       /* maker and model, or "" */
    double focal_mm;                       /* focal length from EXIF, mm; 0 when unknown */
    double focal_35mm;                     /* 35 mm equivalent from EXIF, mm; 0 when unknown */
    double jpeg_step; /* mean step, levels, in which a JPEG's luma keeps its 15 lowest frequencies; 0: no JPEG */
    char file[256];   /* base name of the file, for messages and reports */
} sw_photo;

/* Reads a JPEG, PNG, TIFF, WebP or HEIC photo. On success *photo is filled and the caller frees it; on failure *photo is
 * zeroed. Truncated or damaged files, photos over SW_PHOTO_MAX_PIXELS, and files that are no photo are SW_BAD_INPUT;
 * a file that cannot be opened is SW_CANNOT_READ. */
SW_API sw_status sw_photo_load(const char *path, sw_photo *photo, sw_error *err);

/* Whether a plain file begins as one of these does; nothing more of it is read. */
SW_API bool sw_photo_is(const char *path);

/* Frees what a photo owns and zeroes it. NULL and an already freed photo are fine. */
SW_API void sw_photo_free(sw_photo *photo);

/* Where a sensor pixel stands when the photo is shown the right way up (orientation applied), in pixels. */
SW_API sw_point sw_photo_show(const sw_photo *photo, sw_point sensor_px);

/* The other way round: which sensor pixel is shown at that place. */
SW_API sw_point sw_photo_sensor(const sw_photo *photo, sw_point shown_px);

/* Stored sample at column x, row y (0 <= x < width_px, 0 <= y < height_px; not checked). */
static inline unsigned sw_photo_at(const sw_photo *photo, int x, int y)
{
    size_t at = (size_t)y * (size_t)photo->width_px + (size_t)x;
    return photo->bits == 8 ? photo->luma8[at] : photo->luma16[at];
}

#ifdef __cplusplus
}
#endif
#endif
