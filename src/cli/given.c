#include "given.h"

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

char *given_folder(const char *file)
{
    const char *slash = strrchr(file, '/');
    return !slash ? strdup(".") : slash == file ? strdup("/") : strndup(file, (size_t)(slash - file));
}

sw_status given_inspections(const char **words, int count, sw_inspection **inspections, int *which, sw_error *err)
{
    sw_inspection *read = calloc((size_t)count, sizeof *read);
    sw_status status = SW_OK;
    *inspections = NULL;
    *which = 0;
    if (!read)
        return sw_fail(err, SW_NO_MEMORY, "out of memory");
    for (int i = 0; !status && i < count; i++) {
        char *file = given_file(words[i]);
        *which = i;
        status = file ? sw_inspection_read(file, &read[i], err) : sw_fail(err, SW_NO_MEMORY, "out of memory");
        free(file);
    }
    for (int i = 0; status && i < count; i++)
        sw_inspection_free(&read[i]);
    if (status)
        free(read);
    else
        *inspections = read;
    return status;
}
