/* file.h - one file that appears whole or not at all: written under a name of its own beside its place, then renamed. */
#ifndef SW_FILES_FILE_H
#define SW_FILES_FILE_H

#include <stdio.h>

#include "seamwright/status.h"

typedef struct sw_file {
    FILE *stream;
    char *part; /* where it is written; NULL once finished */
} sw_file;

/* Opens it for writing, and removes what a killed run was writing in its place. SW_CANNOT_WRITE, SW_NO_MEMORY; nothing is left then. */
sw_status sw_file_begin(sw_file *file, const char *path, sw_error *err);
/* Closes it and puts it in the place of what was at path, which stays when this fails. */
sw_status sw_file_finish(sw_file *file, const char *path, sw_error *err);
/* Removes what was begun and not finished, and frees. Fine after success, too. */
void sw_file_end(sw_file *file);

#endif
