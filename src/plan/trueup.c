/* trueup.c - least removal as a linear programme.
 *
 * Unknown: three motions a tile, what comes off every edge at its knots (0 to the deepest cut), and for every joint an
 * excess over its limit that costs more than any sanding, so that there always is a solution and what sanding cannot
 * mend shows. At every point of a joint
 *
 *     floor <= gap + J motion + off(first) + off(second) <= limit + excess
 *
 * sw_cutter_least finds the least area. sw_cutter_few allows a little more and within it gives edges up: first by prices
 * (edges that stand shy of their own tile's square are dearer; then reweighted least sums: an edge's price is one over
 * what it had in the last round), then one after the other, the one with least to take off first, as long as the rest
 * can do without it. What is too little for a sanding block, or less than its own ±, is dropped at last, and the rest
 * solved once more.
 */
#include "plan/trueup.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "push/motion.h"

/* One mm of excess costs as much as this many mm2 of sanding: more than a whole set of edges taken down to the deepest
 * cut. */
static const double EXCESS_COST = 1e6;
/* How much more than the least may come off for the sake of fewer edges: a share, and mm2. */
static const double MORE_SHARE = 0.04, MORE_MM2 = 0.5;
/* An edge that has this little to lose, mm2, counts as given up in the next round. */
static const double LITTLE_MM2 = 5;
/* Standing proud by PROUD_MM makes a place cheaper to sand by this share, standing shy dearer. */
static const double PROUD_SHARE = 0.15, PROUD_MM = 0.5;
/* What an edge that was dropped would have closed (at most SW_LEAST_REMOVAL_MM) may stay open when closing it elsewhere
 * takes more than this many mm2 a mm. */
static const double DROPPED_COST = 1e3;
/* Excesses found once may come out by so much larger the next time, mm: rounding of the solver. */
static const double EXCESS_SLACK_MM = 1e-5;
enum { ROUNDS = 3, NO_ROW = -1 };
/* When so many edges in turn could not be given up, those with more to take off cannot either. */
enum { VAIN_MOST = 6 };

struct sw_cutter {
    const sw_inspection *ins;
    const sw_openings *e;
    sw_true_up *up, found;
    sw_lp *lp;
    double deepest;
    int motion, *first_knot, *excess; /* columns */
    int **upper, **lower;             /* rows of each joint's points; NO_ROW for none */
    int area_row;
};
typedef struct sw_cutter model;

/* Length of edge that a knot speaks for. */
static double knot_mm(const sw_cut *cut, int k)
{
    return cut->length_mm / (cut->knots - 1) * (k == 0 || k == cut->knots - 1 ? 0.5 : 1);
}

static const sw_edge *edge_of(const model *m, const sw_cut *cut)
{
    const sw_seam *seam = &m->ins->seams[cut->joint];
    return &m->ins->tiles[cut->rim ? seam->second : seam->first].edges[sw_joint_side(seam, cut->rim)];
}

static int start_cut(const model *m, int joint, int rim, sw_cut *cut)
{
    const sw_seam *seam = &m->ins->seams[joint];
    const sw_tile *tile = &m->ins->tiles[rim ? seam->second : seam->first];
    const sw_joint *j = &m->e->joints[joint];
    *cut = (sw_cut){.joint = joint, .rim = rim};
    double length = edge_of(m, cut)->length_mm;
    cut->length_mm = isfinite(length) && length > SW_KNOT_MM ? length : fmax(seam->length_mm, SW_KNOT_MM);
    /* The edge begins at its north or west corner. */
    sw_corner_name begin = seam->upright ? (rim ? SW_NW : SW_NE) : (rim ? SW_NW : SW_SW);
    sw_point c = tile->corners[begin].mm;
    double from = (j->start_mm.x - c.x) * j->along.x + (j->start_mm.y - c.y) * j->along.y;
    cut->from_mm = isfinite(from) ? from : 0;
    cut->knots = sw_cut_knots(cut->length_mm);
    cut->remove_mm = calloc((size_t)cut->knots, sizeof *cut->remove_mm);
    return cut->remove_mm ? 0 : -1;
}

/* Terms of what comes off both edges of a joint at a place. */
static int cut_terms(const model *m, int joint, double at_mm, sw_lp_term *terms)
{
    int count = 0;
    for (int rim = 0; rim < 2; rim++) {
        const sw_cut *cut = &m->up->cuts[2 * joint + rim];
        double on;
        int k = sw_cut_knot_at(cut, at_mm + cut->from_mm, &on), column = m->first_knot[2 * joint + rim] + k;
        terms[count++] = (sw_lp_term){column, 1 - on};
        terms[count++] = (sw_lp_term){column + 1, on};
    }
    return count;
}

/* The nearest point of the same kind before (way -1) or after (1) point i; NULL when there is none. */
static const sw_joint_point *next_alike(const sw_joint *j, size_t i, int way, bool apart)
{
    for (size_t k = i + (size_t)way; k < j->point_count; k += (size_t)way) /* below 0 it wraps, beyond the end too */
        if (apart ? j->points[k].apart : j->points[k].limits)
            return &j->points[k];
    return NULL;
}

/* Between two knots of both edges all that a row adds up is straight, so a point that lies behind the straight line of
 * its neighbours there (above it where tiles are kept apart, below it where gaps are limited) says nothing new. */
static bool says_nothing(const model *m, int joint, size_t i, bool apart)
{
    const sw_joint *j = &m->e->joints[joint];
    const sw_joint_point *here = &j->points[i], *a = next_alike(j, i, -1, apart), *b = next_alike(j, i, 1, apart);
    if (!a || !b || !(b->at_mm > a->at_mm))
        return false;
    for (int rim = 0; rim < 2; rim++) {
        const sw_cut *cut = &m->up->cuts[2 * joint + rim];
        double on;
        if (sw_cut_knot_at(cut, a->at_mm + cut->from_mm, &on) != sw_cut_knot_at(cut, b->at_mm + cut->from_mm, &on) ||
            on <= 0)
            return false;
    }
    double line = a->gap_mm + (b->gap_mm - a->gap_mm) * (here->at_mm - a->at_mm) / (b->at_mm - a->at_mm);
    return apart ? here->gap_mm >= line : here->gap_mm <= line;
}

static int add_joint(model *m, int joint)
{
    const sw_joint *j = &m->e->joints[joint];
    sw_lp_term terms[12];
    m->upper[joint] = calloc(j->point_count + 1, sizeof **m->upper);
    m->lower[joint] = calloc(j->point_count + 1, sizeof **m->lower);
    if (!m->upper[joint] || !m->lower[joint])
        return -1;
    for (size_t i = 0; i < j->point_count; i++) {
        const sw_joint_point *p = &j->points[i];
        m->upper[joint][i] = m->lower[joint][i] = NO_ROW;
        int count = sw_motion_terms(j, p->at_mm, m->e->centres, m->motion, terms);
        count += cut_terms(m, joint, p->at_mm, terms + count);
        if (p->apart && !says_nothing(m, joint, i, true))
            m->lower[joint][i] = sw_lp_row(m->lp, j->floor_mm - p->gap_mm, INFINITY, terms, (size_t)count);
        terms[count++] = (sw_lp_term){m->excess[joint], -1};
        if (p->limits && !says_nothing(m, joint, i, false))
            m->upper[joint][i] = sw_lp_row(m->lp, -INFINITY, INFINITY, terms, (size_t)count);
    }
    return 0;
}

/* All columns and rows. 0 when memory sufficed. */
static int build(model *m)
{
    sw_lp_term *area = NULL;
    size_t joints = m->e->count, knots = 0;
    m->motion = sw_motion_columns(m->lp, m->e->tiles);
    for (size_t c = 0; c < m->up->count; c++) {
        if (start_cut(m, (int)c / 2, (int)c % 2, &m->up->cuts[c]))
            return -1;
        for (int k = 0; k < m->up->cuts[c].knots; k++) {
            int column = sw_lp_column(m->lp, 0, m->e->seen[c / 2] > 0 ? m->deepest : 0, 0);
            m->first_knot[c] = k ? m->first_knot[c] : column;
        }
        knots += (size_t)m->up->cuts[c].knots;
    }
    for (size_t j = 0; j < joints; j++)
        m->excess[j] = sw_lp_column(m->lp, 0, INFINITY, EXCESS_COST);
    for (size_t j = 0; j < joints; j++)
        if (add_joint(m, (int)j))
            return -1;
    area = malloc((knots + 1) * sizeof *area);
    if (!area)
        return -1;
    size_t n = 0;
    for (size_t c = 0; c < m->up->count; c++)
        for (int k = 0; k < m->up->cuts[c].knots; k++)
            area[n++] = (sw_lp_term){m->first_knot[c] + k, knot_mm(&m->up->cuts[c], k)};
    m->area_row = sw_lp_row(m->lp, -INFINITY, INFINITY, area, n);
    free(area);
    return 0;
}

void sw_cutter_limits(sw_cutter *m, const double *limit_mm)
{
    for (size_t j = 0; j < m->e->count; j++)
        for (size_t i = 0; i < m->e->joints[j].point_count; i++) {
            const sw_joint_point *p = &m->e->joints[j].points[i];
            if (m->upper[j][i] != NO_ROW)
                sw_lp_set_row(m->lp, m->upper[j][i], -INFINITY, limit_mm[j] - p->gap_mm);
            if (m->lower[j][i] != NO_ROW)
                sw_lp_set_row(m->lp, m->lower[j][i], m->e->joints[j].floor_mm - p->gap_mm, INFINITY);
        }
}

static sw_status solve(model *m, sw_error *err)
{
    sw_status status = sw_lp_solve(m->lp, err);
    for (size_t c = 0; !status && c < m->up->count; c++) {
        sw_cut *cut = &m->up->cuts[c];
        cut->area_mm2 = cut->deepest_mm = 0;
        for (int k = 0; k < cut->knots; k++) {
            cut->remove_mm[k] = fmin(m->deepest, fmax(0, sw_lp_value(m->lp, m->first_knot[c] + k)));
            cut->area_mm2 += cut->remove_mm[k] * knot_mm(cut, k);
            cut->deepest_mm = fmax(cut->deepest_mm, cut->remove_mm[k]);
        }
    }
    for (size_t j = 0; !status && j < m->e->count; j++)
        m->up->excess_mm[j] = fmax(0, sw_lp_value(m->lp, m->excess[j]));
    return status;
}

static double total(const sw_true_up *up)
{
    double sum = 0;
    for (size_t c = 0; c < up->count; c++)
        sum += up->cuts[c].area_mm2;
    return sum;
}

/* Worth a sanding block, and more than the joint's gaps are known to. */
static int worth_it(const model *m, const sw_cut *cut)
{
    const sw_joint *joint = &m->e->joints[cut->joint];
    double u95 = 0;
    for (size_t i = 0; i < joint->point_count; i++)
        u95 += joint->points[i].u95_mm / (double)joint->point_count;
    return cut->deepest_mm >= fmax(SW_LEAST_REMOVAL_MM, u95);
}

/* How proud of its tile's square the edge stands near a knot: mean over the points it speaks for; 0 where nothing was
 * seen. */
static double proud_near(const model *m, const sw_cut *cut, int k)
{
    const sw_edge *edge = edge_of(m, cut);
    double pitch = cut->length_mm / (cut->knots - 1), sum = 0, n = 0;
    for (size_t i = 0; i < edge->point_count; i++)
        if (edge->points[i].state == SW_STATION_OK && fabs(edge->points[i].at_mm - k * pitch) <= pitch / 2 &&
            isfinite(edge->points[i].proud_mm)) {
            sum += edge->points[i].proud_mm;
            n++;
        }
    return n > 0 ? sum / n : 0;
}

typedef enum prices { EQUAL = 0, PLAIN, BY_USE } prices;

/* Price of every edge's area: the same for all; less where it stands proud of its tile's square; and by what the last
 * round took. */
static void set_prices(model *m, prices how)
{
    double mean = total(m->up) / fmax(1, (double)m->up->count);
    for (size_t c = 0; c < m->up->count; c++) {
        const sw_cut *cut = &m->up->cuts[c];
        double price = how == BY_USE ? (mean + LITTLE_MM2) / (cut->area_mm2 + LITTLE_MM2) : 1;
        for (int k = 0; k < cut->knots; k++) {
            double proud = how == EQUAL ? 0 : fmin(1, fmax(-1, proud_near(m, cut, k) / PROUD_MM));
            sw_lp_set_cost(m->lp, m->first_knot[c] + k, price * (1 - PROUD_SHARE * proud) * knot_mm(cut, k));
        }
    }
}

/* Nothing, or up to the deepest cut, may come off an edge. */
static void set_most(model *m, size_t c, double most)
{
    for (int k = 0; k < m->up->cuts[c].knots; k++)
        sw_lp_set_column(m->lp, m->first_knot[c] + k, 0, most);
}

/* The edge used that is cheapest to give up: least area, less what set_prices would make it dearer by; -1 when all were
 * asked. */
static int next_to_give_up(const model *m, const unsigned char *asked)
{
    int best = -1;
    double least = INFINITY;
    for (size_t c = 0; c < m->up->count; c++) {
        const sw_cut *cut = &m->up->cuts[c];
        if (cut->area_mm2 > 0 && !asked[c] && cut->area_mm2 < least) {
            least = cut->area_mm2;
            best = (int)c;
        }
    }
    return best;
}

/* One edge after the other is given up, as long as the others in use can do without it within the area allowed. */
static sw_status give_up(model *m, sw_error *err)
{
    unsigned char *asked = calloc(m->up->count + 1, 1);
    if (!asked)
        return sw_plan_no_memory(err);
    sw_status status = SW_OK;
    int c;
    set_prices(m, PLAIN);
    for (size_t k = 0; k < m->up->count; k++)
        if (!(m->up->cuts[k].area_mm2 > 0))
            set_most(m, k, 0);
    int vain = 0;
    while (!status && vain < VAIN_MOST && (c = next_to_give_up(m, asked)) >= 0) {
        asked[c] = 1;
        set_most(m, (size_t)c, 0);
        vain = solve(m, NULL) ? vain + 1 : 0;
        if (vain)
            set_most(m, (size_t)c, m->deepest); /* the cuts in m->up are still those of the last solution */
    }
    if (!status && vain)
        status = solve(m, err);
    free(asked);
    return status;
}

/* Steps 3 and 4: fewer edges for little more area. */
static sw_status on_few_edges(model *m, sw_error *err)
{
    sw_status status = SW_OK;
    double least_mm2 = total(m->up);
    sw_lp_set_row(m->lp, m->area_row, -INFINITY, least_mm2 * (1 + MORE_SHARE) + MORE_MM2);
    for (size_t j = 0; j < m->e->count; j++)
        sw_lp_set_column(m->lp, m->excess[j], 0, m->up->excess_mm[j] + EXCESS_SLACK_MM);
    for (int round = 0; round <= ROUNDS && !status; round++) {
        set_prices(m, round ? BY_USE : PLAIN);
        status = solve(m, err);
    }
    if (!status)
        status = give_up(m, err);
    return status;
}

/* What is not worth doing is given up, and the rest does what it can: at a price that leaves open what would be dear. */
static sw_status drop_small(model *m, sw_error *err)
{
    for (size_t c = 0; c < m->up->count; c++)
        if (!worth_it(m, &m->up->cuts[c]))
            set_most(m, c, 0);
    sw_lp_set_row(m->lp, m->area_row, -INFINITY, INFINITY);
    for (size_t j = 0; j < m->e->count; j++) {
        sw_lp_set_column(m->lp, m->excess[j], 0, INFINITY);
        sw_lp_set_cost(m->lp, m->excess[j], DROPPED_COST);
    }
    return solve(m, err);
}

/* What is not worth doing is nothing, and so is what lies beyond rounding. */
static void tidy(model *m)
{
    for (size_t c = 0; c < m->up->count; c++) {
        sw_cut *cut = &m->up->cuts[c];
        if (worth_it(m, cut))
            continue;
        memset(cut->remove_mm, 0, (size_t)cut->knots * sizeof *cut->remove_mm);
        cut->area_mm2 = cut->deepest_mm = 0;
    }
}

void sw_cutter_allow(sw_cutter *m, const bool *may)
{
    for (size_t c = 0; c < m->up->count; c++) {
        set_most(m, c, may[c / 2] && m->e->seen[c / 2] > 0 ? m->deepest : 0);
    }
}

void sw_cutter_forbid(sw_cutter *m, size_t joint)
{
    set_most(m, 2 * joint, 0);
    set_most(m, 2 * joint + 1, 0);
}

sw_status sw_cutter_least(sw_cutter *m, sw_error *err)
{
    sw_lp_set_row(m->lp, m->area_row, -INFINITY, INFINITY);
    for (size_t j = 0; j < m->e->count; j++) {
        sw_lp_set_column(m->lp, m->excess[j], 0, INFINITY);
        sw_lp_set_cost(m->lp, m->excess[j], EXCESS_COST);
    }
    set_prices(m, EQUAL);
    return solve(m, err);
}

sw_status sw_cutter_few(sw_cutter *m, sw_error *err)
{
    return on_few_edges(m, err);
}

sw_status sw_cutter_trim(sw_cutter *m, sw_error *err)
{
    sw_status status = drop_small(m, err);
    if (!status)
        tidy(m);
    return status;
}

const sw_true_up *sw_cutter_cuts(const sw_cutter *m)
{
    return m->up;
}

sw_status sw_cutter_copy(const sw_cutter *m, sw_true_up *up, sw_error *err)
{
    return sw_true_up_copy(m->up, up) ? SW_OK : sw_plan_no_memory(err);
}

void sw_cutter_nothing(sw_cutter *m)
{
    for (size_t c = 0; c < m->up->count; c++) {
        sw_cut *cut = &m->up->cuts[c];
        memset(cut->remove_mm, 0, (size_t)cut->knots * sizeof *cut->remove_mm);
        cut->area_mm2 = cut->deepest_mm = 0;
    }
    memset(m->up->excess_mm, 0, m->e->count * sizeof *m->up->excess_mm);
}

sw_status sw_cutter_new(const sw_inspection *ins, const sw_openings *openings, double deepest_mm, sw_cutter **cutter,
                        sw_error *err)
{
    size_t joints = openings->count;
    sw_cutter *m = *cutter = calloc(1, sizeof *m);
    if (!m)
        return sw_plan_no_memory(err);
    *m = (sw_cutter){.ins = ins,
                     .e = openings,
                     .up = &m->found,
                     .found = {calloc(2 * joints + 1, sizeof(sw_cut)), 2 * joints, calloc(joints + 1, sizeof(double))},
                     .lp = sw_lp_new(),
                     .deepest = deepest_mm,
                     .first_knot = calloc(2 * joints + 1, sizeof(int)),
                     .excess = calloc(joints + 1, sizeof(int)),
                     .upper = calloc(joints + 1, sizeof(int *)),
                     .lower = calloc(joints + 1, sizeof(int *))};
    bool ready =
        m->up->cuts && m->up->excess_mm && m->lp && m->first_knot && m->excess && m->upper && m->lower && !build(m);
    if (ready)
        return SW_OK;
    sw_cutter_free(cutter);
    return sw_plan_no_memory(err);
}

void sw_cutter_free(sw_cutter **cutter)
{
    sw_cutter *m = *cutter;
    if (!m)
        return;
    for (size_t j = 0; j < m->e->count; j++) {
        if (m->upper)
            free(m->upper[j]);
        if (m->lower)
            free(m->lower[j]);
    }
    free(m->upper);
    free(m->lower);
    free(m->first_knot);
    free(m->excess);
    sw_true_up_free(m->up);
    sw_lp_free(&m->lp);
    free(m);
    *cutter = NULL;
}
