/* recheck_write.c - recheck.json and recheck.html into a folder, both or neither. */
#include <jansson.h>
#include <string.h>
#include <sys/stat.h>

#include <stdlib.h>

#include "beside.h"
#include "folder.h"
#include "seamwright/recheck.h"

static const char *const NAMES[] = {"recheck.json", "recheck.html"};
enum { JSON, PAGE, FILES };

static int is_there(const char *path)
{
    struct stat there;
    return path && stat(path, &there) == 0;
}

static int is_ours(const char *path)
{
    json_t *root = json_load_file(path, 0, NULL);
    const char *format = json_string_value(json_object_get(root, "format"));
    int ours = format && strcmp(format, "seamwright-recheck") == 0;
    json_decref(root);
    return ours;
}

/* Files of these names that no recheck wrote are a user's, and stay. */
static sw_status check_old(const sw_beside *beside, sw_error *err)
{
    int ours = is_there(beside->target[JSON]) && is_ours(beside->target[JSON]);
    for (int i = 0; i < FILES; i++)
        if (is_there(beside->target[i]) && !ours)
            return sw_fail(
                err, SW_CANNOT_WRITE,
                "%.300s: was not written by recheck and is left alone; move it or choose another folder with -o",
                beside->target[i]);
    return SW_OK;
}

sw_status sw_report_recheck_write(const sw_recheck *recheck, const sw_inspection *before, const sw_inspection *after,
                                  const char *folder, sw_error *err)
{
    sw_beside beside;
    sw_status status = sw_beside_begin(&beside, folder, NAMES, FILES, err);
    if (status)
        return status;
    status = check_old(&beside, err);
    if (!status)
        status = sw_report_recheck_json(recheck, before, after, beside.part[JSON], err);
    if (!status)
        status = sw_report_recheck_page(recheck, before, after, beside.part[PAGE], err);
    if (!status)
        status = sw_beside_finish(&beside, err);
    sw_beside_end(&beside);
    return status;
}
