#include "scale/plane.h"

#include <math.h>

#include "maths/lsq.h"

sw_status sw_invert3(const double m[3][3], double o[3][3])
{
    double c0 = m[1][1] * m[2][2] - m[1][2] * m[2][1], c1 = m[1][2] * m[2][0] - m[1][0] * m[2][2],
           c2 = m[1][0] * m[2][1] - m[1][1] * m[2][0], det = m[0][0] * c0 + m[0][1] * c1 + m[0][2] * c2;
    if (!isfinite(det) || fabs(det) < 1e-300)
        return SW_BAD_INPUT;
    double r[3][3] = {
        {c0, m[0][2] * m[2][1] - m[0][1] * m[2][2], m[0][1] * m[1][2] - m[0][2] * m[1][1]},
        {c1, m[0][0] * m[2][2] - m[0][2] * m[2][0], m[0][2] * m[1][0] - m[0][0] * m[1][2]},
        {c2, m[0][1] * m[2][0] - m[0][0] * m[2][1], m[0][0] * m[1][1] - m[0][1] * m[1][0]},
    };
    for (int i = 0; i < 9; i++)
        o[i / 3][i % 3] = r[i / 3][i % 3] / det;
    return SW_OK;
}

sw_status sw_plane_of_square(double half_x, double half_y, const sw_point *corners, double h[3][3])
{
    double x[8][8] = {{0}}, y[8];
    const double sx[4] = {-half_x, half_x, half_x, -half_x}, sy[4] = {half_y, half_y, -half_y, -half_y};
    for (int c = 0; c < 4; c++) {
        double *u = x[2 * c], *v = x[2 * c + 1];
        u[0] = v[3] = sx[c];
        u[1] = v[4] = sy[c];
        u[2] = v[5] = 1;
        u[6] = -corners[c].x * sx[c];
        u[7] = -corners[c].x * sy[c];
        v[6] = -corners[c].y * sx[c];
        v[7] = -corners[c].y * sy[c];
        y[2 * c] = corners[c].x;
        y[2 * c + 1] = corners[c].y;
    }
    h[2][2] = 1;
    return sw_lsq_linear(&x[0][0], y, NULL, 8, 8, 0, &h[0][0], NULL, NULL);
}

sw_status sw_plane_camera(const double to_plane[3][3], double camera[3])
{
    double n1 = 0, n2 = 0, r1[3], r2[3], r3[3], t[3];
    for (int i = 0; i < 3; i++) {
        n1 += to_plane[i][0] * to_plane[i][0];
        n2 += to_plane[i][1] * to_plane[i][1];
    }
    double l1 = 1 / sqrt(n1), l2 = 1 / sqrt(n2), l = sqrt(l1 * l2);
    for (int i = 0; i < 3; i++) {
        r1[i] = to_plane[i][0] * l1;
        r2[i] = to_plane[i][1] * l2;
        t[i] = to_plane[i][2] * l;
    }
    r3[0] = r1[1] * r2[2] - r1[2] * r2[1];
    r3[1] = r1[2] * r2[0] - r1[0] * r2[2];
    r3[2] = r1[0] * r2[1] - r1[1] * r2[0];
    camera[0] = -(r1[0] * t[0] + r1[1] * t[1] + r1[2] * t[2]);
    camera[1] = -(r2[0] * t[0] + r2[1] * t[1] + r2[2] * t[2]);
    camera[2] = fabs(r3[0] * t[0] + r3[1] * t[1] + r3[2] * t[2]);
    return isfinite(camera[0]) && isfinite(camera[1]) && camera[2] > 1 ? SW_OK : SW_BAD_INPUT;
}

void sw_plane_rigid(const double h[3][3], double sd, double *out)
{
    double a = 0, b = 0, ab = 0;
    for (int i = 0; i < 3; i++) {
        a += h[i][0] * h[i][0];
        b += h[i][1] * h[i][1];
        ab += h[i][0] * h[i][1];
    }
    out[0] = ab / sqrt(a * b) / sd;
    out[1] = 0.5 * log(a / b) / sd;
}
