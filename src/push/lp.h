/* lp.h - linear programmes: the only place that knows the solver.
 *
 *     minimise cost . x   subject to   row_least <= A x <= row_most,   least <= x <= most
 *
 * Columns first, then rows; each row lists its columns. Bounds may be infinite. */
#ifndef SW_PUSH_LP_H
#define SW_PUSH_LP_H

#include <stddef.h>

#include "seamwright/status.h"

typedef struct sw_lp sw_lp;

/* One term of a row. */
typedef struct sw_lp_term {
    int column;
    double factor;
} sw_lp_term;

/* NULL when memory is out. Free with sw_lp_free, which accepts NULL and sets the pointer to NULL. */
sw_lp *sw_lp_new(void);
void sw_lp_free(sw_lp **lp);

/* Each returns the new column's or row's index. That memory ran out is remembered, and sw_lp_solve tells it, so the
 * calls between, which then do nothing, need not be checked. Terms of the same column add up. */
int sw_lp_column(sw_lp *lp, double least, double most, double cost);
int sw_lp_row(sw_lp *lp, double least, double most, const sw_lp_term *terms, size_t count);

/* Changes for another solve, which starts from the last solution. */
void sw_lp_set_cost(sw_lp *lp, int column, double cost);
void sw_lp_set_column(sw_lp *lp, int column, double least, double most);
void sw_lp_set_row(sw_lp *lp, int row, double least, double most);

/* SW_OK: solved. SW_NOT_FOUND: nothing fulfils all rows, or the cost has no end. SW_NO_MEMORY. SW_BROKEN: the solver
 * gave up. */
sw_status sw_lp_solve(sw_lp *lp, sw_error *err);

/* "not enough memory for a plan ..." in err; returns SW_NO_MEMORY. */
sw_status sw_plan_no_memory(sw_error *err);

/* After SW_OK. */
double sw_lp_value(const sw_lp *lp, int column);
double sw_lp_cost(const sw_lp *lp);
/* Price of a row: growth of the cost per unit by which the bound that holds is raised; 0 for a row that holds nothing.
 */
double sw_lp_price(const sw_lp *lp, int row);

#endif
