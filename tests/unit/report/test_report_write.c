/* The report's folder: whole or not at all, and nothing of the user's lost. */
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

#include "seamwright/page.h"
#include "support/fixture.h"
#include "support/look.h"
#include "support/plan_fixture.h"

/* Who has no rights anywhere, by common practice. */
enum { NOBODY = 65534 };

typedef struct bench {
    sw_inspection inspection;
    char room[64];    /* a folder of the test's own */
    char target[128]; /* where the report shall be, in it */
    sw_error err;
} bench;

static int set_up(void **state)
{
    bench *made = calloc(1, sizeof *made);
    fixture_inspection(&made->inspection);
    fixture_folder(made->room);
    snprintf(made->target, sizeof made->target, "%s/valley.seams", made->room);
    *state = made;
    return 0;
}

static int tear_down(void **state)
{
    bench *made = *state;
    fixture_remove(made->room);
    sw_inspection_free(&made->inspection);
    free(made);
    return 0;
}

static sw_status write_report(bench *made)
{
    made->err.text[0] = 0;
    return sw_report_write(&made->inspection, NULL, made->target, 0, &made->err);
}

static void a_new_folder_is_whole(void **state)
{
    bench *made = *state;
    assert_int_equal(write_report(made), SW_OK);
    assert_int_equal(entries(made->room), 1);
    assert_int_equal(entries(made->target), 3);
    assert_true(has(made->target, "inspection.json") && has(made->target, "seams.csv") &&
                has(made->target, "edges.csv"));
}

static void with_pictures_there_are_seven_files(void **state)
{
    bench *made = *state;
    sw_photo photo;
    fixture_photo(&made->inspection, &photo);
    assert_int_equal(sw_report_write(&made->inspection, &photo, made->target, 1, &made->err), SW_OK);
    sw_photo_free(&photo);
    assert_int_equal(entries(made->target), 7);
    assert_true(has(made->target, "overlay.png"));
    size_t page = 0, table = 0, seams = 0;
    char *text = fixture_read(made->target, "report.html", &page),
         *above = fixture_read(made->target, "table.jpg", &table),
         *strips = fixture_read(made->target, "seams.jpg", &seams);
    assert_true(table > 10000 && seams > 10000 && page > (table + seams) * 4 / 3); /* the page holds both, in base64 */
    free(text);
    free(above);
    free(strips);
}

/* All that an inspection gives in one step; and what it does not give any more goes. */
static void all_of_it_in_one_step(void **state)
{
    bench *made = *state;
    sw_photo photo;
    sw_plan plan;
    sw_recheck recheck;
    sw_inspection before;
    const sw_paper a4 = {"A4", 210, 297};
    fixture_photo(&made->inspection, &photo);
    fixture_inspection(&before);
    plan_fixture(&made->inspection, &plan);
    assert_int_equal(sw_recheck_make(&before, &made->inspection, NULL, NULL, 0, &recheck, &made->err), SW_OK);
    const sw_comparison since = {&recheck, &before};
    sw_results results = {
        .inspection = &made->inspection, .photo = &photo, .since = &since, .plan = &plan, .paper = &a4};
    assert_int_equal(sw_report_write_all(&results, made->target, &made->err), SW_OK);
    assert_int_equal(entries(made->target), 11);
    assert_true(has(made->target, "recheck.html") && has(made->target, "plan.json") && has(made->target, "strips.pdf"));
    assert_false(has(made->target, "plan.html"));
    results.plan = NULL; /* it says stop */
    assert_int_equal(sw_report_write_all(&results, made->target, &made->err), SW_OK);
    assert_int_equal(entries(made->target), 9);
    assert_false(has(made->target, "strips.pdf"));
    results.photo = NULL;
    results.since = NULL;
    assert_int_equal(sw_report_write_all(&results, made->target, &made->err), SW_OK);
    assert_int_equal(entries(made->target), 3);
    sw_recheck_free(&recheck);
    sw_plan_free(&plan);
    sw_inspection_free(&before);
    sw_photo_free(&photo);
}

static void pictures_without_a_photo_leave_nothing(void **state)
{
    bench *made = *state;
    assert_int_equal(sw_report_write(&made->inspection, NULL, made->target, 1, &made->err), SW_BAD_INPUT);
    assert_int_equal(entries(made->room), 0);
}

static void a_slash_at_the_end_is_fine(void **state)
{
    bench *made = *state;
    strcat(made->target, "//");
    assert_int_equal(write_report(made), SW_OK);
    assert_int_equal(entries(made->room), 1);
}

static void an_empty_folder_is_used(void **state)
{
    bench *made = *state;
    mkdir(made->target, 0777);
    assert_int_equal(write_report(made), SW_OK);
    assert_int_equal(entries(made->room), 1);
    assert_int_equal(entries(made->target), 3);
}

static void our_own_is_replaced_and_the_users_files_stay(void **state)
{
    bench *made = *state;
    assert_int_equal(write_report(made), SW_OK);
    put_file(made->target, "notes.txt", "sanded B2 on Tuesday");
    put_file(made->target, "report.html", "of last time");
    put_file(made->target, "seams.csv", "of last time");
    assert_int_equal(write_report(made), SW_OK);
    assert_int_equal(entries(made->room), 1);
    assert_int_equal(entries(made->target), 4);
    char *notes = fixture_read(made->target, "notes.txt", NULL), *seams = fixture_read(made->target, "seams.csv", NULL);
    assert_string_equal(notes, "sanded B2 on Tuesday");
    assert_ptr_equal(strstr(seams, "seam,at_mm"), seams);
    assert_false(has(made->target, "report.html")); /* of the former photo: must not stand beside the new figures */
    free(notes);
    free(seams);
}

static void through_a_link_the_folder_itself_is_replaced(void **state)
{
    bench *made = *state;
    char real[160];
    snprintf(real, sizeof real, "%s/real", made->room);
    mkdir(real, 0777);
    assert_int_equal(symlink(real, made->target), 0);
    assert_int_equal(write_report(made), SW_OK);
    assert_int_equal(entries(real), 3);
    struct stat link;
    assert_int_equal(lstat(made->target, &link), 0);
    assert_true(S_ISLNK(link.st_mode));
}

static void foreign_folders_are_left_alone(void **state)
{
    bench *made = *state;
    mkdir(made->target, 0777);
    put_file(made->target, "inspection.json", "{\"format\": \"something else\"}");
    assert_int_equal(write_report(made), SW_CANNOT_WRITE);
    assert_non_null(strstr(made->err.text, made->target));
    assert_non_null(strstr(made->err.text, "holds no inspection of ours"));
    assert_int_equal(entries(made->room), 1);
    assert_int_equal(entries(made->target), 1);
    char *text = fixture_read(made->target, "inspection.json", NULL);
    assert_string_equal(text, "{\"format\": \"something else\"}");
    free(text);
}

static void a_file_in_the_way_is_left_alone(void **state)
{
    bench *made = *state;
    put_file(made->room, "valley.seams", "mine");
    assert_int_equal(write_report(made), SW_CANNOT_WRITE);
    assert_non_null(strstr(made->err.text, "there is a file of this name"));
    assert_int_equal(entries(made->room), 1);
    char *text = fixture_read(made->room, "valley.seams", NULL);
    assert_string_equal(text, "mine");
    free(text);
}

static void the_current_folder_is_refused(void **state)
{
    bench *made = *state;
    char before[1024];
    assert_non_null(getcwd(before, sizeof before));
    assert_int_equal(chdir(made->room), 0);
    snprintf(made->target, sizeof made->target, ".");
    sw_status status = write_report(made);
    assert_int_equal(chdir(before), 0);
    assert_int_equal(status, SW_CANNOT_WRITE);
    assert_int_equal(entries(made->room), 0);
}

static void no_parent_no_report(void **state)
{
    bench *made = *state;
    snprintf(made->target, sizeof made->target, "%s/missing/valley.seams", made->room);
    assert_int_equal(write_report(made), SW_CANNOT_WRITE);
    assert_non_null(strstr(made->err.text, made->target));
    assert_int_equal(entries(made->room), 0);
    snprintf(made->target, sizeof made->target,
             "/proc/valley.seams"); /* no one may make folders there, not even root */
    assert_int_equal(write_report(made), SW_CANNOT_WRITE);
    made->target[0] = 0;
    assert_int_equal(write_report(made), SW_BAD_INPUT);
}

static void a_folder_without_leave_to_write(void **state)
{
    bench *made = *state;
    uid_t me = geteuid();
    chmod(made->room, 0555);
    if (me == 0 && seteuid(NOBODY)) { /* root may write everywhere */
        print_message("SKIPPED: root may write everywhere and cannot become anybody else here\n");
        skip();
    }
    sw_status status = write_report(made);
    assert_int_equal(seteuid(me), 0);
    chmod(made->room, 0755);
    assert_int_equal(status, SW_CANNOT_WRITE);
    assert_int_equal(entries(made->room), 0);
}

/* A disk that fills up in the middle of a file: the system lets no file grow above 20000 bytes. */
static sw_status write_on_a_full_disk(bench *made)
{
    struct rlimit before, tight;
    signal(SIGXFSZ, SIG_IGN);
    getrlimit(RLIMIT_FSIZE, &before);
    tight = before;
    tight.rlim_cur = 20000;
    setrlimit(RLIMIT_FSIZE, &tight);
    sw_status status = write_report(made);
    setrlimit(RLIMIT_FSIZE, &before);
    return status;
}

static void a_full_disk_leaves_nothing(void **state)
{
    bench *made = *state;
    assert_int_equal(write_on_a_full_disk(made), SW_CANNOT_WRITE);
    assert_non_null(strstr(made->err.text, "is the disk full?"));
    assert_int_equal(entries(made->room), 0);
}

static void a_full_disk_keeps_the_former_report(void **state)
{
    bench *made = *state;
    assert_int_equal(write_report(made), SW_OK);
    char *before = fixture_read(made->target, "inspection.json", NULL);
    made->inspection.tolerance_mm = 0.7;
    assert_int_equal(write_on_a_full_disk(made), SW_CANNOT_WRITE);
    char *after = fixture_read(made->target, "inspection.json", NULL);
    assert_string_equal(after, before);
    assert_int_equal(entries(made->room), 1);
    free(before);
    free(after);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_new_folder_is_whole, set_up, tear_down),
        cmocka_unit_test_setup_teardown(with_pictures_there_are_seven_files, set_up, tear_down),
        cmocka_unit_test_setup_teardown(all_of_it_in_one_step, set_up, tear_down),
        cmocka_unit_test_setup_teardown(pictures_without_a_photo_leave_nothing, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_slash_at_the_end_is_fine, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_empty_folder_is_used, set_up, tear_down),
        cmocka_unit_test_setup_teardown(our_own_is_replaced_and_the_users_files_stay, set_up, tear_down),
        cmocka_unit_test_setup_teardown(through_a_link_the_folder_itself_is_replaced, set_up, tear_down),
        cmocka_unit_test_setup_teardown(foreign_folders_are_left_alone, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_file_in_the_way_is_left_alone, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_current_folder_is_refused, set_up, tear_down),
        cmocka_unit_test_setup_teardown(no_parent_no_report, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_folder_without_leave_to_write, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_full_disk_leaves_nothing, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_full_disk_keeps_the_former_report, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
