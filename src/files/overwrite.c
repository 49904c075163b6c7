#include "files/overwrite.h"

#include <errno.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "files/path.h"
#include "files/put.h"
#include "files/read.h"

enum { PROOF_BYTES = 256 << 20 }; /* more than any file of ours: see the limits of the readers */

/* *ours: the file says of itself that it is of the group. One that is there and cannot be read is a failure: taken for
 * another's, it would stay beside results that it does not belong to. */
static sw_status prove(const sw_group *group, const char *folder, bool *ours, sw_error *err)
{
    char *path = sw_path_in(folder, group->proof), *text = NULL;
    size_t length = 0;
    sw_status status = SW_OK;
    *ours = false;
    sw_read_result read = path ? sw_read_whole(path, PROOF_BYTES, &text, &length) : SW_READ_NO_MEMORY;
    if (read == SW_READ_NO_MEMORY)
        status = sw_put_no_memory(folder, err);
    else if (read == SW_READ_FAILED && errno != ENOENT)
        status = sw_put_failed(path, "read", err);
    json_t *root = read == SW_READ_OK ? json_loadb(text, length, 0, NULL) : NULL;
    const char *found = json_string_value(json_object_get(root, "format"));
    *ours = found && strcmp(found, group->format) == 0;
    json_decref(root);
    free(text);
    free(path);
    return status;
}

static bool is_in(const char *const *names, const char *name)
{
    for (; *names; names++)
        if (strcmp(name, *names) == 0)
            return true;
    return false;
}

static sw_status look_whose(const sw_overwrite *rule, const char *folder, bool *ours, sw_error *err)
{
    sw_status status = SW_OK;
    *ours = false;
    for (const sw_group *group = rule->groups; group->proof && !status && !*ours; group++)
        if (is_in(rule->proofs, group->proof))
            status = prove(group, folder, ours, err);
    return status;
}

bool sw_overwrite_is_current(const char *folder)
{
    struct stat here, there;
    return stat(".", &here) == 0 && stat(folder, &there) == 0 && here.st_dev == there.st_dev &&
           here.st_ino == there.st_ino;
}

static bool stop(const char *path, const char *name, void *context)
{
    (void)path, (void)name, (void)context;
    return false;
}

static sw_status check_holding(const sw_overwrite *rule, const char *folder, sw_error *err)
{
    bool ours;
    if (rule->how == SW_OVERWRITE_IN_ANY)
        return SW_OK;
    sw_status status = look_whose(rule, folder, &ours, err);
    if (status || ours)
        return status;
    sw_walk walk = sw_path_each(folder, stop, NULL);
    if (walk == SW_WALK_UNREADABLE)
        return sw_put_failed(folder, "read", err);
    return walk == SW_WALK_ALL ? SW_OK : sw_fail(err, SW_CANNOT_WRITE, "%.300s: %s", folder, rule->deny);
}

sw_status sw_overwrite_check(const sw_overwrite *rule, const char *folder, bool *exists, sw_error *err)
{
    struct stat there;
    *exists = false;
    if (!folder || !folder[0])
        return sw_fail(err, SW_BAD_INPUT, "-o: name a folder for the results");
    if (stat(folder, &there) != 0)
        return errno == ENOENT ? SW_OK : sw_put_failed(folder, "looked at", err);
    *exists = true;
    if (!S_ISDIR(there.st_mode))
        return sw_fail(err, SW_CANNOT_WRITE, "%.300s: %s", folder, rule->no_folder);
    if (rule->how == SW_OVERWRITE_WHOLE && sw_overwrite_is_current(folder))
        return sw_fail(err, SW_CANNOT_WRITE, "%.300s: is the folder you are in; name one below it with -o", folder);
    return check_holding(rule, folder, err);
}

/* ---- which files ---- */

typedef enum standing { FREE, FILE_THERE, FOLDER_THERE, OTHER_THERE } standing;

static standing look_at(const char *folder, const char *name)
{
    struct stat there;
    char *path = sw_path_in(folder, name);
    standing is = FREE;
    if (path && lstat(path, &there) == 0)
        is = S_ISREG(there.st_mode) || S_ISLNK(there.st_mode) ? FILE_THERE
             : S_ISDIR(there.st_mode)                         ? FOLDER_THERE
                                                              : OTHER_THERE;
    free(path);
    return is;
}

static void add(sw_changes *changes, const char *name, bool is_written, bool was_there)
{
    sw_change *change = &changes->list[changes->count++];
    snprintf(change->name, sizeof change->name, "%s", name);
    change->is_written = is_written;
    change->was_there = was_there;
}

/* Whether a file of the group is there and is to be replaced or removed, if it is ours. */
static bool touches(const sw_overwrite *rule, const sw_group *group, const char *folder, const char *const *written)
{
    for (const char *const *name = group->names; *name; name++)
        if ((rule->how == SW_OVERWRITE_WHOLE || is_in(written, *name)) && look_at(folder, *name) != FREE)
            return true;
    return false;
}

/* Of one group: what of it is written takes the place of what is ours, and what is ours follows, if all is made anew. */
static sw_status add_group(const sw_overwrite *rule, const sw_group *group, const char *folder,
                           const char *const *written, sw_changes *changes, sw_error *err)
{
    bool ours = false;
    sw_status status = touches(rule, group, folder, written) ? prove(group, folder, &ours, err) : SW_OK;
    if (status)
        return status;
    for (const char *const *name = group->names; *name; name++) {
        standing is = look_at(folder, *name);
        bool writes = is_in(written, *name);
        if (writes && (is == FOLDER_THERE || is == OTHER_THERE))
            return sw_fail(err, SW_CANNOT_WRITE, "%.300s/%s: is %s; move it away or choose another folder with -o",
                           folder, *name, is == FOLDER_THERE ? "a folder" : "no file");
        if (writes && is == FILE_THERE && !ours)
            return sw_fail(err, SW_CANNOT_WRITE, "%.300s/%s: %s", folder, *name, rule->deny_file);
        if (writes || (ours && is == FILE_THERE && rule->how == SW_OVERWRITE_WHOLE))
            add(changes, *name, writes, is == FILE_THERE);
    }
    return SW_OK;
}

sw_status sw_overwrite_changes(const sw_overwrite *rule, const char *folder, const char *const *names,
                               sw_changes *changes, sw_error *err)
{
    sw_status status = SW_OK;
    changes->count = 0;
    for (const sw_group *group = rule->groups; !status && group->proof; group++)
        status = add_group(rule, group, folder, names, changes, err);
    return status;
}
