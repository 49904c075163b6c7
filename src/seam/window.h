/* window.h - a few numbers kept in order while they come and go: the median of a window that slides along a seam. */
#ifndef SW_SEAM_WINDOW_H
#define SW_SEAM_WINDOW_H

#include <string.h>

enum { SW_WINDOW_MOST = 256 };
typedef struct sw_window {
    double v[SW_WINDOW_MOST]; /* rising */
    int count;
} sw_window;

/* Place of the first number that is not less than x. */
static inline int sw_window_place(const sw_window *w, double x)
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

/* A number that is not finite, or one more than fit, is left out. */
static inline void sw_window_put(sw_window *w, double x)
{
    if (!(x - x == 0) || w->count == SW_WINDOW_MOST)
        return;
    int at = sw_window_place(w, x);
    memmove(w->v + at + 1, w->v + at, (size_t)(w->count - at) * sizeof *w->v);
    w->v[at] = x;
    w->count++;
}

static inline void sw_window_take(sw_window *w, double x)
{
    int at = sw_window_place(w, x);
    if (at == w->count || w->v[at] != x)
        return;
    w->count--;
    memmove(w->v + at, w->v + at + 1, (size_t)(w->count - at) * sizeof *w->v);
}

/* Of at least one number. */
static inline double sw_window_median(const sw_window *w)
{
    return (w->v[(w->count - 1) / 2] + w->v[w->count / 2]) / 2;
}

#endif
