/* card_text.h - the words printed on a card or checkerboard. */
#ifndef SW_CARD_TEXT_H
#define SW_CARD_TEXT_H

#include "seamwright/card.h"

typedef enum sw_card_style { SW_CARD_TITLE, SW_CARD_WORDS, SW_CARD_COMMAND } sw_card_style;

typedef struct sw_card_paragraph {
    sw_card_style style;
    char text[400];
} sw_card_paragraph;

enum { SW_CARD_PARAGRAPHS_MOST = 10 };

/* Fills in the paragraphs for a card, or for a sheet (from 1) of several, and returns how many there are. */
int sw_card_sheet_text(const sw_card *card, int sheet, int sheets,
                       sw_card_paragraph paragraphs[SW_CARD_PARAGRAPHS_MOST]);
int sw_card_text(const sw_card *card, sw_card_paragraph paragraphs[SW_CARD_PARAGRAPHS_MOST]);

#endif
