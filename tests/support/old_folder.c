#include "support/old_folder.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "support/fixture.h"

/* The calls that change names, counted; the one numbered `failing` fails. */
int calls, failing, syncs, sync_failing;
bool can_exchange, can_link;
/* All calls that change anything, counted; before the one numbered `dying` the process ends as if it was killed. */
int steps, dying;

int __real_rename(const char *from, const char *to);
int __real_renameat2(int at_from, const char *from, int at_to, const char *to, unsigned flags);
int __real_fsync(int handle);
int __wrap_rename(const char *from, const char *to);
int __wrap_renameat2(int at_from, const char *from, int at_to, const char *to, unsigned flags);
int __wrap_fsync(int handle);

int __real_linkat(int at_from, const char *from, int at_to, const char *to, int flags);
int __real_unlink(const char *path);
int __real_rmdir(const char *path);
int __real_mkdir(const char *path, mode_t mode);
int __wrap_linkat(int at_from, const char *from, int at_to, const char *to, int flags);
int __wrap_unlink(const char *path);
int __wrap_rmdir(const char *path);
int __wrap_mkdir(const char *path, mode_t mode);

static void step(void)
{
    if (++steps == dying)
        _exit(9);
}

int __wrap_linkat(int at_from, const char *from, int at_to, const char *to, int flags)
{
    step();
    errno = EPERM;
    return can_link ? __real_linkat(at_from, from, at_to, to, flags) : -1;
}

int __wrap_unlink(const char *path)
{
    step();
    return __real_unlink(path);
}

int __wrap_rmdir(const char *path)
{
    step();
    return __real_rmdir(path);
}

int __wrap_mkdir(const char *path, mode_t mode)
{
    step();
    return __real_mkdir(path, mode);
}

static bool fails_now(void)
{
    step();
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
    step();
    if (++syncs == sync_failing) {
        errno = EIO;
        return -1;
    }
    return __real_fsync(handle);
}

char room[64], target[96]; /* a folder of the test's own, and where the result shall be in it */

void start(bool exchange)
{
    calls = failing = syncs = sync_failing = steps = dying = 0;
    can_exchange = exchange;
    can_link = true;
    fixture_folder(room);
    snprintf(target, sizeof target, "%s/valley", room);
}

void put_file(const char *name, const char *text)
{
    char path[256];
    snprintf(path, sizeof path, "%s/%s", target, name);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
}

void holds(const char *name, const char *expected)
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

int entries(const char *folder)
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

const char OLD[20] = "{\"format\": \"ours\"}";
static const sw_group OURS[] = {{"a.json", "ours", (const char *const[]){"a.json", "b", "c", NULL}},
                                {"p.json", "plan", (const char *const[]){"p.json", "p.html", NULL}},
                                {NULL, NULL, NULL}};
const sw_files THREE = {{SW_OVERWRITE_IN_OURS, OURS, (const char *const[]){"a.json", NULL}, "is somebody's",
                         "is somebody else's", "is no folder"},
                        (const char *const[]){"a.json", "c", "b", NULL},
                        write_new,
                        "new"};

/* A folder that holds our a.json and b of an earlier time, and somebody's notes; there is no c yet. */
void make_old(void)
{
    assert_int_equal(mkdir(target, 0777), 0);
    put_file("a.json", OLD);
    put_file("b", "older");
    put_file("notes", "mine");
}

void is_old(void)
{
    holds("a.json", OLD);
    holds("b", "older");
    holds("c", NULL);
    holds("notes", "mine");
    assert_int_equal(entries(target), 3);
    assert_int_equal(entries(room), 1);
}

void is_new(void)
{
    holds("a.json", "new");
    holds("b", "new");
    holds("c", "new");
    holds("notes", "mine");
    assert_int_equal(entries(target), 4);
    assert_int_equal(entries(room), 1);
}

sw_files whole_folder(void)
{
    sw_files whole = THREE;
    whole.rule.how = SW_OVERWRITE_WHOLE;
    return whole;
}

void put_sub(void)
{
    char path[256];
    snprintf(path, sizeof path, "%s/sub", target);
    assert_int_equal(mkdir(path, 0777), 0);
    put_file("sub/notes", "more");
}
