/* What lies on a seam, station by station: made-up readings, each with one thing on it, and what of the seam still counts. */
#include "support/maths_check.h"

#include "seam/sight.h"
#include "support/seam_read.h"

/* What is next to a cover does not count either, stations. */
enum { BESIDE = 8 };
/* And where a closed seam shows next to nothing, as far again as a cover may go on without a rim that shows. */
enum { GOES_ON = 18 };
static const double TOP = 0.4;

static float LINEAR[256];
static const sw_photo PHOTO = {.bits = 8, .linear = LINEAR};

static void judge(seam_read *s)
{
    for (int i = 0; i < 256; i++)
        LINEAR[i] = (float)i / 255;
    assert_int_equal(sw_sight_judge(&PHOTO, &s->scale, s->beside, &s->trace, &s->reading), SW_OK);
}

/* Scatter as photos have it, the same in every run. */
static double scatter(int i)
{
    return fmod(i * 0.754877666, 1) - 0.5;
}

/* Only [from, to) is hidden, give or take what is next to it. */
static void only_hidden(const seam_read *s, int from, int to)
{
    int before = seam_read_seen(s, 0, from - BESIDE), in = seam_read_seen(s, from, to),
        after = seam_read_seen(s, to + BESIDE, READ_STATIONS);
    if (in || before != from - BESIDE || after != READ_STATIONS - to - BESIDE)
        fail_msg("hidden %d to %d: %d seen in it, %d before, %d after", from, to, in, before, after);
}

static void all_is_seen(const seam_read *s)
{
    assert_int_equal(seam_read_seen(s, 0, READ_STATIONS), READ_STATIONS);
}

static void an_even_seam_is_seen(void **state)
{
    static const struct {
        double width_mm, depth;
    } GAPS[] = {{0.02, 0.02}, {0.1, 0.15}, {0.4, 0.6}, {2, 0.97}, {6, 0.95}};
    (void)state;
    for (size_t k = 0; k < sizeof GAPS / sizeof *GAPS; k++) {
        seam_read s;
        seam_read_start(&s, TOP, GAPS[k].width_mm, GAPS[k].depth);
        judge(&s);
        all_is_seen(&s);
    }
}

/* It says closed at one end because it is. */
static void a_seam_that_closes_slowly_is_seen(void **state)
{
    (void)state;
    seam_read s;
    seam_read_start(&s, TOP, 0, 0);
    for (int i = 0; i < READ_STATIONS; i++) {
        double gap_mm = 0.15 * fmax(0, 1 - i / 120.0);
        seam_read_gap(&s, i, gap_mm + 0.03 * scatter(i), 1.4 * gap_mm + 0.01 + 0.02 * scatter(i));
    }
    judge(&s);
    all_is_seen(&s);
}

/* An offcut of the same foam on a seam that is all but closed: only the thin line breaks off. */
static void a_cover_on_a_closed_seam(void **state)
{
    (void)state;
    seam_read s;
    seam_read_start(&s, TOP, 0, 0);
    for (int i = 0; i < READ_STATIONS; i++) {
        bool covered = i >= 60 && i < 110;
        seam_read_gap(&s, i, (covered ? 0.005 : 0.09) + 0.03 * scatter(i),
                      (covered ? 0.008 : 0.14) + 0.02 * scatter(i));
    }
    judge(&s);
    only_hidden(&s, 60, 110);
}

static void a_cover_on_an_open_seam(void **state)
{
    (void)state;
    seam_read s;
    seam_read_start(&s, TOP, 0.8, 0.9);
    for (int i = 120; i < 150; i++)
        seam_read_gap(&s, i, 0, 0.01);
    judge(&s);
    only_hidden(&s, 120, 150);
}

/* A chip in a closed seam is a break at both sides, and none of it is a cover. */
static void a_chip_is_seen(void **state)
{
    (void)state;
    seam_read s;
    seam_read_start(&s, TOP, 0.03, 0.03);
    for (int i = 90; i < 102; i++)
        seam_read_gap(&s, i, 2, 0.9);
    judge(&s);
    all_is_seen(&s);
}

/* Tape as pale as this is a top's light where a line shows, and none where nothing else speaks for a seam. */
static void sides_that_are_off(void **state)
{
    (void)state;
    for (int closed = 0; closed < 2; closed++)
        for (int step = 0; step < 2; step++) {
            seam_read s;
            seam_read_start(&s, TOP, closed ? 0.01 : 0.3, closed ? 0.01 : 0.5);
            for (int i = 60; i < 100; i++) {
                s.roughs[i].low = s.roughs[i].high = TOP * exp(-0.08);
                s.roughs[i].dark *= exp(-0.08);
            }
            s.trace.stepped = step;
            judge(&s);
            if (closed && !step) {
                assert_int_equal(seam_read_seen(&s, 60, 100), 0);
                only_hidden(&s, 60 - GOES_ON, 100 + GOES_ON);
            } else
                all_is_seen(&s);
        }
}

/* A hand is darker at one side; a step shades one side as much. */
static void one_side_is_dark(void **state)
{
    (void)state;
    for (int step = 0; step < 2; step++) {
        seam_read s;
        seam_read_start(&s, TOP, 0.5, 0.8);
        for (int i = 60; i < 100; i++)
            s.roughs[i].high = TOP * exp(-0.5);
        s.trace.stepped = step;
        judge(&s);
        if (step)
            all_is_seen(&s);
        else
            only_hidden(&s, 60, 100);
    }
}

/* A shadow across the seam leaves the line to be seen. */
static void a_shadow_across_is_none(void **state)
{
    (void)state;
    seam_read s;
    seam_read_start(&s, TOP, 0.5, 0.8);
    for (int i = 60; i < 100; i++) {
        s.roughs[i].low = s.roughs[i].high = TOP * exp(-0.6);
        s.roughs[i].dark *= exp(-0.6);
    }
    judge(&s);
    all_is_seen(&s);
}

/* A gap of 1.3 mm that is only a third darker than the tops is full of dust; so is one whose rims lie far apart for the light it lacks. */
static void dust_in_the_gap(void **state)
{
    (void)state;
    for (int wide = 0; wide < 2; wide++) {
        seam_read s;
        seam_read_start(&s, TOP, wide ? 0.5 : 0.4, wide ? 0.7 : 0.6);
        for (int i = 80; i < 120; i++) {
            seam_read_gap(&s, i, 0.4, wide ? 0.6 : 0.3);
            s.roughs[i].low_rim = wide ? -5 : -1.6;
            s.roughs[i].high_rim = wide ? 2 : 1.6;
        }
        judge(&s);
        only_hidden(&s, 80, 120);
    }
}

static void glare_hides(void **state)
{
    (void)state;
    seam_read s;
    seam_read_start(&s, 0.99, 0.5, 0.9);
    judge(&s);
    assert_int_equal(seam_read_seen(&s, BESIDE, READ_STATIONS - BESIDE), 0);
}

/* What little is left of a seam under a long cover is as likely the cover's own rim. */
static void remnants_do_not_count(void **state)
{
    (void)state;
    seam_read s;
    seam_read_start(&s, TOP, 0.5, 0.9);
    for (int i = 10; i < 170; i++)
        s.roughs[i].low = s.roughs[i].high = TOP * exp(0.4);
    for (int i = 10; i < 170; i++)
        seam_read_gap(&s, i, 0, 0.01);
    judge(&s);
    assert_int_equal(seam_read_seen(&s, 0, READ_STATIONS), 0);
}

/* Whatever took the rest of it; where tops have print less is enough. */
static void what_is_left_of_a_seam(void **state)
{
    static const struct {
        int left;
        bool printed, counts;
    } CASES[] = {{50, false, false}, {70, false, true}, {170, true, false}, {190, true, true}};
    (void)state;
    for (size_t k = 0; k < sizeof CASES / sizeof *CASES; k++) {
        seam_read s;
        seam_read_start(&s, TOP, 0.5, 0.9);
        s.top.printed = CASES[k].printed;
        for (int i = CASES[k].left; i < READ_STATIONS; i++)
            s.places[i].seen = false;
        assert_int_equal(sw_sight_count(&s.trace), CASES[k].left);
        sw_sight_drop_remnants(s.beside, &s.trace, READ_STATIONS);
        assert_int_equal(sw_sight_count(&s.trace), CASES[k].counts ? CASES[k].left : 0);
    }
}

/* An offcut whose rim is shaded and whose middle is not, on a closed seam of which next to nothing is seen anyway. */
static void a_cover_goes_on_beyond_its_rim(void **state)
{
    (void)state;
    seam_read s;
    seam_read_start(&s, TOP, 0.02, 0.02);
    for (int i = 60; i < 70; i++)
        s.roughs[i].low = s.roughs[i].high = 0.8 * TOP;
    judge(&s);
    assert_int_equal(seam_read_seen(&s, 45, 85), 0);
    assert_int_equal(seam_read_seen(&s, 0, 35), 35);
    assert_int_equal(seam_read_seen(&s, 95, READ_STATIONS), READ_STATIONS - 95);
}

/* The same where the line is seen again. */
static void a_cover_ends_where_a_line_shows(void **state)
{
    (void)state;
    seam_read s;
    seam_read_start(&s, TOP, 0.3, 0.5);
    for (int i = 60; i < 70; i++)
        s.roughs[i].low = s.roughs[i].high = 0.7 * TOP;
    for (int i = 60; i < 70; i++)
        seam_read_gap(&s, i, 0.02, 0.02);
    judge(&s);
    only_hidden(&s, 60, 70);
}

/* As wide and as dark all along as only a gap is, but no tile is sawn like that: 1 mm to and fro. */
static void a_cable_from_end_to_end(void **state)
{
    (void)state;
    for (int cable = 0; cable < 2; cable++) {
        seam_read s;
        seam_read_start(&s, TOP, 4, 0.97);
        for (int i = 0; i < READ_STATIONS; i++) {
            double u = 2.0 * i / READ_STATIONS - 1, off_mm = cable ? 1.5 * sin(i / 17.0) : 3 * u * u;
            s.places[i].path_px += READ_PX_PER_MM * off_mm;
        }
        judge(&s);
        assert_int_equal(seam_read_seen(&s, 0, READ_STATIONS), cable ? 0 : READ_STATIONS);
    }
}

/* Where several things found their own parts of it, what is left between two is no more than an island. */
static void islands_are_closed(void **state)
{
    (void)state;
    seam_read s;
    seam_read_start(&s, TOP, 0.3, 0.5);
    for (int i = 20; i < 30; i++)
        s.places[i].seen = s.places[i + 18].seen = s.places[i + 60].seen = false;
    sw_sight_close_islands(&s.trace);
    assert_int_equal(seam_read_seen(&s, 20, 48), 0);
    assert_int_equal(seam_read_seen(&s, 48, 80), 32);
    assert_int_equal(seam_read_seen(&s, 0, 20), 20);
    assert_int_equal(seam_read_seen(&s, 90, READ_STATIONS), READ_STATIONS - 90);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_even_seam_is_seen),
        cmocka_unit_test(a_seam_that_closes_slowly_is_seen),
        cmocka_unit_test(a_cover_on_a_closed_seam),
        cmocka_unit_test(a_cover_on_an_open_seam),
        cmocka_unit_test(a_chip_is_seen),
        cmocka_unit_test(sides_that_are_off),
        cmocka_unit_test(one_side_is_dark),
        cmocka_unit_test(a_shadow_across_is_none),
        cmocka_unit_test(dust_in_the_gap),
        cmocka_unit_test(glare_hides),
        cmocka_unit_test(remnants_do_not_count),
        cmocka_unit_test(what_is_left_of_a_seam),
        cmocka_unit_test(a_cover_goes_on_beyond_its_rim),
        cmocka_unit_test(a_cover_ends_where_a_line_shows),
        cmocka_unit_test(a_cable_from_end_to_end),
        cmocka_unit_test(islands_are_closed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
