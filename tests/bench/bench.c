/* bench.c - what an inspection costs, as ratios of medians of TIMES whole processes, one thread each:
 *
 *     bench SEAMWRIGHT LUMA PLAIN GROWTH [--lens=FILE] PHOTO...
 *
 * LUMA decodes the photo's luma alone, PLAIN does it the plain way (decode colours, undistort, warp all of it). The
 * runs take turns, so that a machine that slows down slows all of them. Times are user and system time, not the clock
 * on the wall. */
#define _GNU_SOURCE /* nftw, wait4 */

#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

enum { TIMES = 5 };

typedef struct cost {
    double seconds, peak_bytes;
    int status; /* -1: it could not be run */
} cost;

static cost run(char *const *arguments, const char *out)
{
    struct rusage used;
    int status = 0;
    fflush(NULL);
    pid_t child = fork();
    if (child == 0) {
        int to = open(out, O_WRONLY | O_CREAT | O_TRUNC, 0600), none = open("/dev/null", O_WRONLY);
        dup2(to, 1);
        dup2(none, 2);
        execv(arguments[0], arguments);
        _exit(127);
    }
    if (child < 0 || wait4(child, &status, 0, &used) < 0 || !WIFEXITED(status) || WEXITSTATUS(status) == 127)
        return (cost){0, 0, -1};
    double user = (double)used.ru_utime.tv_sec + 1e-6 * (double)used.ru_utime.tv_usec;
    double system = (double)used.ru_stime.tv_sec + 1e-6 * (double)used.ru_stime.tv_usec;
    return (cost){user + system, 1024.0 * (double)used.ru_maxrss, WEXITSTATUS(status)};
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *v)
{
    qsort(v, TIMES, sizeof *v, by_size);
    return v[TIMES / 2];
}

static int remove_one(const char *path, const struct stat *about, int kind, struct FTW *where)
{
    (void)about;
    (void)kind;
    (void)where;
    return remove(path);
}

/* Width times height as LUMA printed them. */
static double pixels_in(const char *path)
{
    double width = 0, height = 0;
    FILE *file = fopen(path, "r");
    if (!file)
        return 0;
    if (fscanf(file, "%lf %lf", &width, &height) != 2)
        width = 0;
    fclose(file);
    return width * height;
}

static int measure(char **programs, char *lens, char *photo, const char *folder)
{
    double inspect[TIMES], luma[TIMES], plain[TIMES], peak[TIMES], idle[TIMES], pixels = 0;
    char out[256], text[256];
    snprintf(text, sizeof text, "%s/text", folder);
    char *inspect_it[] = {programs[0], "inspect", photo, "--no-pictures", "-o", out, lens, NULL};
    char *version[] = {programs[0], "--version", NULL};
    char *luma_it[] = {programs[1], photo, NULL}, *plain_it[] = {programs[2], photo, NULL};
    for (int i = 0; i < TIMES; i++) {
        snprintf(out, sizeof out, "%s/seams", folder);
        nftw(out, remove_one, 8, FTW_DEPTH | FTW_PHYS); /* a folder that is there already would be read first */
        cost c = run(inspect_it, text), v = run(version, text), p = run(plain_it, text), l = run(luma_it, text);
        if (c.status < 0 || c.status > 1 || v.status || p.status || l.status) {
            printf("%s: cannot be measured (inspect ended with %d)\n", photo, c.status);
            return 1;
        }
        pixels = pixels_in(text);
        inspect[i] = c.seconds;
        peak[i] = c.peak_bytes;
        idle[i] = v.peak_bytes;
        plain[i] = p.seconds;
        luma[i] = l.seconds;
    }
    double t = median(inspect), memory = (median(peak) - median(idle)) / pixels - 1;
    printf("%s\n  inspect over luma alone: %5.2f\n  inspect over the plain way: %5.2f\n", photo, t / median(luma),
           t / median(plain));
    printf("  peak memory above the decoded photo: %.2f bytes a pixel\n", memory);
    return 0;
}

int main(int argc, char **argv)
{
    char folder[] = "/tmp/seamwright-bench-XXXXXX", *lens = NULL;
    int status = 0;
    if (argc < 6 || !mkdtemp(folder)) {
        fputs("usage: bench SEAMWRIGHT LUMA PLAIN GROWTH [--lens=FILE] PHOTO...\n", stderr);
        return 2;
    }
    for (int i = 5; i < argc; i++)
        if (strncmp(argv[i], "--lens=", 7) == 0)
            lens = argv[i];
        else
            status |= measure(argv + 1, lens, argv[i], folder);
    nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
    fflush(NULL);
    execv(argv[4], (char *[]){argv[4], NULL});
    return 1;
}
