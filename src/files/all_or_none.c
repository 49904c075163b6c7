#include "files/all_or_none.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "files/path.h"
#include "files/put.h"

/* A folder that is filled beside its target. */
typedef struct part_folder {
    const sw_overwrite *rule;
    char *target; /* where it shall be; symbolic links resolved when it exists */
    char *part;   /* where it is filled; NULL once finished */
} part_folder;

static bool remove_file(const char *path, const char *name, void *context)
{
    (void)name, (void)context;
    unlink(path);
    return true;
}

/* Removes what was begun and not finished. */
static void end(part_folder *folder)
{
    if (folder->part) {
        sw_path_each(folder->part, remove_file, NULL);
        rmdir(folder->part);
    }
    free(folder->part);
    free(folder->target);
    *folder = (part_folder){NULL, NULL, NULL};
}

static sw_status begin(part_folder *folder, const char *target, const sw_overwrite *rule, sw_error *err)
{
    bool exists;
    *folder = (part_folder){rule, NULL, NULL};
    sw_status status = sw_overwrite_check(rule, target, &exists, err);
    if (status)
        return status;
    folder->target = exists ? realpath(target, NULL) : strdup(target);
    if (!folder->target)
        return sw_put_no_memory(target, err);
    for (size_t length = strlen(folder->target); length > 1 && folder->target[length - 1] == '/'; length--)
        folder->target[length - 1] = 0;
    status = sw_put_begin(folder->target, &folder->part, NULL, err);
    if (status)
        end(folder);
    return status;
}

/* What is not ours moves from the old folder into the new one; what cannot be moved stays. */
static bool carry_over(const char *path, const char *name, void *context)
{
    const part_folder *folder = context;
    bool swapped;
    char *goal = sw_path_in(folder->target, name);
    if (sw_overwrite_is_ours(folder->rule, name))
        unlink(path);
    else if (goal)
        sw_put(path, goal, &swapped, NULL);
    free(goal);
    return true;
}

static sw_status finish(part_folder *folder, sw_error *err)
{
    bool swapped;
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

/* Files that are written at their `part` and get the name `final`. */
typedef struct places {
    char *part[SW_FILES_MOST], *final[SW_FILES_MOST];
    bool swapped[SW_FILES_MOST];
    size_t put; /* so many have their names already */
} places;

static void free_places(places *at)
{
    for (int i = 0; i < SW_FILES_MOST; i++) {
        free(at->part[i]);
        free(at->final[i]);
    }
}

/* All of them, and on the disk, before the first gets its name. */
static sw_status write_each(const sw_files *files, char *const *paths, const char *folder, sw_error *err)
{
    for (size_t i = 0; i < files->count; i++)
        if (!paths[i])
            return sw_put_no_memory(folder, err);
    sw_status status = SW_OK;
    for (size_t i = 0; !status && i < files->count; i++) {
        status = files->write(i, paths, files->context, err);
        if (!status)
            status = sw_put_sync(paths[i], err);
    }
    return status;
}

static sw_status write_folder(const sw_files *files, const char *folder, sw_error *err)
{
    part_folder made;
    places at = {.put = 0};
    sw_status status = begin(&made, folder, &files->rule, err);
    if (status)
        return status;
    for (size_t i = 0; i < files->count; i++)
        at.part[i] = sw_path_in(made.part, files->rule.names[i]);
    status = write_each(files, at.part, folder, err);
    if (!status)
        status = finish(&made, err);
    end(&made);
    free_places(&at);
    return status;
}

/* One file to its place; what is there lies at its part then. */
static sw_status put_one(const char *part, const char *final, bool *swapped, sw_error *err)
{
    struct stat there;
    if (lstat(final, &there) == 0 && !S_ISREG(there.st_mode) && !S_ISLNK(there.st_mode))
        return sw_fail(err, SW_CANNOT_WRITE, "%.300s: is %s; move it away or choose another folder", final,
                       S_ISDIR(there.st_mode) ? "a folder" : "no file");
    return sw_put(part, final, swapped, err);
}

static sw_status put_all(places *at, size_t count, sw_error *err)
{
    sw_status status = SW_OK;
    while (!status && at->put < count) {
        status = put_one(at->part[at->put], at->final[at->put], &at->swapped[at->put], err);
        at->put += !status;
    }
    while (status && at->put > 0) {
        at->put--;
        sw_put_back(at->part[at->put], at->final[at->put], at->swapped[at->put]);
    }
    return status;
}

static sw_status write_into(const sw_files *files, const char *folder, sw_error *err)
{
    places at = {.put = 0};
    sw_status status = SW_OK;
    for (size_t i = 0; !status && i < files->count; i++) {
        at.final[i] = sw_path_in(folder, files->rule.names[i]);
        at.part[i] = at.final[i] ? sw_path_beside(at.final[i], "part", 0) : NULL;
    }
    status = write_each(files, at.part, folder, err);
    if (!status)
        status = put_all(&at, files->count, err);
    if (!status)
        sw_put_sync_name(at.final[0]);
    /* What lies there now is older, or was not put in its place. */
    for (size_t i = 0; i < files->count; i++)
        if (at.part[i])
            unlink(at.part[i]);
    free_places(&at);
    return status;
}

sw_status sw_files_write(const sw_files *files, const char *folder, sw_error *err)
{
    bool exists;
    sw_status status = sw_overwrite_check(&files->rule, folder, &exists, err);
    if (status)
        return status;
    return exists && files->rule.how != SW_OVERWRITE_WHOLE ? write_into(files, folder, err)
                                                           : write_folder(files, folder, err);
}

sw_status sw_files_check(const sw_overwrite *rule, const char *folder, sw_error *err)
{
    part_folder probe;
    sw_status status = begin(&probe, folder, rule, err);
    if (!status)
        end(&probe);
    return status;
}
