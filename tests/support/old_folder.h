/* old_folder.h - a folder with an earlier result in it, and the system's calls, of which any can fail or be the last of
 * the process. A test that uses it wraps these calls (tests/CMakeLists.txt). */
#ifndef TEST_OLD_FOLDER_H
#define TEST_OLD_FOLDER_H

#include <stdbool.h>

#include "files/all_or_none.h"

/* The calls that change names, counted; the one numbered `failing` fails. */
extern int calls, failing, syncs, sync_failing;
extern bool can_exchange, can_link;
/* All calls that change anything, counted; before the one numbered `dying` the process ends as if it was killed. */
extern int steps, dying;

extern char room[64], target[96]; /* a folder of the test's own, and where the result shall be in it */
extern const char OLD[20];
extern const sw_files THREE; /* a.json, c and b, holding "new" */

void start(bool exchange);
sw_files whole_folder(void); /* THREE, as a folder made anew */
void put_file(const char *name, const char *text);
void put_sub(void); /* a folder in target */
void holds(const char *name, const char *expected);
int entries(const char *folder);

/* A folder that holds our a.json and b of an earlier time, and somebody's notes; there is no c yet. */
void make_old(void);
void is_old(void);
void is_new(void);

#endif
