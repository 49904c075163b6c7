/* Beside a chip, and beside the crossing seam where a step is not known, a reading is believed only as far as the seam farther on bears it out. */
#include "support/maths_check.h"

#include <math.h>
#include <string.h>

#include "track/flank.h"

enum { LENGTH_MM = 300 };
static const double GAP_MM = 0.05, MODEL_MM = 0.02, OFF_MM = 0.6;

typedef struct seam {
    sw_track_point points[LENGTH_MM];
    sw_track_chip chip;
    sw_track track;
} seam;

/* A gap that grows by `slope` a mm, with a chip of 12 mm at 150, or none. */
static void lay(seam *s, double slope, int chips)
{
    memset(s, 0, sizeof *s);
    for (int i = 0; i < LENGTH_MM; i++) {
        sw_track_point *p = &s->points[i];
        *p = (sw_track_point){.at_mm = i + 0.5,
                              .across = {0, GAP_MM + slope * i},
                              .model_mm = MODEL_MM,
                              .systematic_mm = MODEL_MM,
                              .seen = true};
        p->chip[SW_SECOND] = chips && fabs(p->at_mm - 150) <= 7;
    }
    s->chip = (sw_track_chip){SW_SECOND, 150, 12, 2};
    s->track = (sw_track){
        .has = {true, true}, .points = s->points, .count = LENGTH_MM, .chips = &s->chip, .chip_count = chips};
}

static void lift(seam *s, int from, int to)
{
    for (int i = from; i < to; i++)
        s->points[i].across[SW_SECOND] += OFF_MM;
}

static void unknown_step(seam *s)
{
    for (int i = 0; i < LENGTH_MM; i++) {
        s->points[i].height_mm = 0.3;
        sw_track_point_sum(&s->points[i]);
    }
}

/* Places whose ± has grown, and that the place holds its gap and the seam's. */
static int widened(const seam *s)
{
    int n = 0;
    for (int i = 0; i < LENGTH_MM; i++) {
        const sw_track_point *p = &s->points[i];
        expect_near("their sum", p->systematic_mm, hypot(p->model_mm, p->height_mm), 1e-12);
        if (p->model_mm == MODEL_MM)
            continue;
        n++;
        assert_true(2 * p->model_mm > OFF_MM);
    }
    return n;
}

static void beside_a_chip(void **state)
{
    (void)state;
    seam s;
    lay(&s, 0, 1);
    lift(&s, 130, 142);
    sw_flank_widen(&s.track);
    assert_int_equal(widened(&s), 12);
    /* a seam that is so wide farther on, too, bears it out */
    lay(&s, 0, 1);
    lift(&s, 60, 143);
    sw_flank_widen(&s.track);
    assert_int_equal(widened(&s), 0);
}

/* Of the side on which nothing more was seen the other one tells. */
static void beside_a_chip_at_what_is_not_seen(void **state)
{
    (void)state;
    seam s;
    lay(&s, 0, 1);
    lift(&s, 158, 162);
    for (int i = 162; i < LENGTH_MM; i++)
        s.points[i].seen = false;
    sw_flank_widen(&s.track);
    assert_int_equal(widened(&s), 4);
}

static void beside_the_crossing_seam(void **state)
{
    (void)state;
    seam s;
    for (int unknown = 0; unknown < 2; unknown++) {
        lay(&s, 0, 0);
        lift(&s, 0, 10);
        lift(&s, LENGTH_MM - 8, LENGTH_MM);
        if (unknown)
            unknown_step(&s);
        sw_flank_widen(&s.track);
        assert_int_equal(widened(&s), unknown ? 18 : 0);
    }
}

/* An edge out of square makes a wedge, which is no misreading. */
static void a_wedge_is_believed(void **state)
{
    (void)state;
    seam s;
    lay(&s, 0.006, 1);
    unknown_step(&s);
    sw_flank_widen(&s.track);
    assert_int_equal(widened(&s), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(beside_a_chip), cmocka_unit_test(beside_a_chip_at_what_is_not_seen),
        cmocka_unit_test(beside_the_crossing_seam), cmocka_unit_test(a_wedge_is_believed)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
