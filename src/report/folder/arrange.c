/* arrange.c - arrange.json and arrange.html into a folder, both or neither. */
#include "files/all_or_none.h"
#include "files/formats.h"
#include "report/folder/pictures.h"

enum { JSON };

static const char *const NAMES[] = {"arrange.json", "arrange.html", NULL};
static const sw_overwrite RULE = {
    .how = SW_OVERWRITE_IN_ANY,
    .groups = SW_GROUPS,
    .proofs = (const char *const[]){"arrange.json", NULL},
    .deny = "cannot be read",
    .deny_file = "was not written by arrange and is left alone; move it or choose another folder with -o",
    .no_folder = "there is a file of this name; choose another folder with -o"};

typedef struct writing {
    const sw_arrangement *arrangement;
    const sw_inspection *first;
    const char *pictures;
} writing;

static sw_status write_one(size_t which, char *const *paths, const void *context, sw_error *err)
{
    const writing *what = context;
    if (which == JSON)
        return sw_report_arrange_json(what->arrangement, what->first, paths[which], err);
    const sw_page page = {.open = SW_PAGE_ARRANGEMENT, .inspection = what->first, .arrangement = what->arrangement};
    return sw_page_with_pictures(&page, what->pictures, NULL, paths[which], err);
}

sw_status sw_report_arrange_write(const sw_arrangement *arrangement, const sw_inspection *first, const char *pictures,
                                  const char *folder, sw_error *err)
{
    const writing what = {arrangement, first, pictures};
    const sw_files files = {RULE, NAMES, write_one, &what};
    return sw_files_write(&files, folder, err);
}
