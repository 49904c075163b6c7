/* hold.h - a file or folder that one run has to itself while it lives: the system lets go of it when the run ends, killed
 * or not. Tells leftovers of dead runs from what another run is filling just now. */
#ifndef SW_FILES_HOLD_H
#define SW_FILES_HOLD_H

#include <stdbool.h>

enum { SW_HOLD_NONE = -1 };

/* Takes it when no other run has it; the handle for sw_hold_end, SW_HOLD_NONE when it could not be taken. */
int sw_hold_try(const char *path);
/* The same, waiting for another run to end. A file system that knows no such thing lets everybody go on: SW_HOLD_NONE,
 * and *taken is false only when it was waited for in vain. */
int sw_hold_wait(const char *path, bool *taken);
/* An open file. */
bool sw_hold_handle(int handle);
void sw_hold_end(int handle);

#endif
