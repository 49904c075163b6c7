#include "maths/running.h"

#include <math.h>
#include <string.h>

enum { MOST = 256 };

typedef struct window {
    double v[MOST]; /* rising */
    int count;
} window;

/* Place of the first number that is not less than x. */
static int place_of(const window *w, double x)
{
    int low = 0, high = w->count;
    while (low < high) {
        int middle = (low + high) / 2;
        if (w->v[middle] < x)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static void put(window *w, double x)
{
    if (!isfinite(x) || w->count == MOST)
        return;
    int at = place_of(w, x);
    memmove(w->v + at + 1, w->v + at, (size_t)(w->count - at) * sizeof *w->v);
    w->v[at] = x;
    w->count++;
}

static void take(window *w, double x)
{
    int at = place_of(w, x);
    if (at == w->count || w->v[at] != x)
        return;
    w->count--;
    memmove(w->v + at, w->v + at + 1, (size_t)(w->count - at) * sizeof *w->v);
}

void sw_running_median(const double *in, int count, int half, int every, int least, double *out)
{
    window w = {.count = 0};
    half = half / every * every;
    for (int i = -half; i < count; i++) {
        int first = i + half, last = i - half - every;
        if (first % every == 0 && first < count)
            put(&w, in[first]);
        if (last >= 0 && last % every == 0)
            take(&w, in[last]);
        if (i >= 0)
            out[i] = w.count >= least ? (w.v[(w.count - 1) / 2] + w.v[w.count / 2]) / 2 : NAN;
    }
}
