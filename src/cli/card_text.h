/* card_text.h - the words printed on a card or checkerboard. */
#ifndef SW_CLI_CARD_TEXT_H
#define SW_CLI_CARD_TEXT_H

#include "cli/card_draw.h"

typedef enum card_style { CARD_TITLE, CARD_WORDS, CARD_COMMAND } card_style;

typedef struct card_paragraph {
    card_style style;
    char text[400];
} card_paragraph;

enum { CARD_PARAGRAPHS_MOST = 10 };

/* Fills in the paragraphs for a spec and returns how many there are. */
int card_text(const card_spec *spec, card_paragraph paragraphs[CARD_PARAGRAPHS_MOST]);

#endif
