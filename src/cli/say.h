/* say.h - exit statuses and what is printed: messages, help, progress. */
#ifndef SW_CLI_SAY_H
#define SW_CLI_SAY_H

#include <stdbool.h>

#include "seamwright/status.h"

/* Exit statuses: every seam within tolerance (or the job done); some seam over or too close to call; could not do it.
 */
enum { CLI_DONE = 0, CLI_SEAM_OPEN = 1, CLI_CANNOT = 2 };

/* The help texts, in help.c, and one file each for the longer ones. */
extern const char cli_help_program[], cli_help_card[], cli_help_lens[], cli_help_inspect[], cli_help_plan[],
    cli_help_recheck[], cli_help_arrange[];

/* Where messages and progress go: standard error, or the copy of it that is kept for them. */
extern int cli_messages;

/* Prints "SUBJECT: sentence" on standard error as one line, control characters replaced. A sentence of the library that
 * already begins with the subject, or with its file name, is not given it twice. Returns CLI_CANNOT. */
int cli_say(const char *subject, const char *sentence);
SW_PRINTF(2, 3) int cli_sayf(const char *subject, const char *format, ...);

/* Writes out what is left for standard output: `result`, or CLI_CANNOT when that fails, with a message unless there was
 * one. */
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
