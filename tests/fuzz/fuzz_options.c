/* Any words behind a command end in an answer or in a sentence, and nothing is written outside the folder they name. Fuzzed
 * with libFuzzer (see replay.c for the everyday run).
 *
 * The input is a command line, a word a line; the folder it runs in holds a table (table.json), another (other.json), a plan
 * of it (plan.json), a photo that is none (photo.jpg) and one of nothing (grey.png). Lines that would lead out of that folder are not run. */
#define _GNU_SOURCE /* memmem, memfd_create */
#include <ctype.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#include "cli/cli.h"
#include "fuzz/scratch.h"

enum { WORDS_MOST = 24, LINE_MOST = 400, PRINTED_MOST = 1 << 16 };

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* Four tiles and what was found of them: the least that every command takes. */
static const char TABLE_JSON[] =
#include "fuzz/table.inc"
    ;
static const char PLAN_JSON[] =
    "{ \"format\": \"seamwright-plan\", \"format_version\": 1, \"program\": \"by hand\", \"made_from\": \"ford.jpg\", "
    "\"for\": \"layout\", \"tolerance_mm\": 0.5, \"deepest_cut_mm\": 3, \"height_mm\": 45, \"fits\": true, "
    "\"next\": \"Nothing.\", \"edges\": [], \"seams\": [], \"notes\": [] }";

/* Evenly grey, 200 x 160 pixels: nothing to be found in it, but corners can lie there. */
static const char GREY_PNG[] =
    "\x89\x50\x4e\x47\x0d\x0a\x1a\x0a\x00\x00\x00\x0d\x49\x48\x44\x52\x00\x00\x00\xc8\x00\x00\x00\xa0"
    "\x08\x00\x00\x00\x00\x6c\x94\x7c\x75\x00\x00\x00\x97\x49\x44\x41\x54\x78\xda\xed\xcf\x01\x0d\x00"
    "\x00\x08\x03\xa0\x6b\x72\xa3\xdb\xe3\x83\x06\xcc\xa5\xc3\x46\x44\x44\x44\x44\x44\x44\x44\x44\x44"
    "\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44"
    "\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44"
    "\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44"
    "\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44"
    "\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\x44\xa4\x3c\xf2\xd9\x63\x01\xc0"
    "\x15\x29\x44\xbe\x00\x00\x00\x00\x49\x45\x4e\x44\xae\x42\x60\x82";

static void demand(int truth)
{
    if (!truth)
        abort();
}

static int run(int argc, const char **argv)
{
    static int (*const COMMANDS[])(int, const char **) = {cli_card, cli_lens,    cli_inspect,
                                                          cli_plan, cli_recheck, cli_arrange};
    static const char *const NAMES[] = {"card", "lens", "inspect", "plan", "recheck", "arrange"};
    for (size_t i = 0; i < sizeof NAMES / sizeof NAMES[0]; i++)
        if (strcmp(argv[0], NAMES[i]) == 0)
            return COMMANDS[i](argc, argv);
    return -1;
}

/* Of a file without a name that is emptied: what was printed into it. */
static size_t read_back(int file, char printed[PRINTED_MOST])
{
    ssize_t got = pread(file, printed, PRINTED_MOST, 0);
    demand(got >= 0 && ftruncate(file, 0) == 0 && lseek(file, 0, SEEK_SET) == 0);
    return (size_t)got;
}

static void check(int status, int out, int messages)
{
    static char printed[PRINTED_MOST];
    demand(status == CLI_DONE || status == CLI_SEAM_OPEN || status == CLI_CANNOT);
    fflush(stdout);
    size_t count = read_back(out, printed);
    demand(status != CLI_CANNOT || count == 0);
    demand(status == CLI_CANNOT || count > 0);
    count = read_back(messages, printed);
    demand(status != CLI_CANNOT || count > 0);
    demand(count == 0 || count == PRINTED_MOST || printed[count - 1] == '\n');
    for (size_t i = 0; i < count; i++)
        demand(printed[i] == '\n' || !iscntrl((unsigned char)printed[i]));
    demand(scratch_around() == 1);
}

static void lay_out(void)
{
    scratch_begin();
    scratch_write("table.json", TABLE_JSON, sizeof TABLE_JSON - 1);
    scratch_write("other.json", TABLE_JSON, sizeof TABLE_JSON - 1);
    scratch_write("plan.json", PLAN_JSON, sizeof PLAN_JSON - 1);
    scratch_write("photo.jpg", "\xff\xd8\xff", 3);
    scratch_write("grey.png", GREY_PNG, sizeof GREY_PNG - 1);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static int out = -1;
    char line[LINE_MOST + 1];
    const char *words[WORDS_MOST + 1] = {NULL};
    int count = 0;
    if (size > LINE_MOST || memchr(data, '/', size) || memmem(data, size, "..", 2) || memchr(data, 0, size))
        return 0;
    memcpy(line, data, size);
    line[size] = '\0';
    for (char *rest = line, *word; count < WORDS_MOST && (word = strsep(&rest, "\n"));)
        words[count++] = word;
    if (out < 0) {
        out = memfd_create("out", 0);
        cli_messages = memfd_create("messages", 0);
        demand(out >= 0 && cli_messages >= 0 && dup2(out, STDOUT_FILENO) >= 0);
    }
    lay_out();
    int status = run(count, words);
    if (status >= 0)
        check(status, STDOUT_FILENO, cli_messages);
    return 0;
}
