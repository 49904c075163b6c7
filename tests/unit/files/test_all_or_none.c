/* Files and folders that are there whole or not at all, whichever of the system's calls fails, on file systems that can
 * exchange two names and on those that cannot. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <dirent.h>
#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "files/all_or_none.h"
#include "files/file.h"
#include "support/fixture.h"

/* The calls that change names, counted; the one numbered `failing` fails. */
static int calls, failing, syncs, sync_failing;
static bool can_exchange;

int __real_rename(const char *from, const char *to);
int __real_renameat2(int at_from, const char *from, int at_to, const char *to, unsigned flags);
int __real_fsync(int handle);
int __wrap_rename(const char *from, const char *to);
int __wrap_renameat2(int at_from, const char *from, int at_to, const char *to, unsigned flags);
int __wrap_fsync(int handle);

static bool fails_now(void)
{
    bool now = ++calls == failing;
    if (now)
        errno = EACCES;
    return now;
}

int __wrap_rename(const char *from, const char *to)
{
    return fails_now() ? -1 : __real_rename(from, to);
}

int __wrap_renameat2(int at_from, const char *from, int at_to, const char *to, unsigned flags)
{
    if (!can_exchange) {
        errno = EINVAL;
        return -1;
    }
    return fails_now() ? -1 : __real_renameat2(at_from, from, at_to, to, flags);
}

int __wrap_fsync(int handle)
{
    if (++syncs == sync_failing) {
        errno = EIO;
        return -1;
    }
    return __real_fsync(handle);
}

static char room[64], target[96]; /* a folder of the test's own, and where the result shall be in it */

static void start(bool exchange)
{
    calls = failing = syncs = sync_failing = 0;
    can_exchange = exchange;
    fixture_folder(room);
    snprintf(target, sizeof target, "%s/valley", room);
}

static void put_file(const char *name, const char *text)
{
    char path[256];
    snprintf(path, sizeof path, "%s/%s", target, name);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
}

static void holds(const char *name, const char *expected)
{
    char *text = fixture_read(target, name, NULL);
    if (expected) {
        assert_non_null(text);
        assert_string_equal(text, expected);
    } else {
        assert_null(text);
    }
    free(text);
}

static int entries(const char *folder)
{
    int count = -2; /* "." and ".." */
    DIR *open = opendir(folder);
    assert_non_null(open);
    while (readdir(open))
        count++;
    closedir(open);
    return count;
}

static sw_status write_new(size_t which, char *const *paths, const void *context, sw_error *err)
{
    (void)err;
    FILE *file = fopen(paths[which], "wb");
    assert_non_null(file);
    fputs(context, file);
    fclose(file);
    return SW_OK;
}

static const char OLD[] = "{\"format\": \"ours\"}";
static const sw_files THREE = {{SW_OVERWRITE_IN_OURS, (const char *const[]){"a.json", "c", "b", NULL},
                                (const sw_proof[]){{"a.json", "ours"}, {NULL, NULL}}, "is somebody's", "is no folder"},
                               3,
                               write_new,
                               "new"};

/* A folder that holds our a.json and b of an earlier time, and somebody's notes; there is no c yet. */
static void make_old(void)
{
    assert_int_equal(mkdir(target, 0777), 0);
    put_file("a.json", OLD);
    put_file("b", "older");
    put_file("notes", "mine");
}

static void is_old(void)
{
    holds("a.json", OLD);
    holds("b", "older");
    holds("c", NULL);
    holds("notes", "mine");
    assert_int_equal(entries(target), 3);
    assert_int_equal(entries(room), 1);
}

static void is_new(void)
{
    holds("a.json", "new");
    holds("b", "new");
    holds("c", "new");
    holds("notes", "mine");
    assert_int_equal(entries(target), 4);
    assert_int_equal(entries(room), 1);
}

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

static void files_by_exchange(void **state)
{
    (void)state;
    fail_each(&THREE, true, 3); /* a.json changes places, c takes its own, b changes places */
}

static void files_without_exchange(void **state)
{
    (void)state;
    fail_each(&THREE, false, 7); /* three renames each for a.json and b */
}

static void a_folder_by_exchange(void **state)
{
    (void)state;
    sw_error err = {""};
    sw_files whole = THREE;
    whole.rule.how = SW_OVERWRITE_WHOLE;
    start(true);
    make_old();
    failing = 1;
    assert_int_equal(sw_files_write(&whole, target, &err), SW_CANNOT_WRITE);
    assert_int_equal(calls, 1);
    is_old();
    failing = calls = 0;
    assert_int_equal(sw_files_write(&whole, target, &err), SW_OK);
    assert_int_equal(calls, 2); /* and the notes */
    is_new();
    fixture_remove(room);
}

static void a_folder_without_exchange(void **state)
{
    (void)state;
    sw_files whole = THREE;
    whole.rule.how = SW_OVERWRITE_WHOLE;
    for (int at = 1; at <= 4; at++) {
        sw_error err = {""};
        start(false);
        make_old();
        failing = at < 4 ? at : 0;
        assert_int_equal(sw_files_write(&whole, target, &err), at < 4 ? SW_CANNOT_WRITE : SW_OK);
        if (at < 4)
            is_old();
        else
            is_new();
        fixture_remove(room);
    }
}

/* What cannot be carried over into the new folder is not lost: the old one stays beside it, with that in it. */
static void notes_that_cannot_move_stay(void **state)
{
    (void)state;
    sw_error err = {""};
    sw_files whole = THREE;
    whole.rule.how = SW_OVERWRITE_WHOLE;
    start(true);
    make_old();
    failing = 2;
    assert_int_equal(sw_files_write(&whole, target, &err), SW_OK);
    holds("c", "new");
    holds("notes", NULL);
    assert_int_equal(entries(room), 2);
    DIR *open = opendir(room);
    int found = 0;
    for (struct dirent *entry; (entry = readdir(open));) {
        char old[400];
        snprintf(old, sizeof old, "%s/%s/notes", room, entry->d_name);
        found += access(old, F_OK) == 0;
    }
    closedir(open);
    assert_int_equal(found, 1);
    fixture_remove(room);
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
    assert_non_null(strstr(err.text, "valley/b: is somebody's"));
    holds("b", "somebody's");
    put_file("a.json", OLD);
    assert_int_equal(sw_files_write(&any, target, &err), SW_OK);
    is_new();
    fixture_remove(room);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(files_by_exchange),           cmocka_unit_test(files_without_exchange),
        cmocka_unit_test(a_folder_by_exchange),        cmocka_unit_test(a_folder_without_exchange),
        cmocka_unit_test(notes_that_cannot_move_stay), cmocka_unit_test(a_folder_in_the_way),
        cmocka_unit_test(nothing_is_put_unsynced),     cmocka_unit_test(one_file),
        cmocka_unit_test(the_rule_for_any_folder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
