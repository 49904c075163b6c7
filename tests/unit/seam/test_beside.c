/* Lines and edges that run beside a seam, drawn into the pixel lines of a made-up reading. */
#include "support/maths_check.h"

#include "seam/beside.h"
#include "support/seam_read.h"

static const double TOP = 0.4;
/* Profiles are taken together over 8 mm to either side, and what is found at the ends of that is at its edge. */
enum { TOGETHER = 9, END = 8 };

/* Light times (1 - lacks) from `from` to `to` mm beside the path, soft as a lens makes it, at stations from `first` to before `last`. */
static void draw(seam_read *s, int first, int last, double from, double to, double lacks)
{
    const double soft = M_SQRT2 * s->scale.blur_px;
    for (int i = first; i < last; i++)
        for (int k = 0; k < READ_SIZE; k++) {
            double x = k - READ_REACH;
            double share = (erf((x - from * READ_PX_PER_MM) / soft) - erf((x - to * READ_PX_PER_MM) / soft)) / 2;
            s->lines[i].v[0][k] *= (float)(1 - lacks * share);
        }
}

static void start(seam_read *s)
{
    seam_read_start(s, TOP, 0.3, 0.9);
    draw(s, 0, READ_STATIONS, -0.15, 0.15, 0.95);
}

static void judge(seam_read *s)
{
    assert_int_equal(sw_beside_judge(&s->scale, s->beside, &s->trace, &s->reading, READ_REACH), SW_OK);
    for (int i = 0; i < READ_STATIONS; i++)
        assert_true(s->places[i].seen != s->places[i].doubled);
}

static void nothing_lies_beside(void **state)
{
    (void)state;
    seam_read s;
    start(&s);
    draw(&s, 0, READ_STATIONS, -20, -4, 0.04); /* grain and a lamp's slow fall make no more */
    judge(&s);
    assert_int_equal(seam_read_seen(&s, 0, READ_STATIONS), READ_STATIONS);
}

/* Pencil, a strip, a shadow's edge, and one so near that only its far side stands clear; all along the seam. */
static void something_lies_beside(void **state)
{
    static const struct {
        double from, to, lacks;
    } THINGS[] = {{2, 2.5, 0.3},    {7, 7.5, 0.3},   {-4, -3.5, 0.25}, {-12, -2, 0.4},  {3, 40, 0.13},
                  {-40, -6, -0.15}, {1.2, 2.4, 0.3}, {0.8, 1.2, -0.4}, {-1.4, -1, -0.3}};
    (void)state;
    for (size_t k = 0; k < sizeof THINGS / sizeof *THINGS; k++) {
        seam_read s;
        start(&s);
        draw(&s, 0, READ_STATIONS, THINGS[k].from, THINGS[k].to, THINGS[k].lacks);
        judge(&s);
        if (seam_read_seen(&s, END, READ_STATIONS - END))
            fail_msg("from %g to %g mm: %d stations seen", THINGS[k].from, THINGS[k].to,
                     seam_read_seen(&s, 0, READ_STATIONS));
    }
}

/* Beyond 9 mm it is of no concern. */
static void far_away_it_may(void **state)
{
    (void)state;
    seam_read s;
    start(&s);
    draw(&s, 0, READ_STATIONS, 11, 11.6, 0.6);
    judge(&s);
    assert_int_equal(seam_read_seen(&s, 0, READ_STATIONS), READ_STATIONS);
}

/* Beside a part of the seam it takes that part; the sum that runs along forgets what it has passed. */
static void a_part_is_a_part(void **state)
{
    (void)state;
    seam_read s;
    start(&s);
    draw(&s, 60, 90, 3, 3.5, 0.5);
    judge(&s);
    assert_int_equal(seam_read_seen(&s, 60, 90), 0);
    assert_int_equal(seam_read_seen(&s, 0, 60 - TOGETHER), 60 - TOGETHER);
    assert_int_equal(seam_read_seen(&s, 90 + TOGETHER, READ_STATIONS), READ_STATIONS - 90 - TOGETHER);
}

/* Faint as it is, a line along a third of a seam may be the seam itself, closing beside another line that was followed: of the rest nobody knows either,
 * but where a gap is a gap. What comes near on a slant is none. */
static void along_a_third_it_is_all(void **state)
{
    enum { FROM = 60, TO = 125 };
    (void)state;
    seam_read s;
    start(&s);
    draw(&s, FROM, TO, 3, 3.5, 0.3);
    judge(&s);
    assert_int_equal(seam_read_seen(&s, 0, READ_STATIONS), 0);

    start(&s);
    for (int i = FROM; i < TO; i++)
        draw(&s, i, i + 1, 2.5 + (i - FROM) * 0.08, 3 + (i - FROM) * 0.08, 0.4);
    judge(&s);
    assert_int_equal(seam_read_seen(&s, FROM, TO), 0);
    assert_int_equal(seam_read_seen(&s, 0, FROM - TOGETHER), FROM - TOGETHER);

    start(&s);
    draw(&s, FROM, TO, 3, 3.5, 0.3);
    for (int i = TO + TOGETHER; i < READ_STATIONS; i++)
        seam_read_gap(&s, i, 2, 0.97);
    judge(&s);
    assert_int_equal(seam_read_seen(&s, 0, FROM), 0);
    assert_int_equal(seam_read_seen(&s, TO + TOGETHER, READ_STATIONS), READ_STATIONS - TO - TOGETHER);
}

/* Rims so near to the ends of what was read that nothing of the tops is left. */
static void no_tops_are_read(void **state)
{
    (void)state;
    for (int way = 0; way < 3; way++) {
        seam_read s;
        start(&s);
        for (int i = 0; i < READ_STATIONS; i++) {
            s.roughs[i].low_rim = way == 1 ? READ_REACH - 3 : -READ_REACH + 1;
            s.roughs[i].high_rim = way == 2 ? -READ_REACH + 3 : READ_REACH - 1;
        }
        judge(&s);
        assert_int_equal(seam_read_seen(&s, 0, READ_STATIONS), READ_STATIONS);
    }
}

static void a_mark_is_no_line(void **state)
{
    (void)state;
    seam_read s;
    start(&s);
    draw(&s, 90, 93, 1, 9, 0.5);
    judge(&s);
    assert_int_equal(seam_read_seen(&s, 0, READ_STATIONS), READ_STATIONS);
}

/* Most of a seam has it: so has the rest. Of printed tops less is enough. */
static void most_is_all(void **state)
{
    (void)state;
    for (int printed = 0; printed < 2; printed++) {
        seam_read s;
        start(&s);
        s.top.printed = printed;
        draw(&s, 20, printed ? 60 : 160, 3, 3.5, 0.5);
        judge(&s);
        assert_int_equal(seam_read_seen(&s, 0, READ_STATIONS), 0);
    }
}

/* Two millimetres of darkness are a gap, whatever faint line runs near it; a cable is wider, and less may be one line or the other. */
static void a_gap_is_known(void **state)
{
    static const struct {
        double width_mm, depth;
        bool sure;
    } GAPS[] = {{2, 0.97, true}, {2, 0.8, false}, {0.5, 0.97, false}, {5.5, 0.97, false}};
    (void)state;
    for (size_t k = 0; k < sizeof GAPS / sizeof *GAPS; k++) {
        seam_read s;
        seam_read_start(&s, TOP, GAPS[k].width_mm, GAPS[k].depth);
        draw(&s, 0, READ_STATIONS, -GAPS[k].width_mm / 2, GAPS[k].width_mm / 2, GAPS[k].depth);
        draw(&s, 60, 160, 5, 8, 0.09);
        judge(&s);
        assert_int_equal(seam_read_seen(&s, 70, 150), GAPS[k].sure ? 80 : 0);
    }
}

/* Its own shade and face look like that. */
static void a_step_is_left_alone(void **state)
{
    (void)state;
    seam_read s;
    start(&s);
    s.trace.stepped = true;
    draw(&s, 0, READ_STATIONS, 2, 4, 0.5);
    judge(&s);
    assert_int_equal(seam_read_seen(&s, 0, READ_STATIONS), READ_STATIONS);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_lies_beside),  cmocka_unit_test(something_lies_beside),
        cmocka_unit_test(far_away_it_may),      cmocka_unit_test(a_part_is_a_part),
        cmocka_unit_test(no_tops_are_read),     cmocka_unit_test(along_a_third_it_is_all),
        cmocka_unit_test(a_mark_is_no_line),    cmocka_unit_test(most_is_all),
        cmocka_unit_test(a_step_is_left_alone), cmocka_unit_test(a_gap_is_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
