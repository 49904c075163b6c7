/* given.h - inspections that a command is given: the file, or the folder that holds it. */
#ifndef SW_CLI_GIVEN_H
#define SW_CLI_GIVEN_H

#include "cli/cli.h"
#include "seamwright/layout.h"
#include "seamwright/report.h"

/* The file that is meant: word itself, or word/inspection.json when word is a folder. Free with free(); NULL when
 * memory is out. */
char *given_file(const char *word);

/* The path of another file in a file's folder, for free(); NULL when memory is out. */
char *given_beside(const char *file, const char *name);
bool given_is_there(const char *path);
/* Whether this is the folder that holds the file; both must be there. */
bool given_is_folder_of(const char *folder, const char *file);

/* Settles where results go: *folder as the user said, else (NULL) the folder that holds the inspection meant by word,
 * for free(). -1 when all is well, else the exit status. */
int given_out(char **folder, const char *word);

enum { GIVEN_LAYOUTS_MOST = 64 }; /* more inspections of one set than anybody makes */

/* Several inspections of the same tiles and how the tiles lay in each. Begins zeroed; free with given_free. */
typedef struct given_set {
    const char **words; /* the inspections as the user named them; owned by the options' reader */
    int count;
    char *layout_texts[GIVEN_LAYOUTS_MOST]; /* for every inspection after the first, or none */
    int layout_count;
    char *folder; /* for the results */
    sw_inspection *inspections;
    sw_layout *layouts; /* one each */
} given_set;

/* One more --layout. */
sw_status given_take_layout(const char *text, given_set *set, sw_error *err);

/* Which inspections, which folder; `none` is said when no inspection is named. -1 when all is well, else the exit
 * status. */
int given_settle(given_set *set, const cli_words *words, const char *none);

/* Reads inspections and layouts. -1 when all is well, else the exit status. */
int given_read(given_set *set);

/* Accepts NULL; zeroes. */
void given_free(given_set *set);

#endif
