/* decode.h - inside the photo stage: one decoder a format, and what they share.
 *
 * A decoder gets a whole file in memory and an all-zero photo. It calls sw_photo_room once it knows the size from the
 * header, before anything of the picture's size is allocated, then fills luma8 or luma16. It may leave a half-filled
 * photo behind when it fails: sw_photo_decode frees and zeroes it.
 */
#ifndef SW_PHOTO_DECODE_H
#define SW_PHOTO_DECODE_H

#include <stddef.h>
#include <stdint.h>

#include "seamwright/photo.h"
#include "seamwright/status.h"

/* Longest side accepted, px: JPEG's own limit in libjpeg (JPEG_MAX_DIMENSION), and far beyond any phone. */
#define SW_PHOTO_MAX_SIDE_PX 65500u

/* A file in memory. name stands at the head of messages. */
typedef struct sw_source {
    const uint8_t *data;
    size_t size;
    const char *name;
} sw_source;

typedef sw_status sw_decoder(const sw_source *source, sw_photo *photo, sw_error *err);
sw_decoder sw_decode_jpeg, sw_decode_png, sw_decode_tiff, sw_decode_webp, sw_decode_heif;

/* Decodes a photo from memory: everything sw_photo_load does but the reading of the file. data is not kept. On failure
 * *photo is zeroed. */
sw_status sw_photo_decode(const uint8_t *data, size_t size, const char *name, sw_photo *photo, sw_error *err);

/* Checks the size against the limits, then takes memory for luma and the linear table. bits is 8 or 16. */
sw_status sw_photo_room(const sw_source *source, uint64_t width, uint64_t height, int bits, sw_photo *photo,
                        sw_error *err);

/* Memory for the colours of a photo that has its room, all zero. SW_NO_MEMORY. */
sw_status sw_photo_colour_room(const sw_source *source, sw_photo *photo, sw_error *err);

/* Adds a pixel's colour, 8 bits each, to the mean over its two by two; each pixel once. A photo without room for colours stays as it is. */
void sw_photo_add_colour(sw_photo *photo, size_t x, size_t y, uint32_t red, uint32_t green, uint32_t blue);

/* The size check alone. */
sw_status sw_photo_fits(const sw_source *source, uint64_t width, uint64_t height, sw_error *err);

/* The failures every format knows; detail is the library's own wording, for a bug report. */
sw_status sw_photo_damaged(const sw_source *source, const char *detail, sw_error *err);
sw_status sw_photo_not_understood(const sw_source *source, sw_error *err);
sw_status sw_photo_no_memory(const sw_source *source, sw_error *err);

/* sRGB decoding curve, IEC 61966-2-1: encoded value 0 to 1 -> linear light 0 to 1. */
double sw_srgb_to_linear(double encoded);

/* Luma of a colour in stored values, weights of Rec. ITU-R BT.601 as in JPEG's Y (JFIF 1.02: 0.299, 0.587, 0.114),
 * rounded. Weights are scaled by 65536 and sum to it, so grey stays exactly grey; 65535 * 65536 + 32768 fits 32 bits.
 */
static inline uint32_t sw_luma_of(uint32_t red, uint32_t green, uint32_t blue)
{
    return (19595u * red + 38470u * green + 7471u * blue + 32768u) >> 16;
}

/* Reads orientation, time, camera and focal lengths from an EXIF block, with or without its leading "Exif\0\0".
 * Whatever is missing or makes no sense stays as it is in *photo. */
void sw_photo_read_exif(const uint8_t *block, size_t size, sw_photo *photo);

/* The setters behind it, for formats that keep these facts elsewhere. Text need not end in NUL. */
void sw_photo_set_taken(sw_photo *photo, const char *exif_time, size_t size);
void sw_photo_set_camera(sw_photo *photo, const char *maker, const char *model);
void sw_photo_set_orientation(sw_photo *photo, unsigned tag);
void sw_photo_set_focal(sw_photo *photo, double focal_mm, double focal_35mm);

#endif
