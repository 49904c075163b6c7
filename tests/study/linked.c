/* linked.c - a program whose commands are linked into it, not loaded. */
#include "cli/load.h"

cli_work *cli_load_commands(void)
{
    return cli_commands;
}
