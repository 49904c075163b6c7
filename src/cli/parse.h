/* parse.h - what the user types, as numbers.
 *
 * Lengths are millimetres written as bare decimal numbers ("300", "99.6"). Everything else (a unit, a comma, a sign, an
 * exponent) is refused with a sentence that shows a right example, rather than guessed at: a wrong guess here would be
 * a wrong scale for every figure after it.
 *
 * Each function clears its result first and returns SW_OK or SW_BAD_INPUT; the sentence in err does not name the
 * option, the caller puts it in front.
 */
#ifndef SW_CLI_PARSE_H
#define SW_CLI_PARSE_H

#include "seamwright/defaults_and_ranges.h"
#include "seamwright/scale.h"
#include "seamwright/status.h"
#include "seamwright/table.h"

/* "300" or "0.25": one length in millimetres; `example` shows how a right value looks. */
sw_status parse_mm(const char *text, sw_range range, const char *example, double *value_mm, sw_error *err);

/* "45", "A1=55,B2=45" or "45,A1=55": how high the tops stand; without a name, all that are not named (*usual_mm, 0 when
 * there is no such figure). *heights gets the named ones, *count of them; the caller frees it with free(). */
sw_status parse_heights(const char *text, double *usual_mm, sw_tile_height **heights, size_t *count, sw_error *err);

/* "100/60", "100", "99.6x99.8/59.7x59.9" or "99.6x99.8": outer side or sides, then, after a slash, inner ones. */
sw_status parse_reference(const char *text, sw_reference *reference, sw_error *err);

/* "210,180,1400,190,1390,1300,200,1290": x and y of four corners in pixels, commas between them, blanks allowed behind them. */
sw_status parse_corners(const char *text, sw_corners *corners, sw_error *err);

/* "9": a whole number from 1 to `most`; 0 on failure. */
sw_status parse_count(const char *text, int most, int *count, sw_error *err);

/* "3x2": tiles across by tiles down. */
sw_status parse_table(const char *text, int *columns, int *rows, sw_error *err);

/* "10x7": squares across by squares down; 0 for both on failure. The squares' side stays. */
sw_status parse_board(const char *text, sw_checkerboard *board, sw_error *err);

#endif
