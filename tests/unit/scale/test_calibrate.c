/* From photos of a checkerboard to a lens profile: how near to the true lens, and what is refused in which words. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <sys/stat.h>
#include <unistd.h>

#include "maths/lsq.h"
#include "scale/calibrate/calibrate.h"
#include "scale/calibrate/notes.h"
#include "support/board_make.h"

enum { PHOTOS = 8, EXTRA = 6 };

static const board_scene SCENE = {
    .lens = {.width_px = 640,
             .height_px = 480,
             .fx = 400,
             .fy = 400,
             .cx = 324,
             .cy = 236,
             .k1 = -0.21,
             .k2 = 0.06,
             .p1 = 0.0008,
             .p2 = -0.0006,
             .k3 = -0.005},
    .board = {10, 7, 25},
    .stretch = 1,
    .blur_px = 0.7,
    .noise = 1,
};

/* Slants of 29 degrees to different sides, all over the frame; the first three differ enough by themselves. */
static board_pose pose_of(int i)
{
    static const double X[] = {-1, 1, 0, -1, 1, 0, -1, 1}, Y[] = {-1, -1, 0, 1, 1, -0.7, 0, 0};
    double z = 230 + 40 * (i % 3);
    return (board_pose){{0.5 * cos(2.4 * i), 0.5 * sin(2.4 * i), 0.3 * (i % 5 - 2)},
                        {0.3 * X[i] * z, 0.22 * Y[i] * z, z}};
}

static char folder[64], paths[PHOTOS + EXTRA][96];
static const char *list[PHOTOS + EXTRA];

static void make_photo(int at, const board_scene *scene, const board_pose *pose, const char *model, unsigned tenths)
{
    uint8_t *grey = board_render(scene, pose);
    assert_int_equal(board_save(paths[at], grey, scene->lens.width_px, scene->lens.height_px, model, tenths), 0);
    free(grey);
}

static int make_photos(void **state)
{
    (void)state;
    strcpy(folder, "/tmp/seamwright-calibrate-XXXXXX");
    if (!mkdtemp(folder))
        return -1;
    for (int i = 0; i < PHOTOS + EXTRA; i++) {
        snprintf(paths[i], sizeof paths[i], "%s/board%02d.png", folder, i);
        list[i] = paths[i];
    }
    for (int i = 0; i < PHOTOS; i++) {
        board_pose pose = pose_of(i);
        make_photo(i, &SCENE, &pose, "Camera One", 43);
    }
    return 0;
}

static int remove_photos(void **state)
{
    (void)state;
    for (int i = 0; i < PHOTOS + EXTRA; i++)
        unlink(paths[i]);
    return rmdir(folder);
}

/* ---- how near ---- */

enum { GRID = 21 };
typedef struct field {
    sw_point found[GRID * GRID], truth[GRID * GRID];
    double px;
} field;

static sw_status homography_miss(void *context, const double *h, double *residual, double *jacobian)
{
    const field *f = context;
    (void)jacobian;
    for (int i = 0; i < GRID * GRID; i++) {
        sw_point p = f->found[i];
        double w = h[6] * p.x + h[7] * p.y + 1;
        residual[2 * i] = f->px * ((h[0] * p.x + h[1] * p.y + h[2]) / w - f->truth[i].x);
        residual[2 * i + 1] = f->px * ((h[3] * p.x + h[4] * p.y + h[5]) / w - f->truth[i].y);
    }
    return SW_OK;
}

/* What a lens leaves of the true lens's distortion over the middle 80 % of the frame, after the best homography (which
 * a photo of a table takes out in any case): RMS and largest distance, px. */
static void field_miss(const sw_lens *found, const sw_lens *truth, double *rms, double *most)
{
    static field f;
    static double residual[2 * GRID * GRID];
    double h[8] = {1, 0, 0, 0, 1, 0, 0, 0}, sum = 0;
    f.px = truth->fx;
    for (int i = 0; i < GRID * GRID; i++) {
        sw_point px = {truth->width_px * (0.1 + 0.8 * (i % GRID) / (GRID - 1)),
                       truth->height_px * (0.1 + 0.8 * (i / GRID) / (GRID - 1))};
        f.found[i] = sw_lens_undistort(found, px);
        f.truth[i] = sw_lens_undistort(truth, px);
    }
    assert_true(sw_lsq_fit(homography_miss, &f, 2 * GRID * GRID, 8, true, 50, h, NULL, NULL) != SW_BAD_INPUT);
    homography_miss(&f, h, residual, NULL);
    *most = 0;
    for (int i = 0; i < GRID * GRID; i++) {
        double d = hypot(residual[2 * i], residual[2 * i + 1]);
        sum += d * d;
        *most = fmax(*most, d);
    }
    *rms = sqrt(sum / (GRID * GRID));
}

typedef struct calls {
    int count, next, wrong;
} calls;

static void watch(void *context, int done, int count)
{
    calls *c = context;
    c->wrong += done != c->next++ || count != c->count;
}

static void the_lens_is_found(void **state)
{
    (void)state;
    sw_lens lens;
    sw_notes notes;
    sw_error err = {{0}};
    calls seen = {.count = PHOTOS};
    double rms, most;
    assert_int_equal(sw_lens_calibrate(list, PHOTOS, SCENE.board, watch, &seen, &lens, &notes, &err), SW_OK);
    assert_int_equal(seen.next, PHOTOS);
    assert_int_equal(seen.wrong, 0);
    field_miss(&lens, &SCENE.lens, &rms, &most);
    assert_true(rms < 0.003 && most < 0.012);
    assert_true(fabs(lens.fx - 400) < 0.05 && lens.fy == lens.fx);
    assert_true(fabs(lens.fx - 400) < 5 * sqrt(lens.covariance[0][0]));
    assert_true(fabs(lens.k1 - -0.21) < 5 * sqrt(lens.covariance[4][4]) && fabs(lens.k1 - -0.21) < 0.001);
    assert_true(lens.residual_px > 0 && lens.residual_px < 0.02);
    assert_int_equal(lens.source, SW_LENS_PROFILE);
    assert_int_equal(lens.width_px, 640);
    assert_int_equal(lens.height_px, 480);
    assert_int_equal(lens.photos, PHOTOS);
    assert_true(lens.square_mm == 25);
    assert_true(lens.covered > 0.7 && lens.covered <= 1);
    assert_string_equal(lens.camera, "Camera One");
    assert_true(fabs(lens.focal_mm - 4.3) < 1e-9);
    assert_int_equal(notes.count, 0);
    sw_notes_free(&notes);
}

static void unusable_photos_are_left_out_and_named(void **state)
{
    (void)state;
    const char *mixed[] = {list[0], "/nowhere/missing.png", list[1], list[PHOTOS], list[2], list[3]};
    const board_pose away = {{0, 0, 0}, {900, 0, 250}};
    sw_lens lens;
    sw_notes notes;
    make_photo(PHOTOS, &SCENE, &away, "Camera One", 43);
    assert_int_equal(sw_lens_calibrate(mixed, 6, SCENE.board, NULL, NULL, &lens, &notes, NULL), SW_OK);
    assert_int_equal(lens.photos, 4);
    assert_true(notes.count >= 2);
    assert_non_null(strstr(notes.list[0].text, "missing.png"));
    assert_non_null(strstr(notes.list[1].text, "board08.png: no checkerboard found"));
    assert_int_equal(sw_lens_calibrate(list, 3, SCENE.board, NULL, NULL, &lens, NULL, NULL), SW_OK);
    sw_notes_free(&notes);
}

/* ---- what is refused ---- */

static void assert_refused(const char *const *photos, int count, sw_checkerboard board, const char *words)
{
    sw_lens lens, none;
    sw_notes notes;
    sw_error err = {{0}};
    memset(&none, 0, sizeof none);
    memset(&lens, 1, sizeof lens);
    assert_int_equal(sw_lens_calibrate(photos, count, board, NULL, NULL, &lens, &notes, &err), SW_BAD_INPUT);
    if (!strstr(err.text, words))
        fail_msg("\"%s\" does not say \"%s\"", err.text, words);
    assert_memory_equal(&lens, &none, sizeof lens);
    sw_notes_free(&notes);
}

static void too_few_are_refused_with_the_reasons(void **state)
{
    (void)state;
    const char *photos[] = {list[0], list[1], "/nowhere/missing.png"};
    assert_refused(list, 2, SCENE.board, "at least 3 photos of the checkerboard are needed, 2 given");
    assert_refused(photos, 3, SCENE.board,
                   "only 2 of the 3 photos can be used, and 3 are needed: /nowhere/missing.png: there is no such file");
    assert_refused(list, 3, (sw_checkerboard){8, 6, 25},
                   "board01.png: shows a board of at least 10 x 7 squares, not of 8 x 6");
}

static void requests_that_cannot_be_are_refused(void **state)
{
    (void)state;
    const char *many[101] = {NULL};
    assert_refused(many, 101, SCENE.board, "101 photos are more");
    assert_refused(list, 3, (sw_checkerboard){3, 7, 25}, "3 x 7 squares");
    assert_refused(list, 3, (sw_checkerboard){10, 61, 25}, "10 x 61 squares");
    assert_refused(list, 3, (sw_checkerboard){10, 7, 0}, "squares must be from 3 to 200 mm");
    assert_refused(list, 3, (sw_checkerboard){10, 7, NAN}, "squares must be from 3 to 200 mm");
}

static void other_cameras_are_refused(void **state)
{
    (void)state;
    const char *photos[] = {list[0], list[1], list[PHOTOS]};
    board_pose pose = pose_of(2);
    board_scene larger = SCENE;
    make_photo(PHOTOS, &SCENE, &pose, "Camera Two", 43);
    assert_refused(photos, 3, SCENE.board, "board08.png was taken with Camera Two, board00.png with Camera One");
    make_photo(PHOTOS, &SCENE, &pose, "Camera One", 60);
    assert_refused(photos, 3, SCENE.board, "board08.png was taken at 6 mm");
    larger.lens.width_px = 648;
    make_photo(PHOTOS, &larger, &pose, "Camera One", 43);
    assert_refused(photos, 3, SCENE.board, "board08.png has 648 x 480 pixels, board00.png has 640 x 480");
    make_photo(PHOTOS, &SCENE, &pose, NULL, 0); /* says nothing of its camera: taken on trust */
    sw_lens lens;
    assert_int_equal(sw_lens_calibrate(photos, 3, SCENE.board, NULL, NULL, &lens, NULL, NULL), SW_OK);
}

static void photos_too_alike_are_refused(void **state)
{
    (void)state;
    const char *same[] = {list[0], list[0], list[1], list[0]};
    const char *flat[EXTRA];
    assert_refused(same, 4, SCENE.board, "the 4 photos show the board in only 2 different positions");
    for (int i = 0; i < EXTRA; i++) {
        const board_pose pose = {{0, 0, 0.2 * i}, {30 * (i % 3 - 1), 25 * (i / 3) - 12, 260}};
        make_photo(PHOTOS + i, &SCENE, &pose, NULL, 0);
        flat[i] = list[PHOTOS + i];
    }
    assert_refused(flat, EXTRA, SCENE.board, "slant of 20 to 40 degrees");
}

/* ---- what is said ---- */

static void a_board_unlike_the_others_is_left_out(void **state)
{
    (void)state;
    const char *photos[] = {list[0], list[1], list[PHOTOS], list[2], list[3], list[4]};
    board_pose pose = pose_of(2);
    board_scene bent = SCENE;
    sw_lens lens;
    sw_notes notes;
    double rms, most;
    bent.curve = 3;
    make_photo(PHOTOS, &bent, &pose, NULL, 0);
    assert_int_equal(sw_lens_calibrate(photos, 6, SCENE.board, NULL, NULL, &lens, &notes, NULL), SW_OK);
    assert_int_equal(lens.photos, 5);
    assert_true(notes.count >= 1);
    assert_non_null(strstr(notes.list[0].text, "board08.png: its corners do not lie where the other photos put them"));
    field_miss(&lens, &SCENE.lens, &rms, &most);
    assert_true(rms < 0.02);
    sw_notes_free(&notes);
}

static void unevenly_scaled_photos_are_said(void **state)
{
    (void)state;
    board_scene scaled = SCENE;
    sw_lens lens;
    sw_notes notes;
    scaled.lens.fy = 1.01 * scaled.lens.fx;
    for (int i = 0; i < EXTRA; i++) {
        board_pose pose = pose_of(i);
        make_photo(PHOTOS + i, &scaled, &pose, NULL, 0);
    }
    assert_int_equal(sw_lens_calibrate(list + PHOTOS, EXTRA, SCENE.board, NULL, NULL, &lens, &notes, NULL), SW_OK);
    assert_true(fabs(lens.fy / lens.fx - 1.01) < 0.001);
    assert_true(notes.count >= 1);
    assert_non_null(strstr(notes.list[0].text, "1.0 % taller"));
    sw_notes_free(&notes);
}

/* Three faint slants in the noise: enough to go on, too little to be silent. */
static void a_poorly_known_focal_length_is_said(void **state)
{
    (void)state;
    board_scene noisy = SCENE;
    sw_lens lens;
    sw_notes notes;
    noisy.noise = 6;
    noisy.blur_px = 1.5;
    for (int i = 0; i < 4; i++) {
        const board_pose pose = {{0.09 * cos(2.4 * i), 0.09 * sin(2.4 * i), 0.2 * i},
                                 {60 * (i - 1.5), 20 * (i % 2), 330}};
        make_photo(PHOTOS + i, &noisy, &pose, NULL, 0);
    }
    assert_int_equal(sw_lens_calibrate(list + PHOTOS, 4, SCENE.board, NULL, NULL, &lens, &notes, NULL), SW_OK);
    assert_true(notes.count >= 1);
    assert_non_null(strstr(notes.list[0].text, "the focal length is known to"));
    assert_true(fabs(lens.fx - 400) < 4 * sqrt(lens.covariance[0][0]));
    sw_notes_free(&notes);
}

/* ---- parts of the frame ---- */

static void parts_never_covered_are_named_as_shown(void **state)
{
    (void)state;
    sw_sight sights[400];
    sw_view view = {.sights = sights, .count = 400};
    sw_notes notes = {0};
    for (int i = 0; i < 400; i++) /* everywhere but the sensor's right third */
        sights[i] = (sw_sight){.px = {5 + 20 * (i % 20), 7.5 + 15 * (i / 20)}};
    double covered;
    sw_photo frame = {.width_px = 640, .height_px = 300, .orientation = 1};
    assert_int_equal(sw_note_coverage(&view, 1, &frame, &notes, &covered), SW_OK);
    assert_true(fabs(covered - 2 / 3.0) < 0.05);
    assert_int_equal(notes.count, 1);
    assert_int_equal(notes.list[0].kind, SW_NOTE_FRAME_NOT_COVERED);
    assert_string_equal(notes.list[0].text,
                        "the upper right, the middle right and the lower right of the frame were never "
                        "covered: hold the board there too");
    sw_notes_free(&notes);
    frame.orientation = 6;
    assert_int_equal(sw_note_coverage(&view, 1, &frame, &notes, &covered),
                     SW_OK); /* orientation 6: the sensor's right side is the bottom as shown */
    assert_string_equal(notes.list[0].text,
                        "the lower left, the lower middle and the lower right of the frame were never "
                        "covered: hold the board there too");
    sw_notes_free(&notes);
    frame.orientation = 3;
    assert_int_equal(sw_note_coverage(&view, 1, &frame, &notes, &covered), SW_OK); /* orientation 3: upside down */
    assert_string_equal(notes.list[0].text,
                        "the upper left, the middle left and the lower left of the frame were never "
                        "covered: hold the board there too");
    for (int i = 0; i < 400; i++)
        sights[i].left_out = 1;
    assert_int_equal(sw_note_coverage(&view, 1, &frame, NULL, &covered), SW_OK);
    assert_true(covered == 0);
    sw_notes_free(&notes);
}

/* ---- the practice photos ---- */

/* They are not part of this source; they are looked for in the folder that SEAMWRIGHT_SHARED names, else in ../shared
 * beside the source folder. Truth: photos/README.md and the truth files there (f 2900, k1 -0.03 ...). */
static void practice_photos(void **state)
{
    (void)state;
    static char found[8][1024];
    const char *photos[8], *shared = getenv("SEAMWRIGHT_SHARED");
    struct stat about;
    for (int i = 0; i < 8; i++) {
        snprintf(found[i], sizeof found[i], "%s/photos/lens%02d.jpg",
                 shared && *shared ? shared : SW_TESTS "/../../shared", i + 1);
        photos[i] = found[i];
    }
    if (stat(found[0], &about)) {
        print_message("SKIPPED: no practice photos at %s (set SEAMWRIGHT_SHARED)\n", found[0]);
        skip();
    }
    const sw_lens truth = {.width_px = 4000,
                           .height_px = 3000,
                           .fx = 2900,
                           .fy = 2900,
                           .cx = 1999.5,
                           .cy = 1499.5,
                           .k1 = -0.03,
                           .k2 = 0.05,
                           .p1 = -0.0002,
                           .p2 = 0.0005,
                           .k3 = -0.02};
    sw_lens lens;
    sw_notes notes;
    sw_error err = {{0}};
    double rms, most;
    assert_int_equal(sw_lens_calibrate(photos, 8, (sw_checkerboard){10, 7, 25}, NULL, NULL, &lens, &notes, &err),
                     SW_OK);
    field_miss(&lens, &truth, &rms, &most);
    print_message("practice photos: residual %.4f px; distortion off by %.4f px RMS, %.4f px at most\n",
                  lens.residual_px, rms, most);
    assert_int_equal(lens.photos, 8);
    assert_true(lens.residual_px < 0.03);
    assert_true(fabs(lens.fx - 2900) < 0.5);
    assert_true(fabs(lens.k1 - -0.03) < 0.001);
    assert_true(rms < 0.003 && most < 0.02); /* without the second look 0.005 */
    sw_notes_free(&notes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_lens_is_found),
        cmocka_unit_test(unusable_photos_are_left_out_and_named),
        cmocka_unit_test(too_few_are_refused_with_the_reasons),
        cmocka_unit_test(requests_that_cannot_be_are_refused),
        cmocka_unit_test(other_cameras_are_refused),
        cmocka_unit_test(photos_too_alike_are_refused),
        cmocka_unit_test(a_board_unlike_the_others_is_left_out),
        cmocka_unit_test(unevenly_scaled_photos_are_said),
        cmocka_unit_test(a_poorly_known_focal_length_is_said),
        cmocka_unit_test(parts_never_covered_are_named_as_shown),
        cmocka_unit_test(practice_photos),
    };
    return cmocka_run_group_tests(tests, make_photos, remove_photos);
}
