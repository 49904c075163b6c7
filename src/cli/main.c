/* The program: finds the command and lets it run. */
#include <errno.h>
#include <stdio.h>
#include <string.h>

#include "cli.h"
#include "seamwright/seamwright.h"

typedef struct command {
    const char *name;
    int (*run)(int argc, const char **argv); /* NULL: promised, but not in this version */
} command;

static const command COMMANDS[] = {{"card", cli_card}, {"lens", cli_lens}, {"inspect", cli_inspect},
                                   {"plan", cli_plan}, {"recheck", NULL},  {"arrange", NULL}};

static int run_command(int argc, const char **argv)
{
    for (size_t i = 0; i < sizeof COMMANDS / sizeof COMMANDS[0]; i++) {
        if (strcmp(argv[0], COMMANDS[i].name) != 0)
            continue;
        if (COMMANDS[i].run)
            return COMMANDS[i].run(argc, argv);
        return cli_sayf("seamwright", "%s is not in this version (%s); card, lens, inspect and plan are", argv[0],
                        SW_VERSION);
    }
    return cli_sayf("seamwright",
                    "'%s' is no command; the commands are card, lens, inspect and plan ('seamwright --help')", argv[0]);
}

static int run(int argc, const char **argv)
{
    if (argc < 2)
        return cli_say("seamwright", "say what to do: card, lens, inspect or plan ('seamwright --help' explains)");
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0)
        return fputs(cli_help_program, stdout) < 0 ? CLI_CANNOT : CLI_DONE;
    if (strcmp(argv[1], "--version") == 0 || strcmp(argv[1], "-V") == 0)
        return cli_print_version();
    if (argv[1][0] == '-')
        return cli_sayf("seamwright",
                        "%s must come behind a command: card, lens, inspect or plan ('seamwright --help')", argv[1]);
    return run_command(argc - 1, argv + 1);
}

int main(int argc, char **argv)
{
    int result = run(argc, (const char **)argv);
    if (fflush(stdout) != 0 || ferror(stdout))
        return cli_sayf("standard output", "could not be written (%s)", strerror(errno));
    return result;
}
