#include "beside.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "folder.h"

static sw_status no_memory(const char *folder, sw_error *err)
{
    return sw_fail(err, SW_NO_MEMORY, "%.300s: not enough memory; close other programs and try again", folder);
}

static sw_status cannot(const char *path, sw_error *err)
{
    return sw_fail(err, SW_CANNOT_WRITE, "%.300s: cannot be written (%s); choose another folder with -o", path,
                   strerror(errno));
}

/* A name in the folder that no other run uses, for free(). */
static char *own_name(const char *folder, const char *name, const char *what)
{
    char text[128];
    snprintf(text, sizeof text, ".%.60s.%s-%ld", name, what, (long)getpid());
    return sw_folder_path(folder, text);
}

sw_status sw_beside_begin(sw_beside *beside, const char *folder, const char *const *names, size_t count, sw_error *err)
{
    struct stat there;
    memset(beside, 0, sizeof *beside);
    beside->folder = folder;
    sw_status status = SW_OK;
    if (mkdir(folder, 0777) == 0)
        beside->made = 1;
    else if (errno != EEXIST || stat(folder, &there) != 0)
        status = cannot(folder, err);
    else if (!S_ISDIR(there.st_mode))
        status = sw_fail(err, SW_CANNOT_WRITE, "%.300s: there is a file of this name; choose another folder with -o",
                         folder);
    for (size_t i = 0; !status && i < count && i < SW_BESIDE_MOST; i++) {
        beside->count++;
        beside->part[i] = own_name(folder, names[i], "part");
        beside->target[i] = sw_folder_path(folder, names[i]);
        if (!beside->part[i] || !beside->target[i])
            status = no_memory(folder, err);
        else if (stat(beside->target[i], &there) == 0 && !S_ISREG(there.st_mode))
            status = sw_fail(err, SW_CANNOT_WRITE,
                             "%.300s: there is something else of this name; choose another folder with -o",
                             beside->target[i]);
    }
    if (status)
        sw_beside_end(beside);
    return status;
}

/* Puts the first `count` targets back as they were: an old file lies under `old`, or there was none. */
static void put_back(sw_beside *beside, char *const *old, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (rename(old[i], beside->target[i]) != 0)
            unlink(beside->target[i]);
}

sw_status sw_beside_finish(sw_beside *beside, sw_error *err)
{
    char *old[SW_BESIDE_MOST] = {NULL};
    sw_status status = SW_OK;
    size_t moved = 0;
    for (size_t i = 0; !status && i < beside->count; i++)
        if (!(old[i] = own_name(beside->folder, strrchr(beside->target[i], '/') + 1, "old")))
            status = no_memory(beside->folder, err);
    for (; !status && moved < beside->count; moved++) {
        if (rename(beside->target[moved], old[moved]) != 0 && errno != ENOENT)
            status = cannot(beside->target[moved], err);
        else if (rename(beside->part[moved], beside->target[moved]) != 0) {
            status = cannot(beside->target[moved], err);
            rename(old[moved], beside->target[moved]);
        }
        if (status)
            break;
    }
    if (status)
        put_back(beside, old, moved);
    for (size_t i = 0; i < beside->count; i++) {
        if (!status && old[i])
            unlink(old[i]);
        free(old[i]);
    }
    beside->done = !status;
    return status;
}

void sw_beside_end(sw_beside *beside)
{
    if (!beside)
        return;
    for (size_t i = 0; i < beside->count; i++) {
        if (!beside->done && beside->part[i])
            unlink(beside->part[i]);
        free(beside->part[i]);
        free(beside->target[i]);
    }
    if (beside->made && !beside->done)
        rmdir(beside->folder);
    memset(beside, 0, sizeof *beside);
}
