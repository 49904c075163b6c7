/* Outlines at even places: against tiles drawn as polygons and turned in the plane, and where parts were not seen. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "push/outline_at.h"
#include "seamwright/layout.h"

/* Outward deviation of one side of the drawn tile, mm; x runs from 0 at the side's north or west end to 1. No two sides
 * are alike, and none is its own mirror image. */
static double shape(int side, double x)
{
    static const double tilt[4] = {0.8, -0.5, 1.1, -0.9}, bow[4] = {0.6, -0.7, 0.2, 0.9},
                        wave[4] = {0.3, 0.2, -0.4, 0.25};
    return tilt[side] * (x - 0.4) + 4 * bow[side] * x * (1 - x) + wave[side] * sin(7 * x + side);
}

/* A place on a side of the unturned tile round (0, 0), north up; at from the side's north or west end. */
static sw_point on_side(int side, double half, double at)
{
    double out = half + shape(side, at / (2 * half));
    switch (side) {
    case SW_NORTH:
        return (sw_point){at - half, out};
    case SW_EAST:
        return (sw_point){out, half - at};
    case SW_SOUTH:
        return (sw_point){at - half, -out};
    default:
        return (sw_point){-out, half - at};
    }
}

enum { STATIONS = 299 };

/* How the drawn tile would stand in an inspection: somewhere, a little turned, corners not quite at the square's.
 * `skip` mm of each edge lie before the corner from which at_mm counts. */
static sw_tile inspected(double half, double skip)
{
    sw_tile t = {.name = "A1", .centre_mm = {412.3, -77.1}, .turn_rad = 0.011, .side_mm = 2 * half};
    static const int from_side[4] = {SW_NORTH, SW_EAST, SW_SOUTH, SW_WEST},
                     from_corner[4] = {SW_NW, SW_NE, SW_SW, SW_NW};
    for (int s = 3; s >= 0; s--) { /* north last: the north-west corner is then the north side's */
        double x = from_side[s] == SW_EAST ? half : -half, y = from_side[s] == SW_SOUTH ? -half : half;
        double east = from_side[s] == SW_NORTH || from_side[s] == SW_SOUTH ? skip : 0,
               down = from_side[s] == SW_EAST || from_side[s] == SW_WEST ? skip : 0;
        if (from_side[s] == SW_WEST || from_side[s] == SW_NORTH)
            east = down = skip; /* one corner serves both */
        x += east;
        y -= down;
        t.corners[from_corner[s]].mm = (sw_point){t.centre_mm.x + cos(t.turn_rad) * x - sin(t.turn_rad) * y,
                                                  t.centre_mm.y + sin(t.turn_rad) * x + cos(t.turn_rad) * y};
        sw_edge *e = &t.edges[s];
        e->points = calloc(STATIONS, sizeof *e->points);
        assert_non_null(e->points);
        for (int i = 0; i < STATIONS; i++) {
            double at = i - skip + 1, whole = i + 1;
            sw_station_state state = i < 5 || i >= STATIONS - 5 ? SW_STATION_END : SW_STATION_OK;
            e->points[e->point_count++] =
                (sw_rim_point){.at_mm = at, .proud_mm = shape(s, whole / (2 * half)), .mm = {NAN, NAN}, .state = state};
        }
    }
    return t;
}

/* Where the ray from a far away enters the polygon: smallest distance travelled. The polygon is the drawn tile turned
 * clockwise by quarter turns and moved by `shift`. */
static double ray(double half, int turns, sw_point shift, sw_point from, sw_point way)
{
    double least = INFINITY;
    for (int s = 0; s < 4; s++)
        for (int i = 0; i < 3000; i++) {
            sw_point p[2] = {on_side(s, half, 2 * half * i / 3000), on_side(s, half, 2 * half * (i + 1) / 3000)};
            for (int k = 0; k < 2; k++) {
                for (int q = 0; q < turns; q++)
                    p[k] = (sw_point){p[k].y, -p[k].x}; /* north (0, 1) becomes east (1, 0) */
                p[k] = (sw_point){p[k].x + shift.x - from.x, p[k].y + shift.y - from.y};
            }
            double a = p[0].x * -way.y + p[0].y * way.x, b = p[1].x * -way.y + p[1].y * way.x; /* sideways of the ray */
            if ((a < 0) == (b < 0))
                continue;
            double share = a / (a - b), x = p[0].x + share * (p[1].x - p[0].x), y = p[0].y + share * (p[1].y - p[0].y);
            least = fmin(least, x * way.x + y * way.y);
        }
    return least;
}

/* The gap between two tiles side by side, both turned every way, as a ray sees it and as the outlines tell it. */
static void polygons_agree(void **state)
{
    (void)state;
    const double half = 150, apart = 307;
    sw_outline o;
    sw_tile tile = inspected(half, 1.7);
    assert_int_equal(sw_outline_make(&tile, &o, NULL), SW_OK);
    assert_int_equal(o.reach, 30);
    for (int turns = 0; turns < 16; turns++)
        for (int level = 0; level < 2; level++)
            for (double v = -140; v <= 140; v += 8.75) {
                int t1 = turns / 4, t2 = turns % 4;
                /* West to east at height v, or north to south at v to the east. */
                sw_point way = level ? (sw_point){0, -1} : (sw_point){1, 0},
                         side = level ? (sw_point){1, 0} : (sw_point){0, 1};
                sw_point from = {way.x * apart / 2 + side.x * v, way.y * apart / 2 + side.y * v};
                double gap = ray(half, t2, (sw_point){way.x * apart, way.y * apart}, from, way) +
                             ray(half, t1, (sw_point){0, 0}, from, (sw_point){-way.x, -way.y});
                sw_side one = sw_side_turned(level ? SW_SOUTH : SW_EAST, -t1),
                        two = sw_side_turned(level ? SW_NORTH : SW_WEST, -t2);
                double u = -v; /* clockwise along the first tile's east or south side: south, or west */
                double got = apart - 2 * half - sw_outline_at(&o, one, u, NULL) - sw_outline_at(&o, two, -u, NULL);
                if (!(fabs(got - gap) < 0.01))
                    fail_msg("turned %d and %d, %s, at %g: outlines say %.4f, polygons %.4f", t1, t2,
                             level ? "level" : "upright", v, got, gap);
            }
    sw_outline_free(&o);
    sw_tile_free(&tile);
}

static double proud_at(const sw_outline *o, sw_side side, double at, sw_outline_known *known)
{
    return sw_outline_at(o, side, sw_outline_u(o, side, at), known);
}

static void chips_and_ends(void **state)
{
    (void)state;
    sw_tile tile = inspected(150, 0);
    sw_outline o;
    sw_outline_known known;
    for (int i = 0; i < STATIONS; i++) {
        sw_rim_point *n = &tile.edges[SW_NORTH].points[i], *s = &tile.edges[SW_SOUTH].points[i],
                     *w = &tile.edges[SW_WEST].points[i];
        n->proud_mm = s->proud_mm = 0.002 * n->at_mm; /* straight lines */
        if (n->state == SW_STATION_END)
            n->proud_mm = s->proud_mm = -9; /* what the crossing seam makes of it */
        if (i == 280 || i == 285 || i == 290)
            n->proud_mm += 3; /* single places gone astray */
        if (i >= 100 && i < 120) {
            n->state = SW_STATION_CHIP;
            n->proud_mm -= 4;
        }
        if (i >= 50 && i < 150)
            s->state = SW_STATION_UNSEEN;
        if (i >= STATIONS - 40)
            w->state = SW_STATION_CHIP; /* a corner broken off */
    }
    tile.edges[SW_EAST].point_count = 0;
    assert_int_equal(sw_outline_make(&tile, &o, NULL), SW_OK);
    expect_near("seen", proud_at(&o, SW_NORTH, 60, &known), 0.12, 1e-9);
    assert_int_equal(known, SW_OUTLINE_SEEN);
    expect_near("over the chip", proud_at(&o, SW_NORTH, 110, &known), 0.22, 1e-9);
    assert_int_equal(known, SW_OUTLINE_BRIDGED);
    expect_near("at the west end", proud_at(&o, SW_NORTH, 0, &known), 0, 1e-9);
    assert_int_equal(known, SW_OUTLINE_END);
    expect_near("at the east end, bad places and all", proud_at(&o, SW_NORTH, 300, &known), 0.6, 1e-9);
    assert_int_equal(known, SW_OUTLINE_END);
    expect_near("past it", proud_at(&o, SW_NORTH, 307, &known), 0.614, 1e-6);
    assert_true(isnan(proud_at(&o, SW_NORTH, 311, &known)));
    assert_true(isnan(proud_at(&o, SW_SOUTH, 100, &known)));
    assert_int_equal(known, SW_OUTLINE_UNKNOWN);
    expect_near("seen beside it", proud_at(&o, SW_SOUTH, 200, &known), 0.4, 1e-9);
    assert_true(isnan(proud_at(&o, SW_WEST, 290, NULL)));
    assert_true(isnan(proud_at(&o, SW_EAST, 150, NULL)));
    expect_near("share seen", sw_outline_seen(&o, SW_EAST), 0, 0);
    assert_true(sw_outline_seen(&o, SW_NORTH) > 0.85);
    sw_outline_free(&o);
    sw_tile_free(&tile);
}

static void not_measured(void **state)
{
    (void)state;
    sw_tile tile = {.name = "A1", .side_mm = NAN, .turn_rad = NAN, .centre_mm = {NAN, NAN}};
    sw_outline o;
    assert_int_equal(sw_outline_make(&tile, &o, NULL), SW_OK);
    assert_true(isnan(o.half_mm));
    assert_true(isnan(sw_outline_at(&o, SW_NORTH, 0, NULL)));
    sw_outline_free(&o);
    sw_outline_free(NULL);
}

/* A million places on every edge take room for a million places and not for all their pairs, which would be terabytes;
 * and they tell the same as few. */
static void very_small_steps(void **state)
{
    (void)state;
    enum { MANY = 1000000 };
    sw_tile tile = inspected(150, 0);
    sw_outline few, many;
    assert_int_equal(sw_outline_make(&tile, &few, NULL), SW_OK);
    for (int s = 0; s < 4; s++) {
        sw_edge *e = &tile.edges[s];
        free(e->points);
        e->points = calloc(MANY, sizeof *e->points);
        assert_non_null(e->points);
        e->point_count = MANY;
        for (int i = 0; i < MANY; i++) {
            double at = 300 * (i + 0.5) / MANY;
            e->points[i] = (sw_rim_point){.at_mm = at,
                                          .proud_mm = shape(s, at / 300),
                                          .mm = {NAN, NAN},
                                          .state = at < 5.5 || at > 294.5 ? SW_STATION_END : SW_STATION_OK};
        }
    }
    assert_int_equal(sw_outline_make(&tile, &many, NULL), SW_OK);
    for (int s = 0; s < 4; s++)
        for (double u = -145; u <= 145; u += 5)
            expect_near("many places", sw_outline_at(&many, (sw_side)s, u, NULL),
                        sw_outline_at(&few, (sw_side)s, u, NULL), 0.003);
    sw_outline_free(&few);
    sw_outline_free(&many);
    sw_tile_free(&tile);
}

/* The same tile inspected as it lay and turned: the mean puts what belongs together together, and what one did not see
 * comes from the other. */
static void means(void **state)
{
    (void)state;
    sw_tile tile = inspected(150, 0), other = inspected(150, 0);
    sw_outline o[2], mean;
    static const int turns[2] = {0, 3};
    assert_int_equal(sw_outline_make(&tile, &o[0], NULL), SW_OK);
    for (int s = 0; s < 4; s++) { /* the tile's side s lay as side s + 3; u is clockwise, at_mm is not */
        int lay = sw_side_turned((sw_side)s, turns[1]),
            mirrored = (s == SW_NORTH || s == SW_EAST) != (lay == SW_NORTH || lay == SW_EAST);
        for (int i = 0; i < STATIONS; i++)
            other.edges[lay].points[i].proud_mm = 0.2 + tile.edges[s].points[mirrored ? STATIONS - 1 - i : i].proud_mm;
    }
    for (int i = 0; i < STATIONS; i++)
        other.edges[sw_side_turned(SW_SOUTH, 3)].points[i].state = SW_STATION_UNSEEN;
    assert_int_equal(sw_outline_make(&other, &o[1], NULL), SW_OK);
    assert_int_equal(sw_outline_mean(o, turns, 2, &mean, NULL), SW_OK);
    for (int s = 0; s < 4; s++)
        for (double u = -140; u <= 140; u += 5)
            expect_near("mean", sw_outline_at(&mean, (sw_side)s, u, NULL),
                        sw_outline_at(&o[0], (sw_side)s, u, NULL) + (s == SW_SOUTH ? 0 : 0.1), 1e-9);
    sw_outline_free(&mean);
    for (int i = 0; i < 2; i++)
        sw_outline_free(&o[i]);
    sw_tile_free(&tile);
    sw_tile_free(&other);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(polygons_agree), cmocka_unit_test(chips_and_ends),
                                       cmocka_unit_test(not_measured), cmocka_unit_test(very_small_steps),
                                       cmocka_unit_test(means)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
