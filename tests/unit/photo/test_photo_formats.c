/* Every format read back from what its own library wrote, against luma computed from the definition. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <png.h>
#include <tiff.h>

#include "photo/decode.h"
#include "support/photo_make.h"

static const exif_facts facts = {0, "River", "Valley 3", "2026:05:01 10:12:00", 6, 26, 425, 100};

static sw_photo load(made *file)
{
    sw_photo photo;
    sw_error err = {""};
    sw_status status = sw_photo_decode(file->data, file->size, "survey.jpg", &photo, &err);
    if (status)
        print_error("%s\n", err.text);
    assert_int_equal(status, SW_OK);
    assert_string_equal(photo.file, "survey.jpg");
    free(file->data);
    *file = (made){0};
    return photo;
}

/* How far luma is from the definition, in 8-bit levels: worst pixel, and mean error (a wrong range or weight shows
 * there). */
typedef struct distance {
    double worst, mean;
} distance;

static distance distance_of(const sw_photo *photo, const scene *seen)
{
    assert_int_equal(photo->width_px, seen->width);
    assert_int_equal(photo->height_px, seen->height);
    distance d = {0, 0};
    double top = photo->bits == 8 ? 255 : 65535;
    for (int y = 0; y < seen->height; y++)
        for (int x = 0; x < seen->width; x++) {
            double off = 255 * (sw_photo_at(photo, x, y) / top - scene_luma(seen, x, y));
            d.worst = fmax(d.worst, fabs(off));
            d.mean += off / (seen->width * seen->height);
        }
    return d;
}

/* Reads the file, checks it against the scene, frees the file and the photo. */
static void expect(made file, const scene *seen, int bits, double worst, double mean)
{
    sw_photo photo = load(&file);
    distance d = distance_of(&photo, seen);
    if (d.worst > worst || fabs(d.mean) > mean)
        print_error("worst %.4f of %.4f, mean %.4f of %.4f levels\n", d.worst, worst, d.mean, mean);
    assert_true(d.worst <= worst && fabs(d.mean) <= mean);
    assert_int_equal(photo.bits, bits);
    assert_true(bits == 8 ? photo.luma8 && !photo.luma16 : photo.luma16 && !photo.luma8);
    sw_photo_free(&photo);
}

static void expect_facts(made file, int orientation)
{
    sw_photo photo = load(&file);
    assert_int_equal(photo.orientation, orientation);
    assert_string_equal(photo.taken, "2026-05-01 10:12:00");
    assert_string_equal(photo.camera, "River Valley 3");
    assert_true(fabs(photo.focal_mm - 4.25) < 1e-6);
    assert_true(photo.focal_35mm == 26);
    sw_photo_free(&photo);
}

/* Colours are subsampled and rounded on the way, so a few levels are fair; the mean is not allowed to move. */
static void jpeg_round_trips(void **state)
{
    (void)state;
    scene smooth = scene_smooth(61, 45), grey = scene_grey(64, 33);
    expect(make_jpeg(&grey, JPEG_GREY, 100, 0, NULL), &grey, 8, 1.5, 0.1);
    expect(make_jpeg(&smooth, JPEG_YCC, 100, 0, NULL), &smooth, 8, 2, 0.2);
    expect(make_jpeg(&smooth, JPEG_YCC_420, 100, 0, NULL), &smooth, 8, 2, 0.2);
    expect(make_jpeg(&smooth, JPEG_RGB, 100, 0, NULL), &smooth, 8, 2, 0.2);
    expect(make_jpeg(&smooth, JPEG_YCC_420, 100, 1, NULL), &smooth, 8, 2, 0.2);
    expect(make_jpeg(&smooth, JPEG_RGB, 100, 1, NULL), &smooth, 8, 2, 0.2);
    free(smooth.rgb);
    free(grey.rgb);
}

/* Progressive is another order of the same coefficients (ITU-T T.81, annex G): every pixel must be the same. */
static void progressive_equals_sequential(void **state)
{
    (void)state;
    scene wild = scene_wild(40, 56);
    made files[2] = {make_jpeg(&wild, JPEG_YCC_420, 60, 0, NULL), make_jpeg(&wild, JPEG_YCC_420, 60, 1, NULL)};
    sw_photo first = load(&files[0]), second = load(&files[1]);
    assert_memory_equal(first.luma8, second.luma8, 40 * 56);
    sw_photo_free(&first);
    sw_photo_free(&second);
    free(wild.rgb);
}

static void png_round_trips(void **state)
{
    (void)state;
    scene grey = scene_grey(32, 16), wild = scene_wild(37, 23);
    for (int interlaced = 0; interlaced < 2; interlaced++) {
        for (int bits = 1; bits <= 16; bits *= 2) {
            double step = 255.0 / ((1 << bits) - 1);
            expect(make_png(&grey, (png_kind){PNG_COLOR_TYPE_GRAY, bits, interlaced, 0}, NULL), &grey,
                   bits == 16 ? 16 : 8, step / 2 + 0.01, 0.3);
        }
        expect(make_png(&wild, (png_kind){PNG_COLOR_TYPE_GRAY_ALPHA, 8, interlaced, 0}, NULL), &wild, 8, 1.01, 0.05);
        for (int bits = 8; bits <= 16; bits += 8) {
            double worst = bits == 8 ? 1.01 : 0.004; /* stored colours and luma are each off by half a step at most */
            expect(make_png(&wild, (png_kind){PNG_COLOR_TYPE_RGB, bits, interlaced, 0}, NULL), &wild, bits, worst,
                   0.05);
            expect(make_png(&wild, (png_kind){PNG_COLOR_TYPE_RGB_ALPHA, bits, interlaced, 0}, NULL), &wild, bits, worst,
                   0.05);
        }
    }
    free(grey.rgb);
    free(wild.rgb);
}

/* With a gamma chunk libpng likes to weigh colours in linear light; luma is weighed in stored values. */
static void png_gamma_changes_nothing(void **state)
{
    (void)state;
    scene wild = scene_wild(20, 20);
    expect(make_png(&wild, (png_kind){PNG_COLOR_TYPE_RGB, 8, 0, 1 / 2.2}, NULL), &wild, 8, 1.01, 0.05);
    expect(make_png(&wild, (png_kind){PNG_COLOR_TYPE_RGB, 16, 0, 1.0}, NULL), &wild, 16, 0.004, 0.01);
    free(wild.rgb);
}

static void png_palette_is_looked_up(void **state)
{
    (void)state;
    scene grey = scene_grey(16, 16);
    for (int bits = 1; bits <= 8; bits *= 2) {
        made file = make_png(&grey, (png_kind){PNG_COLOR_TYPE_PALETTE, bits, 0, 0}, NULL);
        sw_photo photo = load(&file);
        for (int i = 0; i < 256; i++) {
            int entry = (int)((i * 65535u / 255 * ((1u << bits) - 1) + 32767) / 65535);
            double luma = 0.299 * entry + 0.587 * (255 - entry) + 0.114 * (entry / 2);
            assert_true(fabs(photo.luma8[i] - luma) <= 0.51);
        }
        sw_photo_free(&photo);
    }
    free(grey.rgb);
}

static void tiff_round_trips(void **state)
{
    (void)state;
    static const int compressions[] = {COMPRESSION_NONE, COMPRESSION_LZW, COMPRESSION_ADOBE_DEFLATE,
                                       COMPRESSION_PACKBITS};
    static const int kinds[] = {PHOTOMETRIC_MINISBLACK, PHOTOMETRIC_MINISWHITE, PHOTOMETRIC_RGB};
    scene wild = scene_wild(41, 27);
    for (int tile = 0; tile <= 16; tile += 16)
        for (size_t c = 0; c < sizeof compressions / sizeof *compressions; c++)
            for (size_t k = 0; k < sizeof kinds / sizeof *kinds; k++)
                for (int bits = 8; bits <= 16; bits += 8) {
                    tiff_kind kind = {c % 2 ? "wb" : "wl", kinds[k], bits, compressions[c], tile};
                    expect(make_tiff(&wild, kind, NULL), &wild, bits, bits == 8 ? 1.01 : 0.004, 0.05);
                }
    free(wild.rgb);
}

static void tiff_holds_jpeg_and_palette(void **state)
{
    (void)state;
    scene smooth = scene_smooth(48, 32), grey = scene_grey(16, 16);
    for (int tile = 0; tile <= 16; tile += 16) {
        expect(make_tiff(&smooth, (tiff_kind){"w", PHOTOMETRIC_YCBCR, 8, COMPRESSION_JPEG, tile}, NULL), &smooth, 8, 3,
               0.3);
        expect(make_tiff(&smooth, (tiff_kind){"w", PHOTOMETRIC_MINISBLACK, 8, COMPRESSION_JPEG, tile}, NULL), &smooth,
               8, 2, 0.2);
    }
    made file = make_tiff(&grey, (tiff_kind){"w", PHOTOMETRIC_PALETTE, 8, COMPRESSION_LZW, 0}, NULL);
    sw_photo photo = load(&file);
    for (int i = 0; i < 256; i++)
        assert_true(fabs(photo.luma8[i] - (0.299 * i + 0.587 * (255 - i) + 0.114 * (i / 2))) <= 0.51);
    sw_photo_free(&photo);
    free(smooth.rgb);
    free(grey.rgb);
}

/* A missed spreading of the studio range would move the mean by up to 16 levels. */
static void webp_round_trips(void **state)
{
    (void)state;
    scene smooth = scene_smooth(61, 45), grey = scene_grey(64, 48), wild = scene_wild(37, 23);
    expect(make_webp(&wild, 1, NULL), &wild, 8, 1.01, 0.05);
    expect(make_webp(&smooth, 0, NULL), &smooth, 8, 5, 0.5);
    expect(make_webp(&grey, 0, NULL), &grey, 8, 8, 0.5);
    free(smooth.rgb);
    free(grey.rgb);
    free(wild.rgb);
}

static int heic_is_written(void)
{
    scene smooth = scene_smooth(96, 64);
    made probe = make_heic(&smooth, 8, 1, 1, NULL);
    free(smooth.rgb);
    free(probe.data);
    return probe.size > 0;
}

static void heic_round_trips(void **state)
{
    (void)state;
    if (!heic_is_written())
        skip();
    scene smooth = scene_smooth(96, 64);
    expect(make_heic(&smooth, 8, 1, 1, NULL), &smooth, 8, 5, 0.5);
    expect(make_heic(&smooth, 8, 0, 1, NULL), &smooth, 8, 5, 0.5);
    expect(make_heic(&smooth, 10, 1, 1, NULL), &smooth, 16, 5, 0.5);
    expect(make_heic(&smooth, 10, 0, 1, NULL), &smooth, 16, 5, 0.5);
    free(smooth.rgb);
}

/* The shown picture as seen through sw_photo_show, for comparing photos in different frames. */
static int same_when_shown(const sw_photo *a, const sw_photo *b, int slack)
{
    sw_point corner = sw_photo_show(b, (sw_point){b->width_px - 1, b->height_px - 1});
    sw_point origin = sw_photo_show(b, (sw_point){0, 0});
    int width = (int)fmax(corner.x, origin.x) + 1, height = (int)fmax(corner.y, origin.y) + 1;
    int *shown = calloc((size_t)width * (size_t)height, sizeof *shown), same = 1;
    assert_non_null(shown);
    for (int y = 0; y < b->height_px; y++)
        for (int x = 0; x < b->width_px; x++) {
            sw_point p = sw_photo_show(b, (sw_point){x, y});
            shown[(int)p.y * width + (int)p.x] = (int)sw_photo_at(b, x, y);
        }
    for (int y = 0; y < a->height_px; y++)
        for (int x = 0; x < a->width_px; x++) {
            sw_point p = sw_photo_show(a, (sw_point){x, y});
            int inside = p.x >= 0 && p.y >= 0 && p.x < width && p.y < height;
            same = same && inside && abs(shown[(int)p.y * width + (int)p.x] - (int)sw_photo_at(a, x, y)) <= slack;
        }
    free(shown);
    return same;
}

/* The file's own quarter turn (tag 6 as seen by the writer) with the same in EXIF: the sensor's frame and the tag are
 * kept. Without EXIF, or with an EXIF that does not fit, the upright picture with tag 1. All look the same when shown.
 */
static void heic_keeps_the_sensor_frame(void **state)
{
    (void)state;
    if (!heic_is_written())
        skip();
    scene smooth = scene_smooth(96, 64);
    exif_facts straight = facts;
    straight.orientation = 1;
    made turned = make_exif(&facts), upright = make_exif(&straight);
    made files[3] = {make_heic(&smooth, 8, 1, 6, &turned), make_heic(&smooth, 8, 1, 6, NULL),
                     make_heic(&smooth, 8, 1, 6, &upright)};
    sw_photo sensor = load(&files[0]), bare = load(&files[1]), unfit = load(&files[2]);
    assert_int_equal(sensor.width_px, 96);
    assert_int_equal(sensor.orientation, 6);
    assert_string_equal(sensor.taken, "2026-05-01 10:12:00");
    assert_int_equal(bare.width_px, 64);
    assert_int_equal(bare.orientation, 1);
    assert_int_equal(unfit.width_px, 64);
    assert_int_equal(unfit.orientation, 1);
    assert_true(same_when_shown(&sensor, &bare, 0));
    assert_true(same_when_shown(&unfit, &bare, 0));
    sw_photo_free(&sensor);
    sw_photo_free(&bare);
    sw_photo_free(&unfit);
    free(turned.data);
    free(upright.data);
    free(smooth.rgb);
}

/* A half turn, or a tag 6 without any turn in the file: the decoder's picture, tag 1. */
static void heic_orientation_is_1_otherwise(void **state)
{
    (void)state;
    if (!heic_is_written())
        skip();
    scene smooth = scene_smooth(96, 64);
    made turned = make_exif(&facts);
    made files[2] = {make_heic(&smooth, 8, 1, 1, &turned), make_heic(&smooth, 8, 1, 3, NULL)};
    for (int i = 0; i < 2; i++) {
        sw_photo photo = load(&files[i]);
        assert_int_equal(photo.width_px, 96);
        assert_int_equal(photo.orientation, 1);
        sw_photo_free(&photo);
    }
    free(turned.data);
    free(smooth.rgb);
}

static void facts_are_read_from_every_format(void **state)
{
    (void)state;
    scene smooth = scene_smooth(32, 24);
    made exif = make_exif(&facts);
    expect_facts(make_jpeg(&smooth, JPEG_YCC_420, 90, 0, &exif), 6);
    expect_facts(make_png(&smooth, (png_kind){PNG_COLOR_TYPE_RGB, 8, 0, 0}, &exif), 6);
    expect_facts(make_webp(&smooth, 0, &exif), 6);
    expect_facts(make_webp(&smooth, 1, &exif), 6);
    expect_facts(make_tiff(&smooth, (tiff_kind){"w", PHOTOMETRIC_RGB, 8, COMPRESSION_LZW, 0}, &facts), 6);
    if (heic_is_written())
        expect_facts(make_heic(&smooth, 8, 1, 1, &exif), 1);
    free(exif.data);
    free(smooth.rgb);
}

/* IEC 61966-2-1:1999, 5.2, as quoted in W3C CSS Color Module Level 4, section 10.2: linear below 0.04045 with slope
 * 1 / 12.92, ((v + 0.055) / 1.055)^2.4 above. At the break the two agree to about 1e-8; 0.04045 / 12.92 = 0.0031308. */
static void linear_table_is_srgb(void **state)
{
    (void)state;
    assert_true(fabs(sw_srgb_to_linear(0.04045) - 0.0031308) < 5e-8);
    assert_true(fabs(sw_srgb_to_linear(0.04045 + 1e-9) - sw_srgb_to_linear(0.04045)) < 1e-7);
    assert_true(fabs(sw_srgb_to_linear(0.02) - 0.02 / 12.92) < 1e-15);
    assert_true(sw_srgb_to_linear(0) == 0 && fabs(sw_srgb_to_linear(1) - 1) < 1e-15);
    /* The way back, by the standard's inverse curve 1.055 L^(1/2.4) - 0.055: 0.5 -> 0.735357 (computed). */
    assert_true(fabs(1.055 * pow(sw_srgb_to_linear(0.735357), 1 / 2.4) - 0.055 - 0.735357) < 1e-12);
    scene grey = scene_grey(8, 8);
    made files[2] = {make_png(&grey, (png_kind){PNG_COLOR_TYPE_GRAY, 8, 0, 0}, NULL),
                     make_png(&grey, (png_kind){PNG_COLOR_TYPE_GRAY, 16, 0, 0}, NULL)};
    sw_photo eight = load(&files[0]), sixteen = load(&files[1]);
    /* 10 / 255 is the last 8-bit value on the straight part, 11 the first on the curve: 0.0030353, 0.0033465
     * (computed). */
    assert_true(fabs(eight.linear[10] - 10 / 255.0 / 12.92) < 1e-9 && fabs(eight.linear[11] - 0.0033465) < 5e-8);
    assert_true(eight.linear[0] == 0 && eight.linear[255] == 1 && sixteen.linear[0] == 0 && sixteen.linear[65535] == 1);
    for (int i = 0; i < 256; i++)
        assert_true(fabs(eight.linear[i] - sixteen.linear[257 * i]) < 1e-7);
    for (int i = 1; i < 65536; i++)
        assert_true(sixteen.linear[i] > sixteen.linear[i - 1]);
    sw_photo_free(&eight);
    sw_photo_free(&sixteen);
    free(grey.rgb);
}

static void luma_weights_are_those_of_rec_601(void **state)
{
    (void)state;
    for (uint32_t v = 0; v <= 65535; v += 51)
        assert_int_equal(sw_luma_of(v, v, v), v);
    assert_int_equal(sw_luma_of(65535, 0, 0), (uint32_t)(0.299 * 65535 + 0.5));
    assert_int_equal(sw_luma_of(0, 65535, 0), (uint32_t)(0.587 * 65535 + 0.5));
    assert_int_equal(sw_luma_of(0, 0, 65535), (uint32_t)(0.114 * 65535 + 0.5));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(jpeg_round_trips),
        cmocka_unit_test(progressive_equals_sequential),
        cmocka_unit_test(png_round_trips),
        cmocka_unit_test(png_gamma_changes_nothing),
        cmocka_unit_test(png_palette_is_looked_up),
        cmocka_unit_test(tiff_round_trips),
        cmocka_unit_test(tiff_holds_jpeg_and_palette),
        cmocka_unit_test(webp_round_trips),
        cmocka_unit_test(heic_round_trips),
        cmocka_unit_test(heic_keeps_the_sensor_frame),
        cmocka_unit_test(heic_orientation_is_1_otherwise),
        cmocka_unit_test(facts_are_read_from_every_format),
        cmocka_unit_test(linear_table_is_srgb),
        cmocka_unit_test(luma_weights_are_those_of_rec_601),
    };
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    if (failed || heic_is_written())
        return failed;
    print_message(
        "SKIPPED: the HEIC library here cannot write (no encoder for it is installed), so reading HEIC was not "
        "tested; the other formats were\n");
    return 77;
}
