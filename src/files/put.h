/* put.h - a file that was made beside its place takes it, and how a failure to write is said. */
#ifndef SW_FILES_PUT_H
#define SW_FILES_PUT_H

#include "seamwright/status.h"

/* SW_CANNOT_WRITE with the sentence "PATH: cannot be WHAT (errno in words); what to do". */
sw_status sw_put_failed(const char *path, const char *what, sw_error *err);
/* SW_NO_MEMORY with the same kind of sentence. */
sw_status sw_put_no_memory(const char *path, sw_error *err);

/* Makes the file that path will be, open for writing: beside it, under a name that nothing has, for free(). On failure
 * nothing is left and *part is NULL. */
sw_status sw_put_begin(const char *path, char **part, int *handle, sw_error *err);

/* A file takes the place of another, which is gone then. */
sw_status sw_put_over(const char *part, const char *target, sw_error *err);

/* What a file or folder holds outlives a loss of power. */
sw_status sw_put_sync(const char *path, sw_error *err);
/* So does the name that was put there. A folder that cannot be opened or synced is no failure: the file is in it. */
void sw_put_sync_name(const char *target);

#endif
