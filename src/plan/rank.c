/* rank.c - one line of advice a seam, the most urgent first.
 *
 * What a seam needs depends on all others: pushing the tiles together may close it, and where it does not, the edge in
 * the way may lie elsewhere. So the advice comes from the same programmes as a plan (settle.h, trueup.h): an edge is to
 * be trued up only where the least removal for the whole table takes something off it; a seam that pushing closes is to
 * be pushed; one that stays apart though its top edges could touch is to be checked for lean.
 */
#include "plan/rank.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "plan/making.h"
#include "plan/trueup.h"
#include "push/guard.h"
#include "push/openings.h"
#include "seamwright/defaults_and_ranges.h"

/* What comes off less than this is nothing, mm: under what a hand can sand on purpose. */
static const double NOTHING_MM = 0.03;
/* No sanding block takes less than this, mm: a shorter stretch is widened to it, as far as the edge goes. */
static const double BLOCK_MM = 20;

/* The table as a whole. Without `planned` nothing is known of it, and nothing is to be sanded. */
typedef struct whole {
    const sw_inspection *ins;
    sw_openings e;
    sw_settled pushed;
    sw_true_up up;
    double *standoff_mm, *u95_mm;
    int planned;
} whole;

static void whole_free(whole *w)
{
    sw_openings_free(&w->e);
    sw_settled_free(&w->pushed);
    sw_true_up_free(&w->up);
    free(w->standoff_mm);
    free(w->u95_mm);
    *w = (whole){0};
}

/* Only memory running out is a failure: where the programmes find no answer the seams are still reported. */
static sw_status whole_make(const sw_inspection *ins, whole *w, sw_error *err)
{
    *w = (whole){.ins = ins,
                 .standoff_mm = calloc(ins->seam_count + 1, sizeof(double)),
                 .u95_mm = calloc(ins->seam_count + 1, sizeof(double))};
    sw_status status = w->standoff_mm && w->u95_mm
                           ? sw_openings_make(ins, &w->e, err)
                           : sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the ranking", ins->file);
    if (!status)
        status = sw_settle(w->e.centres, w->e.tiles, w->e.joints, w->e.count, &w->pushed, err);
    if (!status) {
        sw_standoffs(&w->e, &w->pushed, w->standoff_mm, w->u95_mm);
        status = sw_true_up_make(ins, &w->e, ins->tolerance_mm, SW_CUT_MM.usual, &w->up, err);
    }
    w->planned = !status;
    return status == SW_NO_MEMORY ? status : SW_OK;
}

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

static const char *edge_name(const sw_inspection *ins, const sw_advice *a, char *buffer, size_t size)
{
    snprintf(buffer, size, "%s %s", ins->tiles[a->tile].name, sw_side_name(a->side));
    return buffer;
}

static void name_edge(const sw_seam *seam, int rim, sw_advice *a)
{
    a->tile = rim ? seam->second : seam->first;
    a->side = sw_joint_side(seam, rim);
}

static void say_sand(const whole *w, const sw_seam *seam, const sw_cut *other, sw_advice *a)
{
    char name[32], more[80] = "";
    const sw_inspection *ins = w->ins;
    a->action = SW_TRUE_UP;
    if (other->deepest_mm > 0)
        snprintf(more, sizeof more, " (and up to %.2f mm off %s %s)", other->deepest_mm,
                 ins->tiles[other->rim ? seam->second : seam->first].name,
                 sw_side_name(sw_joint_side(seam, other->rim)));
    snprintf(a->reason, sizeof a->reason,
             "Pushed together, the tiles touch along %s between %.0f and %.0f mm and stay open elsewhere; with up to "
             "%.2f mm off there%s "
             "this seam can close.",
             edge_name(ins, a, name, sizeof name), a->from_mm, a->to_mm, a->remove_mm, more);
}

static void advise_over(const whole *w, int index, sw_advice *a)
{
    const sw_seam *seam = &w->ins->seams[index];
    const sw_cut *cuts = w->planned ? &w->up.cuts[2 * index] : NULL;
    int rim = cuts && cuts[1].area_mm2 > cuts[0].area_mm2;
    name_edge(seam, rim, a);
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
    else if (w->standoff_mm[index] > 0)
        snprintf(a->reason, sizeof a->reason,
                 "The top edges could touch, yet they stay %.1f mm apart all along: push the tiles together; if the "
                 "gap stays, hold a try "
                 "square to both side faces, one leans.",
                 w->standoff_mm[index]);
    else if (w->pushed.max_mm[index] <= limit)
        snprintf(a->reason, sizeof a->reason,
                 "Push the tiles together: that alone can close this seam to about %.2f mm. Sand nothing for it.",
                 w->pushed.max_mm[index]);
    else
        snprintf(a->reason, sizeof a->reason,
                 "Nothing is to be sanded here: this seam closes when the edges to be trued up are done and the tiles "
                 "are pushed together.");
}

static void advise(const whole *w, int index, sw_advice *a)
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
                     "or photograph "
                     "from nearer.",
                     seam->max_at_mm);
    } else {
        a->action = SW_LEAVE;
        snprintf(a->reason, sizeof a->reason, "Within tolerance all along; leave it.");
    }
}

static void advise_fill(const sw_inspection *ins, int index, const sw_chip *chip, sw_advice *a)
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

/* Order: open seams by how far they are over, then those too close to call, then chips, then what is fine. */
static int urgency(const sw_inspection *ins, const sw_advice *a)
{
    if (a->action == SW_FILL)
        return 2;
    const sw_seam *seam = &ins->seams[a->seam];
    return seam->verdict == SW_OVER ? 0 : seam->verdict == SW_TOO_CLOSE ? 1 : 3;
}

static int before(const sw_inspection *ins, const sw_advice *a, const sw_advice *b)
{
    int ua = urgency(ins, a), ub = urgency(ins, b);
    if (ua != ub)
        return ua < ub;
    double ga = isnan(a->worst_gap_mm) ? 1e9 : a->worst_gap_mm, gb = isnan(b->worst_gap_mm) ? 1e9 : b->worst_gap_mm;
    return ga > gb;
}

sw_status sw_rank(sw_inspection *ins, sw_error *err)
{
    size_t most = ins->seam_count, n = 0;
    whole w;
    for (size_t i = 0; i < ins->seam_count; i++)
        most += ins->seams[i].chip_count;
    ins->ranking = calloc(most + 1, sizeof *ins->ranking);
    if (!ins->ranking)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the ranking", ins->file);
    /* Only open seams ask what the whole table needs. */
    int open = 0;
    for (size_t i = 0; i < ins->seam_count; i++)
        open |= ins->seams[i].verdict == SW_OVER;
    sw_status status = SW_OK;
    w = (whole){.ins = ins};
    if (open)
        status = whole_make(ins, &w, err);
    for (size_t i = 0; i < ins->seam_count && !status; i++) {
        advise(&w, (int)i, &ins->ranking[n++]);
        for (size_t k = 0; k < ins->seams[i].chip_count; k++)
            advise_fill(ins, (int)i, &ins->seams[i].chips[k], &ins->ranking[n++]);
    }
    whole_free(&w);
    if (status)
        return status;
    for (size_t i = 1; i < n; i++) {
        sw_advice a = ins->ranking[i];
        size_t k = i;
        for (; k > 0 && before(ins, &a, &ins->ranking[k - 1]); k--)
            ins->ranking[k] = ins->ranking[k - 1];
        ins->ranking[k] = a;
    }
    for (size_t i = 0; i < n; i++)
        ins->ranking[i].rank = (int)i + 1;
    ins->advice_count = n;
    return SW_OK;
}
