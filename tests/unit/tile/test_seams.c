/* Seams and edges from tracks given by hand: which places lie at an end, and what a hidden stretch costs. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "tile/outline.h"

/* Two tiles side by side, A1 and B1, seen at a place every millimetre. */
enum { SIDE = 300, TRACKS = 7, PLACES = SIDE + 1 };
static const double GAP_MM = 1, RANDOM_MM = 0.02, LIGHT_MM = 0.01;

static sw_track straight(sw_point from, sw_point u, sw_point n, int has_first, int has_second)
{
    sw_track t = {.has = {has_first, has_second}, .origin = from, .u = u, .n = n, .count = PLACES};
    t.points = calloc(PLACES, sizeof *t.points);
    assert_non_null(t.points);
    for (int i = 0; i < PLACES; i++)
        t.points[i] = (sw_track_point){.at_mm = i,
                                       .across = {has_first ? 0 : NAN, !has_second ? NAN
                                                                       : has_first ? GAP_MM
                                                                                   : 0},
                                       .random_mm = RANDOM_MM,
                                       .systematic_mm = LIGHT_MM,
                                       .light_mm = LIGHT_MM,
                                       .rim_random_mm = {RANDOM_MM, RANDOM_MM},
                                       .seen = 1};
    return t;
}

/* Frees with sw_tracks_free. */
static void lay(sw_tracks *tracks)
{
    const sw_point south = {0, -1}, east = {1, 0};
    *tracks = (sw_tracks){.columns = 2, .rows = 1, .count = 7, .upright = calloc(7, sizeof(sw_track))};
    assert_non_null(tracks->upright);
    tracks->level = tracks->upright + 3;
    for (int line = 0; line < 3; line++)
        tracks->upright[line] =
            straight((sw_point){line * SIDE + (line == 2 ? GAP_MM : 0), 0}, south, east, line > 0, line < 2);
    for (int k = 0; k < 4; k++)
        tracks->level[k] = straight((sw_point){k / 2 * (SIDE + GAP_MM), k % 2 * -SIDE}, east, south, k % 2, !(k % 2));
}

/* Frees the tracks. */
static void measure(sw_tracks *tracks, sw_inspection *ins)
{
    sw_error err = {""};
    *ins = (sw_inspection){.table = {.columns = 2, .rows = 1}, .step_mm = 1, .tolerance_mm = 0.5};
    ins->scale.px_per_mm = 4;
    if (sw_tiles_make(tracks, ins, &err) || sw_seams_make(tracks, ins, &err))
        fail_msg("%s", err.text);
    sw_tracks_free(tracks);
    assert_int_equal(ins->seam_count, 1);
    expect_near("length", ins->seams[0].length_mm, SIDE, 1e-9);
}

/* The crossing seam's disturbance, 3 mm wide, at one end only: it is marked, and the widest gap knows nothing of it. */
static void either_end_is_left_out(void **state)
{
    (void)state;
    for (int far = 0; far < 2; far++) {
        sw_tracks tracks;
        sw_inspection ins;
        lay(&tracks);
        for (int i = 0; i < 4; i++)
            tracks.upright[1].points[far ? SIDE - i : i].across[SW_SECOND] = 3;
        measure(&tracks, &ins);
        const sw_seam *seam = &ins.seams[0];
        assert_int_equal(seam->station_count, SIDE);
        for (int k = 0; k < SIDE; k++)
            assert_int_equal(seam->stations[k].state, k < 5 || k >= SIDE - 5 ? SW_STATION_END : SW_STATION_OK);
        expect_near("the end's own gap", seam->stations[far ? SIDE - 1 : 0].gap_mm, 3, 1e-9);
        expect_near("widest gap", seam->max_mm, GAP_MM, 1e-9);
        expect_near("mean gap", seam->mean_mm, GAP_MM, 1e-9);
        sw_inspection_free(&ins);
    }
}

/* Along an edge, too: rims that round off at their ends leave the edge straight. */
static void ends_of_edges_are_left_out(void **state)
{
    (void)state;
    for (int far = 0; far < 2; far++) {
        sw_tracks tracks;
        sw_inspection ins;
        lay(&tracks);
        for (int i = 0; i < 4; i++)
            tracks.upright[0].points[far ? SIDE - i : i].across[SW_SECOND] = 0.8;
        measure(&tracks, &ins);
        const sw_edge *edge = &ins.tiles[0].edges[SW_WEST];
        assert_int_equal(edge->point_count, PLACES);
        for (int i = 0; i < PLACES; i++)
            assert_int_equal(edge->points[i].state, i < 5 || i > SIDE - 5 ? SW_STATION_END : SW_STATION_OK);
        expect_near("straightness", edge->straightness_mm, 0, 1e-6);
        sw_inspection_free(&ins);
    }
}

/* By hand: half of the seam lies under a card, the other half is 0.9 and 1.1 mm wide in equal parts. The hidden half may
 * be 0.1 mm off their mean, which is half of that in the whole mean. */
static void a_hidden_half_is_paid_for(void **state)
{
    (void)state;
    sw_tracks tracks;
    sw_inspection ins;
    lay(&tracks);
    for (int i = 0; i < PLACES; i++) {
        sw_track_point *p = &tracks.upright[1].points[i];
        p->across[SW_SECOND] = i % 50 < 25 ? 0.9 : 1.1;
        p->seen = i < SIDE / 2;
    }
    measure(&tracks, &ins);
    const sw_seam *seam = &ins.seams[0];
    double independent = (SIDE / 2 - 5) / SW_INDEPENDENT_MM;
    expect_near("mean", seam->mean_mm, 1, 0.01);
    expect_near("hidden", seam->mean_parts.u[SW_PART_HIDDEN], 0.1 / 2, 0.003);
    expect_near("light", seam->mean_parts.u[SW_PART_LIGHT], LIGHT_MM, 1e-9);
    expect_near("u95", seam->mean_u95_mm, 2 * hypot(hypot(0.1 / 2, LIGHT_MM), RANDOM_MM / sqrt(independent)), 0.006);
    assert_true(seam->max_parts.u[SW_PART_HIDDEN] == 0);
    sw_inspection_free(&ins);
}

/* By hand: tops 10 mm over the cards, seen from 1250 mm. A focal length 1 % off puts the camera 1 % higher, and a tile of
 * 300 mm then reads 10 / 1250 of 1 % longer. */
static void a_raised_tile_pays_for_the_cameras_height(void **state)
{
    (void)state;
    for (int raised = 0; raised < 2; raised++) {
        sw_tracks tracks;
        sw_error err = {""};
        sw_inspection ins = {.table = {.columns = 2, .rows = 1}, .step_mm = 1, .tolerance_mm = 0.5};
        ins.scale = (sw_scale){.lens = {.fx = 3000, .fy = 3000},
                               .px_per_mm = 2.4,
                               .focal_u_rel = 0.01,
                               .to_plane = {{1 / 1250.0, 0, 0}, {0, -1 / 1250.0, 0}, {0, 0, 1}},
                               .to_mm = {{1250, 0, 0}, {0, -1250, 0}, {0, 0, 1}}};
        lay(&tracks);
        for (int k = 0; k < TRACKS; k++) {
            sw_track *t = k < 3 ? &tracks.upright[k] : &tracks.level[k - 3];
            t->rise_mm[SW_FIRST] = t->rise_mm[SW_SECOND] = raised ? 10 : 0;
        }
        assert_int_equal(sw_tiles_make(&tracks, &ins, &err), SW_OK);
        expect_near("height", ins.tiles[0].edges[SW_NORTH].length_parts.u[SW_PART_HEIGHT],
                    raised ? 10 / 1250.0 * 0.01 * SIDE : 0, 1e-6);
        sw_tracks_free(&tracks);
        sw_inspection_free(&ins);
    }
}

/* Places that a track has the other way round come to stand in their order: files are refused otherwise. */
static void places_of_an_edge_rise(void **state)
{
    (void)state;
    sw_tracks tracks;
    sw_inspection ins;
    lay(&tracks);
    tracks.upright[1].points[22].at_mm = 21.56;
    tracks.upright[1].points[23].at_mm = 21.48;
    measure(&tracks, &ins);
    const sw_edge *edge = &ins.tiles[0].edges[SW_EAST];
    assert_true(edge->point_count > SIDE - 2);
    for (size_t i = 1; i < edge->point_count; i++)
        assert_true(edge->points[i].at_mm > edge->points[i - 1].at_mm);
    sw_inspection_free(&ins);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(either_end_is_left_out), cmocka_unit_test(ends_of_edges_are_left_out),
        cmocka_unit_test(a_hidden_half_is_paid_for), cmocka_unit_test(places_of_an_edge_rise),
        cmocka_unit_test(a_raised_tile_pays_for_the_cameras_height)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
