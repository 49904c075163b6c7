/* A table of foam as it was in the shop (samples/gravel-bank-1 and -2: tops 0 to 10 mm apart, seen from the west and from the east),
 * against its truth: two photos settle heights and gaps; one says that it does not, and why. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "golden/photo_score.h"
#include "seamwright/inspect.h"

static const char *const NAMES[] = {"gravel-bank-1", "gravel-bank-2"};
enum { PHOTOS = sizeof NAMES / sizeof *NAMES };

static sw_status load(void *context, int which, sw_photo *photo, sw_error *err)
{
    char path[4096];
    const int *orientations = context; /* with which each photo is shown */
    snprintf(path, sizeof path, "%s/%s.jpg", SW_SAMPLES, NAMES[which]);
    sw_status status = sw_photo_load(path, photo, err);
    if (!status)
        photo->orientation = orientations[which];
    return status;
}

static const sw_note *note_of(const sw_inspection *ins, sw_note_kind kind)
{
    for (size_t i = 0; i < ins->notes.count; i++)
        if (ins->notes.list[i].kind == kind)
            return &ins->notes.list[i];
    return NULL;
}

/* Two photos a step apart tell heights to 0.15 mm, and gaps to what is accepted of any photo. B1-B2 is hidden from both places, and said
 * to be. The second photo is shown turned by a quarter (tests/cli/inspect_tops.sh has them both upright). */
static void two_photos(void **state)
{
    (void)state;
    int orientations[PHOTOS] = {1, 6};
    sw_inspection ins;
    sw_error err = {""};
    score got;
    if (sw_inspect_several(PHOTOS, load, orientations, NULL, NULL, NULL, &ins, NULL, &err))
        fail_msg("%s", err.text);
    assert_int_equal(score_inspection(&ins, SW_SAMPLES "/gravel-bank-1.truth.json", &got), 0);
    print_message("  heights rms %.3f, held %.2f; gaps rms %.4f, bias %+.4f, held %.3f, measured %.3f\n",
                  got.height_mm.rms, got.height_mm.covered, got.gap.rms, got.gap.bias, got.gap.covered, got.measured);
    assert_int_equal(got.height_mm.n, 6);
    assert_true(got.height_mm.rms < 0.15);
    assert_true(got.height_mm.covered == 1);
    for (size_t i = 0; i < ins.tile_count; i++)
        assert_true(ins.tiles[i].height_u95_mm < 0.6);
    expect_within("two photos", &got,
                  &(bounds){.gap_rms_mm = 0.06, .gap_bias_mm = 0.03, .measured = 0.8, .covered_least = 0.9});
    assert_int_equal(got.wrong_verdicts, 0);
    assert_null(note_of(&ins, SW_NOTE_HEIGHTS_UNKNOWN));
    sw_inspection_free(&ins);
}

/* Its cards tell that the tops are not level; of B1 and B2, which have none, nothing is known. */
static void one_photo_knows_what_it_does_not_know(void **state)
{
    (void)state;
    sw_inspection ins;
    score got;
    inspect_photo(SW_SAMPLES, NAMES[0], NULL, &ins, &got);
    const sw_note *level = note_of(&ins, SW_NOTE_TOPS_NOT_LEVEL), *unknown = note_of(&ins, SW_NOTE_HEIGHTS_UNKNOWN);
    assert_non_null(level);
    assert_non_null(unknown);
    /* The photo was taken from the west. */
    if (!strstr(unknown->text, "from the east side") || !strstr(unknown->text, "B1, B2"))
        fail_msg("%s", unknown->text);
    assert_int_equal(got.height_mm.n, 4);
    assert_true(got.height_mm.covered == 1);
    assert_int_equal(got.wrong_verdicts, 0);
    sw_inspection_free(&ins);
}

/* Level tables are not called uneven; where each tile has a card nothing of heights is open either. */
static void level_tables(void **state)
{
    static const struct {
        const char *name;
        sw_reference card;
        bool card_on_every_tile;
    } LEVEL[] = {{"valley-north", {100, 100, 60, 60}, false}, {"ferry-1", {80, 80, 48, 48}, true}};
    (void)state;
    for (size_t i = 0; i < sizeof LEVEL / sizeof *LEVEL; i++) {
        sw_inspection ins;
        score got;
        inspect_photo(SW_SAMPLES, LEVEL[i].name, &(sw_options){.reference = LEVEL[i].card}, &ins, &got);
        assert_null(note_of(&ins, SW_NOTE_TOPS_NOT_LEVEL));
        assert_true(!LEVEL[i].card_on_every_tile || !note_of(&ins, SW_NOTE_HEIGHTS_UNKNOWN));
        assert_int_equal(got.wrong_verdicts, 0);
        for (size_t t = 0; t < ins.tile_count; t++)
            assert_true(!(fabs(ins.tiles[t].height_mm) > 0)); /* level where told */
        sw_inspection_free(&ins);
    }
}

static double widest_u95(const sw_tile_height *named, size_t count, double usual_mm)
{
    sw_inspection ins;
    score got;
    double most = 0;
    inspect_photo(SW_SAMPLES, "river-bend",
                  &(sw_options){.heights = named, .height_count = count, .height_mm = usual_mm}, &ins, &got);
    for (size_t i = 0; i < ins.seam_count;
         i++) { /* without what is uncertain of hidden parts, which heights do not change */
        const double *u = ins.seams[i].mean_parts.u;
        double hidden = 2 * u[SW_PART_HIDDEN], all = ins.seams[i].mean_u95_mm;
        most = fmax(most, sqrt(fmax(0, all * all - hidden * hidden)));
    }
    sw_inspection_free(&ins);
    return most;
}

/* One card tells no heights. To name one tile's says nothing of the others; to name it beside the usual height says that all were
 * measured. */
static void who_names_one_tile_has_not_named_all(void **state)
{
    (void)state;
    const sw_tile_height one[] = {{"A1", 45}};
    double nothing = widest_u95(NULL, 0, 0), first = widest_u95(one, 1, 0), all = widest_u95(one, 1, 45);
    assert_true(first > 0.99 * nothing);
    assert_true(all < 0.5 * nothing);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_photos),
        cmocka_unit_test(one_photo_knows_what_it_does_not_know),
        cmocka_unit_test(level_tables),
        cmocka_unit_test(who_names_one_tile_has_not_named_all),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
