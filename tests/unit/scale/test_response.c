/* The camera's response from printed edges: blur and sharpening that were put in are got back. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "scale/develop.h"
#include "scale/squares.h"
#include "support/draw.h"

/* Coverage of a whole pixel is a box of variance 1/12 px^2 on top of the lens's Gaussian. */
static double with_pixel(double blur_px)
{
    return sqrt(blur_px * blur_px + 1 / 12.0);
}

/* Keys's cubic kernel (1981), a = -1/2. */
static double cubic(double x)
{
    x = fabs(x);
    return x < 1 ? (1.5 * x - 2.5) * x * x + 1 : x < 2 ? ((-0.5 * x + 2.5) * x - 4) * x + 2 : 0;
}

/* One row or column from `from` values to `to`, as programs resize pictures: the kernel is widened where it becomes smaller. */
static void resize_line(const double *in, int from, double *out, int to)
{
    double step = (double)from / to, wide = fmax(1, step);
    for (int i = 0; i < to; i++) {
        double middle = (i + 0.5) * step - 0.5, sum = 0, weights = 0;
        for (int k = (int)ceil(middle - 2 * wide); k <= middle + 2 * wide; k++) {
            double w = cubic((k - middle) / wide);
            sum += w * in[k < 0 ? 0 : k >= from ? from - 1 : k];
            weights += w;
        }
        out[i] = fmin(255, fmax(0, floor(sum / weights + 0.5)));
    }
}

/* The photo made this share of its size and as large as it was again. */
static void resize_and_back(sw_photo *photo, double share)
{
    enum { MOST = 1000 };
    double line[MOST], small[MOST];
    for (int way = 0; way < 2; way++) {
        int length = way ? photo->height_px : photo->width_px, lines = way ? photo->width_px : photo->height_px;
        size_t step = way ? (size_t)photo->width_px : 1, next = way ? 1 : (size_t)photo->width_px;
        assert_true(length <= MOST);
        for (int i = 0; i < lines; i++) {
            uint8_t *at = photo->luma8 + (size_t)i * next;
            for (int k = 0; k < length; k++)
                line[k] = at[(size_t)k * step];
            resize_line(line, length, small, (int)(share * length));
            resize_line(small, (int)(share * length), line, length);
            for (int k = 0; k < length; k++)
                at[(size_t)k * step] = (uint8_t)line[k];
        }
    }
}

/* A frame at a turn that puts edges at all places within a pixel; its pooled edge. The photo was made `share` of its size and larger again. */
static sw_response respond_resized(double blur_px, const draw_camera *camera, double share)
{
    draw_view view = draw_above(700, 700, 4.5, 0);
    draw_card card = {{0.3, 0.2}, 0.13, 100, 60, 12, 0};
    drawing d = draw_start(&view, DRAW_TOP);
    sw_photo photo;
    sw_rim_square rim;
    sw_point outer[4], inner[4];
    sw_esf esf;
    memset(&esf, 0, sizeof esf);
    draw_put_card(&d, &card);
    draw_blur(&d, blur_px);
    draw_develop(&d, camera, &photo);
    if (share < 1)
        resize_and_back(&photo, share);
    draw_card_corners(&view, &card, outer);
    card.outer_mm = card.inner_mm;
    draw_card_corners(&view, &card, inner);
    assert_int_equal(sw_sides_read(&photo, NULL, outer, 1, 10, &rim, &esf), 4);
    assert_int_equal(sw_sides_read(&photo, NULL, inner, 0, 10, &rim, &esf), 4);
    sw_response response = sw_response_fit(&esf, 1);
    sw_photo_free(&photo);
    draw_free(&d);
    return response;
}

static sw_response respond(double blur_px, const draw_camera *camera)
{
    return respond_resized(blur_px, camera, 1);
}

/* Brightness of the model, sharpened, as an edge's profile in stored values: what matters is that it looks like what
 * was put in. */
static double stored_edge(double at, double blur, double halo, double amount, double radius)
{
    double sum = 0, weights = 0, here = 0;
    for (int k = -80; k <= 80; k++) {
        double x = at + k * 0.1 * radius / 2, w = exp(-0.5 * (k * 0.05) * (k * 0.05));
        double step =
            0.5 * ((1 + halo) * erfc(-x / blur / sqrt(2.0)) - halo * erfc(-x / sw_halo_blur(blur) / sqrt(2.0)));
        double light = DRAW_BLACK + (DRAW_WHITE - DRAW_BLACK) * step;
        double stored = light <= 0.0031308 ? 12.92 * light : 1.055 * pow(light, 1 / 2.4) - 0.055;
        sum += w * stored;
        weights += w;
        here = k == 0 ? stored : here;
    }
    return here + amount * (here - sum / weights);
}

static void expect_same_edge(const sw_response *got, double blur, double amount, double radius)
{
    for (double at = -5; at <= 5; at += 0.25) {
        double a = stored_edge(at, got->blur_px, got->halo, got->sharpen, got->radius_px),
               b = stored_edge(at, with_pixel(blur), 0, amount, radius);
        if (!(fabs(a - b) < 0.015))
            fail_msg(
                "blur %g, sharpening %g of %g px: at %g px the edge is off by %.4f (got %.3f halo %.3f, %.3f of %.3f)",
                blur, amount, radius, at, a - b, got->blur_px, got->halo, got->sharpen, got->radius_px);
    }
}

/* The model against its definition, written out above: halos, which no drawing here has, and sharpening. */
static void a_developed_edge_is_the_models(void **state)
{
    (void)state;
    static const sw_response models[] = {{.blur_px = 0.9, .radius_px = 1},
                                         {.blur_px = 0.9, .halo = 0.15, .radius_px = 1},
                                         {.blur_px = 0.8, .halo = 0.1, .sharpen = 0.6, .radius_px = 1.2}};
    for (int m = 0; m < 3; m++) {
        const sw_response *r = &models[m];
        double stored[SW_DEVELOP_GRID];
        sw_develop_edge(r, DRAW_BLACK, DRAW_WHITE, stored);
        for (int i = -50; i <= 50; i++) {
            double at = i * SW_DEVELOP_STEP;
            expect_near("stored", stored[SW_DEVELOP_HALF + i],
                        fmin(1, fmax(0, stored_edge(at, r->blur_px, r->halo, r->sharpen, r->radius_px))), 0.001);
        }
    }
}

/* In a soft photo amount and blur may trade places by a little; the edge they make together may not change. */
static void check_blur(double blur, double most_sharpening)
{
    sw_response got = respond(blur, &(draw_camera){.bits = 8, .noise = 0.004});
    if (!(fabs(got.blur_px / with_pixel(blur) - 1) < 0.06 && got.sharpen < most_sharpening))
        fail_msg("blur %g: got %.3f, halo %.3f, sharpening %.3f of %.3f px", with_pixel(blur), got.blur_px, got.halo,
                 got.sharpen, got.radius_px);
    expect_same_edge(&got, blur, 0, 1);
    assert_true(got.misfit < 0.02);
    assert_int_equal(got.poor, 0);
}

static void blur_alone(void **state)
{
    (void)state;
    for (double blur = 0.5; blur < 1.35; blur += 0.1)
        check_blur(blur, 0.15);
}

/* Half a phone's focus off: the range is said to reach 3 px. */
static void soft_photos(void **state)
{
    (void)state;
    for (double blur = 1.4; blur < 3.05; blur += 0.1)
        check_blur(blur, 0.8);
}

static void blur_and_sharpening(void **state)
{
    (void)state;
    static const struct {
        double blur, amount, radius;
    } cases[] = {{0.7, 0.5, 1.0}, {0.8, 0.5, 1.2}, {0.8, 1.0, 1.0}, {0.8, 1.0, 1.3}, {1.0, 1.5, 1.1}, {1.2, 0.8, 1.2}};
    for (int i = 0; i < 6; i++) {
        sw_response got = respond(
            cases[i].blur,
            &(draw_camera){.bits = 8, .noise = 0.004, .sharpen = cases[i].amount, .radius_px = cases[i].radius});
        /* To second order an edge shows only amount x radius^2; the rest of the shape is held below. */
        double put = cases[i].amount * cases[i].radius * cases[i].radius;
        if (!(fabs(got.blur_px / with_pixel(cases[i].blur) - 1) < 0.1 &&
              fabs(got.sharpen * got.radius_px * got.radius_px / put - 1) < 0.2))
            fail_msg("blur %g, sharpening %g of %g px: got %.3f halo %.3f, %.3f of %.3f px", with_pixel(cases[i].blur),
                     cases[i].amount, cases[i].radius, got.blur_px, got.halo, got.sharpen, got.radius_px);
        expect_same_edge(&got, cases[i].blur, cases[i].amount, cases[i].radius);
    }
}

/* A picture made smaller and larger again was blurred after the tone curve, though not by a Gaussian; one that its lens blurred was not. */
static void enlarged_pictures_show(void **state)
{
    (void)state;
    for (double blur = 0.5; blur < 0.85; blur += 0.15)
        for (double share = 0.5; share < 0.7; share += 1 / 6.0) {
            const draw_camera camera = {.bits = 8, .noise = 0.004, .sharpen = 0.6, .radius_px = 1};
            sw_response small = respond_resized(blur, &camera, share), whole = respond(blur, &camera);
            if (!(small.soften_px > 0.5 && small.rim_shift_px > 0.04 &&
                  small.rim_shift_u_px > 0.3 * small.rim_shift_px))
                fail_msg("blur %g, to %g and back: softened by %.2f px, misfit %.4f, shift %.3f of %.3f px", blur,
                         share, small.soften_px, small.misfit, small.rim_shift_px, small.rim_shift_u_px);
            expect_near("whole", whole.soften_px, 0, 1e-12);
        }
}

/* Nothing read, or edges that are none: something harmless comes back, and it says so. */
static void nothing_to_go_by(void **state)
{
    (void)state;
    draw_view view = draw_above(100, 100, 4, 0);
    drawing d = draw_start(&view, DRAW_TOP);
    sw_photo photo;
    sw_esf esf;
    draw_develop(&d, &(draw_camera){.bits = 8}, &photo);
    for (int kind = 0; kind < 3; kind++) {
        uint32_t seed = 1;
        memset(&esf, 0, sizeof esf);
        if (kind > 0) {
            esf.weight = 100;
            esf.dark = 3;
            esf.bright = kind == 1 ? 3.5 : 80; /* no contrast; contrast, but no edge */
            for (int i = 0; i < SW_ESF_BINS; i++) {
                esf.count[i] = 100;
                esf.sum[i] = 100 * chance(&seed);
            }
        }
        sw_response got = sw_response_fit(&esf, 1);
        assert_int_equal(got.poor, 1);
        assert_true(got.blur_px > 0.2 && got.blur_px < 5);
        assert_true(got.sharpen >= 0);
        assert_true(got.radius_px > 0);
    }
    sw_photo_free(&photo);
    draw_free(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_developed_edge_is_the_models),
        cmocka_unit_test(blur_alone),
        cmocka_unit_test(soft_photos),
        cmocka_unit_test(blur_and_sharpening),
        cmocka_unit_test(enlarged_pictures_show),
        cmocka_unit_test(nothing_to_go_by),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
