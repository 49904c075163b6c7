/* seams.c - the seams, worst first: a list to see all at a glance, and a card for each. */
#include <math.h>

#include "report/page/page.h"

void sw_page_chip(sw_sheet *sheet, const sw_inspection *inspection, const sw_chip *chip)
{
    char edge[EDGE_NAME_ROOM];
    sw_sheet_put(sheet, "<p>Chip in %s at ", sw_edge_name(inspection, chip->tile, chip->side, edge));
    sw_sheet_number(sheet, chip->at_mm, 0, "?");
    sw_sheet_put(sheet, "&nbsp;mm: ");
    sw_sheet_number(sheet, chip->length_mm, 0, "?");
    sw_sheet_put(sheet, "&nbsp;mm long, ");
    sw_sheet_number(sheet, chip->depth_mm, 1, "?");
    sw_sheet_put(sheet, "&nbsp;mm deep. Fill it; it is left out of the verdict.</p>\n");
}

void sw_page_seam_list(sw_sheet *sheet, const sw_inspection *inspection, const size_t *order)
{
    sw_sheet_put(sheet,
                 "<h2>Seams, worst first</h2>\n<p>Widest gap in mm of each seam; the limit is %.2f mm.</p>\n"
                 "<ul class=\"pills\">\n",
                 inspection->tolerance_mm);
    for (size_t i = 0; i < inspection->seam_count; i++) {
        const sw_seam *seam = &inspection->seams[order[i]];
        sw_sheet_put(sheet, "<li class=\"%s\"><a href=\"#seam-%s\" title=\"%s\">", sw_page_class(seam->verdict),
                     seam->name, sw_verdict_name(seam->verdict));
        sw_page_sign(sheet, seam->verdict);
        sw_sheet_put(sheet, "<b>%s</b>", seam->name);
        sw_page_figure(sheet, seam->max_mm, seam->max_u95_mm);
        sw_sheet_put(sheet, "</a></li>\n");
    }
    sw_sheet_put(sheet, "</ul>\n");
}

static void put_taper(sw_sheet *sheet, const sw_seam *seam)
{
    if (!isfinite(seam->taper_mm))
        return;
    const char *grows = seam->upright ? "to the south" : "to the east",
               *shrinks = seam->upright ? "to the north" : "to the west";
    sw_sheet_put(sheet, "; taper ");
    sw_page_figure(sheet, fabs(seam->taper_mm), seam->taper_u95_mm);
    sw_sheet_put(sheet, " mm, wider %s", seam->taper_mm >= 0 ? grows : shrinks);
}

static void put_facts(sw_sheet *sheet, const sw_seam *seam)
{
    if (!isfinite(seam->mean_mm))
        return;
    sw_sheet_put(sheet, "<p>Mean ");
    sw_page_figure(sheet, seam->mean_mm, seam->mean_u95_mm);
    sw_sheet_put(sheet, " mm");
    put_taper(sheet, seam);
    if (isfinite(seam->corner_step_mm))
        sw_sheet_put(sheet, "; corner step %.2f mm", fabs(seam->corner_step_mm));
    sw_sheet_put(sheet, ".</p>\n");
}

static void put_seam(sw_sheet *sheet, const sw_inspection *inspection, const sw_seam *seam)
{
    double unseen = sw_seam_unseen(seam);
    sw_sheet_put(sheet, "<section class=\"card %s\" id=\"seam-%s\"><h3>", sw_page_class(seam->verdict), seam->name);
    sw_page_sign(sheet, seam->verdict);
    sw_sheet_put(sheet, " %s: %s</h3>\n<p class=\"lead\">", seam->name,
                 isfinite(seam->max_mm) ? sw_verdict_name(seam->verdict) : "not seen");
    if (isfinite(seam->max_mm)) {
        sw_sheet_put(sheet, seam->max_mm < SW_CLOSED_BELOW_MM ? "Closed: " : "Widest ");
        sw_page_figure(sheet, seam->max_mm, seam->max_u95_mm);
        sw_sheet_put(sheet, " mm");
        sw_words_place(sheet, seam);
    } else {
        sw_sheet_put(sheet, "Nothing of it could be measured");
    }
    sw_sheet_put(sheet, "</p>\n");
    put_facts(sheet, seam);
    for (size_t i = 0; i < seam->chip_count; i++)
        sw_page_chip(sheet, inspection, &seam->chips[i]);
    if (unseen > 0)
        sw_sheet_put(sheet,
                     "<p><b>%.0f %% of it was not seen.</b> Move what lies on it and take the photo again.</p>\n",
                     ceil(100 * unseen));
    sw_page_plot(sheet, seam, inspection->tolerance_mm);
    sw_sheet_put(sheet, "</section>\n");
}

void sw_page_seams(sw_sheet *sheet, const sw_inspection *inspection, const size_t *order)
{
    sw_sheet_put(
        sheet,
        "<h2>Every seam against the limit</h2>\n<p>The line is the measured gap, the band around it its 95 %% "
        "uncertainty, the dashed line the limit. Each plot has its own height scale.</p>\n<div class=\"grid\">\n");
    for (size_t i = 0; i < inspection->seam_count; i++)
        put_seam(sheet, inspection, &inspection->seams[order[i]]);
    sw_sheet_put(sheet, "</div>\n");
}
