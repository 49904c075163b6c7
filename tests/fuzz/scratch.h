/* scratch.h - for targets that need files: an empty folder of the run's own, and files in it. */
#ifndef FUZZ_SCRATCH_H
#define FUZZ_SCRATCH_H

#include <stddef.h>

/* Goes, the first time, to a new folder in a new folder under the system's place for temporary files; both are removed at
 * the end. Every time: empties it. Anything that cannot be done ends the run. */
void scratch_begin(void);

/* A file in the scratch folder, or the end of the run. */
void scratch_write(const char *name, const void *data, size_t size);

/* How many entries the folder round the scratch folder holds: 1, unless something was written outside. */
int scratch_around(void);

#endif
