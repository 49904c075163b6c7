/* write.c - the whole report folder, there whole or not at all, and whether it can be written. */
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "files/all_or_none.h"
#include "files/file.h"
#include "files/formats.h"
#include "files/path.h"
#include "seamwright/recheck.h"
#include "seamwright/report.h"

enum { JSON, SEAMS, EDGES, OVERLAY, PAGE, RECHECK_JSON, RECHECK_PAGE, FILES };

static const char *const NAMES[FILES] = {"inspection.json", "seams.csv",    "edges.csv",   "overlay.png",
                                         "report.html",     "recheck.json", "recheck.html"};

/* What was made from an earlier inspection in the folder (a plan, a recheck, an arrangement) goes with it. */
static const sw_overwrite RULE = {
    .how = SW_OVERWRITE_WHOLE,
    .groups = SW_GROUPS,
    .proofs = (const char *const[]){"inspection.json", NULL},
    .deny = "this folder holds no inspection of ours and is left alone; choose another folder with -o",
    .deny_file = "was not written by this program and is left alone; move it or choose another folder with -o",
    .no_folder = "there is a file of this name; choose another folder with -o"};

typedef struct writing {
    const sw_inspection *inspection;
    const sw_comparison *since; /* NULL: none */
    const sw_photo *photo;
    int files[FILES]; /* which is written as the first, second ... */
    size_t count;
} writing;

static sw_status write_one(size_t which, char *const *paths, const void *context, sw_error *err)
{
    const writing *what = context;
    const sw_inspection *inspection = what->inspection;
    const char *path = paths[which];
    switch (what->files[which]) {
    case JSON:
        return sw_report_json(inspection, path, err);
    case SEAMS:
        return sw_report_seams_csv(inspection, path, err);
    case EDGES:
        return sw_report_edges_csv(inspection, path, err);
    case OVERLAY:
        return sw_report_overlay(inspection, what->photo, path, err);
    case PAGE: /* right behind the overlay */
        return sw_report_page_after(inspection, what->since, paths[which - 1], path, err);
    case RECHECK_JSON:
        return sw_report_recheck_json(what->since->recheck, what->since->before, inspection, path, err);
    default:
        return sw_report_recheck_page(what->since->recheck, what->since->before, inspection, path, err);
    }
}

static void choose_files(writing *what, bool pictures, const char *names[FILES + 1])
{
    bool chosen[FILES] = {[JSON] = true, [SEAMS] = true, [EDGES] = true, [OVERLAY] = pictures, [PAGE] = pictures};
    chosen[RECHECK_JSON] = what->since;
    chosen[RECHECK_PAGE] = what->since && pictures;
    for (int i = 0; i < FILES; i++)
        if (chosen[i]) {
            what->files[what->count] = i;
            names[what->count++] = NAMES[i];
        }
}

sw_status sw_report_write_after(const sw_inspection *inspection, const sw_comparison *since, const sw_photo *photo,
                                const char *folder, bool pictures, sw_error *err)
{
    writing what = {.inspection = inspection, .since = since, .photo = photo};
    const char *names[FILES + 1] = {NULL};
    choose_files(&what, pictures, names);
    const sw_files files = {RULE, names, write_one, &what};
    return sw_files_write(&files, folder, err);
}

sw_status sw_report_write(const sw_inspection *inspection, const sw_photo *photo, const char *folder, bool pictures,
                          sw_error *err)
{
    return sw_report_write_after(inspection, NULL, photo, folder, pictures, err);
}

sw_status sw_report_check_folder(const char *folder, sw_error *err)
{
    return sw_files_check(&RULE, folder, err);
}

sw_status sw_report_check_file(const char *path, sw_error *err)
{
    struct stat there;
    if (path[0] == '\0' || path[strlen(path) - 1] == '/')
        return sw_fail(err, SW_BAD_INPUT, "%.300s: name a file to write with -o, not a folder", path[0] ? path : "-o");
    if (stat(path, &there) == 0 && !S_ISREG(there.st_mode))
        return sw_fail(err, SW_CANNOT_WRITE, "%.300s: there is a %s of this name; choose another with -o", path,
                       S_ISDIR(there.st_mode) ? "folder" : "device or pipe");
    sw_file probe;
    sw_status status = sw_file_begin(&probe, path, err);
    sw_file_end(&probe);
    return status;
}

char *sw_report_folder_of(const char *photo)
{
    const char *name = photo + sw_path_name_at(photo), *dot = strrchr(name, '.');
    size_t kept = dot && dot != name ? (size_t)(dot - photo) : strlen(photo);
    char *folder = malloc(kept + sizeof ".seams");
    if (folder) {
        memcpy(folder, photo, kept);
        memcpy(folder + kept, ".seams", sizeof ".seams");
    }
    return folder;
}
