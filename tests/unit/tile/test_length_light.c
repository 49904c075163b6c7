/* A length's ± holds the light in the gaps at both its ends. One square tile, whose rims are straight. */
#include "support/maths_check.h"

#include <string.h>

#include "tile/outline.h"

enum { PLACES = 301, SIDES = 4 };
static const double SIZE_MM = 300;

/* The tile's rim is the second of its north and west track and the first of the others. */
static void lay(double light_mm, double model_mm, sw_track tracks[SIDES], sw_track_point points[SIDES][PLACES])
{
    static const sw_point from[SIDES] = {{0, 0}, {300, 0}, {0, 0}, {0, -300}};
    for (int k = 0; k < SIDES; k++) {
        bool upright = k < 2;
        int rim = k % 2 ? SW_FIRST : SW_SECOND;
        tracks[k] = (sw_track){.origin = from[k],
                               .u = {upright ? 0 : 1, upright ? -1 : 0},
                               .n = {upright ? 1 : 0, upright ? 0 : -1},
                               .points = points[k],
                               .count = PLACES};
        tracks[k].has[rim] = true;
        for (int i = 0; i < PLACES; i++) {
            sw_track_point *p = &points[k][i];
            *p = (sw_track_point){
                .at_mm = SIZE_MM * i / (PLACES - 1), .seen = true, .light_mm = light_mm, .model_mm = model_mm};
            p->across[!rim] = NAN;
        }
    }
}

static double length_u_mm(double light_mm, double model_mm)
{
    static sw_track tracks[SIDES]; /* west, east, north, south */
    static sw_track_point points[SIDES][PLACES];
    sw_inspection ins = {.file = "tile", .table = {.columns = 1, .rows = 1, .tile_mm = SIZE_MM}};
    sw_error err = {""};
    lay(light_mm, model_mm, tracks, points);
    ins.scale.lens = (sw_lens){.fx = 1, .fy = 1};
    for (int i = 0; i < 3; i++)
        ins.scale.to_plane[i][i] = ins.scale.to_mm[i][i] = 1;
    sw_tracks all = {.columns = 1, .rows = 1, .count = SIDES, .upright = tracks, .level = tracks + 2};
    if (sw_tiles_make(&all, &ins, &err))
        fail_msg("%s", err.text);
    expect_near("length", ins.tiles[0].edges[SW_EAST].length_mm, SIZE_MM, 1e-6);
    double u = ins.tiles[0].edges[SW_EAST].length_u95_mm / 2;
    sw_inspection_free(&ins);
    return u;
}

/* Half the variance of a gap is a rim's, and a length has a rim at either end. */
static void light_and_model_move_both_ends(void **state)
{
    (void)state;
    double before = length_u_mm(0, 0), after = length_u_mm(0.06, 0.08);
    expect_near("what the light adds", sqrt(after * after - before * before), 0.1, 1e-3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(light_and_model_move_both_ends)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
