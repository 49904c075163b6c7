#include "cli/given.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

char *given_file(const char *word)
{
    static const char NAME[] = "/inspection.json";
    struct stat found;
    if (stat(word, &found) != 0 || !S_ISDIR(found.st_mode))
        return strdup(word);
    size_t length = strlen(word), room;
    while (length > 1 && word[length - 1] == '/')
        length--;
    room = length + sizeof NAME;
    char *file = malloc(room);
    if (file)
        snprintf(file, room, "%.*s%s", (int)length, word, NAME);
    return file;
}

/* The folder of a file, "." for a bare name. */
static char *folder_of(const char *file)
{
    const char *slash = strrchr(file, '/');
    while (slash && slash > file && slash[-1] == '/')
        slash--;
    return !slash ? strdup(".") : slash == file ? strdup("/") : strndup(file, (size_t)(slash - file));
}

char *given_beside(const char *file, const char *name)
{
    char *folder = folder_of(file);
    size_t room = folder ? strlen(folder) + 1 + strlen(name) + 1 : 0;
    char *path = folder ? malloc(room) : NULL;
    if (path)
        snprintf(path, room, "%s/%s", folder, name);
    free(folder);
    return path;
}

bool given_is_there(const char *path)
{
    struct stat found;
    return stat(path, &found) == 0;
}

bool given_is_folder_of(const char *folder, const char *file)
{
    struct stat a, b;
    char *of = folder_of(file);
    bool same = of && stat(folder, &a) == 0 && stat(of, &b) == 0 && a.st_dev == b.st_dev && a.st_ino == b.st_ino;
    free(of);
    return same;
}

int given_out(char **folder, const char *word)
{
    if (*folder && !(*folder)[0])
        return cli_say("seamwright", "-o: name a folder for the results");
    if (*folder)
        return -1;
    char *file = given_file(word);
    *folder = file ? folder_of(file) : NULL;
    free(file);
    return *folder ? -1 : cli_say("seamwright", "out of memory");
}

sw_status given_take_layout(const char *text, given_set *set, sw_error *err)
{
    if (set->layout_count == GIVEN_LAYOUTS_MOST)
        return sw_fail(err, SW_BAD_INPUT, "this is one layout too many; %d are the most", GIVEN_LAYOUTS_MOST);
    return cli_keep_text(text, &set->layout_texts[set->layout_count++], err);
}

int given_settle(given_set *set, const cli_words *words, const char *none)
{
    if (words->count == 0)
        return cli_say("seamwright", none);
    set->words = words->word;
    set->count = words->count;
    if (set->layout_count && set->layout_count != set->count - 1)
        return cli_sayf("seamwright",
                        "give --layout once for every inspection after the first, so %d times and not %d; the first "
                        "inspection names the tiles",
                        set->count - 1, set->layout_count);
    return given_out(&set->folder, set->words[0]);
}

/* The layout of inspection k: as the user wrote it, else as in the first. */
static int read_layout(given_set *set, int k)
{
    sw_error err = {{0}};
    const char *text = k > 0 && set->layout_count ? set->layout_texts[k - 1] : NULL;
    if (!text)
        return sw_layout_as_is(&set->inspections[0], &set->layouts[k], &err) ? cli_say(set->words[0], err.text) : -1;
    if (sw_layout_read(text, &set->inspections[0], &set->layouts[k], &err) != SW_OK)
        return cli_sayf("seamwright", "--layout \"%.200s\": %s", text, err.text);
    return -1;
}

int given_read(given_set *set)
{
    sw_error err = {{0}};
    set->inspections = calloc((size_t)set->count, sizeof *set->inspections);
    set->layouts = calloc((size_t)set->count, sizeof *set->layouts);
    if (!set->inspections || !set->layouts)
        return cli_say("seamwright", "out of memory");
    for (int k = 0; k < set->count; k++) {
        char *file = given_file(set->words[k]);
        sw_status status =
            file ? sw_inspection_read(file, &set->inspections[k], &err) : sw_fail(&err, SW_NO_MEMORY, "out of memory");
        free(file);
        if (status)
            return cli_say(set->words[k], err.text);
    }
    int result = -1;
    for (int k = 0; result < 0 && k < set->count; k++)
        result = read_layout(set, k);
    return result;
}

void given_free(given_set *set)
{
    if (!set)
        return;
    for (int k = 0; k < set->count; k++) {
        if (set->layouts)
            sw_layout_free(&set->layouts[k]);
        if (set->inspections)
            sw_inspection_free(&set->inspections[k]);
    }
    free(set->layouts);
    free(set->inspections);
    for (int i = 0; i < set->layout_count; i++)
        free(set->layout_texts[i]);
    free(set->folder);
    *set = (given_set){0};
}
