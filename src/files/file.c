#include "files/file.h"

#include <stdbool.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "files/hold.h"
#include "files/path.h"
#include "files/put.h"

/* Removes what a run that is dead was writing under this file's name: a live one holds it. */
static bool clear_dead(const char *path, const char *name, void *context)
{
    struct stat facts;
    if (!sw_path_is_beside(context, name) || lstat(path, &facts) != 0 || !S_ISREG(facts.st_mode))
        return true;
    int hold = sw_hold_try(path);
    if (hold != SW_HOLD_NONE)
        unlink(path);
    sw_hold_end(hold);
    return true;
}

sw_status sw_file_begin(sw_file *file, const char *path, sw_error *err)
{
    int handle;
    *file = (sw_file){NULL, NULL};
    char *folder = sw_path_folder(path);
    if (folder)
        sw_path_each(folder, clear_dead, (void *)path);
    free(folder);
    sw_status status = sw_put_begin(path, &file->part, &handle, err);
    if (status)
        return status;
    file->stream = fdopen(handle, "wb");
    if (file->stream)
        return SW_OK;
    close(handle);
    sw_file_end(file);
    return sw_put_no_memory(path, err);
}

sw_status sw_file_finish(sw_file *file, const char *path, sw_error *err)
{
    bool whole = !ferror(file->stream) && fflush(file->stream) == 0 && fsync(fileno(file->stream)) == 0;
    whole &= fclose(file->stream) == 0;
    file->stream = NULL;
    sw_status status = whole ? sw_put_over(file->part, path, err) : sw_put_failed(path, "written", err);
    if (!status) {
        free(file->part);
        file->part = NULL;
        sw_put_sync_name(path);
    }
    sw_file_end(file);
    return status;
}

void sw_file_end(sw_file *file)
{
    if (file->stream)
        fclose(file->stream);
    if (file->part)
        unlink(file->part);
    free(file->part);
    *file = (sw_file){NULL, NULL};
}
