/* Tiles of unequal height, drawn: a camera off to one side sees tops that stand 10 mm higher farther from its foot than
 * they are, with a strip of their side face where they are the far ones, and nothing of a narrow gap where they are the
 * near ones. Everything about the drawing is known; the geometry is that of a pinhole (intercept theorem): a point d
 * above the plane at distance r from the foot of a camera h high hides the point at r h / (h - d). */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "scale/frame.h"
#include "scale/plane.h"
#include "seamwright/seamwright.h"
#include "study/walls.h"
#include "support/draw.h"
#include "support/look.h"
#include "table/heights.h"

static const double DEGREE = 3.14159265358979323846 / 180;
static const double TILE = 200, STEP = 10, HIGH = 55, LOW = 45;
/* Foot and height of the camera over the lower tops: tangents of 0.12 to 0.16 across the seams. */
static const double CAMERA[3] = {80, 60, 520};
/* What the light leaves over of a gap, mm (0.3 px): how much of it is sky and how much was thrown back is not known beforehand. */
static const double LIGHT_MM = 0.07;
static const double DARK = 0.02, SHADED = 0.26;
/* What a wall in the open gets of an even sky with a little missing near the horizon, and what it throws back. */
#define SKY 0.47
#define ALBEDO 0.45

/* Where the camera sees a place `rise` above the plane. */
static sw_point seen(sw_point p, double rise)
{
    double k = CAMERA[2] / (CAMERA[2] - rise);
    return (sw_point){CAMERA[0] + k * (p.x - CAMERA[0]), CAMERA[1] + k * (p.y - CAMERA[1])};
}

static void box(drawing *d, sw_point middle, double side, double turn, double rise, double light)
{
    sw_point corner[4];
    const double sx[4] = {-1, 1, 1, -1}, sy[4] = {1, 1, -1, -1};
    for (int i = 0; i < 4; i++) {
        double u = sx[i] * side / 2, v = sy[i] * side / 2;
        corner[i] =
            seen((sw_point){middle.x + cos(turn) * u - sin(turn) * v, middle.y + sin(turn) * u + cos(turn) * v}, rise);
    }
    draw_polygon(d, corner, 4, light);
}

static sw_point middle_of(int tile, double gap)
{
    return (sw_point){(tile % 2 ? 0.5 : -0.5) * (TILE + gap), (tile / 2 ? -0.5 : 0.5) * (TILE + gap)};
}

static double lit_at(const walls *w, int side, double u)
{
    return walls_direct(w, side, u) + walls_passed(w, side, u);
}

/* A wall that stands free, `up` gaps above the lower top: half of the sky, that top (its light, share of an open one's) from a gap away on, and the slot's other wall as far
 * as it is in sight (light from an even plane between two slopes: half the difference of their sines). */
static double free_at(const walls *w, double lower_top, double up)
{
    const double fine = 0.05;
    double light = SKY + lower_top * ALBEDO / 2 * up / sqrt(1 + up * up);
    for (double u = fine / 2; u < 10; u += fine) {
        double z = u + up;
        light += ALBEDO * lit_at(w, WALLS_NEAR, u) * fine / 2 / pow(1 + z * z, 1.5);
    }
    return light;
}

/* What the free part of the higher wall has, about: half of the sky and half of what a lower top throws back. */
static double on_free(double lower_top)
{
    return SKY + lower_top * ALBEDO / 2;
}

/* A wall u gaps below the lower tops. The lower tile's sees past a top that stands `over` gaps higher, and that tile's free wall. */
static double below_at(const walls *w, double u, double over)
{
    double z = u + over;
    return walls_direct(w, WALLS_FAR, z) + walls_passed(w, WALLS_FAR, u) +
           ALBEDO * on_free(1) / 2 * (z / sqrt(1 + z * z) - u / sqrt(1 + u * u));
}

/* What is below the lower tops, deepest first: walls, which get less light the deeper they are below the top across the gap. */
static void draw_walls(drawing *d, const walls *w, double gap, const double rise[2][2])
{
    double highest = fmax(fmax(rise[0][0], rise[0][1]), fmax(rise[1][0], rise[1][1]));
    for (double u = 5; u > 0; u -= 0.1)
        for (int i = 0; i < 4; i++)
            box(d, middle_of(i, gap), TILE, 0, -u * gap,
                DRAW_TOP * below_at(w, u, rise[i / 2][i % 2] < highest ? highest / gap : 0));
}

/* A lower top: x mm before a wall STEP high it sees (1 - x / hypot(x, STEP)) / 2 less of the sky, and that wall instead; and it is
 * shaded along its inner sides, shade_mm wide. Drawn from these sides outwards. */
static void draw_lower_top(drawing *d, int tile, double gap, double shade_mm)
{
    const sw_point p = middle_of(tile, gap);
    const double sky = shade_mm > 0 ? SHADED / DRAW_TOP : 1;
    for (double x = 0; x < 6 * STEP; x += fmax(0.15, 0.05 * x)) {
        double y = (x + gap) / STEP, hidden = (1 - y / sqrt(1 + y * y)) / 2,
               light = (x < shade_mm ? SHADED : DRAW_TOP) - DRAW_TOP * sky * hidden * (2 * SKY - ALBEDO * on_free(sky));
        sw_point outer = {p.x + (tile % 2 ? 1 : -1) * x / 2, p.y + (tile / 2 ? -1 : 1) * x / 2};
        box(d, outer, TILE - x, 0, 0, light);
    }
}

/* 2x2 tiles, the gap between them everywhere the same; rise by [row][column]. The part of a wall that stands free is
 * lit by half of the sky and by the lower top, which fills the other half of what it sees. The lower tops are shaded along their inner sides, shade_mm wide. */
static void draw_tiles(drawing *d, double gap, double shade_mm, const double rise[2][2])
{
    static const double turns[] = {3, -5, 8, 0};
    draw_box(d, (sw_point){0, 0}, 2 * TILE + gap, 2 * TILE + gap, 0, DARK);
    static const sw_slot_light light = {{.wall = SKY, .tangent = 0.1, .near = 0.1, .albedo = ALBEDO, .penumbra = 0.3}};
    static const sw_slot_other other = {.slant = 1, .top_ratio = 1};
    walls w;
    walls_light(&light, &other, &w);
    bool uneven = rise[0][0] > 0 || rise[0][1] > 0 || rise[1][0] > 0 || rise[1][1] > 0;
    draw_walls(d, &w, gap, rise);
    for (int high = 0; high < 2; high++)
        for (int i = 0; i < 4; i++) {
            double here = rise[i / 2][i % 2];
            sw_point p = middle_of(i, gap);
            if ((here > 0) != high)
                continue;
            for (double z = here - STEP / 40; z >= 0; z -= STEP / 40) /* the walls: level slices, from the foot up */
                box(d, p, TILE, 0, here - z - STEP / 40,
                    DRAW_TOP * free_at(&w, shade_mm > 0 ? SHADED / DRAW_TOP : 1, (here - z) / gap));
            if (here > 0 || !uneven)
                box(d, p, TILE, 0, here, DRAW_TOP);
            else
                draw_lower_top(d, i, gap, shade_mm);
            box(d, p, 84, turns[i] * DEGREE, here, DRAW_WHITE);
            box(d, p, 60, turns[i] * DEGREE, here, DRAW_BLACK);
            box(d, p, 36, turns[i] * DEGREE, here, DRAW_WHITE);
        }
}

static void photograph(double gap, double shade_mm, const double rise[2][2], sw_photo *photo, sw_lens *lens)
{
    draw_view view = draw_from(2600, 2400, 2300, CAMERA, (sw_point){10, 5});
    drawing d = draw_start(&view, DRAW_FLOOR);
    draw_tiles(&d, gap, shade_mm, rise);
    *lens = draw_lens(&view);
    draw_blur(&d, 0.8);
    draw_develop(&d, &(draw_camera){.bits = 8, .noise = 0.004, .seed = 5}, photo);
    draw_free(&d);
}

static void inspect(const sw_photo *photo, const sw_options *options, sw_inspection *ins)
{
    sw_error err = {""};
    if (sw_inspect(photo, options, NULL, NULL, ins, &err))
        fail_msg("%s", err.text);
    assert_int_equal(ins->seam_count, 4);
}

static int warned(const sw_inspection *ins, const char *of)
{
    int count = 0;
    for (size_t i = 0; i < ins->notes.count; i++)
        count += strstr(ins->notes.list[i].text, of) != NULL;
    return count;
}

static double unseen(const sw_seam *s)
{
    double count = 0;
    for (size_t k = 0; k < s->station_count; k++)
        count += s->stations[k].state == SW_STATION_UNSEEN;
    return count / (double)s->station_count;
}

/* A1 and B2 are the high ones: the camera, north-east, has A1 behind B1's gap and B2 before A2's. */
static const double CORNERS_UP[2][2] = {{10, 0}, {0, 10}};
static const sw_tile_height NAMED[] = {{"A1", 55}, {"B2", 55}};
static const sw_reference CARD = {60, 60, 36, 36};
/* What the step does to a gap seen at tangent t: the far tile high widens it by STEP t, the near one narrows it. */
static const struct {
    const char *name;
    double widened;
} SEAMS[] = {{"A1-B1", 80.0 / 520}, {"A2-B2", -80.0 / 520}, {"B1-B2", 60.0 / 520}, {"A1-A2", -60.0 / 520}};

static void heights_given_the_gaps_are_right(void **state)
{
    (void)state;
    sw_photo photo;
    sw_lens lens;
    sw_inspection ins;
    photograph(3, 0, CORNERS_UP, &photo, &lens);
    inspect(&photo,
            &(sw_options){.reference = CARD, .lens = &lens, .height_mm = LOW, .heights = NAMED, .height_count = 2},
            &ins);
    for (int i = 0; i < 4; i++) {
        const sw_seam *s = seam_called(&ins, SEAMS[i].name);
        expect_near(s->name, s->mean_mm, 3, LIGHT_MM);
        expect_near(s->name, s->mean_mm, 3, s->mean_u95_mm);
        assert_true(s->mean_u95_mm < 0.2);
        assert_true(unseen(s) < 0.02);
    }
    for (int i = 0; i < 4; i++)
        for (int k = 0; k < 4; k++) {
            expect_near("length", ins.tiles[i].edges[k].length_mm, TILE, ins.tiles[i].edges[k].length_u95_mm);
            expect_near("length", ins.tiles[i].edges[k].length_mm, TILE, 2 * LIGHT_MM); /* both ends */
            expect_near("angle", ins.tiles[i].corners[k].angle_deg, 90, 0.03);
        }
    expect_near("tile", ins.table.tile_mm, TILE, 0.1);
    for (int i = 0; i < 4; i++) {
        const sw_tile *tile = &ins.tiles[i];
        expect_near("height", tile->height_mm, i == 0 || i == 3 ? STEP / 2 : -STEP / 2, 1e-9); /* from the median */
        expect_near("height's own", tile->height_u95_mm, 0.2, 1e-9);
        expect_near("rise", tile->rise_mm, i == 0 || i == 3 ? STEP : 0, 1e-9);
        assert_true(isnan(tile->tilt_deg) && isnan(tile->edges[0].rim_mm));
        const sw_seam *s = seam_called(&ins, SEAMS[i].name);
        expect_near(s->name, s->step_mm, i == 0 || i == 3 ? STEP : -STEP, 1e-9);
        expect_near(s->name, s->step_largest_mm, s->step_mm, 1e-9);
        expect_near(s->name, s->step_u95_mm, 0.2 * sqrt(2), 1e-9);
    }
    expect_near("height of the plane", ins.table.height_mm, LOW, 1e-9);
    assert_int_equal(warned(&ins, "higher"), 0);
    sw_inspection_free(&ins);
    sw_photo_free(&photo);
}

/* The frame's plane may as well be that of the higher tiles. */
static void either_level_may_be_the_usual_one(void **state)
{
    (void)state;
    sw_photo photo;
    sw_lens lens;
    sw_inspection ins;
    const sw_tile_height low[] = {{"B1", 45}, {"A2", 45}}, all[] = {{"A1", 55}, {"B1", 45}, {"A2", 45}, {"B2", 55}};
    const sw_options options[] = {{.reference = CARD, .height_mm = HIGH, .heights = low, .height_count = 2},
                                  {.reference = CARD, .heights = all, .height_count = 4},
                                  {.reference = CARD,
                                   .heights = NAMED,
                                   .height_count = 2,
                                   .height_mm = 45,
                                   .tile_mm = 200,
                                   .columns = 2,
                                   .rows = 2}};
    photograph(3, 0, CORNERS_UP, &photo, &lens);
    for (int k = 0; k < 3; k++) {
        sw_options o = options[k];
        o.lens = &lens;
        inspect(&photo, &o, &ins);
        for (int i = 0; i < 4; i++)
            expect_near(SEAMS[i].name, seam_called(&ins, SEAMS[i].name)->mean_mm, 3, LIGHT_MM);
        expect_near("length", ins.tiles[0].edges[0].length_mm, TILE, 2 * LIGHT_MM);
        expect_near("length", ins.tiles[1].edges[0].length_mm, TILE, 2 * LIGHT_MM);
        sw_inspection_free(&ins);
    }
    sw_photo_free(&photo);
}

/* A card on every tile: how high the tops stand comes out by itself, and with it the gaps. */
static void cards_tell_the_heights(void **state)
{
    (void)state;
    sw_photo photo;
    sw_lens lens;
    sw_inspection ins;
    photograph(3, 0, CORNERS_UP, &photo, &lens);
    inspect(&photo, &(sw_options){.reference = CARD, .lens = &lens, .height_mm = LOW}, &ins);
    for (int i = 0; i < 4; i++) {
        const sw_seam *s = seam_called(&ins, SEAMS[i].name);
        const sw_tile *tile = &ins.tiles[i];
        /* looser than with heights given by as much as 0.3 mm of step makes, seen at 0.16 */
        expect_near(s->name, s->mean_mm, 3, LIGHT_MM + 0.3 * 0.16);
        assert_true(fabs(s->mean_mm - 3) < s->mean_u95_mm + 0.01);
        expect_near("height", tile->height_mm, i == 0 || i == 3 ? STEP / 2 : -STEP / 2, 0.3);
        assert_true(tile->height_u95_mm < 1);
        assert_true(fabs(fabs(s->step_mm) - STEP) < s->step_u95_mm);
    }
    assert_int_equal(warned(&ins, "ruler"), 0);
    sw_inspection_free(&ins);
    sw_photo_free(&photo);
}

/* A gap of 1 mm lies wholly behind the near tile, which hides 1.2 and 1.5 mm; behind the far one it shows. */
static void a_gap_behind_the_higher_tile_is_not_seen(void **state)
{
    (void)state;
    sw_photo photo;
    sw_lens lens;
    sw_inspection ins;
    photograph(1, 0, CORNERS_UP, &photo, &lens);
    inspect(&photo,
            &(sw_options){.reference = CARD, .lens = &lens, .height_mm = LOW, .heights = NAMED, .height_count = 2},
            &ins);
    for (int i = 0; i < 4; i++) {
        const sw_seam *s = seam_called(&ins, SEAMS[i].name);
        if (SEAMS[i].widened > 0) {
            expect_near(s->name, s->mean_mm, 1, s->mean_u95_mm);
            expect_near(s->name, s->mean_mm, 1, 2 * LIGHT_MM);
            continue;
        }
        assert_true(unseen(s) > 0.95);
        assert_true(isnan(s->mean_mm) && isnan(s->max_mm));
        assert_int_equal(s->verdict, SW_TOO_CLOSE);
    }
    assert_int_equal(
        warned(&ins, "A2-B2: 100 % of the gap could not be seen. B2 stands 10 mm higher and hides gaps of up to 1."),
        1);
    assert_int_equal(warned(&ins, "photograph from A2's side"), 2); /* A1 hides A1-A2, B2 hides A2-B2 */
    sw_inspection_free(&ins);
    sw_photo_free(&photo);
}

/* 2 mm of gap, of which the near tile hides 1.2 and 1.5 mm, and behind it 6 mm of the lower top in the step's shade:
 * what is read there is the gap or nothing, never the shade. */
static void shade_behind_the_higher_tile_is_no_gap(void **state)
{
    (void)state;
    sw_photo photo;
    sw_lens lens;
    sw_inspection ins;
    int refused = 0;
    photograph(2, 6, CORNERS_UP, &photo, &lens);
    inspect(&photo,
            &(sw_options){.reference = CARD, .lens = &lens, .height_mm = LOW, .heights = NAMED, .height_count = 2},
            &ins);
    for (int i = 0; i < 4; i++) {
        const sw_seam *s = seam_called(&ins, SEAMS[i].name);
        refused += isnan(s->mean_mm);
        if (!isnan(s->mean_mm))
            expect_near(s->name, s->mean_mm, 2, LIGHT_MM);
        else
            assert_true(SEAMS[i].widened < 0);
    }
    assert_true(warned(&ins, "shades more") >= refused);
    sw_inspection_free(&ins);
    sw_photo_free(&photo);
}

/* Nothing known of the lens: squares on two levels tell the focal length, which the usual guess (0.72 of the width) has
 * wrong by a fifth. */
static void squares_on_two_levels_tell_the_focal_length(void **state)
{
    (void)state;
    sw_photo photo;
    sw_lens lens;
    sw_inspection ins;
    photograph(3, 0, CORNERS_UP, &photo, &lens);
    inspect(&photo, &(sw_options){.reference = CARD, .height_mm = LOW, .heights = NAMED, .height_count = 2}, &ins);
    assert_true(ins.scale.focal_u_rel > 0.0005 && ins.scale.focal_u_rel < 0.02);
    expect_near("focal length", ins.scale.lens.fx, lens.fx, 3 * ins.scale.focal_u_rel * lens.fx);
    for (int i = 0; i < 4; i++)
        expect_near(SEAMS[i].name, seam_called(&ins, SEAMS[i].name)->mean_mm, 3, LIGHT_MM);
    sw_inspection_free(&ins);
    sw_photo_free(&photo);
}

/* All tops 10 mm higher is no step. */
static void equal_heights_change_nothing(void **state)
{
    (void)state;
    static const double level[2][2] = {{0, 0}, {0, 0}};
    const sw_tile_height all[] = {{"A1", 55}, {"B1", 55}, {"A2", 55}, {"B2", 55}};
    sw_photo photo;
    sw_lens lens;
    sw_inspection plain, given;
    photograph(2, 0, level, &photo, &lens);
    inspect(&photo, &(sw_options){.reference = CARD, .lens = &lens}, &plain);
    inspect(&photo, &(sw_options){.reference = CARD, .lens = &lens, .heights = all, .height_count = 4}, &given);
    for (size_t i = 0; i < plain.seam_count; i++) {
        expect_near("gap", plain.seams[i].mean_mm, given.seams[i].mean_mm, 1e-12);
        expect_near("±", plain.seams[i].mean_u95_mm, given.seams[i].mean_u95_mm, 1e-12);
    }
    assert_int_equal(warned(&given, "ruler"), 0);
    sw_inspection_free(&plain);
    sw_inspection_free(&given);
    sw_photo_free(&photo);
}

static void lifting_a_scale_follows_the_sight_lines(void **state)
{
    (void)state;
    draw_view view = draw_from(2600, 2400, 2300, CAMERA, (sw_point){10, 5});
    sw_scale scale = {.lens = draw_lens(&view), .alternative_count = 1}, lifted;
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) /* normal plane = K^-1 px */
            scale.to_plane[i][k] =
                i < 2 ? (view.h[i][k] - (i ? scale.lens.cy : scale.lens.cx) * view.h[2][k]) / view.f_px : view.h[2][k];
    assert_int_equal(sw_invert3(scale.to_plane, scale.to_mm), 0);
    memcpy(scale.alternatives[0].to_plane, scale.to_plane, sizeof scale.to_plane);
    memcpy(scale.alternatives[0].to_mm, scale.to_mm, sizeof scale.to_mm);
    double camera[3];
    assert_int_equal(sw_camera_place(&scale, camera), 0);
    for (int i = 0; i < 3; i++)
        expect_near("camera", camera[i], CAMERA[i], 1e-6);
    for (double rise = -20; rise <= 20; rise += 10) {
        sw_point place = {-130, 170}, px = draw_px(&view, seen(place, rise));
        assert_int_equal(sw_scale_lift(&scale, &(sw_top){.rise_mm = rise}, &lifted), 0);
        sw_point back = sw_scale_to_mm(&lifted, px), there = sw_scale_to_px(&lifted, place);
        expect_near("x", back.x, place.x, 1e-6);
        expect_near("y", back.y, place.y, 1e-6);
        expect_near("px", there.x, px.x, 1e-6);
        expect_near("alternative", lifted.alternatives[0].to_mm[0][2], lifted.to_mm[0][2], 1e-12);
    }
    assert_int_equal(sw_scale_lift(&scale, &(sw_top){.rise_mm = 300}, &lifted), SW_BAD_INPUT);
    expect_near("left as it was", lifted.to_mm[0][2], scale.to_mm[0][2], 0);
}

static void refuse(const sw_tile_height *named, size_t count, double usual, const char *why)
{
    sw_heights got;
    sw_error err = {""};
    assert_int_equal(sw_heights_of("table.jpg", usual, named, count, 2, 2, &got, &err), SW_BAD_INPUT);
    if (!strstr(err.text, why) || strncmp(err.text, "table.jpg: ", 11) != 0)
        fail_msg("\"%s\" does not say \"%s\"", err.text, why);
    assert_true(got.plane_mm == 0 && !got.uneven);
}

static void heights_are_sorted_out(void **state)
{
    (void)state;
    sw_heights got;
    assert_int_equal(sw_heights_of("t", 0, NULL, 0, 2, 2, &got, NULL), SW_OK);
    assert_true(got.plane_mm == 0 && !got.uneven && !got.assumed && got.mm[1][1] == 0);
    assert_int_equal(sw_heights_of("t", 45, NULL, 0, 2, 2, &got, NULL), SW_OK);
    assert_true(got.plane_mm == 45 && !got.uneven && !got.assumed && got.mm[1][1] == 45 && !got.known[1][1]);
    assert_int_equal(sw_heights_of("t", 45, NAMED, 2, 2, 2, &got, NULL), SW_OK);
    assert_true(got.plane_mm == 45 && got.uneven && !got.assumed && got.mm[0][0] == 55 && got.mm[1][0] == 45 &&
                got.mm[1][1] == 55);
    const sw_tile_height two[] = {{"A1", 55}, {"B2", 45}};
    assert_int_equal(sw_heights_of("t", 0, two, 2, 2, 2, &got, NULL), SW_OK);
    assert_true(got.plane_mm == 45 && got.uneven && got.assumed == 2 && got.mm[0][1] == 45);
    refuse((sw_tile_height[]){{"C1", 55}}, 1, 45, "tile C1, but the table in the picture has 2 x 2 tiles, A1 to B2");
    refuse((sw_tile_height[]){{"A3", 55}}, 1, 45, "tile A3");
}

static void check(const sw_tile_height *named, size_t count, double usual, const char *why)
{
    sw_error err = {""};
    assert_int_equal(sw_heights_check(usual, named, count, &err), why ? SW_BAD_INPUT : SW_OK);
    if (why && !strstr(err.text, why))
        fail_msg("\"%s\" does not say \"%s\"", err.text, why);
}

static void heights_are_checked(void **state)
{
    (void)state;
    check(NULL, 0, 0, NULL);
    check(NULL, 0, 500, NULL);
    check(NULL, 0, 501, "from 0.5 to 500 mm");
    check(NULL, 0, -45, "from 0.5 to 500 mm");
    check(NULL, 0, NAN, "from 0.5 to 500 mm");
    check((sw_tile_height[]){{"A1", 55}, {"B1", 54}, {"A1", 54}}, 3, 45, "tile A1 is named twice");
    check((sw_tile_height[]){{"A1", 600}}, 1, 490, "from 0.5 to 500 mm");
    check((sw_tile_height[]){{"A1", NAN}}, 1, 45, "from 0.5 to 500 mm");
    check((sw_tile_height[]){{"A1", 80}}, 1, 45, "differ by 35 mm");
    check((sw_tile_height[]){{"A1", 80}, {"B1", 49}}, 2, 0, "differ by 31 mm");
    check((sw_tile_height[]){{"A1", 75}}, 1, 45, NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(heights_given_the_gaps_are_right),
        cmocka_unit_test(either_level_may_be_the_usual_one),
        cmocka_unit_test(cards_tell_the_heights),
        cmocka_unit_test(a_gap_behind_the_higher_tile_is_not_seen),
        cmocka_unit_test(shade_behind_the_higher_tile_is_no_gap),
        cmocka_unit_test(squares_on_two_levels_tell_the_focal_length),
        cmocka_unit_test(equal_heights_change_nothing),
        cmocka_unit_test(lifting_a_scale_follows_the_sight_lines),
        cmocka_unit_test(heights_are_sorted_out),
        cmocka_unit_test(heights_are_checked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
