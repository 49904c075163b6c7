/* judge_lp.h - a linear programme solver of the tests' own, so that nothing of the plan stage judges itself.
 *
 *     minimise cost . x   subject to   A x <= most,   x free
 *
 * Primal-dual interior point with predictor and corrector (Mehrotra 1992, SIAM J. Optimization 2, 575-601); normal
 * equations by a Cholesky factorisation within the matrix's own profile, so order the columns that meet in rows near to
 * each other, and those that meet all others last.
 */
#ifndef SW_SUPPORT_JUDGE_LP_H
#define SW_SUPPORT_JUDGE_LP_H

typedef enum judge_end {
    JUDGE_SOLVED = 0,
    JUDGE_INFEASIBLE, /* certified: no x with |x|_1 under 1e8 fulfils all rows */
    JUDGE_UNBOUNDED,  /* a direction lowers the cost without end */
    JUDGE_GAVE_UP
} judge_end;

typedef struct judge_lp judge_lp;

/* Ends the program when memory is out, as all calls here. Free with judge_lp_free. */
judge_lp *judge_lp_new(int columns);
void judge_lp_free(judge_lp *lp);
void judge_lp_cost(judge_lp *lp, int column, double cost);
/* One row: the sum of factor[k] * x[column[k]] is at most `most`. Columns may come twice. */
void judge_lp_row(judge_lp *lp, int terms, const int *column, const double *factor, double most);
/* The rows least <= x[column] and x[column] <= most. */
void judge_lp_box(judge_lp *lp, int column, double least, double most);

/* x: room for all columns. rounds may be NULL. */
judge_end judge_lp_solve(const judge_lp *lp, double *x, int *rounds);

#endif
