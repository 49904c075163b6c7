/* Several photos of the museum's table, made up with errors of known size, joined into one inspection. */
#include "support/maths_check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspect/combine/turned.h"
#include "inspection/copy.h"
#include "seamwright/inspect.h"
#include "support/fixture_noise.h"

enum { MOST = 5 };
static const fixture_noise FAIR = {0.03, 0.03, 0.04}, NONE = {0, 0.03, 0.04};
static const char *const FILES[MOST] = {"one.jpg", "two.jpg", "three.jpg", "four.jpg", "five.jpg"};

static void shoot(sw_inspection *photos, int count, const fixture_noise *noise)
{
    for (int k = 0; k < count; k++)
        fixture_shot(k, FILES[k], noise, &photos[k]);
}

static void put_away(sw_inspection *photos, int count)
{
    for (int k = 0; k < count; k++)
        sw_inspection_free(&photos[k]);
}

static void combine(const sw_inspection *photos, int count, sw_inspection *out)
{
    sw_error err = {""};
    if (sw_inspection_combine(photos, (size_t)count, out, &err))
        fail_msg("%s", err.text);
    assert_non_null(out->repeatability);
    assert_int_equal(out->repeatability->photo_count, count);
    assert_int_equal(out->repeatability->seam_count, out->seam_count);
}

static void refuse(const sw_inspection *photos, int count, const char *const *pieces)
{
    sw_error err = {""};
    sw_inspection out;
    memset(&out, 1, sizeof out);
    assert_int_equal(sw_inspection_combine(photos, (size_t)count, &out, &err), SW_BAD_INPUT);
    for (; *pieces; pieces++)
        if (!strstr(err.text, *pieces))
            fail_msg("\"%s\" lacks \"%s\"", err.text, *pieces);
    sw_inspection zero;
    memset(&zero, 0, sizeof zero);
    assert_memory_equal(&out, &zero, sizeof out);
}

static const sw_seam_spread *spread_of(const sw_inspection *out, const char *name)
{
    return &out->repeatability->seams[fixture_seam(out, name) - out->seams];
}

static int warned(const sw_inspection *ins, const char *piece)
{
    for (size_t i = 0; i < ins->notes.count; i++)
        if (strstr(ins->notes.list[i].text, piece))
            return 1;
    return 0;
}

/* All photos state the same, so the mean is the plain one, and s_r the textbook's. */
static void means_and_spreads_are_the_plain_ones(void **state)
{
    (void)state;
    sw_inspection photos[MOST], out;
    shoot(photos, MOST, &FAIR);
    combine(photos, MOST, &out);
    double pooled = 0, chi = 0, seams = 0, u2 = FAIR.random_mm * FAIR.random_mm + FAIR.common_mm * FAIR.common_mm;
    for (int pass = 0; pass < 2; pass++)
        for (size_t i = 0; i < photos[0].seam_count; i++) {
            double sum = 0, squares = 0;
            for (int k = 0; k < MOST; k++)
                sum += photos[k].seams[i].mean_mm / MOST;
            for (int k = 0; k < MOST; k++)
                squares += pow(photos[k].seams[i].mean_mm - sum, 2);
            const sw_seam *joined = fixture_seam(&out, photos[0].seams[i].name);
            const sw_seam_spread *spread = spread_of(&out, joined->name);
            if (isnan(sum)) {
                assert_true(isnan(joined->mean_mm) && isnan(spread->s_r_mm) && spread->photos == 0);
                continue;
            }
            if (!pass) {
                pooled += squares;
                chi += squares / u2;
                seams++;
                continue;
            }
            double s2 = squares / (MOST - 1);
            double v = fmax(fmax(FAIR.random_mm * FAIR.random_mm, s2), chi / seams / (MOST - 1) * u2);
            expect_near("mean", joined->mean_mm, sum, 1e-9);
            expect_near("s_r of a seam", spread->s_r_mm, sqrt(s2), 1e-9);
            expect_near("u", joined->mean_u95_mm, 2 * fmin(sqrt(u2), sqrt(v / MOST + FAIR.common_mm * FAIR.common_mm)),
                        1e-9);
            assert_int_equal(spread->photos, MOST);
            assert_int_equal(spread->left_out, 0);
            for (int k = 0; k < MOST; k++)
                expect_near("mean of a photo", spread->mean_mm[k], photos[k].seams[i].mean_mm, 1e-9);
        }
    const sw_spread *all = &out.repeatability->mean;
    expect_near("s_r", all->s_r, sqrt(pooled / (seams * (MOST - 1))), 1e-9);
    expect_near("r", all->r, 2.8 * all->s_r, 1e-12);
    expect_near("chi-square", all->chi_square, chi, 1e-6);
    expect_near("freedom", all->freedom, 11 * (MOST - 1), 1e-12);
    /* Drawn with 0.03: 44 degrees of freedom tell it to a ninth (one standard deviation); three of these. */
    expect_near("s_r against what was drawn", all->s_r, 0.03, 0.03 / 3);
    assert_int_equal(all->agreement, SW_AGREE_BETTER); /* the common part does not show */
    expect_near("angles", out.repeatability->angle_deg.s_r, 0.0003, 0.0001);
    expect_near("lengths", out.repeatability->length.s_r, 0.03, 0.01);
    assert_true(all->widened == 1);
    assert_false(warned(&out, "disagree"));
    sw_inspection_free(&out);
    put_away(photos, MOST);
}

/* Stations: at one place by hand, and the extremes are those of the joined stations. */
static void stations_and_verdicts_are_joined(void **state)
{
    (void)state;
    sw_inspection photos[3], out;
    shoot(photos, 3, &FAIR);
    combine(photos, 3, &out);
    for (size_t i = 0; i < photos[0].seam_count; i++) {
        const sw_seam *joined = fixture_seam(&out, photos[0].seams[i].name);
        double most = NAN;
        for (size_t p = 0; p < joined->station_count; p++) {
            const sw_station *s = &joined->stations[p];
            double sum = 0;
            for (int k = 0; k < 3; k++)
                sum += photos[k].seams[i].stations[p].gap_mm / 3;
            assert_int_equal(s->state, photos[0].seams[i].stations[p].state);
            if (s->state == SW_STATION_UNSEEN) {
                assert_true(isnan(s->gap_mm) && isnan(s->u95_mm));
                continue;
            }
            expect_near("gap", s->gap_mm, sum, 1e-6);
            assert_true(s->u95_mm >= 2 * 0.04 && s->u95_mm <= 2 * 0.05 + 1e-9);
            if (s->state == SW_STATION_OK && !(most >= s->gap_mm))
                most = s->gap_mm;
        }
        if (!isnan(most))
            expect_near("widest", joined->max_mm, most, 1e-12);
        assert_int_equal(joined->verdict, sw_verdict_of(joined->max_mm, joined->max_u95_mm, 0.5));
    }
    assert_true(out.advice_count >= out.seam_count); /* ranked anew */
    assert_string_equal(out.file, "one.jpg");
    sw_inspection_free(&out);
    put_away(photos, 3);
}

/* Photos whose errors are four times what they state. */
static void photos_that_disagree_widen_the_uncertainty(void **state)
{
    (void)state;
    const fixture_noise wild = {0.04, 0.01, 0};
    sw_inspection photos[3], out;
    shoot(photos, 3, &wild);
    combine(photos, 3, &out);
    const sw_spread *all = &out.repeatability->mean;
    assert_int_equal(all->agreement, SW_AGREE_WORSE);
    expect_near("widened", all->widened, 4, 1.8); /* 22 degrees of freedom: to 15 %, three of these */
    assert_true(warned(&out, "The photos disagree about the gaps"));
    assert_true(warned(&out, "The photos disagree about lengths"));
    const sw_seam *seam = fixture_seam(&out, "A1-B1");
    assert_true(seam->mean_u95_mm > 2 * 0.01);
    assert_true(seam->max_u95_mm > 2 * 0.01);
    sw_inspection_free(&out);
    put_away(photos, 3);
}

static void same_seams(const sw_inspection *a, const sw_inspection *b, double most)
{
    assert_int_equal(a->seam_count, b->seam_count);
    for (size_t i = 0; i < a->seam_count; i++) {
        const sw_seam *x = &a->seams[i], *y = fixture_seam(b, x->name);
        assert_int_equal(x->upright, y->upright);
        assert_int_equal(x->first, y->first);
        assert_int_equal(x->second, y->second);
        assert_int_equal(x->chip_count, y->chip_count);
        for (size_t k = 0; k < x->chip_count; k++) {
            assert_int_equal(x->chips[k].tile, y->chips[k].tile);
            assert_int_equal(x->chips[k].side, y->chips[k].side);
            expect_near("chip", x->chips[k].at_mm, y->chips[k].at_mm, most);
        }
        if (isnan(x->mean_mm))
            continue;
        expect_near("mean", x->mean_mm, y->mean_mm, most);
        expect_near("taper", x->taper_mm, y->taper_mm, most);
        expect_near("step", x->corner_step_mm, y->corner_step_mm, most);
        expect_near("widest at", x->max_at_mm, y->max_at_mm, 1 + most);
        expect_near("start", hypot(x->start_mm.x - y->start_mm.x, x->start_mm.y - y->start_mm.y), 0, most);
        for (size_t k = 0; k < x->station_count; k++)
            if (x->stations[k].state != SW_STATION_UNSEEN)
                expect_near("gap", x->stations[k].gap_mm, y->stations[k].gap_mm, most);
    }
}

static void same_tiles(const sw_inspection *a, const sw_inspection *b, double most)
{
    for (size_t i = 0; i < a->tile_count; i++) {
        const sw_tile *x = &a->tiles[i], *y = &b->tiles[i];
        assert_string_equal(x->name, y->name);
        expect_near("centre", hypot(x->centre_mm.x - y->centre_mm.x, x->centre_mm.y - y->centre_mm.y), 0, most);
        for (int s = 0; s < 4; s++) {
            expect_near("angle", x->corners[s].angle_deg, y->corners[s].angle_deg, most);
            expect_near("corner", x->corners[s].mm.x, y->corners[s].mm.x, most);
            expect_near("length", x->edges[s].length_mm, y->edges[s].length_mm, most);
            for (size_t p = 0; p < x->edges[s].point_count; p++) {
                expect_near("at", x->edges[s].points[p].at_mm, y->edges[s].points[p].at_mm, most);
                expect_near("proud", x->edges[s].points[p].proud_mm, y->edges[s].points[p].proud_mm, most);
                expect_near("place", x->edges[s].points[p].mm.y, y->edges[s].points[p].mm.y, most);
            }
        }
    }
}

static void four_quarter_turns_change_nothing(void **state)
{
    (void)state;
    sw_inspection one, turned;
    fixture_shot(0, "one.jpg", &NONE, &one);
    fixture_shot(0, "one.jpg", &NONE, &turned);
    assert_int_equal(sw_inspection_turn(&turned, 1, NULL), SW_OK);
    assert_int_equal(sw_inspection_turn(&turned, 3, NULL), SW_OK);
    same_seams(&one, &turned, 1e-9);
    same_tiles(&one, &turned, 1e-9);
    sw_inspection_free(&one);
    sw_inspection_free(&turned);
}

/* By hand: turned counter-clockwise, C1 comes to lie at the top left, so B1-C1 (upright, its north end first) becomes
 * A1-A2 (level, its west end first), C1 being the north tile now; C1-C2 becomes A1-B1, counted from the other end. C1's
 * east edge becomes its north edge. */
static void a_quarter_turn_by_hand(void **state)
{
    (void)state;
    sw_inspection one, turned;
    fixture_shot(0, "one.jpg", &NONE, &one);
    fixture_shot(0, "one.jpg", &NONE, &turned);
    assert_int_equal(sw_inspection_turn(&turned, 1, NULL), SW_OK);
    const sw_seam *was = fixture_seam(&one, "B1-C1"), *is = fixture_seam(&turned, "A1-A2");
    assert_false(is->upright);
    expect_near("mean", is->mean_mm, was->mean_mm, 1e-12);
    expect_near("taper", is->taper_mm, was->taper_mm, 1e-12);
    /* C1 lay 0.12 mm further south than B1, so it lies 0.12 mm further east now, and B1, the second, further west. */
    expect_near("step", was->corner_step_mm, 0.12, 1e-12);
    expect_near("step", is->corner_step_mm, -0.12, 1e-12);
    expect_near("gap", is->stations[10].gap_mm, was->stations[10].gap_mm, 1e-12);
    assert_int_equal(is->chips[0].side, SW_SOUTH); /* C1 west */
    assert_int_equal(is->chips[0].tile, 0);
    expect_near("chip", is->chips[0].at_mm, was->chips[0].at_mm, 1e-12);
    was = fixture_seam(&one, "C1-C2");
    is = fixture_seam(&turned, "A1-B1");
    assert_true(is->upright);
    expect_near("taper", is->taper_mm, -was->taper_mm, 1e-12);
    expect_near("step", is->corner_step_mm, -0.12, 1e-12); /* C2 lay further east, lies further north, runs south */
    expect_near("gap", is->stations[10].gap_mm, was->stations[298 - 10].gap_mm, 1e-12);
    expect_near("place", is->stations[10].at_mm, 300 - was->stations[298 - 10].at_mm, 1e-12);
    assert_string_equal(turned.tiles[0].name, "A1");
    expect_near("edge", turned.tiles[0].edges[SW_NORTH].length_mm, one.tiles[2].edges[SW_EAST].length_mm, 1e-12);
    expect_near("corner", turned.tiles[0].corners[SW_NW].angle_deg, one.tiles[2].corners[SW_NE].angle_deg, 1e-12);
    assert_int_equal(sw_inspection_turn(&turned, 0, NULL), SW_OK);
    sw_inspection_free(&one);
    sw_inspection_free(&turned);
}

/* Cuts the last row off: 3 by 2 tiles. */
static void cut_row(sw_inspection *ins)
{
    for (size_t i = 7; i < ins->seam_count; i++)
        sw_seam_free(&ins->seams[i]);
    for (size_t i = 6; i < ins->tile_count; i++)
        sw_tile_free(&ins->tiles[i]);
    ins->seam_count = 7;
    ins->tile_count = 6;
    ins->table.rows = 2;
}

/* However a photo is turned, the result is the same; so it is for a table that is longer than wide. */
static void turned_photos_are_turned_back(void **state)
{
    (void)state;
    for (int q = 0; q < 8; q++) {
        sw_inspection photos[3], straight, out;
        shoot(photos, 3, &FAIR);
        for (int k = 0; q >= 4 && k < 3; k++)
            cut_row(&photos[k]);
        combine(photos, 3, &straight);
        assert_int_equal(sw_inspection_turn(&photos[1], q, NULL), SW_OK);
        assert_int_equal(photos[1].table.columns, q == 5 || q == 7 ? 2 : 3);
        combine(photos, 3, &out);
        assert_int_equal(out.repeatability->quarter_turns[0], 0);
        assert_int_equal(out.repeatability->quarter_turns[1], (8 - q) % 4);
        assert_int_equal(out.repeatability->quarter_turns[2], 0);
        same_seams(&straight, &out, 1e-6);
        same_tiles(&straight, &out, 1e-6);
        sw_inspection_free(&straight);
        sw_inspection_free(&out);
        put_away(photos, 3);
    }
}

static const sw_note *note_of(const sw_inspection *ins, sw_note_kind kind, size_t *count)
{
    const sw_note *found = NULL;
    *count = 0;
    for (size_t i = 0; i < ins->notes.count; i++)
        if (ins->notes.list[i].kind == kind) {
            found = &ins->notes.list[i];
            ++*count;
        }
    return found;
}

/* The first photo's notes stand as they are and once; another's with its file, and without places where it lay turned.
 * Those on what a photo did not see are dropped, whatever their words: the joined seams tell. */
static void notes_of_single_photos_are_gathered(void **state)
{
    (void)state;
    sw_inspection photos[3], out;
    size_t count;
    shoot(photos, 3, &FAIR);
    for (int k = 0; k < 3; k++) {
        sw_notes_free(&photos[k].notes);
        assert_int_equal(sw_note_add(&photos[k].notes, SW_NOTE_ONE_SQUARE, "one"), SW_OK);
        assert_int_equal(sw_note_add(&photos[k].notes, SW_NOTE_SEAM_UNSEEN, "a leaf lay there"), SW_OK);
    }
    for (int k = 1; k < 3; k++) {
        assert_int_equal(sw_note_add(&photos[k].notes, k == 1 ? SW_NOTE_BLURRED : SW_NOTE_SHARPENED, "no good"), SW_OK);
        sw_note_at(&photos[k].notes, "A1 east");
    }
    assert_int_equal(sw_inspection_turn(&photos[2], 1, NULL), SW_OK);
    combine(photos, 3, &out);
    assert_string_equal(note_of(&out, SW_NOTE_ONE_SQUARE, &count)->text, "one");
    assert_int_equal(count, 1);
    assert_false(warned(&out, "a leaf lay there"));
    const sw_note *blurred = note_of(&out, SW_NOTE_BLURRED, &count), *sharp = note_of(&out, SW_NOTE_SHARPENED, &count);
    assert_string_equal(blurred->text, "two.jpg: no good");
    assert_int_equal(blurred->place_count, 1);
    assert_string_equal(blurred->places[0], "A1 east");
    assert_string_equal(sharp->text, "three.jpg: no good");
    assert_int_equal(sharp->place_count, 0);
    sw_inspection_free(&out);
    put_away(photos, 3);
}

/* Tile A1 was pushed away from B1 by 0.4 mm before the third photo. */
static void a_moved_tile_is_told_and_not_averaged(void **state)
{
    (void)state;
    const fixture_noise fine = {0.01, 0.01, 0.03};
    sw_inspection photos[3], two, out;
    shoot(photos, 3, &fine);
    combine(photos, 2, &two);
    fixture_widen(fixture_seam(&photos[2], "A1-B1"), 0.4);
    combine(photos, 3, &out);
    const sw_seam_spread *moved = spread_of(&out, "A1-B1"), *still = spread_of(&out, "B1-C1");
    assert_true(warned(&out, "three.jpg shows A1-B1 otherwise than one.jpg, by up to 0."));
    assert_true(warned(&out, "Was a tile moved"));
    size_t count;
    const sw_note *differs = note_of(&out, SW_NOTE_PHOTO_DIFFERS, &count);
    assert_int_equal(count, 1);
    assert_int_equal(differs->place_count, 1);
    assert_string_equal(differs->places[0], "A1-B1");
    assert_int_equal(moved->photos, 2);
    assert_int_equal(moved->left_out, 1);
    expect_near("difference", moved->difference_mm, 0.4,
                0.06); /* three standard deviations of both photos' mean and taper */
    assert_int_equal(still->photos, 3);
    assert_int_equal(still->left_out, 0);
    const sw_seam *seam = fixture_seam(&out, "A1-B1");
    expect_near("mean", seam->mean_mm, fixture_seam(&two, "A1-B1")->mean_mm, 1e-9);
    expect_near("u", seam->max_u95_mm, 2 * fabs(moved->difference_mm) / sqrt(3), 1e-9);
    assert_true(seam->mean_u95_mm > 2 * 0.3 / sqrt(3));
    expect_near("left out, but shown", moved->mean_mm[2], fixture_seam(&photos[2], "A1-B1")->mean_mm, 1e-9);
    sw_inspection_free(&two);
    sw_inspection_free(&out);
    put_away(photos, 3);
}

static void another_table_is_refused(void **state)
{
    (void)state;
    sw_inspection photos[3];
    shoot(photos, 3, &FAIR);
    for (size_t i = 0; i < photos[2].seam_count; i++)
        fixture_widen(&photos[2].seams[i], i % 2 ? 0.5 : -0.4);
    refuse(photos, 3,
           (const char *const[]){"three.jpg (photo 3) does not show the same table as one.jpg (photo 1)",
                                 "was a tile moved?", NULL});
    cut_row(&photos[1]);
    refuse(photos, 2,
           (const char *const[]){"two.jpg (photo 2)", "3 by 2 tiles of 300 mm here, 3 by 3 of 300 mm there", NULL});
    photos[0].table.tile_mm = 298;
    refuse(photos, 3, (const char *const[]){"two.jpg (photo 2) does not show", "tiles of 300 mm here", NULL});
    put_away(photos, 3);
}

static void the_same_picture_twice_proves_nothing(void **state)
{
    (void)state;
    sw_inspection photos[3];
    shoot(photos, 2, &FAIR);
    fixture_shot(1, "copy.jpg", &FAIR, &photos[2]);
    refuse(photos, 3, (const char *const[]){"copy.jpg (photo 3) is the same picture as two.jpg (photo 2)", NULL});
    refuse(photos, 1, (const char *const[]){"two photos or more", NULL});
    put_away(photos, 3);
}

/* A card lay over a seam in the first photo only. */
static void another_photo_fills_what_one_did_not_see(void **state)
{
    (void)state;
    sw_inspection photos[2], out;
    shoot(photos, 2, &FAIR);
    sw_seam *open = fixture_seam(&photos[1], "A2-A3");
    for (size_t p = 0; p < open->station_count; p++)
        if (open->stations[p].state == SW_STATION_UNSEEN)
            open->stations[p] = (sw_station){open->stations[p].at_mm, 1.15, 0.1, SW_STATION_OK, 0.03};
    combine(photos, 2, &out);
    const sw_seam *seam = fixture_seam(&out, "A2-A3");
    for (size_t p = 0; p < seam->station_count; p++)
        assert_true(seam->stations[p].state != SW_STATION_UNSEEN);
    expect_near("filled", seam->stations[140].gap_mm, 1.15, 1e-9);
    expect_near("with one photo's u", seam->stations[140].u95_mm, 0.1, 1e-9);
    assert_true(warned(&out, "B2-B3: 100 % of the seam could not be seen"));
    assert_false(warned(&out, "A2-A3: "));
    sw_inspection_free(&out);
    put_away(photos, 2);
}

/* A chip counts when half of the photos or more show it; its stations stay out of the verdict then. */
static void chips_go_by_the_most(void **state)
{
    (void)state;
    for (int without = 0; without <= 2; without++) {
        sw_inspection photos[3], out;
        shoot(photos, 3, &FAIR);
        for (int k = 0; k < without; k++) {
            sw_seam *seam = fixture_seam(&photos[k], "B1-C1");
            seam->chip_count = 0;
            for (size_t p = 0; p < seam->station_count; p++)
                if (seam->stations[p].state == SW_STATION_CHIP) {
                    seam->stations[p].state = SW_STATION_OK;
                    seam->stations[p].gap_mm = seam->stations[190].gap_mm;
                }
        }
        combine(photos, 3, &out);
        const sw_seam *seam = fixture_seam(&out, "B1-C1");
        assert_int_equal(seam->chip_count, without < 2);
        assert_int_equal(seam->stations[209].state, without < 2 ? SW_STATION_CHIP : SW_STATION_OK);
        assert_true((seam->stations[209].gap_mm > 3) ==
                    (without < 2)); /* the chip's depth comes from those that show it */
        sw_inspection_free(&out);
        put_away(photos, 3);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(means_and_spreads_are_the_plain_ones),
        cmocka_unit_test(stations_and_verdicts_are_joined),
        cmocka_unit_test(photos_that_disagree_widen_the_uncertainty),
        cmocka_unit_test(four_quarter_turns_change_nothing),
        cmocka_unit_test(a_quarter_turn_by_hand),
        cmocka_unit_test(turned_photos_are_turned_back),
        cmocka_unit_test(notes_of_single_photos_are_gathered),
        cmocka_unit_test(a_moved_tile_is_told_and_not_averaged),
        cmocka_unit_test(another_table_is_refused),
        cmocka_unit_test(the_same_picture_twice_proves_nothing),
        cmocka_unit_test(another_photo_fills_what_one_did_not_see),
        cmocka_unit_test(chips_go_by_the_most),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
