/* write.c - the whole report folder, there whole or not at all, and whether it can be written. */
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "files/all_or_none.h"
#include "files/file.h"
#include "files/formats.h"
#include "files/path.h"
#include "seamwright/report.h"

enum { JSON, SEAMS, EDGES, OVERLAY, PAGE, FILES };

static const sw_overwrite RULE = {
    .how = SW_OVERWRITE_WHOLE,
    .names = (const char *const[]){"inspection.json", "seams.csv", "edges.csv", "overlay.png", "report.html", NULL},
    .proofs = (const sw_proof[]){{"inspection.json", SW_FORMAT_INSPECTION}, {NULL, NULL}},
    .deny = "this folder holds no inspection of ours and is left alone; choose another folder with -o",
    .no_folder = "there is a file of this name; choose another folder with -o"};

typedef struct writing {
    const sw_inspection *inspection;
    const sw_photo *photo;
} writing;

static sw_status write_one(size_t which, char *const *paths, const void *context, sw_error *err)
{
    const writing *what = context;
    switch (which) {
    case JSON:
        return sw_report_json(what->inspection, paths[which], err);
    case SEAMS:
        return sw_report_seams_csv(what->inspection, paths[which], err);
    case EDGES:
        return sw_report_edges_csv(what->inspection, paths[which], err);
    case OVERLAY:
        return sw_report_overlay(what->inspection, what->photo, paths[which], err);
    default:
        return sw_report_page(what->inspection, paths[OVERLAY], paths[which], err);
    }
}

sw_status sw_report_write(const sw_inspection *inspection, const sw_photo *photo, const char *folder, bool pictures,
                          sw_error *err)
{
    const writing what = {inspection, photo};
    const sw_files files = {RULE, pictures ? FILES : OVERLAY, write_one, &what};
    return sw_files_write(&files, folder, err);
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
