/* reason.c - a seam's line of advice: what to do, and the sentence with the reason. */
#include "plan/reason.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "inspection/names.h"
#include "maths/guard.h"
#include "plan/cause.h"

/* What comes off less than this is nothing, mm: under what a hand can sand on purpose. */
static const double NOTHING_MM = 0.03;
/* No sanding block takes less than this, mm: a shorter stretch is widened to it, as far as the edge goes. */
static const double BLOCK_MM = 20;

/* The stretch of a cut about its deepest place, widened to a sanding block. */
static void find_stretch(const sw_cut *cut, sw_advice *a)
{
    double pitch = cut->length_mm / (cut->knots - 1);
    int deepest = 0;
    for (int k = 0; k < cut->knots; k++)
        deepest = cut->remove_mm[k] > cut->remove_mm[deepest] ? k : deepest;
    int low = deepest, high = deepest;
    while (low > 0 && cut->remove_mm[low - 1] > NOTHING_MM)
        low--;
    while (high < cut->knots - 1 && cut->remove_mm[high + 1] > NOTHING_MM)
        high++;
    a->remove_mm = cut->remove_mm[deepest];
    a->from_mm = fmax(0, (low - 1) * pitch);
    a->to_mm = fmin(cut->length_mm, (high + 1) * pitch);
    if (a->to_mm - a->from_mm < BLOCK_MM)
        a->to_mm = fmin(cut->length_mm, a->from_mm + BLOCK_MM);
}

static void name_edge(const sw_seam *seam, int rim, sw_advice *a)
{
    a->tile = rim ? seam->second : seam->first;
    a->side = sw_joint_side(seam, rim);
}

static void say_sand(const sw_whole *w, const sw_seam *seam, const sw_cut *other, sw_advice *a)
{
    char name[EDGE_NAME_ROOM], more[80] = "", cause[120];
    const sw_inspection *ins = w->ins;
    a->action = SW_TRUE_UP;
    if (other->deepest_mm > 0)
        snprintf(more, sizeof more, " (and up to %.2f mm off %s %s)", other->deepest_mm,
                 ins->tiles[other->rim ? seam->second : seam->first].name,
                 sw_side_name(sw_joint_side(seam, other->rim)));
    sw_cause_say(ins, &w->closing, (size_t)a->seam, cause, sizeof cause);
    if (!cause[0])
        snprintf(cause, sizeof cause, "held open");
    snprintf(a->reason, sizeof a->reason,
             "%c%s: pushed together, the tiles touch along %s between %.0f and %.0f mm; with up to %.2f mm off there%s "
             "this seam can close.",
             toupper((unsigned char)cause[0]), cause + 1, sw_edge_name(ins, a->tile, a->side, name), a->from_mm,
             a->to_mm, a->remove_mm, more);
}

/* Whatever is to come off the top edges comes after the bases (order.h), so it is no figure of this advice. */
static void say_lean(const sw_whole *w, const sw_seam *seam, int index, sw_advice *a)
{
    char first[EDGE_NAME_ROOM], second[EDGE_NAME_ROOM];
    bool cuts = w->closing.up.cuts[2 * index].deepest_mm > 0 || w->closing.up.cuts[2 * index + 1].deepest_mm > 0;
    a->action = SW_CHECK;
    snprintf(a->reason, sizeof a->reason,
             "Open along its whole length: the tops stay %.1f mm apart. If so when pushed, hold a try square to %s and "
             "%s; sand the base of the one that leans%s.",
             w->standoff_mm[index], sw_edge_name(w->ins, seam->first, sw_joint_side(seam, 0), first),
             sw_edge_name(w->ins, seam->second, sw_joint_side(seam, 1), second),
             cuts ? "; then true up by the plan" : "");
}

static void advise_over(const sw_whole *w, int index, sw_advice *a)
{
    const sw_seam *seam = &w->ins->seams[index];
    const sw_cut *cuts = w->planned ? &w->closing.up.cuts[2 * index] : NULL;
    int rim = cuts && cuts[1].area_mm2 > cuts[0].area_mm2;
    name_edge(seam, rim, a);
    if (w->planned && w->standoff_mm[index] > 0) {
        say_lean(w, seam, index, a);
        return;
    }
    if (cuts && cuts[rim].deepest_mm > 0) {
        find_stretch(&cuts[rim], a);
        say_sand(w, seam, &cuts[!rim], a);
        return;
    }
    double limit = w->ins->tolerance_mm + SW_GUARD * seam->max_u95_mm;
    a->action = SW_CHECK;
    if (!w->planned)
        snprintf(
            a->reason, sizeof a->reason,
            "The seam is open, but too little was seen to say why; move what hides the seams and photograph again.");
    else if (w->pushed.max_mm[index] <= limit)
        snprintf(a->reason, sizeof a->reason,
                 "Pushing alone can close this seam to about %.2f mm. Sand nothing for it.", w->pushed.max_mm[index]);
    else
        snprintf(a->reason, sizeof a->reason,
                 "Nothing is to be sanded here: this seam closes when the others are done and the tiles are pushed.");
}

void sw_reason_seam(const sw_whole *w, int index, sw_advice *a)
{
    const sw_inspection *ins = w->ins;
    const sw_seam *seam = &ins->seams[index];
    memset(a, 0, sizeof *a);
    a->seam = index;
    a->worst_gap_mm = seam->max_mm;
    a->u95_mm = seam->max_u95_mm;
    name_edge(seam, 0, a);
    if (seam->verdict == SW_OVER) {
        advise_over(w, index, a);
    } else if (seam->verdict == SW_TOO_CLOSE) {
        a->action = SW_CHECK;
        if (isnan(seam->max_mm))
            snprintf(a->reason, sizeof a->reason, "Nothing of this seam could be read; clear it and photograph again.");
        else
            snprintf(a->reason, sizeof a->reason,
                     "Too close to the tolerance to call from this photo: do not sand; try a feeler gauge at %.0f mm, "
                     "or photograph from nearer.",
                     seam->max_at_mm);
    } else {
        a->action = SW_LEAVE;
        snprintf(a->reason, sizeof a->reason, "Within tolerance all along; leave it.");
    }
}

void sw_reason_chip(const sw_inspection *ins, int index, const sw_chip *chip, sw_advice *a)
{
    const sw_seam *seam = &ins->seams[index];
    memset(a, 0, sizeof *a);
    a->seam = index;
    a->tile = chip->tile;
    a->side = chip->side;
    a->action = SW_FILL;
    a->from_mm = fmax(0, chip->at_mm - chip->length_mm / 2);
    a->to_mm = chip->at_mm + chip->length_mm / 2;
    a->worst_gap_mm = seam->max_mm;
    a->u95_mm = seam->max_u95_mm;
    snprintf(a->reason, sizeof a->reason,
             "A chip, %.0f mm long and %.1f mm deep: fill it; never sand a whole edge for a chip.", chip->length_mm,
             chip->depth_mm);
}
