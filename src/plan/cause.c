/* cause.c - what is wrong with a seam: told from what is to be done at it. */
#include "plan/cause.h"

#include <math.h>
#include <stdio.h>

/* Less than this off is nothing, mm. */
static const double NOTHING_MM = 0.03;
/* So near an end of the seam is at it, in parts of its length. */
static const double AT_END = 0.12;
/* Where less than this part of the most comes off, the seam is not held open: what tapers from an end is held there. */
static const double HELD = 0.2;
/* All along: held at so many of the places. */
static const double ALL_ALONG = 0.85;
enum { PLACES = 41 };

/* Where something comes off a seam's two edges together. */
typedef struct where {
    bool north, south; /* at the seam's north or west end; at the other */
    bool some, all_along;
    double most_at_mm;
} where;

static where look_where(const sw_inspection *ins, const sw_closing *closing, size_t j)
{
    where w = {0};
    double off_mm[PLACES], most_mm = NOTHING_MM;
    int held = 0;
    for (int k = 0; k < PLACES; k++) {
        double at_mm = k * ins->seams[j].length_mm / (PLACES - 1);
        off_mm[k] = sw_true_up_off(&closing->up, (int)j, at_mm);
        if (off_mm[k] > most_mm) {
            most_mm = off_mm[k];
            w.most_at_mm = at_mm;
            w.some = true;
        }
    }
    for (int k = 0; k < PLACES; k++) {
        double share = (double)k / (PLACES - 1);
        if (!(off_mm[k] > fmax(NOTHING_MM, HELD * most_mm)))
            continue;
        held++;
        w.north |= share <= AT_END;
        w.south |= share >= 1 - AT_END;
    }
    w.all_along = held >= ALL_ALONG * PLACES;
    return w;
}

/* "held open at its north end" */
void sw_cause_say(const sw_inspection *ins, const sw_closing *closing, size_t j, char *text, size_t room)
{
    static const char *const ends[2][2] = {{"west", "east"}, {"north", "south"}};
    const sw_seam *seam = &ins->seams[j];
    const char *open = closing->bevel[j] ? "open along its whole length" : "";
    char held[80] = "";
    where w = look_where(ins, closing, j);
    if (w.all_along)
        snprintf(held, sizeof held, "its edges stand proud all along");
    else if (w.north && w.south)
        snprintf(held, sizeof held, "held open at its ends");
    else if (w.north || w.south)
        snprintf(held, sizeof held, "held open at its %s end", ends[seam->upright][w.south]);
    else if (w.some)
        snprintf(held, sizeof held, "held open by a bump at %.0f mm", w.most_at_mm);
    snprintf(text, room, "%s%s%s", open, open[0] && held[0] ? ", and " : "", held);
}
