#include "inspect/tellings.h"

#include <math.h>

#include "tile/otherwise.h"

/* A fit with more freedom leaves over less whatever is true: by up to a fifth on photos that were stretched or taken while the phone moved, three
 * times and more where tops 1 mm apart are truly so (practice photos). */
static const double AS_WELL = 1.25;
/* Tops slant by 0.05 to 0.3 degrees, all in all (steps.md; the study's). Beyond the first, in degrees, root mean square, another explanation is
 * believed where there is one; nobody's table is like the second, nor are tops so far apart, mm (20, and what a fit is off by). */
static const double SLANT_DOUBTFUL_DEG = 0.35, SLANT_MOST_DEG = 0.6, APART_MOST_MM = 25;
/* Level tops by another lens fit so much better than by the profile that it is the profile. */
static const double LENS_WORSE = 1.5;
/* Heights that were told explain the cards so much worse than the cards' own story that they are wrong (1 mm of four tiles: 3 to 5 times). */
static const double TOLD_WORSE = 6;
/* Tops that are said to slant, more than this, and still leave over so much do not explain the cards: on practice photos of tables that are
 * not level 0.9 to 1.7 is left over. */
static const double SLANT_SEEN_DEG = 0.15, MISFIT_MOST = 3;

double sw_tops_slant_deg(const sw_tops *tops)
{
    double squares = 0, n = 0;
    for (int c = 0; c < tops->columns; c++)
        for (int r = 0; r < tops->rows; r++)
            if (tops->told[c][r]) {
                const sw_top *top = &tops->top[c][r];
                squares += top->east * top->east + top->north * top->north;
                n++;
            }
    return n > 0 ? atan(sqrt(squares / n)) * 180 / M_PI : 0;
}

sw_telling sw_tops_telling(const sw_scale *level, const sw_scale *own, const sw_scale *uneven, const sw_tops *tops)
{
    double slant = sw_tops_slant_deg(tops), most = AS_WELL * uneven->misfit;
    bool strange = slant > SLANT_MOST_DEG || sw_tops_apart_mm(tops) > APART_MOST_MM ||
                   (slant > SLANT_SEEN_DEG && uneven->misfit > MISFIT_MOST);
    if (own->square_count > 0 && own->misfit <= most && level->misfit > LENS_WORSE * own->misfit)
        return strange || slant > SLANT_DOUBTFUL_DEG ? SW_TELLS_LENS : SW_TELLS_EITHER;
    if (level->misfit <= most)
        return SW_TELLS_LEVEL;
    return strange ? SW_TELLS_NOTHING : SW_TELLS_UNEVEN;
}

sw_telling sw_tops_told_telling(const sw_scale *told_scale, const sw_scale *cards_scale, const sw_tops *told,
                                const sw_tops *cards, int *column, int *row, double *higher_mm)
{
    double mean = 0, n = 0;
    *higher_mm = 0;
    if (told_scale->misfit < MISFIT_MOST || told_scale->misfit < TOLD_WORSE * cards_scale->misfit)
        return SW_TELLS_UNEVEN;
    for (int pass = 0; pass < 2; pass++)
        for (int c = 0; c < cards->columns; c++)
            for (int r = 0; r < cards->rows; r++) {
                double higher = told->top[c][r].rise_mm - cards->top[c][r].rise_mm;
                if (!cards->told[c][r])
                    continue;
                if (pass == 0) {
                    mean += higher;
                    n++;
                } else if (fabs(higher - mean / n) > fabs(*higher_mm)) {
                    *higher_mm = higher - mean / n;
                    *column = c;
                    *row = r;
                }
            }
    *higher_mm *= n > 1 ? n / (n - 1) : 0; /* against the others' mean, not that of all */
    return *higher_mm == 0 ? SW_TELLS_UNEVEN : SW_TELLS_NOTHING;
}
