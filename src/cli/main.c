/* The program: finds the command and has it run, supervised. */
#include <malloc.h>
#include <stdio.h>
#include <string.h>

#include "cli/load.h"
#include "cli/say.h"
#include "seamwright/seamwright.h"

#define NAME(name) #name,
static const char *const COMMANDS[] = {CLI_COMMANDS(NAME)};

enum { COMMAND_COUNT = sizeof COMMANDS / sizeof COMMANDS[0], LIST_ROOM = 128 };

/* "card, lens or inspect": the commands, with `last` before the last one. */
static const char *list_commands(const char *last, char list[LIST_ROOM])
{
    int used = 0;
    for (int i = 0; i < COMMAND_COUNT && used < LIST_ROOM; i++) {
        int final = i == COMMAND_COUNT - 1;
        used += snprintf(list + used, (size_t)(LIST_ROOM - used), "%s%s%s%s",
                         i && !final ? ", "
                         : i         ? " "
                                     : "",
                         final ? last : "", final ? " " : "", COMMANDS[i]);
    }
    return list;
}

static int run_command(int argc, const char **argv)
{
    char list[LIST_ROOM];
    for (size_t i = 0; i < COMMAND_COUNT; i++)
        if (strcmp(argv[0], COMMANDS[i]) == 0)
            return cli_supervise(cli_load_commands, argc, argv);
    return cli_sayf("seamwright", "'%s' is no command; the commands are %s ('seamwright --help')", argv[0],
                    list_commands("and", list));
}

static int run(int argc, const char **argv)
{
    char list[LIST_ROOM];
    if (argc < 2)
        return cli_sayf("seamwright", "say what to do: %s ('seamwright --help' explains)", list_commands("or", list));
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0)
        return fputs(cli_help_program, stdout) < 0 ? CLI_CANNOT : CLI_DONE;
    if (strcmp(argv[1], "--version") == 0 || strcmp(argv[1], "-V") == 0)
        return cli_print_version();
    if (argv[1][0] == '-')
        return cli_sayf("seamwright", "%s must come behind a command: %s ('seamwright --help')", argv[1],
                        list_commands("or", list));
    return run_command(argc - 1, argv + 1);
}

/* Arrays up to so many bytes come from memory that is kept when it is freed, instead of being got page by page again: the
 * solver of linear programmes takes about 2 MB anew for every solve. */
static const int KEPT_BYTES = 4 << 20, KEPT_FREE_BYTES = 16 << 20;

int main(int argc, char **argv)
{
    mallopt(M_MMAP_THRESHOLD, KEPT_BYTES);
    mallopt(M_TRIM_THRESHOLD, KEPT_FREE_BYTES);
    return cli_flush(run(argc, (const char **)argv));
}
