/* settle.c - a stage put in order, whether its run ended, failed or was killed. */
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "files/hold.h"
#include "files/path.h"
#include "files/put.h"
#include "files/stage.h"
#include "files/stage_names.h"

typedef struct settling {
    const char *target;
    sw_stage_noted noted;
    char *fresh, *old, *gone, *names;
    bool exchanged; /* `new` is the old folder */
} settling;

static bool is_there(const char *path)
{
    struct stat there;
    return path && lstat(path, &there) == 0;
}

static bool is_same(const char *a, const char *b)
{
    struct stat one, other;
    return lstat(a, &one) == 0 && lstat(b, &other) == 0 && one.st_dev == other.st_dev && one.st_ino == other.st_ino;
}

/* ---- files that took their places one by one ---- */

/* A file that stood there returns; one that took a place where none was leaves. */
static void undo_change(const settling *s, const sw_change *change)
{
    char *was = sw_path_in(s->old, change->name), *at = sw_path_in(s->target, change->name);
    char *waiting = sw_path_in(s->fresh, change->name);
    if (was && at && waiting && change->was_there && is_there(was))
        rename(was, at);
    else if (was && at && waiting && !change->was_there && !is_there(waiting))
        unlink(at);
    free(was);
    free(at);
    free(waiting);
}

/* From the last to the first, as they came: new ones leave before old ones return. */
static void undo(const settling *s)
{
    for (int was_there = 0; was_there < 2; was_there++)
        for (size_t i = s->noted.changes.count; i-- > 0;)
            if (s->noted.changes.list[i].was_there == was_there)
                undo_change(s, &s->noted.changes.list[i]);
    rmdir(s->old);
}

/* ---- a folder that was, or was to be, exchanged ---- */

static bool has_other_name(const char *path)
{
    struct stat there;
    return lstat(path, &there) == 0 && there.st_nlink > 1;
}

/* Our own file goes, and so does a second name of one that stands in the target. After the exchange the rest (a folder, a
 * file that came while we wrote) goes along into the new folder. Before it there is no rest, unless somebody moved or
 * removed a file since: what has no other name by now is given back, as far as nothing stands there. */
static bool clear_one(const char *path, const char *name, void *context)
{
    const settling *s = context;
    char *at = sw_path_in(s->target, name);
    if (!at)
        return true;
    if (sw_changes_name(&s->noted.changes, name) || is_same(path, at) || (!s->exchanged && has_other_name(path)))
        unlink(path);
    else if (s->exchanged || !is_there(at))
        rename(path, at);
    free(at);
    return true;
}

static bool remove_named(const char *path, const char *name, void *context)
{
    const settling *s = context;
    if (sw_changes_name(&s->noted.changes, name))
        unlink(path);
    return true;
}

/* ---- all of it ---- */

static void settle_noted(settling *s)
{
    struct stat fresh;
    s->exchanged = stat(s->fresh, &fresh) == 0 && fresh.st_ino != s->noted.fresh;
    if (is_there(s->old))
        undo(s);
    if (is_there(s->old)) /* not all could return: what waits still tells what did not come in */
        return;
    sw_path_each(s->fresh, clear_one, s);
    sw_path_each(s->gone, remove_named, s);
}

void sw_stage_settle(const char *folder, const char *target)
{
    settling s = {.target = target,
                  .fresh = sw_path_in(folder, SW_STAGE_NEW),
                  .old = sw_path_in(folder, SW_STAGE_OLD),
                  .gone = sw_path_in(folder, SW_STAGE_GONE),
                  .names = sw_path_in(folder, SW_STAGE_NAMES)};
    if (s.fresh && s.old && s.gone && s.names) {
        if (sw_stage_read_note(folder, target, &s.noted))
            settle_noted(&s);
        rmdir(s.fresh); /* only if nothing is in it any more */
        rmdir(s.gone);
        if (!is_there(s.fresh) && !is_there(s.gone) && !is_there(s.old))
            unlink(s.names);
        rmdir(folder);
    }
    free(s.fresh);
    free(s.old);
    free(s.gone);
    free(s.names);
}

/* ---- dead runs' ---- */

/* Where the file system cannot tell who holds it, the number in its name does. */
static bool is_dead(const char *folder)
{
    const char *number = strrchr(folder, '.');
    long id = number ? strtol(number + sizeof ".part-" - 1, NULL, 10) : 0;
    return id > 0 && kill((pid_t)id, 0) != 0 && errno == ESRCH;
}

static bool recover_one(const char *path, const char *name, void *context)
{
    const char *target = context;
    struct stat there;
    if (!sw_path_is_beside(target, name) || lstat(path, &there) != 0 || !S_ISDIR(there.st_mode))
        return true;
    int hold = sw_hold_try(path);
    if (hold != SW_HOLD_NONE || (errno != EWOULDBLOCK && is_dead(path)))
        sw_stage_settle(path, target);
    sw_hold_end(hold);
    return true;
}

void sw_stage_recover(const char *target)
{
    char *whole = realpath(target, NULL), *plain = whole ? whole : strdup(target);
    for (size_t length = plain ? strlen(plain) : 0; length > 1 && plain[length - 1] == '/'; length--)
        plain[length - 1] = 0;
    char *folder = plain ? sw_path_folder(plain) : NULL;
    if (folder) {
        sw_path_each(folder, recover_one, plain);
        sw_path_each(plain, recover_one, plain);
    }
    free(folder);
    free(plain);
}
