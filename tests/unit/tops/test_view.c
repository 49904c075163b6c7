/* What a photo shows of a table's rims: two tiles side by side under a camera that looks straight down, so that a point (x, y, z) is
 * seen at focal (x - cx, cy - y) / (cz - z). */
#include "support/maths_check.h"

#include <string.h>

#include "tops/view.h"

enum { COLUMNS = 2, ROWS = 1, UPRIGHT = 3, LEVEL = 4, POINTS = 150 };
static const double TILE_MM = 300, GAP_MM = 2, CAMERA[3] = {200, -400, 1200}, FOCAL_PX = 3000, MIDDLE_PX = 2000;
/* The rims slant, each by as much. */
static const double SLANT = 0.004;
static const sw_top A1 = {0, 0, 0, {150, -150}}, B1 = {10, 0.003, -0.004, {450, -150}};

typedef struct table {
    sw_track_point points[UPRIGHT + LEVEL][POINTS];
    sw_track track[UPRIGHT + LEVEL];
    sw_trace_place places[UPRIGHT + LEVEL][POINTS];
    sw_trace trace[UPRIGHT + LEVEL];
    sw_tracks tracks;
    sw_traces traces;
    sw_scale scale;
} table;

static sw_point shown(double x, double y, double z)
{
    double k = FOCAL_PX / (CAMERA[2] - z);
    return (sw_point){MIDDLE_PX + k * (x - CAMERA[0]), MIDDLE_PX + k * (CAMERA[1] - y)};
}

/* Rims lie half a gap to either side of the line and slant alike. */
static double across(double at, int rim)
{
    return (rim ? GAP_MM : -GAP_MM) / 2 + SLANT * (at - TILE_MM / 2);
}

static void make_track(table *t, int i, sw_point origin, bool upright, const sw_top *first, const sw_top *second)
{
    sw_track *k = &t->track[i];
    *k = (sw_track){.has = {first != NULL, second != NULL}, .origin = origin, .count = POINTS};
    k->points = t->points[i];
    k->u = upright ? (sw_point){0, -1} : (sw_point){1, 0};
    k->n = upright ? (sw_point){1, 0} : (sw_point){0, -1};
    for (int rim = 0; rim < 2; rim++) {
        const sw_top *top = rim ? second : first;
        if (top)
            k->tops[rim] = *top;
    }
    for (int p = 0; p < POINTS; p++) {
        double at = (p + 0.5) * TILE_MM / POINTS;
        k->points[p] = (sw_track_point){.at_mm = at, .seen = true};
        for (int rim = 0; rim < 2; rim++)
            k->points[p].across[rim] = k->has[rim] ? across(at, rim) : NAN;
    }
    t->trace[i] = (sw_trace){.along_row = upright, .places = t->places[i]};
}

static void make(table *t)
{
    memset(t, 0, sizeof *t);
    const sw_top *const tiles[2] = {&A1, &B1};
    for (int line = 0; line <= COLUMNS; line++)
        make_track(t, line, (sw_point){line * TILE_MM, 0}, true, line > 0 ? tiles[line - 1] : NULL,
                   line < COLUMNS ? tiles[line] : NULL);
    for (int c = 0; c < COLUMNS; c++)
        for (int line = 0; line <= ROWS; line++)
            make_track(t, UPRIGHT + c * (ROWS + 1) + line, (sw_point){c * TILE_MM, -line * TILE_MM}, false,
                       line > 0 ? tiles[c] : NULL, line < ROWS ? tiles[c] : NULL);
    t->tracks = (sw_tracks){COLUMNS, ROWS, UPRIGHT + LEVEL, t->track, t->track + UPRIGHT};
    t->traces = (sw_traces){COLUMNS, ROWS, UPRIGHT + LEVEL, t->trace, t->trace + UPRIGHT, false};
    t->scale.lens = (sw_lens){.source = SW_LENS_PROFILE, .width_px = 4000, .height_px = 4000};
    t->scale.lens.fx = t->scale.lens.fy = FOCAL_PX;
    t->scale.lens.cx = t->scale.lens.cy = MIDDLE_PX;
    const double h[3][3] = {{1, 0, -CAMERA[0]}, {0, -1, CAMERA[1]}, {0, 0, CAMERA[2]}},
                 back[3][3] = {{CAMERA[2], 0, CAMERA[0]}, {0, -CAMERA[2], CAMERA[1]}, {0, 0, 1}};
    for (int i = 0; i < 9; i++) {
        t->scale.to_plane[i / 3][i % 3] = h[i / 3][i % 3] / CAMERA[2];
        t->scale.to_mm[i / 3][i % 3] = back[i / 3][i % 3];
    }
}

static const sw_rim_sight *find(const sw_view *v, int tile, int side, int knot)
{
    for (size_t i = 0; i < v->rim_count; i++)
        if (v->rims[i].tile == tile && v->rims[i].side == side && v->rims[i].knot == knot)
            return &v->rims[i];
    return NULL;
}

static int knots_of(const sw_view *v, int tile, int side)
{
    int n = 0;
    for (int knot = 0; knot < SW_RIM_KNOTS; knot++)
        n += find(v, tile, side, knot) != NULL;
    return n;
}

/* Where the rim's knot is: six even pieces between 12 mm from either end, counted from the west or south; half a station more or less. */
static void check_knot(const sw_view *v, int tile, int side, int knot, bool dark)
{
    const sw_rim_sight *s = find(v, tile, side, knot);
    bool level = side == SW_NORTH || side == SW_SOUTH;
    double along = 12 + (knot + 0.5) * (TILE_MM - 24) / SW_RIM_KNOTS, at = level ? along : TILE_MM - along,
           off = across(at, side == SW_NORTH || side == SW_WEST);
    sw_point p = level ? (sw_point){tile * TILE_MM + along, (side == SW_SOUTH ? -TILE_MM : 0) - off}
                       : (sw_point){(tile + (side == SW_EAST)) * TILE_MM + off, -at};
    assert_non_null(s);
    sw_point want = shown(p.x, p.y, sw_top_rise(tile ? &B1 : &A1, p));
    sw_point rim = {want.x - s->px.x, want.y - s->px.y};
    /* Along the rim the knot may lie a station off; across it must fit. */
    double slope = -SLANT, px_per_mm = FOCAL_PX / CAMERA[2];
    expect_near("slant", s->slope, slope, 1e-9);
    expect_near("across", level ? rim.y + slope * rim.x : rim.x + slope * rim.y, 0, 0.02);
    expect_near("along", level ? rim.x : rim.y, 0, 2.5 * px_per_mm);
    expect_near("u", s->u_mm, sqrt(SW_RIM_KNOTS) * (dark ? 0.03 : 0.07), 1e-9);
}

/* The camera's foot lies in A1's south: beyond it, outside the table. */
static bool ends_in_the_dark(int tile, int side)
{
    return side == SW_NORTH || side == SW_EAST || (side == SW_WEST && tile == 0);
}

static void rims_of_all_tiles(void **state)
{
    static table t;
    sw_view v;
    (void)state;
    make(&t);
    assert_int_equal(sw_view_make(&t.tracks, &t.traces, &t.scale, TILE_MM, &v), SW_OK);
    assert_int_equal(v.rim_count, 2 * 4 * SW_RIM_KNOTS);
    for (int tile = 0; tile < 2; tile++)
        for (int side = 0; side < 4; side++)
            for (int knot = 0; knot < SW_RIM_KNOTS; knot++)
                check_knot(&v, tile, side, knot, ends_in_the_dark(tile, side));
    sw_view_free(&v);
}

/* Chips and what was not seen do not count; a knot of too few places is left out. */
static void what_was_not_seen_is_left_out(void **state)
{
    static table t;
    sw_view v;
    (void)state;
    make(&t);
    for (int p = 0; p < POINTS; p++) { /* the seam A1-B1, from the north */
        t.points[1][p].chip[SW_FIRST] = p < POINTS / 2;
        t.points[1][p].seen = p < POINTS * 3 / 4;
        if (t.points[1][p].chip[SW_FIRST])
            t.points[1][p].across[SW_FIRST] -= 3;
    }
    assert_int_equal(sw_view_make(&t.tracks, &t.traces, &t.scale, TILE_MM, &v), SW_OK);
    assert_int_equal(knots_of(&v, 0, SW_EAST), 2);
    assert_int_equal(knots_of(&v, 1, SW_WEST), 5);
    check_knot(&v, 0, SW_EAST, 2, true); /* seen whole, up to the chip's end; knot 1 in part */
    assert_null(find(&v, 0, SW_EAST, 5));
    sw_view_free(&v);
}

/* A step hides the seam's gap: the near rim counts as it was read, the far one does not. */
static void hidden_gaps_tell_of_the_near_rim(void **state)
{
    static table t;
    (void)state;
    for (int near_first = 0; near_first < 2; near_first++) {
        sw_view v;
        make(&t);
        t.trace[1].count = POINTS;
        t.trace[1].tangent = near_first ? 0.1 : -0.1;
        for (int p = 0; p < POINTS; p++) {
            double at = t.points[1][p].at_mm;
            t.points[1][p].seen = false;
            for (int rim = 0; rim < 2; rim++) {
                double x = TILE_MM + across(at, rim);
                sw_point px = shown(x, -at, sw_top_rise(rim ? &B1 : &A1, (sw_point){x, -at}));
                *(rim ? &t.places[1][p].rim_high_px : &t.places[1][p].rim_low_px) = px.x;
                if (rim != near_first) /* each line is read at the near rim's place */
                    t.places[1][p].line = px.y;
            }
            t.places[1][p].hidden = true;
        }
        assert_int_equal(sw_view_make(&t.tracks, &t.traces, &t.scale, TILE_MM, &v), SW_OK);
        assert_int_equal(knots_of(&v, 0, SW_EAST), near_first ? SW_RIM_KNOTS : 0);
        assert_int_equal(knots_of(&v, 1, SW_WEST), near_first ? 0 : SW_RIM_KNOTS);
        for (int knot = 0; knot < SW_RIM_KNOTS; knot++)
            check_knot(&v, !near_first, near_first ? SW_EAST : SW_WEST, knot, false);
        sw_view_free(&v);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rims_of_all_tiles),
        cmocka_unit_test(what_was_not_seen_is_left_out),
        cmocka_unit_test(hidden_gaps_tell_of_the_near_rim),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
