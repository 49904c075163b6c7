#include "plan/common.h"

#include <math.h>
#include <stdlib.h>

#include "push/lp.h"

/* A turn's column counts mm at this radius, so that all columns are of one size. */
static const double RADIUS_MM = 100;
/* A tile is not shifted or turned by more than this in its square, mm (at the radius): it is its own best square. */
static const double MOST_SHIFT_MM = 20;
/* Every side must have been seen for at least this share to say how large the tile is. */
static const double SEEN_LEAST = 0.3;

/* Outward direction of a side in the frame of the square, x east and y north. */
static const double OUT[4][2] = {{0, 1}, {1, 0}, {0, -1}, {-1, 0}};

typedef struct placing {
    int shift, turn; /* columns: x, then y; turn */
} placing;

static placing add_placing(sw_lp *lp)
{
    placing p = {.shift = sw_lp_column(lp, -MOST_SHIFT_MM, MOST_SHIFT_MM, 0)};
    sw_lp_column(lp, -MOST_SHIFT_MM, MOST_SHIFT_MM, 0);
    p.turn = sw_lp_column(lp, -MOST_SHIFT_MM, MOST_SHIFT_MM, 0);
    return p;
}

static double sample_u(const sw_outline *o, int k)
{
    return (k - o->reach) * SW_OUTLINE_PITCH_MM;
}

static int place_terms(const placing *p, int side, double u, sw_lp_term *terms)
{
    terms[0] = (sw_lp_term){p->shift, OUT[side][0]};
    terms[1] = (sw_lp_term){p->shift + 1, OUT[side][1]};
    terms[2] = (sw_lp_term){p->turn, u / RADIUS_MM};
    return 3;
}

static bool seen_enough(const sw_outline *o)
{
    for (int s = 0; s < 4; s++)
        if (!o->samples[s] || sw_outline_seen(o, (sw_side)s) < SEEN_LEAST)
            return false;
    return isfinite(o->half_mm);
}

sw_status sw_common_largest(const sw_outline *o, double tolerance_mm, double *side_mm, sw_error *err)
{
    *side_mm = NAN;
    if (!seen_enough(o))
        return SW_OK;
    sw_lp *lp = sw_lp_new();
    if (!lp)
        return sw_plan_no_memory(err);
    placing p = add_placing(lp);
    int half = sw_lp_column(lp, 0, INFINITY, -1);
    for (int s = 0; s < 4; s++)
        for (int k = 0; k <= 2 * o->reach; k++) {
            const sw_outline_sample *q = &o->samples[s][k];
            sw_lp_term terms[4];
            int count = place_terms(&p, s, sample_u(o, k), terms);
            terms[count++] = (sw_lp_term){half, 1};
            if (q->known != SW_OUTLINE_UNKNOWN)
                sw_lp_row(lp, -INFINITY, o->half_mm + q->proud_mm + tolerance_mm / 2, terms, (size_t)count);
        }
    sw_status status = sw_lp_solve(lp, err);
    if (!status)
        *side_mm = 2 * sw_lp_value(lp, half);
    sw_lp_free(&lp);
    return status;
}

/* The knots about a sample, in the edge's own coordinate from its north or west corner. */
static int knot_terms(const sw_cut *cut, const sw_outline *o, int side, double u, int first, sw_lp_term *terms)
{
    double at = sw_outline_u(o, (sw_side)side, 0), sign = side == SW_NORTH || side == SW_EAST ? 1 : -1;
    double k = fmin(fmax(sign * (u - at) / cut->length_mm, 0), 1) * (cut->knots - 1);
    int before = (int)fmin(floor(k), cut->knots - 2);
    terms[0] = (sw_lp_term){first + before, 1 - (k - before)};
    terms[1] = (sw_lp_term){first + before + 1, k - before};
    return 2;
}

static void add_side(sw_lp *lp, const sw_outline *o, const placing *p, int s, double side_mm, double tolerance_mm,
                     const sw_cut *cut, int first)
{
    for (int k = 0; k <= 2 * o->reach; k++) {
        const sw_outline_sample *q = &o->samples[s][k];
        sw_lp_term terms[5];
        if (q->known == SW_OUTLINE_UNKNOWN)
            continue;
        int count = place_terms(p, s, sample_u(o, k), terms);
        count += knot_terms(cut, o, s, sample_u(o, k), first, terms + count);
        double stands = o->half_mm + q->proud_mm - side_mm / 2;
        sw_lp_row(lp, stands, stands + tolerance_mm / 2, terms, (size_t)count);
    }
}

static void take_side(const sw_lp *lp, int first, double deepest_mm, sw_cut *cut)
{
    double pitch = cut->length_mm / (cut->knots - 1);
    cut->area_mm2 = cut->deepest_mm = 0;
    for (int k = 0; k < cut->knots; k++) {
        cut->remove_mm[k] = fmin(deepest_mm, fmax(0, sw_lp_value(lp, first + k)));
        cut->area_mm2 += cut->remove_mm[k] * pitch * (k == 0 || k == cut->knots - 1 ? 0.5 : 1);
        cut->deepest_mm = fmax(cut->deepest_mm, cut->remove_mm[k]);
    }
}

static void take_below(const sw_lp *lp, const sw_outline *o, const placing *p, double side_mm, const sw_cut *cuts,
                       const int *first, double *below)
{
    for (int s = 0; s < 4; s++)
        for (int k = 0; k <= 2 * o->reach; k++) {
            const sw_outline_sample *q = &o->samples[s][k];
            sw_lp_term terms[5];
            double line = side_mm / 2, off = 0;
            int placed = place_terms(p, s, sample_u(o, k), terms);
            int count = knot_terms(&cuts[s], o, s, sample_u(o, k), first[s], terms + placed);
            for (int i = 0; i < placed; i++)
                line += terms[i].factor * sw_lp_value(lp, terms[i].column);
            for (int i = placed; i < placed + count; i++)
                off += terms[i].factor * sw_lp_value(lp, terms[i].column);
            below[s * (2 * o->reach + 1) + k] =
                q->known == SW_OUTLINE_UNKNOWN ? NAN : line - (o->half_mm + q->proud_mm - off);
        }
}

sw_status sw_common_cuts(const sw_outline *o, double side_mm, double tolerance_mm, double deepest_mm, sw_cut cuts[4],
                         double *below_mm, sw_error *err)
{
    sw_lp *lp = sw_lp_new();
    if (!lp)
        return sw_plan_no_memory(err);
    placing p = add_placing(lp);
    int first[4];
    for (int s = 0; s < 4; s++) {
        double pitch = cuts[s].length_mm / (cuts[s].knots - 1);
        for (int k = 0; k < cuts[s].knots; k++) {
            int column = sw_lp_column(lp, 0, deepest_mm, pitch * (k == 0 || k == cuts[s].knots - 1 ? 0.5 : 1));
            first[s] = k ? first[s] : column;
        }
    }
    for (int s = 0; s < 4; s++)
        add_side(lp, o, &p, s, side_mm, tolerance_mm, &cuts[s], first[s]);
    sw_status status = sw_lp_solve(lp, err);
    for (int s = 0; s < 4 && !status; s++)
        take_side(lp, first[s], deepest_mm, &cuts[s]);
    if (!status && below_mm)
        take_below(lp, o, &p, side_mm, cuts, first, below_mm);
    sw_lp_free(&lp);
    return status;
}
