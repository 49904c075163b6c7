#define _GNU_SOURCE /* nftw, mkdtemp */
#include "fuzz/scratch.h"

#include <dirent.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { FOLDERS_OPEN = 8 }; /* while a tree is walked */

static char outer[] = "/tmp/seamwright-fuzz-XXXXXX";
static pid_t owner;

static void demand(int truth)
{
    if (!truth)
        abort();
}

static int drop(const char *path, const struct stat *facts, int kind, struct FTW *at)
{
    (void)facts, (void)kind;
    return at->level == 0 ? 0 : remove(path);
}

static void remove_all(void)
{
    if (getpid() != owner) /* libFuzzer forks */
        return;
    nftw(outer, drop, FOLDERS_OPEN, FTW_DEPTH | FTW_PHYS);
    rmdir(outer);
}

void scratch_begin(void)
{
    if (!owner) {
        demand(mkdtemp(outer) && chdir(outer) == 0 && mkdir("in", 0777) == 0 && chdir("in") == 0);
        owner = getpid();
        demand(atexit(remove_all) == 0);
    }
    demand(nftw(".", drop, FOLDERS_OPEN, FTW_DEPTH | FTW_PHYS) == 0);
}

void scratch_write(const char *name, const void *data, size_t size)
{
    FILE *file = fopen(name, "wb");
    demand(file && fwrite(data, 1, size, file) == size);
    demand(fclose(file) == 0);
}

int scratch_around(void)
{
    DIR *folder = opendir(outer);
    demand(folder != NULL);
    int count = 0;
    for (struct dirent *entry; (entry = readdir(folder));)
        count += strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0;
    closedir(folder);
    return count;
}
