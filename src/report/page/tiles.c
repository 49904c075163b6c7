/* tiles.c - a card for each tile: its outline, its edges and corners in figures. */
#include <math.h>

#include "report/page/page.h"

enum { USUAL_TIMES = 50 };
/* The largest error drawn, as a share of the tile's side: more would run into the margin of the picture. */
static const double DEEPEST_PER_SIDE = 0.13;
static const double RADIANS_PER_DEGREE = M_PI / 180;

/* One exaggeration for all tiles, so that they compare: the usual one unless a tile is too bad for it. */
static int times_for(const sw_inspection *inspection)
{
    double worst = 0;
    for (size_t i = 0; i < inspection->tile_count; i++)
        for (int side = 0; side < 4; side++)
            for (size_t k = 0; k < inspection->tiles[i].edges[side].point_count; k++) {
                const sw_rim_point *point = &inspection->tiles[i].edges[side].points[k];
                if (point->state == SW_STATION_OK && isfinite(point->proud_mm))
                    worst = fmax(worst, fabs(point->proud_mm));
            }
    return sw_times_larger(worst, DEEPEST_PER_SIDE * inspection->table.tile_mm, USUAL_TIMES);
}

static void put_edge(sw_sheet *sheet, const sw_edge *edge, sw_side side)
{
    sw_sheet_put(sheet, "<tr><th scope=\"row\">%s</th>", sw_side_name(side));
    sw_page_figure_cell(sheet, edge->length_mm, edge->length_u95_mm);
    sw_page_figure_cell(sheet, edge->straightness_mm, edge->straightness_u95_mm);
    sw_sheet_put(sheet, "<td>");
    if (isfinite(edge->bow_mm))
        sw_sheet_put(sheet, "%s&nbsp;%.2f", edge->bow_mm >= 0 ? "bow" : "hollow", fabs(edge->bow_mm));
    if (edge->rim_mm > edge->rim_u95_mm) {
        sw_sheet_put(sheet, "%srim&nbsp;", isfinite(edge->bow_mm) ? ", " : "");
        sw_page_figure(sheet, edge->rim_mm, edge->rim_u95_mm);
    }
    sw_sheet_put(sheet, "</td></tr>\n");
}

/* The corner's error as an angle, and as mm over the edge's length. */
static void put_corner(sw_sheet *sheet, const sw_corner *corner, sw_corner_name name, double side_mm)
{
    double off_mm = tan((corner->angle_deg - 90) * RADIANS_PER_DEGREE) * side_mm;
    sw_sheet_put(sheet, "<tr><th scope=\"row\">%s</th>", sw_corner_label(name));
    sw_page_figure_cell(sheet, corner->angle_deg, corner->u95_deg);
    sw_sheet_put(sheet, "<td colspan=\"2\">");
    if (isfinite(off_mm)) {
        sw_sheet_put(sheet, "%s by ", off_mm >= 0 ? "open" : "tight");
        sw_page_figure(sheet, fabs(off_mm), corner->u95_deg * RADIANS_PER_DEGREE * side_mm);
    }
    sw_sheet_put(sheet, "</td></tr>\n");
}

static void put_tile(sw_sheet *sheet, const sw_inspection *inspection, int index, int times)
{
    const sw_tile *tile = &inspection->tiles[index];
    sw_sheet_put(sheet, "<section class=\"card\"><h3>%s</h3>\n", tile->name);
    sw_page_outline(sheet, inspection, index, times);
    sw_sheet_put(sheet, "<table><thead><tr><th scope=\"col\">Edge</th><th scope=\"col\">Length, mm</th><th "
                        "scope=\"col\">Straight to, mm</th><th scope=\"col\">Shape, mm</th></tr></thead><tbody>\n");
    for (int side = 0; side < 4; side++)
        put_edge(sheet, &tile->edges[side], (sw_side)side);
    sw_sheet_put(sheet, "</tbody><thead><tr><th scope=\"col\">Corner</th><th scope=\"col\">Angle, degrees</th><th "
                        "scope=\"col\" colspan=\"2\">Off square over the edge, mm</th></tr></thead><tbody>\n");
    double side_mm = tile->side_mm > 0 ? tile->side_mm : inspection->table.tile_mm;
    for (int corner = 0; corner < 4; corner++)
        put_corner(sheet, &tile->corners[corner], (sw_corner_name)corner, side_mm);
    sw_sheet_put(sheet, "</tbody></table>\n");
    for (size_t i = 0; i < tile->chip_count; i++)
        sw_page_chip(sheet, inspection, &tile->chips[i]);
    sw_sheet_put(sheet, "</section>\n");
}

static bool any_rim(const sw_inspection *inspection)
{
    for (size_t i = 0; i < inspection->tile_count; i++)
        for (int side = 0; side < 4; side++)
            if (inspection->tiles[i].edges[side].rim_mm > inspection->tiles[i].edges[side].rim_u95_mm)
                return true;
    return false;
}

void sw_page_tiles(sw_sheet *sheet, const sw_inspection *inspection)
{
    int times = times_for(inspection);
    if (!inspection->tile_count)
        return;
    sw_sheet_put(sheet,
                 "<h2>Every tile&#39;s outline</h2>\n<p>The full line is the tile&#39;s rim, its errors drawn %d times "
                 "as large as they are; the dashed square is its own best square. Outside the square is proud, inside "
                 "is shy. Orange strokes mark where to sand.%s</p>\n<div class=\"grid tiles\">\n",
                 times,
                 any_rim(inspection) ? " Rim is the radius to which an edge is rounded: a seam looks wider than "
                                       "its gap by up to so much at either edge."
                                     : "");
    for (size_t i = 0; i < inspection->tile_count; i++)
        put_tile(sheet, inspection, (int)i, times);
    sw_sheet_put(sheet, "</div>\n");
}
