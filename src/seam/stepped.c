#include "seam/stepped.h"

#include <math.h>
#include <string.h>

#include "seam/cavity.h"
#include "seam/stairs.h"

/* Where the sky that the higher tile hides near its foot is cut, in units of the step. */
static const double FOOT[SW_FOOT_CUTS] = {0.06, 0.12, 0.2, 0.3, 0.42, 0.56, 0.75, 1, 1.35, 1.85, 2.7, 4.5};
enum { VALUES = SW_VALUES };
/* Places within the stretch in which a top's level was read (read.c). */
enum { LEVEL_PLACES = 2 };
static const double LEVEL_APART_PX = 1.8;

/* The share of an even sky that a wall of height 1 hides, as seen y before it. */
static double hidden(double y)
{
    return 0.5 * (1 - y / sqrt(1 + y * y));
}

/* A lamp of which parts stand so that they go c' across for each step down lights what lies farther off than c' steps. The
 * same parts light the wall of a slot down to 1 / c' gaps, evenly spread from 1 - penumbra to 1 + penumbra of 1 / c
 * (cavity.c). */
static void penumbra_cuts(const sw_slot_light *l, bool far_up, sw_step_light *out)
{
    int share_at = far_up ? SW_SHAPE_OTHER_SHARE : SW_LIGHT_SHARE;
    double c = exp(far_up ? l->other_slant : l->slant), share = l->number[share_at];
    for (int k = 0; k < SW_PENUMBRA_CUTS; k++) {
        double off = 1 - 2 * (k + 0.5) / SW_PENUMBRA_CUTS, deep = 1 + l->penumbra * off;
        out->y[k] = c / deep;
        out->y_by_slant[k] = c / deep;
        out->y_by_penumbra[k] = -c * off / (deep * deep);
        out->drop[k] = share / SW_PENUMBRA_CUTS;
        out->drop_by[k][share_at] = 1.0 / SW_PENUMBRA_CUTS;
    }
}

/* The sky that the higher tile hides, less what its wall gives back: wall is half of the sky. */
static void foot_cuts(const sw_slot_light *l, bool far_up, sw_step_light *out)
{
    double lamp = far_up ? l->share * exp(l->slant) : l->other_share * exp(l->other_slant),
           shade = far_up ? l->other_share : l->share, face = l->wall + lamp + l->albedo / 2 * (1 - shade),
           loss = 2 * l->wall - l->albedo * face;
    for (int k = 0; k < SW_FOOT_CUTS; k++) {
        double inner = hidden((k ? FOOT[k - 1] + FOOT[k] : FOOT[0]) / 2),
               outer = k + 1 < SW_FOOT_CUTS ? hidden((FOOT[k] + FOOT[k + 1]) / 2) : 0;
        int at = SW_PENUMBRA_CUTS + k;
        out->y[at] = FOOT[k];
        out->y_by_slant[at] = out->y_by_penumbra[at] = 0;
        out->drop[at] = (inner - outer) * loss;
        out->drop_by[at][SW_LIGHT_WALL] = (inner - outer) * (2 - l->albedo);
        out->drop_by[at][SW_LIGHT_ALBEDO] = -(inner - outer) * (face + l->albedo / 2 * (1 - shade));
    }
}

void sw_stepped_light(const sw_slot_light *l, double view, double px_per_mm, sw_step_light *out)
{
    memset(out->drop_by, 0, sizeof out->drop_by);
    out->step = l->step;
    out->view = view;
    out->tangent = l->tangent;
    out->px_per_mm = px_per_mm;
    penumbra_cuts(l, l->step > 0, out);
    foot_cuts(l, l->step > 0, out);
}

/* The lower top's brightness y steps from below the higher edge, added to `level` with a weight, and so its derivatives. */
static void add_shaded(const sw_step_light *st, double y, double weight, double *level, double by[SW_SLOT_NUMBERS])
{
    *level += weight;
    for (int k = 0; k < SW_STRIP_CUTS; k++) {
        if (st->y[k] <= y)
            continue;
        *level -= weight * st->drop[k];
        for (int p = 0; p < SW_SLOT_NUMBERS; p++)
            by[p] -= weight * st->drop_by[k][p];
    }
}

/* The same where its level was read, mean over some places there: share of that in the open. */
static double shaded(const sw_slot_station *s, const sw_step_light *st, bool far_high, double by[SW_SLOT_NUMBERS])
{
    double way = far_high ? 1 : -1, near_rim = s->centre - way * s->width / 2, far_rim = s->centre + way * s->width / 2,
           size = fmax(1e-3, fabs(st->step) * st->px_per_mm), level = 0;
    bool low_end = (st->step > 0) == far_high; /* the lower top is at the low side */
    double at = low_end ? s->low_at : s->high_at,
           y = st->step > 0 ? way * (far_rim - at) / size - st->view : way * (at - near_rim) / size + st->view;
    memset(by, 0, SW_SLOT_NUMBERS * sizeof *by);
    for (int k = -LEVEL_PLACES; k <= LEVEL_PLACES; k++)
        add_shaded(st, y + k * LEVEL_APART_PX / size, 1.0 / (2 * LEVEL_PLACES + 1), &level, by);
    return level;
}

/* A level and its derivatives in the shared numbers. */
typedef struct lit {
    double level, by[SW_SLOT_NUMBERS];
} lit;

/* The tops in the open: the lower one was perhaps read in the shade. */
static void open_tops(const sw_slot_station *s, const sw_step_light *st, bool far_high, lit *near, lit *far)
{
    double by[SW_SLOT_NUMBERS], part = fmax(0.05, shaded(s, st, far_high, by));
    memset(near, 0, sizeof *near);
    memset(far, 0, sizeof *far);
    near->level = far_high ? s->low : s->high;
    far->level = far_high ? s->high : s->low;
    lit *lower = st->step > 0 ? near : far;
    lower->level /= part;
    for (int p = 0; p < SW_SLOT_NUMBERS; p++)
        lower->by[p] = -lower->level * by[p] / part;
}

void sw_stepped_open(const sw_slot_station *s, const sw_step_light *st, bool far_high, double *near, double *far)
{
    lit a, b;
    open_tops(s, st, far_high, &a, &b);
    *near = a.level;
    *far = b.level;
}

static int value_at(int number)
{
    return number < SW_LIGHT_BLUR ? SW_AT_LIGHT + number : SW_AT_SHAPE + number - SW_SHAPE_STEP;
}

/* Steps as they come, from the near side to the far one: at place * width + off px behind the near rim it gets lighter by rise. */
typedef struct band_list {
    int count;
    int numbers; /* how many derivatives count: all or none */
    double width;
    float place[SW_STEPS], off[SW_STEPS], rise[SW_STEPS][VALUES], slide[SW_STEPS][VALUES];
} band_list;

static int add_step(band_list *l, double place, double off, const lit *rise)
{
    int k = l->count++;
    memset(l->rise[k], 0, sizeof l->rise[k]);
    memset(l->slide[k], 0, sizeof l->slide[k]);
    l->place[k] = (float)place;
    l->off[k] = (float)off;
    l->rise[k][SW_AT_LEVEL] = (float)rise->level;
    for (int p = 0; p < l->numbers; p++)
        if (p != SW_LIGHT_BLUR)
            l->rise[k][value_at(p)] = (float)rise->by[p];
    return k;
}

static lit less(const lit *a, const lit *b, int numbers)
{
    lit d;
    d.level = a->level - b->level;
    for (int p = 0; p < numbers; p++)
        d.by[p] = a->by[p] - b->by[p];
    return d;
}

/* A share of a top's light. */
static lit share_of(const lit *top, double share, const double by[SW_SLOT_NUMBERS], int numbers)
{
    lit out;
    out.level = top->level * share;
    for (int p = 0; p < numbers; p++)
        out.by[p] = top->by[p] * share + top->level * by[p];
    return out;
}

/* The shade on the lower top; what of it lies within the slot falls together at the lower rim. Returns the level there. */
static lit add_strip(const sw_step_light *st, const lit *top, band_list *l)
{
    bool near = st->step > 0;
    double scale = st->px_per_mm, size = fabs(st->step);
    int slant = near ? SW_SHAPE_OTHER_SLANT : SW_LIGHT_SLANT;
    lit level = *top;
    for (int k = 0; k < SW_STRIP_CUTS; k++) {
        lit drop = share_of(top, st->drop[k], st->drop_by[k], l->numbers), before = level;
        level = less(&level, &drop, l->numbers);
        if (near)
            drop = less(&level, &before, l->numbers);
        double reach = scale * (near ? st->y[k] + st->view : st->y[k] - st->view), off = size * reach;
        bool inside = off < l->width;
        int i = near ? add_step(l, inside ? 0 : 1, inside ? 0 : -off, &drop)
                     : add_step(l, inside ? 1 : 0, inside ? 0 : off, &drop);
        if (inside)
            continue;
        l->slide[i][value_at(SW_SHAPE_STEP)] =
            (float)-reach; /* near: step > 0 moves it nearer; far: a step below 0 farther */
        l->slide[i][value_at(slant)] = (float)((near ? -1 : 1) * size * scale * st->y_by_slant[k]);
        l->slide[i][value_at(SW_LIGHT_PENUMBRA)] = (float)((near ? -1 : 1) * size * scale * st->y_by_penumbra[k]);
    }
    return level;
}

/* The slot's bins, and the face behind them, from the near rim to the far one; `before` is what comes before the near rim, `after`
 * what follows the far one. */
static void add_slot(const sw_bin_light *bins, const lit *near, const lit *far, const lit *before, const lit *after,
                     band_list *l)
{
    const sw_step_light *st = &bins->step;
    double free = fmax(0, st->step) * st->px_per_mm;
    lit last = *before;
    for (int k = SW_BINS - 1; k >= 0; k--) {
        lit here = share_of(far, bins->far[k], bins->far_by[k], l->numbers),
            b = share_of(near, bins->near[k], bins->near_by[k], l->numbers);
        here.level += b.level;
        for (int p = 0; p < l->numbers; p++)
            here.by[p] += b.by[p];
        double place = 1 - bins->cuts[k + 1];
        lit rise = less(&here, &last, l->numbers);
        int i = add_step(l, place, -place * free * st->tangent, &rise);
        l->slide[i][value_at(SW_LIGHT_TANGENT)] = (float)(-place * free);
        l->slide[i][value_at(SW_SHAPE_STEP)] = (float)(free > 0 ? -place * st->px_per_mm * st->tangent : 0);
        last = here;
    }
    for (int k = 0; k < SW_FACES && free > 0; k++) {
        lit here = share_of(far, bins->face[k], bins->face_by[k], l->numbers), rise = less(&here, &last, l->numbers);
        double below = 1 - (double)k / SW_FACES;
        int i = add_step(l, 1, -below * free * st->tangent, &rise);
        l->slide[i][value_at(SW_LIGHT_TANGENT)] = (float)(-below * free);
        l->slide[i][value_at(SW_SHAPE_STEP)] = (float)(-below * st->px_per_mm * st->tangent);
        last = here;
    }
    lit rise = less(after, &last, l->numbers);
    add_step(l, 1, 0, &rise);
}

/* The steps in the order of the crossing coordinate. */
static void put_in_order(const band_list *l, bool far_high, const lit *first, sw_stairs *out)
{
    float at[SW_STEPS];
    int order[SW_STEPS];
    for (int i = 0; i < l->count; i++) {
        float here = (far_high ? 1 : -1) * (l->place[i] * (float)l->width + l->off[i]);
        int k = i;
        for (; k > 0 && at[k - 1] > here; k--) {
            at[k] = at[k - 1];
            order[k] = order[k - 1];
        }
        at[k] = here;
        order[k] = i;
    }
    const float way = far_high ? 1 : -1;
    const int values = l->numbers ? VALUES : SW_AT_LIGHT;
    out->steps = l->count;
    memset(out->level[0], 0, sizeof out->level[0]);
    out->level[0][SW_AT_LEVEL] = (float)first->level;
    for (int p = 0; p < l->numbers; p++)
        if (p != SW_LIGHT_BLUR)
            out->level[0][value_at(p)] = (float)first->by[p];
    for (int k = 0; k < l->count; k++) {
        int i = order[k];
        out->place[k] = far_high ? l->place[i] : 1 - l->place[i];
        out->off[k] = way * l->off[i];
        for (int p = 0; p < values; p++) {
            out->rise[k][p] = way * l->rise[i][p];
            out->slide[k][p] = way * l->slide[i][p];
            out->level[k + 1][p] = out->level[k][p] + out->rise[k][p];
        }
    }
}

void sw_stepped_build(const sw_slot_station *s, const sw_bin_light *bins, bool far_high, sw_stairs *out)
{
    const sw_step_light *st = &bins->step;
    band_list l;
    l.count = 0;
    l.width = s->width;
    l.numbers = out->shaped ? SW_SLOT_NUMBERS : 0;
    lit near, far;
    open_tops(s, st, far_high, &near, &far);
    if (st->step > 0) {
        lit foot = add_strip(st, &near, &l);
        add_slot(bins, &near, &far, &foot, &far, &l);
    } else {
        lit foot = add_strip(st, &far, &l);
        add_slot(bins, &near, &far, &near, &foot, &l);
    }
    put_in_order(&l, far_high, far_high ? &near : &far, out);
}

double sw_stepped_missing(const sw_slot_station *s, const sw_bin_light *bins, bool far_high)
{
    const sw_step_light *st = &bins->step;
    lit near, far;
    band_list ignored;
    ignored.count = ignored.numbers = 0;
    ignored.width = s->width;
    open_tops(s, st, far_high, &near, &far);
    double foot = fmax(1e-6, add_strip(st, st->step > 0 ? &near : &far, &ignored).level), sum = 0,
           gap = s->width - fmax(0, st->step) * st->px_per_mm * st->tangent;
    for (int k = 0; k < SW_BINS; k++)
        sum +=
            (bins->cuts[k + 1] - bins->cuts[k]) * (1 - (far.level * bins->far[k] + near.level * bins->near[k]) / foot);
    return gap * sum;
}
