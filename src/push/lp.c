/* lp.c - linear programmes through the C interface of Clp (COIN-OR). Rows are kept as they come; the solver, which
 * wants columns, gets them with the first solve, and again only when rows or columns were added since. */
#include "push/lp.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <Clp_C_Interface.h>

/* Entries below this are taken for zero, so that terms that cancel leave none behind. */
static const double NOTHING = 1e-13;

/* What a broken row costs in the primal simplex: the solver's own figure, and one for the check, after the dual simplex, that
 * there is no solution. It is multiplied by 5 until 1e20, each time with all sums made anew; from 1e10 on that took most
 * of a plan's time. */
static const double BROKEN_COST = 1e10, BROKEN_COST_IN_CHECK = 1e19;

struct sw_lp {
    size_t columns, column_room, rows, row_room, terms, term_room;
    double *least, *most, *cost;  /* of columns */
    double *row_least, *row_most; /* of rows */
    size_t *row_start;            /* terms of row r: row_start[r] to row_start[r + 1] */
    sw_lp_term *term;
    Clp_Simplex *solver;
    bool loaded; /* the solver has all rows and columns */
    bool moved;  /* bounds changed since the last solve */
    bool failed; /* memory ran out on the way */
    bool odd;    /* a figure was no number: the solver would end the program over it */
};

sw_lp *sw_lp_new(void)
{
    sw_lp *lp = calloc(1, sizeof *lp);
    if (!lp)
        return NULL;
    lp->row_start = calloc(1, sizeof *lp->row_start);
    lp->solver = lp->row_start ? Clp_newModel() : NULL;
    if (!lp->solver)
        sw_lp_free(&lp);
    else
        Clp_setLogLevel(lp->solver, 0);
    return lp;
}

void sw_lp_free(sw_lp **lp)
{
    if (!*lp)
        return;
    if ((*lp)->solver)
        Clp_deleteModel((*lp)->solver);
    free((*lp)->least);
    free((*lp)->most);
    free((*lp)->cost);
    free((*lp)->row_least);
    free((*lp)->row_most);
    free((*lp)->row_start);
    free((*lp)->term);
    free(*lp);
    *lp = NULL;
}

/* Room for `want` elements; false when memory is out. */
static bool grow(sw_lp *lp, void **array, size_t size, size_t want)
{
    void *bigger = want > SIZE_MAX / size ? NULL : realloc(*array, want * size);
    if (bigger)
        *array = bigger;
    lp->failed |= !bigger;
    return bigger;
}

static size_t more_room(size_t room)
{
    return room ? 2 * room : 256;
}

static double bound(double value)
{
    return value > DBL_MAX ? DBL_MAX : value < -DBL_MAX ? -DBL_MAX : value;
}

int sw_lp_column(sw_lp *lp, double least, double most, double cost)
{
    if (lp->failed)
        return 0;
    if (lp->columns == lp->column_room) {
        size_t room = more_room(lp->column_room);
        if (!grow(lp, (void **)&lp->least, sizeof(double), room) ||
            !grow(lp, (void **)&lp->most, sizeof(double), room) || !grow(lp, (void **)&lp->cost, sizeof(double), room))
            return 0;
        lp->column_room = room;
    }
    lp->loaded = false;
    lp->odd |= !isfinite(cost) || isnan(least) || isnan(most);
    lp->least[lp->columns] = bound(least);
    lp->most[lp->columns] = bound(most);
    lp->cost[lp->columns] = cost;
    return (int)lp->columns++;
}

int sw_lp_row(sw_lp *lp, double least, double most, const sw_lp_term *terms, size_t count)
{
    if (lp->failed)
        return 0;
    if (lp->rows == lp->row_room) {
        size_t room = more_room(lp->row_room);
        if (!grow(lp, (void **)&lp->row_least, sizeof(double), room) ||
            !grow(lp, (void **)&lp->row_most, sizeof(double), room) ||
            !grow(lp, (void **)&lp->row_start, sizeof(size_t), room + 1))
            return 0;
        lp->row_room = room;
    }
    if (lp->terms + count > lp->term_room) {
        size_t room = more_room(lp->term_room) + count;
        if (!grow(lp, (void **)&lp->term, sizeof(sw_lp_term), room))
            return 0;
        lp->term_room = room;
    }
    size_t start = lp->terms;
    for (size_t i = 0; i < count; i++) {
        lp->odd |= !isfinite(terms[i].factor);
        size_t k = start;
        while (k < lp->terms && lp->term[k].column != terms[i].column)
            k++;
        if (k == lp->terms)
            lp->term[lp->terms++] = terms[i];
        else
            lp->term[k].factor += terms[i].factor;
    }
    lp->loaded = false;
    lp->odd |= isnan(least) || isnan(most);
    lp->row_least[lp->rows] = bound(least);
    lp->row_most[lp->rows] = bound(most);
    lp->row_start[++lp->rows] = lp->terms;
    return (int)lp->rows - 1;
}

void sw_lp_set_cost(sw_lp *lp, int column, double cost)
{
    if (lp->failed)
        return;
    lp->odd |= !isfinite(cost);
    lp->cost[column] = cost;
    if (lp->loaded)
        Clp_objective(lp->solver)[column] = cost;
}

void sw_lp_set_column(sw_lp *lp, int column, double least, double most)
{
    if (lp->failed)
        return;
    lp->least[column] = bound(least);
    lp->most[column] = bound(most);
    lp->moved = true;
    lp->odd |= isnan(least) || isnan(most);
    if (lp->loaded) {
        Clp_columnLower(lp->solver)[column] = lp->least[column];
        Clp_columnUpper(lp->solver)[column] = lp->most[column];
    }
}

void sw_lp_set_row(sw_lp *lp, int row, double least, double most)
{
    if (lp->failed)
        return;
    lp->row_least[row] = bound(least);
    lp->row_most[row] = bound(most);
    lp->moved = true;
    lp->odd |= isnan(least) || isnan(most);
    if (lp->loaded) {
        Clp_rowLower(lp->solver)[row] = lp->row_least[row];
        Clp_rowUpper(lp->solver)[row] = lp->row_most[row];
    }
}

/* Rows as columns, by counting; false when memory is out. */
static bool load(sw_lp *lp)
{
    int *start = calloc(lp->columns + 2, sizeof *start), *index = malloc((lp->terms + 1) * sizeof *index);
    double *value = malloc((lp->terms + 1) * sizeof *value);
    bool room = start && index && value;
    if (room) {
        for (size_t i = 0; i < lp->terms; i++)
            if (fabs(lp->term[i].factor) > NOTHING)
                start[lp->term[i].column + 2]++;
        for (size_t c = 2; c <= lp->columns; c++)
            start[c] += start[c - 1];
        for (size_t r = 0; r < lp->rows; r++)
            for (size_t i = lp->row_start[r]; i < lp->row_start[r + 1]; i++)
                if (fabs(lp->term[i].factor) > NOTHING) {
                    int at = start[lp->term[i].column + 1]++;
                    index[at] = (int)r;
                    value[at] = lp->term[i].factor;
                }
        Clp_loadProblem(lp->solver, (int)lp->columns, (int)lp->rows, start, index, value, lp->least, lp->most, lp->cost,
                        lp->row_least, lp->row_most);
        lp->loaded = true;
    }
    free(start);
    free(index);
    free(value);
    return room;
}

sw_status sw_plan_no_memory(sw_error *err)
{
    return sw_fail(err, SW_NO_MEMORY, "not enough memory for a plan; close other programs and try again");
}

sw_status sw_lp_solve(sw_lp *lp, sw_error *err)
{
    bool first = !lp->loaded;
    if (lp->odd)
        return sw_fail(err, SW_NOT_FOUND,
                       "a figure of the inspection is no number, so the tiles' motions cannot be worked out");
    if (lp->failed || (first && !load(lp)))
        return sw_plan_no_memory(err);
    /* The first solve begins with no point that fulfils the rows: the dual simplex needs none. Changed costs leave the
     * last solution feasible, which the primal simplex goes on from; changed bounds leave its prices right, which the
     * dual simplex does. */
    bool by_dual = first || lp->moved;
    Clp_setInfeasibilityCost(lp->solver, by_dual ? BROKEN_COST_IN_CHECK : BROKEN_COST);
    if (by_dual)
        Clp_dual(lp->solver, 0);
    else
        Clp_primal(lp->solver, 0);
    lp->moved = false;
    switch (Clp_status(lp->solver)) {
    case 0:
        return SW_OK;
    case 1:
    case 2:
        return sw_fail(err, SW_NOT_FOUND, "no motion of the tiles fulfils all conditions");
    default:
        return sw_fail(err, SW_BROKEN, "the linear-programme solver gave up (status %d)", Clp_status(lp->solver));
    }
}

double sw_lp_value(const sw_lp *lp, int column)
{
    return Clp_getColSolution(lp->solver)[column];
}

double sw_lp_cost(const sw_lp *lp)
{
    return Clp_objectiveValue(lp->solver);
}

double sw_lp_price(const sw_lp *lp, int row)
{
    return Clp_dualRowSolution(lp->solver)[row];
}
