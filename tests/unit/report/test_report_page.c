/* report.html: order, completeness, escapes, and that it needs nothing from outside. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "support/fixture.h"
#include "support/look.h"

/* Stands in for the overlay: the page embeds whatever bytes the file holds. */
static const unsigned char PICTURE[] = {0x89, 'P', 'N', 'G', 0, 255, 254, 1, 2, 3, '<', '"', 7};

typedef struct page {
    sw_inspection inspection;
    char folder[64], picture[128], path[128];
    char *text;
} page;

static void write_page(page *made)
{
    sw_error err = {""};
    free(made->text);
    if (sw_report_page(&made->inspection, made->picture, made->path, &err) != SW_OK)
        fail_msg("%s", err.text);
    made->text = fixture_read(made->folder, "report.html", NULL);
    assert_non_null(made->text);
}

static int set_up(void **state)
{
    page *made = calloc(1, sizeof *made);
    fixture_inspection(&made->inspection);
    fixture_folder(made->folder);
    snprintf(made->picture, sizeof made->picture, "%s/overlay.png", made->folder);
    snprintf(made->path, sizeof made->path, "%s/report.html", made->folder);
    FILE *file = fopen(made->picture, "wb");
    fwrite(PICTURE, 1, sizeof PICTURE, file);
    fclose(file);
    write_page(made);
    *state = made;
    return 0;
}

static int tear_down(void **state)
{
    page *made = *state;
    free(made->text);
    fixture_remove(made->folder);
    sw_inspection_free(&made->inspection);
    free(made);
    return 0;
}

static void verdict_first_then_one_next_step(void **state)
{
    const page *made = *state;
    static const char *const pieces[] = {
        "<!DOCTYPE html>",
        "<h1>Over: 4 of 12 seams are open by more than 0.50&nbsp;mm; the worst is B2-C2, "
        "3.16&nbsp;±&nbsp;0.06&nbsp;mm, "
        "294&nbsp;mm from its north end; 2 more are too close to call.</h1>",
        "Not seen: 34&nbsp;% of A2-A3, all of B2-B3.",
        "<h2>Next</h2>",
        "Push the tiles together and photograph, if this photo was not of pushed tiles; then begin with the worst "
        "seam: "
        "true up B2 east, 20 to 150&nbsp;mm from its north end: take off 0.62&nbsp;mm at most.",
        "FFP3 or P3 mask, eye protection",
        "move it &amp; take the photo again",
        "<h2>Seams, worst first</h2>",
        "<h2>Edges, most urgent first</h2>",
        "1. B2 east",
        "2. C3 west",
        "5. A3 east",
        "Leave as they are: A1 east, A2 east.",
        "<h2>Order of work</h2>",
        "<h2>The table from straight above</h2>",
        "<h2>Every seam against the limit</h2>",
        "<h2>Every tile&#39;s outline</h2>",
        "<h2>How the scale was set, and how well</h2>",
        "<h2 id=\"sure\">How sure is this?</h2>",
        "<h2>How to read the figures</h2>",
        "Before you sand or cut</h2>",
        NULL,
    };
    in_order(made->text, pieces);
    assert_int_equal(count(made->text, "class=\"deed\""), 1); /* one next step, not several */
}

static void seams_come_worst_first_each_with_its_plot(void **state)
{
    const page *made = *state;
    static const char *const order[] = {"id=\"seam-B2-C2\"",
                                        "id=\"seam-B3-C3\"",
                                        "id=\"seam-C1-C2\"",
                                        "id=\"seam-B1-C1\"",
                                        "id=\"seam-A3-B3\"",
                                        "id=\"seam-A1-A2\"",
                                        "id=\"seam-B2-B3\"",
                                        "id=\"seam-C2-C3\"",
                                        "id=\"seam-B1-B2\"",
                                        "id=\"seam-A1-B1\"",
                                        "id=\"seam-A2-A3\"",
                                        "id=\"seam-A2-B2\"",
                                        NULL};
    in_order(made->text, order);
    assert_int_equal(count(made->text, "<section class=\"card over\" id=\"seam-"), 4);
    assert_int_equal(count(made->text, "<section class=\"card close\" id=\"seam-"), 3);
    assert_int_equal(count(made->text, "<section class=\"card within\" id=\"seam-"), 5);
    assert_int_equal(count(made->text, "<svg class=\"plot\""), FIXTURE_SEAMS);
    assert_int_equal(count(made->text, "class=\"limit\""), FIXTURE_SEAMS);
    /* One line and one band for a seam seen whole; two for the half blind one; none for the blind one. */
    assert_int_equal(count(made->text, "class=\"gap\""), FIXTURE_SEAMS);
    assert_int_equal(count(made->text, "class=\"band\""), FIXTURE_SEAMS);
    assert_int_equal(count(made->text, "<svg class=\"outline\""), 9);
    assert_int_equal(count(made->text, "class=\"sand\""), 3); /* two edges to true up, one to bevel */
}

static void what_was_not_seen_is_told(void **state)
{
    const page *made = *state;
    assert_non_null(strstr(made->text, "<b>34 % of it was not seen.</b>"));
    assert_non_null(strstr(made->text, "<b>100 % of it was not seen.</b>"));
    assert_non_null(strstr(made->text, " B2-B3: not seen</h3>"));
    assert_int_equal(count(made->text, ">not seen</text>"), 2);
    assert_int_equal(count(made->text, ">chip</text>"), 1);
    assert_int_equal(count(made->text, "Chip in C1 west at 210&nbsp;mm: 14&nbsp;mm long, 2.4&nbsp;mm deep."), 1);
    assert_int_equal(count(made->text, "Chip in A1 west at 80&nbsp;mm: 9&nbsp;mm long, 1.5&nbsp;mm deep."), 1);
    assert_null(strstr(made->text, "nan"));
    assert_null(strstr(made->text, "inf "));
}

/* The widest place, by hand: the plot's frame runs from 40 to 404 across (300 mm) and from 162 up to 16, which is 1.15
 * times the highest place of the band; 294 mm lies at 40 + 364 * 0.98 = 396.7. */
static void the_ring_is_on_the_widest_place(void **state)
{
    const page *made = *state;
    const sw_seam *seam = &made->inspection.seams[FIXTURE_WIDEST];
    char expected[96];
    double y = 162 - 146 * seam->max_mm / (1.15 * (seam->max_mm + 0.06));
    snprintf(expected, sizeof expected, "<circle class=\"widest\" cx=\"396.7\" cy=\"%.1f\"", y);
    assert_non_null(strstr(made->text, expected));
}

static void names_are_escaped(void **state)
{
    page *made = *state;
    assert_non_null(strstr(made->text, "<title>Seams of valley &lt;north&gt; &amp; &quot;south&quot;.jpg</title>"));
    assert_null(strstr(made->text, "<north>"));
    snprintf(made->inspection.file, sizeof made->inspection.file, "</title><script>x('\xff\x01')</script>.jpg");
    snprintf(made->inspection.camera, sizeof made->inspection.camera, "<b>phone");
    snprintf(made->inspection.ranking[0].reason, sizeof made->inspection.ranking[0].reason, "proud by <0.3 mm & more");
    write_page(made);
    assert_null(strstr(made->text, "<script"));
    assert_null(strstr(made->text, "<b>phone"));
    assert_null(strstr(made->text, "\x01"));
    assert_non_null(strstr(made->text, "&lt;script&gt;x(&#39;\xEF\xBF\xBD&#39;)&lt;/script&gt;"));
    assert_non_null(strstr(made->text, "proud by &lt;0.3&nbsp;mm &amp; more"));
}

static int value_of(char c)
{
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    const char *found = c ? strchr(digits, c) : NULL;
    return found ? (int)(found - digits) : -1;
}

static void the_overlay_is_embedded_byte_for_byte(void **state)
{
    const page *made = *state;
    const char *from = strstr(made->text, "src=\"data:image/png;base64,");
    assert_non_null(from);
    from = strchr(from, ',') + 1;
    unsigned char bytes[64];
    size_t used = 0;
    unsigned bits = 0, held = 0;
    for (; value_of(*from) >= 0 && used < sizeof bytes; from++) {
        held = held << 6 | (unsigned)value_of(*from);
        if ((bits += 6) >= 8)
            bytes[used++] = (unsigned char)(held >> (bits -= 8));
    }
    assert_int_equal(used, sizeof PICTURE);
    assert_memory_equal(bytes, PICTURE, sizeof PICTURE);
}

static void nothing_comes_from_outside(void **state)
{
    const page *made = *state;
    assert_null(strstr(made->text, "http"));
    assert_null(strstr(made->text, "://"));
    assert_null(strstr(made->text, "<script"));
    assert_null(strstr(made->text, "<link"));
    assert_null(strstr(made->text, "@import"));
    assert_int_equal(count(made->text, "url("), count(made->text, "url(#hatch)"));
    assert_int_equal(count(made->text, "src="), 1);
    assert_non_null(strstr(made->text, "@media print"));
    assert_non_null(strstr(made->text, "name=\"viewport\""));
}

static int is_void(const char *name)
{
    return strcmp(name, "meta") == 0 || strcmp(name, "img") == 0 || strcmp(name, "br") == 0;
}

/* Every tag that is opened is closed, in turn. */
static void tags_are_balanced(void **state)
{
    const page *made = *state;
    char open[64][16];
    size_t depth = 0;
    const char *at = strstr(made->text, "<html");
    while ((at = strchr(at, '<'))) {
        int closes = at[1] == '/';
        char name[16] = "";
        sscanf(at + 1 + closes, "%15[a-z0-9]", name);
        const char *end = strchr(at, '>');
        assert_non_null(end);
        assert_true(isalpha((unsigned char)name[0]));
        if (closes) {
            assert_true(depth > 0);
            assert_string_equal(open[--depth], name);
        } else if (end[-1] != '/' && !is_void(name)) {
            assert_true(depth < 64);
            strcpy(open[depth++], name);
        }
        at = end;
    }
    assert_int_equal(depth, 0);
}

static void links_lead_somewhere(void **state)
{
    const page *made = *state;
    assert_int_equal(count(made->text, "<a href=\"#seam-"), FIXTURE_SEAMS + 5); /* all in the list, and five edges' */
    for (const char *at = made->text; (at = strstr(at, "href=\"#")); at++) {
        char name[48] = "", id[64];
        sscanf(at + 7, "%47[^\"]", name);
        snprintf(id, sizeof id, "id=\"%s\"", name);
        assert_int_equal(count(made->text, id), 1);
    }
}

/* Length of the bar that stands for a share: of 112, as the picture has it. */
static void has_bar(const char *from, const char *name, double share, const char *fill)
{
    char expected[160];
    const char *at = strstr(from, name);
    assert_non_null(at);
    at = strstr(at, "<rect class=\"part\"");
    assert_non_null(at);
    snprintf(expected, sizeof expected, "width=\"%.1f\" height=\"12\" fill=\"%s\"", 112 * share, fill);
    const char *found = strstr(at, expected);
    if (!found || found > strchr(at, '>'))
        fail_msg("the bar of %s is not %s but %.140s", name, expected, at);
}

static void every_figure_says_how_sure_it_is(void **state)
{
    page *made = *state;
    static const char *const pieces[] = {
        "pale ones in the photos of the lens profile",
        "<span class=\"why\">widest gap</span>: B2-C2, 294&nbsp;mm from its north end</h3>",
        "3.16 ± 0.06</span>&nbsp;mm</p>",
        ">what no model holds</text>",
        ">0.022</text>", /* 0.03 sqrt 0.545 */
        ">rough edges, patchy light</text>",
        ">noise of the photo</text>",
        ">all the rest</text>",
        ">&lt;1 %</text>",
        "What would make it surer:</b> A photo from nearer: this part is a fixed share of a pixel.</p>",
        "Not in the ±:</b>",
        "if one of the two tiles stood 0.5&nbsp;mm higher than the other. Nothing in the photo tells.</p>",
        "as a gap is short: cards, lens and slant of the view",
        "<span class=\"why\">mean gap</span>",
        "<span class=\"why\">corner angle</span>",
        ">the cards&#39; own size</text>",
        "A lens profile from more photos that fill the picture&#39;s corners.",
        "<span class=\"why\">edge length</span>",
        "<span class=\"why\">straightness</span>",
        "A sharper photo: from nearer, in more light, the phone held still.",
        "from few places (16 effective degrees of freedom)", /* 6 / 0.6^2 = 16.7 */
        NULL,
    };
    in_order(made->text, pieces);
    assert_int_equal(count(made->text, "<svg class=\"plot budget\""), SW_BUDGET_FIGURES);
    const char *gap = strstr(made->text, ">widest gap<"), *angle = strstr(made->text, ">corner angle<");
    has_bar(gap, ">what no model holds<", 0.545, "url(#hatch)");
    has_bar(gap, ">light in the gap<", 0.09, "#3d4a66");
    has_bar(angle, ">lens<", 0.5, "#9aa3b5");
    has_bar(angle, ">slant of the view<", 0.25, "#3d4a66");
    made->inspection.budget_count = 0;
    write_page(made);
    assert_null(strstr(made->text, "How sure is this?"));
}

static void when_all_is_well(void **state)
{
    page *made = *state;
    sw_inspection_free(&made->inspection);
    fixture_all_within(&made->inspection);
    write_page(made);
    static const char *const pieces[] = {
        "class=\"verdict within\"", "<h1>Within: all 12 seams are within 0.50&nbsp;mm;",
        "nothing to sand; leave the tiles as they are.", "No edge asks for anything.", NULL};
    in_order(made->text, pieces);
    assert_null(strstr(made->text, "class=\"mask\""));
    assert_null(strstr(made->text, "Not seen:"));
    assert_null(strstr(made->text, "class=\"mind\""));
}

static void one_square_and_an_estimated_lens_are_owned_up_to(void **state)
{
    page *made = *state;
    assert_non_null(strstr(made->text, "From a lens profile made of 8 photos, which it fits to 0.08 px."));
    made->inspection.scale.square_count = 1;
    made->inspection.scale.lens.source = SW_LENS_ESTIMATED;
    write_page(made);
    assert_non_null(strstr(made->text, "One square sets the scale well where it lies"));
    assert_non_null(strstr(made->text, "Estimated from this picture alone"));
}

static void without_an_overlay_there_is_a_page(void **state)
{
    page *made = *state;
    assert_int_equal(sw_report_page(&made->inspection, NULL, made->path, NULL), SW_OK);
    free(made->text);
    made->text = fixture_read(made->folder, "report.html", NULL);
    assert_null(strstr(made->text, "<img"));
}

static void failures_leave_no_page(void **state)
{
    page *made = *state;
    sw_error err = {""};
    unlink(made->path);
    assert_int_equal(sw_report_page(&made->inspection, "/no such folder/overlay.png", made->path, &err),
                     SW_CANNOT_READ);
    assert_non_null(strstr(err.text, "/no such folder/overlay.png: cannot be read"));
    assert_int_not_equal(access(made->path, F_OK), 0);
    assert_int_equal(sw_report_page(&made->inspection, made->picture, "/dev/full", &err), SW_CANNOT_WRITE);
}

/* Whatever the measuring stages could not tell: figures may be missing one by one, and all at once. */
static void forget_everything(sw_inspection *inspection)
{
    sw_seam *seams = inspection->seams;
    for (size_t i = 0; i < inspection->seam_count; i++) {
        seams[i].length_mm = seams[i].mean_mm = seams[i].min_mm = seams[i].max_mm = seams[i].max_at_mm = NAN;
        seams[i].mean_u95_mm = seams[i].max_u95_mm = seams[i].taper_mm = seams[i].taper_u95_mm =
            seams[i].corner_step_mm = NAN;
        for (size_t k = 0; k < seams[i].chip_count; k++)
            seams[i].chips[k].at_mm = seams[i].chips[k].length_mm = seams[i].chips[k].depth_mm = NAN;
    }
    for (size_t i = 0; i < inspection->tile_count; i++)
        for (int k = 0; k < 4; k++) {
            sw_edge *edge = &inspection->tiles[i].edges[k];
            inspection->tiles[i].corners[k].angle_deg = inspection->tiles[i].corners[k].u95_deg = NAN;
            edge->length_mm = edge->length_u95_mm = edge->straightness_mm = edge->straightness_u95_mm = edge->bow_mm =
                NAN;
            for (size_t n = 0; n < edge->point_count; n++)
                edge->points[n].proud_mm = NAN;
        }
    for (size_t i = 0; i < inspection->advice_count; i++) {
        sw_advice *advice = &inspection->ranking[i];
        advice->remove_mm = advice->from_mm = advice->to_mm = advice->worst_gap_mm = advice->u95_mm = NAN;
    }
    inspection->scale.px_per_mm = inspection->scale.residual_px = inspection->scale.blur_px = NAN;
    inspection->scale.edge_spread_px = inspection->scale.edge_spread_u_px = NAN;
}

static void only_uncertainties_missing(sw_inspection *inspection)
{
    for (size_t i = 0; i < inspection->seam_count; i++) {
        sw_seam *seam = &inspection->seams[i];
        seam->mean_u95_mm = seam->max_u95_mm = seam->taper_u95_mm = NAN;
        for (size_t k = 0; k < seam->station_count; k++)
            seam->stations[k].u95_mm = NAN;
    }
    for (size_t i = 0; i < inspection->tile_count; i++)
        for (int k = 0; k < 4; k++)
            inspection->tiles[i].corners[k].u95_deg = NAN;
    inspection->scale.edge_spread_u_px = NAN;
}

static void has_no_nan(const char *text)
{
    const char *found = strstr(text, "nan");
    if (found)
        fail_msg("...%.60s...", found > text + 30 ? found - 30 : text);
}

static void what_is_not_known_is_said_in_words(void **state)
{
    page *made = *state;
    void (*const ways[])(sw_inspection *) = {only_uncertainties_missing, forget_everything};
    for (int i = 0; i < 2; i++) {
        ways[i](&made->inspection);
        write_page(made);
        has_no_nan(made->text);
        char *text = sw_report_text(&made->inspection, "valley.seams");
        assert_non_null(text);
        has_no_nan(text);
        free(text);
    }
    tags_are_balanced(state);
}

static void an_empty_inspection_makes_a_page(void **state)
{
    page *made = *state;
    sw_inspection_free(&made->inspection);
    write_page(made);
    assert_non_null(strstr(made->text, "No seam: there is only one tile."));
    tags_are_balanced(state);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(verdict_first_then_one_next_step, set_up, tear_down),
        cmocka_unit_test_setup_teardown(seams_come_worst_first_each_with_its_plot, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_was_not_seen_is_told, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_ring_is_on_the_widest_place, set_up, tear_down),
        cmocka_unit_test_setup_teardown(names_are_escaped, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_overlay_is_embedded_byte_for_byte, set_up, tear_down),
        cmocka_unit_test_setup_teardown(nothing_comes_from_outside, set_up, tear_down),
        cmocka_unit_test_setup_teardown(tags_are_balanced, set_up, tear_down),
        cmocka_unit_test_setup_teardown(links_lead_somewhere, set_up, tear_down),
        cmocka_unit_test_setup_teardown(every_figure_says_how_sure_it_is, set_up, tear_down),
        cmocka_unit_test_setup_teardown(when_all_is_well, set_up, tear_down),
        cmocka_unit_test_setup_teardown(one_square_and_an_estimated_lens_are_owned_up_to, set_up, tear_down),
        cmocka_unit_test_setup_teardown(without_an_overlay_there_is_a_page, set_up, tear_down),
        cmocka_unit_test_setup_teardown(failures_leave_no_page, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_is_not_known_is_said_in_words, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_empty_inspection_makes_a_page, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
