#include "files/put.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "files/hold.h"
#include "files/path.h"

enum { NAME_TRIES = 100 }; /* leftovers of crashed runs with the same process number are skipped */

sw_status sw_put_failed(const char *path, const char *what, sw_error *err)
{
    const char *hint = errno == ENOSPC || errno == EFBIG ? "make room there or choose another place with -o"
                       : errno == ENOENT                 ? "make its folder first"
                                                         : "choose another place with -o";
    return sw_fail(err, SW_CANNOT_WRITE, "%.300s: cannot be %s (%s); %s", path, what, strerror(errno), hint);
}

sw_status sw_put_no_memory(const char *path, sw_error *err)
{
    return sw_fail(err, SW_NO_MEMORY, "%.300s: not enough memory to write it; close other programs and try again",
                   path);
}

/* Held while it is open; another run that tidies up may have been quicker than the hold. */
static int make_held(const char *part)
{
    int handle = open(part, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (handle < 0 || sw_hold_handle(handle) || access(part, F_OK) == 0)
        return handle;
    close(handle);
    errno = EEXIST;
    return -1;
}

sw_status sw_put_begin(const char *path, char **part, int *handle, sw_error *err)
{
    *part = NULL;
    *handle = -1;
    errno = EEXIST;
    for (int number = 0; *handle < 0 && errno == EEXIST && number < NAME_TRIES; number++) {
        free(*part);
        *part = sw_path_beside(path, number);
        if (!*part)
            return sw_put_no_memory(path, err);
        *handle = make_held(*part);
    }
    if (*handle >= 0)
        return SW_OK;
    sw_status status = sw_put_failed(path, "written", err);
    free(*part);
    *part = NULL;
    return status;
}

sw_status sw_put_over(const char *part, const char *target, sw_error *err)
{
    return rename(part, target) == 0 ? SW_OK : sw_put_failed(target, "written", err);
}

static bool sync_path(const char *path)
{
    int handle = open(path, O_RDONLY | O_CLOEXEC);
    bool synced = handle >= 0 && fsync(handle) == 0;
    int why = errno;
    if (handle >= 0)
        close(handle);
    errno = why;
    return synced;
}

sw_status sw_put_sync(const char *path, sw_error *err)
{
    return sync_path(path) ? SW_OK : sw_put_failed(path, "written", err);
}

void sw_put_sync_name(const char *target)
{
    size_t at = sw_path_name_at(target);
    char *folder = at ? strndup(target, at) : strdup(".");
    if (folder)
        sync_path(folder);
    free(folder);
}
