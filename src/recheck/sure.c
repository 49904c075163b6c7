#include "recheck/sure.h"

#include <math.h>

/* How often it may be said wrongly, of tables. */
static const double WRONG = 0.05;
/* Beyond this many standard uncertainties no table is large enough: 9 let 1e-19 through. */
static const double MOST = 9;
/* Halvings of that range: to 1e-9. */
enum { HALVINGS = 33 };

/* Normal, unit variance: share above k. */
static double above(double k)
{
    return erfc(k / M_SQRT2) / 2;
}

/* Chance that any of so many figures, or any place of so many upward crossings of 0, is over k; an upper bound. */
static double chance(double k, double crossings, double figures)
{
    return crossings * exp(-k * k / 2) + figures * above(k);
}

static double level(double crossings, double figures)
{
    double low = 0, high = MOST;
    for (int i = 0; i < HALVINGS; i++) {
        double middle = (low + high) / 2;
        if (chance(middle, crossings, figures) > WRONG)
            low = middle;
        else
            high = middle;
    }
    return high;
}

double sw_sure_along(double length_mm, size_t edges, double together_mm)
{
    double l_mm = together_mm / sqrt(2 * M_PI);
    return level(length_mm / (2 * M_PI * l_mm), (double)edges);
}

double sw_sure_of(size_t count)
{
    return level(0, (double)(count ? count : 1));
}
