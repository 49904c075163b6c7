/* guessed_cards.h - cards of which nobody said what they are, in a photo that shows no frame: plain squares are taken for the
 * usual size. A wrong guess makes every figure wrong in proportion, so it holds only where little else can be meant, and a note
 * says it before all others. */
#ifndef SW_INSPECT_GUESSED_CARDS_H
#define SW_INSPECT_GUESSED_CARDS_H

#include "seamwright/inspect.h"
#include "table/grid.h"

/* A plain square of the usual outer side. */
sw_reference sw_guessed_card(void);
/* Whether the squares that were found as plain ones may be cards: two or more, and none is the white inside of a frame. */
bool sw_guessed_cards_plain(const sw_photo *photo, const sw_scale *scale);
/* Whether every one lies on a tile's top, clear of its edges; tiles themselves do not. */
bool sw_guessed_cards_lie(const sw_scale *scale, const sw_grid *grid);
/* Notes what was guessed. SW_NO_MEMORY. */
sw_status sw_note_guessed(sw_inspection *inspection);

#endif
