/* parts.h - a comparison in the making: what its steps hand on to each other. */
#ifndef SW_RECHECK_PARTS_H
#define SW_RECHECK_PARTS_H

#include <stdbool.h>

#include "seamwright/recheck.h"

typedef struct sw_comparing {
    const sw_inspection *before, *after;
    const sw_plan *plan; /* may be NULL */
    sw_layout own;       /* made here when none was given */
    const sw_place *places;
    sw_recheck *out;
    int unseen;             /* tiles of which an outline is missing */
    int unsplit;            /* pairs of opposite edges that nothing tells apart */
    int astray;             /* tiles where material is missing all over that the plan leaves alone */
    int grown;              /* tiles that are larger afterwards by more than the ± */
    bool backward;          /* the earlier tiles lie within the later ones, and not the other way */
    int turned;             /* quarter turns clockwise of the whole table, which nobody told */
    double sure_anywhere;   /* standard uncertainties that an error exceeds somewhere in 5 % of tables */
    double sure_of_planned; /* the same of the planned edges' deepest places only */
    char unseen_name[8];
    int unsplit_tile; /* the first of these pairs */
    sw_side unsplit_side;
} sw_comparing;

/* Do both show the same tiles? Sets backward; unless the user said how the tiles lie (laid), out->places and turned, too,
 * if the table was photographed from another side. SW_BAD_INPUT: other tiles. */
sw_status sw_recheck_same(sw_comparing *c, bool laid, sw_error *err);

/* Fills out->edges, in no order yet. SW_BAD_INPUT: a tile's size differs by more than sanding explains. */
sw_status sw_recheck_edges(sw_comparing *c, sw_error *err);

/* Sets pushed_apart of all seams. */
void sw_recheck_apart(sw_comparing *c);

/* Fills out->notes and out->next from everything else. */
sw_status sw_recheck_say(sw_comparing *c, sw_error *err);

#endif
