/* The uncertainties of a drawn table, taken apart: whatever is stated anywhere is twice the root sum of squares of its
 * parts, and the parts that come through the scale are what its alternatives make of the same figure. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "seamwright/seamwright.h"
#include "support/draw.h"

/* 2x2 tiles seen a little from the side at about 2.2 px/mm, so that lens, slant and cards all matter. */
static void inspect(int with_profile, double inner_mm, sw_inspection *ins)
{
    static const double turns[] = {0.05, -0.09, 0.14, 0};
    draw_view view = draw_from(1700, 1500, 2500, (double[]){60, -140, 1150}, (sw_point){0, 0});
    draw_table table = draw_even_table(2, 2, 300, 1);
    drawing d = draw_start(&view, DRAW_FLOOR);
    sw_photo photo;
    sw_error err = {""};
    sw_lens lens = draw_lens(&view);
    for (int k = 0; k < 9; k++) /* a profile that is not exact */
        lens.covariance[k][k] = k < 4 ? 4 : 1e-6;
    sw_options options = {.lens = with_profile ? &lens : NULL, .reference = {100, 100, inner_mm, inner_mm}};
    draw_put_table(&d, &table);
    for (int i = 0; i < 4; i++) {
        draw_card card = {draw_on_tile(&table, i % 2, i / 2, 150, 150), turns[i], 100, inner_mm, 14, 0};
        draw_put_card(&d, &card);
    }
    draw_blur(&d, 0.7);
    draw_develop(&d, &(draw_camera){.bits = 8, .noise = 0.006, .seed = 4}, &photo);
    draw_free(&d);
    if (sw_inspect(&photo, &options, NULL, NULL, ins, &err))
        fail_msg("%s", err.text);
    sw_photo_free(&photo);
    assert_int_equal(ins->seam_count, 4);
    assert_int_equal(ins->tile_count, 4);
}

static double through_scale(const sw_parts *p)
{
    return p->u[SW_PART_SPREAD] * p->u[SW_PART_SPREAD] + p->u[SW_PART_LENS] * p->u[SW_PART_LENS] +
           p->u[SW_PART_FIT] * p->u[SW_PART_FIT] + p->u[SW_PART_PERSPECTIVE] * p->u[SW_PART_PERSPECTIVE];
}

static void adds_up(const char *what, const sw_parts *p, double u95)
{
    double sum = 0;
    for (int k = 0; k < SW_PART_COUNT; k++) {
        assert_true(p->u[k] >= 0);
        sum += p->u[k] * p->u[k];
    }
    assert_true(u95 > 0);
    expect_digits(what, 2 * sqrt(sum), u95, 12);
}

/* A figure of a tile's four corners as pixels, under the scale's alternatives: the root sum of squares of its changes.
 */
static double by_alternatives(const sw_scale *scale, const sw_tile *t, int k, int is_angle)
{
    sw_point px[4];
    double sum = 0, here = 0;
    for (int c = 0; c < 4; c++)
        px[c] = sw_scale_to_px(scale, t->corners[c].mm);
    for (int i = -1; i < scale->alternative_count; i++) {
        sw_scale s = *scale;
        sw_point p[4];
        if (i >= 0)
            sw_scale_take_alternative(scale, i, &s);
        for (int c = 0; c < 4; c++)
            p[c] = sw_scale_to_mm(&s, px[c]);
        sw_point a = p[(k + 3) % 4], b = p[(k + 1) % 4];
        double ux = a.x - p[k].x, uy = a.y - p[k].y, vx = b.x - p[k].x, vy = b.y - p[k].y;
        double value = is_angle ? atan2(fabs(ux * vy - uy * vx), ux * vx + uy * vy) * 180 / M_PI : hypot(vx, vy);
        if (i < 0)
            here = value;
        else
            sum += (value - here) * (value - here);
    }
    return sum;
}

/* All that is random of a gap at a place, and what the whole seam shares, are both in it. */
static void check_seams(const sw_inspection *ins)
{
    for (size_t i = 0; i < ins->seam_count; i++) {
        const sw_seam *s = &ins->seams[i];
        adds_up("widest gap", &s->max_parts, s->max_u95_mm);
        adds_up("mean gap", &s->mean_parts, s->mean_u95_mm);
        for (size_t k = 0; k < s->station_count; k++)
            if (s->stations[k].at_mm == s->max_at_mm)
                adds_up("the station's own", &s->max_parts, s->stations[k].u95_mm);
        assert_true(s->max_parts.u[SW_PART_NOISE] > 0 && s->max_parts.u[SW_PART_LIGHT] > 0 &&
                    s->max_parts.u[SW_PART_MODEL] > 0 && s->max_parts.u[SW_PART_SPREAD] > 0);
        assert_true(s->max_parts.u[SW_PART_PIXELS] == 0); /* blurred enough for its pixels */
        /* A mean knows the random part better, the rest as badly. */
        assert_true(s->mean_parts.u[SW_PART_NOISE] < 0.7 * s->max_parts.u[SW_PART_NOISE]);
        assert_true(s->mean_parts.u[SW_PART_MODEL] > 0.9 * s->max_parts.u[SW_PART_MODEL]);
        /* At most the efficiency of the median absolute deviation, 0.367, times the stations, one a millimetre. */
        if (!(s->max_parts.degrees_of_freedom > 5 && s->max_parts.degrees_of_freedom <= 0.367 * 305))
            fail_msg("%s: %.1f degrees of freedom", s->name, s->max_parts.degrees_of_freedom);
    }
}

static void check_tiles(const sw_inspection *ins)
{
    for (size_t i = 0; i < 4 * ins->tile_count; i++) {
        const sw_tile *t = &ins->tiles[i / 4];
        const sw_edge *e = &t->edges[i % 4];
        const sw_corner *c = &t->corners[i % 4];
        const double *size = &e->length_parts.u[SW_PART_SIZE], *thick = &e->length_parts.u[SW_PART_THICKNESS];
        adds_up("angle", &c->angle_parts, c->u95_deg);
        adds_up("length", &e->length_parts, e->length_u95_mm);
        adds_up("straightness", &e->straightness_parts, e->straightness_u95_mm);
        /* The way from px to mm is good to 1e-10 of the camera's height: 1e-7 mm in changes of a tenth of a millimetre.
         */
        expect_digits("angle through the scale", through_scale(&c->angle_parts),
                      by_alternatives(&ins->scale, t, (int)i % 4, 1), 6);
        expect_digits("length through the scale", through_scale(&e->length_parts),
                      by_alternatives(&ins->scale, t, (int)i % 4, 0), 6);
        expect_digits("cards' own", hypot(*size, *thick), ins->scale.reference_u_rel * e->length_mm, 12);
        expect_near("30 um on 100 mm (DIN 862)", *size, 3e-4 * e->length_mm, 1e-9);
        assert_true(e->length_parts.u[SW_PART_LENS] > 0 && e->length_parts.u[SW_PART_PERSPECTIVE] > 0);
    }
}

static double mean_length_part(const sw_inspection *ins, sw_part part)
{
    double sum = 0;
    for (size_t i = 0; i < 4 * ins->tile_count; i++)
        sum += ins->tiles[i / 4].edges[i % 4].length_parts.u[part] / (4.0 * (double)ins->tile_count);
    return sum;
}

static void everything_adds_up(void **state)
{
    (void)state;
    double lens[2], rest[2];
    for (int with_profile = 0; with_profile < 2; with_profile++) {
        sw_inspection ins;
        inspect(with_profile, 60, &ins);
        check_seams(&ins);
        check_tiles(&ins);
        assert_int_equal(ins.budget_count, SW_BUDGET_FIGURES);
        for (size_t i = 0; i < ins.budget_count; i++)
            for (size_t k = 0; k < ins.budgets[i].line_count; k++)
                if (ins.budgets[i].lines[k].part == SW_PART_LENS)
                    assert_int_equal(ins.budgets[i].lines[k].kind, with_profile ? SW_FROM_PROFILE : SW_SEEN);
        lens[with_profile] = mean_length_part(&ins, SW_PART_LENS);
        rest[with_profile] = mean_length_part(&ins, SW_PART_FIT);
        sw_inspection_free(&ins);
    }
    print_message("  lens, mm: %.4f estimated, %.4f with a profile; cards' fit %.4f and %.4f\n", lens[0], lens[1],
                  rest[0], rest[1]);
    /* What is left when the lens is known does not depend on how it came to be known. */
    expect_near("the cards' fit", rest[0] / rest[1], 1, 0.1);
}

/* A plain square cannot tell edge spread from size; a frame can. The budget says so. */
static void plain_squares_pay_for_the_spread(void **state)
{
    (void)state;
    double spread[2];
    for (int frame = 0; frame < 2; frame++) {
        sw_inspection ins;
        inspect(1, frame ? 60 : 0, &ins);
        check_seams(&ins);
        check_tiles(&ins);
        spread[frame] = mean_length_part(&ins, SW_PART_SPREAD);
        if (!frame) {
            /* By hand: 0.1 px of prior on either side of 100 mm at px_per_mm, on a tile three times as long. */
            double by_hand = 3 * 2 * 0.1 / ins.scale.px_per_mm;
            print_message("  edge spread of plain squares in a length: %.4f mm, by hand at most %.4f\n", spread[0],
                          by_hand);
            assert_true(spread[0] < 1.05 * by_hand && spread[0] > 0.5 * by_hand);
            assert_int_equal(ins.budgets[SW_BUDGET_LENGTH].lines[0].part, SW_PART_SPREAD);
            assert_int_equal(ins.budgets[SW_BUDGET_LENGTH].lines[0].kind, SW_ASSUMED);
        }
        sw_inspection_free(&ins);
    }
    assert_true(spread[1] < 0.3 * spread[0]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(everything_adds_up),
                                       cmocka_unit_test(plain_squares_pay_for_the_spread)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
