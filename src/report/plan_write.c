/* plan_write.c - plan.json, plan.html and strips.pdf into a folder: all of them or none.
 *
 * A new folder is filled beside its place and renamed. In a folder that is there, which mostly holds the inspection and
 * perhaps somebody's notes, each file is made under a name of its own; when all are whole, those of an earlier plan
 * step aside, the new ones take their names, and should one fail to, everything goes back. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "folder.h"
#include "plan_parts.h"

enum { FILES = 3 };
static const char *const NAMES[FILES] = {"plan.json", "plan.html", "strips.pdf"};

typedef struct place {
    char *part, *final, *old;
    int old_moved, placed;
} place;

typedef struct writing {
    const sw_plan *plan;
    const sw_inspection *first;
    const sw_paper *paper;
} writing;

/* folder/name with an ending that no other run uses; the plain path without one. NULL when memory is out. */
static char *path_of(const char *folder, const char *name, const char *ending)
{
    char text[64];
    if (ending)
        snprintf(text, sizeof text, "%s.%s-%ld", name, ending, (long)getpid());
    return sw_folder_path(folder, ending ? text : name);
}

static int name_places(place places[FILES], const char *part_folder, const char *folder, int own_names)
{
    int fine = 1;
    for (int i = 0; i < FILES; i++) {
        places[i] = (place){path_of(part_folder, NAMES[i], own_names ? "part" : NULL), path_of(folder, NAMES[i], NULL),
                            path_of(folder, NAMES[i], "old"), 0, 0};
        fine &= places[i].part && places[i].final && places[i].old;
    }
    return fine;
}

static void free_places(place places[FILES])
{
    for (int i = 0; i < FILES; i++) {
        free(places[i].part);
        free(places[i].final);
        free(places[i].old);
    }
}

static sw_status write_files(const writing *what, const place places[FILES], sw_error *err)
{
    sw_status status = sw_report_plan_json(what->plan, what->first, places[0].part, err);
    if (!status)
        status = sw_report_plan_page(what->plan, what->first, places[1].part, err);
    if (!status)
        status = sw_report_strips(what->plan, what->first, what->paper, places[2].part, err);
    return status;
}

static sw_status no_memory(const char *folder, sw_error *err)
{
    return sw_fail(err, SW_NO_MEMORY, "%.300s: not enough memory to write the plan; close other programs and try again",
                   folder);
}

static sw_status write_new(const writing *what, const char *folder, sw_error *err)
{
    sw_folder made;
    place places[FILES];
    sw_status status = sw_folder_begin(&made, folder, err);
    if (status)
        return status;
    status = name_places(places, made.part, folder, 0) ? write_files(what, places, err) : no_memory(folder, err);
    if (!status)
        status = sw_folder_finish(&made, err);
    sw_folder_end(&made);
    free_places(places);
    return status;
}

/* Everything as it was before. */
static void go_back(place places[FILES])
{
    for (int i = 0; i < FILES; i++) {
        if (places[i].placed)
            unlink(places[i].final);
        if (places[i].old_moved)
            rename(places[i].old, places[i].final);
    }
}

static sw_status put_in_place(place places[FILES], sw_error *err)
{
    for (int i = 0; i < FILES; i++) {
        struct stat found;
        if (lstat(places[i].final, &found) == 0 && S_ISDIR(found.st_mode)) {
            go_back(places);
            return sw_fail(err, SW_CANNOT_WRITE, "%.300s: is a folder; move it away or choose another folder",
                           places[i].final);
        }
        places[i].old_moved = rename(places[i].final, places[i].old) == 0;
        places[i].placed = rename(places[i].part, places[i].final) == 0;
        if (!places[i].placed) {
            int wrong = errno;
            go_back(places);
            return sw_fail(err, SW_CANNOT_WRITE, "%.300s: cannot be put there (%s); choose another folder",
                           places[i].final, strerror(wrong));
        }
    }
    for (int i = 0; i < FILES; i++)
        if (places[i].old_moved)
            unlink(places[i].old);
    return SW_OK;
}

static sw_status write_into(const writing *what, const char *folder, sw_error *err)
{
    place places[FILES];
    sw_status status = name_places(places, folder, folder, 1) ? write_files(what, places, err) : no_memory(folder, err);
    if (!status)
        status = put_in_place(places, err);
    for (int i = 0; status && i < FILES; i++)
        if (places[i].part)
            unlink(places[i].part);
    free_places(places);
    return status;
}

sw_status sw_report_plan_write(const sw_plan *plan, const sw_inspection *first, const sw_paper *paper,
                               const char *folder, sw_error *err)
{
    writing what = {plan, first, paper};
    struct stat found;
    if (!folder || !folder[0])
        return sw_fail(err, SW_BAD_INPUT, "the plan's folder has no name; give one");
    if (stat(folder, &found) != 0) {
        if (errno == ENOENT)
            return write_new(&what, folder, err);
        return sw_fail(err, SW_CANNOT_WRITE, "%.300s: cannot be looked at (%s); choose another folder", folder,
                       strerror(errno));
    }
    if (!S_ISDIR(found.st_mode))
        return sw_fail(err, SW_CANNOT_WRITE, "%.300s: is a file, not a folder; choose another folder for the plan",
                       folder);
    int empty = sw_folder_is_empty(folder);
    if (empty < 0)
        return sw_fail(err, SW_CANNOT_WRITE, "%.300s: cannot be read (%s); choose another folder", folder,
                       strerror(errno));
    if (!empty && !sw_folder_holds(folder, "inspection.json", "seamwright-inspection") &&
        !sw_folder_holds(folder, NAMES[0], SW_PLAN_FORMAT))
        return sw_fail(
            err, SW_CANNOT_WRITE,
            "%.300s: is there already and holds no inspection or plan of ours; choose another folder or move "
            "it away",
            folder);
    return write_into(&what, folder, err);
}
