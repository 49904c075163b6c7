/* Crossings: sharpening taken back, stored values to linear light, what lies outside the photo. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "photo/crossing.h"

enum { WIDTH = 120, HEIGHT = 100 };

/* IEC 61966-2-1, written out again here. */
static double srgb(double encoded)
{
    return encoded <= 0.04045 ? encoded / 12.92 : pow((encoded + 0.055) / 1.055, 2.4);
}

static void blank(int bits, sw_photo *photo)
{
    size_t top = ((size_t)1 << bits) - 1;
    *photo = (sw_photo){.width_px = WIDTH, .height_px = HEIGHT, .bits = bits, .orientation = 1};
    photo->luma8 = bits == 8 ? calloc(WIDTH * HEIGHT, 1) : NULL;
    photo->luma16 = bits == 16 ? calloc(WIDTH * HEIGHT, 2) : NULL;
    photo->linear = malloc((top + 1) * sizeof *photo->linear);
    assert_non_null(photo->linear);
    assert_true(photo->luma8 || photo->luma16);
    for (size_t v = 0; v <= top; v++)
        photo->linear[v] = (float)srgb((double)v / (double)top);
}

static void put(sw_photo *photo, int x, int y, double share)
{
    size_t at = (size_t)y * WIDTH + (size_t)x;
    if (photo->bits == 8)
        photo->luma8[at] = (uint8_t)lround(255 * share);
    else
        photo->luma16[at] = (uint16_t)lround(65535 * share);
}

static const double STEP = 0.2;

/* A dark line between two levels and a step, blurred: what a seam beside a card looks like, 0 to 1. */
static double soft_scene(double x)
{
    double step = 0.5 * erfc(-(x - 60.3) / (0.9 * sqrt(2.0))), line = exp(-0.5 * (x - 38.6) * (x - 38.6) / (1.3 * 1.3));
    return 0.45 + STEP * step - 0.1 * line;
}

/* v + a (v - G v) with G as in a photo program: a sampled Gaussian, its weights summing to one. */
static double sharpened(double x, double amount, double radius)
{
    double sum = 0, weights = 0;
    for (int k = -20; k <= 20; k++) {
        double w = exp(-0.5 * k * k / (radius * radius));
        sum += w * soft_scene(x + k);
        weights += w;
    }
    return soft_scene(x) + amount * (soft_scene(x) - sum / weights);
}

/* Worst difference between what was there before the sharpening and what is read, in share of the step. */
static double worst_after_undoing(const sw_photo *photo, const sw_soften *soften, int along_row)
{
    double read[SW_CROSSING_MAX], worst = 0;
    assert_int_equal(sw_crossing_read(photo, soften, along_row, 50, 20, 60, read), 0);
    for (int i = 0; i < 60; i++) {
        double back = read[i] <= 0.0031308 ? 12.92 * read[i] : 1.055 * pow(read[i], 1 / 2.4) - 0.055;
        worst = fmax(worst, fabs(back - soft_scene(20 + i)) / STEP);
    }
    return worst;
}

/* Radii as the response's prior has them (1.1 px, standard deviation 0.2); far wider ones need a longer filter than
 * there is. */
static void sharpening_is_taken_back(void **state)
{
    (void)state;
    static const double amounts[] = {0.3, 0.8, 1.5, 2.5}, radii[] = {0.7, 1.0, 1.2, 1.4};
    sw_photo photo;
    blank(16, &photo);
    for (int along_row = 0; along_row < 2; along_row++)
        for (int a = 0; a < 4; a++)
            for (int r = 0; r < 4; r++) {
                for (int i = 0; i < WIDTH; i++)
                    for (int k = 45; k < 55; k++)
                        if (along_row || i < HEIGHT)
                            put(&photo, along_row ? i : k, along_row ? k : i, sharpened(i, amounts[a], radii[r]));
                sw_soften soften = sw_soften_make(amounts[a], radii[r]), none = sw_soften_make(0, 1);
                double with = worst_after_undoing(&photo, &soften, along_row),
                       without = worst_after_undoing(&photo, &none, along_row);
                /* Half a per cent of a step moves a rim by about a hundredth of a pixel. */
                if (!(with < 0.005))
                    fail_msg("amount %g radius %g: %.4f of the step is left", amounts[a], radii[r], with);
                assert_true(without > 10 * with);
            }
    sw_photo_free(&photo);
}

/* Gains between 1 / (1 + a) and 1, exactly 1 for even light: nothing is brightened, noise is damped. */
static void gains_of_the_inverse_filter(void **state)
{
    (void)state;
    for (double amount = 0.2; amount < 2.6; amount += 0.6)
        for (double radius = 0.6; radius < 1.5; radius += 0.2) {
            sw_soften s = sw_soften_make(amount, radius);
            assert_true(s.reach > 0 && s.reach <= SW_SOFTEN_REACH);
            for (int f = 0; f <= 16; f++) {
                double w = acos(-1.0) * f / 16, gain = s.tap[0];
                for (int n = 1; n <= s.reach; n++)
                    gain += 2 * s.tap[n] * cos(w * n);
                double want = 1 / (1 + amount - amount * exp(-0.5 * w * w * radius * radius));
                expect_near("gain", gain, want, f ? 0.01 : 1e-12);
            }
        }
}

static void without_sharpening_nothing_is_filtered(void **state)
{
    (void)state;
    static const double nothing[][2] = {{0, 1}, {-0.5, 1}, {NAN, 1}, {1, 0}, {1, NAN}};
    for (int i = 0; i < 5; i++) {
        sw_soften s = sw_soften_make(nothing[i][0], nothing[i][1]);
        assert_int_equal(s.reach, 0);
        assert_true(s.tap[0] == 1);
    }
}

/* Every stored value reads as its own linear light, along rows and columns, at both depths. */
static void linear_light_of_stored_values(void **state)
{
    (void)state;
    sw_soften none = sw_soften_make(0, 1);
    for (int bits = 8; bits <= 16; bits += 8) {
        sw_photo photo;
        uint32_t seed = 5;
        double out[SW_CROSSING_MAX], stored[SW_CROSSING_MAX];
        blank(bits, &photo);
        for (int y = 0; y < HEIGHT; y++)
            for (int x = 0; x < WIDTH; x++)
                put(&photo, x, y, chance(&seed));
        for (int along_row = 0; along_row < 2; along_row++)
            for (int line = 0; line < 100; line += 9) {
                assert_int_equal(sw_crossing_read(&photo, &none, along_row, line, 7, 90, out), 0);
                assert_int_equal(sw_crossing_stored(&photo, along_row, line, 7, 90, stored), 0);
                for (int i = 0; i < 90; i++) {
                    unsigned v = along_row ? sw_photo_at(&photo, 7 + i, line) : sw_photo_at(&photo, line, 7 + i);
                    assert_true(stored[i] == v);
                    expect_near("linear", out[i], srgb(v / (pow(2, bits) - 1)), 1e-7);
                }
            }
        sw_photo_free(&photo);
    }
}

static void between_and_beyond_stored_values(void **state)
{
    (void)state;
    sw_photo photo;
    blank(8, &photo);
    expect_near("half way", sw_linear_of(&photo, 100.5), (srgb(100 / 255.0) + srgb(101 / 255.0)) / 2, 1e-7);
    expect_near("a quarter on", sw_linear_of(&photo, 20.25), 0.75 * srgb(20 / 255.0) + 0.25 * srgb(21 / 255.0), 1e-7);
    assert_true(sw_linear_of(&photo, -3) == photo.linear[0]);
    assert_true(sw_linear_of(&photo, 0) == photo.linear[0]);
    assert_true(sw_linear_of(&photo, 255) == photo.linear[255]);
    assert_true(sw_linear_of(&photo, 300) == photo.linear[255]);
    sw_photo_free(&photo);
}

static void places_outside_are_counted(void **state)
{
    (void)state;
    static const struct {
        int along_row, line, start, count, outside;
    } cases[] = {
        {1, 10, -5, 20, 5},    {1, 10, WIDTH - 4, 10, 6},  {1, 10, -30, 20, 20},        {1, 10, -10, 140, 20},
        {0, 10, -1, 20, 1},    {0, 10, HEIGHT - 1, 10, 9}, {0, 10, HEIGHT + 3, 10, 10}, {1, -1, 10, 20, 20},
        {1, HEIGHT, 10, 7, 7}, {0, WIDTH, 10, 7, 7},       {0, -2, -3, 7, 7},           {1, HEIGHT - 1, 0, 120, 0},
    };
    sw_photo photo;
    sw_soften none = sw_soften_make(0, 1), some = sw_soften_make(1.2, 1);
    blank(8, &photo);
    for (int y = 0; y < HEIGHT; y++)
        for (int x = 0; x < WIDTH; x++)
            put(&photo, x, y, (x + y) / 255.0);
    for (int i = 0; i < 12; i++) {
        double out[SW_CROSSING_MAX];
        int n = cases[i].count;
        for (int k = 0; k < 2; k++)
            assert_int_equal(
                sw_crossing_read(&photo, k ? &some : &none, cases[i].along_row, cases[i].line, cases[i].start, n, out),
                cases[i].outside);
        assert_int_equal(sw_crossing_stored(&photo, cases[i].along_row, cases[i].line, cases[i].start, n, out),
                         cases[i].outside);
    }
    /* What lies outside repeats the rim. */
    double out[SW_CROSSING_MAX];
    sw_crossing_stored(&photo, 1, 10, -5, 20, out);
    for (int i = 0; i < 20; i++)
        assert_true(out[i] == (i < 5 ? 10 : i + 5));
    sw_crossing_stored(&photo, 0, WIDTH + 5, HEIGHT - 2, 6, out);
    for (int i = 0; i < 6; i++)
        assert_true(out[i] == WIDTH - 1 + HEIGHT - (i ? 1 : 2));
    sw_photo_free(&photo);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sharpening_is_taken_back),
        cmocka_unit_test(gains_of_the_inverse_filter),
        cmocka_unit_test(without_sharpening_nothing_is_filtered),
        cmocka_unit_test(linear_light_of_stored_values),
        cmocka_unit_test(between_and_beyond_stored_values),
        cmocka_unit_test(places_outside_are_counted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
