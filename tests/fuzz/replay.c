/* replay.c - runs a fuzz target over the files of its corpus, as an ordinary test.
 *
 * Usage: fuzz_NAME FOLDER. For real fuzzing, build the same target with clang -fsanitize=fuzzer and without this file.
 */
#include <dirent.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* Largest corpus file, bytes: seeds are small by custom. */
#define MAX_SEED_BYTES ((size_t)1 << 20)

static int replay_file(const char *path)
{
    FILE *file = fopen(path, "rb");
    uint8_t *data = malloc(MAX_SEED_BYTES);
    int done = 0;
    if (file && data) {
        size_t size = fread(data, 1, MAX_SEED_BYTES, file);
        uint8_t *exact = malloc(size ? size : 1); /* so that the sanitizer sees a step past the end */
        for (size_t i = 0; exact && i < size; i++)
            exact[i] = data[i];
        if (exact)
            LLVMFuzzerTestOneInput(exact, size);
        done = exact != NULL;
        free(exact);
    }
    if (file)
        fclose(file);
    free(data);
    return done;
}

int main(int count, char **arguments)
{
    DIR *folder = count == 2 ? opendir(arguments[1]) : NULL;
    if (!folder) {
        fprintf(stderr, "usage: %s FOLDER\n", arguments[0]);
        return 2;
    }
    int seeds = 0, failed = 0;
    for (struct dirent *entry; (entry = readdir(folder));) {
        char path[4096];
        if (entry->d_name[0] == '.')
            continue;
        snprintf(path, sizeof path, "%s/%s", arguments[1], entry->d_name);
        if (replay_file(path))
            seeds++;
        else
            failed++;
    }
    closedir(folder);
    printf("%d seeds replayed, %d unreadable\n", seeds, failed);
    return seeds == 0 || failed; /* an empty corpus tests nothing */
}
