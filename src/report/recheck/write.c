/* write.c - recheck.json and recheck.html into a folder, both or neither. */
#include "files/all_or_none.h"
#include "files/formats.h"
#include "seamwright/recheck.h"

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
} writing;

static sw_status write_one(size_t which, char *const *paths, const void *context, sw_error *err)
{
    const writing *what = context;
    if (which == JSON)
        return sw_report_recheck_json(what->recheck, what->before, what->after, paths[which], err);
    return sw_report_recheck_page(what->recheck, what->before, what->after, paths[which], err);
}

sw_status sw_report_recheck_write(const sw_recheck *recheck, const sw_inspection *before, const sw_inspection *after,
                                  const char *folder, sw_error *err)
{
    const writing what = {recheck, before, after};
    const sw_files files = {RULE, NAMES, write_one, &what};
    return sw_files_write(&files, folder, err);
}
