/* faults.c - preloaded into the program: the Nth call of a kind fails, or the process is killed before or after it.
 *
 * FAULT=KIND:N:WHAT and FAULT_COUNTS=FILE, a file of FAULT_KINDS + 1 numbers of 8 bytes, which all processes of the run
 * share: the calls of every kind so far, and behind them how often the fault struck; then PATH_ROOM bytes for the file whose
 * opening was struck. KIND is a name of KINDS below; WHAT is
 *   the number of an error (errno), struck once;
 *   the same with a '+' behind it: that call and all later ones of the kind;
 *   "before" or "after": SIGKILL to the process itself;
 *   "exit": exit(1), which some libraries do when memory is out.
 * N counts from 1. START is what supervision needs: pipe2, memfd_create, fork. What operator new, strdup, stdio and the loader ask for comes through malloc and its kin.
 */
#define _GNU_SOURCE
#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

typedef enum call_kind { ALLOC, WRITE, SYNC, OPEN, MAKE, LINK, RENAME, UNLINK, START, FAULT_KINDS } call_kind;
static const char *const KINDS[FAULT_KINDS] = {"alloc", "write",  "sync",   "open", "mkdir",
                                               "link",  "rename", "unlink", "start"};

enum { PATH_ROOM = 256 };

typedef enum what { NOTHING, FAILS, FAILS_ON, EXITS, KILLED_BEFORE, KILLED_AFTER } what;

static struct {
    call_kind kind;
    uint64_t at;
    what what;
    int error;
    struct stat messages;     /* standard error as the program was given it */
    _Atomic uint64_t *counts; /* shared; NULL: nothing is counted yet */
} fault;

static void strike(void)
{
    atomic_fetch_add(&fault.counts[FAULT_KINDS], 1);
    if (fault.what == KILLED_BEFORE || fault.what == KILLED_AFTER)
        kill(getpid(), SIGKILL);
    if (fault.what == EXITS) {
        fault.what = NOTHING;
        exit(1);
    }
    errno = fault.error;
}

/* Before a call of this kind: shall it fail? *last tells that the process dies after it. */
static bool fails(call_kind kind, bool *last)
{
    *last = false;
    if (!fault.counts)
        return false;
    uint64_t number = atomic_fetch_add(&fault.counts[kind], 1) + 1;
    if (kind != fault.kind || fault.what == NOTHING || number < fault.at ||
        (number > fault.at && fault.what != FAILS_ON))
        return false;
    *last = fault.what == KILLED_AFTER;
    if (!*last)
        strike();
    return !*last;
}

static void take_what(const char *text)
{
    char *end;
    fault.what = strcmp(text, "before") == 0  ? KILLED_BEFORE
                 : strcmp(text, "after") == 0 ? KILLED_AFTER
                 : strcmp(text, "exit") == 0  ? EXITS
                                              : FAILS;
    if (fault.what != FAILS)
        return;
    fault.error = (int)strtol(text, &end, 10);
    if (*end == '+')
        fault.what = FAILS_ON;
}

__attribute__((constructor)) static void begin(void)
{
    const char *text = getenv("FAULT"), *path = getenv("FAULT_COUNTS");
    char name[16], doing[16];
    unsigned long at;
    if (text && sscanf(text, "%15[a-z]:%lu:%15s", name, &at, doing) == 3) {
        while (fault.kind < FAULT_KINDS && strcmp(KINDS[fault.kind], name) != 0)
            fault.kind++;
        fault.at = at;
        take_what(doing);
    }
    fstat(STDERR_FILENO, &fault.messages);
    int file = path ? open(path, O_RDWR) : -1;
    void *shared = file >= 0
                       ? mmap(NULL, (FAULT_KINDS + 1) * 8 + PATH_ROOM, PROT_READ | PROT_WRITE, MAP_SHARED, file, 0)
                       : MAP_FAILED;
    if (file >= 0)
        close(file);
    if (shared != MAP_FAILED)
        fault.counts = shared;
}

/* ---- memory: through glibc's own names, which need no looking up ---- */

extern void *__libc_malloc(size_t), *__libc_calloc(size_t, size_t), *__libc_realloc(void *, size_t),
    *__libc_memalign(size_t, size_t);

#define ASK(otherwise, call)                                                                                           \
    bool last;                                                                                                         \
    if (fails(ALLOC, &last))                                                                                           \
        return otherwise;                                                                                              \
    call

void *malloc(size_t size)
{
    ASK(NULL, return __libc_malloc(size));
}

void *calloc(size_t count, size_t size)
{
    ASK(NULL, return __libc_calloc(count, size));
}

void *realloc(void *block, size_t size)
{
    if (block && size == 0)
        return __libc_realloc(block, size); /* frees */
    ASK(NULL, return __libc_realloc(block, size));
}

void *memalign(size_t alignment, size_t size)
{
    ASK(NULL, return __libc_memalign(alignment, size));
}

void *aligned_alloc(size_t alignment, size_t size)
{
    ASK(NULL, return __libc_memalign(alignment, size));
}

int posix_memalign(void **block, size_t alignment, size_t size)
{
    ASK(ENOMEM, *block = __libc_memalign(alignment, size));
    return *block ? 0 : ENOMEM;
}

/* ---- files ---- */

#define REAL(name) ((__typeof__(&name))dlsym(RTLD_NEXT, #name))
#define FILES(kind, name, arguments)                                                                                   \
    bool last;                                                                                                         \
    if (fails(kind, &last))                                                                                            \
        return -1;                                                                                                     \
    int result = (int)REAL(name) arguments;                                                                            \
    if (last)                                                                                                          \
        strike();                                                                                                      \
    return result

int rename(const char *from, const char *to)
{
    FILES(RENAME, rename, (from, to));
}

int renameat2(int a, const char *from, int b, const char *to, unsigned flags)
{
    FILES(RENAME, renameat2, (a, from, b, to, flags));
}

int renameat(int a, const char *from, int b, const char *to)
{
    FILES(RENAME, renameat, (a, from, b, to));
}

int unlink(const char *path)
{
    FILES(UNLINK, unlink, (path));
}

int unlinkat(int at, const char *path, int flags)
{
    FILES(UNLINK, unlinkat, (at, path, flags));
}

int rmdir(const char *path)
{
    FILES(UNLINK, rmdir, (path));
}

int remove(const char *path)
{
    FILES(UNLINK, remove, (path));
}

int mkdir(const char *path, mode_t mode)
{
    FILES(MAKE, mkdir, (path, mode));
}

int link(const char *from, const char *to)
{
    FILES(LINK, link, (from, to));
}

int linkat(int a, const char *from, int b, const char *to, int flags)
{
    FILES(LINK, linkat, (a, from, b, to, flags));
}

int symlink(const char *from, const char *to)
{
    FILES(LINK, symlink, (from, to));
}

int fsync(int file)
{
    FILES(SYNC, fsync, (file));
}

int fdatasync(int file)
{
    FILES(SYNC, fdatasync, (file));
}

/* An open that is struck tells which file it was of. */
static bool open_fails(const char *path, bool *last)
{
    bool struck = fails(OPEN, last);
    if (struck)
        snprintf((char *)(fault.counts + FAULT_KINDS + 1), PATH_ROOM, "%s", path);
    return struck;
}

#define OPENS(failed, call)                                                                                            \
    bool last;                                                                                                         \
    if (open_fails(path, &last))                                                                                       \
        return failed;                                                                                                 \
    return call

/* The mode, where the flags say that there is one. */
#define MODE(flags, more) ((flags) & (O_CREAT | O_TMPFILE) ? va_arg(more, mode_t) : 0)

int open(const char *path, int flags, ...)
{
    va_list more;
    va_start(more, flags);
    mode_t mode = MODE(flags, more);
    va_end(more);
    OPENS(-1, REAL(open)(path, flags, mode));
}

int open64(const char *path, int flags, ...)
{
    va_list more;
    va_start(more, flags);
    mode_t mode = MODE(flags, more);
    va_end(more);
    OPENS(-1, REAL(open64)(path, flags, mode));
}

/* What open is where a library was built to look at its own buffers' sizes. */
int __open_2(const char *path, int flags)
{
    OPENS(-1, REAL(open)(path, flags));
}

int __open64_2(const char *path, int flags)
{
    OPENS(-1, REAL(open64)(path, flags));
}

DIR *opendir(const char *path)
{
    OPENS(NULL, REAL(opendir)(path));
}

FILE *fopen(const char *path, const char *how)
{
    OPENS(NULL, REAL(fopen)(path, how));
}

FILE *fopen64(const char *path, const char *how)
{
    return fopen(path, how);
}

int pipe2(int ends[2], int flags)
{
    FILES(START, pipe2, (ends, flags));
}

int memfd_create(const char *name, unsigned flags)
{
    FILES(START, memfd_create, (name, flags));
}

pid_t fork(void)
{
    FILES(START, fork, ());
}

/* ---- what is written: by write, and by stdio, whose own calls of write are inside the C library ---- */

enum { STREAM_FAILED = 0x20 }; /* glibc's _IO_ERR_SEEN: what ferror looks at */

/* Messages go out: what they say is what the test looks at. So does what goes into a pipe, where nothing can be full. */
static bool is_message(int file)
{
    struct stat facts;
    return fstat(file, &facts) == 0 && (S_ISFIFO(facts.st_mode) || (facts.st_dev == fault.messages.st_dev &&
                                                                    facts.st_ino == fault.messages.st_ino));
}

ssize_t write(int file, const void *bytes, size_t count)
{
    if (is_message(file))
        return REAL(write)(file, bytes, count);
    bool last;
    if (fails(WRITE, &last))
        return -1;
    ssize_t done = REAL(write)(file, bytes, count);
    if (last)
        strike();
    return done;
}

static bool stream_fails(FILE *file)
{
    bool last;
    if (!fails(WRITE, &last))
        return false;
    if (file)
        file->_flags |= STREAM_FAILED;
    return true;
}

size_t fwrite(const void *bytes, size_t size, size_t count, FILE *file)
{
    return stream_fails(file) ? 0 : REAL(fwrite)(bytes, size, count, file);
}

int fputs(const char *text, FILE *file)
{
    return stream_fails(file) ? EOF : REAL(fputs)(text, file);
}

int fputc(int c, FILE *file)
{
    return stream_fails(file) ? EOF : REAL(fputc)(c, file);
}

int fflush(FILE *file)
{
    return stream_fails(file) ? EOF : REAL(fflush)(file);
}

int fclose(FILE *file)
{
    bool last, failed = fails(WRITE, &last);
    int why = errno, closed = REAL(fclose)(file);
    errno = failed ? why : errno;
    return failed ? EOF : closed;
}

int vfprintf(FILE *file, const char *format, va_list arguments)
{
    return stream_fails(file) ? -1 : REAL(vfprintf)(file, format, arguments);
}

int fprintf(FILE *file, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    int done = vfprintf(file, format, arguments);
    va_end(arguments);
    return done;
}
