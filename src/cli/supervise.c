#define _GNU_SOURCE /* memfd_create */
#include "cli/supervise.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include "cli/say.h"

enum { SAYINGS_MOST = 16, NOISE_SHOWN = 160 };

#ifdef SW_WATCHED
static const bool WATCHED = true; /* by sanitizers, whose reports and exit status go through as they are */
#else
static const bool WATCHED = false;
#endif

/* Both ends of one supervision. */
typedef struct pair {
    pid_t parent, child;
    int hear, say; /* the pipe */
    int noise;     /* a file without a name for what libraries print on standard error; -1: none */
    sigset_t waited, before;
} pair;

/* Our messages keep standard error; whatever else is printed there goes into the file of noise. */
static void set_noise_apart(int noise)
{
    int messages = noise >= 0 ? fcntl(STDERR_FILENO, F_DUPFD_CLOEXEC, STDERR_FILENO + 1) : -1;
    if (messages < 0)
        return;
    if (dup2(noise, STDERR_FILENO) < 0)
        close(messages);
    else
        cli_messages = messages;
}

/* The child's whole life. */
static void work_and_exit(const pair *p, cli_load *load, int argc, const char **argv)
{
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    if (getppid() != p->parent) /* it died before the line above */
        _exit(CLI_CANNOT);
    sigprocmask(SIG_SETMASK, &p->before, NULL);
    signal(SIGXFSZ, SIG_IGN); /* a file that grows over the limit set for it is a failed write, with its message */
    close(p->hear);
    set_noise_apart(p->noise);
    cli_parent = p->say;
    cli_work *work = load();
    int result = work ? work(argc, argv, (cli_wires){cli_messages, cli_parent}) : CLI_CANNOT;
    cli_tell((char)(CLI_TELLS_STATUS + result));
    exit(result); /* not _exit: what watches a process for leaks or coverage reports at its end */
}

/* Waits for the child's end; signals that come in the meantime are its. */
static int wait_for(const pair *p)
{
    int status = 0;
    for (;;) {
        int signal_number = sigwaitinfo(&p->waited, NULL);
        if (signal_number > 0 && signal_number != SIGCHLD)
            kill(p->child, signal_number);
        pid_t ended = waitpid(p->child, &status, WNOHANG);
        if (ended == p->child || (ended < 0 && errno != EINTR))
            return status;
    }
}

/* Signals that end a program by custom, without a word. */
static bool is_usual(int signal_number)
{
    return signal_number == SIGINT || signal_number == SIGTERM || signal_number == SIGHUP || signal_number == SIGQUIT ||
           signal_number == SIGPIPE;
}

static void end_by(const pair *p, int signal_number)
{
    signal(signal_number, SIG_DFL);
    sigprocmask(SIG_SETMASK, &p->before, NULL);
    sigset_t it;
    sigemptyset(&it);
    sigaddset(&it, signal_number);
    sigprocmask(SIG_UNBLOCK, &it, NULL);
    raise(signal_number);
}

/* The last line of what libraries printed, without the blanks around it; "" when they printed nothing. */
static void last_noise(int noise, char text[NOISE_SHOWN])
{
    off_t end = noise >= 0 ? lseek(noise, 0, SEEK_END) : 0, from = end > NOISE_SHOWN ? end - NOISE_SHOWN + 1 : 0;
    ssize_t got = end > 0 ? pread(noise, text, NOISE_SHOWN - 1, from) : 0;
    text[got > 0 ? got : 0] = '\0';
    for (size_t length = strlen(text); length > 0 && strchr("\n ", text[length - 1]); length--)
        text[length - 1] = '\0';
    const char *line = strrchr(text, '\n') ? strrchr(text, '\n') + 1 : text;
    line += strspn(line, " ");
    memmove(text, line, strlen(line) + 1);
}

static int say_failed(const pair *p, int status, const char *said, size_t count)
{
    char noise[NOISE_SHOWN], why[NOISE_SHOWN + 128], ended[64];
    if (WIFSIGNALED(status))
        snprintf(ended, sizeof ended, "%s", strsignal(WTERMSIG(status)));
    else
        snprintf(ended, sizeof ended, "it exited with %d", WEXITSTATUS(status));
    last_noise(p->noise, noise);
    snprintf(why, sizeof why, "ran out of memory or failed inside a library (%s%s%s)", ended, noise[0] ? ": " : "",
             noise);
    bool files = memchr(said, CLI_TELLS_FILES, count);
    return cli_sayf("seamwright", "%s; %s; close other programs%s, then try again",
                    memchr(said, CLI_TELLS_MEMORY, count) ? "ran out of memory"
                    : files                               ? "cannot open any more files, as too many are open"
                                                          : why,
                    memchr(said, CLI_TELLS_WRITING, count)
                        ? "the results there are the old ones or the new ones, each whole"
                        : "nothing was written",
                    files ? "" : " or take a smaller photo");
}

/* What the child's end means. */
static int judge(const pair *p, int status)
{
    char said[SAYINGS_MOST];
    ssize_t count = read(p->hear, said, sizeof said);
    if (WIFSIGNALED(status) && is_usual(WTERMSIG(status)))
        end_by(p, WTERMSIG(status));
    if (!WATCHED && count > 0 && said[count - 1] == CLI_TELLS_STATUS + CLI_CANNOT)
        return CLI_CANNOT; /* and the child said why; however it ended then */
    if (WIFEXITED(status) && (WATCHED || (count > 0 && said[count - 1] == CLI_TELLS_STATUS + WEXITSTATUS(status))))
        return WEXITSTATUS(status);
    return say_failed(p, status, said, count > 0 ? (size_t)count : 0);
}

static int say_not_begun(void)
{
    return cli_sayf("seamwright", "could not begin (%s); nothing was written; close other programs and try again",
                    strerror(errno));
}

/* The pipe, the file for noise, and signals that wait until they are asked for. */
static bool prepare(pair *p)
{
    int ends[2];
    if (pipe2(ends, O_CLOEXEC) != 0)
        return false;
    p->hear = ends[0];
    p->say = ends[1];
    p->noise = WATCHED ? -1 : memfd_create("noise", MFD_CLOEXEC);
    static const int WAITED[] = {SIGCHLD, SIGINT, SIGTERM, SIGHUP, SIGQUIT};
    sigemptyset(&p->waited);
    for (size_t i = 0; i < sizeof WAITED / sizeof WAITED[0]; i++)
        sigaddset(&p->waited, WAITED[i]);
    signal(SIGCHLD, SIG_DFL); /* where it came ignored, there would be no status to wait for */
    return sigprocmask(SIG_BLOCK, &p->waited, &p->before) == 0;
}

int cli_supervise(cli_load *load, int argc, const char **argv)
{
    pair p = {.parent = getpid()};
    if (!prepare(&p))
        return say_not_begun();
    p.child = fork();
    if (p.child < 0)
        return say_not_begun(); /* not done unwatched: a failure could end as an answer then */
    if (p.child == 0)
        work_and_exit(&p, load, argc, argv);
    close(p.say);
    return judge(&p, wait_for(&p));
}
