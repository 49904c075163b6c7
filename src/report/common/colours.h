/* colours.h - what the overlay is coloured with; src/pages/page.css has the pages' colours, which are the same kinds.
 *
 * Blue, orange and pale yellow stay apart for every kind of colour blindness by lightness, and everything that a colour
 * says is also said by a word, a filling (plain outline, solid, barred) or a sign (tick, cross, question mark).
 */
#ifndef SW_REPORT_COMMON_COLOURS_H
#define SW_REPORT_COMMON_COLOURS_H

/* The overlay, as cairo takes them: fillings and lines lie on a grey photo, so they are stronger than the pages'. */
typedef struct sw_colour {
    double red, green, blue;
} sw_colour;

static const sw_colour SW_INK = {0.11, 0.11, 0.13}, SW_PAPER_WHITE = {1, 1, 1};

typedef struct sw_style {
    sw_colour fill, line;
} sw_style;

static const sw_style SW_STYLE_WITHIN = {{0.80, 0.90, 1.00}, {0.02, 0.31, 0.60}},
                      SW_STYLE_OVER = {{0.86, 0.31, 0.02}, {0.36, 0.10, 0.00}},
                      SW_STYLE_CLOSE = {{1.00, 0.90, 0.45}, {0.29, 0.21, 0.00}};

#endif
