/* Colours of every format against those computed from the definition, mean over two by two pixels. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>

#include <cmocka.h>

#include <png.h>
#include <tiff.h>

#include "photo/decode.h"
#include "support/photo_make.h"

static sw_photo load(made file)
{
    sw_photo photo;
    sw_error err = {""};
    if (sw_photo_decode(file.data, file.size, "survey.jpg", &photo, &err))
        fail_msg("%s", err.text);
    free(file.data);
    return photo;
}

/* JFIF 1.02: Cb = -0.1687 R - 0.3313 G + 0.5 B + 128, Cr = 0.5 R - 0.4187 G - 0.0813 B + 128. */
static double defined(const scene *seen, int x, int y, int of)
{
    static const double WEIGHTS[2][3] = {{-0.1687, -0.3313, 0.5}, {0.5, -0.4187, -0.0813}};
    const uint16_t *rgb = seen->rgb + 3 * (y * seen->width + x);
    double sum = 128;
    for (int k = 0; k < 3; k++)
        sum += WEIGHTS[of][k] * rgb[k] / 257.0;
    return sum;
}

/* Worst pair, levels. */
static void expect(made file, const scene *seen, double worst)
{
    sw_photo photo = load(file);
    assert_non_null(photo.chroma);
    assert_int_equal(photo.chroma_width_px, seen->width / 2);
    assert_int_equal(photo.chroma_height_px, seen->height / 2);
    double off = 0;
    for (int y = 0; y < photo.chroma_height_px; y++)
        for (int x = 0; x < photo.chroma_width_px; x++)
            for (int of = 0; of < 2; of++) {
                double want = (defined(seen, 2 * x, 2 * y, of) + defined(seen, 2 * x + 1, 2 * y, of) +
                               defined(seen, 2 * x, 2 * y + 1, of) + defined(seen, 2 * x + 1, 2 * y + 1, of)) /
                              4;
                off = fmax(off, fabs(photo.chroma[2 * (y * photo.chroma_width_px + x) + of] - want));
            }
    if (off > worst)
        fail_msg("worst %.3f of %.3f levels", off, worst);
    sw_photo_free(&photo);
    assert_null(photo.chroma);
}

static void expect_grey(made file)
{
    sw_photo photo = load(file);
    assert_null(photo.chroma);
    sw_photo_free(&photo);
}

static void colours_of_jpeg(void **state)
{
    (void)state;
    scene smooth = scene_smooth(61, 45), grey = scene_grey(64, 33), one = scene_smooth(1, 1);
    expect(make_jpeg(&smooth, JPEG_YCC, 100, 0, NULL), &smooth, 2);
    expect(make_jpeg(&smooth, JPEG_YCC_420, 100, 0, NULL), &smooth, 2);
    expect(make_jpeg(&smooth, JPEG_YCC_420, 100, 1, NULL), &smooth, 2);
    expect_grey(make_jpeg(&grey, JPEG_GREY, 100, 0, NULL));
    expect_grey(make_jpeg(&one, JPEG_YCC_420, 100, 0, NULL));
    free(smooth.rgb);
    free(grey.rgb);
    free(one.rgb);
}

/* Rounded up to three times: a colour to 8 bits, its chroma, the mean. */
static const double ROUNDED = 2;

static void colours_of_png(void **state)
{
    (void)state;
    scene wild = scene_wild(37, 23), grey = scene_grey(16, 16);
    for (int bits = 8; bits <= 16; bits += 8) {
        expect(make_png(&wild, (png_kind){PNG_COLOR_TYPE_RGB, bits, 0, 0}, NULL), &wild, ROUNDED);
        expect(make_png(&wild, (png_kind){PNG_COLOR_TYPE_RGB_ALPHA, bits, 0, 0}, NULL), &wild, ROUNDED);
    }
    expect_grey(make_png(&wild, (png_kind){PNG_COLOR_TYPE_RGB, 8, 1, 0}, NULL));
    expect_grey(make_png(&grey, (png_kind){PNG_COLOR_TYPE_GRAY, 8, 0, 0}, NULL));
    free(wild.rgb);
    free(grey.rgb);
}

static void colours_of_tiff(void **state)
{
    (void)state;
    scene wild = scene_wild(41, 27);
    for (int tile = 0; tile <= 16; tile += 16)
        for (int bits = 8; bits <= 16; bits += 8)
            expect(make_tiff(&wild, (tiff_kind){"wl", PHOTOMETRIC_RGB, bits, COMPRESSION_LZW, tile}, NULL), &wild,
                   ROUNDED);
    expect_grey(make_tiff(&wild, (tiff_kind){"wl", PHOTOMETRIC_MINISBLACK, 8, COMPRESSION_LZW, 0}, NULL));
    free(wild.rgb);
}

static void colours_of_webp(void **state)
{
    (void)state;
    scene smooth = scene_smooth(61, 45), wild = scene_wild(37, 23);
    expect(make_webp(&smooth, 0, NULL), &smooth, 6);
    expect(make_webp(&wild, 1, NULL), &wild, ROUNDED);
    free(smooth.rgb);
    free(wild.rgb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(colours_of_jpeg),
        cmocka_unit_test(colours_of_png),
        cmocka_unit_test(colours_of_tiff),
        cmocka_unit_test(colours_of_webp),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
