/* order.c - why this order: pushing costs nothing and closes some seams; bases that lean hold tops apart, so where top edges
 * touch shows only after bevelling; what is filled first would be sanded off again. */
#include "inspection/order.h"

#include <stdio.h>
#include <string.h>

const sw_order_step sw_order[SW_ORDER_STEPS] = {
    {"push",
     "Push the tiles together from outside until nothing moves any more, rows and columns in line where four tiles "
     "meet."},
    {"photograph", "Photograph them so, inspect, and plan: only what stays open when pushed asks for work."},
    {"square and bevel (worst seam first)",
     "Where a seam is open along its whole length, hold a try square to both side faces, and sand the base of a face "
     "that leans."},
    {"true up", "Sand the top edges where the tiles touch, by the strips of the plan, a little at a time."},
    {"fill", "Fill chips; never sand a whole edge for a chip."},
    {"photograph again", "Push, photograph and inspect again before you do more: every change moves other seams."},
};

const char sw_order_begin[] = "Push the tiles together and photograph, if this photo was not of pushed tiles";

const char *sw_order_names(char text[SW_ORDER_ROOM])
{
    text[0] = 0;
    for (int i = 0; i < SW_ORDER_STEPS; i++) {
        size_t used = strlen(text);
        snprintf(text + used, SW_ORDER_ROOM - used, "%s%s", i ? "; " : "", sw_order[i].name);
    }
    return text;
}
