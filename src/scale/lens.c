/* lens.c - the lens model both ways.
 *
 * Forward it is a polynomial. Back it has no closed form; Newton's method on the two equations, with the Jacobian
 * written out, takes three or four rounds for any lens that is sold. The step is halved while it would leave the region
 * where the model is one-to-one (Jacobian determinant positive) or would not come nearer: a polynomial folds over far
 * outside the frame it was fitted in, and the root beyond the fold is not the point that was seen. */
#include "scale/lens.h"

#include <math.h>
#include <string.h>

#include "maths/lsq.h"

/* Where Newton stops, in units of the normal plane: 3e-7 px at fx = 3000 px, far below any corner or rim. */
static const double CONVERGED = 1e-10;
/* Rounds after which the point has no preimage; four are usual, strong fisheye-like lenses near their fold take ten. */
enum { MAX_ROUNDS = 40, MAX_HALVINGS = 20 };

/* What is not fitted of an unknown lens: how far its centre lies from the picture's middle, share of the focal length (30 px of 2900: makers
 * centre to a few hundredths of a millimetre, on sensors of 6 mm), and k3, whose share of the bending at a picture's corner (r^2 = 0.75)
 * is half of k2's. From memory of phones' calibrations, no source; the study's cameras are one sample, within 0.015. Standard
 * deviations. */
static const double CENTRE_U_REL = 0.01, K3_U = 0.03;
/* Sensors are 4:3, 3:2 or 16:9 (and 1:1 of it); a picture of another format, by more than this, was cut by someone, who rarely cuts as much off each
 * side: its middle may lie so far off the lens's, share of the focal length. */
static const double FORMATS[] = {4.0 / 3, 3.0 / 2, 16.0 / 9, 1}, FORMAT_OFF = 0.01, CENTRE_U_CUT = 0.05;
/* A profile was made at another focus: a thin lens of 4.3 mm stands 0.9 % farther out for a board at half a metre and 0.4 % for a table
 * at 1.2 m, so the focal length differs by 0.5 %. Moved as a whole, as phones focus, a lens whose magnification changes by m bends by m times what
 * it bends when turned round (Magill 1955, Brown 1971, from memory), which is of the size of its own bending: with m = 0.005 and |k1| up to 0.2
 * that is 0.001. */
static const double FOCUS_U_REL = 0.005, FOCUS_K1_U = 0.001;

void sw_lens_numbers(const sw_lens *l, double numbers[SW_LENS_NUMBERS])
{
    const double all[] = {l->fx, l->fy, l->cx, l->cy, l->k1, l->k2, l->p1, l->p2, l->k3};
    memcpy(numbers, all, sizeof all);
}

void sw_lens_take_numbers(const double numbers[SW_LENS_NUMBERS], sw_lens *l)
{
    double *const all[] = {&l->fx, &l->fy, &l->cx, &l->cy, &l->k1, &l->k2, &l->p1, &l->p2, &l->k3};
    for (int i = 0; i < SW_LENS_NUMBERS; i++)
        *all[i] = numbers[i];
}

/* Moves *at by the largest halved Newton step that stays one-to-one and comes nearer to the target; false when there
 * is none. */
static bool step(const sw_lens *lens, sw_point target, sw_point *at, sw_bent *here)
{
    double ex = target.x - here->x, ey = target.y - here->y;
    double miss = ex * ex + ey * ey, d = here->xx * here->yy - here->xy * here->xy;
    double dx = (here->yy * ex - here->xy * ey) / d, dy = (here->xx * ey - here->xy * ex) / d;
    for (int halving = 0; halving < MAX_HALVINGS; halving++, dx /= 2, dy /= 2) {
        sw_bent there = sw_lens_bend(lens, at->x + dx, at->y + dy);
        double nx = target.x - there.x, ny = target.y - there.y;
        if (sw_lens_one_to_one(there) && nx * nx + ny * ny < miss) {
            *at = (sw_point){at->x + dx, at->y + dy};
            *here = there;
            return true;
        }
    }
    return false;
}

sw_point sw_lens_undistort(const sw_lens *lens, sw_point px)
{
    const sw_point nowhere = {NAN, NAN};
    sw_point target = {(px.x - lens->cx) / lens->fx, (px.y - lens->cy) / lens->fy}, at = target;
    sw_bent here = sw_lens_bend(lens, at.x, at.y);
    if (!sw_lens_one_to_one(here)) {
        at = (sw_point){0, 0};
        here = sw_lens_bend(lens, 0, 0);
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
    sw_bent b = sw_lens_bend(lens, normal.x, normal.y);
    return (sw_point){lens->fx * b.x + lens->cx, lens->fy * b.y + lens->cy};
}

static bool cut(const sw_lens *lens)
{
    double longer = fmax(lens->width_px, lens->height_px), format = longer / fmin(lens->width_px, lens->height_px);
    for (size_t i = 0; i < sizeof FORMATS / sizeof *FORMATS; i++)
        if (fabs(format / FORMATS[i] - 1) < FORMAT_OFF)
            return false;
    return true;
}

void sw_lens_unfitted_root(const sw_lens *lens, double root[SW_LENS_NUMBERS][SW_LENS_NUMBERS])
{
    if (lens->source == SW_LENS_PROFILE) {
        memcpy(root, lens->covariance, sizeof lens->covariance);
        const double f[2] = {FOCUS_U_REL * lens->fx, FOCUS_U_REL * lens->fy};
        for (int i = 0; i < 4; i++)
            root[SW_LENS_FX + i / 2][SW_LENS_FX + i % 2] += f[i / 2] * f[i % 2];
        root[SW_LENS_K1][SW_LENS_K1] += FOCUS_K1_U * FOCUS_K1_U;
        sw_covariance_root(&root[0][0], SW_LENS_NUMBERS);
        return;
    }
    memset(root, 0, sizeof lens->covariance);
    root[SW_LENS_CX][SW_LENS_CX] = root[SW_LENS_CY][SW_LENS_CY] = (cut(lens) ? CENTRE_U_CUT : CENTRE_U_REL) * lens->fx;
    root[SW_LENS_K3][SW_LENS_K3] = K3_U;
}
