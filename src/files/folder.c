#include "files/folder.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "files/path.h"
#include "files/put.h"

enum { NAME_TRIES = 100 }; /* leftovers of crashed runs with the same process number are skipped */

static sw_status make_part(sw_folder *folder, sw_error *err)
{
    errno = EEXIST;
    for (int number = 0; errno == EEXIST && number < NAME_TRIES; number++) {
        char *part = sw_path_beside(folder->target, "part", number);
        if (!part)
            return sw_put_no_memory(folder->target, err);
        if (mkdir(part, 0777) == 0) {
            folder->part = part;
            return SW_OK;
        }
        int why = errno;
        free(part);
        errno = why;
    }
    return sw_put_failed(folder->target, "written", err);
}

sw_status sw_folder_begin(sw_folder *folder, const char *target, const sw_overwrite *rule, sw_error *err)
{
    bool exists;
    *folder = (sw_folder){rule, NULL, NULL};
    sw_status status = sw_overwrite_check(rule, target, &exists, err);
    if (status)
        return status;
    folder->target = exists ? realpath(target, NULL) : strdup(target);
    if (!folder->target)
        return sw_put_no_memory(target, err);
    for (size_t end = strlen(folder->target); end > 1 && folder->target[end - 1] == '/'; end--)
        folder->target[end - 1] = 0;
    status = make_part(folder, err);
    if (status)
        sw_folder_end(folder);
    return status;
}

typedef struct syncing {
    sw_status status;
    sw_error *err;
} syncing;

static bool sync_file(const char *path, const char *name, void *context)
{
    (void)name;
    syncing *all = context;
    all->status = sw_put_sync(path, all->err);
    return !all->status;
}

static bool remove_file(const char *path, const char *name, void *context)
{
    (void)name, (void)context;
    unlink(path);
    return true;
}

/* What is not ours moves from the old folder into the new one; what cannot be moved stays. */
static bool carry_over(const char *path, const char *name, void *context)
{
    const sw_folder *folder = context;
    bool swapped;
    char *goal = sw_path_in(folder->target, name);
    if (sw_overwrite_is_ours(folder->rule, name))
        unlink(path);
    else if (goal)
        sw_put(path, goal, &swapped, NULL);
    free(goal);
    return true;
}

sw_status sw_folder_finish(sw_folder *folder, sw_error *err)
{
    bool swapped;
    syncing all = {SW_OK, err};
    if (sw_path_each(folder->part, sync_file, &all) != SW_WALK_ALL)
        return all.status ? all.status : sw_put_failed(folder->target, "written", err);
    sw_status status = sw_put_sync(folder->part, err);
    if (!status)
        status = sw_put(folder->part, folder->target, &swapped, err);
    if (status)
        return status;
    if (swapped) {
        sw_path_each(folder->part, carry_over, folder);
        rmdir(folder->part);
    }
    sw_put_sync_name(folder->target);
    free(folder->part);
    folder->part = NULL;
    return SW_OK;
}

void sw_folder_end(sw_folder *folder)
{
    if (folder->part) {
        sw_path_each(folder->part, remove_file, NULL);
        rmdir(folder->part);
    }
    free(folder->part);
    free(folder->target);
    *folder = (sw_folder){NULL, NULL, NULL};
}
