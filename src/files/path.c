#include "files/path.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { NAME_KEPT = 60 }; /* bytes of a name that one made from it keeps: a long one stays within what a folder takes */

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

char *sw_path_beside(const char *path, const char *what, int number)
{
    size_t at = sw_path_name_at(path), room = at + NAME_KEPT + strlen(what) + 48;
    char *made = malloc(room);
    if (made)
        snprintf(made, room, "%.*s%.*s.%s-%ld-%d", (int)at, path, NAME_KEPT, path + at, what, (long)getpid(), number);
    return made;
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
