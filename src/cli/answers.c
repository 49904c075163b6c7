#include "cli/answers.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "cli/cli.h"

sw_status answers_take(const char *text, answers_given *answers, sw_error *err)
{
    if (strcmp(text, "none") == 0) {
        answers->forget = true;
        return SW_OK;
    }
    if (!answers->text)
        return cli_keep_text(text, &answers->text, err);
    size_t room = strlen(answers->text) + strlen(text) + 2;
    char *both = malloc(room);
    if (!both)
        return sw_fail(err, SW_NO_MEMORY, "out of memory");
    snprintf(both, room, "%s,%s", answers->text, text);
    free(answers->text);
    answers->text = both;
    return SW_OK;
}

/* Folder/plan.json when there is such a file; for free(). */
static char *plan_in(const char *folder)
{
    static const char NAME[] = "/plan.json";
    struct stat found;
    size_t room = folder ? strlen(folder) + sizeof NAME : 0;
    char *path = folder ? malloc(room) : NULL;
    if (!path)
        return NULL;
    snprintf(path, room, "%s%s", folder, NAME);
    if (stat(path, &found) == 0 && S_ISREG(found.st_mode))
        return path;
    free(path);
    return NULL;
}

static bool answered(const answers_given *answers, const sw_lean_answer *kept)
{
    for (size_t i = 0; i < answers->count; i++)
        if (answers->list[i].tile == kept->tile && answers->list[i].side == kept->side)
            return true;
    return false;
}

static int add_kept(answers_given *answers, const sw_plan *plan)
{
    sw_lean_answer *more = realloc(answers->list, (answers->count + plan->answer_count + 1) * sizeof *more);
    if (!more)
        return cli_say("seamwright", "out of memory");
    answers->list = more;
    for (size_t i = 0; i < plan->answer_count; i++)
        if (!answered(answers, &plan->answers[i]))
            answers->list[answers->count++] = plan->answers[i];
    return -1;
}

static int read_kept(answers_given *answers, const sw_inspection *first, const char *path)
{
    sw_plan plan;
    sw_error err = {{0}};
    sw_status status = sw_plan_read(path, first, &plan, &err);
    if (status == SW_CANNOT_READ || status == SW_NO_MEMORY) /* nothing is known of what it says */
        return cli_say(path, err.text);
    if (status != SW_OK) {
        cli_sayf(path, "an earlier plan, which cannot be read; what a try square said then is not used (%s)", err.text);
        return -1;
    }
    int result = add_kept(answers, &plan);
    sw_plan_free(&plan);
    return result;
}

int answers_settle(answers_given *answers, const sw_inspection *first, const char *folder, const char *other)
{
    sw_error err = {{0}};
    if (answers->text && sw_lean_answers_read(answers->text, first, &answers->list, &answers->count, &err) != SW_OK)
        return cli_sayf("seamwright", "--lean \"%.200s\": %s", answers->text, err.text);
    if (answers->forget)
        return -1;
    char *path = plan_in(folder);
    if (!path)
        path = plan_in(other);
    int result = path ? read_kept(answers, first, path) : -1;
    free(path);
    return result;
}

void answers_free(answers_given *answers)
{
    if (!answers)
        return;
    free(answers->text);
    free(answers->list);
    *answers = (answers_given){0};
}
