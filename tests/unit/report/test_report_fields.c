/* The tables of inspection.json, line by line: every member that a file holds is the one that comes back, a member that
 * must be there is asked for, and one of another kind is refused. A line added to a table is tested by itself. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/inspection/json_own.h"
#include "report/inspection/read.h"
#include "support/fixture.h"

enum { FEW = 4 };

/* The fixture with a mark at every kind of edge, and no more stations than are needed here. */
static void make(sw_inspection *ins)
{
    static const sw_top_advice tops[] = {
        {.rank = 1, .tile = 1, .by_mm = 1, .level_mm = 2, .seams = {0, 3}, .seam_count = 2, .reason = "Because."},
        {.rank = 2, .tile = 4, .action = SW_PACK_UP, .by_mm = 3, .level_mm = NAN, .reason = "Why not."}};
    static const sw_mark marks[] = {{.seam = 0, .tile = 0, .side = SW_EAST}, {.seam = 2, .tile = 3, .side = SW_NORTH}};
    fixture_inspection(ins);
    ins->budget_count = 0;
    ins->tiles[1].height_mm = 50;
    ins->lippage_mm = 1;
    ins->tops = calloc(2, sizeof *ins->tops);
    assert_non_null(ins->tops);
    memcpy(ins->tops, tops, sizeof tops);
    ins->top_count = 2;
    ins->marks = calloc(2, sizeof *ins->marks);
    assert_non_null(ins->marks);
    memcpy(ins->marks, marks, sizeof marks);
    ins->mark_count = 2;
    ins->given.heights = calloc(2, sizeof *ins->given.heights);
    assert_non_null(ins->given.heights);
    ins->given.height_count = 2;
    ins->given.card_thickness = true;
    ins->given.lens = (sw_lens){.source = SW_LENS_PROFILE,
                                .width_px = 4000,
                                .height_px = 3000,
                                .fx = 2900.125,
                                .fy = 2900.25,
                                .cx = 2001,
                                .cy = 1499,
                                .k1 = -1.0 / 30,
                                .camera = "Museum phone"};
    for (int i = 0; i < SW_LENS_NUMBERS; i++)
        ins->given.lens.covariance[i][i] = 1.0 / (i + 3);
    ins->rounds = calloc(2, sizeof *ins->rounds);
    assert_non_null(ins->rounds);
    ins->round_count = 2;
    ins->rounds[0].tolerance_mm = ins->rounds[1].tolerance_mm = 0.5;
    for (size_t i = 0; i < ins->seam_count; i++)
        ins->seams[i].station_count = FEW;
    for (size_t i = 0; i < ins->tile_count; i++)
        for (int s = 0; s < 4; s++)
            ins->tiles[i].edges[s].point_count = FEW;
}

/* The file's tree, for json_decref. */
static json_t *tree_of(const sw_inspection *ins)
{
    json_t *root = sw_json_tree(&sw_inspection_json, ins, &ins);
    assert_non_null(root);
    return root;
}

static sw_status read_tree(const json_t *root, sw_inspection *got, sw_error *err)
{
    char *text = json_dumps(root, 0);
    assert_non_null(text);
    sw_status status = sw_inspection_parse(text, strlen(text), "valley.json", got, err);
    free(text);
    return status;
}

/* ---- what was written comes back ---- */

typedef void visit(const sw_field *f, void *one, void *other);

static void walk(const sw_field *table, size_t lines, char *one, char *other, visit *see);

static void walk_rows(const sw_field *f, char *one, char *other, visit *see)
{
    char *rows[2];
    size_t count = *(size_t *)(one + f->beside);
    assert_int_equal(count, *(size_t *)(other + f->beside));
    memcpy(&rows[0], one + f->at, sizeof rows[0]);
    memcpy(&rows[1], other + f->at, sizeof rows[1]);
    for (size_t i = 0; i < count; i++) {
        sw_field item = *f;
        item.take = f->take_item;
        if (f->of)
            walk(f->of, f->lines, rows[0] + i * f->size, rows[1] + i * f->size, see);
        else
            see(&item, rows[0] + i * f->size, rows[1] + i * f->size);
    }
}

/* A single value; not those that say where something lies. */
static int is_value(const sw_field *f)
{
    return f->put == sw_put_figure || f->put == sw_put_positive || f->take == sw_take_whole ||
           f->take == sw_take_flag || f->take == sw_take_text || f->take == sw_take_word;
}

/* Every single value that is read back, of two structs. */
static void walk(const sw_field *table, size_t lines, char *one, char *other, visit *see)
{
    for (const sw_field *f = table; f < table + lines; f++)
        if (f->need == SW_WRITTEN)
            continue;
        else if (f->beside && f->size > sizeof(int)) /* list, columns */
            walk_rows(f, one, other, see);
        else if (f->take == sw_take_object)
            walk(f->of, f->lines, one + f->at, other + f->at, see);
        else if (f->take == sw_take_named)
            for (int i = 0; i < f->names; i++)
                walk(f->of, f->lines, one + f->at + (size_t)i * f->size, other + f->at + (size_t)i * f->size, see);
        else if (is_value(f))
            see(f, one + f->at, other + f->at);
}

static int told; /* values given or compared so far */

static int is_number(const sw_field *f)
{
    return f->put == sw_put_figure || f->put == sw_put_positive;
}

static double within(const sw_field *f, double value)
{
    return value >= f->least && value <= f->most ? value : f->least + fmod(value, f->most - f->least);
}

/* A value of its own for each; not for names and numbers that say which tile it is. */
static void give(const sw_field *f, void *at, void *same)
{
    (void)same;
    told++;
    if (is_number(f) && !f->rises)
        *(double *)at = within(f, told * 1e-3);
    else if (f->take == sw_take_word)
        *(int *)at = told % f->names;
    else if (f->take == sw_take_text && strcmp(f->key, "name") != 0)
        snprintf(at, f->size, "text %d", told);
}

static void compare(const sw_field *f, void *one, void *other)
{
    told++;
    if (is_number(f)) {
        double a = *(double *)one, b = *(double *)other;
        if (!(fabs(a - b) <= 0.51 * pow(10, -f->decimals)))
            fail_msg("\"%s\": %g went, %g came back", f->key, a, b);
    } else if (f->take == sw_take_text) {
        assert_string_equal(one, other);
    } else if (memcmp(one, other, f->size) != 0) {
        fail_msg("\"%s\" did not come back", f->key);
    }
}

static void every_member_comes_back(void **state)
{
    (void)state;
    sw_inspection made, got;
    sw_error err = {""};
    make(&made);
    told = 0;
    walk(sw_inspection_json.of, sw_inspection_json.lines, (char *)&made, (char *)&made, give);
    int given = told;
    for (size_t i = 0; i < made.seam_count; i++) { /* least, mean, widest are in order */
        double mean = made.seams[i].mean_mm;
        made.seams[i].mean_mm = made.seams[i].min_mm;
        made.seams[i].min_mm = mean;
    }
    json_t *root = tree_of(&made);
    if (read_tree(root, &got, &err))
        fail_msg("%s", err.text);
    told = 0;
    walk(sw_inspection_json.of, sw_inspection_json.lines, (char *)&made, (char *)&got, compare);
    assert_int_equal(told, given);
    assert_true(told > 1000);
    assert_true(made.notes.count > 0);
    assert_int_equal(got.notes.count, made.notes.count);
    for (size_t i = 0; i < made.notes.count; i++) {
        assert_string_equal(got.notes.list[i].text, made.notes.list[i].text);
        assert_int_equal(got.notes.list[i].kind, made.notes.list[i].kind);
        assert_int_equal(got.notes.list[i].place_count, made.notes.list[i].place_count);
        for (size_t k = 0; k < made.notes.list[i].place_count; k++)
            assert_string_equal(got.notes.list[i].places[k], made.notes.list[i].places[k]);
    }
    assert_memory_equal(&got.given.lens, &made.given.lens, sizeof made.given.lens); /* to the last bit */
    assert_true(got.given.card_thickness);
    for (size_t i = 0; i < 2; i++) { /* what is more than one member */
        assert_int_equal(got.tops[i].tile, made.tops[i].tile);
        assert_int_equal(got.tops[i].seam_count, made.tops[i].seam_count);
        assert_memory_equal(got.tops[i].seams, made.tops[i].seams, sizeof made.tops[i].seams);
    }
    json_decref(root);
    sw_inspection_free(&got);
    sw_inspection_free(&made);
}

/* ---- the tables themselves ---- */

enum { MOST_LINES = 200 };

typedef struct lines {
    const sw_field *line[MOST_LINES];
    size_t count;
} lines;

/* All lines about one struct, those of its parts too. */
static void lines_of(const sw_field *table, size_t count, lines *all)
{
    for (const sw_field *f = table; f < table + count; f++) {
        assert_true(all->count < MOST_LINES);
        if (f->take == sw_take_object && f->size == 0)
            lines_of(f->of, f->lines, all);
        else if (f->put || f->of)
            all->line[all->count++] = f;
    }
}

/* Adds the keys that are never read, and those that may be missing, of all tables that are read. */
static void look_at(const sw_field *table, size_t count, char unread[256], char may[1024])
{
    lines all = {.count = 0};
    lines_of(table, count, &all);
    for (size_t i = 0; i < all.count; i++) {
        const sw_field *f = all.line[i];
        for (size_t k = 0; k < i; k++)
            if (f->size && all.line[k]->size && all.line[k]->at == f->at)
                fail_msg("\"%s\" and \"%s\" are one member", all.line[k]->key, f->key);
        if (f->need == SW_WRITTEN)
            strcat(strcat(unread, f->key), " ");
        else if (f->need == SW_MAY)
            strcat(strcat(may, f->key), " ");
        if (f->need != SW_WRITTEN && f->of)
            look_at(f->of, f->lines, unread, may);
    }
}

static void each_line_has_a_member_of_its_own_and_is_read(void **state)
{
    (void)state;
    char unread[256] = "", may[1024] = "";
    look_at(sw_inspection_json.of, sw_inspection_json.lines, unread, may);
    assert_string_equal(unread, "program verdict repeatability step_verdict seam budget ");
    assert_string_equal(may,
                        "file width_px height_px taken camera scale reference squares px_per_mm lens residual_px "
                        "edge_spread_px edge_spread_u_px blur_px tile_given height_mm step_mm given "
                        "card_thickness_mm height_mm heights "
                        "lens column row "
                        "height_mm height_u95_mm tilt_deg tilt_u95_deg rim_mm rim_u95_mm seen state chips "
                        "upright start end max_hidden max_seen_u95 step_mm step_u95_mm step_largest_mm chips marks "
                        "ranking rank seam "
                        "lippage_mm tops rank level_mm warnings notes ");
}

/* ---- a file that lacks a member, or has another kind of one ---- */

static const json_t *whole; /* the tree that the objects below are part of */

static void expect(const char *key, sw_status expected, const char *what)
{
    sw_inspection got;
    sw_error err = {""};
    sw_status status = read_tree(whole, &got, &err);
    if (status != expected)
        fail_msg("\"%s\" %s: %d, \"%s\"", key, what, status, err.text);
    if (status && strcmp(what, "missing") == 0 && !strstr(err.text, key))
        fail_msg("\"%s\" missing: \"%s\"", key, err.text);
    sw_inspection_free(&got);
}

static void spoil(const sw_field *table, size_t count, json_t *object);

static void spoil_member(const sw_field *f, json_t *object)
{
    json_t *kept = json_incref(json_object_get(object, f->key));
    if (!kept)
        fail_msg("\"%s\" is not written", f->key);
    json_object_del(object, f->key);
    expect(f->key, f->need == SW_MUST ? SW_BAD_INPUT : SW_OK, "missing");
    json_object_set_new(object, f->key, f->take == sw_take_flag ? json_integer(1) : json_true());
    expect(f->key, SW_BAD_INPUT, "of another kind");
    json_object_set_new(object, f->key, kept);
    if (f->take == sw_take_object)
        spoil(f->of, f->lines, kept);
    else if (f->take == sw_take_named)
        spoil(f->of, f->lines, json_object_get(kept, f->name(1)));
    else if (f->of && json_array_size(kept))
        spoil(f->of, f->lines, json_array_get(kept, 0));
}

static void spoil(const sw_field *table, size_t count, json_t *object)
{
    for (const sw_field *f = table; f < table + count; f++)
        if (f->take == sw_take_columns)
            spoil(f->of, f->lines, object);
        else if (f->key && f->need != SW_WRITTEN)
            spoil_member(f, object);
}

static void every_member_is_asked_for(void **state)
{
    (void)state;
    sw_inspection made;
    make(&made);
    json_t *root = tree_of(&made);
    whole = root;
    spoil(sw_inspection_json.of, sw_inspection_json.lines, root);
    expect("nothing", SW_OK, "spoilt");
    json_decref(root);
    sw_inspection_free(&made);
}

/* ---- what must hold between members ---- */

static void says(const json_t *root, const char *words)
{
    sw_inspection got;
    sw_error err = {""};
    assert_int_equal(read_tree(root, &got, &err), SW_BAD_INPUT);
    if (!strstr(err.text, words))
        fail_msg("\"%s\" does not say \"%s\"", err.text, words);
}

static void members_that_contradict_each_other_are_refused(void **state)
{
    (void)state;
    sw_inspection made, got;
    sw_error err = {""};
    make(&made);
    json_t *root = tree_of(&made), *seams = json_object_get(root, "seams"),
           *tile = json_array_get(json_object_get(root, "tiles"), 3), *ranking = json_object_get(root, "ranking");
    json_object_del(json_array_get(ranking, 1), "rank");
    assert_int_equal(read_tree(root, &got, &err), SW_OK);
    assert_int_equal(got.ranking[1].rank, 2);
    sw_inspection_free(&got);
    json_object_set_new(tile, "column", json_integer(3)); /* A2 is number 3, but not the fourth of the first row */
    json_object_set_new(tile, "row", json_integer(0));
    says(root, "tile A2: \"column\" and \"row\" are not where its name says");
    json_object_set_new(tile, "column", json_integer(0));
    json_object_set_new(tile, "row", json_integer(1));
    json_t *kept = json_incref(json_array_get(seams, 5));
    json_array_set(seams, 5, json_array_get(seams, 4));
    says(root, "seam C1-C2: it comes twice");
    json_array_set(seams, 5, kept);
    json_t *top = json_array_get(json_object_get(root, "tops"), 0), *mended = json_object_get(top, "seams");
    json_object_set_new(top, "tile", json_string("D1"));
    says(root, "\"tile\" is no tile of this table");
    json_object_set_new(top, "tile", json_string("B1"));
    json_array_set_new(mended, 0, json_string("A1-C1"));
    says(root, "\"seams\" is no seam of this table");
    json_array_set_new(mended, 0, json_null());
    says(root, "\"seams\" holds what is no seam");
    json_object_set_new(top, "seams", json_pack("[sssss]", "A1-B1", "A1-B1", "A1-B1", "A1-B1", "A1-B1"));
    says(root, "\"seams\" is no list of up to 4 seams");
    json_decref(kept);
    json_decref(root);
    sw_inspection_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_member_comes_back),
        cmocka_unit_test(each_line_has_a_member_of_its_own_and_is_read),
        cmocka_unit_test(every_member_is_asked_for),
        cmocka_unit_test(members_that_contradict_each_other_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
