/* Runs that are killed at every step, and the next one that puts in order what they left. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "support/fixture.h"
#include "support/old_folder.h"

/* Writes in a process of its own, which ends before its step number `at`. Was there such a step? */
static bool dies(const sw_files *files, int at)
{
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        steps = 0; /* making the old folder took some */
        dying = at;
        _exit(sw_files_write(files, target, NULL) == SW_OK ? 0 : 1);
    }
    int status;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) != 1);
    return WEXITSTATUS(status) == 9;
}

static bool is_whole_now(const char *name, const char *expected)
{
    char *text = fixture_read(target, name, NULL);
    bool is = text ? expected && strcmp(text, expected) == 0 : !expected;
    free(text);
    return is;
}

/* Old ones beside new ones are seen at no moment, even before a dead run's leftovers are put in order. */
static void is_not_mixed(void)
{
    bool any_new = is_whole_now("a.json", "new") || is_whole_now("b", "new") || is_whole_now("c", "new");
    bool any_old = is_whole_now("a.json", OLD) || is_whole_now("b", "older");
    assert_false(any_new && any_old);
    holds("notes", "mine");
}

/* A run that is killed at any step, and the next one that looks there. */
static void kill_each(const sw_files *files, bool exchange, bool link)
{
    bool died = true, was_new = false;
    int steps_died = 0;
    for (int at = 1; died; at++) {
        start(exchange);
        can_link = link;
        make_old();
        died = dies(files, at);
        steps_died += died;
        is_not_mixed();
        sw_stage_recover(target);
        was_new |= is_whole_now("c", "new"); /* once it is the new one, it stays so */
        if (was_new)
            is_new();
        else
            is_old();
        fixture_remove(room);
        assert_true(at < 200);
    }
    assert_true(was_new);
    assert_true(steps_died > 15); /* stage, three files, their places: there are that many steps at least */
}

static void killed_by_exchange(void **state)
{
    (void)state;
    const sw_files whole = whole_folder();
    kill_each(&THREE, true, true);
    kill_each(&whole, true, true);
}

static void killed_without_exchange(void **state)
{
    (void)state;
    const sw_files whole = whole_folder();
    kill_each(&THREE, false, true);
    kill_each(&whole, true, false);
}

/* A run that puts in order what a dead one left is killed, too. */
static void killed_while_recovering(void **state)
{
    (void)state;
    for (int way = 0; way < 2; way++)
        for (int at = 1; at < 40; at++)
            for (int again = 1; again < 12; again += 3) {
                start(way == 0);
                make_old();
                bool died = dies(&THREE, at);
                pid_t child = fork();
                if (child == 0) {
                    steps = 0;
                    dying = again;
                    sw_stage_recover(target);
                    _exit(0);
                }
                assert_int_equal(waitpid(child, NULL, 0), child);
                sw_stage_recover(target);
                if (is_whole_now("c", "new"))
                    is_new();
                else
                    is_old();
                fixture_remove(room);
                if (!died)
                    at = 40;
            }
}

/* What a living run is filling is let alone. */
static void a_living_run_is_let_alone(void **state)
{
    (void)state;
    start(true);
    make_old();
    sw_changes changes = {{{"b", true, true}}, 1};
    sw_stage stage;
    assert_int_equal(sw_stage_begin(target, false, &changes, &stage, NULL), SW_OK);
    assert_int_equal(sw_stage_note(&stage, NULL), SW_OK);
    pid_t child = fork();
    if (child == 0) {
        close(stage.hold);
        sw_stage_recover(target);
        _exit(0);
    }
    assert_int_equal(waitpid(child, NULL, 0), child);
    assert_int_equal(access(stage.fresh, F_OK), 0);
    sw_stage_end(&stage);
    is_old();
    fixture_remove(room);
}

/* A folder in the folder cannot have a second name: it follows after the exchange, at the next run if need be. */
static void folders_go_along(void **state)
{
    (void)state;
    const sw_files whole = whole_folder();
    bool died = true;
    for (int at = 1; died; at++) {
        start(true);
        make_old();
        put_sub();
        died = dies(&whole, at);
        sw_stage_recover(target);
        holds("sub/notes", "more");
        holds("notes", "mine");
        assert_int_equal(entries(room), 1);
        fixture_remove(room);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(killed_by_exchange),      cmocka_unit_test(killed_without_exchange),
        cmocka_unit_test(killed_while_recovering), cmocka_unit_test(a_living_run_is_let_alone),
        cmocka_unit_test(folders_go_along),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
