#include "report/inspection/read.h"

#include <stdio.h>
#include <string.h>

#include "seamwright/photo.h"
#include "seamwright/report.h"

/* What a shell takes as one word as it stands. */
static const char PLAIN[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_./+,:=@%-";

/* Somebody named the photo where its inspection is meant. */
static sw_status is_photo(const char *path, sw_error *err)
{
    const char *quote = path[strspn(path, PLAIN)] ? "'" : "";
    const char *name = strchr(path, '\'') ? "PHOTO" : path;
    return sw_fail(err, SW_BAD_INPUT, "%.150s: this is a photo; inspect it first: seamwright inspect %s%.200s%s", path,
                   name == path ? quote : "", name, name == path ? quote : "");
}

sw_status sw_inspection_read(const char *path, sw_inspection *to, sw_error *err)
{
    sw_status status = sw_inspection_parse(NULL, 0, path, to, err);
    return status == SW_BAD_INPUT && sw_photo_is(path) ? is_photo(path, err) : status;
}
