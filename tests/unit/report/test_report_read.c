/* inspection.json read back: what we wrote, what a hand wrote, and what is damaged. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "inspection/notes.h"
#include "report/inspection/read.h"
#include "support/fixture.h"

static const char MINIMAL[] = SW_TESTS "/fuzz/corpus/inspection/minimal.json";

static void near(double value, double expected, double slack)
{
    if (!(fabs(value - expected) <= slack))
        fail_msg("%.9g, expected %.9g within %g", value, expected, slack);
}

static void read_well(const char *path, sw_inspection *inspection)
{
    sw_error err = {""};
    if (sw_inspection_read(path, inspection, &err) != SW_OK)
        fail_msg("%s", err.text);
}

static int is_zero(const sw_inspection *inspection)
{
    static const sw_inspection zero;
    return memcmp(inspection, &zero, sizeof zero) == 0;
}

static char *place(const char *folder, const char *name, char path[128])
{
    snprintf(path, 128, "%s/%s", folder, name);
    return path;
}

/* Writes it, reads it, writes it again; both texts for free(). */
static void there_and_back(const sw_inspection *inspection, char *text[2])
{
    char folder[64], path[128];
    sw_inspection again;
    sw_error err = {""};
    fixture_folder(folder);
    assert_int_equal(sw_report_json(inspection, place(folder, "a.json", path), &err), SW_OK);
    read_well(path, &again);
    assert_int_equal(sw_report_json(&again, place(folder, "b.json", path), &err), SW_OK);
    text[0] = fixture_read(folder, "a.json", NULL);
    text[1] = fixture_read(folder, "b.json", NULL);
    sw_inspection_free(&again);
    fixture_remove(folder);
}

static void without_budgets_it_comes_back_byte_by_byte(void **state)
{
    (void)state;
    sw_inspection inspection;
    char *text[2];
    fixture_inspection(&inspection);
    inspection.budget_count = 0;
    inspection.tiles[4].height_mm = 55;
    there_and_back(&inspection, text);
    assert_string_equal(text[0], text[1]);
    free(text[0]);
    free(text[1]);
    sw_inspection_free(&inspection);
}

static void with_budgets_all_else_comes_back(void **state)
{
    (void)state;
    sw_inspection inspection;
    char *text[2];
    fixture_inspection(&inspection);
    assert_true(inspection.budget_count > 0);
    there_and_back(&inspection, text);
    json_t *root[2];
    for (int k = 0; k < 2; k++) {
        root[k] = json_loads(text[k], 0, NULL);
        assert_int_equal(json_object_del(root[k], "budget"), 0);
        free(text[k]);
    }
    assert_true(json_equal(root[0], root[1]));
    json_decref(root[0]);
    json_decref(root[1]);
    sw_inspection_free(&inspection);
}

/* What json does not show directly: places of rims on the table, indices, enumerations. */
static void the_struct_comes_back(void **state)
{
    (void)state;
    char folder[64], path[128];
    sw_inspection made, got;
    sw_error err = {""};
    fixture_folder(folder);
    fixture_inspection(&made);
    assert_int_equal(sw_report_json(&made, place(folder, "a.json", path), &err), SW_OK);
    read_well(path, &got);
    assert_int_equal(got.tile_count, made.tile_count);
    for (size_t i = 0; i < made.tile_count; i++)
        for (int s = 0; s < 4; s++) {
            const sw_edge *a = &made.tiles[i].edges[s], *b = &got.tiles[i].edges[s];
            assert_int_equal(a->point_count, b->point_count);
            for (size_t k = 0; k < a->point_count; k++) {
                near(b->points[k].mm.x, a->points[k].mm.x, 2e-4);
                near(b->points[k].mm.y, a->points[k].mm.y, 2e-4);
                assert_int_equal(a->points[k].state, b->points[k].state);
            }
            near(a->length_parts.u[SW_PART_LENS] > 0, 1, 0);
            near(b->length_parts.u[SW_PART_LENS], 0, 0);
        }
    for (size_t i = 0; i < made.seam_count; i++) {
        assert_int_equal(got.seams[i].first, made.seams[i].first);
        assert_int_equal(got.seams[i].second, made.seams[i].second);
        assert_int_equal(got.seams[i].upright, made.seams[i].upright);
    }
    assert_int_equal(got.notes.count, 1);
    assert_true(sw_note_same(&got.notes.list[0], &made.notes.list[0]));
    assert_int_equal(got.ranking[0].action, SW_TRUE_UP);
    near(got.scale.reference.inner_y_mm, 60, 0);
    assert_int_equal(got.budget_count, 0);
    sw_inspection_free(&got);
    sw_inspection_free(&made);
    fixture_remove(folder);
}

static void by_hand_with_promised_fields_only(void **state)
{
    (void)state;
    sw_inspection got;
    read_well(MINIMAL, &got);
    assert_int_equal(got.tile_count, 2);
    assert_string_equal(got.tiles[0].name, "A1");
    assert_string_equal(got.tiles[1].name, "B1");
    assert_int_equal(got.tiles[1].column, 1);
    near(got.scale.reference.outer_x_mm, 99.6, 1e-12);
    near(got.scale.reference.outer_y_mm, 99.8, 1e-12);
    near(got.scale.reference.inner_x_mm, 60, 1e-12);
    assert_true(isnan(got.scale.residual_px));
    near(got.tiles[1].centre_mm.x, 451.2, 1e-9);
    near(got.tiles[1].centre_mm.y, -150, 1e-9);
    near(got.tiles[1].side_mm, 300, 1e-9);
    near(got.tiles[1].turn_rad, 0, 1e-12);
    const sw_edge *west = &got.tiles[1].edges[SW_WEST];
    assert_int_equal(west->points[1].state, SW_STATION_UNSEEN);
    assert_int_equal(west->points[2].state, SW_STATION_OK);
    near(west->points[2].mm.x, 301.6, 1e-9);
    near(west->points[2].mm.y, -150, 1e-9);
    near(west->seen, 0.75, 1e-12);
    assert_true(isnan(got.tiles[1].edges[SW_SOUTH].bow_mm));
    const sw_seam *seam = &got.seams[0];
    assert_int_equal(seam->upright, 1);
    assert_int_equal(seam->second, 1);
    near(seam->start_mm.x, 300.6, 1e-9);
    near(seam->end_mm.y, -300, 1e-9);
    assert_true(isnan(seam->step_mm) && isnan(seam->step_u95_mm) && isnan(seam->step_largest_mm));
    assert_true(isnan(got.tiles[0].height_mm) && isnan(got.tiles[0].height_u95_mm) && isnan(got.tiles[0].tilt_deg));
    assert_true(isnan(west->rim_mm) && isnan(west->rim_u95_mm) && got.lippage_mm == 0 && got.top_count == 0);
    assert_int_equal(seam->stations[1].state, SW_STATION_UNSEEN);
    assert_int_equal(seam->chips[0].tile, 1);
    assert_int_equal(got.ranking[0].seam, 0);
    near(got.step_mm, 74.5, 1e-9);
    sw_inspection_free(&got);
}

/* A tile of known best square, turned, with known proud edges: corners where the proud rims' ends lie. */
static void best_square_is_found_from_corners(void **state)
{
    (void)state;
    const double turn = 0.013, side = 299.4, x = 777, y = -333;
    /* proud at the north or west end and at the other, by side */
    const double proud[4][2] = {{0.3, -0.1}, {0.2, 0.25}, {-0.4, 0.1}, {0.05, -0.15}};
    sw_tile tile = {.name = "A1"};
    sw_rim_point points[4][2];
    /* proud of the two sides that meet at a corner: side before it, side after it, and which end of each */
    const int meets[4][4] = {
        {SW_WEST, 0, SW_NORTH, 0}, {SW_NORTH, 1, SW_EAST, 0}, {SW_EAST, 1, SW_SOUTH, 1}, {SW_SOUTH, 0, SW_WEST, 1}};
    for (int s = 0; s < 4; s++) {
        for (int k = 0; k < 2; k++)
            points[s][k] = (sw_rim_point){.at_mm = k * side, .proud_mm = proud[s][k]};
        tile.edges[s].points = points[s];
        tile.edges[s].point_count = 2;
    }
    for (int c = 0; c < 4; c++) {
        double u = 0, v = 0; /* east and north in the square's own frame */
        for (int k = 0; k < 2; k++) {
            int s = meets[c][2 * k];
            double reach = side / 2 + proud[s][meets[c][2 * k + 1]];
            if (s == SW_EAST || s == SW_WEST)
                u = s == SW_EAST ? reach : -reach;
            else
                v = s == SW_NORTH ? reach : -reach;
        }
        tile.corners[c].mm = (sw_point){x + u * cos(turn) - v * sin(turn), y + u * sin(turn) + v * cos(turn)};
    }
    sw_read_derive_square(&tile);
    near(tile.centre_mm.x, x, 1e-4);
    near(tile.centre_mm.y, y, 1e-4);
    near(tile.side_mm, side, 1e-4);
    near(tile.turn_rad, turn, 1e-6);
}

/* ---- damage ---- */

static char *minimal_text(void)
{
    char *text = fixture_read(SW_TESTS "/fuzz/corpus/inspection", "minimal.json", NULL);
    assert_non_null(text);
    return text;
}

/* The text with the first `find` replaced, for free(). */
static char *replaced(const char *text, const char *find, const char *put)
{
    const char *at = strstr(text, find);
    if (!at)
        fail_msg("the test's own text lacks %s", find);
    size_t room = strlen(text) + strlen(put) + 1;
    char *out = malloc(room);
    assert_non_null(out);
    snprintf(out, room, "%.*s%s%s", (int)(at - text), text, put, at + strlen(find));
    return out;
}

typedef struct damage {
    const char *find, *put, *says; /* says: in the sentence */
} damage;

static const damage DAMAGES[] = {
    {"\"seamwright-inspection\"", "\"seamwright-plan\"", "not an inspection"},
    {"\"format_version\": 1", "\"format_version\": 2", "newer program"},
    {"\"format_version\": 1", "\"format_version\": \"1\"", "\"format_version\""},
    {"\"file\": \"ford.jpg\"", "\"file\": 5", "\"file\" is no text"},
    {"\"99.6x99.8/60\"", "\"99.6y\"", "\"reference\""},
    {"\"squares\": 2", "\"squares\": 33", "\"squares\""},
    {"\"lens\": \"none\"", "\"lens\": \"glass\"", "\"lens\""},
    {"\"columns\": 2", "\"columns\": 27", "\"columns\""},
    {"\"rows\": 1", "\"rows\": 100", "\"rows\""},
    {"\"rows\": 1", "\"rows\": 1.5", "\"rows\""},
    {"\"columns\": 2", "\"columns\": 3", "2 tiles are listed"},
    {"\"tile_mm\": 300", "\"tile_mm\": 0", "\"tile_mm\""},
    {"\"tile_mm\": 300", "\"tile_mm\": 1e7", "\"tile_mm\" is out of range"},
    {"\"tile_mm\": 300", "\"tile_mm\": 1e999", "JSON"},
    {"\"tolerance_mm\": 0.5", "\"tolerance_mm\": NaN", "JSON"},
    {"\"tolerance_mm\": 0.5", "\"tolerance_mm\": null", "\"tolerance_mm\""},
    {"\"tolerance_mm\": 0.5", "\"tolerance\": 0.5", "\"tolerance_mm\" is missing"},
    {"\"name\": \"B1\"", "\"name\": \"A1\"", "A1 comes twice"},
    {"\"name\": \"B1\"", "\"name\": \"B2\"", "no tile"},
    {"\"name\": \"B1\"", "\"name\": \"b1\"", "no tile"},
    {"\"name\": \"B1\"", "\"name\": \"B01\"", "no tile"},
    {"\"x_mm\": 301.2", "\"x_mm\": \"301.2\"", "tile B1, corner NW: \"x_mm\""},
    {"\"NW\": {", "\"WN\": {", "\"NW\" is missing"},
    {"\"corners\": {", "\"corner\": {", "\"corners\" is missing"},
    {"\"length_mm\": 300", "\"length_mm\": true", "tile B1, north edge: \"length_mm\""},
    {"[ 0, 150, 300 ]", "[ 0, 150 ]", "not of one length"},
    {"[ 0, 150, 300 ]", "[ 0, 150, 150 ]", "do not rise"},
    {"[ 0, 150, 300 ]", "[ 0, null, 300 ]", "do not rise"},
    {"[ 0, 150, 300 ]", "{}", "\"at_mm\" is no list"},
    {"\"proud_mm\": [ 0, 0, 0 ]", "\"proud_mm\": [ 0, 0, \"0\" ]", "\"proud_mm\""},
    {"\"proud_mm\": [ 0, 0, 0 ]", "\"proud_mm\": [ 0, 0, 0 ], \"state\": [ \"ok\" ]", "not of one length"},
    {"\"proud_mm\": [ 0, 0, 0 ]", "\"proud_mm\": [ 0, 0, 0 ], \"state\": [ \"ok\", \"ok\", \"fine\" ]", "\"state\""},
    {"\"A1 east\", \"B1 west\"", "\"A1 east\", \"C1 west\"", "not two edges of this table"},
    {"\"A1 east\", \"B1 west\"", "\"A1 east\", \"B1 east\"", "do not face each other"},
    {"\"A1 east\", \"B1 west\"", "\"B1 west\", \"A1 east\"", "do not face each other"},
    {"\"A1 east\", \"B1 west\"", "\"A1 east\"", "not two edges of this table"},
    {"\"A1 east\", \"B1 west\"", "1, 2", "not two edges of this table"},
    {"\"name\": \"A1-B1\"", "\"name\": \"B1-C1\"", "belong to A1-B1"},
    {"\"verdict\": \"over\"", "\"verdict\": \"bad\"", "\"verdict\""},
    {"\"verdict\": \"over\"", "\"upright\": false, \"verdict\": \"over\"", "\"upright\""},
    {"\"mean\": 1.3", "\"mean\": [1.3]", "\"mean\""},
    {"\"edge\": \"B1 west\"", "\"edge\": \"B1 east\"", "a chip lies"},
    {"[ 0.5, 75, 150, 299.5 ]", "[ 0.5, 75, 150 ]", "not of one length"},
    {"[ 1.2, null, 1.6, 1.2 ]", "[ -1.2, null, 1.6, 1.2 ]",
     "seam A1-B1, \"stations\": \"gap_mm\" is -1.2, and cannot be outside 0 to 75"},
    {"[ 1.2, null, 1.6, 1.2 ]", "[ 1e300, null, 1.6, 1.2 ]", "\"gap_mm\" is out of range"},
    {"[ 0.5, 75, 150, 299.5 ]", "[ 0.5, 75, 150, 399.5 ]", "\"at_mm\" is 399.5"},
    {"[ 0, 150, 300 ]", "[ 0, 150, 999 ]", "\"at_mm\" is 999"},
    {"[ 0, 150, 300 ]", "[ 0, 150, 1e999 ]", "JSON"},
    {"\"proud_mm\": [ 0, 0, 0 ]", "\"proud_mm\": [ 0, 1e6, 0 ]", "north edge: \"proud_mm\" is 1e+06"},
    {"\"proud_mm\": [ 0, 0, 0 ]", "\"proud_mm\": [ 0, -76, 0 ]", "north edge: \"proud_mm\" is -76"},
    {"\"mean_u95\": ", "\"mean_u95\": -", "\"mean_u95\" is -"},
    {"\"max_u95\": ", "\"max_u95\": -", "\"max_u95\" is -"},
    {"\"length_u95_mm\": ", "\"length_u95_mm\": -", "\"length_u95_mm\" is -"},
    {"\"mean\": 1.3", "\"mean\": 13", "its mean gap is not between its least and its widest"},
    {"\"x_mm\": 301.2", "\"x_mm\": 3012", "corner NW: \"x_mm\" is 3012"},
    {"\"length_mm\": 300", "\"length_mm\": 3000", "north edge: \"length_mm\" is 3000"},
    {"\"angle_deg\": ", "\"angle_deg\": 2", "\"angle_deg\" is out of range"},
    {"\"height_mm\": null", "\"height_mm\": \"45\"", "\"height_mm\" is no number"},
    {"\"file\": \"ford.jpg\"", "\"file\": \"ford.jpg\", \"width_px\": -1", "\"width_px\""},
    {"\"by hand\"", "7", "\"program\" is no text"},
    {"\"tolerance_mm\": 0.5", "\"tolerance_mm\": 0.5, \"budget\": 7", "\"budget\" is no list"},
    {"\"action\": \"check\"", "\"action\": \"burn\"", "\"action\""},
    {"\"seam\": \"A1-B1\"", "\"seam\": \"A1-A2\"", "\"seam\""},
    {"\"rank\": 1", "\"rank\": 0", "\"rank\""},
    {"[ \"made up\" ]", "[ 7 ]", "\"warnings\""},
    {"[ \"made up\" ]", "[], \"notes\": 7", "\"notes\" is no list"},
    {"[ \"made up\" ]", "[], \"notes\": [ \"made up\" ]", "note 1: \"notes\" is no object"},
    {"[ \"made up\" ]", "[], \"notes\": [ { \"text\": \"made up\" } ]", "note 1: \"kind\" is missing"},
    {"[ \"made up\" ]", "[], \"notes\": [ { \"kind\": 7, \"text\": \"\" } ]", "\"kind\" is no text"},
    {"[ \"made up\" ]", "[], \"notes\": [ { \"kind\": \"other\" } ]", "\"text\" is missing"},
    {"[ \"made up\" ]", "[], \"notes\": [ { \"kind\": \"other\", \"text\": 7 } ]", "\"text\" is no text"},
    {"[ \"made up\" ]", "[], \"notes\": [ { \"kind\": \"other\", \"text\": \"\", \"places\": 7 } ]",
     "\"places\" is no list of at most 16"},
    {"[ \"made up\" ]", "[], \"notes\": [ { \"kind\": \"other\", \"text\": \"\", \"places\": [ 7 ] } ]",
     "one of \"places\" is none"},
    {"[ \"made up\" ]",
     "[], \"notes\": [ { \"kind\": \"other\", \"text\": \"\", \"places\": [ \"A1 of the rivers\" ] } ]",
     "one of \"places\" is none"},
    {"[ \"made up\" ]",
     "[], \"notes\": [ { \"kind\": \"other\", \"text\": \"\", \"places\": [ \"1\", \"2\", \"3\", \"4\", \"5\", \"6\", "
     "\"7\", \"8\", \"9\", \"10\", \"11\", \"12\", \"13\", \"14\", \"15\", \"16\", \"17\" ] } ]",
     "\"places\" is no list of at most 16"},
    {"\"tiles\": [", "\"tiles\": [ 3, ", "3 tiles are listed"},
    {"\"photo\": {", "\"tolerance_mm\": 1, \"photo\": {", "JSON"}, /* a member twice */
};

/* Until heights were measured, "height_mm" was what the user said, from the table: no height against the median top. */
static void heights_of_older_files_are_not_known(void **state)
{
    (void)state;
    sw_inspection got;
    char *text = minimal_text(), *older = replaced(text, "\"corners\": {", "\"height_mm\": 45, \"corners\": {"),
         *newer = replaced(text, "\"corners\": {", "\"height_mm\": -1.5, \"height_u95_mm\": 0.2, \"corners\": {");
    assert_int_equal(sw_inspection_parse(older, strlen(older), "older.json", &got, NULL), SW_OK);
    assert_true(isnan(got.tiles[1].height_mm));
    sw_inspection_free(&got);
    assert_int_equal(sw_inspection_parse(newer, strlen(newer), "newer.json", &got, NULL), SW_OK);
    near(got.tiles[1].height_mm, -1.5, 1e-12);
    sw_inspection_free(&got);
    free(newer);
    free(older);
    free(text);
}

static void damage_is_named(void **state)
{
    (void)state;
    char *text = minimal_text();
    for (size_t i = 0; i < sizeof DAMAGES / sizeof *DAMAGES; i++) {
        char *bad = replaced(text, DAMAGES[i].find, DAMAGES[i].put);
        sw_inspection got;
        sw_error err = {""};
        sw_status status = sw_inspection_parse(bad, strlen(bad), "ford.seams/inspection.json", &got, &err);
        if (status != SW_BAD_INPUT || !strstr(err.text, DAMAGES[i].says) || !is_zero(&got) ||
            strncmp(err.text, "ford.seams/inspection.json: ", 28) != 0)
            fail_msg("%s for %s: status %d, \"%s\"", DAMAGES[i].put, DAMAGES[i].find, status, err.text);
        free(bad);
    }
    free(text);
}

/* The last tile of a row and the first of the next have neighbouring numbers, but they do not meet. */
static void rows_do_not_wrap(void **state)
{
    (void)state;
    char folder[64], path[128];
    sw_inspection made, got;
    sw_error err = {""};
    fixture_folder(folder);
    fixture_inspection(&made);
    assert_int_equal(sw_report_json(&made, place(folder, "a.json", path), &err), SW_OK);
    char *text = fixture_read(folder, "a.json", NULL);
    char *one = replaced(text, "\"name\": \"A1-B1\"", "\"name\": \"C1-A2\"");
    char *two = replaced(one, "\"edges\": [\"A1 east\", \"B1 west\"]", "\"edges\": [\"C1 east\", \"A2 west\"]");
    assert_int_equal(sw_inspection_parse(two, strlen(two), "wrap", &got, &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, "do not face each other"));
    free(text);
    free(one);
    free(two);
    sw_inspection_free(&made);
    fixture_remove(folder);
}

static void no_beginning_passes_for_the_whole(void **state)
{
    (void)state;
    char *text = minimal_text();
    size_t length = strlen(text);
    while (text[length - 1] != '}')
        length--;
    for (size_t i = 0; i < length; i++) {
        sw_inspection got;
        assert_int_equal(sw_inspection_parse(text, i, "cut", &got, NULL), SW_BAD_INPUT);
        assert_true(is_zero(&got));
    }
    free(text);
}

static void sentences_of_old_files_are_notes_of_no_kind(void **state)
{
    (void)state;
    sw_inspection got;
    read_well(MINIMAL, &got);
    assert_int_equal(got.notes.count, 1);
    assert_int_equal(got.notes.list[0].kind, SW_NOTE_OTHER);
    assert_int_equal(got.notes.list[0].place_count, 0);
    assert_string_equal(got.notes.list[0].text, "made up");
    sw_inspection_free(&got);
}

/* With notes the sentences beside them are not read a second time; a kind of a later version is none that is known. */
static void notes_come_before_sentences(void **state)
{
    (void)state;
    static const char notes[] = "[ \"made up\" ], \"notes\": [ { \"kind\": \"too windy\", \"places\": [ \"A1-B1\" ], "
                                "\"text\": \"made up\" }, { \"kind\": \"chip\", \"text\": \"two\" } ]";
    char *text = minimal_text(), *with = replaced(text, "[ \"made up\" ]", notes);
    sw_inspection got;
    assert_int_equal(sw_inspection_parse(with, strlen(with), "notes", &got, NULL), SW_OK);
    assert_int_equal(got.notes.count, 2);
    assert_int_equal(got.notes.list[0].kind, SW_NOTE_OTHER);
    assert_int_equal(got.notes.list[0].place_count, 1);
    assert_string_equal(got.notes.list[0].places[0], "A1-B1");
    assert_int_equal(got.notes.list[1].kind, SW_NOTE_CHIP);
    assert_int_equal(got.notes.list[1].place_count, 0);
    assert_string_equal(got.notes.list[1].text, "two");
    sw_inspection_free(&got);
    free(text);
    free(with);
}

static void a_seam_that_is_not_listed_was_not_seen(void **state)
{
    (void)state;
    char *text = minimal_text(), *end = strstr(text, "\"seams\": [");
    sw_inspection got;
    sw_error err = {""};
    assert_non_null(end);
    strcpy(end, "\"seams\": [] }");
    assert_int_equal(sw_inspection_parse(text, strlen(text), "cut", &got, &err), SW_OK);
    assert_int_equal(got.seam_count, 1);
    assert_string_equal(got.seams[0].name, "A1-B1");
    assert_true(isnan(got.seams[0].max_mm));
    assert_int_equal(sw_inspection_verdict(&got), SW_TOO_CLOSE);
    sw_inspection_free(&got);
    free(text);
}

static void files_that_cannot_be(void **state)
{
    (void)state;
    char folder[64], path[128];
    sw_inspection got;
    sw_error err = {""};
    fixture_folder(folder);
    assert_int_equal(sw_inspection_read(place(folder, "none.json", path), &got, &err), SW_CANNOT_READ);
    assert_non_null(strstr(err.text, "seamwright inspect"));
    assert_int_equal(sw_inspection_read(folder, &got, &err), SW_CANNOT_READ);
    FILE *file = fopen(place(folder, "large.json", path), "wb");
    assert_non_null(file);
    assert_int_equal(ftruncate(fileno(file), 500L << 20), 0);
    fclose(file);
    assert_int_equal(sw_inspection_read(path, &got, &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, "larger than 64 MB"));
    assert_true(is_zero(&got));
    file = fopen(place(folder, "empty.json", path), "wb");
    assert_non_null(file);
    fclose(file);
    assert_int_equal(sw_inspection_read(path, &got, &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, "JSON"));
    fixture_remove(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(without_budgets_it_comes_back_byte_by_byte),
        cmocka_unit_test(with_budgets_all_else_comes_back),
        cmocka_unit_test(the_struct_comes_back),
        cmocka_unit_test(by_hand_with_promised_fields_only),
        cmocka_unit_test(best_square_is_found_from_corners),
        cmocka_unit_test(heights_of_older_files_are_not_known),
        cmocka_unit_test(damage_is_named),
        cmocka_unit_test(rows_do_not_wrap),
        cmocka_unit_test(no_beginning_passes_for_the_whole),
        cmocka_unit_test(a_seam_that_is_not_listed_was_not_seen),
        cmocka_unit_test(files_that_cannot_be),
        cmocka_unit_test(sentences_of_old_files_are_notes_of_no_kind),
        cmocka_unit_test(notes_come_before_sentences),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
