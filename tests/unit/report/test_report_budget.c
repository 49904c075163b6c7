/* The budgets of an inspection: which figures, in what order, what is left out, and what would help. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "scale/plane.h"
#include "support/fixture.h"
#include "tile/budgets.h"

static int set_up(void **state)
{
    sw_inspection *ins = calloc(1, sizeof *ins);
    if (!ins)
        return -1;
    fixture_inspection(ins);
    *state = ins;
    return 0;
}

static int tear_down(void **state)
{
    sw_inspection_free(*state);
    free(*state);
    return 0;
}

static const sw_figure_budget *budget_of(const sw_inspection *ins, sw_budget_figure figure)
{
    for (size_t i = 0; i < ins->budget_count; i++)
        if (ins->budgets[i].figure == figure)
            return &ins->budgets[i];
    fail_msg("no budget of the %s", sw_budget_figure_name(figure));
    return NULL;
}

static const sw_budget_line *line_of(const sw_figure_budget *b, sw_part part)
{
    for (size_t i = 0; i < b->line_count; i++)
        if (b->lines[i].part == part)
            return &b->lines[i];
    fail_msg("no line for %s", sw_part_name(part));
    return NULL;
}

/* Every line of every budget; they add up to the figure as stated. */
static void lines_add_up(void **state)
{
    const sw_inspection *ins = *state;
    assert_int_equal(ins->budget_count, SW_BUDGET_FIGURES);
    for (size_t i = 0; i < ins->budget_count; i++) {
        const sw_figure_budget *b = &ins->budgets[i];
        double squares = 0, shares = 0;
        for (size_t k = 0; k < b->line_count; k++) {
            const sw_budget_line *l = &b->lines[k];
            squares += l->u * l->u;
            shares += l->share;
            assert_true(l->included ? l->u > 0 && l->left_out == 0 && !l->note[0] : l->u == 0 && l->note[0]);
            if (k > 0 && l->included)
                assert_true(b->lines[k - 1].included && b->lines[k - 1].u >= l->u);
            for (size_t n = 0; n < k; n++)
                assert_int_not_equal(b->lines[n].part, l->part);
        }
        expect_digits("2 times the root sum of squares", 2 * sqrt(squares), b->u95, 13);
        expect_digits("shares", shares, 1, 13);
        assert_false(line_of(b, SW_PART_HEIGHT)->included);
    }
}

/* The worst and the middle ones, found another way. */
static void the_right_figures(void **state)
{
    sw_inspection *ins = *state;
    double worst_angle = 0, worst_straight = 0;
    for (int i = 0; i < 36; i++) {
        const sw_tile *t = &ins->tiles[i / 4];
        ins->tiles[i / 4].edges[i % 4].length_u95_mm = 0.01 * (1 + (i * 7) % 36); /* all different */
        worst_angle = fmax(worst_angle, fabs(t->corners[i % 4].angle_deg - 90));
        worst_straight = fmax(worst_straight, t->edges[i % 4].straightness_mm);
    }
    sw_budgets_make(ins);
    assert_string_equal(budget_of(ins, SW_BUDGET_GAP)->where, "B2-C2, 294 mm from its north end");
    expect_near("angle", fabs(budget_of(ins, SW_BUDGET_ANGLE)->value - 90), worst_angle, 0);
    expect_near("straightness", budget_of(ins, SW_BUDGET_STRAIGHTNESS)->value, worst_straight, 0);
    expect_near("the 18th of 36", budget_of(ins, SW_BUDGET_LENGTH)->u95, 0.18, 1e-12);
    /* u95 of the eleven seen seams' means: seven times 0.025, 0.03 three times, 0.035, 0.04: the sixth is 0.025. */
    expect_near("mean gap", budget_of(ins, SW_BUDGET_MEAN)->u95, 0.025, 1e-12);
}

/* Nothing measured, nothing known of the parts: no budget rather than a made-up one. */
static void not_measured_no_budget(void **state)
{
    sw_inspection *ins = *state;
    for (size_t i = 0; i < ins->seam_count; i++) {
        ins->seams[i].max_mm = NAN;
        ins->seams[i].mean_parts = (sw_parts){{0}, 0};
    }
    sw_budgets_make(ins);
    assert_int_equal(ins->budget_count, 3);
    assert_int_equal(ins->budgets[0].figure, SW_BUDGET_ANGLE);
    for (size_t i = 0; i < ins->tile_count; i++)
        for (int k = 0; k < 4; k++) {
            ins->tiles[i].corners[k].u95_deg = NAN;
            ins->tiles[i].edges[k].length_mm = ins->tiles[i].edges[k].straightness_mm = NAN;
        }
    sw_budgets_make(ins);
    assert_int_equal(ins->budget_count, 0);
}

/* A camera straight above a place, 1000 mm up. */
static void look_from(sw_inspection *ins, double x, double y)
{
    const double plane[3][3] = {{1e-3, 0, -1e-3 * x}, {0, -1e-3, 1e-3 * y}, {0, 0, 1}};
    memcpy(ins->scale.to_plane, plane, sizeof plane);
    assert_int_equal(sw_invert3(plane, ins->scale.to_mm), 0);
    sw_budgets_make(ins);
}

/* Project's method: half a millimetre of height seen 20 degrees off the vertical moves a rim by 0.18 mm. Only the way
 * across the seam counts. */
static void what_half_a_millimetre_would_do(void **state)
{
    sw_inspection *ins = *state;
    const sw_seam *widest = &ins->seams[FIXTURE_WIDEST]; /* upright */
    double tan20 = tan(20 * M_PI / 180);
    look_from(ins, widest->start_mm.x - 1000 * tan20, 12345);
    const sw_budget_line *height = line_of(budget_of(ins, SW_BUDGET_GAP), SW_PART_HEIGHT);
    expect_near("20 degrees off", height->left_out, 0.18, 0.005);
    expect_near("the same", height->left_out, 0.5 * tan20, 1e-9);
    look_from(ins, widest->start_mm.x, 0);
    expect_near("straight above", line_of(budget_of(ins, SW_BUDGET_GAP), SW_PART_HEIGHT)->left_out, 0, 1e-9);
    /* Seen from 999.5 mm instead of 1000 a length seems longer by as much. */
    const sw_figure_budget *length = budget_of(ins, SW_BUDGET_LENGTH);
    expect_near("a tile that stands higher", line_of(length, SW_PART_HEIGHT)->left_out, length->value * 5e-4, 1e-9);
}

/* The corner on the camera's far side, along one edge: lifted, it goes out along that edge by 0.5 d / h; seen from the
 * other corner of the tile the angle opens or closes by that over the edge's length. By hand for a corner straight
 * east. */
static void a_lifted_corner(void **state)
{
    sw_inspection *ins = *state;
    for (int i = 1; i < 36; i++)
        ins->tiles[i / 4].corners[i % 4].angle_deg = 90;
    ins->tiles[0].corners[SW_NW].angle_deg = 91; /* the worst */
    sw_point nw = ins->tiles[0].corners[SW_NW].mm;
    look_from(ins, nw.x + 400, nw.y); /* it moves west by 0.5 * 400 / 1000 = 0.2 mm, over 300 mm of the west side */
    const sw_figure_budget *b = budget_of(ins, SW_BUDGET_ANGLE);
    assert_string_equal(b->where, "A1 NW");
    expect_near("angle", line_of(b, SW_PART_HEIGHT)->left_out, atan(0.2 / 300) * 180 / M_PI, 1e-6);
}

/* What the scale would add to a gap: its share of what it adds to anything, as a gap of 3 mm is 1 % of 300 mm. */
static void what_a_gap_leaves_out(void **state)
{
    sw_inspection *ins = *state;
    const sw_seam *widest = &ins->seams[FIXTURE_WIDEST];
    sw_scale *s = &ins->scale;
    s->reference_u_rel = 5e-4;
    s->thickness_u_rel = 3e-4;
    s->alternative_count = 1;
    s->alternatives[0] =
        (sw_scale_alternative){.lens = {s->lens.fx, s->lens.fy, s->lens.cx, s->lens.cy, s->lens.k1, s->lens.k2}};
    for (int k = 0; k < 4; k++)
        s->squares[0].corners_px[k] = (sw_point){700 + 100 * (k == 1 || k == 2), 500 + 100 * (k > 1)};
    look_from(ins, 301, -301);
    for (int k = 0; k < 9; k++)
        s->alternatives[0].to_plane[k / 3][k % 3] = s->to_plane[k / 3][k % 3] * (k % 3 < 2 ? 1 / 1.002 : 1);
    assert_int_equal(sw_invert3(s->alternatives[0].to_plane, s->alternatives[0].to_mm), 0);
    sw_budgets_make(ins);
    const sw_figure_budget *b = budget_of(ins, SW_BUDGET_GAP);
    expect_near("card size", line_of(b, SW_PART_SIZE)->left_out, 4e-4 * widest->max_mm, 1e-12);
    expect_near("card thickness", line_of(b, SW_PART_THICKNESS)->left_out, 3e-4 * widest->max_mm, 1e-12);
    expect_near("2 per mille of size", line_of(b, SW_PART_FIT)->left_out, 2e-3 * widest->max_mm, 1e-7);
    expect_near("lens", line_of(b, SW_PART_LENS)->left_out, 0, 1e-12);
    expect_near("perspective", line_of(b, SW_PART_PERSPECTIVE)->left_out, 0, 1e-9);
}

/* A part that is in the ± is not said to be left out, too. */
static void height_once_it_counts(void **state)
{
    sw_inspection *ins = *state;
    ins->seams[FIXTURE_WIDEST].max_parts.u[SW_PART_HEIGHT] = 0.5;
    sw_budgets_make(ins);
    const sw_figure_budget *b = budget_of(ins, SW_BUDGET_GAP);
    assert_int_equal(b->lines[0].part, SW_PART_HEIGHT);
    assert_true(b->lines[0].included && b->lines[0].share > 0.99);
    for (size_t i = 1; i < b->line_count; i++)
        assert_int_not_equal(b->lines[i].part, SW_PART_HEIGHT);
    assert_non_null(strstr(b->next, "straightedge"));
}

/* Welch and Satterthwaite by hand: u^4 / (random^4 / v). */
static void degrees_of_freedom(void **state)
{
    sw_inspection *ins = *state;
    expect_near("gap: 6 / 0.36^2", budget_of(ins, SW_BUDGET_GAP)->degrees_of_freedom, 6 / (0.36 * 0.36), 1e-9);
    expect_near("straightness: 6 / 0.6^2", budget_of(ins, SW_BUDGET_STRAIGHTNESS)->degrees_of_freedom, 6 / 0.36, 1e-9);
    assert_true(isinf(budget_of(ins, SW_BUDGET_ANGLE)->degrees_of_freedom)); /* 6 / 0.04^2 = 3750: beyond use */
    ins->seams[FIXTURE_WIDEST].max_parts.degrees_of_freedom = 0;
    sw_budgets_make(ins);
    assert_true(isnan(budget_of(ins, SW_BUDGET_GAP)->degrees_of_freedom));
}

static void next_steps(void **state)
{
    sw_inspection *ins = *state;
    sw_scale *s = &ins->scale;
    const char *(*next)(const sw_scale *, sw_part, sw_budget_figure) = sw_budget_remedy;
    assert_non_null(strstr(next(s, SW_PART_LENS, SW_BUDGET_ANGLE), "more photos"));
    s->lens.source = SW_LENS_ESTIMATED;
    assert_non_null(strstr(next(s, SW_PART_LENS, SW_BUDGET_ANGLE), "seamwright lens"));
    assert_int_equal(sw_budget_kind(s, SW_PART_LENS), SW_SEEN);
    assert_null(strstr(next(s, SW_PART_PERSPECTIVE, SW_BUDGET_ANGLE), "Four cards"));
    s->square_count = 1;
    assert_non_null(strstr(next(s, SW_PART_PERSPECTIVE, SW_BUDGET_ANGLE), "Four cards instead of one"));
    s->square_count = 2;
    assert_non_null(strstr(next(s, SW_PART_FIT, SW_BUDGET_LENGTH), "Four cards, one near each"));
    assert_int_equal(sw_budget_kind(s, SW_PART_SPREAD), SW_SEEN);
    s->reference.inner_x_mm = s->reference.inner_y_mm = 0;
    assert_int_equal(sw_budget_kind(s, SW_PART_SPREAD), SW_ASSUMED);
    assert_non_null(strstr(next(s, SW_PART_SPREAD, SW_BUDGET_LENGTH), "Frame cards"));
    for (int part = 0; part < SW_PART_COUNT; part++)
        for (int figure = 0; figure < SW_BUDGET_FIGURES; figure++) {
            const char *text = next(s, (sw_part)part, (sw_budget_figure)figure);
            assert_true(strlen(text) > 20 && strlen(text) < sizeof ins->budgets[0].next);
            assert_true(text[strlen(text) - 1] == '.');
        }
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(lines_add_up),
        TEST(the_right_figures),
        TEST(not_measured_no_budget),
        TEST(what_half_a_millimetre_would_do),
        TEST(a_lifted_corner),
        TEST(what_a_gap_leaves_out),
        TEST(height_once_it_counts),
        TEST(degrees_of_freedom),
        TEST(next_steps),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
