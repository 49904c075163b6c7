#define _GNU_SOURCE /* renameat2 */
#include "files/stage.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "files/hold.h"
#include "files/path.h"
#include "files/put.h"
#include "files/stage_names.h"

enum { NAME_TRIES = 100 }; /* stages that this process number has already, or has left */

bool sw_changes_name(const sw_changes *changes, const char *name)
{
    for (size_t i = 0; i < changes->count; i++)
        if (strcmp(changes->list[i].name, name) == 0)
            return true;
    return false;
}

static char *name_stage(const char *target, bool inside, int number)
{
    if (!inside)
        return sw_path_beside(target, number);
    char *in = sw_path_in(target, target + sw_path_name_at(target));
    char *made = in ? sw_path_beside(in, number) : NULL;
    free(in);
    return made;
}

static bool make_in(const char *folder, const char *name)
{
    char *path = sw_path_in(folder, name);
    bool made = path && mkdir(path, 0777) == 0;
    int why = path ? errno : ENOMEM;
    free(path);
    errno = why;
    return made;
}

/* A stage of this name, held; another run that tidies up may have been quicker than the hold. */
static bool make_one(sw_stage *stage, const char *name)
{
    if (mkdir(name, 0777) != 0)
        return false;
    stage->hold = sw_hold_try(name);
    bool stays = stage->hold != SW_HOLD_NONE || access(name, F_OK) == 0;
    errno = EEXIST;
    return stays;
}

static bool make_held(sw_stage *stage, bool inside)
{
    bool made = false;
    errno = EEXIST;
    for (int number = 0; !made && errno == EEXIST && number < NAME_TRIES; number++) {
        free(stage->folder);
        stage->folder = name_stage(stage->target, inside, number);
        if (stage->folder)
            made = make_one(stage, stage->folder);
        else
            errno = ENOMEM;
    }
    if (made)
        return true;
    int why = errno;
    free(stage->folder);
    stage->folder = NULL;
    errno = why;
    return false;
}

sw_status sw_stage_begin(const char *target, bool inside, const sw_changes *changes, sw_stage *stage, sw_error *err)
{
    *stage = (sw_stage){.target = strdup(target), .changes = changes, .hold = SW_HOLD_NONE};
    if (!stage->target)
        return sw_put_no_memory(target, err);
    bool made = make_held(stage, inside);
    if (made) {
        stage->fresh = sw_path_in(stage->folder, SW_STAGE_NEW);
        made = stage->fresh && make_in(stage->folder, SW_STAGE_NEW) && make_in(stage->folder, SW_STAGE_GONE);
    }
    if (made)
        return SW_OK;
    int why = errno;
    sw_stage_end(stage);
    errno = why;
    sw_status status = why == ENOMEM ? sw_put_no_memory(target, err) : sw_put_failed(target, "written", err);
    errno = why;
    return status;
}

static bool exchange(const char *a, const char *b)
{
#ifdef RENAME_EXCHANGE
    return renameat2(AT_FDCWD, a, AT_FDCWD, b, RENAME_EXCHANGE) == 0;
#else
    (void)a, (void)b;
    errno = ENOSYS;
    return false;
#endif
}

bool sw_stage_can_exchange(const sw_stage *stage)
{
    char *gone = sw_path_in(stage->folder, SW_STAGE_GONE);
    bool can = gone && exchange(stage->fresh, gone);
    int why = gone ? errno : ENOMEM;
    free(gone);
    errno = why;
    return can;
}

bool sw_stage_exchange(const sw_stage *stage, bool exists)
{
    return exists ? exchange(stage->fresh, stage->target) : rename(stage->fresh, stage->target) == 0;
}

/* A name of one folder into another; what has none there stays away. */
static bool move(const char *from, const char *to, const char *name)
{
    char *source = sw_path_in(from, name), *goal = sw_path_in(to, name);
    bool moved = source && goal && rename(source, goal) == 0;
    int why = source && goal ? errno : ENOMEM;
    free(source);
    free(goal);
    errno = why;
    return moved;
}

bool sw_stage_move_in(const sw_stage *stage)
{
    const sw_changes *changes = stage->changes;
    char *old = sw_path_in(stage->folder, SW_STAGE_OLD), *gone = sw_path_in(stage->folder, SW_STAGE_GONE);
    bool done = old && gone && mkdir(old, 0777) == 0;
    for (size_t i = 0; done && i < changes->count; i++)
        done = !changes->list[i].was_there || move(stage->target, old, changes->list[i].name);
    for (size_t i = 0; done && i < changes->count; i++)
        done = !changes->list[i].is_written || move(stage->fresh, stage->target, changes->list[i].name);
    done = done && sw_put_sync(stage->target, NULL) == SW_OK && rename(old, gone) == 0;
    int why = errno;
    free(old);
    free(gone);
    errno = why;
    return done;
}

void sw_stage_end(sw_stage *stage)
{
    if (stage->folder && stage->target)
        sw_stage_settle(stage->folder, stage->target);
    sw_hold_end(stage->hold);
    free(stage->target);
    free(stage->folder);
    free(stage->fresh);
    *stage = (sw_stage){.hold = SW_HOLD_NONE};
}
