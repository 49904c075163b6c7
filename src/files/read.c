#include "files/read.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { FIRST_BYTES = 1 << 16 };
enum { PIPE_MS = 5000 }; /* for all that a pipe brings: our files come from a disk, through cat or a decompressor */

static long long now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec * 1000LL + now.tv_nsec / 1000000;
}

/* A pipe has something to read, or has ended. One that nobody writes to yet has not. */
static bool comes(int handle, long long end_ms)
{
    struct pollfd wait = {.fd = handle, .events = POLLIN};
    for (long long left = end_ms - now_ms(); left > 0; left = end_ms - now_ms()) {
        int ready = poll(&wait, 1, (int)left);
        if (ready > 0 || (ready < 0 && errno != EINTR))
            return true;
    }
    return false;
}

static bool make_room(char **bytes, size_t length, size_t *room)
{
    if (length + 1 < *room)
        return true;
    size_t larger = *room ? *room * 2 : FIRST_BYTES;
    char *more = realloc(*bytes, larger);
    if (more) {
        *bytes = more;
        *room = larger;
    }
    return more;
}

/* Everything up to the limit, and a byte more to see that there is more. */
static sw_read_result read_all(int handle, bool is_pipe, size_t most_bytes, char **bytes, size_t *length)
{
    size_t room = 0;
    long long end_ms = now_ms() + PIPE_MS;
    for (;;) {
        if (!make_room(bytes, *length, &room))
            return SW_READ_NO_MEMORY;
        if (is_pipe && !comes(handle, end_ms))
            return SW_READ_TOO_SLOW;
        ssize_t got = read(handle, *bytes + *length, room - *length - 1);
        if (got < 0 && errno != EAGAIN && errno != EINTR)
            return SW_READ_FAILED;
        if (got == 0)
            return SW_READ_OK;
        *length += got > 0 ? (size_t)got : 0;
        if (*length > most_bytes)
            return SW_READ_TOO_LARGE;
    }
}

static sw_read_result look_and_read(int handle, size_t most_bytes, char **bytes, size_t *length)
{
    struct stat is;
    if (fstat(handle, &is) != 0)
        return SW_READ_FAILED;
    if (S_ISDIR(is.st_mode))
        return SW_READ_FOLDER;
    if (!S_ISREG(is.st_mode) && !S_ISFIFO(is.st_mode))
        return SW_READ_DEVICE;
    if (S_ISREG(is.st_mode) && (unsigned long long)is.st_size > most_bytes)
        return SW_READ_TOO_LARGE;
    return read_all(handle, S_ISFIFO(is.st_mode), most_bytes, bytes, length);
}

sw_read_result sw_read_whole(const char *path, size_t most_bytes, char **bytes, size_t *length)
{
    *bytes = NULL;
    *length = 0;
    /* Without O_NONBLOCK opening a pipe that nobody writes to waits for ever. */
    int handle = open(path, O_RDONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
    if (handle < 0)
        return SW_READ_FAILED;
    sw_read_result result = look_and_read(handle, most_bytes, bytes, length);
    int why = errno;
    close(handle);
    if (result == SW_READ_OK) {
        (*bytes)[*length] = 0;
    } else {
        free(*bytes);
        *bytes = NULL;
    }
    errno = why;
    return result;
}

const char *sw_read_words(sw_read_result result)
{
    switch (result) {
    case SW_READ_FAILED:
        return strerror(errno);
    case SW_READ_NO_MEMORY:
        return "not enough memory to read it; close other programs";
    case SW_READ_TOO_LARGE:
        return "is too large";
    case SW_READ_TOO_SLOW:
        return "is a pipe that brings nothing in time; save it as a file first";
    case SW_READ_FOLDER:
        return "is a folder, not a file";
    case SW_READ_DEVICE:
        return "is a device, not a file";
    default:
        return "";
    }
}

sw_status sw_read_status(sw_read_result result)
{
    return result == SW_READ_OK          ? SW_OK
           : result == SW_READ_NO_MEMORY ? SW_NO_MEMORY
           : result == SW_READ_TOO_LARGE ? SW_BAD_INPUT
                                         : SW_CANNOT_READ;
}
