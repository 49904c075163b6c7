#include "files/overwrite.h"

#include <errno.h>
#include <jansson.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "files/path.h"
#include "files/put.h"

bool sw_overwrite_is_ours(const sw_overwrite *rule, const char *name)
{
    for (const char *const *ours = rule->names; *ours; ours++)
        if (strcmp(name, *ours) == 0)
            return true;
    return false;
}

static bool proves(const sw_proof *proof, const char *folder)
{
    char *file = sw_path_in(folder, proof->name);
    json_t *root = file ? json_load_file(file, 0, NULL) : NULL;
    const char *found = json_string_value(json_object_get(root, "format"));
    bool ours = found && strcmp(found, proof->format) == 0;
    json_decref(root);
    free(file);
    return ours;
}

static bool is_proved(const sw_overwrite *rule, const char *folder)
{
    for (const sw_proof *proof = rule->proofs; proof->name; proof++)
        if (proves(proof, folder))
            return true;
    return false;
}

static bool is_current(const struct stat *folder)
{
    struct stat here;
    return stat(".", &here) == 0 && here.st_dev == folder->st_dev && here.st_ino == folder->st_ino;
}

static bool stop(const char *path, const char *name, void *context)
{
    (void)path, (void)name, (void)context;
    return false;
}

/* Files of our names in a folder that is not ours are somebody's. */
static sw_status check_names(const sw_overwrite *rule, const char *folder, sw_error *err)
{
    struct stat there;
    for (const char *const *name = rule->names; *name; name++) {
        char *path = sw_path_in(folder, *name);
        sw_status status = !path                      ? sw_put_no_memory(folder, err)
                           : lstat(path, &there) == 0 ? sw_fail(err, SW_CANNOT_WRITE, "%.300s: %s", path, rule->deny)
                                                      : SW_OK;
        free(path);
        if (status)
            return status;
    }
    return SW_OK;
}

static sw_status check_holding(const sw_overwrite *rule, const char *folder, sw_error *err)
{
    if (is_proved(rule, folder))
        return SW_OK;
    if (rule->how == SW_OVERWRITE_IN_ANY)
        return check_names(rule, folder, err);
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
    if (rule->how == SW_OVERWRITE_WHOLE && is_current(&there))
        return sw_fail(err, SW_CANNOT_WRITE, "%.300s: is the folder you are in; name one below it with -o", folder);
    return check_holding(rule, folder, err);
}
