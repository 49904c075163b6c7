#include "files/hold.h"

#include <errno.h>
#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

/* How long another run may take to write its results: pictures on a slow disk, a card in a reader. */
enum { WAIT_MS = 20000, LOOK_MS = 50 };

/* Is what we hold still what the name means? Another run may have put its own there. */
static bool is_still(int handle, const char *path)
{
    struct stat held, named;
    return fstat(handle, &held) == 0 && stat(path, &named) == 0 && held.st_dev == named.st_dev &&
           held.st_ino == named.st_ino;
}

bool sw_hold_handle(int handle)
{
    return flock(handle, LOCK_EX | LOCK_NB) == 0;
}

int sw_hold_try(const char *path)
{
    int handle = open(path, O_RDONLY | O_NONBLOCK | O_NOFOLLOW | O_CLOEXEC);
    if (handle < 0)
        return SW_HOLD_NONE;
    if (sw_hold_handle(handle) && is_still(handle, path))
        return handle;
    int why = errno;
    close(handle);
    errno = why;
    return SW_HOLD_NONE;
}

int sw_hold_wait(const char *path, bool *taken)
{
    *taken = true;
    for (int waited_ms = 0; waited_ms < WAIT_MS; waited_ms += LOOK_MS) {
        errno = EWOULDBLOCK; /* it is another one by now: look again */
        int handle = sw_hold_try(path);
        if (handle != SW_HOLD_NONE || errno != EWOULDBLOCK)
            return handle;
        nanosleep(&(struct timespec){.tv_nsec = LOOK_MS * 1000000L}, NULL);
    }
    *taken = false;
    return SW_HOLD_NONE;
}

void sw_hold_end(int handle)
{
    if (handle != SW_HOLD_NONE)
        close(handle);
}
