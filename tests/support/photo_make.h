/* photo_make.h - writes small photos of every format in memory, for the photo tests. Failures end the test (cmocka). */
#ifndef SW_SUPPORT_PHOTO_MAKE_H
#define SW_SUPPORT_PHOTO_MAKE_H

#include <stddef.h>
#include <stdint.h>

/* A file in memory. Free data with free(). */
typedef struct made {
    uint8_t *data;
    size_t size;
} made;

/* What the camera "saw": red, green, blue with 16 bits each, row after row. Free rgb with free(). */
typedef struct scene {
    int width, height;
    uint16_t *rgb;
} scene;

/* Smooth colours that survive lossy coding; every shade of grey; wild colours for lossless coding. */
scene scene_smooth(int width, int height);
scene scene_grey(int width, int height);
scene scene_wild(int width, int height);

/* Luma by the definition, 0 to 1 (Rec. ITU-R BT.601-7, 2.5.1: 0.299 R + 0.587 G + 0.114 B), computed in double. */
double scene_luma(const scene *seen, int x, int y);

/* An EXIF block put together byte by byte from JEITA CP-3451 and TIFF 6.0, starting "Exif\0\0". */
typedef struct exif_facts {
    int big_endian;
    const char *maker, *model, *taken;
    uint16_t orientation, focal_35mm;
    uint32_t focal_numerator, focal_denominator;
} exif_facts;
made make_exif(const exif_facts *facts);

typedef enum jpeg_kind { JPEG_GREY, JPEG_YCC, JPEG_YCC_420, JPEG_RGB, JPEG_CMYK } jpeg_kind;
/* progressive: 0 sequential, 1 libjpeg's own passes, 2 one pass for each of the 64 coefficients (JPEG_GREY only). */
made make_jpeg(const scene *seen, jpeg_kind kind, int quality, int progressive, const made *exif);

/* colours: PNG_COLOR_TYPE_...; gamma > 0 writes a gAMA chunk. Palette pictures use the first 1 << bits colours. */
typedef struct png_kind {
    int colours, bits, interlaced;
    double gamma;
} png_kind;
made make_png(const scene *seen, png_kind kind, const made *exif);

/* photometric and compression as in tiff.h; tile_px 0 makes strips of 5 rows. mode is "w", "wl" or "wb". */
typedef struct tiff_kind {
    const char *mode;
    int photometric, bits, compression, tile_px;
} tiff_kind;
made make_tiff(const scene *seen, tiff_kind kind, const exif_facts *facts);

made make_webp(const scene *seen, int lossless, const made *exif);

/* The Y plane of a HEIC at 8 or 10 bits, chroma neutral. turn is an orientation tag that the file's own transformations
 * are to carry out. Returns size 0 when the HEIC library on this machine cannot write. */
made make_heic(const scene *seen, int bits, int full_range, int turn, const made *exif);

#endif
