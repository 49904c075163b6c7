/* open.c - no more files can be opened: that ends the child at once, if it was a library of others that asked.
 *
 * As with memory (memory.c), not every library passes it on: fontconfig goes on with what it could read of its settings, and
 * the letters are others. Our own code says which file it was and tidies up, so what it asks for is returned. So are files
 * that are not there or may not be read: that is how they are, not what just happens.
 *
 * Left out where sanitizers watch, as memory.c is. */
#define _GNU_SOURCE /* dladdr, O_TMPFILE */
#include "cli/wires.h"

#ifndef SW_WATCHED
#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* __open_2 and __open64_2 are open in libraries that were built with checks of the C library's own. */
SW_API int open(const char *path, int flags, ...);
SW_API int open64(const char *path, int flags, ...);
SW_API int __open_2(const char *path, int flags);
SW_API int __open64_2(const char *path, int flags);
SW_API FILE *fopen(const char *path, const char *how);
SW_API FILE *fopen64(const char *path, const char *how);
SW_API DIR *opendir(const char *path);

/* The program and its libraries. */
static bool is_ours(const void *caller)
{
    Dl_info where;
    if (!dladdr(caller, &where) || !where.dli_fname)
        return true;
    const char *name = strrchr(where.dli_fname, '/');
    return strstr(name ? name : where.dli_fname, "seamwright") != NULL;
}

/* Looks at a call that failed. */
static void look(const void *caller)
{
    int why = errno;
    if (cli_parent < 0 || (why != EMFILE && why != ENFILE && why != ENOMEM) || is_ours(caller))
        return;
    cli_tell(why == ENOMEM ? CLI_TELLS_MEMORY : CLI_TELLS_FILES);
    abort();
}

/* The next in the order of libraries, as in memory.c; what it gives, looked at. */
#define PASS_ON(type, failed, name, ...)                                                                               \
    static __typeof__(&name) found;                                                                                    \
    if (!found)                                                                                                        \
        found = (__typeof__(&name))dlsym(RTLD_NEXT, #name);                                                            \
    type result = found(__VA_ARGS__);                                                                                  \
    if (result == (failed))                                                                                            \
        look(__builtin_return_address(0));                                                                             \
    return result

/* The mode, where the flags say that there is one. */
#define TAKE_MODE                                                                                                      \
    va_list more;                                                                                                      \
    va_start(more, flags);                                                                                             \
    mode_t mode = flags & O_CREAT || (flags & O_TMPFILE) == O_TMPFILE ? va_arg(more, mode_t) : 0;                      \
    va_end(more)

int open(const char *path, int flags, ...)
{
    TAKE_MODE;
    PASS_ON(int, -1, open, path, flags, mode);
}

int open64(const char *path, int flags, ...)
{
    TAKE_MODE;
    PASS_ON(int, -1, open64, path, flags, mode);
}

int __open_2(const char *path, int flags)
{
    PASS_ON(int, -1, __open_2, path, flags);
}

int __open64_2(const char *path, int flags)
{
    PASS_ON(int, -1, __open64_2, path, flags);
}

FILE *fopen(const char *path, const char *how)
{
    PASS_ON(FILE *, NULL, fopen, path, how);
}

FILE *fopen64(const char *path, const char *how)
{
    PASS_ON(FILE *, NULL, fopen64, path, how);
}

DIR *opendir(const char *path)
{
    PASS_ON(DIR *, NULL, opendir, path);
}
#endif
