/* tops.c - how high the tops stand: a sentence, a picture, the steps against a limit with what to do, all in figures. */
#include <math.h>

#include "inspection/tops.h"
#include "report/page/page.h"

/* A figure with its sign as a cell. */
static void put_cell(sw_sheet *sheet, double value, double u95, bool with_sign)
{
    sw_sheet_put(sheet, "<td><span class=\"figure\">");
    if (isfinite(value))
        sw_words_height(sheet, value, u95, with_sign);
    else
        sw_sheet_put(sheet, "not known");
    sw_sheet_put(sheet, "</span></td>");
}

/* The way a top falls: "to the south-east"; nothing where it is not known. */
static const char *falls_to(const sw_tile *tile)
{
    static const char *const ways[] = {"to the east", "to the north-east", "to the north", "to the north-west",
                                       "to the west", "to the south-west", "to the south", "to the south-east"};
    if (!(tile->tilt_deg > tile->tilt_u95_deg) || (tile->rise_east == 0 && tile->rise_north == 0))
        return "";
    return ways[(lround(atan2(-tile->rise_north, -tile->rise_east) / (M_PI / 4)) + 8) % 8];
}

static void put_tiles(sw_sheet *sheet, const sw_inspection *inspection)
{
    sw_sheet_put(sheet, "<table><thead><tr><th scope=\"col\">Tile</th><th scope=\"col\">Height, mm</th><th "
                        "scope=\"col\">Tilt, degrees</th><th scope=\"col\">It falls</th></tr></thead><tbody>\n");
    for (size_t i = 0; i < inspection->tile_count; i++) {
        const sw_tile *tile = &inspection->tiles[i];
        sw_sheet_put(sheet, "<tr><th scope=\"row\">%s</th>", tile->name);
        put_cell(sheet, tile->height_mm, tile->height_u95_mm, true);
        sw_sheet_put(sheet, "<td>");
        if (isfinite(tile->tilt_deg))
            sw_page_figure(sheet, tile->tilt_deg, tile->tilt_u95_deg);
        else
            sw_sheet_put(sheet, "not known");
        sw_sheet_put(sheet, "</td><td>%s</td></tr>\n", falls_to(tile));
    }
    sw_sheet_put(sheet, "</tbody></table>\n");
}

static void put_steps(sw_sheet *sheet, const sw_inspection *inspection)
{
    bool asked = inspection->lippage_mm > 0;
    sw_sheet_put(sheet,
                 "<table><thead><tr><th scope=\"col\">Seam</th><th scope=\"col\">Step, its mean, mm</th><th "
                 "scope=\"col\">largest, mm</th><th scope=\"col\">higher</th>%s</tr></thead><tbody>\n",
                 asked ? "<th scope=\"col\">against the limit</th>" : "");
    for (size_t i = 0; i < inspection->seam_count; i++) {
        const sw_seam *seam = &inspection->seams[i];
        const sw_tile *higher = sw_higher_tile(inspection, seam);
        bool known = isfinite(seam->step_largest_mm);
        sw_sheet_put(sheet, "<tr><th scope=\"row\">%s</th>", seam->name);
        put_cell(sheet, fabs(seam->step_mm), seam->step_u95_mm, false);
        put_cell(sheet, fabs(seam->step_largest_mm), seam->step_u95_mm, false);
        sw_sheet_put(sheet, "<td>%s</td>", higher ? higher->name : known ? "neither for sure" : "");
        if (asked)
            sw_sheet_put(sheet, "<td>%s</td>", known ? sw_verdict_name(sw_step_verdict(inspection, seam)) : "");
        sw_sheet_put(sheet, "</tr>\n");
    }
    sw_sheet_put(sheet, "</tbody></table>\n");
}

/* Over, and mended by no line of the advice: no change of one whole tile helps. */
static bool stays_over(const sw_inspection *inspection, size_t seam)
{
    if (!isfinite(inspection->seams[seam].step_largest_mm) ||
        sw_step_verdict(inspection, &inspection->seams[seam]) != SW_OVER)
        return false;
    for (size_t i = 0; i < inspection->top_count; i++)
        for (size_t k = 0; k < inspection->tops[i].seam_count; k++)
            if ((size_t)inspection->tops[i].seams[k] == seam)
                return false;
    return true;
}

static void put_stays(sw_sheet *sheet, const sw_inspection *inspection)
{
    size_t count = 0;
    for (size_t i = 0; i < inspection->seam_count; i++)
        if (stays_over(inspection, i))
            sw_sheet_put(sheet, "%s%s", count++ ? ", " : "<p>No change of one whole tile mends ",
                         inspection->seams[i].name);
    if (count)
        sw_sheet_put(sheet, ": the tops there are tilted against each other. Pack one side of a tile.</p>\n");
}

static void put_deeds(sw_sheet *sheet, const sw_inspection *inspection)
{
    if (!inspection->top_count)
        return;
    sw_sheet_put(sheet, "<p>To bring the steps within the limit, one tile after the other:</p>\n<ol>\n");
    for (size_t i = 0; i < inspection->top_count; i++) {
        sw_sheet deed;
        sw_sheet_start(&deed);
        sw_words_top_deed(&deed, inspection, &inspection->tops[i]);
        sw_sheet_put(sheet, "<li class=\"why\"><b class=\"deed\" style=\"font-size:1em\">");
        sw_page_plain(sheet, &deed);
        sw_sheet_put(sheet, "</b>. ");
        sw_page_text(sheet, inspection->tops[i].reason);
        sw_sheet_put(sheet, "</li>\n");
    }
    sw_sheet_put(sheet,
                 "</ol>\n<p>Instead of planing a tile down you may pack up those around it, and the other way "
                 "round. Pack with card, under the whole tile. Plane or sand a top little by little, measure, and "
                 "take a new photo.</p>\n");
}

static void put_limit(sw_sheet *sheet, const sw_inspection *inspection)
{
    sw_sheet words;
    sw_sheet_start(&words);
    sw_words_steps(&words, inspection);
    sw_sheet_put(sheet, "<p><b>");
    sw_page_plain(sheet, &words);
    sw_sheet_put(sheet, "</b></p>\n");
    put_deeds(sheet, inspection);
    put_stays(sheet, inspection);
    sw_sheet_put(
        sheet,
        "<p class=\"source\">Common practice for laid tile is 1&nbsp;mm where joints are under 6&nbsp;mm wide (ANSI "
        "A108.02-2013, 4.3.7: 1/32 inch plus the tile&#39;s own warp). For tiles made by hand it is a figure to "
        "show, not a fault.</p>\n");
    if (inspection->top_count)
        sw_page_mask(sheet);
}

void sw_page_tops(sw_sheet *sheet, const sw_inspection *inspection)
{
    sw_sheet words;
    sw_sheet_start(&words);
    bool known = sw_words_tops(&words, inspection), asked = inspection->lippage_mm > 0;
    if (known || asked)
        sw_sheet_put(sheet, "<section class=\"lippage\"><h2>How high the tops stand</h2>\n");
    if (known) {
        sw_sheet_put(sheet, "<p>");
        sw_page_text(sheet, words.text ? words.text : "");
        sw_sheet_put(sheet, "</p>\n");
    }
    sheet->failed |= words.failed;
    sw_sheet_free(&words);
    if (asked)
        put_limit(sheet, inspection);
    if (known) {
        sw_page_tops_picture(sheet, inspection);
        sw_sheet_put(sheet, "<details><summary>All heights and steps in figures</summary>\n");
        put_tiles(sheet, inspection);
        put_steps(sheet, inspection);
        sw_sheet_put(sheet, "</details>\n");
    }
    if (known || asked)
        sw_sheet_put(sheet, "</section>\n");
}
