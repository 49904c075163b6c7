/* read_file.c - the whole of a file that nobody vouches for. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/common/read.h"

/* An inspection of 3 x 3 at 1 mm takes half a megabyte; a hundred times that is a table nobody photographs. A plan of
 * the largest table, 26 x 99 tiles, four edges each with a knot every 25 mm of 300 and 640 bytes of reason, takes 15.
 * Beyond it the file is something else, and is not read to its end: as a tree in memory it would take ten times its
 * size. */
enum { LARGEST_MB = 64, FIRST_BYTES = 1 << 20 };
static const size_t LARGEST_BYTES = (size_t)LARGEST_MB << 20;

/* Everything up to the limit, and one byte more to see that there is more. */
static sw_status read_bytes(FILE *file, const char *path, const sw_read_kind *kind, char **text, size_t *length,
                            sw_error *err)
{
    size_t room = FIRST_BYTES;
    *text = malloc(room);
    *length = 0;
    while (*text) {
        *length += fread(*text + *length, 1, room - *length, file);
        if (ferror(file))
            return sw_fail(err, SW_CANNOT_READ, "%.255s: cannot be read (%s)", path, strerror(errno));
        if (*length < room)
            return SW_OK;
        if (*length > LARGEST_BYTES)
            return sw_fail(err, SW_BAD_INPUT,
                           "%.255s: larger than %d MB, which no %s is; name the %s that 'seamwright %s' wrote", path,
                           LARGEST_MB, kind->what, kind->file, kind->command);
        room = room * 2 > LARGEST_BYTES ? LARGEST_BYTES + 1 : room * 2;
        char *more = realloc(*text, room);
        if (!more)
            break;
        *text = more;
    }
    return sw_fail(err, SW_NO_MEMORY, "%.255s: not enough memory to read it; close other programs", path);
}

sw_status sw_read_file(const char *path, const sw_read_kind *kind, char **text, size_t *length, sw_error *err)
{
    *text = NULL;
    *length = 0;
    FILE *file = fopen(path, "rb");
    if (!file)
        return sw_fail(err, SW_CANNOT_READ, "%.255s: cannot be opened (%s); name the %s that 'seamwright %s' wrote",
                       path, strerror(errno), kind->file, kind->command);
    sw_status status = read_bytes(file, path, kind, text, length, err);
    fclose(file);
    if (status) {
        free(*text);
        *text = NULL;
        *length = 0;
    }
    return status;
}
