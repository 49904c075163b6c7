/* write.c - arrange.json and arrange.html into a folder, both or neither. */
#include "files/beside.h"
#include "seamwright/arrange.h"

enum { JSON, PAGE, FILES };
static const char *const NAMES[FILES] = {"arrange.json", "arrange.html"};

typedef struct writing {
    const sw_arrangement *arrangement;
    const sw_inspection *first;
} writing;

static sw_status write_one(size_t which, const char *path, const void *context, sw_error *err)
{
    const writing *what = context;
    if (which == JSON)
        return sw_report_arrange_json(what->arrangement, what->first, path, err);
    return sw_report_arrange_page(what->arrangement, what->first, path, err);
}

sw_status sw_report_arrange_write(const sw_arrangement *arrangement, const sw_inspection *first, const char *folder,
                                  sw_error *err)
{
    const writing what = {arrangement, first};
    const sw_beside files = {
        .names = NAMES,
        .count = FILES,
        .write = write_one,
        .context = &what,
        .ours = SW_FOLDER_ARRANGE,
        .deny = "was not written by arrange and is left alone; move it or choose another folder with -o",
        .no_folder = "there is a file of this name; choose another folder with -o"};
    return sw_beside_write(&files, folder, err);
}
