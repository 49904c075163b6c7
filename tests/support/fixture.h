/* fixture.h - an inspection made up for tests: the museum's relief table, 3x3 tiles of 300 mm, with a seam of every
 * kind.
 *
 * Seams by index: 0 A1-B1 within, 1 B1-C1 over (a chip), 2 A1-A2 too close to call, 3 B1-B2 within, 4 C1-C2 over,
 * 5 A2-B2 closed (0 mm), 6 B2-C2 over and the widest of all, 7 A2-A3 within with a third unseen under a card,
 * 8 B2-B3 not seen at all, 9 C2-C3 within, 10 A3-B3 too close to call, 11 B3-C3 over with taper.
 */
#ifndef SW_SUPPORT_FIXTURE_H
#define SW_SUPPORT_FIXTURE_H

#include "seamwright/report.h"

enum { FIXTURE_SEAMS = 12, FIXTURE_WIDEST = 6, FIXTURE_BLIND = 8, FIXTURE_HALF_BLIND = 7, FIXTURE_CHIPPED = 1 };

/* Fills *inspection; free with sw_inspection_free. Ends the test program when memory is out. */
void fixture_inspection(sw_inspection *inspection);

/* A photo of that table through its own scale: bright tops, dark seams as wide as measured. Free with sw_photo_free. */
void fixture_photo(const sw_inspection *inspection, sw_photo *photo);

/* The same inspection with every seam within, and nothing advised. */
void fixture_all_within(sw_inspection *inspection);

/* A new empty folder for a test's files; remove it with fixture_remove. */
void fixture_folder(char folder[64]);
void fixture_remove(const char *folder);

/* A file's whole text with a zero at its end, for free(); NULL when it cannot be read. length may be NULL. */
char *fixture_read(const char *folder, const char *name, size_t *length);

#endif
