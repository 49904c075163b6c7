/* supervise.h - a command runs in a child process, so that what goes wrong inside a library cannot end as an answer.
 *
 *   parent                               child
 *   forks ---------------------------->  loads the commands and all libraries, measures, writes, prints
 *   waits, passes signals on             tells over a pipe how far it is, and last the status it ends with
 *   believes a status that was told and  exits with it
 *   kept; anything else is 2
 *
 * Libraries abort when memory runs out (Clp, fontconfig), let exceptions out, or call exit(1), which would mean "a seam
 * is over". None of them is in the parent, which has the C library only: so it is small and quick to copy, and what fails
 * while libraries are loaded is seen, too.
 */
#ifndef SW_CLI_SUPERVISE_H
#define SW_CLI_SUPERVISE_H

#include "cli/wires.h"

/* Gets at the commands. NULL with a message when that fails. */
typedef cli_work *cli_load(void);

/* Runs a command, argv[0], in a child process and returns the exit status, CLI_CANNOT with a message when the child did
 * not end as it told. A child that one of the usual signals ended (interrupt, terminate, hang up, quit, broken pipe) ends
 * this process in the same way. When this process dies, so does the child. */
int cli_supervise(cli_load *load, int argc, const char **argv);

#endif
