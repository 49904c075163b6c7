/* arrange_write.c - arrange.json and arrange.html into a folder, both or neither. */
#include <string.h>
#include <sys/stat.h>

#include "beside.h"
#include "folder.h"
#include "seamwright/arrange.h"

static const char *const NAMES[] = {"arrange.json", "arrange.html"};
enum { JSON, PAGE, FILES };

static int is_there(const char *path)
{
    struct stat there;
    return path && stat(path, &there) == 0;
}

/* Files of these names that no arrangement of ours goes with are a user's, and stay. */
static sw_status check_old(const sw_beside *beside, sw_error *err)
{
    int ours = sw_folder_holds(beside->folder, NAMES[JSON], "seamwright-arrangement");
    for (int i = 0; i < FILES; i++)
        if (is_there(beside->target[i]) && !ours)
            return sw_fail(
                err, SW_CANNOT_WRITE,
                "%.300s: was not written by arrange and is left alone; move it or choose another folder with -o",
                beside->target[i]);
    return SW_OK;
}

sw_status sw_report_arrange_write(const sw_arrangement *arrangement, const sw_inspection *first, const char *folder,
                                  sw_error *err)
{
    sw_beside beside;
    sw_status status = sw_beside_begin(&beside, folder, NAMES, FILES, err);
    if (status)
        return status;
    status = check_old(&beside, err);
    if (!status)
        status = sw_report_arrange_json(arrangement, first, beside.part[JSON], err);
    if (!status)
        status = sw_report_arrange_page(arrangement, first, beside.part[PAGE], err);
    if (!status)
        status = sw_beside_finish(&beside, err);
    sw_beside_end(&beside);
    return status;
}
