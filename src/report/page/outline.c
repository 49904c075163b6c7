/* outline.c - the picture of one tile: its rim with the errors drawn larger, and its corner angles. */
#include <math.h>

#include "report/common/colours.h"
#include "report/page/page.h"

/* The picture's own units: the best square runs from MARGIN to MARGIN + SIDE both ways. */
enum { SIZE = 300, MARGIN = 44, SIDE = SIZE - 2 * MARGIN };

typedef struct outline {
    sw_sheet *sheet;
    const sw_tile *tile;
    double side_mm;
    int times;
} outline;

static bool usable(const sw_rim_point *point)
{
    return isfinite(point->proud_mm) && isfinite(point->at_mm) && point->state != SW_STATION_UNSEEN;
}

/* How far a place stands out, in picture units. */
static double drawn(const outline *in, double proud_mm)
{
    return fmax(-MARGIN, fmin(MARGIN - 4, proud_mm * in->times * SIDE / in->side_mm));
}

/* How far an edge stands out at its north or west end (at_end 0) or at its other end (1). */
static double end_of(const outline *in, sw_side side, bool at_end)
{
    const sw_edge *edge = &in->tile->edges[side];
    for (size_t i = 0; i < edge->point_count; i++) {
        const sw_rim_point *point = &edge->points[at_end ? edge->point_count - 1 - i : i];
        if (usable(point))
            return drawn(in, point->proud_mm);
    }
    return 0;
}

/* A place on a side, `share` of the way from its north or west end. The sides run from neighbour to neighbour, both
 * drawn with their own errors, so that the outline closes at the corners:
 *
 *      west's end ->|----- north -----|<- east's end */
static sw_point place(const outline *in, sw_side side, double share, double proud)
{
    bool level = side == SW_NORTH || side == SW_SOUTH, at_end = side == SW_SOUTH || side == SW_EAST;
    double before = end_of(in, level ? SW_WEST : SW_NORTH, at_end),
           after = end_of(in, level ? SW_EAST : SW_SOUTH, at_end);
    double along = MARGIN - before + (SIDE + before + after) * share;
    double across = at_end ? MARGIN + SIDE + proud : MARGIN - proud;
    return level ? (sw_point){along, across} : (sw_point){across, along};
}

static double share_of(const outline *in, sw_side side, double at_mm)
{
    double length = in->tile->edges[side].length_mm;
    return fmax(0, fmin(1, at_mm / (length > 0 ? length : in->side_mm)));
}

/* The rim of a side between two places. A part that was not seen leaves a hole in the line. */
static void put_rim(const outline *in, sw_side side, double from_mm, double to_mm, const char *look)
{
    const sw_edge *edge = &in->tile->edges[side];
    bool down = false;
    sw_sheet_put(in->sheet, "<path fill=\"none\" %s d=\"", look);
    for (size_t i = 0; i < edge->point_count; i++) {
        const sw_rim_point *point = &edge->points[i];
        if (!usable(point) || point->at_mm < from_mm || point->at_mm > to_mm) {
            down = false;
            continue;
        }
        sw_point at = place(in, side, share_of(in, side, point->at_mm), drawn(in, point->proud_mm));
        sw_sheet_put(in->sheet, "%s%.1f %.1f ", down ? "" : "M", at.x, at.y);
        down = true;
    }
    sw_sheet_put(in->sheet, "\"/>\n");
}

/* The stretches that are to be sanded, below the rim's line. */
static void put_sanding(const outline *in, const sw_inspection *inspection, int tile)
{
    for (size_t i = 0; i < inspection->advice_count; i++) {
        const sw_advice *advice = &inspection->ranking[i];
        if (advice->tile != tile || (advice->action != SW_TRUE_UP && advice->action != SW_BEVEL) ||
            (unsigned)advice->side > 3)
            continue;
        put_rim(in, advice->side, advice->from_mm, advice->to_mm,
                "class=\"sand\" stroke=\"" SW_HEX_OVER "\" stroke-width=\"12\" stroke-dasharray=\"5 2.5\"");
    }
}

static void put_angles(const outline *in)
{
    static const int east[] = {0, 1, 1, 0}, south[] = {0, 0, 1, 1};
    for (int i = 0; i < 4; i++) {
        const sw_corner *corner = &in->tile->corners[i];
        int x = MARGIN + (east[i] ? SIDE - 12 : 12), y = MARGIN + (south[i] ? SIDE - 28 : 26);
        const char *anchor = east[i] ? "end" : "start";
        if (!isfinite(corner->angle_deg))
            continue;
        sw_sheet_put(in->sheet, "<text x=\"%d\" y=\"%d\" text-anchor=\"%s\" font-size=\"14\">%.2f°</text>", x, y,
                     anchor, corner->angle_deg);
        sw_sheet_put(in->sheet, "<text x=\"%d\" y=\"%d\" text-anchor=\"%s\" font-size=\"12\">± ", x, y + 15, anchor);
        sw_sheet_number(in->sheet, corner->u95_deg, 2, "? ");
        sw_sheet_put(in->sheet, "°</text>\n");
    }
}

void sw_page_outline(sw_sheet *sheet, const sw_inspection *inspection, int tile, int times)
{
    const sw_tile *from = &inspection->tiles[tile];
    outline in = {sheet, from, from->side_mm > 0 ? from->side_mm : inspection->table.tile_mm, times};
    if (!(in.side_mm > 0))
        return;
    sw_sheet_put(sheet, "<svg class=\"outline\" viewBox=\"0 0 %d %d\" role=\"img\"><title>Outline of %s</title>\n",
                 SIZE, SIZE, from->name);
    sw_sheet_put(sheet,
                 "<rect x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\" fill=\"#f3f1ea\" stroke=\"#77746a\" "
                 "stroke-dasharray=\"4 4\"/>\n",
                 MARGIN, MARGIN, SIDE, SIDE);
    put_sanding(&in, inspection, tile);
    for (int side = 0; side < 4; side++)
        put_rim(&in, (sw_side)side, -INFINITY, INFINITY, "stroke=\"#1c1c21\" stroke-width=\"2\"");
    put_angles(&in);
    sw_sheet_put(
        sheet, "<text x=\"%d\" y=\"%d\" text-anchor=\"middle\" font-size=\"30\" font-weight=\"700\">%s</text></svg>\n",
        SIZE / 2, SIZE / 2 + 10, from->name);
}
