/* given.h - inspections that a command is given: the file, or the folder that holds it. */
#ifndef CLI_GIVEN_H
#define CLI_GIVEN_H

#include "seamwright/report.h"

/* The file that is meant: word itself, or word/inspection.json when word is a folder. Free with free(); NULL when
 * memory is out. */
char *given_file(const char *word);

/* The folder of a file, "." for a bare name. Free with free(); NULL when memory is out. */
char *given_folder(const char *file);

/* Reads `count` inspections in the words' order into *inspections, an array for free() after sw_inspection_free of
 * each. On failure *which is the word that is to blame, and there is nothing to free. */
sw_status given_inspections(const char **words, int count, sw_inspection **inspections, int *which, sw_error *err);

#endif
