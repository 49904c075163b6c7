/* The reduced picture: every value is the mean of its block, whatever the photo's bits. */
#include "support/maths_check.h"

#include <stdlib.h>

#include "photo/small.h"

/* Not a multiple of the factor, so a strip is left over; and a block's sum of 16-bit values passes 16 bits by far. */
enum { WIDTH = 3007, HEIGHT = 41, FACTOR = 3 };

static unsigned value_at(int bits, int x, int y)
{
    unsigned any = (unsigned)(x * 7919 + y * 104729) % 65536u;
    return bits == 16 ? 65535u - any / 8 : any / 256;
}

static void blocks_are_means(int bits)
{
    sw_photo photo = {.width_px = WIDTH, .height_px = HEIGHT, .bits = bits};
    sw_small small;
    photo.luma8 = calloc(WIDTH * HEIGHT, 1);
    photo.luma16 = calloc(WIDTH * HEIGHT, sizeof *photo.luma16);
    assert_true(photo.luma8 && photo.luma16);
    for (int i = 0; i < WIDTH * HEIGHT; i++)
        if (bits == 8)
            photo.luma8[i] = (uint8_t)value_at(8, i % WIDTH, i / WIDTH);
        else
            photo.luma16[i] = (uint16_t)value_at(16, i % WIDTH, i / WIDTH);
    assert_int_equal(sw_small_make(&photo, &small, NULL), SW_OK);
    assert_int_equal(small.factor, FACTOR);
    assert_int_equal(small.width, WIDTH / FACTOR);
    assert_int_equal(small.height, HEIGHT / FACTOR);
    for (int y = 0; y < small.height; y++)
        for (int x = 0; x < small.width; x++) {
            double sum = 0;
            for (int i = 0; i < FACTOR * FACTOR; i++)
                sum += value_at(bits, x * FACTOR + i % FACTOR, y * FACTOR + i / FACTOR);
            double mean = sum / (FACTOR * FACTOR) * (bits == 8 ? 257 : 1);
            if (!(fabs(small.values[y * small.width + x] - mean) <= 0.5 + 1e-9))
                fail_msg("%d bits, block %d, %d: %u instead of %.2f", bits, x, y, small.values[y * small.width + x],
                         mean);
        }
    sw_small_free(&small);
    free(photo.luma8);
    free(photo.luma16);
}

static void of_8_bits(void **state)
{
    (void)state;
    blocks_are_means(8);
}

static void of_16_bits(void **state)
{
    (void)state;
    blocks_are_means(16);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(of_8_bits), cmocka_unit_test(of_16_bits)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
