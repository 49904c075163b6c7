/* recheck.c - recheck.json and recheck.html into a folder, both or neither. */
#include "files/all_or_none.h"
#include "files/formats.h"
#include "report/folder/pictures.h"

enum { JSON };

static const char *const NAMES[] = {"recheck.json", "recheck.html", NULL};
static const sw_overwrite RULE = {
    .how = SW_OVERWRITE_IN_ANY,
    .groups = SW_GROUPS,
    .proofs = (const char *const[]){"recheck.json", NULL},
    .deny = "cannot be read",
    .deny_file = "was not written by recheck and is left alone; move it or choose another folder with -o",
    .no_folder = "there is a file of this name; choose another folder with -o"};

typedef struct writing {
    const sw_recheck *recheck;
    const sw_inspection *before, *after;
    const char *before_pictures, *after_pictures;
} writing;

static sw_status write_one(size_t which, char *const *paths, const void *context, sw_error *err)
{
    const writing *what = context;
    if (which == JSON)
        return sw_report_recheck_json(what->recheck, what->before, what->after, paths[which], err);
    const sw_page page = {
        .open = SW_PAGE_COMPARISON, .inspection = what->after, .recheck = what->recheck, .before = what->before};
    return sw_page_with_pictures(&page, what->after_pictures, what->before_pictures, paths[which], err);
}

sw_status sw_report_recheck_write(const sw_recheck *recheck, const sw_inspection *before, const char *before_pictures,
                                  const sw_inspection *after, const char *after_pictures, const char *folder,
                                  sw_error *err)
{
    const writing what = {recheck, before, after, before_pictures, after_pictures};
    const sw_files files = {RULE, NAMES, write_one, &what};
    return sw_files_write(&files, folder, err);
}
