/* heights_step.c - see heights_step.h.
 *
 *      camera
 *        |\ .                A rim that stands d above its neighbour's is seen d tan(v) farther from the camera's foot
 * than it | \  .              is, v being the view angle across the seam. If the far tile is the higher one, the gap
 * looks wider h |  \   .            by d tan(v) (its side face shows); if the near one is, narrower, and where the gap
 * is less than |   \v   .          d tan(v), nothing of it is seen.
 *     ---+----#####==== plane of the mm frame
 */
#include "inspect/heights_step.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "scale/find.h"
#include "scale/frame.h"

/* The step that is spoken of when nobody gave heights, mm: what one does not see at a glance. */
static const double UNNOTICED_MM = 1;
/* A seam of which less than this share is unseen needs no words (as in inspect.c). */
static const double UNSEEN_SHARE = 0.02;

static void square_rises(const sw_inspection *ins, const sw_grid *grid, const sw_heights *heights, double *rise_mm)
{
    for (int s = 0; s < ins->scale.square_count; s++) {
        const sw_point *c = ins->scale.squares[s].corners_mm;
        int column, row;
        sw_heights_tile_at(grid, (sw_point){(c[0].x + c[2].x) / 2, (c[0].y + c[2].y) / 2}, &column, &row);
        rise_mm[s] = heights->mm[column][row] - heights->plane_mm;
    }
}

static sw_status find_again(const sw_photo *photo, const sw_photo *seen, const sw_small *small,
                            const sw_options *options, const sw_reference *reference, sw_inspection *ins, sw_grid *grid,
                            const sw_heights *heights, sw_error *err)
{
    double rise_mm[SW_SQUARES_MAX] = {0};
    int columns = grid->columns, rows = grid->rows;
    square_rises(ins, grid, heights, rise_mm);
    sw_status status =
        sw_scale_find_on(photo, small, options->lens, reference,
                         options->card_thickness_given ? options->card_thickness_mm : NAN, rise_mm, &ins->scale, err);
    ins->table.columns = columns;
    ins->table.rows = rows;
    ins->table.tile_mm = options->tile_mm;
    if (status || (status = sw_grid_find(seen, small, &ins->scale, &ins->table, grid, err)))
        return status;
    for (int c = 0; c < columns; c++)
        for (int r = 0; r < rows; r++)
            grid->rise_mm[c][r] = heights->mm[c][r] - heights->plane_mm;
    return SW_OK;
}

sw_status sw_heights_settle(const sw_photo *photo, const sw_photo *seen, const sw_small *small,
                            const sw_options *options, const sw_reference *reference, sw_inspection *ins, sw_grid *grid,
                            sw_heights *heights, sw_error *err)
{
    sw_status status = sw_heights_of(photo->file, options->height_mm, options->heights, options->height_count,
                                     grid->columns, grid->rows, heights, err);
    ins->table.height_mm = heights->plane_mm;
    return status || !heights->uneven ? status
                                      : find_again(photo, seen, small, options, reference, ins, grid, heights, err);
}

void sw_heights_note(const sw_heights *heights, sw_inspection *ins)
{
    double sum = 0, count = 0;
    for (size_t i = 0; i < ins->tile_count; i++) {
        sw_tile *tile = &ins->tiles[i];
        tile->height_mm = heights->mm[tile->column][tile->row];
        if (isfinite(tile->side_mm)) {
            sum += tile->side_mm;
            count++;
        }
    }
    if (heights->uneven && !ins->table.tile_given && count > 0)
        ins->table.tile_mm = round(sum / count); /* the grid was found with higher tiles looking larger */
}

int sw_heights_assumed(const sw_heights *heights, char text[320])
{
    if (heights->assumed == 0)
        return 0;
    snprintf(text, 320,
             "No height was given for %d of the tiles: taken as %g mm, like the lowest one named. Measure them too, or "
             "put the usual "
             "height in front, like --height %g,A1=%g.",
             heights->assumed, heights->plane_mm, heights->plane_mm, heights->plane_mm + 10);
    return 1;
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

int sw_heights_faked(const sw_options *options, const sw_inspection *ins, char text[320])
{
    enum { NAMES_ROOM = 90 };
    char names[NAMES_ROOM] = "";
    double camera[3], most = 0;
    size_t count = 0, named = 0;
    if (options->height_count > 0 || sw_camera_place(&ins->scale, camera))
        return 0;
    for (size_t i = 0; i < ins->seam_count; i++) {
        const sw_seam *seam = &ins->seams[i];
        double fake = UNNOTICED_MM * fabs(seam_tangent(camera, seam));
        if (!(fake > ins->tolerance_mm || fake > seam->max_u95_mm))
            continue;
        most = fmax(most, fake);
        count++;
        if (strlen(names) + strlen(seam->name) + 3 > NAMES_ROOM)
            continue;
        snprintf(names + strlen(names), NAMES_ROOM - strlen(names), "%s%s", named++ ? ", " : "", seam->name);
    }
    if (count == 0)
        return 0;
    char more[32] = "";
    if (count > named)
        snprintf(more, sizeof more, " and %zu more", count - named);
    snprintf(text, 320,
             "A tile that stands %g mm higher than its neighbour would fake or hide up to %.2f mm of gap, more than "
             "the figures' own "
             "uncertainty, at %s%s: lay a ruler over both tiles, and if it rocks or light shows under it, give the "
             "heights with "
             "--height.",
             UNNOTICED_MM, most, names, more);
    return 1;
}

int sw_heights_hidden(const sw_inspection *ins, const sw_seam *seam, char text[320])
{
    const sw_tile *a = &ins->tiles[seam->first], *b = &ins->tiles[seam->second];
    double camera[3], unseen = 0;
    for (size_t k = 0; k < seam->station_count; k++)
        unseen += seam->stations[k].state == SW_STATION_UNSEEN;
    if (!(unseen > UNSEEN_SHARE * (double)seam->station_count) || sw_camera_place(&ins->scale, camera))
        return 0;
    double hides = (a->height_mm - b->height_mm) * seam_tangent(camera, seam);
    if (!(hides > 0))
        return 0;
    const sw_tile *high = a->height_mm > b->height_mm ? a : b, *low = high == a ? b : a;
    snprintf(text, 320,
             "%s: %.0f %% of the gap could not be seen. %s stands %g mm higher and hides gaps of up to %.1f mm beside "
             "%s from where the "
             "camera was, and shades more; photograph from %s's side, or use a feeler gauge.",
             seam->name, 100 * unseen / (double)seam->station_count, high->name, high->height_mm - low->height_mm,
             hides, low->name, low->name);
    return 1;
}
