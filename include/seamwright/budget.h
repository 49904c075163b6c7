/* budget.h - what the uncertainty of a figure is made of (an uncertainty budget, JCGM 100 clause 8).
 *
 * Every stated uncertainty is the root sum of squares of its parts, so a part's share is its square over the whole's.
 * The parts are taken as independent of each other, or have been made so (see SW_PART_LENS to SW_PART_PERSPECTIVE).
 */
#ifndef SEAMWRIGHT_BUDGET_H
#define SEAMWRIGHT_BUDGET_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Where uncertainty comes from. */
typedef enum sw_part {
    SW_PART_NOISE = 0,   /* the photo's noise, as each station's own samples show it in its rims */
    SW_PART_TEXTURE,     /* what rims scatter along the seam beyond that: roughness of the edge, patchy light */
    SW_PART_LIGHT,       /* the light in the gap, as far as the fit of the whole seam leaves it open */
    SW_PART_MODEL,       /* what no model of edges and light holds; found on photos with known truth */
    SW_PART_PIXELS,      /* a photo sharper than its pixels can show */
    SW_PART_SPREAD,      /* how far exposure and ink move a dark edge */
    SW_PART_SIZE,        /* the cards' own sides, as stated by who measured them */
    SW_PART_FIT,         /* their size in the photo, as far as their edges' fit leaves it open */
    SW_PART_LENS,        /* the lens, profile or estimated; the perspective moved along with it */
    SW_PART_PERSPECTIVE, /* the homography's remainder once spread, lens and size are known: the slant of the view */
    SW_PART_THICKNESS,   /* of the cards: their face lies above the tiles' tops */
    SW_PART_HIDDEN,      /* the stretch of a seam that lies under a card: of a mean over the whole seam only */
    SW_PART_HEIGHT, /* tops that do not lie in one plane: given heights and where they are seen from; 0 on a level table */
    SW_PART_COUNT
} sw_part;

/* The parts of one figure's standard uncertainty, in the figure's unit. All zero: not known. */
typedef struct sw_parts {
    double u[SW_PART_COUNT];
    /* Of noise and texture together, from the number of independent places they were seen at; 0: not known. All other
     * parts count as exactly known. */
    double degrees_of_freedom;
} sw_parts;

/* Root sum of squares of the parts. */
SW_API double sw_parts_u(const sw_parts *parts);

/* "noise", "texture", "light in the gap", "model of the light", "coarse pixels", "edge spread", "card size", "card
 * fit", "lens", "perspective", "card thickness", "hidden stretch", "height". */
SW_API const char *sw_part_name(sw_part part);

typedef enum sw_part_kind {
    SW_SEEN = 0,     /* worked out from this photo (type A of JCGM 100, or a fit to this photo) */
    SW_FROM_PROFILE, /* from the photos the lens profile was made of */
    SW_ASSUMED       /* stated, or common practice: nothing in this photo tells it (type B) */
} sw_part_kind;

/* "seen in this photo", "from the lens profile", "assumed". */
SW_API const char *sw_part_kind_name(sw_part_kind kind);

/* One line of a budget. */
typedef struct sw_budget_line {
    sw_part part;
    sw_part_kind kind;
    bool included;    /* part of u95; otherwise the figure's u95 holds nothing for it */
    double u;         /* standard uncertainty, in the figure's unit; 0 when not included */
    double share;     /* of the variance, 0 to 1; all lines together 1 */
    double left_out;  /* when not included: what it would do to the figure, in its unit; 0 otherwise */
    const char *note; /* when not included: what that figure is; else "". Static text, not to be freed */
} sw_budget_line;

/* Which figure a budget is about. */
typedef enum sw_budget_figure {
    SW_BUDGET_GAP = 0,      /* widest gap of the worst seam */
    SW_BUDGET_MEAN,         /* mean gap of the seam whose mean is known middling well */
    SW_BUDGET_ANGLE,        /* the corner angle furthest from 90 degrees */
    SW_BUDGET_LENGTH,       /* length of the edge whose length is known middling well */
    SW_BUDGET_STRAIGHTNESS, /* straightness of the least straight edge */
    SW_BUDGET_FIGURES
} sw_budget_figure;

/* "widest gap", "mean gap", "corner angle", "edge length", "straightness". */
SW_API const char *sw_budget_figure_name(sw_budget_figure figure);

/* The budget of one figure. Plain data, nothing to free. */
typedef struct sw_figure_budget {
    sw_budget_figure figure;
    char where[64];            /* "B2-C2, 294 mm from its north end"; "A1 NW"; "A1 north" */
    const char *unit;          /* "mm" or "degrees"; static text */
    double value, u95;         /* as printed elsewhere; u95 is twice the root sum of squares of the lines' u */
    double degrees_of_freedom; /* effective (JCGM 100 G.4); INFINITY over 1000, NaN when not known */
    sw_budget_line lines[SW_PART_COUNT]; /* included ones first, largest first */
    size_t line_count;
    char next[160]; /* the one thing that would lower the largest line; a plain sentence */
} sw_figure_budget;

#ifdef __cplusplus
}
#endif
#endif
