/* Does a gap's stated random part come true? Rims scattered by chance, many times over, against what each track says of
 * itself. Neighbours that scatter together tell less than as many apart. */
#include "support/maths_check.h"

#include <stdlib.h>

#include "track/rims_mm.h"

enum { LENGTH_MM = 300, ROUNDS = 60 };
static const double PX_PER_MM = 4, GAP_MM = 1, SCATTER_PX = 0.1;

/* With shared, each station has half of its scatter (in variance) in common with either neighbour; it scatters the same. */
static void scatter(int shared, uint32_t *seed, sw_trace *trace)
{
    double draw[2][2] = {{0, 0}, {0, 0}};
    for (int i = 0; i < trace->count; i++) {
        double off[2];
        for (int rim = 0; rim < 2; rim++) {
            draw[rim][0] = i ? draw[rim][1] : normal(seed);
            draw[rim][1] = normal(seed);
            off[rim] = SCATTER_PX * (shared ? (draw[rim][0] + draw[rim][1]) / sqrt(2) : draw[rim][1]);
        }
        trace->places[i] = (sw_trace_place){.line = (i + 0.5) * PX_PER_MM,
                                            .path_px = 1000,
                                            .rim_low_px = 1000 - GAP_MM / 2 * PX_PER_MM + off[0],
                                            .rim_high_px = 1000 + GAP_MM / 2 * PX_PER_MM + off[1],
                                            .sd_low_px = SCATTER_PX,
                                            .sd_high_px = SCATTER_PX,
                                            .low = 0.4,
                                            .high = 0.4,
                                            .rms = 0.004,
                                            .seen = 1};
    }
}

/* What the gaps truly scatter in the middle of the seam over what is said of them. freedom: degrees of it, of the gap and of
 * a rim. */
static double truth_over_stated(int shared, double freedom[2])
{
    static sw_trace_place places[LENGTH_MM];
    sw_trace trace = {.kind = SW_TRACE_SEAM, .along_row = 1, .stretch = 1, .px_per_mm = PX_PER_MM, .noise = 0.004};
    sw_scale scale = {.lens = {.fx = 1, .fy = 1},
                      .to_plane = {{PX_PER_MM, 0, 0}, {0, -PX_PER_MM, 0}, {0, 0, 1}},
                      .to_mm = {{1 / PX_PER_MM, 0, 0}, {0, -1 / PX_PER_MM, 0}, {0, 0, 1}},
                      .px_per_mm = PX_PER_MM,
                      .blur_px = 0.8};
    sw_grid_side side = {{1000 / PX_PER_MM, 0}, {1000 / PX_PER_MM, -LENGTH_MM}, 1};
    uint32_t seed = 2024;
    double truth = 0, stated = 0;
    trace.places = places;
    trace.count = LENGTH_MM;
    freedom[0] = freedom[1] = 0;
    for (int round = 0; round < ROUNDS; round++) {
        sw_track track;
        scatter(shared, &seed, &trace);
        assert_int_equal(sw_track_make(&trace, &scale, &side, NULL, &track, NULL), SW_OK);
        for (int i = 40; i < LENGTH_MM - 40; i++) {
            const sw_track_point *p = &track.points[i];
            truth += pow(p->across[SW_SECOND] - p->across[SW_FIRST] - GAP_MM, 2);
            stated += p->random_mm * p->random_mm;
        }
        freedom[0] += track.gap_freedom / ROUNDS;
        freedom[1] += track.rim_freedom[SW_FIRST] / ROUNDS;
        sw_track_free(&track);
    }
    return sqrt(truth / stated);
}

/* Neighbours that share half: two stations tell as much as one of the others. Left out, the +- would be 1.4 times too
 * small and the degrees of freedom twice too many. */
static void the_random_part_comes_true(void **state)
{
    (void)state;
    double own[2], common[2], alone = truth_over_stated(0, own), shared = truth_over_stated(1, common);
    print_message("  true over stated: %.2f, %.2f where neighbours share; %.0f and %.0f degrees of freedom\n", alone,
                  shared, own[0], common[0]);
    assert_true(alone > 0.8 && alone < 1.2);
    assert_true(shared > 0.8 && shared < 1.3);
    for (int of = 0; of < 2; of++) {
        expect_near("degrees of freedom", own[of], 0.367 * LENGTH_MM, 0.2 * 0.367 * LENGTH_MM);
        expect_near("where neighbours share", common[of] / own[of], 1 / 2.0, 0.1);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_random_part_comes_true)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
