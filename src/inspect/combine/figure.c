/* figure.c - means, spreads and their test.
 *
 * Pooling (ISO 5725-2, 7.4.5; JCGM 100, 4.2.4; clauses from memory): few photos tell little of their own spread, many
 * seams together tell more. As seams differ in how sure they are, it is the ratio to the stated uncertainty that is
 * pooled: chi-square over its degrees of freedom. Widening by the root of that ratio is the ratio that Birge (1932)
 * gives to measurements that disagree.
 *
 * A mean of figures that each have the standard uncertainty u has at most u itself, however they hang together (JCGM
 * 100, 5.2.2 with all correlations 1): the joined figure never states more than its photos do (widened, where they
 * disagree).
 */
#include "inspect/combine/figure.h"

#include <math.h>
#include <stdbool.h>

#include "maths/chi.h"

/* Level of the tests. */
static const double RARE = 0.05;
/* Least variance, mm2 or degrees2, so that weights stay finite: a micrometre. */
static const double NOTHING = 1e-6;

double sw_photo_figure_common(const sw_photo_figure *r)
{
    return sqrt(fmax(0, r->u * r->u - r->u_random * r->u_random));
}

static bool says(const sw_photo_figure *r)
{
    return isfinite(r->value) && r->u > 0 && isfinite(r->u) && isfinite(r->u_random);
}

/* Of the readings that say something: how many, plain mean, sample variance, mean squared uncertainty, chi-square about
 * the mean that weighs each by its stated uncertainty. */
typedef struct summary {
    double n, mean, variance, stated2, chi;
} summary;

static summary sum_up(const sw_photo_figure *r, size_t count)
{
    summary s = {0, 0, 0, 0, 0};
    double weight = 0, weighed = 0;
    for (size_t k = 0; k < count; k++)
        if (says(&r[k])) {
            s.n++;
            s.mean += r[k].value;
            s.stated2 += r[k].u * r[k].u;
            weight += 1 / (r[k].u * r[k].u);
            weighed += r[k].value / (r[k].u * r[k].u);
        }
    s.mean /= s.n;
    s.stated2 /= s.n;
    for (size_t k = 0; k < count; k++)
        if (says(&r[k])) {
            double plain = r[k].value - s.mean, off = (r[k].value - weighed / weight) / r[k].u;
            s.variance += plain * plain / fmax(1, s.n - 1);
            s.chi += off * off;
        }
    return s;
}

void sw_tally_add(sw_tally *t, const sw_photo_figure *readings, size_t count)
{
    summary s = sum_up(readings, count);
    if (s.n < 2)
        return;
    t->figures++;
    t->freedom += s.n - 1;
    t->squares += (s.n - 1) * s.variance;
    t->stated += (s.n - 1) * s.stated2;
    t->chi += s.chi;
}

sw_spread sw_tally_close(const sw_tally *t, double independent)
{
    sw_spread out = {.figures = t->figures, .freedom = t->freedom * independent, .widened = 1};
    if (!(out.freedom > 0)) {
        out.freedom = 0;
        out.s_r = out.r = out.stated_u = out.chi_square = out.chi_square_95 = NAN;
        return out;
    }
    out.s_r = sqrt(t->squares / t->freedom);
    out.r = SW_REPEAT_LIMIT * out.s_r;
    out.stated_u = sqrt(t->stated / t->freedom);
    out.chi_square = t->chi * independent;
    out.chi_square_95 = sw_chi_square_quantile(1 - RARE, out.freedom);
    out.agreement = out.chi_square > out.chi_square_95                           ? SW_AGREE_WORSE
                    : out.chi_square < sw_chi_square_quantile(RARE, out.freedom) ? SW_AGREE_BETTER
                                                                                 : SW_AGREE_AS_STATED;
    if (out.agreement == SW_AGREE_WORSE)
        out.widened = sqrt(out.chi_square / out.freedom);
    return out;
}

/* The kind's own factor, or this figure's where it stands out of its kind: a test of one among many, so that all of
 * them together cry wolf in one of twenty tables (Bonferroni). */
static double widening(const summary *s, const sw_spread *kind)
{
    double most = sw_chi_square_quantile(1 - RARE / fmax(1, (double)kind->figures), s->n - 1);
    return fmax(kind->widened, s->chi > most ? sqrt(s->chi / (s->n - 1)) : 1);
}

/* Weighs each reading by the larger of its own random variance and that between photos, and its common part: a photo
 * whose light leaves a gap in doubt counts for less. */
static void weigh(const sw_photo_figure *readings, size_t count, double between2, sw_joined *out)
{
    double weight = 0, sum = 0, random2 = 0, common = 0, stated = 0;
    for (size_t k = 0; k < count; k++) {
        const sw_photo_figure *r = &readings[k];
        if (!says(r))
            continue;
        double random = out->widened * r->u_random, shared = out->widened * sw_photo_figure_common(r);
        double v = fmax(fmax(random * random, between2), NOTHING), w = 1 / (v + shared * shared);
        weight += w;
        sum += w * r->value;
        random2 += w * w * v;
        common += w * shared;
        stated += w * out->widened * r->u;
    }
    out->value = sum / weight;
    out->u = fmin(stated / weight, hypot(sqrt(random2) / weight, common / weight));
    out->u_random = fmin(sqrt(random2) / weight, out->u);
}

sw_joined sw_join(const sw_photo_figure *readings, size_t count, const sw_spread *kind)
{
    summary s = sum_up(readings, count);
    sw_joined out = {NAN, NAN, NAN, NAN, NAN, 1, (size_t)s.n};
    double between2 = 0;
    if (s.n < 1)
        return out;
    out.stated_u = sqrt(s.stated2);
    if (s.n >= 2) {
        double pooled = kind->freedom > 0 ? kind->chi_square / kind->freedom : 0;
        out.s_r = sqrt(s.variance);
        out.widened = widening(&s, kind);
        between2 = fmax(s.variance, pooled * s.stated2);
    }
    weigh(readings, count, between2, &out);
    return out;
}

sw_joined sw_join_pooled(const sw_photo_figure *readings, size_t count, const sw_spread *kind)
{
    summary s = sum_up(readings, count);
    sw_joined out = {NAN, NAN, NAN, NAN, NAN, 1, (size_t)s.n};
    if (s.n < 1)
        return out;
    out.stated_u = sqrt(s.stated2);
    if (s.n >= 2 && kind->freedom > 0) {
        out.s_r = kind->s_r;
        out.widened = kind->widened;
    }
    weigh(readings, count, isfinite(out.s_r) ? out.s_r * out.s_r : 0, &out);
    return out;
}
