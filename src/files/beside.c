#include "files/beside.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

typedef struct place {
    char *part, *final, *old;
    int old_moved, placed;
} place;

static sw_status no_memory(const char *folder, sw_error *err)
{
    return sw_fail(err, SW_NO_MEMORY, "%.300s: not enough memory to write into it; close other programs and try again",
                   folder);
}

static sw_status cannot(const char *path, const char *what, sw_error *err)
{
    return sw_fail(err, SW_CANNOT_WRITE, "%.300s: cannot be %s (%s); choose another folder", path, what,
                   strerror(errno));
}

/* folder/name with an ending that no other run uses. NULL when memory is out. */
static char *own_name(const char *folder, const char *name, const char *ending)
{
    char text[128];
    snprintf(text, sizeof text, "%.60s.%s-%ld", name, ending, (long)getpid());
    return sw_folder_path(folder, text);
}

/* The files that are to be written, one after the other, each at its `part`. */
static sw_status write_parts(const sw_beside *files, const place *places, const char *folder, sw_error *err)
{
    for (size_t i = 0; i < files->count; i++)
        if (!places[i].part || !places[i].final || !places[i].old)
            return no_memory(folder, err);
    sw_status status = SW_OK;
    for (size_t i = 0; !status && i < files->count; i++)
        status = files->write(i, places[i].part, files->context, err);
    return status;
}

static void free_places(place places[SW_BESIDE_MOST])
{
    for (int i = 0; i < SW_BESIDE_MOST; i++) {
        free(places[i].part);
        free(places[i].final);
        free(places[i].old);
    }
}

static sw_status write_new(const sw_beside *files, const char *folder, sw_error *err)
{
    sw_folder made;
    sw_status status = sw_folder_begin(&made, folder, err);
    for (size_t i = 0; !status && i < files->count; i++) {
        char *path = sw_folder_path(made.part, files->names[i]);
        status = path ? files->write(i, path, files->context, err) : no_memory(folder, err);
        free(path);
    }
    if (!status)
        status = sw_folder_finish(&made, err);
    sw_folder_end(&made);
    return status;
}

/* Everything as it was before. */
static void go_back(const sw_beside *files, place *places)
{
    for (size_t i = 0; i < files->count; i++) {
        if (places[i].placed)
            unlink(places[i].final);
        if (places[i].old_moved)
            rename(places[i].old, places[i].final);
    }
}

/* One file to its place, what is there aside. */
static sw_status put_one(place *at, sw_error *err)
{
    struct stat there;
    if (lstat(at->final, &there) == 0 && !S_ISREG(there.st_mode) && !S_ISLNK(there.st_mode))
        return sw_fail(err, SW_CANNOT_WRITE, "%.300s: is %s; move it away or choose another folder", at->final,
                       S_ISDIR(there.st_mode) ? "a folder" : "no file");
    at->old_moved = rename(at->final, at->old) == 0;
    if (!at->old_moved && errno != ENOENT)
        return cannot(at->final, "replaced", err);
    at->placed = rename(at->part, at->final) == 0;
    return at->placed ? SW_OK : cannot(at->final, "put there", err);
}

static sw_status write_into(const sw_beside *files, const char *folder, sw_error *err)
{
    place places[SW_BESIDE_MOST] = {{0}};
    for (size_t i = 0; i < files->count; i++)
        places[i] = (place){.part = own_name(folder, files->names[i], "part"),
                            .final = sw_folder_path(folder, files->names[i]),
                            .old = own_name(folder, files->names[i], "old")};
    sw_status status = write_parts(files, places, folder, err);
    for (size_t i = 0; !status && i < files->count; i++)
        status = put_one(&places[i], err);
    if (status)
        go_back(files, places);
    for (size_t i = 0; i < files->count; i++) {
        if (status && places[i].part)
            unlink(places[i].part);
        if (!status && places[i].old_moved)
            unlink(places[i].old);
    }
    free_places(places);
    return status;
}

/* Files of the names that lie in a folder which is not ours are somebody's, and stay. */
static sw_status check_files(const sw_beside *files, const char *folder, sw_error *err)
{
    struct stat there;
    for (size_t i = 0; i < files->count; i++) {
        char *path = sw_folder_path(folder, files->names[i]);
        sw_status status = !path                      ? no_memory(folder, err)
                           : lstat(path, &there) == 0 ? sw_fail(err, SW_CANNOT_WRITE, "%.300s: %s", path, files->deny)
                                                      : SW_OK;
        free(path);
        if (status)
            return status;
    }
    return SW_OK;
}

/* Whether a folder that is there may be written into. */
static sw_status check_folder(const sw_beside *files, const char *folder, sw_error *err)
{
    if (sw_folder_is_ours(folder, files->ours))
        return SW_OK;
    if (!files->only_ours)
        return check_files(files, folder, err);
    int empty = sw_folder_is_empty(folder);
    if (empty < 0)
        return cannot(folder, "read", err);
    return empty ? SW_OK : sw_fail(err, SW_CANNOT_WRITE, "%.300s: %s", folder, files->deny);
}

sw_status sw_beside_write(const sw_beside *files, const char *folder, sw_error *err)
{
    struct stat there;
    if (!folder || !folder[0])
        return sw_fail(err, SW_BAD_INPUT, "the folder for %s has no name; give one", files->names[0]);
    if (stat(folder, &there) != 0)
        return errno == ENOENT ? write_new(files, folder, err) : cannot(folder, "looked at", err);
    if (!S_ISDIR(there.st_mode))
        return sw_fail(err, SW_CANNOT_WRITE, "%.300s: %s", folder, files->no_folder);
    sw_status status = check_folder(files, folder, err);
    return status ? status : write_into(files, folder, err);
}
