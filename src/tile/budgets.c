#include "tile/budgets.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "maths/budget.h"

/* From here on degrees of freedom no longer matter: Student's factor is 1.962 instead of 1.960. */
static const double FREEDOM_MOST = 1000;

/* Which of many figures a budget is made of, the way there and what was stated. */
typedef struct subject {
    size_t index; /* of the seam, or 4 times the tile and the corner or side */
    double value, u95;
    const sw_parts *parts;
} subject;

/* The figure number `index` of its kind; false when there is none such (any more). */
static bool subject_at(const sw_inspection *ins, sw_budget_figure figure, size_t index, subject *s)
{
    bool of_seam = figure == SW_BUDGET_GAP || figure == SW_BUDGET_MEAN;
    if (index >= (of_seam ? ins->seam_count : 4 * ins->tile_count))
        return false;
    const sw_seam *seam = of_seam ? &ins->seams[index] : NULL;
    const sw_tile *tile = of_seam ? NULL : &ins->tiles[index / 4];
    switch (figure) {
    case SW_BUDGET_GAP:
        *s = (subject){index, seam->max_mm, seam->max_u95_mm, &seam->max_parts};
        break;
    case SW_BUDGET_MEAN:
        *s = (subject){index, seam->mean_mm, seam->mean_u95_mm, &seam->mean_parts};
        break;
    case SW_BUDGET_ANGLE:
        *s = (subject){index, tile->corners[index % 4].angle_deg, tile->corners[index % 4].u95_deg,
                       &tile->corners[index % 4].angle_parts};
        break;
    case SW_BUDGET_LENGTH:
        *s = (subject){index, tile->edges[index % 4].length_mm, tile->edges[index % 4].length_u95_mm,
                       &tile->edges[index % 4].length_parts};
        break;
    default:
        *s = (subject){index, tile->edges[index % 4].straightness_mm, tile->edges[index % 4].straightness_u95_mm,
                       &tile->edges[index % 4].straightness_parts};
    }
    return true;
}

/* A figure that can be budgeted: measured, and known what its uncertainty is made of. */
static bool is_good(const subject *s)
{
    return isfinite(s->value) && isfinite(s->u95) && s->u95 > 0 && isfinite(sw_parts_u(s->parts)) &&
           sw_parts_u(s->parts) > 0;
}

/* What the worst is looked for by: the figure itself, or for angles how far they are from square. */
static double badness(sw_budget_figure figure, const subject *s)
{
    return figure == SW_BUDGET_ANGLE ? fabs(s->value - 90) : s->value;
}

static bool find_worst(const sw_inspection *ins, sw_budget_figure figure, subject *worst)
{
    subject s;
    bool found = false;
    for (size_t i = 0; subject_at(ins, figure, i, &s); i++)
        if (is_good(&s) && (!found || badness(figure, &s) > badness(figure, worst))) {
            *worst = s;
            found = true;
        }
    return found;
}

/* The one with the middle u95: as many are known better as worse (ties by their order). Quadratic, but of a few
 * hundred. */
static bool find_middle(const sw_inspection *ins, sw_budget_figure figure, subject *middle)
{
    subject s, other;
    size_t good = 0;
    for (size_t i = 0; subject_at(ins, figure, i, &s); i++)
        good += is_good(&s);
    for (size_t i = 0; subject_at(ins, figure, i, &s); i++) {
        size_t before = 0;
        if (!is_good(&s))
            continue;
        for (size_t k = 0; subject_at(ins, figure, k, &other); k++)
            before += is_good(&other) && (other.u95 < s.u95 || (other.u95 == s.u95 && k < i));
        if (before == (good - 1) / 2) {
            *middle = s;
            return true;
        }
    }
    return false;
}

static void say_where(const sw_inspection *ins, size_t index, sw_figure_budget *b)
{
    if (b->figure == SW_BUDGET_GAP)
        snprintf(b->where, sizeof b->where, "%s, %.0f mm from its %s end", ins->seams[index].name,
                 ins->seams[index].max_at_mm, ins->seams[index].upright ? "north" : "west");
    else if (b->figure == SW_BUDGET_MEAN)
        snprintf(b->where, sizeof b->where, "%s", ins->seams[index].name);
    else if (b->figure == SW_BUDGET_ANGLE)
        snprintf(b->where, sizeof b->where, "%s %s", ins->tiles[index / 4].name,
                 sw_corner_label((sw_corner_name)(index % 4)));
    else
        snprintf(b->where, sizeof b->where, "%s %s", ins->tiles[index / 4].name, sw_side_name((sw_side)(index % 4)));
}

/* The included lines, largest first. */
static void fill_lines(const sw_scale *scale, const sw_parts *parts, sw_figure_budget *b)
{
    double whole = sw_parts_u(parts);
    for (int k = 0; k < SW_PART_COUNT; k++) {
        if (!(parts->u[k] > 0))
            continue;
        size_t at = b->line_count++;
        for (; at > 0 && b->lines[at - 1].u < parts->u[k]; at--)
            b->lines[at] = b->lines[at - 1];
        double share = parts->u[k] / whole;
        b->lines[at] = (sw_budget_line){.part = (sw_part)k,
                                        .kind = sw_budget_kind(scale, (sw_part)k),
                                        .included = 1,
                                        .u = parts->u[k],
                                        .share = share * share,
                                        .note = ""};
    }
}

/* Effective degrees of freedom (JCGM 100 G.4.1). Noise and texture are one estimate, from one scatter; the rest counts
 * as exact. */
static double effective_freedom(const sw_parts *parts)
{
    double random = hypot(parts->u[SW_PART_NOISE], parts->u[SW_PART_TEXTURE]), u = sw_parts_u(parts);
    const sw_component c[2] = {
        {"noise and texture", random, parts->degrees_of_freedom > 0 ? parts->degrees_of_freedom : NAN, 1},
        {"the rest", sqrt(fmax(0, u * u - random * random)), INFINITY, 1}};
    sw_budget both;
    if (sw_budget_combine(c, 2, &both))
        return NAN;
    return both.degrees_of_freedom > FREEDOM_MOST ? INFINITY : both.degrees_of_freedom;
}

static void make_budget(const sw_inspection *ins, sw_budget_figure figure, const subject *s, sw_figure_budget *b)
{
    sw_budget_line left_out[SW_PART_COUNT];
    *b = (sw_figure_budget){.figure = figure, .value = s->value, .u95 = s->u95};
    b->unit = figure == SW_BUDGET_ANGLE ? "degrees" : "mm";
    say_where(ins, s->index, b);
    fill_lines(&ins->scale, s->parts, b);
    b->degrees_of_freedom = effective_freedom(s->parts);
    snprintf(b->next, sizeof b->next, "%s", sw_budget_remedy(&ins->scale, b->lines[0].part, figure));
    size_t count = sw_budget_left_out(ins, figure, s->index, left_out);
    for (size_t i = 0; i < count; i++)
        if (s->parts->u[left_out[i].part] == 0)
            b->lines[b->line_count++] = left_out[i];
}

void sw_budgets_make(sw_inspection *ins)
{
    subject s;
    ins->budget_count = 0;
    for (int figure = 0; figure < SW_BUDGET_FIGURES; figure++) {
        bool typical = figure == SW_BUDGET_MEAN || figure == SW_BUDGET_LENGTH;
        if (typical ? find_middle(ins, (sw_budget_figure)figure, &s) : find_worst(ins, (sw_budget_figure)figure, &s))
            make_budget(ins, (sw_budget_figure)figure, &s, &ins->budgets[ins->budget_count++]);
    }
}
