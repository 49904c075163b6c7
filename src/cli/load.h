/* load.h - where the program gets its commands from. */
#ifndef SW_CLI_LOAD_H
#define SW_CLI_LOAD_H

#include "cli/supervise.h"

/* From a library of their own, found where the program is installed: only the child that runs them has them, and all
 * libraries that they need. */
cli_load cli_load_commands;

#endif
