#include "scale/frame.h"

#include <math.h>
#include <string.h>

#include "scale/lens.h"
#include "scale/plane.h"

/* A top higher than this share of the camera's height over the plane is no tile of the table. */
static const double LIFT_MOST = 0.5;

sw_point sw_scale_to_mm(const sw_scale *scale, sw_point px)
{
    return sw_plane_apply(scale->to_mm, sw_lens_undistort(&scale->lens, px));
}

sw_point sw_scale_to_px(const sw_scale *scale, sw_point mm)
{
    return sw_lens_distort(&scale->lens, sw_plane_apply(scale->to_plane, mm));
}

void sw_scale_take_alternative(const sw_scale *scale, int i, sw_scale *out)
{
    const sw_scale_alternative *a = &scale->alternatives[i];
    *out = *scale;
    sw_lens_take_numbers(a->lens, &out->lens);
    memcpy(out->to_plane, a->to_plane, sizeof out->to_plane);
    memcpy(out->to_mm, a->to_mm, sizeof out->to_mm);
}

/* to_plane' = to_plane * back (new mm -> old mm), scaled so that its last element is 1. */
static void change_plane(double to_plane[3][3], double to_mm[3][3], const double back[3][3])
{
    double turned[3][3];
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            turned[i][j] = to_plane[i][0] * back[0][j] + to_plane[i][1] * back[1][j] + to_plane[i][2] * back[2][j];
    for (int i = 0; i < 9; i++)
        to_plane[i / 3][i % 3] = turned[i / 3][i % 3] / turned[2][2];
    sw_invert3(to_plane, to_mm);
}

static void turn_plane(double to_plane[3][3], double to_mm[3][3], sw_point origin, double c, double s)
{
    const double back[3][3] = {{c, -s, origin.x}, {s, c, origin.y}, {0, 0, 1}};
    change_plane(to_plane, to_mm, back);
}

/* A point `rise` up at (x, y) hides the point of the plane that lies h / (h - rise) times as far from the camera's foot c: c + (p -
 * c) h / (h - rise), over h - rise a linear map of (x, y, 1), as rise is. */
static sw_status lift_plane(double to_plane[3][3], double to_mm[3][3], const sw_top *top)
{
    double c[3], e = top->east, n = top->north, level = sw_top_rise(top, (sw_point){0, 0});
    if (sw_plane_camera(to_plane, c) || !(top->rise_mm < LIFT_MOST * c[2]))
        return SW_BAD_INPUT;
    const double back[3][3] = {{c[2] - c[0] * e, -c[0] * n, -c[0] * level},
                               {-c[1] * e, c[2] - c[1] * n, -c[1] * level},
                               {-e, -n, c[2] - level}};
    change_plane(to_plane, to_mm, back);
    return SW_OK;
}

sw_status sw_scale_lift(const sw_scale *scale, const sw_top *top, sw_scale *out)
{
    *out = *scale;
    if (sw_top_in_plane(top))
        return SW_OK;
    sw_status failed = lift_plane(out->to_plane, out->to_mm, top);
    for (int i = 0; !failed && i < out->alternative_count; i++)
        failed = lift_plane(out->alternatives[i].to_plane, out->alternatives[i].to_mm, top);
    if (failed)
        *out = *scale;
    return failed;
}

void sw_scale_turn(sw_scale *scale, sw_point origin, double angle_rad)
{
    double c = cos(angle_rad), s = sin(angle_rad);
    turn_plane(scale->to_plane, scale->to_mm, origin, c, s);
    for (int i = 0; i < scale->alternative_count; i++)
        turn_plane(scale->alternatives[i].to_plane, scale->alternatives[i].to_mm, origin, c, s);
    for (int i = 0; i < sw_scale_cards(scale); i++)
        for (int k = 0; k < 4; k++) {
            sw_square *square =
                i < scale->square_count ? &scale->squares[i] : &scale->left_out[i - scale->square_count].square;
            sw_point *p = &square->corners_mm[k];
            double x = p->x - origin.x, y = p->y - origin.y;
            *p = (sw_point){c * x + s * y, -s * x + c * y};
        }
}

sw_status sw_camera_place(const sw_scale *scale, double camera[3])
{
    return sw_plane_camera(scale->to_plane, camera);
}

static void stretch_plane(double to_plane[3][3], double to_mm[3][3], double factor)
{
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 2; j++)
            to_plane[i][j] /= factor;
    sw_invert3(to_plane, to_mm);
}

void sw_scale_lower(sw_scale *scale, double thickness_mm, double thickness_u_mm)
{
    double camera[3];
    if (sw_camera_place(scale, camera))
        return;
    /* Seen from the camera a point of the tops h + d below it lies (h + d) / h times as far from its foot as the point
     * of the cards in front of it. Which point of the frame is the origin does not matter. */
    double factor = 1 + thickness_mm / camera[2];
    stretch_plane(scale->to_plane, scale->to_mm, factor);
    for (int i = 0; i < scale->alternative_count; i++)
        stretch_plane(scale->alternatives[i].to_plane, scale->alternatives[i].to_mm, factor);
    for (int i = 0; i < scale->square_count; i++)
        for (int k = 0; k < 4; k++) {
            scale->squares[i].corners_mm[k].x *= factor;
            scale->squares[i].corners_mm[k].y *= factor;
        }
    scale->px_per_mm /= factor;
    scale->thickness_mm = thickness_mm;
    scale->thickness_u_mm = thickness_u_mm;
    scale->thickness_u_rel = thickness_u_mm / camera[2];
    scale->reference_u_rel = hypot(scale->reference_u_rel, scale->thickness_u_rel);
}

bool sw_square_covers(const sw_square *square, sw_point mm, double white_mm)
{
    sw_point to = sw_minus(mm, sw_square_middle(square)), e = sw_minus(square->corners_mm[1], square->corners_mm[0]);
    double side = hypot(e.x, e.y), u = (to.x * e.x + to.y * e.y) / side, v = (-to.x * e.y + to.y * e.x) / side;
    return fabs(u) < side / 2 + white_mm && fabs(v) < side / 2 + white_mm;
}

bool sw_scale_covers(const sw_scale *scale, sw_point mm, double white_mm)
{
    for (int i = 0; i < sw_scale_cards(scale); i++)
        if (sw_square_covers(sw_scale_card(scale, i), mm, white_mm))
            return true;
    return false;
}
