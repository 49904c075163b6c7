/* Half-way marks on drawn tables, where every stroke lies where it was put.
 *
 * 2x2 tiles of 300 mm seen straight from above at 4 px/mm, gaps of 1 mm, blur 0.8 px, noise 0.4 % of the light. A
 * stroke takes a third of the light and is 0.5 mm wide unless said otherwise. */
#include "support/maths_check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspect/combine/turned.h"
#include "seamwright/seamwright.h"
#include "support/draw.h"

static const double DEGREE = 3.14159265358979323846 / 180, TILE = 300, GAP = 1, TONE = 0.67;

/* A stroke on tile (column, row), beside one of its sides: it meets the rim's line `off` mm from the half and is seen
 * from one depth to another. */
typedef struct stroke {
    int column, row;
    sw_side side;
    double off, slant_deg, from, to, width;
} stroke;

static sw_point place_at(const draw_table *table, int column, int row, sw_side side, double along, double depth)
{
    double in = side == SW_SOUTH || side == SW_EAST ? TILE - depth : depth;
    return side == SW_NORTH || side == SW_SOUTH ? draw_on_tile(table, column, row, along, in)
                                                : draw_on_tile(table, column, row, in, along);
}

static void put_stroke(drawing *d, const draw_table *table, const stroke *s, double tone)
{
    double slope = tan(s->slant_deg * DEGREE), wide = s->width / cos(s->slant_deg * DEGREE) / 2,
           half = TILE / 2 + s->off;
    sw_point p[4];
    for (int k = 0; k < 4; k++) {
        double depth = k < 2 ? s->from : s->to;
        p[k] = place_at(table, s->column, s->row, s->side, half + slope * depth + (k == 0 || k == 3 ? -wide : wide),
                        depth);
    }
    draw_polygon(d, p, 4, tone * DRAW_TOP);
}

static void start_table(drawing *d, const draw_view *view, const draw_table *table)
{
    *d = draw_start(view, DRAW_FLOOR);
    draw_put_table(d, table);
    for (int i = 0; i < 4; i++) {
        draw_card card = {draw_on_tile(table, i % 2, i / 2, 150, 150), (3 * i - 4) * DEGREE, 100, 60, 14, 0};
        draw_put_card(d, &card);
    }
}

static void finish(drawing *d, double noise, uint32_t seed, const char *file, sw_inspection *ins)
{
    sw_photo photo;
    sw_error err = {""};
    sw_lens lens = draw_lens(&d->view);
    sw_options options = {.lens = &lens};
    draw_blur(d, 0.8);
    draw_develop(d, &(draw_camera){.bits = 8, .noise = noise, .seed = seed}, &photo);
    draw_free(d);
    snprintf(photo.file, sizeof photo.file, "%s", file);
    if (sw_inspect(&photo, &options, NULL, NULL, ins, &err))
        fail_msg("%s", err.text);
    sw_photo_free(&photo);
    assert_int_equal(ins->seam_count, 4);
}

static void inspect_strokes(const stroke *strokes, int count, double tone, double turn_rad, uint32_t seed,
                            sw_inspection *ins)
{
    draw_view view = draw_above(2700, 2700, 4, turn_rad);
    draw_table table = draw_even_table(2, 2, TILE, GAP);
    drawing d;
    start_table(&d, &view, &table);
    for (int i = 0; i < count; i++)
        put_stroke(&d, &table, &strokes[i], tone);
    finish(&d, 0.004, seed, "drawn", ins);
}

static const sw_mark *mark_of(const sw_inspection *ins, int column, int row, sw_side side)
{
    for (size_t i = 0; i < ins->mark_count; i++)
        if (ins->marks[i].tile == row * 2 + column && ins->marks[i].side == side)
            return &ins->marks[i];
    return NULL;
}

static void expect_mark(const sw_inspection *ins, const stroke *s)
{
    const sw_mark *m = mark_of(ins, s->column, s->row, s->side);
    if (!m)
        fail_msg("no mark at column %d, row %d, %s", s->column, s->row, sw_side_name(s->side));
    if (!(fabs(m->from_half_mm - s->off) <= m->u95_mm) || !(fabs(m->from_half_mm - s->off) < 0.06))
        fail_msg("column %d, row %d, %s: %.3f instead of %.3f, stated within %.3f", s->column, s->row,
                 sw_side_name(s->side), m->from_half_mm, s->off, m->u95_mm);
    assert_true(m->u95_mm > 0.01 && m->u95_mm < 0.2);
    assert_true(m->u_random_mm > 0 && m->u_random_mm <= m->u95_mm / 2);
    expect_near("at", m->at_mm, TILE / 2 + s->off, 0.1);
    const sw_seam *seam = &ins->seams[m->seam];
    int tile = s->row * 2 + s->column;
    assert_int_equal(m->tile, tile);
    assert_true(seam->first == tile || seam->second == tile);
    assert_int_equal(seam->upright, s->side == SW_EAST || s->side == SW_WEST);
}

/* Ticks of all slants, widths and beginnings on both tiles of every seam; steps are what was drawn. */
static const stroke PAIRS[] = {
    {0, 0, SW_EAST, 0, 0, 0, 12, 0.5},       {1, 0, SW_WEST, 0.4, 3, 0, 9, 0.5},
    {0, 0, SW_SOUTH, -1.6, -12, 0, 14, 0.4}, {0, 1, SW_NORTH, 1.1, 20, 0, 10, 0.8},
    {1, 0, SW_SOUTH, 2.5, 33, 0, 13, 0.5},   {1, 1, SW_NORTH, 2.2, -33, 0, 13, 1.1},
    {0, 1, SW_EAST, 7.5, 0, 4, 12, 0.6},     {1, 1, SW_WEST, 7.7, -5, 0, 6, 0.5},
};
enum { PAIR_COUNT = sizeof PAIRS / sizeof *PAIRS };

static void check_pairs(double tone, double turn_rad, uint32_t seed)
{
    sw_inspection ins;
    inspect_strokes(PAIRS, PAIR_COUNT, tone, turn_rad, seed, &ins);
    assert_int_equal(ins.mark_count, PAIR_COUNT);
    for (int i = 0; i < PAIR_COUNT; i++)
        expect_mark(&ins, &PAIRS[i]);
    for (int i = 0; i < PAIR_COUNT; i += 2) {
        const sw_mark *a = mark_of(&ins, PAIRS[i].column, PAIRS[i].row, PAIRS[i].side);
        const sw_mark *b = mark_of(&ins, PAIRS[i + 1].column, PAIRS[i + 1].row, PAIRS[i + 1].side);
        double step = PAIRS[i + 1].off - PAIRS[i].off;
        assert_true(b == a + 1 && a->seam == b->seam);
        assert_true(a->step_mm == b->step_mm && a->step_u95_mm == b->step_u95_mm);
        if (!(fabs(a->step_mm - step) <= a->step_u95_mm) || !(fabs(a->step_mm - step) < 0.06))
            fail_msg("%s: step %.3f instead of %.3f, stated within %.3f", ins.seams[a->seam].name, a->step_mm, step,
                     a->step_u95_mm);
        assert_true(a->step_u95_mm < 0.2);
    }
    sw_inspection_free(&ins);
}

static void pairs_are_where_they_were_drawn(void **state)
{
    (void)state;
    check_pairs(TONE, 0, 1);
}

static void faint_pairs_on_a_turned_table(void **state)
{
    (void)state;
    check_pairs(0.85, 0.11, 2);
}

static void one_tile_only_has_no_step(void **state)
{
    (void)state;
    static const stroke lone = {1, 0, SW_WEST, -0.7, 2, 0, 11, 0.5};
    sw_inspection ins;
    inspect_strokes(&lone, 1, TONE, 0, 3, &ins);
    assert_int_equal(ins.mark_count, 1);
    expect_mark(&ins, &lone);
    assert_true(isnan(ins.marks[0].step_mm) && isnan(ins.marks[0].step_u95_mm));
    sw_inspection_free(&ins);
}

/* Of two strokes the one nearer to the half counts, whichever is darker; a stroke beyond 24 mm does not. */
static void the_nearest_counts(void **state)
{
    (void)state;
    static const stroke three[] = {
        {0, 0, SW_EAST, 1.2, 0, 0, 10, 0.4}, {0, 0, SW_EAST, -9, 10, 0, 16, 1}, {0, 1, SW_EAST, 27, 0, 0, 16, 0.8}};
    sw_inspection ins;
    inspect_strokes(three, 3, TONE, 0, 4, &ins);
    assert_int_equal(ins.mark_count, 1);
    expect_mark(&ins, &three[0]);
    sw_inspection_free(&ins);
}

/* A line that was drawn over the seam, tiles together: it goes on on the other side, across the gap. */
static void a_line_across_the_seam(void **state)
{
    (void)state;
    const double slope = tan(25 * DEGREE);
    const stroke two[] = {{0, 0, SW_EAST, 3, -25, 0, 40, 0.7}, {1, 0, SW_WEST, 3 + slope * GAP, 25, 0, 40, 0.7}};
    sw_inspection ins;
    inspect_strokes(two, 2, TONE, 0, 5, &ins);
    assert_int_equal(ins.mark_count, 2);
    expect_mark(&ins, &two[0]);
    expect_mark(&ins, &two[1]);
    expect_near("step", ins.marks[0].step_mm, slope * GAP, 0.06);
    sw_inspection_free(&ins);
}

static uint32_t next_random(uint32_t *seed)
{
    *seed = *seed * 1664525u + 1013904223u;
    return *seed >> 8;
}

/* What is no mark: strokes that end far from the rim, run along it or lie too slanted; a shadow's edge; a chip; specks.
 */
static void others_are_no_marks(void **state)
{
    (void)state;
    static const stroke no[] = {{0, 0, SW_EAST, 0, 0, 9, 25, 0.5}, {1, 0, SW_WEST, 0, 55, 0, 14, 0.5}};
    draw_view view = draw_above(2700, 2700, 4, 0);
    draw_table table = draw_even_table(2, 2, TILE, GAP);
    drawing d;
    sw_inspection ins;
    uint32_t seed = 7;
    start_table(&d, &view, &table);
    for (int i = 0; i < 2; i++)
        put_stroke(&d, &table, &no[i], TONE);
    draw_box(&d, place_at(&table, 0, 0, SW_SOUTH, 150, 4), 60, 0.5, 0, TONE * DRAW_TOP);
    /* shade over half of the edges below */
    draw_box(&d, place_at(&table, 0, 1, SW_NORTH, 75, 40), 150, 79, 0, 0.8 * DRAW_TOP);
    /* a bite, 4 mm wide and 3 deep */
    sw_point bite[3] = {place_at(&table, 1, 0, SW_SOUTH, 148, 0), place_at(&table, 1, 0, SW_SOUTH, 152, 0),
                        place_at(&table, 1, 0, SW_SOUTH, 150, 3)};
    draw_polygon(&d, bite, 3, 0.2 * DRAW_TOP);
    for (int i = 0; i < 500; i++) { /* specks of 0.4 to 1.4 mm beside the last two seams */
        double along = 100 + next_random(&seed) % 1000 / 10.0, depth = 0.5 + next_random(&seed) % 160 / 10.0;
        double size = 0.4 + next_random(&seed) % 100 / 100.0;
        int on_a2 = i & 1;
        draw_box(&d, place_at(&table, on_a2 ? 0 : 1, 1, on_a2 ? SW_EAST : SW_WEST, along, depth), size, size, i,
                 0.9 * DRAW_TOP);
    }
    finish(&d, 0.004, 6, "drawn", &ins);
    for (size_t i = 0; i < ins.mark_count; i++)
        print_message("%s %s: %.3f\n", ins.tiles[ins.marks[i].tile].name, sw_side_name(ins.marks[i].side),
                      ins.marks[i].from_half_mm);
    assert_int_equal(ins.mark_count, 0);
    sw_inspection_free(&ins);
}

/* Noise alone has no marks, however much it is. */
static void noise_has_none(void **state)
{
    (void)state;
    for (uint32_t seed = 0; seed < 3; seed++) {
        draw_view view = draw_above(2000, 2000, 3, 0.05);
        draw_table table = draw_even_table(2, 2, TILE, GAP);
        drawing d;
        sw_inspection ins;
        start_table(&d, &view, &table);
        finish(&d, 0.004 + 0.013 * seed, 20 + seed, "drawn", &ins);
        assert_int_equal(ins.mark_count, 0);
        sw_inspection_free(&ins);
    }
}

/* Four quarter turns lead back; one quarter gives what a photo of the turned table would. */
static void turned_marks_are_the_same_marks(void **state)
{
    (void)state;
    sw_inspection ins;
    sw_error err = {""};
    sw_mark before[PAIR_COUNT];
    inspect_strokes(PAIRS, PAIR_COUNT, TONE, 0, 8, &ins);
    assert_int_equal(ins.mark_count, PAIR_COUNT);
    memcpy(before, ins.marks, sizeof before);
    assert_int_equal(sw_inspection_turn(&ins, 1, &err), SW_OK);
    /* A1's east becomes A2's north, A1's south A2's east; what ran to the east runs to the north, so it counts the
     * other way */
    const sw_mark *north = mark_of(&ins, 0, 1, SW_NORTH), *east = mark_of(&ins, 0, 1, SW_EAST);
    assert_true(north && east);
    expect_near("A1 east, turned", north->from_half_mm, before[0].from_half_mm, 1e-9);
    expect_near("A1 south, turned", east->from_half_mm, 1.6, 0.1);
    expect_near("its step", east->step_mm, -(1.1 + 1.6), 0.1);
    expect_near("first step", north->step_mm, -0.4, 0.1);
    for (size_t i = 0; i < ins.mark_count; i++) {
        const sw_seam *s = &ins.seams[ins.marks[i].seam];
        int second = ins.marks[i].side == SW_WEST || ins.marks[i].side == SW_NORTH;
        assert_int_equal(second ? s->second : s->first, ins.marks[i].tile);
        assert_true(i == 0 || ins.marks[i - 1].seam <= ins.marks[i].seam);
    }
    assert_int_equal(sw_inspection_turn(&ins, 3, &err), SW_OK);
    assert_int_equal(ins.mark_count, PAIR_COUNT);
    for (int i = 0; i < PAIR_COUNT; i++) {
        assert_int_equal(ins.marks[i].tile, before[i].tile);
        assert_int_equal(ins.marks[i].side, before[i].side);
        assert_int_equal(ins.marks[i].seam, before[i].seam);
        expect_near("from half", ins.marks[i].from_half_mm, before[i].from_half_mm, 1e-9);
        expect_near("at", ins.marks[i].at_mm, before[i].at_mm, 1e-9);
        expect_near("step", ins.marks[i].step_mm, before[i].step_mm, 1e-9);
        expect_near("x", ins.marks[i].mm.x, before[i].mm.x, 1e-9);
    }
    sw_inspection_free(&ins);
}

/* Three photos, the last of the table turned by a quarter; one mark shows in a single photo only and is left out. */
static void several_photos_are_joined(void **state)
{
    (void)state;
    sw_inspection photos[3], out;
    sw_error err = {""};
    static const char *const names[] = {"one", "two", "three"};
    for (int k = 0; k < 3; k++) {
        draw_view view = draw_above(2700, 2700, 4, k == 2 ? 90 * DEGREE : 0.02 * k);
        draw_table table = draw_even_table(2, 2, TILE, GAP);
        drawing d;
        table.upright_mm[0] = 1.6; /* so that the turn can be told */
        start_table(&d, &view, &table);
        for (int i = 0; i < PAIR_COUNT - (k > 0); i++)
            put_stroke(&d, &table, &PAIRS[i], TONE);
        finish(&d, 0.004, 30 + (uint32_t)k, names[k], &photos[k]);
    }
    assert_int_equal(photos[0].mark_count, PAIR_COUNT);
    assert_int_equal(photos[2].mark_count, PAIR_COUNT - 1);
    if (sw_inspection_combine(photos, 3, &out, &err))
        fail_msg("%s", err.text);
    assert_true(out.repeatability->quarter_turns[2] != 0);
    assert_int_equal(out.mark_count, PAIR_COUNT - 1);
    for (int i = 0; i < PAIR_COUNT - 1; i++) {
        expect_mark(&out, &PAIRS[i]);
        const sw_mark *m = mark_of(&out, PAIRS[i].column, PAIRS[i].row, PAIRS[i].side);
        const sw_mark *alone = mark_of(&photos[0], PAIRS[i].column, PAIRS[i].row, PAIRS[i].side);
        assert_true(m->u_random_mm < alone->u_random_mm * 1.5);
        if (i < PAIR_COUNT - 2)
            expect_near("step", m->step_mm, PAIRS[i | 1].off - PAIRS[i & ~1].off, 0.06);
        else
            assert_true(isnan(m->step_mm));
    }
    for (int k = 0; k < 3; k++)
        sw_inspection_free(&photos[k]);
    sw_inspection_free(&out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pairs_are_where_they_were_drawn),
        cmocka_unit_test(faint_pairs_on_a_turned_table),
        cmocka_unit_test(one_tile_only_has_no_step),
        cmocka_unit_test(the_nearest_counts),
        cmocka_unit_test(a_line_across_the_seam),
        cmocka_unit_test(others_are_no_marks),
        cmocka_unit_test(noise_has_none),
        cmocka_unit_test(turned_marks_are_the_same_marks),
        cmocka_unit_test(several_photos_are_joined),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
