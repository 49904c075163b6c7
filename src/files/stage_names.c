/* stage_names.c - the note of a stage:
 *
 *     folder 4711
 *     over plan.json      written, where one was
 *     new strips.pdf      written, where none was
 *     gone recheck.json   removed
 *     of valley.seams     the target's name, up to the end: a line break is as good a letter as any in it
 */
#include "files/stage_names.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "files/path.h"
#include "files/put.h"

/* A name has at most 255 bytes; every change a line of at most 5 more than its room. */
enum { NOTE_ROOM = 64 + SW_CHANGES_MOST * (SW_NAME_ROOM + 8) + 512 };

static const char *kind_of(const sw_change *change)
{
    return !change->is_written ? "gone" : change->was_there ? "over" : "new";
}

static size_t compose(const sw_stage *stage, unsigned long long fresh, char text[NOTE_ROOM])
{
    int at = snprintf(text, NOTE_ROOM, "folder %llu\n", fresh);
    for (size_t i = 0; i < stage->changes->count; i++)
        at += snprintf(text + at, NOTE_ROOM - (size_t)at, "%s %s\n", kind_of(&stage->changes->list[i]),
                       stage->changes->list[i].name);
    at += snprintf(text + at, NOTE_ROOM - (size_t)at, "of %.400s\n", stage->target + sw_path_name_at(stage->target));
    return (size_t)at;
}

static bool save(const char *path, const char *text, size_t length)
{
    FILE *file = fopen(path, "wbxe");
    if (!file)
        return false;
    bool whole = fwrite(text, 1, length, file) == length && fflush(file) == 0 && fsync(fileno(file)) == 0;
    return fclose(file) == 0 && whole;
}

sw_status sw_stage_note(const sw_stage *stage, sw_error *err)
{
    struct stat fresh;
    char text[NOTE_ROOM], *path = sw_path_in(stage->folder, SW_STAGE_NAMES);
    if (!path)
        return sw_put_no_memory(stage->target, err);
    bool done = stat(stage->fresh, &fresh) == 0 && save(path, text, compose(stage, fresh.st_ino, text));
    sw_status status = done ? SW_OK : sw_put_failed(stage->target, "written", err);
    free(path);
    return status;
}

static size_t load(const char *folder, char text[NOTE_ROOM])
{
    char *path = sw_path_in(folder, SW_STAGE_NAMES);
    int handle = path ? open(path, O_RDONLY | O_NONBLOCK | O_NOFOLLOW | O_CLOEXEC) : -1;
    FILE *file = handle >= 0 ? fdopen(handle, "rb") : NULL;
    size_t length = file ? fread(text, 1, NOTE_ROOM - 1, file) : 0;
    if (file)
        fclose(file);
    else if (handle >= 0)
        close(handle);
    free(path);
    text[length] = 0;
    return length;
}

/* One line of a change; what follows it, or NULL when it is none. */
static const char *read_change(const char *line, sw_changes *changes)
{
    char kind[8] = "", name[SW_NAME_ROOM] = "";
    int length = 0;
    if (sscanf(line, "%7[a-z] %31[^\n/]%n", kind, name, &length) != 2 || line[length] != '\n' ||
        changes->count == SW_CHANGES_MOST)
        return NULL;
    sw_change change = {.is_written = strcmp(kind, "gone") != 0, .was_there = strcmp(kind, "new") != 0};
    memcpy(change.name, name, sizeof change.name);
    bool known = strcmp(kind, kind_of(&change)) == 0 && strcmp(name, "..") != 0 && strcmp(name, ".") != 0;
    changes->list[changes->count++] = change;
    return known ? line + length + 1 : NULL;
}

bool sw_stage_read_note(const char *folder, const char *target, sw_stage_noted *noted)
{
    char text[NOTE_ROOM];
    int at = 0;
    memset(noted, 0, sizeof *noted);
    size_t length = load(folder, text);
    if (length < 2 || text[length - 1] != '\n' || sscanf(text, "folder %llu%n", &noted->fresh, &at) != 1 ||
        text[at] != '\n')
        return false;
    const char *line = text + at + 1;
    while (line && strncmp(line, "of ", 3) != 0)
        line = read_change(line, &noted->changes);
    text[length - 1] = 0;
    return line && strcmp(line + 3, target + sw_path_name_at(target)) == 0;
}
