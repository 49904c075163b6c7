/* card.h - a reference card or a checkerboard as one page of PDF at true scale, or several cards on a few. */
#ifndef SEAMWRIGHT_CARD_H
#define SEAMWRIGHT_CARD_H

#include "seamwright/paper.h"
#include "seamwright/scale.h"
#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum sw_card_kind { SW_CARD_FRAME = 0, SW_CARD_PLAIN, SW_CARD_CHECKERBOARD } sw_card_kind;

/* What to print. Zero means the default in brackets. */
typedef struct sw_card {
    sw_card_kind kind;     /* [SW_CARD_FRAME] */
    double outer_mm;       /* side of the black square of a frame or plain card [100] */
    double inner_mm;       /* side of the white square in a frame [60]; 0 for a plain card */
    sw_checkerboard board; /* of a checkerboard [10 x 7 squares of 25 mm] */
    sw_paper paper;        /* [A4] */
    int count;             /* of cards, 1 to SW_CARDS_MOST; more than one go on as few sheets as they fit [1] */
} sw_card;

/* SW_BAD_INPUT: a count out of range, or of checkerboards; sides that sw_reference_check or sw_checkerboard_check refuse, a frame without an inner side, a plain card
 * with one. */
SW_API sw_status sw_card_check(const sw_card *card, sw_error *err);

/* Writes the page or pages to path, whole or not at all. The same card gives the same bytes with the same cairo and fonts: no date
 * is written. SW_BAD_INPUT: path does not end in .pdf, refused by sw_card_check, or it does not fit the paper either way round. SW_CANNOT_WRITE,
 * SW_NO_MEMORY. */
SW_API sw_status sw_card_write(const sw_card *card, const char *path, sw_error *err);

#ifdef __cplusplus
}
#endif
#endif
