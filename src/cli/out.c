#include "cli/out.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char TEMPORARY_NAME[] = ".seamwright-XXXXXX";

static sw_status no_memory(sw_error *err)
{
    return sw_fail(err, SW_NO_MEMORY, "out of memory");
}

static char *join(const char *start, size_t start_length, const char *end)
{
    size_t end_length = strlen(end);
    char *joined = malloc(start_length + end_length + 1);
    if (joined) {
        memcpy(joined, start, start_length);
        memcpy(joined + start_length, end, end_length + 1);
    }
    return joined;
}

/* Length of the folder part of path, its last slash included: 0 for "card.pdf", 4 for "out/card.pdf" and "out/dir/". */
static size_t folder_length(const char *path)
{
    size_t length = strlen(path);
    while (length > 0 && path[length - 1] == '/')
        length--;
    while (length > 0 && path[length - 1] != '/')
        length--;
    return length;
}

/* A name beside path, so that the rename stays within one file system. */
static char *temporary_beside(const char *path)
{
    return join(path, folder_length(path), TEMPORARY_NAME);
}

static sw_status cannot_make(const char *path, sw_error *err)
{
    const char *hint = errno == ENOSPC || errno == EFBIG ? "make room there or choose another place with -o"
                       : errno == ENOENT                 ? "make its folder first"
                                                         : "choose another place with -o";
    return sw_fail(err, SW_CANNOT_WRITE, "%s: cannot be written (%s); %s", path, strerror(errno), hint);
}

sw_status out_check_file(const char *path, sw_error *err)
{
    struct stat there;
    if (path[0] == '\0' || path[strlen(path) - 1] == '/')
        return sw_fail(err, SW_BAD_INPUT, "%s: name a file to write with -o, not a folder", path[0] ? path : "-o");
    if (stat(path, &there) == 0 && !S_ISREG(there.st_mode))
        return sw_fail(err, SW_CANNOT_WRITE, "%s: there is a %s of this name; choose another with -o", path,
                       S_ISDIR(there.st_mode) ? "folder" : "device or pipe");
    out_file probe;
    sw_status status = out_open(path, &probe, err);
    out_drop(&probe);
    return status;
}

/* 1 when the folder holds nothing, 0 when it holds something or cannot be read. */
static int is_empty(const char *path)
{
    DIR *folder = opendir(path);
    if (!folder)
        return 0;
    int empty = 1;
    for (struct dirent *entry; empty && (entry = readdir(folder));)
        empty = strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0;
    closedir(folder);
    return empty;
}

/* A quick look at what sw_report_write would refuse as well, but only after the measuring. */
static sw_status check_old_folder(const char *path, sw_error *err)
{
    struct stat there, here;
    if (stat(path, &there) != 0)
        return SW_OK;
    if (!S_ISDIR(there.st_mode))
        return sw_fail(err, SW_CANNOT_WRITE, "%s: there is a file of this name; choose another folder with -o", path);
    if (stat(".", &here) == 0 && here.st_dev == there.st_dev && here.st_ino == there.st_ino)
        return sw_fail(err, SW_CANNOT_WRITE, "%s: this is the folder you are in; name one below it with -o", path);
    char *inspection = join(path, strlen(path), "/inspection.json");
    if (!inspection)
        return no_memory(err);
    int ours = stat(inspection, &there) == 0 || is_empty(path);
    free(inspection);
    if (!ours)
        return sw_fail(err, SW_CANNOT_WRITE,
                       "%s: this folder holds no inspection and is left alone; choose another folder with -o", path);
    return SW_OK;
}

sw_status out_check_folder(const char *path, sw_error *err)
{
    if (path[0] == '\0')
        return sw_fail(err, SW_BAD_INPUT, "-o: name a folder for the results");
    sw_status status = check_old_folder(path, err);
    if (status != SW_OK)
        return status;
    /* Through a link: the results are made beside the folder it points to. */
    char *real = realpath(path, NULL);
    char *probe = temporary_beside(real ? real : path);
    free(real);
    if (!probe)
        return no_memory(err);
    if (mkdtemp(probe))
        rmdir(probe);
    else
        status = cannot_make(path, err);
    free(probe);
    return status;
}

char *out_default_folder(const char *photo)
{
    const char *name = photo + folder_length(photo);
    const char *dot = strrchr(name, '.');
    size_t kept = dot && dot != name ? (size_t)(dot - photo) : strlen(photo);
    return join(photo, kept, ".seams");
}

sw_status out_open(const char *path, out_file *out, sw_error *err)
{
    *out = (out_file){0};
    out->temporary = temporary_beside(path);
    if (!out->temporary)
        return no_memory(err);
    int handle = mkstemp(out->temporary);
    if (handle < 0) {
        sw_status status = cannot_make(path, err);
        free(out->temporary);
        out->temporary = NULL;
        return status;
    }
    /* mkstemp makes a file only its owner reads; the result gets the rights any new file would have. */
    mode_t mask = umask(0);
    umask(mask);
    fchmod(handle, 0666 & ~mask);
    out->stream = fdopen(handle, "wb");
    if (!out->stream) {
        close(handle);
        out_drop(out);
        return no_memory(err);
    }
    return SW_OK;
}

sw_status out_keep(const char *path, out_file *out, sw_error *err)
{
    int failed = fflush(out->stream) != 0 || ferror(out->stream);
    failed |= fclose(out->stream) != 0;
    out->stream = NULL;
    sw_status status = SW_OK;
    if (failed || rename(out->temporary, path) != 0)
        status = cannot_make(path, err);
    else {
        free(out->temporary);
        out->temporary = NULL;
    }
    out_drop(out);
    return status;
}

void out_drop(out_file *out)
{
    if (!out)
        return;
    if (out->stream)
        fclose(out->stream);
    if (out->temporary)
        unlink(out->temporary);
    free(out->temporary);
    *out = (out_file){0};
}
