#include "files/all_or_none.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "files/hold.h"
#include "files/path.h"
#include "files/put.h"
#include "files/stage.h"

/* One result on its way into one folder. */
typedef struct job {
    const sw_files *files;
    char *target; /* symbolic links resolved when it exists */
    bool exists;
    int hold; /* of the target: two runs would each put a copy without the other's files in its place */
    sw_changes changes;
    sw_stage stage;
} job;

/* ---- what is done to whom ---- */

static char *resolve(const char *folder)
{
    char *target = realpath(folder, NULL);
    if (!target)
        target = strdup(folder);
    for (size_t length = target ? strlen(target) : 0; length > 1 && target[length - 1] == '/'; length--)
        target[length - 1] = 0;
    return target;
}

static void end_job(job *j)
{
    sw_stage_end(&j->stage);
    sw_hold_end(j->hold);
    free(j->target);
    *j = (job){.hold = SW_HOLD_NONE};
}

/* What an unreadable folder and one that may not be written to have in common: not a single change comes to pass. */
static sw_status check_access(const char *target, sw_error *err)
{
    return access(target, R_OK | W_OK | X_OK) == 0 ? SW_OK : sw_put_failed(target, "written to", err);
}

static sw_status hold_target(job *j, const char *folder, sw_error *err)
{
    bool free_to_go;
    j->hold = sw_hold_wait(j->target, &free_to_go);
    if (!free_to_go)
        return sw_fail(err, SW_CANNOT_WRITE, "%.300s: another run is writing there; wait until it has ended", folder);
    sw_status status = check_access(j->target, err);
    return status ? status : sw_overwrite_check(&j->files->rule, folder, &j->exists, err); /* as it is by now */
}

static sw_status begin_job(const sw_files *files, const char *folder, job *j, sw_error *err)
{
    *j = (job){.files = files, .hold = SW_HOLD_NONE, .stage = {.hold = SW_HOLD_NONE}};
    if (folder && folder[0])
        sw_stage_recover(folder);
    sw_status status = sw_overwrite_check(&files->rule, folder, &j->exists, err);
    if (status)
        return status;
    j->target = resolve(folder);
    if (!j->target)
        return sw_put_no_memory(folder, err);
    status = j->exists ? hold_target(j, folder, err) : SW_OK;
    return status ? status : sw_overwrite_changes(&files->rule, j->target, files->names, &j->changes, err);
}

/* ---- the stage is filled ---- */

typedef struct linking {
    const job *job;
    bool all; /* every file has a second name now; folders cannot, and follow when the stage is settled */
    int why;
} linking;

static bool link_one(const char *path, const char *name, void *context)
{
    linking *l = context;
    struct stat there;
    if (sw_changes_name(&l->job->changes, name))
        return true;
    char *at = sw_path_in(l->job->stage.fresh, name);
    l->all =
        at && ((lstat(path, &there) == 0 && S_ISDIR(there.st_mode)) || linkat(AT_FDCWD, path, AT_FDCWD, at, 0) == 0);
    l->why = at ? errno : ENOMEM;
    free(at);
    return l->all;
}

/* The folder's owner and rights become the new one's; who may not give them away keeps them. */
static void keep_rights(const job *j)
{
    struct stat was;
    if (stat(j->target, &was) != 0)
        return;
    if (was.st_uid != geteuid() || was.st_gid != getegid())
        (void)!chown(j->stage.fresh, was.st_uid, was.st_gid);
    chmod(j->stage.fresh, was.st_mode & 07777);
}

static bool link_others(const job *j)
{
    linking l = {.job = j, .all = true};
    if (sw_path_each(j->target, link_one, &l) == SW_WALK_UNREADABLE)
        return false;
    errno = l.why;
    return l.all;
}

static sw_status write_at(const sw_files *files, char *const *paths, const char *target, sw_error *err)
{
    sw_status status = SW_OK;
    for (size_t i = 0; !status && files->names[i]; i++) {
        status = paths[i] ? files->write(i, paths, files->context, err) : sw_put_no_memory(target, err);
        if (!status)
            status = sw_put_sync(paths[i], err);
    }
    return status;
}

/* All of them, and on the disk, before the first takes its place. */
static sw_status write_each(const job *j, sw_error *err)
{
    char *paths[SW_FILES_MOST] = {NULL};
    for (size_t i = 0; j->files->names[i]; i++)
        paths[i] = sw_path_in(j->stage.fresh, j->files->names[i]);
    sw_status status = write_at(j->files, paths, j->target, err);
    for (size_t i = 0; i < SW_FILES_MOST; i++)
        free(paths[i]);
    return status ? status : sw_put_sync(j->stage.fresh, err);
}

/* ---- and takes its place ---- */

static sw_status finish(job *j, bool put, const char *what, sw_error *err)
{
    sw_status status = put ? SW_OK : sw_put_failed(j->target, what, err);
    int why = errno;
    sw_stage_end(&j->stage);
    if (put)
        sw_put_sync_name(j->target);
    errno = why;
    return status;
}

static sw_status give_up(job *j, sw_status status)
{
    sw_stage_end(&j->stage);
    return status;
}

static sw_status write_in_place(job *j, sw_error *err)
{
    sw_status status = sw_stage_begin(j->target, true, &j->changes, &j->stage, err);
    if (!status)
        status = sw_stage_note(&j->stage, err);
    if (!status)
        status = write_each(j, err);
    return status ? give_up(j, status) : finish(j, sw_stage_move_in(&j->stage), "replaced", err);
}

static sw_status write_new(job *j, sw_error *err)
{
    sw_status status = sw_stage_begin(j->target, false, &j->changes, &j->stage, err);
    if (!status)
        status = sw_stage_note(&j->stage, err);
    if (!status)
        status = write_each(j, err);
    return status ? give_up(j, status) : finish(j, sw_stage_exchange(&j->stage, false), "put there", err);
}

/* A mount point, a folder of somebody else's, a file system that lacks what is needed: the files themselves may still take
 * their places. */
static bool is_no_way(int why)
{
    return why == EPERM || why == EINVAL || why == ENOSYS || why == EOPNOTSUPP || why == EXDEV || why == EBUSY ||
           why == EMLINK;
}

/* So they may when the folder above may not be written to. */
static bool is_closed(int why)
{
    return why == EACCES || why == EPERM || why == EROFS;
}

static bool is_on_its_own(const char *target)
{
    struct stat above, there;
    char *folder = sw_path_folder(target);
    bool own = folder && stat(folder, &above) == 0 && stat(target, &there) == 0 && above.st_dev != there.st_dev;
    free(folder);
    return own;
}

/* The stage is made, and it is known that the exchange can be. *way is false when it cannot. */
static sw_status begin_exchange(job *j, bool *way, sw_error *err)
{
    *way = !sw_overwrite_is_current(j->target) && !is_on_its_own(j->target);
    if (!*way)
        return SW_OK;
    sw_status status = sw_stage_begin(j->target, false, &j->changes, &j->stage, err);
    if (status && is_closed(errno)) {
        *way = false;
        return SW_OK;
    }
    if (status)
        return status;
    if (!sw_stage_can_exchange(&j->stage)) {
        *way = !is_no_way(errno);
        return *way ? sw_put_failed(j->target, "written", err) : SW_OK;
    }
    keep_rights(j);
    status = sw_stage_note(&j->stage, err);
    if (!status && !link_others(j)) {
        *way = !is_no_way(errno);
        return *way ? sw_put_failed(j->target, "written", err) : SW_OK;
    }
    return status;
}

static sw_status write_into(job *j, sw_error *err)
{
    bool way;
    sw_status status = begin_exchange(j, &way, err);
    if (!status && way)
        status = write_each(j, err);
    if (status)
        return give_up(j, status);
    if (way && sw_stage_exchange(&j->stage, true))
        return finish(j, true, "", err);
    if (way && !is_no_way(errno))
        return finish(j, false, "replaced", err);
    sw_stage_end(&j->stage);
    return write_in_place(j, err);
}

sw_status sw_files_write(const sw_files *files, const char *folder, sw_error *err)
{
    job j;
    sw_status status = begin_job(files, folder, &j, err);
    if (!status)
        status = j.exists ? write_into(&j, err) : write_new(&j, err);
    end_job(&j);
    return status;
}

sw_status sw_files_check(const sw_overwrite *rule, const char *folder, sw_error *err)
{
    static const char *const NONE[] = {NULL};
    const sw_files nothing = {.rule = *rule, .names = NONE};
    job j;
    bool way = false;
    sw_status status = begin_job(&nothing, folder, &j, err);
    if (!status && j.exists)
        status = begin_exchange(&j, &way, err);
    if (!status && !way) {
        sw_stage_end(&j.stage);
        status = sw_stage_begin(j.target, j.exists, &j.changes, &j.stage, err);
    }
    end_job(&j);
    return status;
}

void sw_files_recover_beside(const char *file)
{
    char *folder = sw_path_folder(file);
    if (folder)
        sw_stage_recover(folder);
    free(folder);
}
