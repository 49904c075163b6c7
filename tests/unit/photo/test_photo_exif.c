/* Facts from EXIF: both byte orders, odd values, hostile blocks. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "photo/decode.h"
#include "support/photo_make.h"

static const exif_facts usual = {0, "River", "Valley 3", "2026:05:01 10:12:00", 6, 26, 425, 100};

static sw_photo read_facts(const exif_facts *facts)
{
    sw_photo photo = {.orientation = 1};
    made block = make_exif(facts);
    sw_photo_read_exif(block.data, block.size, &photo);
    free(block.data);
    return photo;
}

static void both_byte_orders_say_the_same(void **state)
{
    (void)state;
    for (int big = 0; big < 2; big++) {
        exif_facts facts = usual;
        facts.big_endian = big;
        sw_photo photo = read_facts(&facts);
        assert_int_equal(photo.orientation, 6);
        assert_string_equal(photo.taken, "2026-05-01 10:12:00");
        assert_string_equal(photo.camera, "River Valley 3");
        assert_true(fabs(photo.focal_mm - 4.25) < 1e-12 && photo.focal_35mm == 26);
    }
}

static void the_head_may_be_missing(void **state)
{
    (void)state;
    sw_photo photo = {.orientation = 1};
    made block = make_exif(&usual);
    sw_photo_read_exif(block.data + 6, block.size - 6, &photo);
    assert_int_equal(photo.orientation, 6);
    assert_string_equal(photo.camera, "River Valley 3");
    free(block.data);
}

static void camera_names_are_cleaned(void **state)
{
    (void)state;
    static const struct {
        const char *maker, *model, *camera;
    } cases[] = {
        {"River", "River 3", "River 3"},
        {"River", "", "River"},
        {"", "Valley 3", "Valley 3"},
        {"  River  ", " Valley ", "River Valley"},
        {"Ri\x01ver", "V\xff<b>", "Ri?ver V?<b>"},
        {"", "", ""},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        exif_facts facts = usual;
        facts.maker = cases[i].maker;
        facts.model = cases[i].model;
        assert_string_equal(read_facts(&facts).camera, cases[i].camera);
    }
    exif_facts facts = usual;
    char name[128];
    memset(name, 'x', 127);
    name[127] = 0;
    facts.maker = facts.model = name;
    sw_photo photo = read_facts(&facts);
    assert_non_null(memchr(photo.camera, 0, sizeof photo.camera));
}

static void odd_times_count_as_absent(void **state)
{
    (void)state;
    static const char *const odd[] = {"",
                                      "2026",
                                      "0000:00:00 00:00:00",
                                      "    :  :     :  :  ",
                                      "2026-05-01 10:12:00",
                                      "2026:13:01 10:12:00",
                                      "2026:05:32 10:12:00",
                                      "2026:05:01 24:12:00",
                                      "2026:05:01 10:60:00",
                                      "2026:05:01 10:12:0x",
                                      "<script>:01 10:12:0"};
    for (size_t i = 0; i < sizeof odd / sizeof *odd; i++) {
        exif_facts facts = usual;
        facts.taken = odd[i];
        assert_string_equal(read_facts(&facts).taken, "");
    }
}

static void odd_numbers_count_as_absent(void **state)
{
    (void)state;
    static const struct {
        uint32_t numerator, denominator;
    } odd[] = {{425, 0}, {0, 0}, {0, 1}, {UINT32_MAX, 1}, {1, UINT32_MAX}};
    for (size_t i = 0; i < sizeof odd / sizeof *odd; i++) {
        exif_facts facts = usual;
        facts.focal_numerator = odd[i].numerator;
        facts.focal_denominator = odd[i].denominator;
        assert_true(read_facts(&facts).focal_mm == 0);
    }
    static const uint16_t tags[] = {0, 9, 255, 65535};
    for (size_t i = 0; i < sizeof tags / sizeof *tags; i++) {
        exif_facts facts = usual;
        facts.orientation = tags[i];
        assert_int_equal(read_facts(&facts).orientation, 1);
    }
}

/* Whatever happens to the block, the result is in range and ends in time; the sanitizers see the rest. */
static void check_sane(const sw_photo *photo)
{
    assert_true(photo->orientation >= 1 && photo->orientation <= 8);
    assert_non_null(memchr(photo->taken, 0, sizeof photo->taken));
    assert_non_null(memchr(photo->camera, 0, sizeof photo->camera));
    assert_true(photo->focal_mm >= 0 && photo->focal_mm <= 10000 && photo->focal_35mm >= 0);
}

static void cut_and_bent_blocks_do_no_harm(void **state)
{
    (void)state;
    made block = make_exif(&usual);
    for (size_t size = 0; size <= block.size; size++) {
        uint8_t *exact = malloc(size ? size : 1); /* so that a step too far is seen */
        assert_non_null(exact);
        memcpy(exact, block.data, size);
        sw_photo photo = {.orientation = 1};
        sw_photo_read_exif(exact, size, &photo);
        check_sane(&photo);
        free(exact);
    }
    static const uint8_t bends[] = {0x00, 0x01, 0x7f, 0x80, 0xff};
    for (size_t i = 0; i < 116; i++) /* header and both directories */
        for (size_t k = 0; k < sizeof bends; k++) {
            uint8_t kept = block.data[i];
            block.data[i] = bends[k];
            sw_photo photo = {.orientation = 1};
            sw_photo_read_exif(block.data, block.size, &photo);
            check_sane(&photo);
            block.data[i] = kept;
        }
    free(block.data);
}

/* A directory that names itself as its own sub-directory, and as the next one. */
static void a_ring_of_directories_ends(void **state)
{
    (void)state;
    made block = make_exif(&usual);
    uint8_t *ifd0 = block.data + 6 + 8;
    ifd0[2 + 3 * 12 + 8] = 8;     /* EXIF IFD pointer -> IFD0 */
    ifd0[2 + 4 * 12] = 8;         /* next IFD -> IFD0 */
    block.data[6 + 62 + 38] = 62; /* next after the EXIF IFD -> itself */
    sw_photo photo = {.orientation = 1};
    sw_photo_read_exif(block.data, block.size, &photo);
    check_sane(&photo);
    free(block.data);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(both_byte_orders_say_the_same), cmocka_unit_test(the_head_may_be_missing),
        cmocka_unit_test(camera_names_are_cleaned),      cmocka_unit_test(odd_times_count_as_absent),
        cmocka_unit_test(odd_numbers_count_as_absent),   cmocka_unit_test(cut_and_bent_blocks_do_no_harm),
        cmocka_unit_test(a_ring_of_directories_ends),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
