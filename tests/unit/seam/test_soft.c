/* A stretch of a seam that is much softer than the cards is not seen; narrow, wide and lit gaps and chips are no such stretch. */
#include "support/maths_check.h"

#include <string.h>

#include "seam/soft.h"

enum { STATIONS = 200 };
static const double BLUR_PX = 0.8;

typedef struct made {
    sw_trace trace;
    sw_trace_place places[STATIONS];
    sw_rough roughs[STATIONS];
    struct sw_seam_reading reading;
} made;

/* Stations 1 mm apart at 3 px/mm, of a slot width_px wide that lacks `darkness` of the light, blurred as the cards are. */
static void set(made *m, int from, int to, double width_px, double darkness, double blur_px)
{
    for (int i = from; i < to; i++) {
        double depth = darkness * erf(width_px / (2 * M_SQRT2 * blur_px));
        m->roughs[i] = (sw_rough){.low = 0.4, .high = 0.42, .dark = 0.4 * (1 - depth), .lacks = width_px * darkness};
    }
}

static void start(made *m, double width_px, double darkness)
{
    memset(m, 0, sizeof *m);
    m->trace = (sw_trace){.places = m->places, .count = STATIONS, .px_per_mm = 3, .stretch = 1};
    m->reading = (struct sw_seam_reading){.roughs = m->roughs, .count = STATIONS};
    for (int i = 0; i < STATIONS; i++)
        m->places[i] = (sw_trace_place){.line = 3 * i, .seen = true};
    set(m, 0, STATIONS, width_px, darkness, BLUR_PX);
}

static int soft_ones(made *m)
{
    sw_scale scale = {.blur_px = BLUR_PX};
    int soft = 0;
    assert_int_equal(sw_soft_judge(&scale, &m->trace, &m->reading), SW_OK);
    for (int i = 0; i < STATIONS; i++) {
        assert_int_equal(m->places[i].soft, !m->places[i].seen);
        soft += m->places[i].soft;
    }
    return soft;
}

static void a_drop_is_not_seen(void **state)
{
    (void)state;
    static const double widths[] = {1, 2, 4, 7};
    made m;
    for (int k = 0; k < 4; k++) {
        start(&m, widths[k], 0.9);
        set(&m, 80, 120, widths[k], 0.9, 3.5);
        int soft = soft_ones(&m);
        assert_true(soft >= 40 && soft < 70);
        assert_true(m.places[100].soft && m.places[20].seen && m.places[180].seen);
    }
}

/* Also gaps twice as wide from one end to the other, and a shallow one. */
static void sharp_ones_stay(void **state)
{
    (void)state;
    made m;
    for (double width = 0.3; width < 12; width *= 1.5)
        for (double darkness = 0.3; darkness < 1; darkness += 0.3) {
            start(&m, width, darkness);
            for (int i = 0; i < STATIONS; i++)
                set(&m, i, i + 1, width * (1 + (double)i / STATIONS), darkness, BLUR_PX);
            assert_int_equal(soft_ones(&m), 0);
        }
}

/* A chip: wide, and lit so that it lacks little. */
static void a_chip_stays(void **state)
{
    (void)state;
    made m;
    start(&m, 2, 0.9);
    set(&m, 80, 98, 9, 0.4, BLUR_PX);
    assert_int_equal(soft_ones(&m), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_drop_is_not_seen),
        cmocka_unit_test(sharp_ones_stay),
        cmocka_unit_test(a_chip_stays),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
