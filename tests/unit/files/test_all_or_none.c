/* Files and folders that are there whole or not at all, whichever of the system's calls fails, on file systems that can
 * exchange two names and on those that cannot. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include "files/file.h"
#include "files/overwrite.h"
#include "support/fixture.h"
#include "support/old_folder.h"

/* Fails each call in turn, until there is none left to fail; the folder is the old one whole, then the new one. */
static void fail_each(const sw_files *files, bool exchange, int calls_needed)
{
    for (int at = 1; at <= calls_needed + 1; at++) {
        sw_error err = {""};
        start(exchange);
        make_old();
        failing = at;
        sw_status status = sw_files_write(files, target, &err);
        if (at <= calls_needed) {
            assert_int_equal(status, SW_CANNOT_WRITE);
            assert_non_null(strstr(err.text, target));
            is_old();
        } else {
            assert_int_equal(status, SW_OK);
            assert_int_equal(calls, calls_needed);
            is_new();
        }
        fixture_remove(room);
    }
}

static void by_exchange(void **state)
{
    (void)state;
    const sw_files whole = whole_folder();
    fail_each(&THREE, true, 2); /* two empty folders to see that it can be done, then all in one step */
    fail_each(&whole, true, 2);
}

static void without_exchange(void **state)
{
    (void)state;
    const sw_files whole = whole_folder();
    fail_each(&THREE, false, 6); /* a.json and b leave, three come, and they count */
    fail_each(&whole, false, 6);
}

/* Files cannot have second names (a memory card): they take their places one after the other. */
static void without_links(void **state)
{
    (void)state;
    sw_error err = {""};
    start(true);
    make_old();
    can_link = false;
    assert_int_equal(sw_files_write(&THREE, target, &err), SW_OK);
    assert_int_equal(calls, 1 + 6);
    is_new();
    fixture_remove(room);
}

/* What cannot be carried over into the new folder is not lost: the old one stays beside it, with that in it, until the
 * next run can. */
static void folders_that_cannot_move_wait(void **state)
{
    (void)state;
    sw_error err = {""};
    const sw_files whole = whole_folder();
    start(true);
    make_old();
    put_sub();
    failing = 3;
    assert_int_equal(sw_files_write(&whole, target, &err), SW_OK);
    holds("c", "new");
    holds("sub/notes", NULL);
    assert_int_equal(entries(room), 2);
    sw_stage_recover(target);
    holds("sub/notes", "more");
    assert_int_equal(entries(room), 1);
    fixture_remove(room);
}

/* What was made from the files that are made anew goes with them, in the same step, if it is ours. */
static void what_followed_goes(void **state)
{
    (void)state;
    const sw_files whole = whole_folder();
    for (int ours = 0; ours < 2; ours++)
        for (int exchange = 0; exchange < 2; exchange++) {
            start(exchange);
            make_old();
            put_file("p.html", "a plan");
            put_file("p.json", ours ? "{\"format\": \"plan\"}" : "{}");
            assert_int_equal(sw_files_write(&THREE, target, NULL), SW_OK);
            holds("p.html", "a plan");
            put_file("a.json", OLD);
            assert_int_equal(sw_files_write(&whole, target, NULL), SW_OK);
            holds("c", "new");
            holds("notes", "mine");
            holds("p.html", ours ? NULL : "a plan");
            holds("p.json", ours ? NULL : "{}");
            assert_int_equal(entries(room), 1);
            fixture_remove(room);
        }
}

/* A proof that cannot be read just now (no more open files) shows nothing: neither that the files are ours nor that they are
 * somebody's and may stay beside what they do not belong to. */
static void a_proof_that_cannot_be_read(void **state)
{
    (void)state;
    const sw_files whole = whole_folder();
    sw_changes changes;
    sw_error err = {""};
    struct rlimit usual, none;
    bool exists;
    start(true);
    make_old();
    put_file("p.json", "{\"format\": \"plan\"}");
    assert_int_equal(getrlimit(RLIMIT_NOFILE, &usual), 0);
    none = usual;
    none.rlim_cur = 0;
    assert_int_equal(setrlimit(RLIMIT_NOFILE, &none), 0);
    sw_status checked = sw_overwrite_check(&whole.rule, target, &exists, NULL);
    sw_status told = sw_overwrite_changes(&whole.rule, target, whole.names, &changes, &err);
    assert_int_equal(setrlimit(RLIMIT_NOFILE, &usual), 0);
    assert_int_equal(checked, SW_CANNOT_WRITE);
    assert_int_equal(told, SW_CANNOT_WRITE);
    assert_non_null(strstr(err.text, "a.json: cannot be read"));
    assert_int_equal(sw_overwrite_changes(&whole.rule, target, whole.names, &changes, NULL), SW_OK);
    fixture_remove(room);
}

/* The folder one stands in stays the same folder; so does one whose parent may not be written to. */
static void the_current_folder_stays(void **state)
{
    (void)state;
    char *back = getcwd(NULL, 0);
    start(true);
    make_old();
    assert_int_equal(chdir(target), 0);
    assert_int_equal(sw_files_write(&THREE, ".", NULL), SW_OK);
    assert_int_equal(access("c", F_OK), 0);
    assert_int_equal(chdir(back), 0);
    is_new();
    fixture_remove(room);
    free(back);
}

/* A folder in the way of one file is left alone, and so are the files before it. */
static void a_folder_in_the_way(void **state)
{
    (void)state;
    sw_error err = {""};
    char path[256];
    start(true);
    make_old();
    snprintf(path, sizeof path, "%s/c", target);
    assert_int_equal(mkdir(path, 0777), 0);
    assert_int_equal(sw_files_write(&THREE, target, &err), SW_CANNOT_WRITE);
    assert_non_null(strstr(err.text, "/c: is a folder"));
    assert_int_equal(rmdir(path), 0);
    is_old();
    fixture_remove(room);
}

/* Data that may not have reached the disk is not put in the old one's place. */
static void nothing_is_put_unsynced(void **state)
{
    (void)state;
    sw_files whole = THREE;
    whole.rule.how = SW_OVERWRITE_WHOLE;
    for (int at = 1; at <= 3; at++) {
        sw_error err = {""};
        start(true);
        make_old();
        sync_failing = at;
        assert_int_equal(sw_files_write(at % 2 ? &whole : &THREE, target, &err), SW_CANNOT_WRITE);
        is_old();
        fixture_remove(room);
    }
}

static void one_file(void **state)
{
    (void)state;
    for (int fault = 0; fault < 3; fault++) { /* none, its rename, its sync */
        sw_file file;
        sw_error err = {""};
        char path[128];
        start(true);
        assert_int_equal(mkdir(target, 0777), 0);
        put_file("card", "older");
        snprintf(path, sizeof path, "%s/card", target);
        assert_int_equal(sw_file_begin(&file, path, &err), SW_OK);
        fputs("new", file.stream);
        holds("card", "older");
        failing = fault == 1;
        sync_failing = fault == 2;
        assert_int_equal(sw_file_finish(&file, path, &err), fault ? SW_CANNOT_WRITE : SW_OK);
        holds("card", fault ? "older" : "new");
        assert_int_equal(entries(target), 1);
        assert_int_equal(syncs, fault ? 1 : 2); /* the file, and the folder that holds its name */
        sw_file_end(&file);
        fixture_remove(room);
    }
}

static void the_rule_for_any_folder(void **state)
{
    (void)state;
    sw_error err = {""};
    sw_files any = THREE;
    any.rule.how = SW_OVERWRITE_IN_ANY;
    start(true);
    assert_int_equal(mkdir(target, 0777), 0);
    put_file("notes", "mine");
    assert_int_equal(sw_files_write(&THREE, target, &err), SW_CANNOT_WRITE);
    assert_non_null(strstr(err.text, "valley: is somebody's"));
    put_file("b", "somebody's");
    assert_int_equal(sw_files_write(&any, target, &err), SW_CANNOT_WRITE);
    assert_non_null(strstr(err.text, "valley/b: is somebody else's"));
    holds("b", "somebody's");
    put_file("a.json", OLD);
    assert_int_equal(sw_files_write(&any, target, &err), SW_OK);
    is_new();
    fixture_remove(room);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(by_exchange),
        cmocka_unit_test(without_exchange),
        cmocka_unit_test(without_links),
        cmocka_unit_test(folders_that_cannot_move_wait),
        cmocka_unit_test(what_followed_goes),
        cmocka_unit_test(a_proof_that_cannot_be_read),
        cmocka_unit_test(the_current_folder_stays),
        cmocka_unit_test(a_folder_in_the_way),
        cmocka_unit_test(nothing_is_put_unsynced),
        cmocka_unit_test(one_file),
        cmocka_unit_test(the_rule_for_any_folder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
