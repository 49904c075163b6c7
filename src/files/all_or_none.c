#include "files/all_or_none.h"

#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "files/folder.h"
#include "files/path.h"
#include "files/put.h"

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

static sw_status write_each(const sw_files *files, char *const *paths, const char *folder, sw_error *err)
{
    for (size_t i = 0; i < files->count; i++)
        if (!paths[i])
            return sw_put_no_memory(folder, err);
    sw_status status = SW_OK;
    for (size_t i = 0; !status && i < files->count; i++)
        status = files->write(i, paths, files->context, err);
    return status;
}

static sw_status write_folder(const sw_files *files, const char *folder, sw_error *err)
{
    sw_folder made;
    places at = {.put = 0};
    sw_status status = sw_folder_begin(&made, folder, &files->rule, err);
    if (status)
        return status;
    for (size_t i = 0; i < files->count; i++)
        at.part[i] = sw_path_in(made.part, files->rule.names[i]);
    status = write_each(files, at.part, folder, err);
    if (!status)
        status = sw_folder_finish(&made, err);
    sw_folder_end(&made);
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
    sw_status status = sw_put_sync(part, err);
    return status ? status : sw_put(part, final, swapped, err);
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
