/* commands.c - what the program loads: all commands behind one entry. */
#include <string.h>

#include "cli/cli.h"
#include "cli/wires.h"

typedef struct command {
    const char *name;
    int (*run)(int argc, const char **argv);
} command;

#define COMMAND(name) {#name, cli_##name},
static const command COMMANDS[] = {CLI_COMMANDS(COMMAND)};

int cli_commands(int argc, const char **argv, cli_wires wires)
{
    cli_messages = wires.messages;
    cli_parent = wires.parent;
    for (size_t i = 0; i < sizeof COMMANDS / sizeof COMMANDS[0]; i++)
        if (strcmp(argv[0], COMMANDS[i].name) == 0)
            return cli_flush(COMMANDS[i].run(argc, argv));
    return CLI_CANNOT;
}
