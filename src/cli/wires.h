/* wires.h - between the program, which supervises, and the commands, which are loaded. */
#ifndef SW_CLI_WIRES_H
#define SW_CLI_WIRES_H

#include "seamwright/status.h"

/* Where the commands print messages, and where they tell how far they are. */
typedef struct cli_wires {
    int messages, parent;
} cli_wires;

/* What is told, a byte each: that results are put into place from here on, that memory is out, that no more files can be opened, and the
 * exit status, added to a letter. */
static const char CLI_TELLS_WRITING = 'w', CLI_TELLS_MEMORY = 'm', CLI_TELLS_FILES = 'f', CLI_TELLS_STATUS = '0';
void cli_tell(char what);
/* Where it is told; -1: nowhere. */
extern int cli_parent;

/* All commands, argv[0] is the one. Returns the exit status, when everything is printed. */
typedef int cli_work(int argc, const char **argv, cli_wires wires);
#define CLI_ENTRY "cli_commands"
SW_API int cli_commands(int argc, const char **argv, cli_wires wires);

/* The commands' names, in the order in which they are listed. */
#define CLI_COMMANDS(with) with(card) with(lens) with(inspect) with(plan) with(recheck) with(arrange)

/* A command begins to put results into place. */
void cli_begins_writing(void);

#endif
