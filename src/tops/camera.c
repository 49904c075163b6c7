#include "tops/camera.h"

#include <math.h>
#include <string.h>

/* Where the sight line of a camera through a point of its normal plane meets a top. */
sw_point sw_tops_meet(const sw_tops_camera *v, sw_point n, const double z[SW_TOP_NUMBERS], sw_point middle)
{
    double d[3];
    for (int i = 0; i < 3; i++)
        d[i] = v->turn[0][i] * n.x + v->turn[1][i] * n.y + v->turn[2][i];
    double over = v->place[2] - z[0] - z[1] * (v->place[0] - middle.x) - z[2] * (v->place[1] - middle.y);
    double s = over / (z[1] * d[0] + z[2] * d[1] - d[2]);
    return (sw_point){v->place[0] + s * d[0], v->place[1] + s * d[1]};
}

/* Small turns about the world's axes, then a shift. */
void sw_tops_camera_move(sw_tops_camera *v, const double by[SW_CAMERA_NUMBERS])
{
    double angle = sqrt(by[0] * by[0] + by[1] * by[1] + by[2] * by[2]), k[3] = {0, 0, 1}, r[3][3], out[3][3];
    for (int i = 0; angle > 0 && i < 3; i++)
        k[i] = by[i] / angle;
    double c = cos(angle), s = sin(angle);
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            r[i][j] = (i == j ? c : 0) + (1 - c) * k[i] * k[j];
    r[0][1] -= s * k[2], r[1][0] += s * k[2];
    r[0][2] += s * k[1], r[2][0] -= s * k[1];
    r[1][2] -= s * k[0], r[2][1] += s * k[0];
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            out[i][j] = v->turn[i][0] * r[j][0] + v->turn[i][1] * r[j][1] + v->turn[i][2] * r[j][2]; /* turn r' */
    memcpy(v->turn, out, sizeof out);
    for (int i = 0; i < 3; i++)
        v->place[i] += by[3 + i];
}

/* A camera from its homography mm -> normal plane: columns are the world's axes as the camera sees them, z up. */
sw_status sw_tops_camera_of(const sw_scale *scale, sw_tops_camera *v)
{
    double n1 = 0, n2 = 0, dot = 0, t[3];
    const double(*h)[3] = scale->to_plane;
    for (int i = 0; i < 3; i++) {
        n1 += h[i][0] * h[i][0];
        n2 += h[i][1] * h[i][1];
    }
    n1 = sqrt(n1), n2 = sqrt(n2);
    for (int i = 0; i < 3; i++) {
        v->turn[i][0] = h[i][0] / n1;
        dot += h[i][0] / n1 * h[i][1] / n2;
        t[i] = h[i][2] / sqrt(n1 * n2);
    }
    double rest = sqrt(fmax(1e-12, 1 - dot * dot));
    for (int i = 0; i < 3; i++)
        v->turn[i][1] = (h[i][1] / n2 - dot * v->turn[i][0]) / rest;
    for (int i = 0; i < 3; i++) {
        int a = (i + 1) % 3, b = (i + 2) % 3;
        v->turn[i][2] = v->turn[a][0] * v->turn[b][1] - v->turn[b][0] * v->turn[a][1];
    }
    for (int i = 0; i < 3; i++)
        v->place[i] = -(v->turn[0][i] * t[0] + v->turn[1][i] * t[1] + v->turn[2][i] * t[2]);
    return isfinite(v->place[2]) && v->place[2] > 1 ? SW_OK : SW_NOT_FOUND;
}
