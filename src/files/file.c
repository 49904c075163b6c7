#include "files/file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <unistd.h>

#include "files/path.h"
#include "files/put.h"

enum { NAME_TRIES = 100 }; /* leftovers of crashed runs with the same process number are skipped */

sw_status sw_file_begin(sw_file *file, const char *path, sw_error *err)
{
    *file = (sw_file){NULL, NULL};
    int handle = -1;
    errno = EEXIST;
    for (int number = 0; handle < 0 && errno == EEXIST && number < NAME_TRIES; number++) {
        free(file->part);
        file->part = sw_path_beside(path, "part", number);
        if (!file->part)
            return sw_put_no_memory(path, err);
        handle = open(file->part, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    }
    if (handle < 0) {
        sw_status status = sw_put_failed(path, "written", err);
        free(file->part);
        file->part = NULL;
        return status;
    }
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
