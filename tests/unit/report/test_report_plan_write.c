/* The plan's three files: all or none, and nothing of the user's lost. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <dirent.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include "support/fixture.h"
#include "support/look.h"
#include "support/plan_fixture.h"

static const char EARLIER[] = "{\"format\": \"seamwright-plan\"}";
static const sw_paper A4 = {"A4", 210, 297};

typedef struct bench {
    sw_inspection inspection;
    sw_plan plan;
    char room[64], target[128];
    sw_error err;
} bench;

static int set_up(void **state)
{
    bench *made = calloc(1, sizeof *made);
    fixture_inspection(&made->inspection);
    plan_fixture(&made->inspection, &made->plan);
    fixture_folder(made->room);
    snprintf(made->target, sizeof made->target, "%s/valley.seams", made->room);
    *state = made;
    return 0;
}

static int tear_down(void **state)
{
    bench *made = *state;
    fixture_remove(made->room);
    sw_plan_free(&made->plan);
    sw_inspection_free(&made->inspection);
    free(made);
    return 0;
}

static void holds_plan(const char *folder)
{
    static const char *const starts[][2] = {
        {"plan.json", "{"}, {"plan.html", "<!DOCTYPE html>"}, {"strips.pdf", "%PDF-"}};
    for (size_t i = 0; i < 3; i++) {
        char *text = fixture_read(folder, starts[i][0], NULL);
        assert_non_null(text);
        assert_int_equal(strncmp(text, starts[i][1], strlen(starts[i][1])), 0);
        free(text);
    }
}

static sw_status write_plan(bench *made)
{
    made->err.text[0] = 0;
    return sw_report_plan_write(&made->plan, &made->inspection, &A4, NULL, made->target, &made->err);
}

static void a_new_folder_is_whole(void **state)
{
    bench *made = *state;
    assert_int_equal(write_plan(made), SW_OK);
    assert_int_equal(entries(made->room), 1);
    assert_int_equal(entries(made->target), 3);
    holds_plan(made->target);
}

static void an_inspection_and_notes_stay(void **state)
{
    bench *made = *state;
    assert_int_equal(sw_report_write(&made->inspection, NULL, made->target, 0, &made->err), SW_OK);
    put_file(made->target, "notes.txt", "B2 glued on Tuesday");
    char *before = fixture_read(made->target, "inspection.json", NULL);
    assert_int_equal(write_plan(made), SW_OK);
    assert_int_equal(write_plan(made), SW_OK); /* and once more over the first plan */
    assert_int_equal(entries(made->target), 7);
    assert_int_equal(entries(made->room), 1);
    holds_plan(made->target);
    same_text(made->target, "notes.txt", "B2 glued on Tuesday");
    same_text(made->target, "inspection.json", before);
    free(before);
}

/* A plan beside an inspection that it was not made from would send somebody to the wrong edge. */
static void inspecting_again_takes_the_plan_away(void **state)
{
    bench *made = *state;
    assert_int_equal(sw_report_write(&made->inspection, NULL, made->target, 0, &made->err), SW_OK);
    assert_int_equal(write_plan(made), SW_OK);
    put_file(made->target, "notes.txt", "B2 glued on Tuesday");
    assert_int_equal(sw_report_write(&made->inspection, NULL, made->target, 0, &made->err), SW_OK);
    assert_int_equal(entries(made->target), 4);
    same_text(made->target, "notes.txt", "B2 glued on Tuesday");
}

/* Files of a plan's names that no plan wrote are somebody's, in a folder of ours, too. */
static void somebodys_files_are_left_alone(void **state)
{
    bench *made = *state;
    assert_int_equal(sw_report_write(&made->inspection, NULL, made->target, 0, &made->err), SW_OK);
    put_file(made->target, "strips.pdf", "strips of paper");
    assert_int_equal(write_plan(made), SW_CANNOT_WRITE);
    assert_non_null(strstr(made->err.text, "strips.pdf: was not written by plan"));
    assert_int_equal(sw_report_write(&made->inspection, NULL, made->target, 0, &made->err), SW_OK);
    same_text(made->target, "strips.pdf", "strips of paper");
    assert_int_equal(entries(made->target), 4);
}

static void empty_folders_and_plans_are_taken(void **state)
{
    bench *made = *state;
    assert_int_equal(mkdir(made->target, 0777), 0);
    assert_int_equal(write_plan(made), SW_OK);
    assert_int_equal(write_plan(made), SW_OK); /* holds nothing but a plan */
    assert_int_equal(entries(made->target), 3);
}

static void foreign_folders_are_left_alone(void **state)
{
    bench *made = *state;
    assert_int_equal(mkdir(made->target, 0777), 0);
    put_file(made->target, "plan.json", "{\"format\": \"garden\"}");
    assert_int_equal(write_plan(made), SW_CANNOT_WRITE);
    assert_non_null(strstr(made->err.text, "no inspection or plan of ours"));
    assert_int_equal(entries(made->target), 1);
    same_text(made->target, "plan.json", "{\"format\": \"garden\"}");
    snprintf(made->target, sizeof made->target, "%s/file", made->room);
    put_file(made->room, "file", "x");
    assert_int_equal(write_plan(made), SW_CANNOT_WRITE);
    same_text(made->room, "file", "x");
    made->target[0] = 0;
    assert_int_equal(write_plan(made), SW_BAD_INPUT);
}

/* The last of the three cannot take its name: the other two go back to what they were. */
static void an_earlier_plan_comes_back(void **state)
{
    bench *made = *state;
    char blocked[256];
    assert_int_equal(sw_report_write(&made->inspection, NULL, made->target, 0, &made->err), SW_OK);
    put_file(made->target, "plan.json", EARLIER);
    put_file(made->target, "plan.html", "the earlier page");
    snprintf(blocked, sizeof blocked, "%s/strips.pdf", made->target);
    assert_int_equal(mkdir(blocked, 0777), 0);
    assert_int_equal(write_plan(made), SW_CANNOT_WRITE);
    assert_non_null(strstr(made->err.text, "strips.pdf: is a folder"));
    assert_int_equal(entries(made->target), 6);
    same_text(made->target, "plan.json", EARLIER);
    same_text(made->target, "plan.html", "the earlier page");
}

/* No file may grow beyond 20 kB, as on a full disk: plan.json fits, strips.pdf does not. */
static void a_full_disk_leaves_nothing(void **state)
{
    bench *made = *state;
    struct rlimit before, small;
    assert_int_equal(sw_report_write(&made->inspection, NULL, made->target, 0, &made->err), SW_OK);
    put_file(made->target, "plan.json", EARLIER);
    getrlimit(RLIMIT_FSIZE, &before);
    small = before;
    small.rlim_cur = 20000;
    signal(SIGXFSZ, SIG_IGN);
    setrlimit(RLIMIT_FSIZE, &small);
    sw_status into = write_plan(made);
    snprintf(made->target, sizeof made->target, "%s/new.seams", made->room);
    sw_status fresh = write_plan(made);
    setrlimit(RLIMIT_FSIZE, &before);
    signal(SIGXFSZ, SIG_DFL);
    assert_int_equal(into, SW_CANNOT_WRITE);
    assert_int_equal(fresh, SW_CANNOT_WRITE);
    assert_non_null(strstr(made->err.text, "is the disk full?"));
    assert_int_equal(entries(made->room), 1);
    snprintf(made->target, sizeof made->target, "%s/valley.seams", made->room);
    assert_int_equal(entries(made->target), 4);
    same_text(made->target, "plan.json", EARLIER);
}

static void bad_paper_leaves_nothing(void **state)
{
    bench *made = *state;
    const sw_paper stamp = {"stamp", 20, 30};
    assert_int_equal(sw_report_plan_write(&made->plan, &made->inspection, &stamp, NULL, made->target, &made->err),
                     SW_BAD_INPUT);
    assert_int_equal(sw_report_plan_write(&made->plan, &made->inspection, NULL, NULL, made->target, &made->err),
                     SW_BAD_INPUT);
    assert_int_equal(entries(made->room), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_new_folder_is_whole, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_inspection_and_notes_stay, set_up, tear_down),
        cmocka_unit_test_setup_teardown(inspecting_again_takes_the_plan_away, set_up, tear_down),
        cmocka_unit_test_setup_teardown(somebodys_files_are_left_alone, set_up, tear_down),
        cmocka_unit_test_setup_teardown(empty_folders_and_plans_are_taken, set_up, tear_down),
        cmocka_unit_test_setup_teardown(foreign_folders_are_left_alone, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_earlier_plan_comes_back, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_full_disk_leaves_nothing, set_up, tear_down),
        cmocka_unit_test_setup_teardown(bad_paper_leaves_nothing, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
