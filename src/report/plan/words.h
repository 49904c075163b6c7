/* words.h - what page, strips and text of a plan say alike. */
#ifndef SW_REPORT_PLAN_WORDS_H
#define SW_REPORT_PLAN_WORDS_H

#include "report/common/sheet.h"
#include "seamwright/inspection.h"
#include "seamwright/plan.h"

/* Less than this shows as 0.00 mm and is nothing to take off. */
static const double SW_PLAN_NOTHING_MM = 0.005;

/* No amount is drawn more times larger than this. */
enum { SW_PLAN_TIMES = 100 };

/* A part of an edge where something comes off, from its north or west end. */
typedef struct sw_stretch {
    double from_mm, to_mm;
} sw_stretch;

/* The next stretch at or behind `from_mm`; false when there is none. */
bool sw_plan_stretch(const sw_edge_plan *edge, double from_mm, sw_stretch *stretch);
/* What comes off at a place: linear between the plan's places, nothing outside them. */
double sw_plan_removal(const sw_edge_plan *edge, double at_mm);

bool sw_plan_sands(const sw_edge_plan *edge);  /* something comes off its top edge */
bool sw_plan_bevels(const sw_edge_plan *edge); /* something comes off its base */
/* Anything to sand at all, so that cautions are due. */
bool sw_plan_any_sanding(const sw_plan *plan);
/* Largest deepest_mm of all edges, 0 when none is to be sanded. */
double sw_plan_deepest(const sw_plan *plan);
/* The verdict on one seam once the plan is carried out: its forecast's. */
sw_verdict sw_plan_seam_verdict(const sw_plan *plan, const sw_seam_plan *seam);
/* Decimals that show an amount: one, two when it is under 0.1 mm. */
int sw_plan_decimals(double remove_mm);

/* The name of a line's seam, "Chips" for the line of chips. */
const char *sw_plan_work_name(const sw_inspection *first, const sw_work_line *line);
/* "widest gap of the table 2.6 -> 1.9 mm", "other seams stay open by up to 2.6 mm", without a stop; nothing for
 * chips, which count in no gap. */
void sw_plan_words_worth(sw_sheet *sheet, const sw_work_line *line);
/* Whether another limit's cost is that of the plan's own limit. */
bool sw_plan_own_limit(const sw_plan *plan, const sw_limit_cost *cost);
/* "Chips, to be filled and never sanded out: A1 east, C2 west." behind `before`. Nothing, and false, when there are none. */
bool sw_plan_words_chips(sw_sheet *sheet, const char *before, const sw_plan *plan);

/* "Work at 10 seams: hold a try square to 18 faces, true up 9 edges, at most 1.07 mm deep."; nothing where there is none. */
void sw_plan_words_work(sw_sheet *sheet, const sw_plan *plan);
/* What the plan promises, one sentence. */
void sw_plan_words_verdict(sw_sheet *sheet, const sw_plan *plan);
/* "Bevel 0.80 mm (1.0°) at the base, nothing at the top edge. Then take off at most 1.25 mm of the top edge." */
void sw_plan_words_edge(sw_sheet *sheet, const sw_edge_plan *edge);
/* Another arrangement that would tell which edges lean. Nothing, and false, where there is none. */
bool sw_plan_words_proposal(sw_sheet *sheet, const sw_plan *plan);
/* How to check with a try square whether a side face leans. */
extern const char sw_plan_words_try_square[];
/* How to sand by the strips, a step a sentence; NULL behind the last. */
extern const char *const sw_plan_words_strips[];

#endif
