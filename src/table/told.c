/* told.c - a line of the table is judged as a whole, and all lines of one kind together: single seams may well be closed. What shows is
 * counted beyond what texture shows beside the lines, where no tile ends. */
#include "table/told.h"

#include <math.h>
#include <stdbool.h>

#include "table/darkness.h"

/* Lines of which less than UNSEEN of the length shows beyond chance are none; from SEEN on they are seams. Told half of a tile's size,
 * the made-up lines show 0 to 0.1; nearly closed seams (0.05 mm) 0.9 and more, faint level ones of valley-north 0.6. */
static const double UNSEEN = 0.2, SEEN = 0.5;
/* Lines through the tiles are at least this dark beside the seams where they are seams: print is hardly as dark as a gap. */
static const double AS_DARK = 0.5;
/* Where nobody told the size, lines through all tiles that show by this on average are seams for all we know: clean photos show 0.01 at most, tables
 * of which every second line is nearly closed 0.28 and 0.38. */
static const double FAINT = 0.1;
/* Where chance is looked for, share of the tile from its side: neither half nor a third of it. */
static const double BESIDE = 0.2;
typedef struct grid_line {
    bool upright;
    double at;
} grid_line;

typedef struct looking {
    const sw_photo *photo;
    const sw_scale *scale;
    const sw_search *s;
    const sw_block *b;
} looking;

/* Share of a line's length that shows, within the slip. */
static double share_of(const looking *l, grid_line line)
{
    const double *across = line.upright ? l->b->y : l->b->x;
    int count = line.upright ? l->b->rows : l->b->columns;
    double sum = 0;
    for (int i = 0; i < count; i++)
        sum += sw_fit_side(line.upright ? &l->s->upright : &l->s->level, line.at, SW_SLIP_MM,
                           fmin(across[i], across[i + 1]), fmax(across[i], across[i + 1]))
                   .share;
    return sum / count;
}

static double between(const double *lines, int cell, double part)
{
    return lines[cell] + part * (lines[cell + 1] - lines[cell]);
}

/* What texture shows: mean share beside the lines. */
static double chance(const looking *l)
{
    double sum = 0;
    int n = 0;
    for (int upright = 0; upright < 2; upright++) {
        const double *lines = upright ? l->b->x : l->b->y;
        int count = upright ? l->b->columns : l->b->rows;
        for (int i = 0; i < count; i++)
            for (int far = 0; far < 2; far++, n++)
                sum += share_of(l, (grid_line){upright, between(lines, i, far ? 1 - BESIDE : BESIDE)});
    }
    return sum / n;
}

static double beyond(double share, double chance)
{
    return chance < 1 ? (share - chance) / (1 - chance) : 0;
}

/* Mean share of the inner lines, those whose number `every` divides or the others; NaN where there are none. */
static double inner_share(const looking *l, int every, bool divided)
{
    double sum = 0;
    int n = 0;
    for (int upright = 0; upright < 2; upright++) {
        const double *lines = upright ? l->b->x : l->b->y;
        int count = upright ? l->b->columns : l->b->rows;
        for (int i = 1; i < count; i++)
            if ((i % every == 0) == divided) {
                sum += share_of(l, (grid_line){upright, lines[i]});
                n++;
            }
    }
    return n ? sum / n : NAN;
}

static double darkness(const looking *l, grid_line line)
{
    const sw_block *b = l->b;
    return line.upright ? sw_darkness(l->photo, l->scale, true, line.at, b->y[b->rows], b->y[0])
                        : sw_darkness(l->photo, l->scale, false, line.at, b->x[0], b->x[b->columns]);
}

/* Mean darkness of the inner lines; NaN where there are none. */
static double seams_darkness(const looking *l)
{
    double sum = 0;
    int n = 0;
    for (int upright = 0; upright < 2; upright++)
        for (int i = 1; i < (upright ? l->b->columns : l->b->rows); i++, n++)
            sum += darkness(l, (grid_line){upright, upright ? l->b->x[i] : l->b->y[i]});
    return n ? sum / n : NAN;
}

/* Lines that cut every tile into `parts` by `parts`. */
typedef struct cuts {
    double least, mean; /* share of a line that shows, beyond chance */
    bool dark;          /* for seams, beside the table's own */
} cuts;

static cuts cuts_through(const looking *l, int parts, double usual)
{
    cuts c = {.least = INFINITY};
    double dark = 0, seams = seams_darkness(l);
    int n = 0;
    for (int upright = 0; upright < 2; upright++)
        for (int i = 0; i < (upright ? l->b->columns : l->b->rows); i++)
            for (int k = 1; k < parts; k++, n++) {
                grid_line through = {upright, between(upright ? l->b->x : l->b->y, i, (double)k / parts)};
                double share = beyond(share_of(l, through), usual);
                c.least = fmin(c.least, share);
                c.mean += share;
                dark += darkness(l, through);
            }
    c.mean /= n;
    c.dark = isnan(seams) || dark / n > AS_DARK * seams;
    return c;
}

/* Told too small: of the lines only every k-th shows. */
static sw_told judge_small(const looking *l, double usual, sw_shown *shown)
{
    sw_told told = SW_TOLD_FITS;
    const sw_block *b = l->b;
    for (int k = 2; k <= b->columns || k <= b->rows; k++) {
        if (b->columns % k || b->rows % k || !(beyond(inner_share(l, k, false), usual) < UNSEEN))
            continue;
        double rest = inner_share(l, k, true);
        bool seen = beyond(rest, usual) > SEEN;
        if (!seen && !isnan(rest))
            continue;
        told = seen ? SW_TOLD_TOO_SMALL : SW_TOLD_NO_SEAM;
        *shown = (sw_shown){b->columns / k, b->rows / k, k * l->s->pitch};
        if (seen)
            break;
    }
    return told;
}

static bool surely(const cuts *c)
{
    return c->dark && c->least >= SEEN;
}

/* Darkness is a line's median: it says nothing of one that is closed for half of its length, and print runs on. */
static bool perhaps(const cuts *c)
{
    return c->mean >= FAINT && (c->dark || c->mean < SEEN);
}

/* Whether lines cut every tile into two or three each way. */
static bool cut_into(const looking *l, double usual, bool (*counts)(const cuts *), sw_shown *shown)
{
    const sw_block *b = l->b;
    for (int parts = 2; parts <= 3; parts++) {
        if (b->columns * parts > SW_GRID_MOST || b->rows * parts > SW_GRID_MOST)
            continue;
        cuts c = cuts_through(l, parts, usual);
        if (!counts(&c))
            continue;
        *shown = (sw_shown){b->columns * parts, b->rows * parts, l->s->pitch / parts};
        return true;
    }
    return false;
}

/* What is found when no size is told, where that is a table whose lines show: tiles of the size told may not reach over all of it. */
static void look_freely(const looking *l, sw_shown *shown)
{
    sw_search s = *l->s; /* shares the maps */
    sw_block b = sw_block_find(&s, l->scale, 0);
    if (b.columns && b.worth > SEEN * sw_block_ideal(&b, s.pitch) && fabs(s.pitch / l->s->pitch - 1) > SW_GIVEN_SLACK)
        *shown = (sw_shown){b.columns, b.rows, s.pitch};
}

sw_told sw_told_judge(const sw_photo *photo, const sw_scale *scale, const sw_search *s, const sw_block *b,
                      sw_shown *shown)
{
    const looking l = {photo, scale, s, b};
    double usual = chance(&l);
    sw_told told = judge_small(&l, usual, shown);
    if (told == SW_TOLD_FITS)
        told = cut_into(&l, usual, surely, shown) ? SW_TOLD_TOO_LARGE : SW_TOLD_FITS;
    if (told != SW_TOLD_FITS)
        look_freely(&l, shown);
    return told;
}

bool sw_told_faint(const sw_photo *photo, const sw_scale *scale, const sw_search *s, const sw_block *b, sw_shown *shown)
{
    const looking l = {photo, scale, s, b};
    return cut_into(&l, chance(&l), perhaps, shown);
}
