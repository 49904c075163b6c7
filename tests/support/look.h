/* look.h - what tests look for in texts, in folders and in an inspection. */
#ifndef SW_SUPPORT_LOOK_H
#define SW_SUPPORT_LOOK_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "seamwright/inspection.h"
#include "support/fixture.h"

/* How often a text holds a piece. */
static inline size_t count(const char *text, const char *what)
{
    size_t found = 0;
    for (; (text = strstr(text, what)); text += strlen(what))
        found++;
    return found;
}

/* Each piece, up to NULL, stands in the text, after the one before it. */
static inline void in_order(const char *text, const char *const *pieces)
{
    for (; *pieces; pieces++) {
        const char *found = strstr(text, *pieces);
        if (!found)
            fail_msg("\"%s\" is missing or too early", *pieces);
        text = found + strlen(*pieces);
    }
}

/* How many files and folders a folder holds, -1 when there is no such folder. */
static inline int entries(const char *folder)
{
    int count = 0;
    DIR *open = opendir(folder);
    for (struct dirent *entry; open && (entry = readdir(open));)
        count += strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0;
    if (open)
        closedir(open);
    return open ? count : -1;
}

static inline int has(const char *folder, const char *name)
{
    char path[256];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return access(path, F_OK) == 0;
}

static inline void put_file(const char *folder, const char *name, const char *text)
{
    char path[256];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
}

static inline void same_text(const char *folder, const char *name, const char *expected)
{
    char *text = fixture_read(folder, name, NULL);
    assert_non_null(text);
    assert_string_equal(text, expected);
    free(text);
}

static inline const sw_seam *seam_called(const sw_inspection *ins, const char *name)
{
    for (size_t i = 0; i < ins->seam_count; i++)
        if (strcmp(ins->seams[i].name, name) == 0)
            return &ins->seams[i];
    fail_msg("no seam %s", name);
    return NULL;
}

#endif
