/* letters.h - the letters of everything that is drawn: one font family, and whether there is one. */
#ifndef SW_PAPER_LETTERS_H
#define SW_PAPER_LETTERS_H

#include <cairo.h>
#include <stdbool.h>

#include "seamwright/status.h"

typedef enum sw_letters {
    SW_LETTERS_PLAIN,
    SW_LETTERS_BOLD,
    SW_LETTERS_TYPED, /* bold, all of one width: commands to type */
    SW_LETTERS_COUNT
} sw_letters;

/* Chooses the letters for what is drawn next; their size in units of the drawing. */
void sw_letters_choose(cairo_t *pen, sw_letters letters, double size);

/* SW_CANNOT_READ when there is no font to draw with, or its file cannot be opened: cairo would draw strokes of its own
 * that lack the ±, or nothing any more. Asked before a drawing is begun; path is the file that it is for. */
sw_status sw_letters_check(const char *path, sw_error *err);

#endif
