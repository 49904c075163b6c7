#include "scale/calibrate/notes.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

/* ---- where the board was ---- */

/* Places each way that stand for the frame; divisible by 3, for the nine parts. */
enum { PLACES = 24, PARTS = 3 };
/* A part of which less than this was covered counts as hardly covered: the board's rim just reached into it. */
static const double HARDLY = 0.25;

/* Mean distance from a corner to the next in its view: the side of one square there, px. Corners stand row after row,
 * so the nearest of the others is a neighbour. */
static double square_px(const sw_view *view, size_t i)
{
    double nearest = INFINITY;
    for (size_t k = 0; k < view->count; k++) {
        double d = hypot(view->sights[k].px.x - view->sights[i].px.x, view->sights[k].px.y - view->sights[i].px.y);
        if (k != i && d < nearest)
            nearest = d;
    }
    return nearest;
}

typedef struct cover {
    int width_px, height_px, orientation;
    unsigned char seen[PLACES][PLACES]; /* by row and column as shown */
} cover;

static void mark(cover *c, sw_point px, double reach)
{
    sw_photo frame = {.width_px = c->width_px, .height_px = c->height_px, .orientation = c->orientation};
    int turned = c->orientation >= 5;
    double wide = turned ? c->height_px : c->width_px, high = turned ? c->width_px : c->height_px;
    sw_point at = sw_photo_show(&frame, px);
    for (int row = 0; row < PLACES; row++) {
        for (int column = 0; column < PLACES; column++) {
            double x = (column + 0.5) * wide / PLACES, y = (row + 0.5) * high / PLACES;
            if (hypot(x - at.x, y - at.y) <= reach)
                c->seen[row][column] = 1;
        }
    }
}

static double share_of(const cover *c, int row0, int column0, int size)
{
    int sum = 0;
    for (int row = row0; row < row0 + size; row++)
        for (int column = column0; column < column0 + size; column++)
            sum += c->seen[row][column];
    return (double)sum / (size * size);
}

/* A note on the parts whose share lies in (from, to]; none when there are none. how: "never". */
static sw_status note_parts(const cover *c, double from, double to, const char *how, sw_notes *notes)
{
    static const char *const NAMES[PARTS][PARTS] = {{"upper left", "upper middle", "upper right"},
                                                    {"middle left", "very middle", "middle right"},
                                                    {"lower left", "lower middle", "lower right"}};
    const char *listed[PARTS * PARTS];
    char text[200] = "";
    int count = 0;
    for (int row = 0; row < PARTS; row++) {
        for (int column = 0; column < PARTS; column++) {
            double share = share_of(c, row * PLACES / PARTS, column * PLACES / PARTS, PLACES / PARTS);
            if (share > from && share <= to)
                listed[count++] = NAMES[row][column];
        }
    }
    for (int i = 0; i < count; i++) {
        const char *joint = i == 0 ? "the " : i == count - 1 ? " and the " : ", the ";
        size_t used = strlen(text);
        snprintf(text + used, sizeof text - used, "%s%s", joint, listed[i]);
    }
    return count ? sw_note_add(notes, SW_NOTE_FRAME_NOT_COVERED,
                               "%s of the frame %s %s covered: hold the board there too", text,
                               count > 1 ? "were" : "was", how)
                 : SW_OK;
}

sw_status sw_note_coverage(const sw_view *views, size_t count, const sw_photo *frame, sw_notes *notes, double *covered)
{
    cover c = {.width_px = frame->width_px, .height_px = frame->height_px, .orientation = frame->orientation};
    for (size_t v = 0; v < count; v++)
        for (size_t i = 0; i < views[v].count; i++)
            if (!views[v].sights[i].left_out)
                mark(&c, views[v].sights[i].px, square_px(&views[v], i));
    *covered = share_of(&c, 0, 0, PLACES);
    sw_status status = note_parts(&c, -1, 0, "never", notes);
    return status ? status : note_parts(&c, 0, HARDLY, "hardly", notes);
}

/* ---- how the board lay ---- */

/* Two views are one and the same when the board turned by less than 3 degrees between them and moved by less than 3 %
 * of its distance: what a hand does that means to hold still. */
static const double SAME_TURN_RAD = 0.05, SAME_SHIFT = 0.03;

/* The angle of the turn from one rotation vector to another: half-angle quaternions a and b, cos(angle / 2) = |a . b|.
 */
static double turn_between(const double a[3], const double b[3])
{
    double size_a = sqrt(a[0] * a[0] + a[1] * a[1] + a[2] * a[2]);
    double size_b = sqrt(b[0] * b[0] + b[1] * b[1] + b[2] * b[2]);
    double share_a = size_a > 0 ? sin(size_a / 2) / size_a : 0.5, share_b = size_b > 0 ? sin(size_b / 2) / size_b : 0.5;
    double dot = cos(size_a / 2) * cos(size_b / 2) + share_a * share_b * (a[0] * b[0] + a[1] * b[1] + a[2] * b[2]);
    return 2 * acos(fmin(fabs(dot), 1));
}

static bool same(const sw_view *a, const sw_view *b)
{
    double shift = 0, distance = 0;
    for (int i = 0; i < 3; i++) {
        shift += pow(a->shift_mm[i] - b->shift_mm[i], 2);
        distance += pow(a->shift_mm[i], 2);
    }
    return turn_between(a->turn, b->turn) < SAME_TURN_RAD && shift < SAME_SHIFT * SAME_SHIFT * distance;
}

size_t sw_distinct_views(const sw_view *views, size_t count)
{
    size_t distinct = 0;
    for (size_t v = 0; v < count; v++) {
        int seen = 0;
        for (size_t k = 0; k < v && !seen; k++)
            seen = same(&views[v], &views[k]);
        distinct += !seen;
    }
    return distinct;
}

/* ---- the board itself ---- */

/* What is worth saying: well beyond its own uncertainty, and large enough to have cost something had it not been
 * fitted. */
static const double SURE = 4, STRETCH_SAID = 0.002, SAG_SAID_MM = 0.3;
/* Sharp photos of a flat board leave 0.01 to 0.2 px. */
static const double RESIDUAL_SAID_PX = 0.5;

/* Half the largest distance between corners of one view, mm. */
static double half_board_mm(const sw_view *views, size_t count)
{
    double most = 0;
    for (size_t v = 0; v < count; v++)
        for (size_t i = 0; i < views[v].count; i++)
            most = fmax(most, hypot(views[v].sights[i].board_mm.x, views[v].sights[i].board_mm.y));
    return most;
}

sw_status sw_note_board(const sw_view *views, size_t count, const sw_lens *lens, const sw_solution *solution,
                        sw_notes *notes)
{
    const double *c = solution->curve, *u = solution->u_curve;
    double half_mm = half_board_mm(views, count);
    /* The larger principal curvature of [xx xy; xy yy]. */
    double curve = fabs(c[0] + c[2]) / 2 + hypot((c[0] - c[2]) / 2, c[1]), sag_mm = curve * half_mm * half_mm / 2000;
    double stretch = solution->stretch - 1;
    sw_status status = SW_OK;
    if (sag_mm > SAG_SAID_MM && curve > SURE * sqrt(u[0] * u[0] + u[1] * u[1] + u[2] * u[2]))
        status = sw_note_add(notes, SW_NOTE_BOARD_UNEVEN,
                             "the board was bent by about %.1f mm; this was allowed for, but glue it to something flat",
                             sag_mm);
    if (!status && fabs(stretch) > STRETCH_SAID && fabs(stretch) > SURE * solution->u_stretch)
        status = sw_note_add(notes, SW_NOTE_BOARD_UNEVEN,
                             "the printed squares are %.1f %% %s than wide; this was allowed for", 100 * fabs(stretch),
                             stretch > 0 ? "taller" : "less tall");
    if (!status && lens->residual_px > RESIDUAL_SAID_PX)
        status = sw_note_add(notes, SW_NOTE_CORNERS_SCATTER,
                             "the corners scatter by %.1f px: the board may not be flat, or the photos not sharp; a "
                             "better profile comes from a board glued to glass or a plate, and a camera held still",
                             lens->residual_px);
    return status;
}
