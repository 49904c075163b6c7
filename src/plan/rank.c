/* rank.c - one line of advice a seam, the most urgent first.
 *
 * What a seam needs depends on all others: pushing the tiles together may close it, and where it does not, the edge in
 * the way may lie elsewhere. So the advice comes from the same programmes as a plan (press.h, closing.h): an edge is to
 * be trued up only where the least removal for the whole table takes something off it; a seam that pushing closes is to
 * be pushed; one that stays apart though its top edges could touch is to be checked for lean.
 */
#include "plan/rank.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "lean/standoff.h"
#include "plan/reason.h"
#include "push/press.h"
#include "seamwright/defaults_and_ranges.h"

static void whole_free(sw_whole *w)
{
    sw_openings_free(&w->e);
    sw_settled_free(&w->pushed);
    sw_closing_free(&w->closing);
    free(w->standoff_mm);
    free(w->hold_mm);
    free(w->u95_mm);
    *w = (sw_whole){0};
}

/* Only memory running out is a failure: where the programmes find no answer the seams are still reported. */
static sw_status whole_make(const sw_inspection *ins, sw_whole *w, sw_error *err)
{
    sw_cutter *cutter = NULL;
    *w = (sw_whole){.ins = ins,
                    .standoff_mm = calloc(ins->seam_count + 1, sizeof(double)),
                    .hold_mm = calloc(ins->seam_count + 1, sizeof(double)),
                    .u95_mm = calloc(ins->seam_count + 1, sizeof(double))};
    sw_status status = w->standoff_mm && w->hold_mm && w->u95_mm
                           ? sw_openings_make(ins, &w->e, err)
                           : sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the ranking", ins->file);
    if (!status)
        status = sw_press(w->e.centres, w->e.tiles, w->e.joints, w->e.count, 1, &w->pushed, err);
    if (!status) {
        sw_standoffs(&w->e, &w->pushed, w->standoff_mm, w->u95_mm);
        for (size_t j = 0; j < w->e.count; j++)
            w->hold_mm[j] = sw_hold_seen(&w->e, j);
        status = sw_cutter_new(ins, &w->e, SW_CUT_MM.usual, &cutter, err);
    }
    if (!status) {
        sw_gaping gaping = {ins, &w->e, w->hold_mm, w->standoff_mm, cutter};
        status = sw_closing_find(&gaping, ins->tolerance_mm, SW_FULLY, &w->closing, err);
    }
    sw_cutter_free(&cutter);
    w->planned = !status;
    return status == SW_NO_MEMORY ? status : SW_OK;
}

/* Order: open seams by how far they are over, then those too close to call, then chips, then what is fine. */
static int urgency(const sw_inspection *ins, const sw_advice *a)
{
    if (a->action == SW_FILL)
        return 2;
    const sw_seam *seam = &ins->seams[a->seam];
    return seam->verdict == SW_OVER ? 0 : seam->verdict == SW_TOO_CLOSE ? 1 : 3;
}

static bool before(const sw_inspection *ins, const sw_advice *a, const sw_advice *b)
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
    sw_whole w;
    for (size_t i = 0; i < ins->seam_count; i++)
        most += ins->seams[i].chip_count;
    ins->ranking = calloc(most + 1, sizeof *ins->ranking);
    if (!ins->ranking)
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the ranking", ins->file);
    /* Only open seams ask what the whole table needs. */
    bool open = false;
    for (size_t i = 0; i < ins->seam_count; i++)
        open |= ins->seams[i].verdict == SW_OVER;
    sw_status status = SW_OK;
    w = (sw_whole){.ins = ins};
    if (open)
        status = whole_make(ins, &w, err);
    for (size_t i = 0; i < ins->seam_count && !status; i++) {
        sw_reason_seam(&w, (int)i, &ins->ranking[n++]);
        for (size_t k = 0; k < ins->seams[i].chip_count; k++)
            sw_reason_chip(ins, (int)i, &ins->seams[i].chips[k], &ins->ranking[n++]);
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
