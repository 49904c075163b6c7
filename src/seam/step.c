#include "seam/step.h"

#include <math.h>

#include "table/heights.h"

/* A step hides something worth a word when it could hide this much, mm. */
static const double HIDES_MM = 0.1;
/* A slot that lacks less light than so many px of the lower top have is what the foot of a step looks like: nothing of the gap is in
 * sight, and it may be as wide as what is hidden. */
static const double MISSING_LEAST_PX = 0.6;
/* With a larger share of such stations the whole seam is in doubt, the rest being lucky. */
static const double MANY = 0.4;

/* A station is not believed where a larger share of its gap than this is too bright for one. */
static const double BRIGHT_MOST = 0.5;
/* Residuals of so many times the noise: something else was taken for the gap. */
static const double MISFIT = 2;

/* What is bright all through is a step's shade or its face, taken for the gap; where that is so of many stations the others are no
 * better. */
static void judge_bright(sw_trace *t)
{
    double seen = 0, bright = 0;
    for (int i = 0; i < t->count; i++) {
        seen += t->places[i].seen;
        bright += t->places[i].seen && t->places[i].bright > BRIGHT_MOST;
    }
    for (int i = 0; i < t->count; i++)
        t->places[i].seen &= t->places[i].bright <= BRIGHT_MOST && bright <= MANY * seen;
}

static void judge(const double rise_mm[2], sw_trace *t)
{
    double second_far = t->reversed ? -t->tangent : t->tangent, hides = (rise_mm[0] - rise_mm[1]) * second_far;
    if (t->kind == SW_TRACE_SEAM && t->stepped)
        judge_bright(t);
    if (t->kind != SW_TRACE_SEAM || !(hides > HIDES_MM))
        return;
    double seen = 0, doubtful = 0;
    for (int i = 0; i < t->count; i++) {
        sw_trace_place *p = &t->places[i];
        if (!p->seen)
            continue;
        seen++;
        p->seen = p->missing_px >= MISSING_LEAST_PX;
        p->hidden = p->rms <= MISFIT * t->noise;
        doubtful += !p->seen || !p->hidden;
    }
    for (int i = 0; i < t->count; i++) {
        t->places[i].seen &= doubtful <= MANY * seen;
        t->places[i].hidden &= !t->places[i].seen;
    }
}

void sw_steps_judge(const sw_grid *grid, sw_traces *traces)
{
    double rise_mm[2];
    for (int i = 1; i < grid->columns; i++)
        for (int r = 0; r < grid->rows; r++) {
            sw_heights_beside(grid, true, i, r, rise_mm);
            judge(rise_mm, &traces->upright[i * grid->rows + r]);
        }
    for (int i = 0; i < grid->columns; i++)
        for (int r = 1; r < grid->rows; r++) {
            sw_heights_beside(grid, false, i, r, rise_mm);
            judge(rise_mm, &traces->level[i * (grid->rows + 1) + r]);
        }
}
