/* lens.c - the lens model both ways.
 *
 * Forward it is a polynomial. Back it has no closed form; Newton's method on the two equations, with the Jacobian
 * written out, takes three or four rounds for any lens that is sold. The step is halved while it would leave the region
 * where the model is one-to-one (Jacobian determinant positive) or would not come nearer: a polynomial folds over far
 * outside the frame it was fitted in, and the root beyond the fold is not the point that was seen. */
#include <math.h>

#include "seamwright/scale.h"

/* Where Newton stops, in units of the normal plane: 3e-7 px at fx = 3000 px, far below any corner or rim. */
static const double CONVERGED = 1e-10;
/* Rounds after which the point has no preimage; four are usual, strong fisheye-like lenses near their fold take ten. */
enum { MAX_ROUNDS = 40, MAX_HALVINGS = 20 };

/* A distorted point with the derivatives of the distortion there: xx = dx'/dx, xy = dx'/dy = dy'/dx, yy = dy'/dy. */
typedef struct bent {
    double x, y;
    double xx, xy, yy;
} bent;

/* With g = 1 + k1 r2 + k2 r2^2 + k3 r2^3 and h = dg/dr2: dx'/dx = g + 2 h x^2 + 2 p1 y + 6 p2 x,
 * dx'/dy = dy'/dx = 2 h x y + 2 p1 x + 2 p2 y, dy'/dy = g + 2 h y^2 + 6 p1 y + 2 p2 x. */
static inline bent bend(const sw_lens *lens, double x, double y)
{
    double r2 = x * x + y * y;
    double g = 1 + r2 * (lens->k1 + r2 * (lens->k2 + r2 * lens->k3));
    double h = lens->k1 + r2 * (2 * lens->k2 + r2 * 3 * lens->k3);
    double p1 = lens->p1, p2 = lens->p2;
    return (bent){
        .x = x * g + 2 * p1 * x * y + p2 * (r2 + 2 * x * x),
        .y = y * g + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y,
        .xx = g + 2 * h * x * x + 2 * p1 * y + 6 * p2 * x,
        .xy = 2 * h * x * y + 2 * p1 * x + 2 * p2 * y,
        .yy = g + 2 * h * y * y + 6 * p1 * y + 2 * p2 * x,
    };
}

static inline double determinant(bent b)
{
    return b.xx * b.yy - b.xy * b.xy;
}

/* One-to-one round the centre needs both eigenvalues of the (symmetric) Jacobian positive. */
static inline int one_to_one(bent b)
{
    return determinant(b) > 0 && b.xx + b.yy > 0;
}

/* Moves *at by the largest halved Newton step that stays one-to-one and comes nearer to the target. Returns 0 when
 * there is none. */
static int step(const sw_lens *lens, sw_point target, sw_point *at, bent *here)
{
    double ex = target.x - here->x, ey = target.y - here->y;
    double miss = ex * ex + ey * ey, d = determinant(*here);
    double dx = (here->yy * ex - here->xy * ey) / d, dy = (here->xx * ey - here->xy * ex) / d;
    for (int halving = 0; halving < MAX_HALVINGS; halving++, dx /= 2, dy /= 2) {
        bent there = bend(lens, at->x + dx, at->y + dy);
        double nx = target.x - there.x, ny = target.y - there.y;
        if (one_to_one(there) && nx * nx + ny * ny < miss) {
            *at = (sw_point){at->x + dx, at->y + dy};
            *here = there;
            return 1;
        }
    }
    return 0;
}

sw_point sw_lens_undistort(const sw_lens *lens, sw_point px)
{
    const sw_point nowhere = {NAN, NAN};
    sw_point target = {(px.x - lens->cx) / lens->fx, (px.y - lens->cy) / lens->fy}, at = target;
    bent here = bend(lens, at.x, at.y);
    if (!one_to_one(here)) {
        at = (sw_point){0, 0};
        here = bend(lens, 0, 0);
    }
    for (int round = 0; round < MAX_ROUNDS; round++) {
        if (fabs(target.x - here.x) < CONVERGED && fabs(target.y - here.y) < CONVERGED)
            return at;
        if (!step(lens, target, &at, &here))
            return nowhere;
    }
    return nowhere;
}

sw_point sw_lens_distort(const sw_lens *lens, sw_point normal)
{
    bent b = bend(lens, normal.x, normal.y);
    return (sw_point){lens->fx * b.x + lens->cx, lens->fy * b.y + lens->cy};
}
