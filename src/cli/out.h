/* out.h - where results go: whole or not at all, and known to be possible before the work is done. */
#ifndef SW_CLI_OUT_H
#define SW_CLI_OUT_H

#include <stdio.h>

#include "seamwright/status.h"

/* Can a file be made at path? Tries it beside the path, leaves nothing behind. Anything but a regular file that is
 * already there (a folder, a device) is refused. */
sw_status out_check_file(const char *path, sw_error *err);

/* Can the result folder be made at path? A folder that is there already must hold an inspection. */
sw_status out_check_folder(const char *path, sw_error *err);

/* The photo's path without its ending, plus ".seams". Free with free(); NULL when memory is out. */
char *out_default_folder(const char *photo);

/* A file being written beside its place. Begin with out_open; end with out_keep or out_drop, either frees all. */
typedef struct out_file {
    FILE *stream;
    char *temporary;
} out_file;

sw_status out_open(const char *path, out_file *out, sw_error *err);
/* Closes and renames to path. On failure nothing new is left and a file that was at path is untouched. */
sw_status out_keep(const char *path, out_file *out, sw_error *err);
/* Closes and deletes. NULL and a file already kept or dropped are fine. */
void out_drop(out_file *out);

#endif
