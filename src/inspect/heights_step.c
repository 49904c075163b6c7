/* heights_step.c - see heights_step.h.
 *
 *   camera *
 *          |  .
 *          | v   .
 *        h |        .
 *          |           .
 *          |              .
 *          |                 .____________ a tile whose top
 *          |                 |  .          stands d higher
 *    ------+-----------------+-----.------ plane of the mm frame
 *         foot               |<--->|
 *                            d tan(v)
 *
 * A rim that stands d above its neighbour's is seen d tan(v) farther from the camera's foot than it is, v being the view
 * angle across the seam. If the far tile is the higher one (as drawn), the gap looks wider by d tan(v): its side face
 * shows. If the near one is, the gap looks narrower, and where it is less than d tan(v), nothing of it is seen.
 */
#include "inspect/heights_step.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "inspection/tops.h"
#include "scale/frame.h"

/* Standard uncertainty of a height the user gives, mm: tiles measured with a ruler to 0.2 mm, or of foam that gives way
 * to the caliper. Common practice, no source. */
static const double HEIGHT_U_MM = 0.1;
/* The step that is spoken of when nobody gave heights, mm: what one does not see at a glance. */
static const double UNNOTICED_MM = 1;

void sw_heights_under_squares(const sw_heights *heights, const sw_grid *grid, const sw_scale *scale, double *rise_mm)
{
    for (int s = 0; s < scale->square_count; s++) {
        const sw_point *c = scale->squares[s].corners_mm;
        int column, row;
        sw_heights_tile_at(grid, (sw_point){(c[0].x + c[2].x) / 2, (c[0].y + c[2].y) / 2}, &column, &row);
        rise_mm[s] = heights->mm[column][row] - heights->plane_mm;
    }
}

void sw_heights_raise(const sw_heights *heights, sw_grid *grid)
{
    for (int c = 0; c < grid->columns; c++)
        for (int r = 0; r < grid->rows; r++) {
            grid->rise_mm[c][r] = heights->mm[c][r] - heights->plane_mm;
            grid->rise_u_mm[c][r] = HEIGHT_U_MM;
        }
}

void sw_heights_to_tiles(const sw_heights *heights, sw_inspection *ins)
{
    double sum = 0, count = 0;
    sw_tops_unknown(ins);
    for (size_t i = 0; i < ins->tile_count; i++) {
        sw_tile *tile = &ins->tiles[i];
        tile->rise_mm = heights->mm[tile->column][tile->row] - heights->plane_mm;
        if (heights->known[tile->column][tile->row])
            tile->height_u95_mm = 2 * SW_HEIGHT_GIVEN_U_MM;
        if (isfinite(tile->side_mm)) {
            sum += tile->side_mm;
            count++;
        }
    }
    if (heights->uneven && !ins->table.tile_given && count > 0)
        ins->table.tile_mm = round(sum / count); /* the grid was found with higher tiles looking larger */
    sw_tops_settle(ins);
}

sw_status sw_heights_assumed(const sw_heights *heights, sw_notes *notes)
{
    if (heights->assumed == 0)
        return SW_OK;
    return sw_note_add(notes, SW_NOTE_HEIGHT_ASSUMED,
                       "No height was given for %d of the tiles: taken as %g mm, like the lowest one named. Measure "
                       "them too, or put the usual height in front, like --height %g,A1=%g.",
                       heights->assumed, heights->plane_mm, heights->plane_mm, heights->plane_mm + 10);
}

/* Tangent of the view angle across a seam where it is greatest; its sign says which tile is the far one (+: the
 * second). */
static double seam_tangent(const double camera[3], const sw_seam *seam)
{
    double best = 0;
    for (int end = 0; end < 2; end++) {
        sw_point p = end ? seam->end_mm : seam->start_mm;
        double t = (seam->upright ? p.x - camera[0] : camera[1] - p.y) / camera[2];
        if (fabs(t) > fabs(best))
            best = t;
    }
    return best;
}

/* What a step too small to notice would add to the seam's gap or take off it, where that matters; else 0. */
static double faked_mm(const sw_inspection *ins, const double camera[3], const sw_seam *seam)
{
    double fake = UNNOTICED_MM * fabs(seam_tangent(camera, seam));
    return fake > ins->tolerance_mm || fake > seam->max_u95_mm ? fake : 0;
}

sw_status sw_heights_faked(const sw_options *options, sw_inspection *ins)
{
    enum { NAMES_ROOM = 90 };
    char names[NAMES_ROOM] = "", more[32] = "";
    double camera[3], most = 0;
    size_t count = 0, named = 0;
    if (options->height_count > 0 || sw_camera_place(&ins->scale, camera))
        return SW_OK;
    for (size_t i = 0; i < ins->seam_count; i++) {
        const char *name = ins->seams[i].name;
        double fake = faked_mm(ins, camera, &ins->seams[i]);
        most = fmax(most, fake);
        count += fake > 0;
        if (fake > 0 && strlen(names) + strlen(name) + 3 <= NAMES_ROOM)
            snprintf(names + strlen(names), NAMES_ROOM - strlen(names), "%s%s", named++ ? ", " : "", name);
    }
    if (count == 0)
        return SW_OK;
    if (count > named)
        snprintf(more, sizeof more, " and %zu more", count - named);
    sw_status status = sw_note_add(&ins->notes, SW_NOTE_HEIGHTS_UNKNOWN,
                                   "A tile that stands %g mm higher than its neighbour would fake or hide up to %.2f "
                                   "mm of gap, more than the figures' own uncertainty, at %s%s: lay a ruler over both "
                                   "tiles, and if it rocks or light shows under it, give the heights with --height.",
                                   UNNOTICED_MM, most, names, more);
    for (size_t i = 0; !status && i < ins->seam_count; i++)
        if (faked_mm(ins, camera, &ins->seams[i]) > 0)
            sw_note_at(&ins->notes, ins->seams[i].name);
    return status;
}

double sw_heights_hide_mm(const sw_inspection *ins, const sw_seam *seam)
{
    double camera[3];
    if (sw_camera_place(&ins->scale, camera))
        return 0;
    return fmax(0, (ins->tiles[seam->first].rise_mm - ins->tiles[seam->second].rise_mm) * seam_tangent(camera, seam));
}
