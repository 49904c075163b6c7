/* Photos drawn with a seam between two tops, colours as a JPEG keeps them, and one thing of another colour in the gap or beside it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "scale/frame.h"
#include "support/maths_check.h"
#include "tint/colours.h"

enum { WIDTH = 160, HEIGHT = 240, SEAM = 80, STATIONS = HEIGHT, FROM = 100, TO = 140 };
/* Noise of luma, levels, and what else the judge is told. */
static const double NOISE = 1.5, BLUR_PX = 0.8, SPACING_MM = 0.4;
/* Next to what is covered, stations. */
enum { BESIDE = 5 };

typedef struct colour {
    double luma;
    sw_chroma chroma;
} colour;
static const colour SAND = {170, {-12, 7}}, BLUE = {150, {14, -17}}, DUST = {165, {-26, 19}},
                    BROWN_DARK = {58, {-9, 8}};

typedef struct drawn {
    sw_photo photo;
    colour full[WIDTH * HEIGHT];
    sw_top_tint tops[2];
    sw_tint_station stations[STATIONS];
} drawn;

static colour shaded(colour c, double share)
{
    return (colour){share * c.luma, {share * c.chroma.blue, share * c.chroma.red}};
}

static void fill(drawn *d, int x0, int x1, int y0, int y1, colour c)
{
    for (int y = y0; y < y1; y++)
        for (int x = x0; x < x1; x++)
            d->full[y * WIDTH + x] = c;
}

/* Two tops and between them a slot as dark and as wide, px, as is said. */
static drawn *start(colour low, colour high, int gap_px, colour slot)
{
    drawn *d = calloc(1, sizeof *d);
    assert_non_null(d);
    fill(d, 0, SEAM, 0, HEIGHT, low);
    fill(d, SEAM, WIDTH, 0, HEIGHT, high);
    fill(d, SEAM, SEAM + gap_px, 0, HEIGHT, slot);
    d->tops[0] = (sw_top_tint){{low.chroma.blue / low.luma, low.chroma.red / low.luma}, 0.002, 4};
    d->tops[1] = (sw_top_tint){{high.chroma.blue / high.luma, high.chroma.red / high.luma}, 0.002, 4};
    for (int i = 0; i < STATIONS; i++)
        d->stations[i] = (sw_tint_station){i, SEAM - 0.5, SEAM + gap_px - 0.5, true, false, false};
    return d;
}

static uint8_t level(double v)
{
    return (uint8_t)fmin(255, fmax(0, round(v)));
}

static void develop(drawn *d)
{
    uint32_t seed = 7;
    d->photo = (sw_photo){.width_px = WIDTH,
                          .height_px = HEIGHT,
                          .bits = 8,
                          .chroma_width_px = WIDTH / 2,
                          .chroma_height_px = HEIGHT / 2};
    d->photo.luma8 = malloc((size_t)WIDTH * HEIGHT);
    d->photo.chroma = malloc((size_t)WIDTH * HEIGHT / 2);
    assert_true(d->photo.luma8 && d->photo.chroma);
    for (int i = 0; i < WIDTH * HEIGHT; i++)
        d->photo.luma8[i] = level(d->full[i].luma + NOISE * normal(&seed));
    for (int y = 0; y < HEIGHT / 2; y++)
        for (int x = 0; x < WIDTH / 2; x++) {
            sw_chroma sum = {0, 0};
            for (int k = 0; k < 4; k++) {
                const colour *c = &d->full[(2 * y + k / 2) * WIDTH + 2 * x + k % 2];
                sum.blue += c->chroma.blue / 4;
                sum.red += c->chroma.red / 4;
            }
            d->photo.chroma[2 * (y * WIDTH / 2 + x)] = level(128 + sum.blue + normal(&seed));
            d->photo.chroma[2 * (y * WIDTH / 2 + x) + 1] = level(128 + sum.red + normal(&seed));
        }
}

static void judge(drawn *d)
{
    const sw_top_tint *tops[2] = {&d->tops[0], &d->tops[1]};
    develop(d);
    assert_int_equal(sw_tint_judge(&d->photo, true, tops, BLUR_PX, SPACING_MM, d->stations, STATIONS), SW_OK);
}

static int coloured(const drawn *d, int from, int to, bool side)
{
    int n = 0;
    for (int i = from; i < to; i++)
        n += side ? d->stations[i].side : d->stations[i].gap;
    return n;
}

static void finish(drawn *d)
{
    sw_photo_free(&d->photo);
    free(d);
}

/* Of [FROM, TO) all, and nothing but what is next to it; frees. */
static void only_there(drawn *d, bool side)
{
    judge(d);
    int in = coloured(d, FROM + BESIDE, TO - BESIDE, side), before = coloured(d, 0, FROM - BESIDE, side),
        after = coloured(d, TO + BESIDE, STATIONS, side);
    if (in != TO - FROM - 2 * BESIDE || before || after)
        fail_msg("%d of %d found, %d before, %d after", in, TO - FROM - 2 * BESIDE, before, after);
    finish(d);
}

static void nothing_there(drawn *d)
{
    judge(d);
    int gap = coloured(d, 0, STATIONS, false), side = coloured(d, 0, STATIONS, true);
    if (gap || side)
        fail_msg("%d stations coloured, %d beside", gap, side);
    finish(d);
}

static void clean_seams_have_no_other_colour(void **state)
{
    (void)state;
    nothing_there(start(SAND, SAND, 0, SAND));
    nothing_there(start(SAND, SAND, 2, shaded(SAND, 0.3)));
    nothing_there(start(BLUE, BLUE, 2, (colour){40, {0, 0}}));
    nothing_there(start(BLUE, SAND, 0, BLUE));
    nothing_there(start(SAND, BLUE, 3, shaded(BLUE, 0.3)));
}

/* Read some px beside where one colour gives way to the other. */
static void tops_of_two_colours_read_astray(void **state)
{
    (void)state;
    drawn *d = start(BLUE, SAND, 0, BLUE);
    for (int i = 0; i < STATIONS; i++) {
        d->stations[i].low_rim_px += 3;
        d->stations[i].high_rim_px += 3;
    }
    nothing_there(d);
}

/* A brown bench at the bottom of a wide gap is dark. */
static void a_dark_brown_bottom_is_a_gap(void **state)
{
    (void)state;
    nothing_there(start(SAND, SAND, 7, BROWN_DARK));
    nothing_there(start(BLUE, BLUE, 7, BROWN_DARK));
}

static void dust_as_light_as_the_tops(void **state)
{
    (void)state;
    for (int gap_px = 0; gap_px < 3; gap_px++)
        for (int k = 0; k < 2; k++) {
            colour top = k ? SAND : BLUE;
            drawn *d = start(top, top, gap_px, shaded(top, 0.3));
            fill(d, SEAM, SEAM + gap_px + 2, FROM, TO, (colour){top.luma, DUST.chroma});
            only_there(d, false);
        }
}

static void tape_beside_the_seam(void **state)
{
    (void)state;
    drawn *d = start(BLUE, BLUE, 1, shaded(BLUE, 0.5));
    fill(d, SEAM - 30, SEAM + 30, FROM, TO, (colour){BLUE.luma, {8, -9}});
    only_there(d, true);
}

/* As wide as a pencil mark across the seam. */
static void a_grey_mark_across_is_nothing(void **state)
{
    (void)state;
    drawn *d = start(BLUE, BLUE, 1, shaded(BLUE, 0.5));
    fill(d, SEAM - 40, SEAM + 40, FROM, FROM + 3, (colour){80, {0, 0}});
    nothing_there(d);
}

static void a_grey_photo_tells_nothing(void **state)
{
    (void)state;
    drawn *d = start(BLUE, BLUE, 0, BLUE);
    fill(d, SEAM, SEAM + 2, FROM, TO, DUST);
    develop(d);
    free(d->photo.chroma);
    d->photo.chroma = NULL;
    const sw_top_tint *tops[2] = {&d->tops[0], &d->tops[1]};
    assert_int_equal(sw_tint_judge(&d->photo, true, tops, BLUR_PX, SPACING_MM, d->stations, STATIONS), SW_OK);
    assert_int_equal(coloured(d, 0, STATIONS, false), 0);
    finish(d);
}

/* Chroma noise of standard deviation 1 in each of two by two px: sums over 16 and 16 px. */
static void noise_of_a_plain_top(void **state)
{
    (void)state;
    drawn *d = start(SAND, SAND, 0, SAND);
    develop(d);
    double sum = 0;
    for (int i = 0; i < STATIONS; i++) {
        sw_chroma c = sw_tint_of_plain_top(&d->photo, true, i, 60, SW_TINT_TOP_PX);
        sum += (c.blue * c.blue + c.red * c.red) / (2 * STATIONS);
    }
    expect_near("noise", sqrt(sum), 8, 1.6); /* 2 sqrt(8 + 8) samples, rounding and luma's own noise a little more */
    assert_true(isnan(sw_tint_of_plain_top(&d->photo, true, 5, 3, SW_TINT_TOP_PX).blue));
    finish(d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(clean_seams_have_no_other_colour),
        cmocka_unit_test(tops_of_two_colours_read_astray),
        cmocka_unit_test(a_dark_brown_bottom_is_a_gap),
        cmocka_unit_test(dust_as_light_as_the_tops),
        cmocka_unit_test(tape_beside_the_seam),
        cmocka_unit_test(a_grey_mark_across_is_nothing),
        cmocka_unit_test(a_grey_photo_tells_nothing),
        cmocka_unit_test(noise_of_a_plain_top),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
