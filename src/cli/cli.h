/* cli.h - what the commands share: options, and by say.h exit statuses, messages, help, progress. */
#ifndef SW_CLI_CLI_H
#define SW_CLI_CLI_H

#include <popt.h>
#include <stdbool.h>

#include "cli/say.h"
#include "seamwright/status.h"

/* The commands: argv[0] is the command's own name. Each returns an exit status. */
int cli_card(int argc, const char **argv);
int cli_lens(int argc, const char **argv);
int cli_inspect(int argc, const char **argv);
int cli_plan(int argc, const char **argv);
int cli_recheck(int argc, const char **argv);
int cli_arrange(int argc, const char **argv);

/* --help and --version, which end a command at once. Values from 1000 so that they meet no command's own. */
enum { CLI_HELP = 1000, CLI_VERSION };
#define CLI_COMMON_OPTIONS                                                                                             \
    {"help", 'h', POPT_ARG_NONE, NULL, CLI_HELP, NULL, NULL},                                                          \
        {"version", 'V', POPT_ARG_NONE, NULL, CLI_VERSION, NULL, NULL}, POPT_TABLEEND

/* Takes one option: `option` is its value in the table, `text` its argument (NULL when it takes none), only valid
 * during the call. A failure's sentence gets the option and its argument put in front. */
typedef sw_status cli_take(int option, const char *text, void *context, sw_error *err);

/* Replaces *kept, which the caller frees, by a copy of text. */
sw_status cli_keep_text(const char *text, char **kept, sw_error *err);
/* The same for a folder's name, without slashes at its end. */
sw_status cli_keep_folder(const char *text, char **kept, sw_error *err);

/* What a command line said besides its options. Free with cli_words_free. */
typedef struct cli_words {
    poptContext popt;
    const char **word; /* owned by popt; NULL-terminated; may be NULL when count is 0 */
    int count;
} cli_words;

/* Runs through the options. -1: go on with words; otherwise the command is over and this is its exit status (help or
 * version were printed, or a message). words must be freed either way. */
int cli_read_options(const char *help, int argc, const char **argv, const struct poptOption *table, cli_take *take,
                     void *context, cli_words *words);
void cli_words_free(cli_words *words);

#endif
