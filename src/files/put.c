#define _GNU_SOURCE /* renameat2 */
#include "files/put.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

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

sw_status sw_put_begin(const char *path, char **part, int *handle, sw_error *err)
{
    bool made = false;
    *part = NULL;
    errno = EEXIST;
    for (int number = 0; !made && errno == EEXIST && number < NAME_TRIES; number++) {
        free(*part);
        *part = sw_path_beside(path, "part", number);
        if (!*part)
            return sw_put_no_memory(path, err);
        if (handle)
            *handle = open(*part, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
        made = handle ? *handle >= 0 : mkdir(*part, 0777) == 0;
    }
    if (made)
        return SW_OK;
    sw_status status = sw_put_failed(path, "written", err);
    free(*part);
    *part = NULL;
    return status;
}

/* Renames that are undone from the last to the first when one fails; errno is the failed one's. */
static bool exchange_by(const char *a, const char *b, const char *aside)
{
    if (rename(b, aside) != 0)
        return false;
    bool a_moved = rename(a, b) == 0;
    if (a_moved && rename(aside, a) == 0)
        return true;
    int why = errno;
    if (a_moved)
        rename(b, a);
    rename(aside, b);
    errno = why;
    return false;
}

/* Two names change places, or neither does. */
static bool exchange(const char *a, const char *b)
{
#ifdef RENAME_EXCHANGE
    if (renameat2(AT_FDCWD, a, AT_FDCWD, b, RENAME_EXCHANGE) == 0)
        return true;
    if (errno != EINVAL && errno != ENOSYS) /* what a file system or kernel that has no exchange answers */
        return false;
#endif
    char *aside = sw_path_beside(b, "old", 0);
    bool done = aside && exchange_by(a, b, aside);
    int why = errno;
    free(aside);
    errno = why;
    return done;
}

sw_status sw_put(const char *part, const char *target, bool *swapped, sw_error *err)
{
    struct stat there;
    *swapped = lstat(target, &there) == 0;
    if (*swapped ? exchange(part, target) : rename(part, target) == 0)
        return SW_OK;
    return sw_put_failed(target, *swapped ? "replaced" : "put there", err);
}

void sw_put_back(const char *part, const char *target, bool swapped)
{
    if (swapped)
        exchange(part, target);
    else
        rename(target, part);
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
