/* Real photos that may not be passed on, as they are read: hostile files, orientation tags, a phone's own files, 16
 * bits.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "real/real.h"

static sw_status load(const char *folder, const char *file, sw_photo *photo, sw_error *err)
{
    char path[1024];
    real_path(path, sizeof path, folder, file);
    err->text[0] = 0;
    return sw_photo_load(path, photo, err);
}

static void bad_files_are_refused_with_a_sentence(void **state)
{
    (void)state;
    static const struct {
        const char *file, *words;
    } bad[] = {
        {"huge_tag_exif.jpg", "cut short"},     {"max_uint32_exif.jpg", "cut short"},
        {"skimage_truncated.jpg", "cut short"}, {"video-001.cmyk.jpeg", "CMYK"},
        {"invalid-crc32.png", "damaged"},       {"invalid-noend.png", "cut short"},
        {"invalid-palette.png", "palette"},     {"invalid-trunc.png", "cut short"},
        {"invalid-zlib.png", "damaged"},        {"video-001.progressive.truncated.jpeg", "passes"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        sw_photo photo;
        sw_error err;
        assert_int_equal(load("bad-files", bad[i].file, &photo, &err), SW_BAD_INPUT);
        assert_int_equal(strncmp(err.text, bad[i].file, strlen(bad[i].file)), 0);
        assert_non_null(strstr(err.text, bad[i].words));
        assert_null(photo.luma8);
        assert_int_equal(photo.width_px, 0);
    }
}

/* Its EXIF directories run in a ring, but the picture is whole. */
static void a_whole_picture_with_hostile_exif_is_read(void **state)
{
    (void)state;
    sw_photo photo;
    sw_error err;
    assert_int_equal(load("bad-files", "infinite_loop_exif.jpg", &photo, &err), SW_OK);
    assert_int_equal(photo.width_px, 8);
    assert_int_equal(photo.orientation, 1);
    sw_photo_free(&photo);
}

/* Shown picture, 50 x 70. */
static void show(const sw_photo *photo, int shown[70][50])
{
    assert_int_equal(photo->width_px * photo->height_px, 50 * 70);
    for (int y = 0; y < photo->height_px; y++)
        for (int x = 0; x < photo->width_px; x++) {
            sw_point p = sw_photo_show(photo, (sw_point){x, y});
            assert_true(p.x >= 0 && p.x < 50 && p.y >= 0 && p.y < 70);
            shown[(int)p.y][(int)p.x] = (int)sw_photo_at(photo, x, y);
        }
}

/* The eight files hold one picture, each compressed on its own: shown, they agree up to JPEG's rounding. Turned wrongly
 * they are some 40 levels apart on average. */
static void eight_tags_show_one_picture(void **state)
{
    (void)state;
    static int first[70][50], other[70][50];
    for (int tag = 0; tag <= 8; tag++) {
        char file[32];
        sw_photo photo;
        sw_error err;
        snprintf(file, sizeof file, "orientation_%d.jpg", tag);
        assert_int_equal(load("orientation", file, &photo, &err), SW_OK);
        assert_int_equal(photo.orientation, tag ? tag : 1);
        show(&photo, tag ? other : first);
        sw_photo_free(&photo);
        double off = 0;
        for (int i = 0; tag && i < 50 * 70; i++)
            off += abs(first[i / 50][i % 50] - other[i / 50][i % 50]) / (50.0 * 70);
        assert_true(off < 2);
    }
}

/* Published with the photos: an iPhone 6, f = 4.15 mm (29 mm), tags 1 and 6. */
static void a_phone_photo_tells_its_facts(void **state)
{
    (void)state;
    sw_photo first, second;
    sw_error err;
    assert_int_equal(load("phone-tag-board", "IMG_0455.JPG", &first, &err), SW_OK);
    assert_int_equal(load("phone-tag-board", "IMG_0461.JPG", &second, &err), SW_OK);
    assert_true(first.width_px == 3264 && first.height_px == 2448 && second.width_px == 3264);
    assert_int_equal(first.orientation, 1);
    assert_int_equal(second.orientation, 6);
    assert_true(fabs(first.focal_mm - 4.15) < 1e-9 && first.focal_35mm == 29);
    assert_string_equal(first.camera, "Apple iPhone 6");
    sw_photo_free(&first);
    sw_photo_free(&second);
}

static void deep_pictures_keep_their_depth(void **state)
{
    (void)state;
    sw_photo photo;
    sw_error err;
    assert_int_equal(load("checkerboard-16bit", "dot_vision_checker_16276941_cam2_pose1.png", &photo, &err), SW_OK);
    assert_true(photo.bits == 16 && photo.width_px == 2048 && photo.height_px == 1536);
    int odd = 0; /* samples that 8 bits could not hold */
    for (int x = 0; x < 2048; x++)
        odd += sw_photo_at(&photo, x, 700) % 257 != 0;
    assert_true(odd > 1000);
    sw_photo_free(&photo);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bad_files_are_refused_with_a_sentence),
        cmocka_unit_test(a_whole_picture_with_hostile_exif_is_read),
        cmocka_unit_test(eight_tags_show_one_picture),
        cmocka_unit_test(a_phone_photo_tells_its_facts),
        cmocka_unit_test(deep_pictures_keep_their_depth),
    };
    if (!real_is_there("bad-files") || !real_is_there("orientation") || !real_is_there("phone-tag-board") ||
        !real_is_there("checkerboard-16bit"))
        return REAL_SKIPPED;
    return cmocka_run_group_tests(tests, NULL, NULL);
}
