#include "files/path.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { NAME_KEPT = 60 }; /* bytes of a name that one made from it keeps: a long one stays within what a folder takes */
static const char PART[] = ".part-";

char *sw_path_in(const char *folder, const char *name)
{
    size_t room = strlen(folder) + strlen(name) + 2;
    char *path = malloc(room);
    if (path)
        snprintf(path, room, "%s/%s", folder, name);
    return path;
}

size_t sw_path_name_at(const char *path)
{
    size_t at = strlen(path);
    while (at > 0 && path[at - 1] == '/')
        at--;
    while (at > 0 && path[at - 1] != '/')
        at--;
    return at;
}

char *sw_path_folder(const char *path)
{
    size_t at = sw_path_name_at(path);
    while (at > 1 && path[at - 1] == '/')
        at--;
    return at ? strndup(path, at) : strdup(".");
}

/* No UTF-8 character is cut in two: some file systems refuse the half. */
static int bytes_kept(const char *name)
{
    size_t kept = strnlen(name, NAME_KEPT);
    while (kept > 1 && name[kept] && ((unsigned char)name[kept] & 0xC0) == 0x80)
        kept--;
    return (int)kept;
}

char *sw_path_beside(const char *path, int number)
{
    size_t at = sw_path_name_at(path), room = at + NAME_KEPT + sizeof PART + 48;
    char *made = malloc(room);
    if (made)
        snprintf(made, room, "%.*s%.*s%s%ld-%d", (int)at, path, bytes_kept(path + at), path + at, PART, (long)getpid(),
                 number);
    return made;
}

/* Digits, and what is behind them; NULL: none. */
static const char *skip_number(const char *text)
{
    const char *end = text + strspn(text, "0123456789");
    return end > text ? end : NULL;
}

bool sw_path_is_beside(const char *path, const char *name)
{
    const char *own = path + sw_path_name_at(path);
    size_t kept = (size_t)bytes_kept(own);
    if (strncmp(name, own, kept) != 0 || strncmp(name + kept, PART, sizeof PART - 1) != 0)
        return false;
    const char *end = skip_number(name + kept + sizeof PART - 1);
    end = end && *end == '-' ? skip_number(end + 1) : NULL;
    return end && !*end;
}

sw_walk sw_path_each(const char *folder, bool (*show)(const char *path, const char *name, void *context), void *context)
{
    DIR *open = opendir(folder);
    if (!open)
        return SW_WALK_UNREADABLE;
    bool on = true;
    for (struct dirent *entry; on && (entry = readdir(open));) {
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        char *path = sw_path_in(folder, entry->d_name);
        on = path && show(path, entry->d_name, context);
        free(path);
    }
    closedir(open);
    return on ? SW_WALK_ALL : SW_WALK_ENDED;
}
