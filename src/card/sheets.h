/* sheets.h - several cards of one size on as few sheets as they fit. */
#ifndef SW_CARD_SHEETS_H
#define SW_CARD_SHEETS_H

#include <stdio.h>

#include "seamwright/card.h"

/* Writes all pages to the stream. The card has passed sw_card_check, nothing in it is left at zero. SW_BAD_INPUT: not even
 * one fits the paper, either way round. SW_CANNOT_WRITE, SW_NO_MEMORY. */
sw_status sw_card_sheets(const sw_card *card, FILE *stream, sw_error *err);

#endif
