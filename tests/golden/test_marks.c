/* Half-way marks of the sample photos against their truth (samples/README.md), and none where none were drawn. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "golden/photo_score.h"

/* A found mark is the true one's when it lies no farther from it, mm. */
static const double SAME_MM = 1;

static sw_lens lens; /* of the samples' camera */

static int make_lens(void **state)
{
    (void)state;
    calibrate(SW_SAMPLES "/lens", "board%d.jpg", 8, &lens);
    return 0;
}

typedef struct tally {
    int drawn, found, strange; /* half-way marks drawn at seams; of these found; found where nothing was drawn */
    int halves, halves_held, steps, steps_held;
    double half_squares, half_worst, step_squares, step_worst;
} tally;

static double number(const json_t *object, const char *key)
{
    json_t *value = json_object_get(object, key);
    if (!json_is_number(value))
        fail_msg("the truth has no %s", key);
    return json_number_value(value);
}

static int is_of(const json_t *mark, const sw_inspection *ins, int tile, sw_side side)
{
    static const char letters[] = "NESW";
    return strcmp(json_string_value(json_object_get(mark, "tile")), ins->tiles[tile].name) == 0 &&
           json_string_value(json_object_get(mark, "side"))[0] == letters[side];
}

/* The drawn stroke at an edge that lies nearest to a place; NULL when there is none. */
static const json_t *nearest(const json_t *marks, const sw_inspection *ins, int tile, sw_side side, double from_half)
{
    const json_t *best = NULL, *m;
    size_t i;
    json_array_foreach(marks, i, m)
    {
        if (is_of(m, ins, tile, side) &&
            (!best || fabs(number(m, "from_half") - from_half) < fabs(number(best, "from_half") - from_half)))
            best = m;
    }
    return best;
}

static const sw_mark *found_at(const sw_inspection *ins, int tile, sw_side side)
{
    for (size_t i = 0; i < ins->mark_count; i++)
        if (ins->marks[i].tile == tile && ins->marks[i].side == side)
            return &ins->marks[i];
    return NULL;
}

/* One edge: what was drawn there against what was found. Returns the drawn stroke that was found, or NULL. */
static const json_t *compare(const json_t *marks, const sw_inspection *ins, int tile, sw_side side, tally *t)
{
    const sw_mark *m = found_at(ins, tile, side);
    const json_t *any = nearest(marks, ins, tile, side, m ? m->from_half_mm : 0);
    int tick = any && strcmp(json_string_value(json_object_get(any, "kind")), "tick") == 0;
    double off = m && any ? m->from_half_mm - number(any, "from_half") : NAN;
    t->drawn += tick;
    if (!m)
        return NULL;
    if (!(fabs(off) < SAME_MM)) {
        print_message("  strange: %s %s %.2f\n", ins->tiles[tile].name, sw_side_name(side), m->from_half_mm);
        t->strange++;
        return NULL;
    }
    t->found += tick;
    t->halves++;
    t->halves_held += fabs(off) <= m->u95_mm;
    t->half_squares += off * off;
    t->half_worst = fmax(t->half_worst, fabs(off));
    return any;
}

/* The step as it was drawn: both places, along the seam. */
static double drawn_step(const json_t *a, const json_t *b, const sw_inspection *ins, const sw_seam *seam,
                         const json_t *tiles)
{
    /* along the seam: mean of the two edges' directions from corner to corner */
    static const char *const ends[2][2][2] = {{{"SW", "SE"}, {"NW", "NE"}}, {{"NE", "SE"}, {"NW", "SW"}}};
    double u[2] = {0, 0}, step = 0;
    for (int k = 0; k < 2; k++) {
        const json_t *corners =
            json_object_get(json_object_get(tiles, ins->tiles[k ? seam->second : seam->first].name), "corners");
        for (size_t i = 0; i < 2; i++)
            u[i] += json_number_value(json_array_get(json_object_get(corners, ends[seam->upright][k][1]), i)) -
                    json_number_value(json_array_get(json_object_get(corners, ends[seam->upright][k][0]), i));
    }
    for (size_t i = 0; i < 2; i++)
        step += u[i] / hypot(u[0], u[1]) *
                (json_number_value(json_array_get(json_object_get(b, "mm"), i)) -
                 json_number_value(json_array_get(json_object_get(a, "mm"), i)));
    return step;
}

static void hold_against(const sw_inspection *ins, const json_t *truth, tally *t)
{
    const json_t *marks = json_object_get(truth, "marks");
    for (size_t i = 0; i < ins->seam_count; i++) {
        const sw_seam *s = &ins->seams[i];
        const json_t *a = compare(marks, ins, s->first, s->upright ? SW_EAST : SW_SOUTH, t);
        const json_t *b = compare(marks, ins, s->second, s->upright ? SW_WEST : SW_NORTH, t);
        if (!a || !b)
            continue;
        const sw_mark *m = found_at(ins, s->first, s->upright ? SW_EAST : SW_SOUTH);
        double off = m->step_mm - drawn_step(a, b, ins, s, json_object_get(truth, "tiles"));
        t->steps++;
        t->steps_held += fabs(off) <= m->step_u95_mm;
        t->step_squares += off * off;
        t->step_worst = fmax(t->step_worst, fabs(off));
    }
}

static tally look_at(const char *name, const sw_options *options)
{
    tally t = {0};
    char path[512];
    sw_photo photo;
    sw_inspection ins;
    sw_error err = {""};
    snprintf(path, sizeof path, "%s/%s.truth.json", SW_SAMPLES, name);
    json_t *truth = json_load_file(path, 0, NULL);
    if (!json_is_array(json_object_get(truth, "marks")))
        fail_msg("%s has no marks", path);
    snprintf(path, sizeof path, "%s/%s.jpg", SW_SAMPLES, name);
    if (sw_photo_load(path, &photo, &err) || sw_inspect(&photo, options, NULL, NULL, &ins, &err))
        fail_msg("%s", err.text);
    hold_against(&ins, truth, &t);
    print_message("  %s: %d of %d found, %d strange; from half RMS %.3f, worst %.3f, held %d of %d; step RMS %.3f, "
                  "worst %.3f, held "
                  "%d of %d\n",
                  name, t.found, t.drawn, t.strange, sqrt(t.half_squares / fmax(1, t.halves)), t.half_worst,
                  t.halves_held, t.halves, sqrt(t.step_squares / fmax(1, t.steps)), t.step_worst, t.steps_held,
                  t.steps);
    sw_inspection_free(&ins);
    sw_photo_free(&photo);
    json_decref(truth);
    return t;
}

/* Two of 14 marks lie under the card. Without a profile the lens costs the halves some. */
static void river_bend(void **state)
{
    (void)state;
    for (int with_lens = 0; with_lens < 2; with_lens++) {
        tally t = look_at("river-bend", &(sw_options){.lens = with_lens ? &lens : NULL});
        assert_int_equal(t.drawn, 14);
        assert_int_equal(t.found, 12);
        assert_int_equal(t.strange, 0);
        assert_int_equal(t.steps, 6);
        assert_true(sqrt(t.half_squares / t.halves) < (with_lens ? 0.05 : 0.08));
        assert_true(sqrt(t.step_squares / t.steps) < 0.05);
        assert_true(t.halves_held >= 11 && t.steps_held >= 5);
    }
}

/* Slanted marks far off the half on beaded tops, some edges without one, and a pencil line that crosses a seam. */
static void orchard(void **state)
{
    (void)state;
    tally t = look_at("orchard", &(sw_options){.reference = {80, 80, 48, 48}});
    assert_int_equal(t.drawn, 5);
    assert_int_equal(t.found, 5);
    assert_int_equal(t.strange, 0);
    assert_true(sqrt(t.half_squares / t.halves) < 0.08);
    assert_true(t.step_worst < 0.12);
    assert_true(t.halves_held >= t.halves - 1 && t.steps_held == t.steps);
}

static void expect_none(const char *folder, const char *name, const sw_options *options)
{
    char path[512];
    sw_photo photo;
    sw_inspection ins;
    sw_error err = {""};
    snprintf(path, sizeof path, "%s/%s.jpg", folder, name);
    if (sw_photo_load(path, &photo, &err) || sw_inspect(&photo, options, NULL, NULL, &ins, &err))
        fail_msg("%s", err.text);
    for (size_t i = 0; i < ins.mark_count; i++)
        print_message("  %s: %s %s %.2f\n", name, ins.tiles[ins.marks[i].tile].name, sw_side_name(ins.marks[i].side),
                      ins.marks[i].from_half_mm);
    assert_int_equal(ins.mark_count, 0);
    sw_inspection_free(&ins);
    sw_photo_free(&photo);
}

static void none_without_pencil(void **state)
{
    (void)state;
    const sw_options plain = {.reference = {.outer_x_mm = 100, .outer_y_mm = 100}},
                     small = {.reference = {80, 80, 48, 48}};
    expect_none(SW_SAMPLES, "valley-north", &(sw_options){0});
    expect_none(SW_SAMPLES, "valley-north-sanded", &(sw_options){0});
    expect_none(SW_SAMPLES, "weir", &(sw_options){0});
    expect_none(SW_SAMPLES, "mill-meadow", &plain);
    expect_none(SW_SAMPLES, "millpond", &plain);
    expect_none(SW_SAMPLES, "ferry-1", &small);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(river_bend),
        cmocka_unit_test(orchard),
        cmocka_unit_test(none_without_pencil),
    };
    return cmocka_run_group_tests(tests, make_lens, NULL);
}
