#include "files/folder.h"

#include <dirent.h>
#include <errno.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "files/formats.h"

enum { NAME_TRIES = 100 }; /* leftovers of crashed runs with the same process number are skipped */

static const char *const OUR_FILES[] = {"inspection.json", "seams.csv", "edges.csv", "overlay.png", "report.html"};
enum { OUR_FILE_COUNT = sizeof OUR_FILES / sizeof OUR_FILES[0] };

/* One string of three; NULL when memory is out. */
static char *join(const char *a, const char *b, const char *c)
{
    size_t room = strlen(a) + strlen(b) + strlen(c) + 1;
    char *joined = malloc(room);
    if (joined)
        snprintf(joined, room, "%s%s%s", a, b, c);
    return joined;
}

char *sw_folder_path(const char *folder, const char *name)
{
    return join(folder, "/", name);
}

static int is_our_file(const char *name)
{
    for (int i = 0; i < OUR_FILE_COUNT; i++)
        if (strcmp(name, OUR_FILES[i]) == 0)
            return 1;
    return 0;
}

static int is_dots(const char *name)
{
    return strcmp(name, ".") == 0 || strcmp(name, "..") == 0;
}

int sw_folder_is_empty(const char *path)
{
    DIR *open = opendir(path);
    int empty = open ? 1 : -1;
    for (struct dirent *entry; open && empty == 1 && (entry = readdir(open));)
        empty = is_dots(entry->d_name);
    if (open)
        closedir(open);
    return empty;
}

static int holds(const char *folder, const char *name, const char *format)
{
    char *file = sw_folder_path(folder, name);
    json_t *root = file ? json_load_file(file, 0, NULL) : NULL;
    const char *found = json_string_value(json_object_get(root, "format"));
    int ours = found && strcmp(found, format) == 0;
    json_decref(root);
    free(file);
    return ours;
}

int sw_folder_is_ours(const char *path, unsigned proofs)
{
    static const struct {
        sw_folder_proof proof;
        const char *name, *format;
    } files[] = {{SW_FOLDER_INSPECTION, "inspection.json", SW_FORMAT_INSPECTION},
                 {SW_FOLDER_PLAN, "plan.json", SW_FORMAT_PLAN},
                 {SW_FOLDER_RECHECK, "recheck.json", SW_FORMAT_RECHECK},
                 {SW_FOLDER_ARRANGE, "arrange.json", SW_FORMAT_ARRANGE}};
    int ours = 0;
    for (size_t i = 0; !ours && i < sizeof files / sizeof files[0]; i++)
        ours = (proofs & files[i].proof) && holds(path, files[i].name, files[i].format);
    return ours;
}

static int is_current_folder(const struct stat *folder)
{
    struct stat here;
    return stat(".", &here) == 0 && here.st_dev == folder->st_dev && here.st_ino == folder->st_ino;
}

/* Refuses an existing target that is not ours to replace. */
static sw_status check_target(sw_folder *folder, sw_error *err)
{
    struct stat found;
    const char *target = folder->target;
    if (stat(target, &found) != 0) {
        if (errno == ENOENT)
            return SW_OK;
        return sw_fail(err, SW_CANNOT_WRITE, "%s: cannot be looked at (%s); choose another folder", target,
                       strerror(errno));
    }
    folder->exists = 1;
    if (!S_ISDIR(found.st_mode))
        return sw_fail(err, SW_CANNOT_WRITE, "%s: is a file, not a folder; choose another folder for the report",
                       target);
    if (is_current_folder(&found))
        return sw_fail(err, SW_CANNOT_WRITE, "%s: is the folder you are in; choose a folder below it for the report",
                       target);
    int empty = sw_folder_is_empty(target);
    if (empty < 0)
        return sw_fail(err, SW_CANNOT_WRITE, "%s: cannot be read (%s); choose another folder", target, strerror(errno));
    if (!empty && !sw_folder_is_ours(target, SW_FOLDER_INSPECTION))
        return sw_fail(err, SW_CANNOT_WRITE,
                       "%s: is there already and holds no inspection of ours; choose another folder or move it away",
                       target);
    char *real = realpath(target, NULL);
    if (!real)
        return sw_fail(err, SW_CANNOT_WRITE, "%s: cannot be looked at (%s); choose another folder", target,
                       strerror(errno));
    free(folder->target);
    folder->target = real;
    return SW_OK;
}

/* A name beside the target that nothing has yet. */
static char *beside(const char *target, const char *what, int number)
{
    char ending[64];
    snprintf(ending, sizeof ending, ".%s-%ld-%d", what, (long)getpid(), number);
    return join(target, ending, "");
}

static sw_status make_part(sw_folder *folder, sw_error *err)
{
    for (int number = 0; number < NAME_TRIES; number++) {
        char *part = beside(folder->target, "part", number);
        if (!part)
            return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory; close other programs and try again",
                           folder->target);
        if (mkdir(part, 0777) == 0) {
            folder->part = part;
            return SW_OK;
        }
        free(part);
        if (errno != EEXIST)
            break;
    }
    return sw_fail(err, SW_CANNOT_WRITE, "%s: cannot be written (%s); choose a folder that can be written to",
                   folder->target, strerror(errno));
}

sw_status sw_folder_begin(sw_folder *folder, const char *target, sw_error *err)
{
    memset(folder, 0, sizeof *folder);
    if (!target || !target[0])
        return sw_fail(err, SW_BAD_INPUT, "the report's folder has no name; give one");
    folder->target = join(target, "", "");
    if (!folder->target)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory; close other programs and try again", target);
    for (size_t end = strlen(folder->target); end > 1 && folder->target[end - 1] == '/'; end--)
        folder->target[end - 1] = 0;
    sw_status status = check_target(folder, err);
    if (!status)
        status = make_part(folder, err);
    if (status)
        sw_folder_end(folder);
    return status;
}

/* Removes our files from a folder, and the folder when nothing else is in it. */
static void remove_ours(const char *path)
{
    for (int i = 0; i < OUR_FILE_COUNT; i++) {
        char *file = sw_folder_path(path, OUR_FILES[i]);
        if (file)
            unlink(file);
        free(file);
    }
    rmdir(path);
}

/* Moves everything that is not ours from one folder to the other; what cannot be moved stays. */
static void carry_over(const char *from, const char *to)
{
    DIR *open = opendir(from);
    for (struct dirent *entry; open && (entry = readdir(open));) {
        if (is_dots(entry->d_name) || is_our_file(entry->d_name))
            continue;
        char *source = sw_folder_path(from, entry->d_name), *goal = sw_folder_path(to, entry->d_name);
        if (source && goal)
            rename(source, goal);
        free(source);
        free(goal);
    }
    if (open)
        closedir(open);
}

static sw_status replace(sw_folder *folder, sw_error *err)
{
    char *aside = beside(folder->target, "old", 0);
    if (!aside)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory; close other programs and try again", folder->target);
    sw_status status = SW_OK;
    if (rename(folder->target, aside) != 0) {
        status = sw_fail(err, SW_CANNOT_WRITE, "%s: cannot be replaced (%s); choose another folder", folder->target,
                         strerror(errno));
    } else if (rename(folder->part, folder->target) != 0) {
        status = sw_fail(err, SW_CANNOT_WRITE, "%s: cannot be replaced (%s); choose another folder", folder->target,
                         strerror(errno));
        rename(aside, folder->target);
    } else {
        carry_over(aside, folder->target);
        remove_ours(aside);
    }
    free(aside);
    return status;
}

sw_status sw_folder_finish(sw_folder *folder, sw_error *err)
{
    if (folder->exists) {
        sw_status status = replace(folder, err);
        if (status)
            return status;
    } else if (rename(folder->part, folder->target) != 0) {
        return sw_fail(err, SW_CANNOT_WRITE, "%s: cannot be put there (%s); choose another folder", folder->target,
                       strerror(errno));
    }
    free(folder->part);
    folder->part = NULL;
    return SW_OK;
}

/* Removes a part folder with whatever files it was filled with. */
static void remove_part(const char *path)
{
    DIR *open = opendir(path);
    for (struct dirent *entry; open && (entry = readdir(open));) {
        char *file = is_dots(entry->d_name) ? NULL : sw_folder_path(path, entry->d_name);
        if (file)
            unlink(file);
        free(file);
    }
    if (open)
        closedir(open);
    rmdir(path);
}

void sw_folder_end(sw_folder *folder)
{
    if (!folder)
        return;
    if (folder->part)
        remove_part(folder->part);
    free(folder->part);
    free(folder->target);
    memset(folder, 0, sizeof *folder);
}
