/* colours.h - what every page and picture is coloured with.
 *
 * Blue, orange and pale yellow stay apart for every kind of colour blindness by lightness, and everything that a colour
 * says is also said by a word, a filling (plain outline, solid, barred) or a sign (tick, cross, question mark).
 */
#ifndef SW_REPORT_COMMON_COLOURS_H
#define SW_REPORT_COMMON_COLOURS_H

/* Pages: each verdict's own colour, a dark one for its lines and words, a pale one for grounds. */
#define SW_HEX_OVER "#dc4f05"
#define SW_HEX_OVER_INK "#7a2500"
#define SW_HEX_OVER_WASH "#fdeee4"
#define SW_HEX_WITHIN "#054f99"
#define SW_HEX_WITHIN_INK "#053e77"
#define SW_HEX_WITHIN_WASH "#e8f2fc"
#define SW_HEX_CLOSE "#b28b00"
#define SW_HEX_CLOSE_INK "#5a4300"
#define SW_HEX_CLOSE_WASH "#fdf5d6"
/* Tops: above the median orange, below it blue and hatched; the farther the darker, in print too. */
#define SW_HEX_HIGH_1 "#fde3d0"
#define SW_HEX_HIGH_2 "#f8bd92"
#define SW_HEX_HIGH_3 "#ee9355"
#define SW_HEX_LOW_1 "#dcebfa"
#define SW_HEX_LOW_2 "#aecfee"
#define SW_HEX_LOW_3 "#79addd"
/* What comes off: a top edge is orange as what is over; a base, in section, blue. */
#define SW_HEX_BEVEL_WASH "#bcd7f0"

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
