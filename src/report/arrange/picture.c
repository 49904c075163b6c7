/* picture.c
 *
 *      +- - - -+    +-------+
 *      :   ^   : || |   ^   |     A tile that moved has a dashed rim and says so in words; the arrow points where the
 *      :  B2   : || |  B1   |     tile's old north is. A seam is a bar as wide as its widest gap, many times larger,
 *      : moved : || |       |     with the sign of its verdict and the figure.
 *      +- - - -+    +-------+
 */
#include "report/arrange/picture.h"

#include <math.h>

#include "report/arrange/words.h"
#include "report/common/page.h"

static const double MARGIN = 8, THINNEST = 1.2;
/* A picture is never drawn narrower than so many px a tile: letters stay readable, and wide tables scroll on small
 * screens. */
static const double LEAST_TILE_PX = 104;

static double tile_at(int index)
{
    return MARGIN + index * (SW_ARRANGE_TILE + SW_ARRANGE_ROOM);
}

static void put_tile(sw_sheet *sheet, const sw_arrange_view *view, int p)
{
    static const char *const turned[4] = {"moved", "quarter right", "half round", "quarter left"};
    const sw_place *place = &view->arranged->layout.places[p];
    int columns = view->arranged->layout.columns, moved = place->tile != p || place->turns;
    double x = tile_at(p % columns), y = tile_at(p / columns), half = SW_ARRANGE_TILE / 2;
    sw_sheet_put(sheet, "<g%s><rect class=\"tile\" x=\"%.1f\" y=\"%.1f\" width=\"%.0f\" height=\"%.0f\"/>",
                 moved ? " class=\"moved\"" : "", x, y, SW_ARRANGE_TILE, SW_ARRANGE_TILE);
    sw_sheet_put(
        sheet, "<path class=\"north\" transform=\"translate(%.1f %.1f) rotate(%d)\" d=\"M0-34V-46M-6-39L0-46L6-39\"/>",
        x + half, y + half, 90 * place->turns);
    sw_sheet_put(sheet, "<text class=\"name\" x=\"%.1f\" y=\"%.1f\">", x + half, y + half + 4);
    sw_sheet_html(sheet, view->first->tiles[place->tile].name);
    sw_sheet_put(sheet, "</text>");
    if (moved)
        sw_sheet_put(sheet, "<text class=\"how\" x=\"%.1f\" y=\"%.1f\">%s</text>", x + half, y + half + 21,
                     turned[place->turns & 3]);
    sw_sheet_put(sheet, "</g>\n");
}

static void put_seam(sw_sheet *sheet, const sw_arrange_view *view, const sw_arranged_seam *seam)
{
    int columns = view->arranged->layout.columns;
    double column = tile_at(seam->first % columns), row = tile_at(seam->first / columns);
    double middle = (seam->upright ? column : row) + SW_ARRANGE_TILE + SW_ARRANGE_ROOM / 2;
    double along = (seam->upright ? row : column) + SW_ARRANGE_TILE / 2;
    double x = seam->upright ? middle : along, y = seam->upright ? along : middle;
    double thick = isfinite(seam->max_mm) ? fmin(fmax(seam->max_mm * view->units_per_mm, THINNEST), SW_ARRANGE_ROOM - 2)
                                          : SW_ARRANGE_ROOM / 3;
    double wide = seam->upright ? thick : SW_ARRANGE_TILE, high = seam->upright ? SW_ARRANGE_TILE : thick;
    sw_verdict verdict = sw_arranged_verdict(seam, view->tolerance_mm);
    sw_sheet_put(sheet, "<g class=\"%s\"><rect class=\"%s\" x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\"/>",
                 sw_page_class(verdict), isfinite(seam->max_mm) ? "gap" : "blind", x - wide / 2, y - high / 2, wide,
                 high);
    sw_page_seam_sign(sheet, verdict, x, y, seam->upright, seam->max_mm, 2);
    sw_sheet_put(sheet, "</g>\n");
}

void sw_arrange_picture(sw_sheet *sheet, const sw_arrange_view *view, const char *label)
{
    const sw_layout *layout = &view->arranged->layout;
    double width = tile_at(layout->columns) - SW_ARRANGE_ROOM + MARGIN;
    double height = tile_at(layout->rows) - SW_ARRANGE_ROOM + MARGIN;
    sw_sheet_put(sheet,
                 "<div class=\"wide\" tabindex=\"0\"><svg class=\"laid\" style=\"min-width:%.0fpx\" viewBox=\"0 0 %.0f "
                 "%.0f\" role=\"img\" aria-label=\"%s\">\n",
                 LEAST_TILE_PX * layout->columns, width, height, label);
    for (int p = 0; p < layout->columns * layout->rows; p++)
        put_tile(sheet, view, p);
    for (size_t i = 0; i < view->arranged->seam_count; i++)
        put_seam(sheet, view, &view->arranged->seams[i]);
    sw_sheet_put(sheet, "</svg></div>\n");
}
