/* cuts.c - what comes off edges, linear between knots. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "plan/trueup.h"

void sw_true_up_free(sw_true_up *up)
{
    for (size_t c = 0; up->cuts && c < up->count; c++)
        free(up->cuts[c].remove_mm);
    free(up->cuts);
    free(up->excess_mm);
    *up = (sw_true_up){0};
}

int sw_cut_knots(double length_mm)
{
    return (int)fmax(2, floor(length_mm / SW_KNOT_MM + 0.5) + 1);
}

int sw_cut_knot_at(const sw_cut *cut, double at_mm, double *on)
{
    double k = fmin(fmax(at_mm / cut->length_mm, 0), 1) * (cut->knots - 1);
    int before = (int)fmin(floor(k), cut->knots - 2);
    *on = k - before;
    return before;
}

double sw_cut_at(const sw_cut *cut, double at_mm)
{
    double on;
    int k = sw_cut_knot_at(cut, at_mm, &on);
    return (1 - on) * cut->remove_mm[k] + on * cut->remove_mm[k + 1];
}

double sw_true_up_off(const sw_true_up *up, int joint, double at_mm)
{
    const sw_cut *a = &up->cuts[2 * joint], *b = a + 1;
    return sw_cut_at(a, at_mm + a->from_mm) + sw_cut_at(b, at_mm + b->from_mm);
}

bool sw_true_up_copy(const sw_true_up *from, sw_true_up *up)
{
    size_t count = from->count;
    *up = (sw_true_up){calloc(count + 1, sizeof(sw_cut)), count, calloc(count / 2 + 1, sizeof(double))};
    bool room = up->cuts && up->excess_mm;
    for (size_t c = 0; c < count && room; c++) {
        size_t bytes = (size_t)from->cuts[c].knots * sizeof(double);
        up->cuts[c] = from->cuts[c];
        up->cuts[c].remove_mm = malloc(bytes);
        room = up->cuts[c].remove_mm != NULL;
        if (room)
            memcpy(up->cuts[c].remove_mm, from->cuts[c].remove_mm, bytes);
    }
    if (room)
        memcpy(up->excess_mm, from->excess_mm, count / 2 * sizeof(double));
    else
        sw_true_up_free(up);
    return room;
}
