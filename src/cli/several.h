/* several.h - more than one photo of the same table on a command line. */
#ifndef SW_CLI_SEVERAL_H
#define SW_CLI_SEVERAL_H

#include "seamwright/status.h"

/* Most photos at once: more do not make the result better, and a slip with a wildcard should not run for hours. */
enum { SEVERAL_MOST = 50 };

/* What can be refused before the user waits: too many photos, one that is not there, one named twice. *which gets the
 * place of the photo that is to blame, from 0. */
sw_status several_check(const char *const *paths, int count, int *which, sw_error *err);

#endif
