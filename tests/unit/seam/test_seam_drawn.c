/* Gaps of a drawn table: the whole way from photo to seams, with the truth known to the last digit.
 *
 * 2x2 tiles of 300 mm seen straight from above at 4 px/mm, gaps black, blur 0.8 px (and the pixel's own area), noise
 * 0.4 %, 8 bits. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "seamwright/seamwright.h"
#include "support/draw.h"
#include "support/look.h"

static const double DEGREE = 3.14159265358979323846 / 180;

static void start_table(drawing *d, const draw_view *view, const draw_table *table)
{
    static const double turns[] = {3, -5, 8, 0};
    *d = draw_start(view, DRAW_FLOOR);
    draw_put_table(d, table);
    for (int i = 0; i < 4; i++) {
        draw_card card = {draw_on_tile(table, i % 2, i / 2, 150, 150), turns[i] * DEGREE, 100, 60, 14, 0};
        draw_put_card(d, &card);
    }
}

static void inspect(drawing *d, double blur_px, uint32_t seed, sw_inspection *ins)
{
    sw_photo photo;
    sw_error err = {""};
    sw_lens lens = draw_lens(&d->view);
    sw_options options = {.lens = &lens};
    draw_blur(d, blur_px);
    draw_develop(d, &(draw_camera){.bits = 8, .noise = 0.004, .seed = seed}, &photo);
    draw_free(d);
    if (sw_inspect(&photo, &options, NULL, NULL, ins, &err))
        fail_msg("%s", err.text);
    sw_photo_free(&photo);
    assert_int_equal(ins->table.columns, 2);
    assert_int_equal(ins->table.rows, 2);
    assert_int_equal(ins->seam_count, 4);
}

static bool says(const sw_inspection *ins, sw_note_kind kind, const char *place)
{
    for (size_t i = 0; i < ins->notes.count; i++)
        if (ins->notes.list[i].kind == kind && !strcmp(ins->notes.list[i].places[0], place))
            return true;
    return false;
}

/* What is stated is of use below this, mm. */
static double u95_most_mm = 0.1;

/* Mean, and station by station: the gap lies within what is stated, and what is stated is of use. */
static void check_seam(const sw_seam *s, double gap, double turn)
{
    double good = 0, held = 0, unseen = 0;
    if (!(fabs(s->mean_mm - gap) <= s->mean_u95_mm))
        fail_msg("%s, gap %g, turned %g: mean %.4f, stated within %.4f", s->name, gap, turn, s->mean_mm,
                 s->mean_u95_mm);
    assert_true(s->mean_u95_mm < u95_most_mm);
    for (size_t k = 0; k < s->station_count; k++) {
        const sw_station *st = &s->stations[k];
        unseen += st->state == SW_STATION_UNSEEN;
        if (st->state != SW_STATION_OK)
            continue;
        good++;
        held += fabs(st->gap_mm - gap) <= st->u95_mm;
        if (!(fabs(st->gap_mm - gap) < 0.1))
            fail_msg("%s, gap %g, turned %g: %.3f at %.0f mm", s->name, gap, turn, st->gap_mm, st->at_mm);
    }
    assert_true(good > 280);
    assert_true(unseen == 0);
    if (!(held >= 0.9 * good))
        fail_msg("%s, gap %g, turned %g: %.0f of %.0f stations hold the true gap", s->name, gap, turn, held, good);
    expect_near("length", s->length_mm, 300, 0.15);
    expect_near("taper", s->taper_mm, 0, fmax(0.01, s->taper_u95_mm));
    expect_near("corner step", s->corner_step_mm, 0, 0.1);
    assert_int_equal(s->chip_count, 0);
}

/* The tiles are drawn square and straight: that must be within what is stated, too. */
static void check_tiles(const sw_inspection *ins)
{
    assert_int_equal(ins->tile_count, 4);
    for (int i = 0; i < 4; i++)
        for (int k = 0; k < 4; k++) {
            const sw_tile *t = &ins->tiles[i];
            expect_near("length of an edge", t->edges[k].length_mm, 300, t->edges[k].length_u95_mm);
            expect_near("straightness (minimum zone)", t->edges[k].straightness_mm, 0,
                        fmax(0.03, t->edges[k].straightness_u95_mm));
            expect_near("bow", t->edges[k].bow_mm, 0, 0.03);
            expect_near("angle", t->corners[k].angle_deg, 90, t->corners[k].u95_deg);
            assert_true(t->edges[k].length_u95_mm < 0.5 && t->corners[k].u95_deg < 0.1);
            assert_true(t->edges[k].seen > 0.95);
        }
}

static void check_gap(double gap, double turn, double blur_px)
{
    draw_view view = draw_above(2800, 2800, 4, turn * DEGREE);
    draw_table table = draw_even_table(2, 2, 300, gap);
    drawing d;
    sw_inspection ins;
    start_table(&d, &view, &table);
    inspect(&d, blur_px, 11, &ins);
    for (size_t i = 0; i < ins.seam_count; i++) {
        check_seam(&ins.seams[i], gap, turn);
        assert_int_equal(ins.seams[i].verdict, gap > 0.5 ? SW_OVER : SW_WITHIN);
    }
    check_tiles(&ins);
    sw_inspection_free(&ins);
}

static void gap_of_0_3_mm(void **state)
{
    (void)state;
    check_gap(0.3, 0, 0.8);
    check_gap(0.3, 1.5, 0.8);
}

static void gap_of_1_mm(void **state)
{
    (void)state;
    check_gap(1.0, 0, 0.8);
    check_gap(1.0, 1.5, 0.8);
}

static void gap_of_1_5_mm(void **state)
{
    (void)state;
    check_gap(1.5, 0, 0.8);
    check_gap(1.5, 1.5, 0.8);
}

static void gap_of_3_mm(void **state)
{
    (void)state;
    check_gap(3.0, 0, 0.8);
    check_gap(3.0, 1.5, 0.8);
}

/* A little out of focus: less certain, but not wrong. */
static void a_soft_photo(void **state)
{
    (void)state;
    check_gap(1.0, 1.5, 1.2);
    u95_most_mm = 0.15; /* a blur of 1.8 px may be no lens's: the ± holds that (src/track) */
    check_gap(1.5, 1.5, 1.8);
    check_gap(3.0, 1.5, 1.8);
    u95_most_mm = 0.1;
}

/* Three seams of different widths and one that is shut: it is found all the same and reads as shut. */
static void one_shut_seam(void **state)
{
    (void)state;
    draw_view view = draw_above(2800, 2800, 4, 1.5 * DEGREE);
    draw_table table = draw_even_table(2, 2, 300, 1.2);
    drawing d;
    sw_inspection ins;
    table.upright_mm[0] = 0;
    start_table(&d, &view, &table);
    inspect(&d, 0.8, 13, &ins);
    for (int i = 0; i < 2; i++) {
        const sw_seam *s = seam_called(&ins, i ? "A2-B2" : "A1-B1");
        assert_int_equal(s->verdict, SW_WITHIN);
        if (!(s->mean_mm <= s->mean_u95_mm && s->mean_u95_mm < 0.15))
            fail_msg("%s, shut: mean %.4f, stated within %.4f", s->name, s->mean_mm, s->mean_u95_mm);
        s = seam_called(&ins, i ? "B1-B2" : "A1-A2");
        expect_near("the other seams", s->mean_mm, 1.2, s->mean_u95_mm);
    }
    sw_inspection_free(&ins);
}

/* A bite of depth 2 mm and length 14 mm in the north edge of A2, and one of 1.2 mm by 9 mm in the west edge of B1. */
static void chips_are_found_where_they_are(void **state)
{
    (void)state;
    draw_view view = draw_above(2800, 2800, 4, 1.5 * DEGREE);
    draw_table table = draw_even_table(2, 2, 300, 1.0);
    drawing d;
    sw_inspection ins;
    start_table(&d, &view, &table);
    sw_point north[] = {draw_on_tile(&table, 0, 1, 203, -0.5), draw_on_tile(&table, 0, 1, 203, 0),
                        draw_on_tile(&table, 0, 1, 206, 2),    draw_on_tile(&table, 0, 1, 214, 2),
                        draw_on_tile(&table, 0, 1, 217, 0),    draw_on_tile(&table, 0, 1, 217, -0.5)};
    sw_point west[] = {draw_on_tile(&table, 1, 0, -0.5, 80),  draw_on_tile(&table, 1, 0, 0, 80),
                       draw_on_tile(&table, 1, 0, 1.2, 82.5), draw_on_tile(&table, 1, 0, 1.2, 86.5),
                       draw_on_tile(&table, 1, 0, 0, 89),     draw_on_tile(&table, 1, 0, -0.5, 89)};
    draw_polygon(&d, north, 6, table.slot);
    draw_polygon(&d, west, 6, table.slot);
    inspect(&d, 0.8, 17, &ins);
    const struct {
        const char *seam;
        int tile;
        sw_side side;
        double at, length, depth;
    } chips[] = {{"A1-A2", 2, SW_NORTH, 210, 14, 2.0}, {"A1-B1", 1, SW_WEST, 84.5, 9, 1.2}};
    size_t all = 0;
    for (size_t i = 0; i < ins.seam_count; i++)
        all += ins.seams[i].chip_count;
    assert_true(all <= 2);
    for (int i = 0; i < 2; i++) {
        const sw_seam *s = seam_called(&ins, chips[i].seam);
        if (s->chip_count != 1)
            fail_msg("%s: %zu chips instead of the one, %.1f mm deep", s->name, s->chip_count, chips[i].depth);
        assert_int_equal(s->chips[0].tile, chips[i].tile);
        assert_int_equal(s->chips[0].side, chips[i].side);
        expect_near("chip's place", s->chips[0].at_mm, chips[i].at, 1.5);
        expect_near("chip's length", s->chips[0].length_mm, chips[i].length, 0.3 * chips[i].length);
        expect_near("chip's depth", s->chips[0].depth_mm, chips[i].depth, 0.25);
        for (size_t k = 0; k < s->station_count; k++) {
            double off = fabs(s->stations[k].at_mm - chips[i].at);
            if (off < chips[i].length / 4) {
                assert_int_equal(s->stations[k].state, SW_STATION_CHIP);
                expect_near("gap inside the chip", s->stations[k].gap_mm, 1 + chips[i].depth, 0.2);
            }
            if (off > chips[i].length)
                assert_int_not_equal(s->stations[k].state, SW_STATION_CHIP);
        }
        expect_near("widest gap leaves the chip out", s->max_mm, 1, 0.1);
        expect_near("mean gap leaves the chip out", s->mean_mm, 1, s->mean_u95_mm);
    }
    for (int k = 0; k < 4; k++)
        for (int i = 0; i < 4; i++)
            expect_near("straightness leaves chips out", ins.tiles[i].edges[k].straightness_mm, 0, 0.06);
    sw_inspection_free(&ins);
}

/* Pencil lines of 0.7 mm across seams, square and slanted, and one along a seam 6 mm beside it, are no chips and widen
 * no gap. */
static void pencil_lines_are_no_chips(void **state)
{
    (void)state;
    const double pencil = 0.2;
    for (int wide = 0; wide < 2; wide++) {
        draw_view view = draw_above(2800, 2800, 4, 1.5 * DEGREE);
        draw_table table = draw_even_table(2, 2, 300, wide ? 1.0 : 0.4);
        drawing d = draw_start(&view, DRAW_FLOOR);
        sw_inspection ins;
        draw_table none = draw_even_table(2, 2, 300, wide ? 1.0 : 0.4);
        none.slot = DRAW_TOP;
        draw_put_table(&d, &none);
        draw_box(&d, draw_on_tile(&table, 0, 0, 300, 70), 40, 0.7, 0, pencil);
        draw_box(&d, draw_on_tile(&table, 0, 0, 300, 200), 40, 0.7, 0.6, pencil);
        draw_box(&d, draw_on_tile(&table, 1, 0, 150, 300), 0.7, 50, 0, pencil);
        draw_box(&d, draw_on_tile(&table, 1, 0, 230, 300), 0.7, 50, -0.5, pencil);
        draw_box(&d, draw_on_tile(&table, 0, 1, 294, 120), 0.7, 120, 0, pencil);
        /* The gaps over the pencil: graphite lies on the tops only. */
        double g = table.upright_mm[0], length = 2 * 300 + g;
        draw_box(&d, (sw_point){0, 0}, g, length, 0, 0);
        draw_box(&d, (sw_point){0, 0}, length, g, 0, 0);
        for (int i = 0; i < 4; i++) {
            draw_card card = {draw_on_tile(&table, i % 2, i / 2, 150, 150), 0.05 * i, 100, 60, 14, 0};
            draw_put_card(&d, &card);
        }
        inspect(&d, 0.8, 19, &ins);
        for (size_t i = 0; i < ins.seam_count; i++) {
            const sw_seam *s = &ins.seams[i];
            if (s->chip_count)
                fail_msg("%s, gap %g: a chip at %.0f mm", s->name, g, s->chips[0].at_mm);
            if (!strcmp(s->name, "A2-B2")) { /* one line runs along it: not measured, and said */
                assert_true(isnan(s->mean_mm));
                assert_true(says(&ins, SW_NOTE_LINE_BESIDE, s->name));
                continue;
            }
            expect_near("mean", s->mean_mm, g, s->mean_u95_mm);
            expect_near("widest", s->max_mm, g, 0.1);
        }
        sw_inspection_free(&ins);
    }
}

/* Bars of shadow across a seam darken both tops alike: the gap is as wide there as beside them. */
static void shadows_cross(void **state)
{
    (void)state;
    const double gap = 0.4;
    draw_view view = draw_above(2800, 2800, 4, 0);
    draw_table table = draw_even_table(2, 2, 300, gap);
    drawing d;
    sw_inspection ins;
    double worst = 0, seen = 0;
    start_table(&d, &view, &table);
    for (double at = 20; at < 290; at += 40)
        for (int tile = 0; tile < 2; tile++) {
            sw_point middle = draw_on_tile(&table, tile, 0, tile ? 40 : 260, at);
            draw_box(&d, middle, 80, 6, 0, 0.6 * DRAW_TOP);
        }
    inspect(&d, 0.8, 31, &ins);
    const sw_seam *s = &ins.seams[0];
    assert_string_equal(s->name, "A1-B1");
    for (size_t i = 0; i < s->station_count; i++) {
        if (s->stations[i].state != SW_STATION_OK)
            continue;
        worst = fmax(worst, fabs(s->stations[i].gap_mm - gap));
        seen++;
    }
    if (worst > 0.012 || seen < 0.9 * (double)s->station_count)
        fail_msg("%g of %zu stations seen, the worst is %g mm off", seen, s->station_count, worst);
    sw_inspection_free(&ins);
}

/* On stripes, two fifths as light as the tops and nearly black, where they end is no tile's rim: seams are measured, the table's own edges are not. */
static void a_striped_floor(void **state)
{
    (void)state;
    const double stripe = 14, gap = 1;
    for (int striped = 0; striped < 2; striped++) {
        draw_view view = draw_above(2800, 2800, 4, 1.5 * DEGREE);
        draw_table table = draw_even_table(2, 2, 300, gap);
        static const double turns[] = {3, -5, 8, 0};
        drawing d = draw_start(&view, DRAW_FLOOR);
        for (int k = -30; striped && k < 30; k++)
            draw_box(&d, (sw_point){2 * k * stripe, 0}, stripe, 900, 0, DRAW_BLACK);
        draw_put_table(&d, &table);
        for (int i = 0; i < 4; i++) {
            draw_card card = {draw_on_tile(&table, i % 2, i / 2, 150, 150), turns[i] * DEGREE, 100, 60, 14, 0};
            draw_put_card(&d, &card);
        }
        sw_inspection ins;
        inspect(&d, 0.8, 23, &ins);
        for (size_t i = 0; i < ins.seam_count; i++)
            assert_true(fabs(ins.seams[i].mean_mm - gap) <= ins.seams[i].mean_u95_mm);
        assert_int_equal(isnan(ins.tiles[0].edges[SW_NORTH].length_mm), striped);
        assert_int_equal(isnan(ins.tiles[3].edges[SW_NORTH].length_mm), striped);
        assert_int_equal(says(&ins, SW_NOTE_EDGE_UNSEEN, ""), striped);
        sw_inspection_free(&ins);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(gap_of_0_3_mm),
        cmocka_unit_test(gap_of_1_mm),
        cmocka_unit_test(gap_of_1_5_mm),
        cmocka_unit_test(gap_of_3_mm),
        cmocka_unit_test(a_soft_photo),
        cmocka_unit_test(one_shut_seam),
        cmocka_unit_test(chips_are_found_where_they_are),
        cmocka_unit_test(pencil_lines_are_no_chips),
        cmocka_unit_test(shadows_cross),
        cmocka_unit_test(a_striped_floor),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
