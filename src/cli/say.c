/* say.c - what is printed. The supervising parent prints by this, too: nothing here asks for memory. */
#include "cli/say.h"

#include <ctype.h>
#include <errno.h>
#include <limits.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "seamwright/seamwright.h"

enum { MESSAGE_SIZE = 2048, PROGRESS_SIZE = 256 };

int cli_messages = STDERR_FILENO;

/* A message, put together before it is printed: one write, and no memory that could run out. */
typedef struct line {
    char text[PATH_MAX + MESSAGE_SIZE];
    size_t length;
} line;

/* A file name may hold anything, line ends and terminal commands included; a message is one line and plain. Bytes from
 * 128 stay, they are UTF-8. */
static void add_plain(line *to, const char *text)
{
    for (const char *c = text; *c && to->length + 1 < sizeof to->text; c++)
        to->text[to->length++] = iscntrl((unsigned char)*c) ? '?' : *c;
}

static void print(const char *text, size_t length)
{
    ssize_t done = 1;
    for (size_t at = 0; at < length && (done > 0 || (done < 0 && errno == EINTR)); at += done > 0 ? (size_t)done : 0)
        done = write(cli_messages, text + at, length - at);
}

static bool begins_with_name(const char *sentence, const char *name)
{
    size_t length = 0;
    while (name[length] && sentence[length] == (iscntrl((unsigned char)name[length]) ? '?' : name[length]))
        length++;
    return length > 0 && !name[length] && sentence[length] == ':';
}

int cli_say(const char *subject, const char *sentence)
{
    line message = {.length = 0};
    const char *slash = strrchr(subject, '/');
    if (!begins_with_name(sentence, subject) && !(slash && begins_with_name(sentence, slash + 1))) {
        add_plain(&message, subject);
        add_plain(&message, ": ");
    }
    add_plain(&message, sentence);
    message.text[message.length++] = '\n';
    print(message.text, message.length);
    return CLI_CANNOT;
}

int cli_sayf(const char *subject, const char *format, ...)
{
    char sentence[MESSAGE_SIZE];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(sentence, sizeof sentence, format, arguments);
    va_end(arguments);
    return cli_say(subject, sentence);
}

int cli_flush(int result)
{
    if ((fflush(stdout) != 0 || ferror(stdout)) && result != CLI_CANNOT)
        return cli_sayf("standard output", "could not be written (%s)", strerror(errno));
    return result;
}

int cli_print_version(void)
{
    puts("seamwright " SW_VERSION);
    return CLI_DONE;
}

cli_progress cli_progress_start(void)
{
    return (cli_progress){.terminal = isatty(cli_messages)};
}

/* "\rTEXT", and blanks over what stood there. */
static void show(const char *text, int blanks)
{
    char shown[PROGRESS_SIZE];
    int length = snprintf(shown, sizeof shown, "\r%s%*s", text, blanks, "");
    print(shown, length < PROGRESS_SIZE ? (size_t)length : PROGRESS_SIZE - 1);
}

void cli_progress_show(cli_progress *progress, const char *text)
{
    if (!progress->terminal)
        return;
    int length = (int)strlen(text);
    int blanks = progress->width > length ? progress->width - length : 0;
    show(text, blanks);
    progress->width = length + blanks;
}

void cli_progress_clear(cli_progress *progress)
{
    if (progress->terminal && progress->width > 0) {
        show("", progress->width);
        print("\r", 1);
    }
    progress->width = 0;
}
