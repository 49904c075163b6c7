/* The terminal text and the two tables of commas. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/fixture.h"

/* Read line by line when it was taken: worst first, every figure with its uncertainty, one next step. */
static const char SNAPSHOT[] =
    "3 x 3 tiles of 300 mm, by cards of 100/60 mm\n"
    "Over: 4 of 12 seams are open by more than 0.50 mm; the worst is B2-C2, 3.16 ± 0.06 mm, 294 mm from its north end; "
    "2 more are too close to call.\n"
    "Not seen: 34 % of A2-A3, all of B2-B3.\n"
    "\n"
    "  seam       widest gap, mm  at, mm  verdict            not seen\n"
    "  B2-C2      3.16 ± 0.06     294     over               -\n"
    "  B3-C3      2.24 ± 0.05     294     over               -\n"
    "  C1-C2      1.43 ± 0.06     294     over               -\n"
    "  B1-C1      1.30 ± 0.05     294     over               -\n"
    "  A3-B3      0.52 ± 0.08     25      too close to call  -\n"
    "  A1-A2      0.50 ± 0.06     242     too close to call  -\n"
    "  B2-B3      not seen        -       too close to call  100 %\n"
    "  C2-C3      0.36 ± 0.05     244     within             -\n"
    "  and 4 more that gape less; all are in the report\n"
    "\n"
    "  edge       action   take off, mm  where, mm    seam\n"
    "  B2 east    true up  0.62          20 to 150    B2-C2\n"
    "  C3 west    true up  0.41          0 to 120     B3-C3\n"
    "  C1 south   bevel    0.90          0 to 300     C1-C2\n"
    "  C1 west    fill     -             203 to 217   B1-C1\n"
    "  A3 east    check    -             0 to 300     A3-B3\n"
    "\n"
    "Next: Push the tiles together and photograph, if this photo was not of pushed tiles; then begin with the worst "
    "seam: "
    "true up B2 east, 20 to 150 mm from its north end: take off 0.62 mm at most. B2 and C2 touch at the north "
    "end, which holds the seam open further south; B2 stands proud there.\n"
    "Sanding or cutting: FFP3 or P3 mask, eye protection, blades away from you, fumes and dust outdoors; local "
    "rules and licensed work come first.\n"
    "Mind: a card lies over B2-B3: move it & take the photo again\n"
    "Report: valley.seams\n"
    "For the whole table at once, with strips to print: seamwright plan valley.seams\n";

static void text_of_the_museum_table(void **state)
{
    (void)state;
    sw_inspection inspection;
    fixture_inspection(&inspection);
    char *text = sw_report_text(&inspection, "valley.seams");
    assert_non_null(text);
    assert_string_equal(text, SNAPSHOT);
    free(text);
    sw_inspection_free(&inspection);
}

static void text_when_all_is_well(void **state)
{
    (void)state;
    sw_inspection inspection;
    fixture_all_within(&inspection);
    char *text = sw_report_text(&inspection, "valley.seams");
    assert_non_null(text);
    assert_ptr_equal(
        strstr(text, "3 x 3 tiles of 300 mm, by cards of 100/60 mm\nWithin: all 12 seams are within 0.50 mm;"), text);
    assert_non_null(strstr(text, "\nNext: nothing to sand; leave the tiles as they are.\n"));
    assert_null(strstr(text, "Sanding:"));
    assert_null(strstr(text, "  edge "));
    free(text);
    sw_inspection_free(&inspection);
}

static void text_when_too_close(void **state)
{
    (void)state;
    sw_inspection inspection;
    fixture_all_within(&inspection);
    inspection.seams[5].verdict = SW_TOO_CLOSE;
    inspection.seams[5].max_mm = 0.49;
    char *text = sw_report_text(&inspection, NULL);
    assert_non_null(text);
    assert_ptr_equal(strstr(text, "3 x 3 tiles of 300 mm, by cards of 100/60 mm\n"
                                  "Too close to call: no seam is surely over 0.50 mm, but 1 of 12 may be; "
                                  "the widest of these is A2-B2, 0.49 ± 0.07 mm, "),
                     text);
    assert_non_null(strstr(text, "\nNext: sand nothing; "));
    assert_null(strstr(text, "Report:"));
    free(text);
    sw_inspection_free(&inspection);
}

/* The table is said first of all: as told, and as measured where that differs. */
static void text_of_the_size(void **state)
{
    (void)state;
    static const struct {
        bool given;
        double told_mm, measured_mm;
        const char *first;
    } cases[] = {{true, 300, 299.4, "3 x 3 tiles of 300 mm, by cards of 100/60 mm\n"},
                 {true, 300, 291.04, "3 x 3 tiles of 300 mm as told, measured 291.0, by cards of 100/60 mm\n"},
                 {false, 182, 180.4, "3 x 3 tiles of 180 mm, by cards of 100/60 mm\n"},
                 {true, 297.5, 297.6, "3 x 3 tiles of 297.5 mm, by cards of 100/60 mm\n"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        sw_inspection inspection;
        fixture_all_within(&inspection);
        inspection.table.tile_given = cases[i].given;
        inspection.table.tile_mm = cases[i].told_mm;
        for (size_t k = 0; k < inspection.tile_count; k++)
            for (int side = 0; side < 4; side++)
                inspection.tiles[k].edges[side].length_mm = cases[i].measured_mm;
        char *text = sw_report_text(&inspection, NULL);
        assert_non_null(text);
        assert_ptr_equal(strstr(text, cases[i].first), text);
        free(text);
        sw_inspection_free(&inspection);
    }
}

static void text_of_nothing(void **state)
{
    (void)state;
    sw_inspection nothing;
    memset(&nothing, 0, sizeof nothing);
    char *text = sw_report_text(&nothing, "");
    assert_non_null(text);
    assert_ptr_equal(strstr(text, "No seam: there is only one tile.\n"), text);
    free(text);
}

static char *written(sw_status (*writer)(const sw_inspection *, const char *, sw_error *),
                     const sw_inspection *inspection)
{
    char folder[64], path[128];
    sw_error err = {""};
    fixture_folder(folder);
    snprintf(path, sizeof path, "%s/table.csv", folder);
    assert_int_equal(writer(inspection, path, &err), SW_OK);
    char *text = fixture_read(folder, "table.csv", NULL);
    assert_non_null(text);
    fixture_remove(folder);
    return text;
}

static size_t count_lines(const char *text)
{
    size_t lines = 0;
    for (; *text; text++)
        lines += *text == '\n';
    return lines;
}

static void seams_csv_has_a_row_a_station(void **state)
{
    (void)state;
    sw_inspection inspection;
    fixture_inspection(&inspection);
    char *text = written(sw_report_seams_csv, &inspection);
    size_t stations = 0, row = 0;
    for (size_t i = 0; i < FIXTURE_SEAMS; i++)
        stations += inspection.seams[i].station_count;
    assert_int_equal(count_lines(text), stations + 1);
    assert_ptr_equal(strstr(text, "seam,at_mm,gap_mm,u95_mm,state\n"), text);
    /* Row by row against the struct, read back by another way than it was written. */
    const char *line = strchr(text, '\n') + 1;
    for (size_t i = 0; i < FIXTURE_SEAMS; i++)
        for (size_t k = 0; k < inspection.seams[i].station_count; k++, row++) {
            const sw_station *station = &inspection.seams[i].stations[k];
            char name[16], word[16];
            double at, gap, u95;
            if (station->state == SW_STATION_UNSEEN) {
                assert_int_equal(sscanf(line, "%15[^,],%lf,,,%15s", name, &at, word), 3);
            } else {
                assert_int_equal(sscanf(line, "%15[^,],%lf,%lf,%lf,%15s", name, &at, &gap, &u95, word), 5);
                assert_true(fabs(gap - station->gap_mm) <= 0.51e-4 && fabs(u95 - station->u95_mm) <= 0.51e-4);
            }
            assert_string_equal(name, inspection.seams[i].name);
            assert_string_equal(word, sw_station_state_name(station->state));
            assert_true(fabs(at - station->at_mm) <= 0.51e-4);
            line = strchr(line, '\n') + 1;
        }
    assert_int_equal(*line, 0);
    free(text);
    sw_inspection_free(&inspection);
}

static void edges_csv_quotes_what_it_must(void **state)
{
    (void)state;
    sw_inspection inspection;
    fixture_inspection(&inspection);
    char *text = written(sw_report_edges_csv, &inspection);
    assert_int_equal(count_lines(text), inspection.advice_count + 1);
    assert_ptr_equal(strstr(text,
                            "rank,edge,seam,action,remove_mm,from_mm,to_mm,worst_gap_mm,u95_mm,reason\n1,B2 east,B2-C2,"
                            "true up,0.6200,20.0000,150.0000,3."),
                     text);
    assert_non_null(strstr(text, ",\"Within tolerance, \"\"as it is\"\".\"\n"));
    assert_non_null(strstr(text, "\n2,C3 west,B3-C3,true up,"));
    free(text);
    sw_inspection_free(&inspection);
}

static void a_failed_write_says_so(void **state)
{
    (void)state;
    sw_inspection inspection;
    sw_error err = {""};
    fixture_inspection(&inspection);
    assert_int_equal(sw_report_seams_csv(&inspection, "/dev/full", &err),
                     SW_CANNOT_WRITE); /* Linux: always a full disk */
    assert_non_null(strstr(err.text, "/dev/full: "));
    assert_int_equal(sw_report_json(&inspection, "/dev/full", &err), SW_CANNOT_WRITE);
    assert_int_equal(sw_report_edges_csv(&inspection, "/no such folder/edges.csv", NULL), SW_CANNOT_WRITE);
    sw_inspection_free(&inspection);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(text_of_the_museum_table),
        cmocka_unit_test(text_when_all_is_well),
        cmocka_unit_test(text_when_too_close),
        cmocka_unit_test(text_of_the_size),
        cmocka_unit_test(text_of_nothing),
        cmocka_unit_test(seams_csv_has_a_row_a_station),
        cmocka_unit_test(edges_csv_quotes_what_it_must),
        cmocka_unit_test(a_failed_write_says_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
