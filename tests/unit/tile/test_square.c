/* A tile's outline: best square, straightness, corners and angles, from rims that were made by hand. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "tile/outline.h"
#include "tile/square.h"

enum { STEPS = 301 };

/* Outward deviation of an edge from the side of its square, mm; `at` from its north or west end. */
typedef double (*shape)(double at);

static double flat(double at)
{
    (void)at;
    return 0;
}

static sw_point turned(sw_point p, sw_point centre, double turn)
{
    return (sw_point){centre.x + cos(turn) * p.x - sin(turn) * p.y, centre.y + sin(turn) * p.x + cos(turn) * p.y};
}

/* A place on a side of a square round (0, 0), `out` mm beyond it. */
static sw_point on_side(int side, double size, double at, double out)
{
    double h = size / 2;
    switch (side) {
    case SW_NORTH:
        return (sw_point){at - h, h + out};
    case SW_EAST:
        return (sw_point){h + out, h - at};
    case SW_SOUTH:
        return (sw_point){at - h, -h - out};
    default:
        return (sw_point){-h - out, h - at};
    }
}

static sw_tile make_tile(sw_point centre, double turn, double size, const shape out[4])
{
    sw_tile t = {.name = "A1"};
    static const int corner_side[4] = {SW_NORTH, SW_NORTH, SW_SOUTH, SW_SOUTH};
    for (int c = 0; c < 4; c++)
        t.corners[c].mm = turned(on_side(corner_side[c], size, c == SW_NE || c == SW_SE ? size : 0, 0), centre, turn);
    for (int s = 0; s < 4; s++) {
        sw_edge *e = &t.edges[s];
        e->length_mm = size;
        e->points = calloc(STEPS, sizeof *e->points);
        assert_non_null(e->points);
        for (int i = 0; i < STEPS; i++) {
            double at = size * i / (STEPS - 1);
            e->points[e->point_count++] =
                (sw_rim_point){.at_mm = at, .mm = turned(on_side(s, size, at, out[s](at)), centre, turn)};
        }
    }
    return t;
}

static void the_square_itself(void **state)
{
    (void)state;
    const shape none[4] = {flat, flat, flat, flat};
    static const double turns[] = {0, 0.004, -0.02, 0.08};
    for (int k = 0; k < 4; k++) {
        sw_tile t = make_tile((sw_point){712.3, -451.9}, turns[k], 299.37, none);
        /* Corners are only where to start. */
        t.corners[SW_NE].mm.x += 2;
        t.edges[SW_EAST].length_mm += 3;
        sw_square_fit(&t);
        expect_near("centre x", t.centre_mm.x, 712.3, 1e-6);
        expect_near("centre y", t.centre_mm.y, -451.9, 1e-6);
        expect_near("turn", t.turn_rad, turns[k], 1e-8);
        expect_near("side", t.side_mm, 299.37, 1e-6);
        for (int s = 0; s < 4; s++)
            for (size_t i = 0; i < t.edges[s].point_count; i++)
                expect_near("proud of itself", t.edges[s].points[i].proud_mm, 0, 1e-6);
        sw_tile_free(&t);
    }
}

static double bulge(double at)
{
    return 0.8 * (1 - pow(at / 150 - 1, 2)) - 0.2;
}

static double wedge(double at)
{
    return 0.9 * at / 300 - 0.1;
}

static double wave(double at)
{
    return 0.15 * sin(at / 17) - 0.05 * cos(at / 41);
}

/* Sum of the squares of the distances from the four sides, by the definition. */
static double squares_about(const sw_tile *t, double x, double y, double turn, double side)
{
    double sum = 0;
    for (int s = 0; s < 4; s++)
        for (size_t i = 0; i < t->edges[s].point_count; i++) {
            const sw_rim_point *p = &t->edges[s].points[i];
            double u = cos(turn) * (p->mm.x - x) + sin(turn) * (p->mm.y - y),
                   v = -sin(turn) * (p->mm.x - x) + cos(turn) * (p->mm.y - y);
            double out = (s == SW_NORTH ? v : s == SW_EAST ? u : s == SW_SOUTH ? -v : -u) - side / 2;
            if (p->state == SW_STATION_OK)
                sum += out * out;
        }
    return sum;
}

/* The least squares over centre, turn and side: no step to either side is better, and a parabola puts the bottom here.
 */
static void no_other_square_is_closer(void **state)
{
    (void)state;
    const shape shapes[4] = {bulge, wedge, wave, bulge};
    sw_tile t = make_tile((sw_point){-20, 33}, 0.01, 300, shapes);
    sw_square_fit(&t);
    const double step[4] = {1e-3, 1e-3, 1e-5, 1e-3};
    double here = squares_about(&t, t.centre_mm.x, t.centre_mm.y, t.turn_rad, t.side_mm);
    for (int k = 0; k < 4; k++) {
        double q[2][4], value[2];
        for (int side = 0; side < 2; side++) {
            const double fit[4] = {t.centre_mm.x, t.centre_mm.y, t.turn_rad, t.side_mm};
            memcpy(q[side], fit, sizeof fit);
            q[side][k] += side ? step[k] : -step[k];
            value[side] = squares_about(&t, q[side][0], q[side][1], q[side][2], q[side][3]);
            assert_true(value[side] > here);
        }
        double bottom = 0.5 * step[k] * (value[0] - value[1]) / (value[0] + value[1] - 2 * here);
        expect_near("bottom of the parabola, steps", bottom / step[k], 0, 0.02);
    }
    /* proud_mm is the distance from that square. */
    double sum = 0;
    for (int s = 0; s < 4; s++)
        for (size_t i = 0; i < t.edges[s].point_count; i++)
            sum += pow(t.edges[s].points[i].proud_mm, 2);
    expect_near("squares of proud_mm", sum, here, 1e-9 * here);
    assert_true(t.edges[SW_NORTH].points[150].proud_mm > 0.1);
    assert_true(t.edges[SW_NORTH].points[0].proud_mm < -0.1);
    assert_true(t.edges[SW_EAST].points[300].proud_mm > t.edges[SW_EAST].points[0].proud_mm + 0.5);
    sw_tile_free(&t);
}

/* Chips, ends and what was not seen do not move the square; they still get their own proud_mm. */
static void chips_do_not_move_the_square(void **state)
{
    (void)state;
    const shape none[4] = {flat, flat, flat, flat};
    sw_tile t = make_tile((sw_point){0, 0}, 0, 300, none);
    for (int i = 100; i < 120; i++) {
        t.edges[SW_NORTH].points[i].mm.y -= 3;
        t.edges[SW_NORTH].points[i].state = SW_STATION_CHIP;
        t.edges[SW_WEST].points[i].mm = (sw_point){NAN, NAN};
        t.edges[SW_WEST].points[i].state = SW_STATION_UNSEEN;
    }
    t.edges[SW_SOUTH].points[0].mm.y += 5;
    t.edges[SW_SOUTH].points[0].state = SW_STATION_END;
    sw_square_fit(&t);
    expect_near("centre", hypot(t.centre_mm.x, t.centre_mm.y), 0, 1e-9);
    expect_near("side", t.side_mm, 300, 1e-9);
    expect_near("inside the chip", t.edges[SW_NORTH].points[110].proud_mm, -3, 1e-9);
    sw_tile_free(&t);
}

static void a_side_without_points(void **state)
{
    (void)state;
    const shape none[4] = {flat, flat, flat, flat};
    sw_tile t = make_tile((sw_point){0, 0}, 0, 300, none);
    for (size_t i = 0; i < t.edges[SW_SOUTH].point_count; i++)
        t.edges[SW_SOUTH].points[i].state = SW_STATION_UNSEEN;
    sw_square_fit(&t);
    assert_true(isnan(t.side_mm) && isnan(t.turn_rad) && isnan(t.centre_mm.x) && isnan(t.centre_mm.y));
    assert_true(isnan(t.edges[SW_NORTH].points[10].proud_mm));
    sw_tile_free(&t);
}

/* Without noise the straightness is the width of the convex hull. */
static void straightness_without_noise(void **state)
{
    (void)state;
    /* ICPC World Finals 2011, problem K (the second published as 14.15, rounded up). */
    static const sw_point triangle[] = {{0, 0}, {3, 0}, {0, 4}}, kite[] = {{0, 10}, {10, 0}, {20, 10}, {10, 20}};
    /* JTS topology suite, tests of its minimum diameter. */
    static const sw_point closed[] = {{0, 240}, {160, 140}, {220, 0}, {0, 0}};
    /* Pearson 1901; computed apart from this program: 0.3 sqrt 5. */
    static const sw_point pearson[10] = {{0.0, 5.9}, {0.9, 5.4}, {1.8, 4.4}, {2.6, 4.6}, {3.3, 3.5},
                                         {4.4, 3.7}, {5.2, 2.8}, {6.1, 2.8}, {6.5, 2.4}, {7.4, 1.5}};
    expect_near("triangle", sw_straightness_of(triangle, 3, 0, 22).width_mm, 2.4, 1e-9);
    expect_near("kite", sw_straightness_of(kite, 4, 0, 22).width_mm, 14.142136, 1e-6);
    expect_near("JTS", sw_straightness_of(closed, 4, 0, 22).width_mm, 202.21190660397, 1e-9);
    expect_near("Pearson", sw_straightness_of(pearson, 10, 0, 22).width_mm, 0.670820393, 1e-9);
    assert_true(sw_straightness_of(pearson, 10, 0, 22).u_mm == 0);
    /* Minimum-zone straightness (ISO 12780-1) of an arc of sagitta 0.4 mm is 0.4 mm; of a straight edge at any slope,
     * nothing. */
    sw_point arc[STEPS], line[STEPS];
    for (int i = 0; i < STEPS; i++) {
        arc[i] = (sw_point){i, 0.4 * (1 - pow(i / 150.0 - 1, 2))};
        line[i] = (sw_point){i * 0.6, 12 + i * 0.8};
    }
    expect_near("arc", sw_straightness_of(arc, STEPS, 0, 22).width_mm, 0.4, 1e-4);
    expect_near("line", sw_straightness_of(line, STEPS, 0, 22).width_mm, 0, 1e-9);
}

/* Many edges of one bow, with noise as square.h describes it: what is stated must hold what was there before, about 19
 * times in 20, and not by saying little. */
static void check_noisy(double bow)
{
    enum { TRIALS = 200 };
    const double noise = 0.03, every = 22;
    double held = 0, mean = 0, raw = 0, stated = 0;
    uint32_t seed = 77;
    for (int trial = 0; trial < TRIALS; trial++) {
        sw_point p[STEPS];
        double knots[20];
        for (int k = 0; k < 20; k++)
            knots[k] = noise * normal(&seed);
        for (int i = 0; i < STEPS; i++) {
            double at = i / every, part = at - floor(at);
            double n = ((1 - part) * knots[(int)at] + part * knots[(int)at + 1]) / hypot(part, 1 - part);
            p[i] = (sw_point){i, bow * (1 - pow(i / 150.0 - 1, 2)) + n};
        }
        sw_straightness s = sw_straightness_of(p, STEPS, noise, every);
        held += fabs(s.width_mm - bow) <= 2 * s.u_mm;
        mean += s.width_mm / TRIALS;
        stated += s.u_mm / TRIALS;
        raw += sw_straightness_of(p, STEPS, 0, every).width_mm / TRIALS;
        assert_true(s.width_mm >= 0);
    }
    if (!(held >= 0.88 * TRIALS))
        fail_msg("bow %g: %.0f of %d hold it (mean %.3f, without correction %.3f, stated %.3f)", bow, held, TRIALS,
                 mean, raw, stated);
    assert_true(fabs(mean - bow) < 0.85 * fabs(raw - bow));
    assert_true(stated < 0.08);
}

static void a_straight_edge_with_noise(void **state)
{
    (void)state;
    check_noisy(0);
}

static void a_faint_bow_with_noise(void **state)
{
    (void)state;
    check_noisy(0.1);
    check_noisy(0.2);
}

/* One tile in tracks, as the seam stage hands them over: outlines of a tile and nothing else. The tile's rim is the
 * second of its north and west track and the first of the others. */
static void make_tracks(const sw_point corners[4], const shape out[4], sw_tracks *tracks)
{
    static const int from_corner[4] = {SW_NW, SW_NE, SW_SW, SW_NW}, to_corner[4] = {SW_NE, SW_SE, SW_SE, SW_SW};
    *tracks = (sw_tracks){.columns = 1, .rows = 1, .count = 4, .upright = calloc(4, sizeof(sw_track))};
    assert_non_null(tracks->upright);
    tracks->level = tracks->upright + 2;
    for (int s = 0; s < 4; s++) {
        int second = s == SW_NORTH || s == SW_WEST;
        sw_track *t = s == SW_WEST    ? &tracks->upright[0]
                      : s == SW_EAST  ? &tracks->upright[1]
                      : s == SW_NORTH ? &tracks->level[0]
                                      : &tracks->level[1];
        sw_point a = corners[from_corner[s]], b = corners[to_corner[s]];
        double length = hypot(b.x - a.x, b.y - a.y);
        t->has[second] = 1;
        t->origin = a;
        t->u = (sw_point){(b.x - a.x) / length, (b.y - a.y) / length};
        /* n runs to the east for an upright track (u south), to the south for a level one (u east). */
        t->n = s == SW_NORTH || s == SW_SOUTH ? (sw_point){t->u.y, -t->u.x} : (sw_point){-t->u.y, t->u.x};
        t->count = STEPS;
        t->points = calloc(STEPS, sizeof *t->points);
        assert_non_null(t->points);
        for (int i = 0; i < STEPS; i++) {
            sw_track_point *p = &t->points[i];
            p->at_mm = length * i / (STEPS - 1);
            p->seen = 1;
            p->raw[0] = p->raw[1] = p->across[0] = p->across[1] = NAN;
            p->raw[second ? SW_SECOND : SW_FIRST] = p->across[second ? SW_SECOND : SW_FIRST] =
                (second ? -1 : 1) * out[s](p->at_mm);
        }
    }
}

static void measure(const sw_point corners[4], const shape out[4], void (*change)(sw_tracks *), sw_inspection *ins)
{
    sw_tracks tracks;
    sw_error err = {""};
    make_tracks(corners, out, &tracks);
    if (change)
        change(&tracks);
    *ins = (sw_inspection){
        .file = "tile", .table = {.columns = 1, .rows = 1, .tile_mm = 300}, .step_mm = 1, .tolerance_mm = 0.5};
    ins->scale.lens = (sw_lens){.fx = 1, .fy = 1};
    for (int i = 0; i < 3; i++)
        ins->scale.to_plane[i][i] = ins->scale.to_mm[i][i] = 1;
    if (sw_tiles_make(&tracks, ins, &err))
        fail_msg("%s", err.text);
    assert_int_equal(ins->tile_count, 1);
    sw_tracks_free(&tracks);
}

/* A square sheared by s: angles go by atan(s / L), lengths stay, and the diagonals differ by sqrt(2) s (plain geometry;
 * 0.707 mm for 0.5 mm, project's reference values). */
static void a_sheared_tile(void **state)
{
    (void)state;
    const shape none[4] = {flat, flat, flat, flat};
    const double shear = 0.5, size = 300, lean = atan(shear / size) * 180 / acos(-1.0);
    const sw_point corners[4] = {{shear, 0}, {size + shear, 0}, {size, -size}, {0, -size}};
    sw_inspection ins;
    measure(corners, none, NULL, &ins);
    const sw_tile *t = &ins.tiles[0];
    assert_string_equal(t->name, "A1");
    for (int c = 0; c < 4; c++) {
        expect_near("corner x", t->corners[c].mm.x, corners[c].x, 1e-6);
        expect_near("corner y", t->corners[c].mm.y, corners[c].y, 1e-6);
        expect_near("angle", t->corners[c].angle_deg, c == SW_NW || c == SW_SE ? 90 + lean : 90 - lean, 1e-6);
    }
    double one =
               hypot(t->corners[SW_NE].mm.x - t->corners[SW_SW].mm.x, t->corners[SW_NE].mm.y - t->corners[SW_SW].mm.y),
           other =
               hypot(t->corners[SW_NW].mm.x - t->corners[SW_SE].mm.x, t->corners[SW_NW].mm.y - t->corners[SW_SE].mm.y);
    expect_near("difference of the diagonals", one - other, 0.707, 1e-3);
    /* ASTM C502, quoted: wedging is the difference of two widths over their spacing; zero for a sheared parallelogram.
     */
    expect_near("wedging", t->edges[SW_NORTH].length_mm - t->edges[SW_SOUTH].length_mm, 0, 1e-6);
    expect_near("length of the north edge", t->edges[SW_NORTH].length_mm, size, 1e-6);
    expect_near("length of the east edge", t->edges[SW_EAST].length_mm, hypot(size, shear), 1e-6);
    sw_inspection_free(&ins);
}

static double bow_of_0_4(double at)
{
    return 0.4 * (1 - pow(at / 150 - 1, 2));
}

static double hollow_of_0_3(double at)
{
    return -0.3 * (1 - pow(at / 150 - 1, 2));
}

static const sw_point SQUARE[4] = {{0, 0}, {300, 0}, {300, -300}, {0, -300}};

/* Bow stands out, hollow falls back, on every side. */
static void bow_and_hollow(void **state)
{
    (void)state;
    const shape shapes[4] = {bow_of_0_4, hollow_of_0_3, hollow_of_0_3, bow_of_0_4};
    sw_inspection ins;
    for (int turn = 0; turn < 4; turn++) {
        const shape turned_shapes[4] = {shapes[turn], shapes[(turn + 1) % 4], shapes[(turn + 2) % 4],
                                        shapes[(turn + 3) % 4]};
        measure(SQUARE, turned_shapes, NULL, &ins);
        for (int s = 0; s < 4; s++)
            expect_near("bow, sign and size", ins.tiles[0].edges[s].bow_mm / turned_shapes[s](150), 0.9, 0.25);
        sw_inspection_free(&ins);
    }
}

/* Both definitions at once: minimum zone (ISO 12780-1) for straightness_mm, middle against the line through the ends
 * (as ISO 10545-2 has it for a side's centre point) for bow_mm, with its sign. An arc has the same figure, its sagitta,
 * by both. */
static void bowed_edges(void **state)
{
    (void)state;
    const shape shapes[4] = {bow_of_0_4, hollow_of_0_3, hollow_of_0_3, bow_of_0_4};
    sw_inspection ins;
    measure(SQUARE, shapes, NULL, &ins);
    for (int s = 0; s < 4; s++) {
        const sw_edge *e = &ins.tiles[0].edges[s];
        double sagitta = shapes[s](150);
        expect_near("straightness", e->straightness_mm, fabs(sagitta), 0.1 * fabs(sagitta));
        if (!(fabs(e->bow_mm - sagitta) <= 0.1 * fabs(sagitta)))
            fail_msg("%s: bow %.3f instead of %.3f", sw_side_name((sw_side)s), e->bow_mm, sagitta);
    }
    sw_inspection_free(&ins);
}

static double one_mm_wedge(double at)
{
    return at / 300;
}

/* An east edge that stands 1 mm further out at its south end: squareness in mm over the edge's length. ISO 10545-2:
 * departure from squareness of a corner over the adjacent side. */
static void one_edge_out_of_square(void **state)
{
    (void)state;
    const shape shapes[4] = {flat, one_mm_wedge, flat, flat};
    const double lean = atan(1 / 300.0) * 180 / acos(-1.0);
    sw_inspection ins;
    measure(SQUARE, shapes, NULL, &ins);
    const sw_tile *t = &ins.tiles[0];
    expect_near("NE", t->corners[SW_NE].angle_deg, 90 + lean, 1e-4);
    expect_near("SE", t->corners[SW_SE].angle_deg, 90 - lean, 1e-4);
    expect_near("NW", t->corners[SW_NW].angle_deg, 90, 1e-4);
    expect_near("SW", t->corners[SW_SW].angle_deg, 90, 1e-4);
    expect_near("south edge", t->edges[SW_SOUTH].length_mm, 301, 0.01);
    expect_near("north edge", t->edges[SW_NORTH].length_mm, 300, 0.01);
    expect_near("straightness", t->edges[SW_EAST].straightness_mm, 0, 1e-6);
    sw_inspection_free(&ins);
}

/* A chip 2 mm deep at 140 to 150 mm of the south edge, and a tenth of the west edge under a card. */
static void bite(sw_tracks *tracks)
{
    sw_track *south = &tracks->level[1], *west = &tracks->upright[0];
    south->chips = calloc(1, sizeof *south->chips);
    assert_non_null(south->chips);
    south->chips[south->chip_count++] = (sw_track_chip){.rim = SW_FIRST, .at_mm = 145, .length_mm = 10, .depth_mm = 2};
    for (int i = 140; i <= 150; i++) {
        south->points[i].raw[SW_FIRST] = south->points[i].across[SW_FIRST] = -2;
        south->points[i].chip[SW_FIRST] = 1;
    }
    for (int i = 100; i < 130; i++)
        west->points[i].seen = 0;
}

static void chips_and_cards(void **state)
{
    (void)state;
    const shape none[4] = {flat, flat, flat, flat};
    sw_inspection ins;
    measure(SQUARE, none, bite, &ins);
    const sw_tile *t = &ins.tiles[0];
    expect_near("straightness, chip left out", t->edges[SW_SOUTH].straightness_mm, 0, 1e-6);
    assert_int_equal(t->chip_count, 1);
    assert_int_equal(t->chips[0].side, SW_SOUTH);
    expect_near("chip's place", t->chips[0].at_mm, 145, 1e-6);
    expect_near("chip's depth", t->chips[0].depth_mm, 2, 1e-6);
    expect_near("share of the west edge seen", t->edges[SW_WEST].seen, 0.9, 0.01);
    expect_near("share of the east edge seen", t->edges[SW_EAST].seen, 1, 1e-9);
    int chip = 0, unseen = 0;
    for (size_t i = 0; i < t->edges[SW_SOUTH].point_count; i++)
        chip += t->edges[SW_SOUTH].points[i].state == SW_STATION_CHIP;
    for (size_t i = 0; i < t->edges[SW_WEST].point_count; i++) {
        unseen += t->edges[SW_WEST].points[i].state == SW_STATION_UNSEEN;
        assert_int_equal(isnan(t->edges[SW_WEST].points[i].mm.x),
                         t->edges[SW_WEST].points[i].state == SW_STATION_UNSEEN);
    }
    assert_int_equal(chip, 11);
    assert_int_equal(unseen, 30);
    sw_inspection_free(&ins);
}

static void hide_the_east_edge(sw_tracks *tracks)
{
    for (int i = 0; i < STEPS; i++)
        tracks->upright[1].points[i].seen = 0;
}

/* What was not seen is NaN, never a guess. */
static void an_edge_that_was_not_seen(void **state)
{
    (void)state;
    const shape none[4] = {flat, flat, flat, flat};
    sw_inspection ins;
    measure(SQUARE, none, hide_the_east_edge, &ins);
    const sw_tile *t = &ins.tiles[0];
    assert_true(isnan(t->corners[SW_NE].mm.x) && isnan(t->corners[SW_SE].angle_deg));
    assert_true(isnan(t->edges[SW_EAST].straightness_mm) && isnan(t->edges[SW_EAST].length_mm));
    assert_true(isnan(t->side_mm));
    sw_inspection_free(&ins);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_square_itself),
        cmocka_unit_test(no_other_square_is_closer),
        cmocka_unit_test(chips_do_not_move_the_square),
        cmocka_unit_test(a_side_without_points),
        cmocka_unit_test(straightness_without_noise),
        cmocka_unit_test(a_straight_edge_with_noise),
        cmocka_unit_test(a_faint_bow_with_noise),
        cmocka_unit_test(a_sheared_tile),
        cmocka_unit_test(bow_and_hollow),
        cmocka_unit_test(bowed_edges),
        cmocka_unit_test(one_edge_out_of_square),
        cmocka_unit_test(chips_and_cards),
        cmocka_unit_test(an_edge_that_was_not_seen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
