/* supervise.h - a command runs in a child process, so that what goes wrong inside a library cannot end as an answer.
 *
 *   parent                               child
 *   forks ---------------------------->  the command: measures, writes, prints
 *   waits, passes signals on             says over a pipe how far it is, and last the status it ends with
 *   believes a status that was said and  exits with it
 *   kept; anything else is 2
 *
 * Libraries abort when memory runs out (Clp, fontconfig), let exceptions out or call exit(1), which would mean "a seam is
 * over". The parent does nothing that could fail so.
 */
#ifndef SW_CLI_SUPERVISE_H
#define SW_CLI_SUPERVISE_H

typedef int cli_work(int argc, const char **argv);

/* Runs the command in a child process and returns the exit status, CLI_CANNOT with a message when the child did not end
 * as it said. A child that one of the usual signals ended (interrupt, terminate, hang up, quit, broken pipe) ends this
 * process in the same way. When this process dies, so does the child. */
int cli_supervise(cli_work *work, int argc, const char **argv);

/* The command says that from here on results are put into place. Nothing happens where no one supervises. */
void cli_begins_writing(void);

#endif
