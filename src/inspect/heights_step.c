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
#include "tops/tops.h"

/* Standard uncertainty of a step of which nothing is known, mm: makers' tiles "of one thickness" differ by 1 to 3 mm; 1.5 mm is twice
 * this. */
static const double UNNOTICED_U_MM = 0.75;
/* Cards whose tops spread by no more than this, mm, lie on a level table. */
static const double LEVEL_MM = 0.15;
/* Slopes that spread by less are those of level tops: 0.03 degrees. */
static const double SLANT_LEAST = 5e-4;

bool sw_tops_uneven(const sw_tops *tops)
{
    for (int c = 0; c < tops->columns; c++)
        for (int r = 0; r < tops->rows; r++)
            if (!sw_top_in_plane(&tops->top[c][r]))
                return true;
    return false;
}

/* Level, but every step may be as uncertain as this. */
static void suppose_level(double step_u_mm, sw_grid *grid)
{
    sw_tops *tops = &grid->tops;
    memset(tops, 0, sizeof *tops);
    tops->columns = grid->columns;
    tops->rows = grid->rows;
    for (int c = 0; c < grid->columns; c++)
        for (int r = 0; r < grid->rows; r++) {
            tops->height_u_mm[c][r] = step_u_mm / M_SQRT2;
            tops->step_u_upright_mm[c][r] = tops->step_u_level_mm[c][r] = step_u_mm;
        }
}

/* Tops that the cards say are of one level are taken to lie in it; how well they are known stays. */
static void lay_level(sw_tops *tops)
{
    for (int c = 0; c < tops->columns; c++)
        for (int r = 0; r < tops->rows; r++)
            tops->top[c][r] = (sw_top){.at = tops->top[c][r].at};
}

static bool all_named(const sw_heights *heights, const sw_grid *grid)
{
    for (int c = 0; c < grid->columns; c++)
        for (int r = 0; r < grid->rows; r++)
            if (!heights->known[c][r])
                return false;
    return true;
}

sw_status sw_tops_of_photo(const sw_heights *heights, const sw_tops *known, const sw_scale *scale, double tile_mm,
                           sw_grid *grid)
{
    if (heights->uneven) {
        sw_heights_give(heights, grid);
        return SW_OK;
    }
    if (known) {
        grid->tops = *known;
        return known->columns == grid->columns && known->rows == grid->rows ? SW_OK : SW_BAD_INPUT;
    }
    sw_status status = sw_tops_of_cards(scale, grid->columns, grid->rows, tile_mm, &grid->tops);
    if (status == SW_NO_MEMORY)
        return status;
    if (status) /* the usual height is what foam was sold as; named ones were measured */
        suppose_level(all_named(heights, grid) ? M_SQRT2 * SW_HEIGHT_GIVEN_U_MM : UNNOTICED_U_MM, grid);
    else if (!grid->tops.uneven || grid->tops.spread_mm <= LEVEL_MM)
        lay_level(&grid->tops);
    return SW_OK;
}

void sw_tops_suppose_level(sw_tops *tops)
{
    for (int c = 0; c < tops->columns; c++)
        for (int r = 0; r < tops->rows; r++) {
            double rise = tops->top[c][r].rise_mm;
            tops->height_u_mm[c][r] = hypot(tops->height_u_mm[c][r], rise);
            if (c > 0)
                tops->step_u_upright_mm[c][r] =
                    hypot(tops->step_u_upright_mm[c][r], rise - tops->top[c - 1][r].rise_mm);
            if (r > 0)
                tops->step_u_level_mm[c][r] = hypot(tops->step_u_level_mm[c][r], rise - tops->top[c][r - 1].rise_mm);
        }
    tops->uneven = false;
    lay_level(tops);
}

void sw_tops_lay_level(sw_tops *tops, double within_mm)
{
    double squares = 0;
    for (int c = 0; c < tops->columns; c++)
        for (int r = 0; r < tops->rows; r++)
            squares += tops->top[c][r].rise_mm * tops->top[c][r].rise_mm;
    if (sqrt(squares / (tops->columns * tops->rows)) < within_mm && tops->slope_spread < SLANT_LEAST)
        lay_level(tops);
}

void sw_tops_under_squares(const sw_grid *grid, const sw_scale *scale, sw_top *tops)
{
    const sw_point *first = scale->squares[0].corners_mm;
    double turn = atan2(first[1].y - first[0].y, first[1].x - first[0].x), c = cos(turn), s = sin(turn);
    for (int i = 0; i < scale->square_count; i++) {
        sw_point middle = sw_square_middle(&scale->squares[i]);
        int column, row;
        sw_heights_tile_at(grid, middle, &column, &row);
        const sw_top *top = &grid->tops.top[column][row];
        tops[i] = (sw_top){.rise_mm = sw_top_rise(top, middle),
                           .east = c * top->east + s * top->north,
                           .north = -s * top->east + c * top->north};
    }
}

/* Where tops differ, the grid was found with higher tiles looking larger: the tiles' nominal side becomes that of the tiles as
 * measured. */
static void settle_side(const sw_tops *tops, sw_inspection *ins)
{
    double sum = 0, count = 0;
    bool uneven = false;
    for (size_t i = 0; i < ins->tile_count; i++) {
        const sw_tile *tile = &ins->tiles[i];
        uneven |= !sw_top_in_plane(&tops->top[tile->column][tile->row]);
        if (isfinite(tile->side_mm)) {
            sum += tile->side_mm;
            count++;
        }
    }
    if (uneven && !ins->table.tile_given && count > 0)
        ins->table.tile_mm = round(sum / count);
}

/* The steps' uncertainties, where tops were measured together. */
static void settle_steps(const sw_tops *tops, sw_inspection *ins)
{
    for (size_t i = 0; i < ins->seam_count; i++) {
        sw_seam *seam = &ins->seams[i];
        const sw_tile *second = &ins->tiles[seam->second];
        double u = seam->upright ? tops->step_u_upright_mm[second->column][second->row]
                                 : tops->step_u_level_mm[second->column][second->row];
        if (isfinite(seam->step_mm))
            seam->step_u95_mm = 2 * u;
    }
}

void sw_tops_to_tiles(const sw_grid *grid, sw_inspection *ins)
{
    const sw_tops *tops = &grid->tops;
    sw_tops_unknown(ins);
    for (size_t i = 0; i < ins->tile_count; i++) {
        sw_tile *tile = &ins->tiles[i];
        int c = tile->column, r = tile->row;
        const sw_top *top = &tops->top[c][r];
        bool measured = tops->source == SW_TOPS_MEASURED && tops->told[c][r];
        tile->rise_mm = isfinite(tile->centre_mm.x) ? sw_top_rise(top, tile->centre_mm) : top->rise_mm;
        tile->rise_east = top->east;
        tile->rise_north = top->north;
        if (tops->told[c][r])
            tile->height_u95_mm = 2 * tops->height_u_mm[c][r];
        if (measured)
            tile->tilt_u95_deg = 2 * tops->slope_u[c][r] * 180 / M_PI;
    }
    settle_side(tops, ins);
    sw_tops_settle(ins);
    settle_steps(tops, ins);
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

double sw_heights_hide_mm(const sw_inspection *ins, const sw_seam *seam)
{
    double camera[3];
    if (sw_camera_place(&ins->scale, camera))
        return 0;
    return fmax(0, (ins->tiles[seam->first].rise_mm - ins->tiles[seam->second].rise_mm) * seam_tangent(camera, seam));
}
