/* puzzle_joints.c - a layout's seams as sw_settle takes them.
 *
 *      place p          p + 1          Places lie on a lattice, north up. u runs clockwise along the first tile's
 *     +-------+      +-------+         edge: down its east side, and from right to left along its south side.
 *     |       | u    |       |         at_mm runs down an upright seam, from left to right along a level one.
 *     |       | |    |       |
 *     +-------+ v    +-------+
 */
#include "arrange/puzzle.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void sw_joints_free(sw_joints *joints)
{
    free(joints->centres);
    free(joints->joints);
    free(joints->points);
    memset(joints, 0, sizeof *joints);
}

/* A joint without its points. */
static sw_joint lay_joint(const sw_meeting *m, const sw_point *centres, double pitch)
{
    sw_joint j = {.first = m->first, .second = m->second, .start_mm = centres[m->first]};
    j.start_mm.x += m->upright ? pitch / 2 : -pitch / 2;
    j.start_mm.y += m->upright ? pitch / 2 : -pitch / 2;
    j.along = m->upright ? (sw_point){0, -1} : (sw_point){1, 0};
    j.across = m->upright ? (sw_point){1, 0} : (sw_point){0, -1};
    return j;
}

/* u along the first tile's edge becomes at_mm along the joint. */
static double at_of(bool upright, double pitch, double u)
{
    return pitch / 2 + (upright ? u : -u);
}

static size_t put_points(const sw_profile *profile, bool upright, double pitch, double closed, sw_joint_point *points)
{
    if (profile->seen < SW_JOINT_LEAST_SEEN)
        return 0;
    size_t n = (size_t)profile->count;
    for (size_t i = 0; i < n; i++)
        points[upright ? i : n - 1 - i] = (sw_joint_point){.at_mm = at_of(upright, pitch, profile->u[i]),
                                                           .gap_mm = closed + profile->f[i],
                                                           .limits = profile->limits[i],
                                                           .apart = true};
    return n;
}

static bool make_room(const sw_puzzle *puzzle, const sw_outline *outlines, size_t *each, sw_joints *joints)
{
    int reach = 1;
    for (int i = 0; i < puzzle->places; i++)
        reach = outlines[i].reach > reach ? outlines[i].reach : reach;
    *each = 2 * (size_t)reach + 1;
    joints->places = (size_t)puzzle->places;
    joints->count = (size_t)puzzle->meeting_count;
    joints->centres = calloc(joints->places + 1, sizeof *joints->centres);
    joints->joints = calloc(joints->count + 1, sizeof *joints->joints);
    joints->points = calloc(joints->count * *each + 1, sizeof *joints->points);
    return joints->centres && joints->joints && joints->points;
}

sw_status sw_joints_make(const sw_puzzle *puzzle, const sw_place *places, const sw_outline *outlines, double pitch_mm,
                         sw_joints *joints, sw_error *err)
{
    size_t each;
    memset(joints, 0, sizeof *joints);
    sw_profile *profile = malloc(sizeof *profile);
    if (!make_room(puzzle, outlines, &each, joints) || !profile) {
        free(profile);
        sw_joints_free(joints);
        return sw_fail(err, SW_NO_MEMORY, "not enough memory to lay out the seams; close other programs and try again");
    }
    for (int p = 0; p < puzzle->places; p++)
        joints->centres[p] = (sw_point){p % puzzle->columns * pitch_mm, -(p / puzzle->columns) * pitch_mm};
    for (int m = 0; m < puzzle->meeting_count; m++) {
        const sw_meeting *meeting = &puzzle->meetings[m];
        const sw_place *a = &places[meeting->first], *b = &places[meeting->second];
        const sw_outline *one = &outlines[a->tile], *two = &outlines[b->tile];
        double closed = pitch_mm - one->half_mm - two->half_mm;
        sw_joint *joint = &joints->joints[m];
        *joint = lay_joint(meeting, joints->centres, pitch_mm);
        joint->points = joints->points + (size_t)m * each;
        sw_profile_make(one, sw_side_turned(meeting->upright ? SW_EAST : SW_SOUTH, -a->turns), two,
                        sw_side_turned(meeting->upright ? SW_WEST : SW_NORTH, -b->turns), profile);
        joint->point_count = put_points(profile, meeting->upright, pitch_mm, closed, joint->points);
    }
    free(profile);
    return SW_OK;
}
