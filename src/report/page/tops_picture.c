/* tops_picture.c - the table from above as a drawing: tops coloured and numbered by height, steps along the seams.
 *
 *      +--------+      +--------+      A top above the median is orange, one below it blue and hatched, the darker the
 *      |   A1  \| 1.9  |   B1   |      farther; level is white. Every arrow points downwards: along a seam from the higher
 *      | +1.2   | <--- | +3.1   |      top to the lower, on a tile the way its top falls.
 *      +--------+      +--------+
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "inspection/tops.h"
#include "report/common/colours.h"
#include "report/page/page.h"

static const double TILE = 132, ROOM = 62, MARGIN = 8;
/* A picture is never drawn narrower than so many px a tile: figures stay readable, wide tables scroll on small screens. */
static const double LEAST_TILE_PX = 104;
/* Shades on either side of the median. */
enum { SHADES = 3 };

const char sw_page_tops_style[] =
    ".tops{display:block;width:100%;max-width:820px;height:auto;background:var(--card);border:1px solid var(--rule)}\n"
    ".scroll{overflow-x:auto}\n"
    ".top{stroke:var(--soft);stroke-width:1;fill:#fff}\n"
    ".high1{fill:" SW_HEX_HIGH_1 "}.high2{fill:" SW_HEX_HIGH_2 "}.high3{fill:" SW_HEX_HIGH_3 "}\n"
    ".low1{fill:" SW_HEX_LOW_1 "}.low2{fill:" SW_HEX_LOW_2 "}.low3{fill:" SW_HEX_LOW_3 "}\n"
    ".unknown{fill:#ece8dc;stroke-dasharray:5 4}\n"
    ".barred{fill:url(#hatch);stroke:none}\n"
    ".tops "
    "text{text-anchor:middle;font-size:13px;paint-order:stroke;stroke:#fff;stroke-width:3.5;stroke-linejoin:round}\n"
    ".tops .name{font-size:17px;font-weight:650}.tops .high{font-size:21px;font-weight:650}\n"
    ".tops .down{fill:none;stroke:var(--ink);stroke-width:2.6;stroke-linecap:round;stroke-linejoin:round}\n"
    ".tops .step{font-size:15px;font-weight:650}\n"
    ".tops .disc{fill:var(--wash);stroke:var(--tone-ink);stroke-width:1.6}\n"
    ".tops .mark{fill:none;stroke:var(--tone-ink);stroke-width:3.8;stroke-linecap:round;stroke-linejoin:round}\n"
    ".shades{display:flex;flex-wrap:wrap;gap:4px 18px;list-style:none;margin:.5rem 0;padding:0;font-size:.92rem}\n"
    ".shades svg{width:30px;height:20px;vertical-align:-5px;margin-right:6px}\n"
    "@media print{.scroll{overflow:visible}.tops{min-width:0!important;max-width:150mm}}\n";

static double tile_at(int index)
{
    return MARGIN + index * (TILE + ROOM);
}

/* The farthest that any top stands from the median, mm. */
static double farthest(const sw_inspection *inspection)
{
    double most = 0;
    for (size_t i = 0; i < inspection->tile_count; i++)
        if (sw_height_known(&inspection->tiles[i]))
            most = fmax(most, fabs(inspection->tiles[i].height_mm));
    return most;
}

/* -SHADES to SHADES; 0 for a top that may be level. */
static int shade_of(const sw_tile *tile, double most_mm)
{
    if (!(fabs(tile->height_mm) > tile->height_u95_mm))
        return 0;
    int shade = (int)fmin(SHADES, ceil(SHADES * fabs(tile->height_mm) / most_mm));
    return tile->height_mm > 0 ? shade : -shade;
}

static void put_ground(sw_sheet *sheet, int shade, bool known, double x, double y, double wide, double high)
{
    char name[16] = "";
    if (!known)
        snprintf(name, sizeof name, " unknown");
    else if (shade)
        snprintf(name, sizeof name, " %s%d", shade > 0 ? "high" : "low", shade > 0 ? shade : -shade);
    sw_sheet_put(sheet, "<rect class=\"top%s\" x=\"%.1f\" y=\"%.1f\" width=\"%.0f\" height=\"%.0f\"/>", name, x, y,
                 wide, high);
    if (shade < 0)
        sw_sheet_put(sheet, "<rect class=\"barred\" x=\"%.1f\" y=\"%.1f\" width=\"%.0f\" height=\"%.0f\"/>", x, y, wide,
                     high);
}

/* An arrow about (x, y), `half` long each way; clockwise from one that points right. */
static void put_arrow(sw_sheet *sheet, double x, double y, double half, double degrees)
{
    sw_sheet_put(sheet,
                 "<path class=\"down\" transform=\"translate(%.1f %.1f) rotate(%.0f)\" d=\"M%.0f 0H%.0fM%.0f-6L%.0f "
                 "0L%.0f 6\"/>",
                 x, y, degrees, -half, half, half - 7, half, half - 7);
}

/* Which way a top falls and how far from side to side, where that is more than its uncertainty. */
static void put_tilt(sw_sheet *sheet, const sw_tile *tile, double x, double y)
{
    static const double DEG = M_PI / 180, HALF = 11;
    if (!(tile->tilt_deg > tile->tilt_u95_deg) || !(tile->side_mm > 0))
        return;
    sw_sheet_put(sheet, "<text x=\"%.1f\" y=\"%.1f\">falls ", x + TILE / 2, y + TILE - 12);
    sw_sheet_number(sheet, tan(tile->tilt_deg * DEG) * tile->side_mm, 1, "?");
    sw_sheet_put(sheet, " mm</text>");
    if (tile->rise_east != 0 ||
        tile->rise_north != 0) /* downwards against the rise; y of a picture runs to the south */
        put_arrow(sheet, x + TILE - 22, y + 22, HALF, atan2(tile->rise_north, -tile->rise_east) / DEG);
}

static void put_tile(sw_sheet *sheet, const sw_tile *tile, double most_mm)
{
    double x = tile_at(tile->column), y = tile_at(tile->row), middle = x + TILE / 2;
    bool known = sw_height_known(tile);
    put_ground(sheet, known ? shade_of(tile, most_mm) : 0, known, x, y, TILE, TILE);
    sw_sheet_put(sheet, "<text class=\"name\" x=\"%.1f\" y=\"%.1f\">%s</text>", middle, y + 28, tile->name);
    if (!known) {
        sw_sheet_put(sheet, "<text x=\"%.1f\" y=\"%.1f\">not known</text>\n", middle, y + 72);
        return;
    }
    sw_sheet_put(sheet, "<text class=\"high\" x=\"%.1f\" y=\"%.1f\">", middle, y + 66);
    sw_words_rounded(sheet, tile->height_mm, tile->height_u95_mm, true);
    sw_sheet_put(sheet, "</text><text x=\"%.1f\" y=\"%.1f\">± ", middle, y + 86);
    sw_words_rounded(sheet, tile->height_u95_mm, tile->height_u95_mm, false);
    sw_sheet_put(sheet, " mm</text>");
    put_tilt(sheet, tile, x, y);
    sw_sheet_put(sheet, "\n");
}

/* Arrow, figure, and the limit's verdict: one below the other at an upright seam, one beside the other at a level one. */
static void put_step(sw_sheet *sheet, const sw_inspection *inspection, const sw_seam *seam)
{
    static const double HALF = 15;
    const sw_tile *first = &inspection->tiles[seam->first], *higher = sw_higher_tile(inspection, seam);
    double column = tile_at(first->column), row = tile_at(first->row);
    double x = seam->upright ? column + TILE + ROOM / 2 : column + TILE / 2;
    double y = seam->upright ? row + TILE / 2 : row + TILE + ROOM / 2;
    if (!isfinite(seam->step_largest_mm))
        return;
    sw_verdict verdict = sw_step_verdict(inspection, seam);
    bool asked = inspection->lippage_mm > 0;
    sw_sheet_put(sheet, "<g%s%s%s>", asked ? " class=\"" : "", asked ? sw_page_class(verdict) : "", asked ? "\"" : "");
    if (higher)
        put_arrow(sheet, seam->upright ? x : x - 36, seam->upright ? y - 23 : y, HALF,
                  (seam->upright ? 0 : 90) + (higher == first ? 0 : 180));
    if (asked)
        sw_page_disc(sheet, verdict, seam->upright ? x : x + 42, seam->upright ? y + 34 : y);
    sw_sheet_put(sheet, "<text class=\"step\" x=\"%.1f\" y=\"%.1f\">", x, seam->upright ? y + 1 : y - 1);
    sw_words_rounded(sheet, fabs(seam->step_largest_mm), seam->step_u95_mm, false);
    sw_sheet_put(sheet, "</text><text x=\"%.1f\" y=\"%.1f\">± ", x, seam->upright ? y + 17 : y + 15);
    sw_words_rounded(sheet, seam->step_u95_mm, seam->step_u95_mm, false);
    sw_sheet_put(sheet, "</text></g>\n");
}

/* A line of the legend. */
static void put_shade(sw_sheet *sheet, int shade, double most_mm)
{
    double from = (abs(shade) - 1) * most_mm / SHADES, to = abs(shade) * most_mm / SHADES;
    sw_sheet_put(sheet, "<li><svg viewBox=\"0 0 30 20\" aria-hidden=\"true\">");
    put_ground(sheet, shade, true, 0.5, 0.5, 29, 19);
    if (shade)
        sw_sheet_put(sheet, "</svg>%.1f to %.1f mm %s</li>\n", from, to, shade > 0 ? "above" : "below");
    else
        sw_sheet_put(sheet, "</svg>no farther from the median than its ±</li>\n");
}

static void put_legend(sw_sheet *sheet, const sw_inspection *inspection, double most_mm)
{
    bool used[2 * SHADES + 1] = {false};
    for (size_t i = 0; i < inspection->tile_count; i++)
        if (sw_height_known(&inspection->tiles[i]))
            used[SHADES + shade_of(&inspection->tiles[i], most_mm)] = true;
    sw_sheet_put(sheet, "<ul class=\"shades\">\n");
    for (int shade = SHADES; shade >= -SHADES; shade--)
        if (used[SHADES + shade])
            put_shade(sheet, shade, most_mm);
    sw_sheet_put(sheet, "</ul>\n");
}

void sw_page_tops_picture(sw_sheet *sheet, const sw_inspection *inspection)
{
    double width = tile_at(inspection->table.columns) - ROOM + MARGIN, most_mm = farthest(inspection);
    double height = tile_at(inspection->table.rows) - ROOM + MARGIN;
    sw_sheet_put(
        sheet,
        "<figure><div class=\"scroll\" tabindex=\"0\"><svg class=\"tops\" style=\"min-width:%.0fpx\" viewBox=\"0 "
        "0 %.0f %.0f\" role=\"img\" aria-label=\"The tops from above with their heights and the steps between "
        "them; the figures are in the lists below\">\n",
        LEAST_TILE_PX * inspection->table.columns, width, height);
    for (size_t i = 0; i < inspection->tile_count; i++)
        put_tile(sheet, &inspection->tiles[i], most_mm);
    for (size_t i = 0; i < inspection->seam_count; i++)
        put_step(sheet, inspection, &inspection->seams[i]);
    sw_sheet_put(sheet, "</svg></div>\n");
    put_legend(sheet, inspection, most_mm);
    sw_sheet_put(sheet,
                 "<figcaption>On each tile: how high its top stands against the median top, in mm. Between tiles: "
                 "the largest step along the seam, in mm. Arrows point downwards, from the higher top to the "
                 "lower; a step without one is no larger than its ±.</figcaption></figure>\n");
}
