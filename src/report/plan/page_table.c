/* page_table.c - the table from above: where something comes off which edge, and how much.
 *
 *   +----------+ +----------+
 *   |          | |#         |     # what comes off the top edge, exaggerated, with S and mm
 *   |    A1   S| |#   B1    |     v a bevel, with B and mm (B? when it is open which edge leans)
 *   |         #| |          |
 *   |vvvv B vvv| |          |
 *   +----------+ +----------+
 */
#include <math.h>
#include <string.h>

#include "report/common/colours.h"
#include "report/plan/page.h"

/* The picture's own units. On a phone three tiles are 358 px wide: letters of 20 are then 10 px. */
enum { TILE = 200, BETWEEN = 14, MARGIN = 30, DEEPEST = 22, SEEN = 4, TEETH = 10, TOOTH = 9, LETTERS = 20, NAME = 28 };

typedef struct above {
    sw_sheet *sheet;
    const sw_plan *plan;
    const sw_inspection *first;
    double per_mm;
    int times;
} above;

/* A place in a tile's picture: `along` from an edge's north or west end, `in` from the edge inwards, both in units. */
static sw_point inside(const above *in, const sw_edge_plan *edge, double along, double inwards)
{
    const sw_tile *tile = &in->first->tiles[edge->tile];
    double left = MARGIN + tile->column * (double)(TILE + BETWEEN), top = MARGIN + tile->row * (double)(TILE + BETWEEN);
    switch (edge->side) {
    case SW_NORTH:
        return (sw_point){left + along, top + inwards};
    case SW_SOUTH:
        return (sw_point){left + along, top + TILE - inwards};
    case SW_EAST:
        return (sw_point){left + TILE - inwards, top + along};
    default:
        return (sw_point){left + inwards, top + along};
    }
}

static void put_point(const above *in, const sw_edge_plan *edge, char command, double along, double inwards)
{
    sw_point at = inside(in, edge, along, inwards);
    sw_sheet_put(in->sheet, "%c%.1f %.1f", command, at.x, at.y);
}

/* Depth in units; what is something at all can be seen. */
static double drawn(const above *in, double remove_mm)
{
    double depth = remove_mm * in->per_mm * in->times;
    return remove_mm < SW_PLAN_NOTHING_MM ? 0 : fmax(SEEN, fmin(DEEPEST, depth));
}

static void put_profile(const above *in, const sw_edge_plan *edge)
{
    double per_mm = TILE / edge->length_mm;
    sw_sheet_put(in->sheet, "<path class=\"goes\" fill=\"" SW_HEX_OVER "\" stroke=\"" SW_HEX_OVER_INK "\" d=\"");
    put_point(in, edge, 'M', per_mm * edge->true_up[0].at_mm, 0);
    for (size_t i = 0; i < edge->true_up_count; i++)
        put_point(in, edge, 'L', fmin(TILE, per_mm * edge->true_up[i].at_mm), drawn(in, edge->true_up[i].remove_mm));
    put_point(in, edge, 'L', fmin(TILE, per_mm * edge->true_up[edge->true_up_count - 1].at_mm), 0);
    sw_sheet_put(in->sheet, "z\"/>\n");
}

/* A row of teeth inside the edge. */
static void put_teeth(const above *in, const sw_edge_plan *edge)
{
    double wide = (double)TILE / TEETH;
    sw_sheet_put(in->sheet,
                 "<path class=\"teeth\" fill=\"none\" stroke=\"" SW_HEX_WITHIN "\" stroke-width=\"2\"%s d=\"",
                 edge->lean == SW_LEAN_OPEN ? " stroke-dasharray=\"4 3\"" : "");
    put_point(in, edge, 'M', 0, 1);
    for (int i = 0; i < TEETH; i++) {
        put_point(in, edge, 'L', (i + 0.5) * wide, TOOTH);
        put_point(in, edge, 'L', (i + 1) * wide, 1);
    }
    sw_sheet_put(in->sheet, "\"/>\n");
}

/* What to do with one edge: letter and mm, once or twice. */
typedef struct deed {
    const char *letter;
    double mm;
} deed;

static int deeds_of(const sw_edge_plan *edge, deed deeds[2])
{
    int count = 0;
    if (sw_plan_sands(edge))
        deeds[count++] = (deed){"S", edge->deepest_mm};
    if (sw_plan_bevels(edge))
        deeds[count++] = (deed){edge->lean == SW_LEAN_OPEN ? "B?" : "B", edge->bevel_mm};
    return count;
}

/* Beside the edge's middle: in one line at a level edge, one below the other at an upright one, so that neither the
 * next edge's letters nor the tile's name is in the way. */
static void put_labels(const above *in, const sw_edge_plan *edge)
{
    deed deeds[2];
    bool upright = sw_side_upright(edge->side);
    int count = deeds_of(edge, deeds);
    const char *anchor = edge->side == SW_EAST ? "end" : edge->side == SW_WEST ? "start" : "middle";
    sw_point at = inside(in, edge, TILE / 2.0, (sw_plan_sands(edge) ? DEEPEST : TOOTH) + 4);
    if (edge->side == SW_NORTH)
        at.y += LETTERS - 4;
    if (upright)
        at.y -= (2 * count - 1) * LETTERS / 2.0 - LETTERS / 3.0;
    sw_sheet_put(in->sheet, "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"%s\" font-size=\"%d\">", at.x, at.y, anchor,
                 LETTERS);
    for (int i = 0; i < count; i++) {
        sw_sheet_put(in->sheet, "<tspan font-weight=\"700\"");
        if (upright && i)
            sw_sheet_put(in->sheet, " x=\"%.1f\" dy=\"%d\"", at.x, LETTERS);
        sw_sheet_put(in->sheet, ">%s%s</tspan>", upright || !i ? "" : " ", deeds[i].letter);
        if (upright)
            sw_sheet_put(in->sheet, "<tspan x=\"%.1f\" dy=\"%d\">%.2f</tspan>", at.x, LETTERS, deeds[i].mm);
        else
            sw_sheet_put(in->sheet, " %.2f", deeds[i].mm);
    }
    sw_sheet_put(in->sheet, "</text>\n");
}

static void put_tiles(const above *in)
{
    for (size_t i = 0; i < in->first->tile_count; i++) {
        const sw_tile *tile = &in->first->tiles[i];
        int left = MARGIN + tile->column * (TILE + BETWEEN), top = MARGIN + tile->row * (TILE + BETWEEN);
        sw_sheet_put(in->sheet,
                     "<rect x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\" fill=\"#f3f1ea\" stroke=\"#1c1c21\"/><text "
                     "x=\"%d\" y=\"%d\" text-anchor=\"middle\" font-size=\"%d\" font-weight=\"700\">%s</text>\n",
                     left, top, TILE, TILE, left + TILE / 2, top + TILE / 2 + 10,
                     strlen(tile->name) > 2 ? NAME * 2 / 3 : NAME, tile->name);
    }
}

static bool any_bevel(const sw_plan *plan)
{
    for (size_t i = 0; i < plan->edge_count; i++)
        if (sw_plan_bevels(&plan->edges[i]))
            return true;
    return false;
}

static void put_key(const above *in)
{
    sw_sheet_put(in->sheet, "<ul class=\"key\">\n");
    if (sw_plan_deepest(in->plan) > 0)
        sw_sheet_put(
            in->sheet,
            "<li><svg viewBox=\"0 0 34 18\" aria-hidden=\"true\"><path d=\"M1 2H33L17 16z\" fill=\"" SW_HEX_OVER
            "\" stroke=\"" SW_HEX_OVER_INK "\"/></svg><b>S</b> sand: what comes off the top edge, at most so many mm; "
            "drawn %d times as deep as it is.</li>\n",
            in->times);
    if (any_bevel(in->plan))
        sw_sheet_put(in->sheet, "<li><svg viewBox=\"0 0 34 18\" aria-hidden=\"true\"><path d=\"M1 2 6 14 11 2 16 14 21 "
                                "2 26 14 31 2\" fill=\"none\" stroke=\"" SW_HEX_WITHIN
                                "\" stroke-width=\"2\"/></svg><b>B</b> bevel: mm off the base of the side face, "
                                "nothing at its top edge. <b>B?</b>, dashed: it is open whether this edge leans or the "
                                "one it faces; check with a try square first.</li>\n");
    sw_sheet_put(in->sheet, "</ul>\n");
}

void sw_plan_page_table(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first)
{
    above in = {sheet, plan, first, 0, 1};
    int columns = first->table.columns, rows = first->table.rows;
    double tile_mm = first->table.tile_mm;
    int width = 2 * MARGIN + columns * TILE + (columns - 1) * BETWEEN,
        height = 2 * MARGIN + rows * TILE + (rows - 1) * BETWEEN;
    if (!plan->edge_count || columns < 1 || rows < 1 || !(tile_mm > 0))
        return;
    in.per_mm = TILE / tile_mm;
    in.times = sw_times_larger(sw_plan_deepest(plan), DEEPEST / in.per_mm, SW_PLAN_TIMES);
    sw_sheet_put(sheet,
                 "<h2>Where on the table</h2>\n<figure><svg class=\"above\" viewBox=\"0 0 %d %d\" "
                 "role=\"img\"><title>The table from above with the edges to work on</title>\n<text x=\"%d\" y=\"20\" "
                 "text-anchor=\"middle\" font-size=\"%d\">north (top of the photo)</text>\n",
                 width, height, width / 2, LETTERS);
    put_tiles(&in);
    for (size_t i = 0; i < plan->edge_count; i++) {
        const sw_edge_plan *edge = &plan->edges[i];
        if (edge->tile < 0 || (size_t)edge->tile >= first->tile_count || !(edge->length_mm > 0))
            continue;
        if (sw_plan_sands(edge))
            put_profile(&in, edge);
        if (sw_plan_bevels(edge))
            put_teeth(&in, edge);
        put_labels(&in, edge);
    }
    sw_sheet_put(sheet, "</svg>\n<figcaption>The tiles as they lie in the photo, from above, gaps not to "
                        "scale.</figcaption></figure>\n");
    put_key(&in);
}
