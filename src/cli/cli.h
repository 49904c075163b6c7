/* cli.h - what the commands share: exit statuses, messages, options, progress. */
#ifndef SW_CLI_CLI_H
#define SW_CLI_CLI_H

#include <popt.h>
#include <stdbool.h>

#include "seamwright/status.h"

/* Exit statuses: every seam within tolerance (or the job done); some seam over or too close to call; could not do it.
 */
enum { CLI_DONE = 0, CLI_SEAM_OPEN = 1, CLI_CANNOT = 2 };

/* The commands: argv[0] is the command's own name. Each returns an exit status. */
int cli_card(int argc, const char **argv);
int cli_lens(int argc, const char **argv);
int cli_inspect(int argc, const char **argv);
int cli_plan(int argc, const char **argv);
int cli_recheck(int argc, const char **argv);
int cli_arrange(int argc, const char **argv);

/* The help texts, in help.c, and one file each for the longer ones. */
extern const char cli_help_program[], cli_help_card[], cli_help_lens[], cli_help_inspect[], cli_help_plan[],
    cli_help_recheck[], cli_help_arrange[];

/* Where messages and progress go: standard error, or the copy of it that is kept for them. */
extern int cli_messages;

/* Prints "SUBJECT: sentence" on standard error as one line, control characters replaced. A sentence of the library that
 * already begins with the subject, or with its file name, is not given it twice. Returns CLI_CANNOT. */
int cli_say(const char *subject, const char *sentence);
SW_PRINTF(2, 3) int cli_sayf(const char *subject, const char *format, ...);

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

/* Writes out what is left for standard output: `result`, or CLI_CANNOT with a message when that fails. */
int cli_flush(int result);

/* "seamwright 0.1.0" on standard output. Returns CLI_DONE. */
int cli_print_version(void);

/* A progress line on standard error, overwritten in place; nothing at all unless standard error is a terminal. */
typedef struct cli_progress {
    bool terminal;
    int width; /* characters that stand there now */
} cli_progress;

cli_progress cli_progress_start(void);
void cli_progress_show(cli_progress *progress, const char *text);
void cli_progress_clear(cli_progress *progress);

#endif
