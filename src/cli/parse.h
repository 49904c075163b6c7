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

#include "seamwright/plan.h"
#include "seamwright/scale.h"
#include "seamwright/status.h"
#include "seamwright/table.h"

/* The range an option accepts, ends included, and how a right value looks. */
typedef struct parse_range {
    double least, most;
    const char *example;
} parse_range;

extern const parse_range parse_tile_mm, parse_tolerance_mm, parse_height_mm, parse_step_mm, parse_card_thickness_mm,
    parse_board_square_mm, parse_plan_tolerance_mm, parse_cut_mm;

/* A4. */
extern const sw_paper parse_paper_usual;

/* "300" or "0.25": one length in millimetres. */
sw_status parse_mm(const char *text, const parse_range *range, double *value_mm, sw_error *err);

/* "45", "A1=55,B2=45" or "45,A1=55": how high the tops stand; without a name, all that are not named (*usual_mm, 0 when
 * there is no such figure). *heights gets the named ones, *count of them; the caller frees it with free(). */
sw_status parse_heights(const char *text, double *usual_mm, sw_tile_height **heights, size_t *count, sw_error *err);

/* "100/60", "100", "99.6x99.8/59.7x59.9" or "99.6x99.8": outer side or sides, then, after a slash, inner ones. */
sw_status parse_reference(const char *text, sw_reference *reference, sw_error *err);

/* "3x2": tiles across by tiles down, 1 to 26 by 1 to 99 (the letters and numbers of tile names). */
sw_status parse_table(const char *text, int *columns, int *rows, sw_error *err);

/* "a4" or "letter", in any case. */
sw_status parse_paper(const char *text, sw_paper *paper, sw_error *err);

/* "10x7": squares across by squares down. */
sw_status parse_board(const char *text, int *columns, int *rows, sw_error *err);

#endif
