/* card_draw.h - a reference card or a checkerboard as one page of PDF at true scale. */
#ifndef SW_CLI_CARD_DRAW_H
#define SW_CLI_CARD_DRAW_H

#include <stdio.h>

#include "seamwright/plan.h"
#include "seamwright/scale.h"
#include "seamwright/status.h"

typedef enum card_kind { CARD_FRAME = 0, CARD_PLAIN, CARD_CHECKERBOARD } card_kind;

/* What to print. outer and inner count for cards (inner 0 for a plain square), board for a checkerboard. */
typedef struct card_spec {
    card_kind kind;
    double outer_mm, inner_mm;
    sw_checkerboard board;
    sw_paper paper;
} card_spec;

/* Writes the page to stream. The same spec gives the same bytes with the same cairo and fonts: no date is written.
 * SW_BAD_INPUT when it does not fit the paper either way round. */
sw_status card_draw(const card_spec *spec, FILE *stream, sw_error *err);

#endif
