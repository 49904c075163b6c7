/* inspection.c - the whole report folder, there whole or not at all, and whether it can be written. */
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "files/all_or_none.h"
#include "files/file.h"
#include "files/formats.h"
#include "files/path.h"
#include "report/folder/pictures.h"

enum {
    JSON,
    SEAMS,
    EDGES,
    OVERLAY,
    TABLE_PICTURE,
    SEAMS_PICTURE,
    PAGE,
    RECHECK_JSON,
    RECHECK_PAGE,
    PLAN_JSON,
    STRIPS,
    FILES
};

static const char *const NAMES[FILES] = {[JSON] = "inspection.json",
                                         [SEAMS] = "seams.csv",
                                         [EDGES] = "edges.csv",
                                         [OVERLAY] = "overlay.png",
                                         [TABLE_PICTURE] = SW_TABLE_PICTURE,
                                         [SEAMS_PICTURE] = SW_SEAMS_PICTURE,
                                         [PAGE] = "report.html",
                                         [RECHECK_JSON] = "recheck.json",
                                         [RECHECK_PAGE] = "recheck.html",
                                         [PLAN_JSON] = "plan.json",
                                         [STRIPS] = "strips.pdf"};

/* What was made from an earlier inspection in the folder (a plan, a recheck, an arrangement) goes with it. */
static const sw_overwrite RULE = {
    .how = SW_OVERWRITE_WHOLE,
    .groups = SW_GROUPS,
    .proofs = (const char *const[]){"inspection.json", NULL},
    .deny = "this folder holds no inspection of ours and is left alone; choose another folder with -o",
    .deny_file = "was not written by this program and is left alone; move it or choose another folder with -o",
    .no_folder = "there is a file of this name; choose another folder with -o"};

typedef struct writing {
    const sw_results *results;
    int files[FILES]; /* which is written as the first, second ... */
    size_t count;
} writing;

static sw_status write_page(const sw_results *of, sw_page_open open, char *const *paths, const char *path,
                            sw_error *err)
{
    const sw_page page = {.open = open,
                          .inspection = of->inspection,
                          .plan = of->plan,
                          .recheck = of->since ? of->since->recheck : NULL,
                          .before = of->since ? of->since->before : NULL};
    char *folder = sw_path_folder(paths[0]); /* the pictures are there already */
    sw_status status = folder ? sw_page_with_pictures(&page, folder, of->before_pictures, path, err)
                              : sw_fail(err, SW_NO_MEMORY, "%s: not enough memory to write it", path);
    free(folder);
    return status;
}

static sw_status write_one(size_t which, char *const *paths, const void *context, sw_error *err)
{
    const writing *what = context;
    const sw_results *of = what->results;
    const char *path = paths[which];
    switch (what->files[which]) {
    case JSON:
        return sw_report_json(of->inspection, path, err);
    case SEAMS:
        return sw_report_seams_csv(of->inspection, path, err);
    case EDGES:
        return sw_report_edges_csv(of->inspection, path, err);
    case OVERLAY:
        return sw_report_overlay(of->inspection, of->photo, path, err);
    case TABLE_PICTURE:
        return sw_report_table_picture(of->inspection, of->photo, path, err);
    case SEAMS_PICTURE:
        return sw_report_seams_picture(of->inspection, of->photo, path, err);
    case PAGE:
        return write_page(of, SW_PAGE_REPORT, paths, path, err);
    case RECHECK_JSON:
        return sw_report_recheck_json(of->since->recheck, of->since->before, of->inspection, path, err);
    case RECHECK_PAGE:
        return write_page(of, SW_PAGE_COMPARISON, paths, path, err);
    case PLAN_JSON:
        return sw_report_plan_json(of->plan, of->inspection, path, err);
    default:
        return sw_report_strips(of->plan, of->inspection, of->paper, path, err);
    }
}

static void choose_files(writing *what, const char *names[FILES + 1])
{
    const sw_results *of = what->results;
    bool chosen[FILES] = {[JSON] = true, [SEAMS] = true, [EDGES] = true};
    chosen[OVERLAY] = chosen[TABLE_PICTURE] = chosen[PAGE] = of->photo;
    chosen[SEAMS_PICTURE] = of->photo && of->inspection->seam_count;
    chosen[RECHECK_JSON] = of->since;
    chosen[RECHECK_PAGE] = of->since && of->photo;
    chosen[PLAN_JSON] = of->plan;
    chosen[STRIPS] = of->plan && of->photo;
    for (int i = 0; i < FILES; i++)
        if (chosen[i]) {
            what->files[what->count] = i;
            names[what->count++] = NAMES[i];
        }
}

sw_status sw_report_write_all(const sw_results *results, const char *folder, sw_error *err)
{
    writing what = {.results = results};
    const char *names[FILES + 1] = {NULL};
    choose_files(&what, names);
    const sw_files files = {RULE, names, write_one, &what};
    return sw_files_write(&files, folder, err);
}

sw_status sw_report_write(const sw_inspection *inspection, const sw_photo *photo, const char *folder, bool pictures,
                          sw_error *err)
{
    const sw_results results = {.inspection = inspection, .photo = pictures ? photo : NULL};
    if (pictures && !photo)
        return sw_fail(err, SW_BAD_INPUT, "%s: pictures need the photo; give it, or write the report without pictures",
                       folder);
    return sw_report_write_all(&results, folder, err);
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
