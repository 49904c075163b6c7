/* write.c - recheck.json and recheck.html into a folder, both or neither. */
#include "files/beside.h"
#include "seamwright/recheck.h"

enum { JSON, PAGE, FILES };
static const char *const NAMES[FILES] = {"recheck.json", "recheck.html"};

typedef struct writing {
    const sw_recheck *recheck;
    const sw_inspection *before, *after;
} writing;

static sw_status write_one(size_t which, const char *path, const void *context, sw_error *err)
{
    const writing *what = context;
    if (which == JSON)
        return sw_report_recheck_json(what->recheck, what->before, what->after, path, err);
    return sw_report_recheck_page(what->recheck, what->before, what->after, path, err);
}

sw_status sw_report_recheck_write(const sw_recheck *recheck, const sw_inspection *before, const sw_inspection *after,
                                  const char *folder, sw_error *err)
{
    const writing what = {recheck, before, after};
    const sw_beside files = {
        .names = NAMES,
        .count = FILES,
        .write = write_one,
        .context = &what,
        .ours = SW_FOLDER_RECHECK,
        .deny = "was not written by recheck and is left alone; move it or choose another folder with -o",
        .no_folder = "there is a file of this name; choose another folder with -o"};
    return sw_beside_write(&files, folder, err);
}
