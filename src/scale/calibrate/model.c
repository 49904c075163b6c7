/* model.c - board corner -> photo, with derivatives written out. */
#include "scale/calibrate/model.h"

#include <math.h>
#include <string.h>

#include "scale/lens.h"

void sw_model_to_lens(const double camera[SW_CAMERA_NUMBERS], sw_lens *lens)
{
    sw_lens_take_numbers(camera, lens);
    lens->fy = camera[SW_F] * camera[SW_RATIO];
}

static void cross_matrix(const double v[3], double m[3][3])
{
    double out[3][3] = {{0, -v[2], v[1]}, {v[2], 0, -v[0]}, {-v[1], v[0], 0}};
    memcpy(m, out, sizeof out);
}

static void multiply(double a[3][3], double b[3][3], double out[3][3])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            out[i][k] = a[i][0] * b[0][k] + a[i][1] * b[1][k] + a[i][2] * b[2][k];
}

/* Rodrigues: R = I + sin a [u] + (1 - cos a) [u]^2, u the axis, a the angle. */
static void rotation_matrix(const double turn[3], double angle, double r[3][3])
{
    double cross[3][3], square[3][3];
    double s = angle > 0 ? sin(angle) / angle : 1, c = angle > 0 ? 2 * pow(sin(angle / 2) / angle, 2) : 0.5;
    cross_matrix(turn, cross);
    multiply(cross, cross, square);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            r[i][k] = (i == k) + s * cross[i][k] + c * square[i][k];
}

/* dR/dv_i = (v_i [v] + [v x (I - R) e_i]) R / |v|^2 (Gallego and Yezzi 2015, eq. 9); [e_i] R as v goes to 0. */
void sw_rotation_from(const double turn[3], sw_rotation *rotation)
{
    double square = turn[0] * turn[0] + turn[1] * turn[1] + turn[2] * turn[2];
    double cross[3][3], axis[3][3];
    rotation_matrix(turn, sqrt(square), rotation->r);
    cross_matrix(turn, cross);
    for (int i = 0; i < 3; i++) {
        double e[3] = {i == 0, i == 1, i == 2}, w[3], rest[3];
        for (int k = 0; k < 3; k++)
            rest[k] = e[k] - rotation->r[k][i];
        for (int k = 0; k < 3; k++)
            w[k] = cross[k][0] * rest[0] + cross[k][1] * rest[1] + cross[k][2] * rest[2];
        bool small = square < 1e-16; /* below, the formula is 0/0; e_i is right to 1e-8 */
        for (int k = 0; k < 3; k++)
            w[k] = small ? e[k] : (w[k] + turn[i] * turn[k]) / square;
        cross_matrix(w, axis);
        multiply(axis, rotation->r, rotation->dr[i]);
    }
}

/* The other way round: the quaternion (w, q) of R, from its trace or, near half a turn, its largest diagonal. */
static void turn_from(double r[3][3], double turn[3])
{
    int i = r[0][0] > r[1][1] ? (r[0][0] > r[2][2] ? 0 : 2) : (r[1][1] > r[2][2] ? 1 : 2);
    int j = (i + 1) % 3, k = (i + 2) % 3;
    double w, q[3], trace = r[0][0] + r[1][1] + r[2][2];
    if (trace > 0) {
        w = sqrt(1 + trace) / 2;
        q[i] = (r[k][j] - r[j][k]) / (4 * w);
        q[j] = (r[i][k] - r[k][i]) / (4 * w);
        q[k] = (r[j][i] - r[i][j]) / (4 * w);
    } else {
        q[i] = sqrt(1 + r[i][i] - r[j][j] - r[k][k]) / 2;
        q[j] = (r[i][j] + r[j][i]) / (4 * q[i]);
        q[k] = (r[i][k] + r[k][i]) / (4 * q[i]);
        w = (r[k][j] - r[j][k]) / (4 * q[i]);
    }
    double length = sqrt(q[0] * q[0] + q[1] * q[1] + q[2] * q[2]), angle = 2 * atan2(length, w);
    for (int n = 0; n < 3; n++)
        turn[n] = length > 0 ? angle * q[n] / length : 0;
}

/* Half a turn about the line of sight, after half a turn of the board in its own plane: R' = H(shift) R H(z). */
void sw_mirror_turn(const double turn[3], const double shift_mm[3], double mirrored[3])
{
    double size = sqrt(shift_mm[0] * shift_mm[0] + shift_mm[1] * shift_mm[1] + shift_mm[2] * shift_mm[2]);
    double about[3] = {M_PI * shift_mm[0] / size, M_PI * shift_mm[1] / size, M_PI * shift_mm[2] / size};
    double sight[3][3], half[3][3] = {{-1, 0, 0}, {0, -1, 0}, {0, 0, 1}}, first[3][3], out[3][3];
    sw_rotation rotation;
    sw_rotation_from(turn, &rotation);
    rotation_matrix(about, M_PI, sight);
    multiply(rotation.r, half, first);
    multiply(sight, first, out);
    turn_from(out, mirrored);
}

static void turn_point(const double m[3][3], const double q[3], double out[3])
{
    for (int i = 0; i < 3; i++)
        out[i] = m[i][0] * q[0] + m[i][1] * q[1] + m[i][2] * q[2];
}

/* Per mm^2 and 1/m: half a curvature, mm to m. */
static const double SAG = 1 / 2000.0;

/* The corner on the board as it is, and its derivatives by stretch and the three curvatures. */
typedef struct shaped {
    double q[3];
    double slope[4][3];
} shaped;

static shaped shape(const double camera[SW_CAMERA_NUMBERS], sw_point board_mm, bool applies)
{
    double x = board_mm.x, y0 = board_mm.y, y = y0 * camera[SW_STRETCH];
    double xx = camera[SW_CURVE_XX], xy = camera[SW_CURVE_XY], yy = camera[SW_CURVE_YY];
    if (!applies)
        return (shaped){.q = {x, y0, 0}};
    return (shaped){
        .q = {x, y, SAG * (xx * x * x + 2 * xy * x * y + yy * y * y)},
        .slope = {{0, y0, SAG * 2 * y0 * (xy * x + yy * y)},
                  {0, 0, SAG * x * x},
                  {0, 0, SAG * 2 * x * y},
                  {0, 0, SAG * y * y}},
    };
}

/* What moving the point by d (camera frame, mm) does to the pixel. */
typedef struct seen_point {
    sw_bent bent;
    double nx, ny, depth_mm, fx, fy;
} seen_point;

static sw_point moved(const seen_point *l, const double d[3])
{
    double dx = (d[0] - l->nx * d[2]) / l->depth_mm, dy = (d[1] - l->ny * d[2]) / l->depth_mm;
    return (sw_point){l->fx * (l->bent.xx * dx + l->bent.xy * dy), l->fy * (l->bent.xy * dx + l->bent.yy * dy)};
}

static void slopes_by_camera(const seen_point *l, double ratio, sw_projected *out)
{
    double x = l->nx, y = l->ny, r2 = x * x + y * y;
    double radial[3] = {r2, r2 * r2, r2 * r2 * r2};
    const int place[3] = {SW_LENS_K1, SW_LENS_K2, SW_LENS_K3};
    memset(out->by_camera, 0, sizeof out->by_camera);
    out->by_camera[0][SW_F] = l->bent.x;
    out->by_camera[1][SW_F] = l->bent.y * ratio;
    out->by_camera[1][SW_RATIO] = l->bent.y * l->fx;
    out->by_camera[0][SW_LENS_CX] = 1;
    out->by_camera[1][SW_LENS_CY] = 1;
    for (int i = 0; i < 3; i++) {
        out->by_camera[0][place[i]] = l->fx * x * radial[i];
        out->by_camera[1][place[i]] = l->fy * y * radial[i];
    }
    out->by_camera[0][SW_LENS_P1] = l->fx * 2 * x * y;
    out->by_camera[1][SW_LENS_P1] = l->fy * (r2 + 2 * y * y);
    out->by_camera[0][SW_LENS_P2] = l->fx * (r2 + 2 * x * x);
    out->by_camera[1][SW_LENS_P2] = l->fy * 2 * x * y;
}

static void slopes_by_pose_and_board(const seen_point *l, const sw_rotation *rotation, const shaped *at,
                                     sw_projected *out)
{
    double d[3];
    for (int i = 0; i < SW_POSE_NUMBERS; i++) {
        if (i < 3)
            turn_point(rotation->dr[i], at->q, d);
        else
            memcpy(d, (double[3]){i == 3, i == 4, i == 5}, sizeof d);
        sw_point m = moved(l, d);
        out->by_pose[0][i] = m.x;
        out->by_pose[1][i] = m.y;
    }
    for (int i = SW_STRETCH; i < SW_CAMERA_NUMBERS; i++) {
        turn_point(rotation->r, at->slope[i - SW_STRETCH], d);
        sw_point m = moved(l, d);
        out->by_camera[0][i] = m.x;
        out->by_camera[1][i] = m.y;
    }
}

sw_status sw_model_project(const double camera[SW_CAMERA_NUMBERS], const sw_rotation *rotation,
                           const double shift_mm[3], sw_point board_mm, bool applies, bool with_slopes,
                           sw_projected *out)
{
    double p[3];
    sw_lens lens;
    sw_model_to_lens(camera, &lens);
    shaped at = shape(camera, board_mm, applies);
    turn_point(rotation->r, at.q, p);
    for (int i = 0; i < 3; i++)
        p[i] += shift_mm[i];
    if (!(p[2] > 0))
        return SW_NOT_FOUND;
    seen_point l = {.nx = p[0] / p[2], .ny = p[1] / p[2], .depth_mm = p[2], .fx = lens.fx, .fy = lens.fy};
    l.bent = sw_lens_bend(&lens, l.nx, l.ny);
    if (!sw_lens_one_to_one(l.bent))
        return SW_NOT_FOUND;
    out->px = (sw_point){lens.fx * l.bent.x + lens.cx, lens.fy * l.bent.y + lens.cy};
    if (with_slopes) {
        slopes_by_camera(&l, camera[SW_RATIO], out);
        slopes_by_pose_and_board(&l, rotation, &at, out);
    }
    return SW_OK;
}
