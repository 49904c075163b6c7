/* photos.c - several photos of one table, before any is measured. */
#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "seamwright/defaults_and_ranges.h"
#include "seamwright/inspect.h"

sw_status sw_photos_check(const char *const *paths, int count, int *which, sw_error *err)
{
    struct stat seen[SW_TABLE_PHOTOS_MOST];
    *which = 0;
    if (count > SW_TABLE_PHOTOS_MOST)
        return sw_fail(err, SW_BAD_INPUT, "%d photos of one table are too many; name up to %d, three to five do", count,
                       SW_TABLE_PHOTOS_MOST);
    for (int i = 0; i < count; i++) {
        *which = i;
        if (stat(paths[i], &seen[i]) != 0 || access(paths[i], R_OK) != 0)
            return sw_fail(err, SW_CANNOT_READ, "cannot be opened: %s", strerror(errno));
        for (int j = 0; j < i; j++)
            if (seen[i].st_dev == seen[j].st_dev && seen[i].st_ino == seen[j].st_ino)
                return sw_fail(err, SW_BAD_INPUT,
                               "this photo is named twice; a photo always agrees with itself, take each one anew");
    }
    return SW_OK;
}
