#include "cli/cli.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "seamwright/seamwright.h"

static int say_popt_error(const char *command, poptContext popt, int code)
{
    const char *option = poptBadOption(popt, POPT_BADOPTION_NOALIAS);
    switch (code) {
    case POPT_ERROR_BADOPT:
        return cli_sayf("seamwright", "%s is no option of %s; 'seamwright %s --help' lists them", option, command,
                        command);
    case POPT_ERROR_NOARG:
        return cli_sayf("seamwright", "%s needs a value behind it; 'seamwright %s --help' shows an example", option,
                        command);
    case POPT_ERROR_UNWANTEDARG:
        return cli_sayf("seamwright", "%s takes no value; 'seamwright %s --help' explains", option, command);
    default:
        return cli_sayf("seamwright", "%s: %s", option, poptStrerror(code));
    }
}

static int say_bad_value(const struct poptOption *table, int value, const char *text, const sw_error *err)
{
    while (table->val != value)
        table++;
    const char *dashes = table->longName ? "--" : "-";
    char letter[2] = {table->shortName, '\0'};
    return cli_sayf("seamwright", "%s%s%s%s: %s", dashes, table->longName ? table->longName : letter, text ? " " : "",
                    text ? text : "", err->text);
}

int cli_read_options(const char *help, int argc, const char **argv, const struct poptOption *table, cli_take *take,
                     void *context, cli_words *words)
{
    *words = (cli_words){0};
    words->popt = poptGetContext("seamwright", argc, argv, table, 0);
    if (!words->popt)
        return cli_say("seamwright", "out of memory");
    int value;
    while ((value = poptGetNextOpt(words->popt)) > 0) {
        if (value == CLI_HELP)
            return fputs(help, stdout) < 0 ? CLI_CANNOT : CLI_DONE;
        if (value == CLI_VERSION)
            return cli_print_version();
        char *text = poptGetOptArg(words->popt);
        sw_error err = {{0}};
        sw_status status = take(value, text, context, &err);
        int result = status == SW_OK ? -1 : say_bad_value(table, value, text, &err);
        free(text);
        if (result >= 0)
            return result;
    }
    if (value < -1)
        return say_popt_error(argv[0], words->popt, value);
    words->word = poptGetArgs(words->popt);
    while (words->word && words->word[words->count])
        words->count++;
    return -1;
}

sw_status cli_keep_text(const char *text, char **kept, sw_error *err)
{
    free(*kept);
    *kept = strdup(text);
    return *kept ? SW_OK : sw_fail(err, SW_NO_MEMORY, "out of memory");
}

sw_status cli_keep_folder(const char *text, char **kept, sw_error *err)
{
    sw_status status = cli_keep_text(text, kept, err);
    for (size_t end = status ? 0 : strlen(*kept); end > 1 && (*kept)[end - 1] == '/'; end--)
        (*kept)[end - 1] = '\0';
    return status;
}

void cli_words_free(cli_words *words)
{
    if (!words)
        return;
    if (words->popt)
        poptFreeContext(words->popt);
    *words = (cli_words){0};
}
