/* scale.c - how the scale was set, how the figures are to be read, and how to work safely. */
#include <math.h>

#include "maths/guard.h"
#include "report/page/page.h"

/* Heights are measured with a rule or a calliper: more decimals than this say nothing. */
static const double RULE_MM = 0.1;

static void put_squares(sw_sheet *sheet, const sw_scale *scale)
{
    char name[64];
    sw_reference_name(&scale->reference, name, sizeof name);
    sw_sheet_put(sheet, "<dt>Reference squares</dt><dd>%d of %s mm. ", scale->square_count, name);
    if (scale->square_count == 1)
        sw_sheet_put(
            sheet,
            "One square sets the scale well where it lies; lengths, straightness and squareness far from it are less "
            "sure, which is in their ± figures. Four squares near the table&#39;s corners make them surer.");
    else
        sw_sheet_put(sheet, "All were fitted at once.");
    sw_sheet_put(sheet, "</dd>\n");
}

static void put_lens(sw_sheet *sheet, const sw_lens *lens)
{
    sw_sheet_put(sheet, "<dt>Lens</dt><dd>");
    if (lens->source == SW_LENS_PROFILE) {
        sw_sheet_put(sheet, "From a lens profile");
        if (lens->photos > 0)
            sw_sheet_put(sheet, " made of %d photos", lens->photos);
        if (lens->residual_px > 0)
            sw_sheet_put(sheet, ", which it fits to %.2f px", lens->residual_px);
        sw_sheet_put(sheet, ".");
    } else if (lens->source == SW_LENS_ESTIMATED) {
        sw_sheet_put(sheet, "Estimated from this picture alone, by its straight lines. Straightness and squareness are "
                            "less sure than with a lens profile; their ± figures say by how much.");
    } else {
        sw_sheet_put(sheet, "Taken to draw straight lines straight; nothing was corrected.");
    }
    sw_sheet_put(sheet, "</dd>\n");
}

static void put_spread(sw_sheet *sheet, const sw_scale *scale)
{
    int frame = scale->reference.inner_x_mm > 0;
    sw_sheet_put(sheet, "<dt>Edge spread</dt><dd>");
    if (frame && isfinite(scale->edge_spread_px)) {
        sw_sheet_put(sheet, "Dark edges read ");
        sw_page_figure(sheet, fabs(scale->edge_spread_px), 2 * scale->edge_spread_u_px);
        sw_sheet_put(sheet,
                     " px too %s, measured on the squares; lengths are corrected for it. Ink that ran is part of it, "
                     "so gaps are corrected by the shape of the squares&#39; edges instead.",
                     scale->edge_spread_px >= 0 ? "narrow" : "wide");
    } else {
        sw_sheet_put(sheet, "Not measured: only frame cards, dark with a white square inside, show how far the picture "
                            "moves a dark edge.");
    }
    sw_sheet_put(sheet, "</dd>\n");
}

/* The tiles whose tops are off the usual height, to what a rule tells. */
static void put_heights(sw_sheet *sheet, const sw_inspection *inspection)
{
    const char *before = ", but ";
    if (!(inspection->table.height_mm > 0))
        return;
    sw_sheet_put(sheet, "; tops %g mm above the table", inspection->table.height_mm);
    for (size_t i = 0; i < inspection->tile_count; i++) {
        const sw_tile *tile = &inspection->tiles[i];
        double rise_mm = round(tile->rise_mm / RULE_MM) * RULE_MM;
        if (rise_mm != 0) {
            sw_sheet_put(sheet, "%s%s %g mm", before, tile->name, inspection->table.height_mm + rise_mm);
            before = ", ";
        }
    }
}

void sw_page_scale(sw_sheet *sheet, const sw_inspection *inspection)
{
    const sw_scale *scale = &inspection->scale;
    sw_sheet_put(sheet, "<h2>How the scale was set, and how well</h2>\n<dl>\n");
    put_squares(sheet, scale);
    if (scale->px_per_mm > 0)
        sw_sheet_put(sheet,
                     "<dt>Scale</dt><dd>%.2f px per mm in the middle of the squares; one pixel is %.2f mm.</dd>\n",
                     scale->px_per_mm, 1 / scale->px_per_mm);
    if (scale->px_per_mm > 0 && scale->residual_px >= 0)
        sw_sheet_put(
            sheet,
            "<dt>Fit</dt><dd>The squares&#39; edges lie within %.3f px (%.3f mm) of the fitted squares, RMS.</dd>\n",
            scale->residual_px, scale->residual_px / scale->px_per_mm);
    put_lens(sheet, &scale->lens);
    put_spread(sheet, scale);
    if (scale->blur_px > 0)
        sw_sheet_put(sheet, "<dt>Blur</dt><dd>%.2f px, one standard deviation.</dd>\n", scale->blur_px);
    sw_sheet_put(sheet, "<dt>Table</dt><dd>%d by %d tiles of ", inspection->table.columns, inspection->table.rows);
    sw_sheet_number(sheet, inspection->table.tile_mm, 1, "?");
    sw_sheet_put(sheet, " mm, %s", inspection->table.tile_given ? "as given" : "worked out from the picture");
    put_heights(sheet, inspection);
    sw_sheet_put(sheet, ".</dd>\n<dt>Stations</dt><dd>Every %.1f mm along each seam.</dd>\n</dl>\n",
                 inspection->step_mm);
}

void sw_page_reading(sw_sheet *sheet, const sw_inspection *inspection)
{
    double limit = inspection->tolerance_mm;
    sw_sheet_put(sheet,
                 "<h2>How to read the figures</h2>\n<ul class=\"words\">\n<li><b>0.80 ± 0.06 mm</b>: the best figure "
                 "is 0.80 mm, and in 95 of 100 such cases the true one lies between 0.74 and 0.86 mm. A lamp that "
                 "shines across the gaps makes them harder to read: soft light gives a smaller ±.</li>\n");
    sw_sheet_put(
        sheet,
        "<li><b>Within, over, too close to call</b>: a seam is called within only if its widest gap lies below the "
        "limit by a guard band, and over only if it lies above by as much. The guard band is %.2f times the ± figure: "
        "with ± 0.06 mm it is 0.05 mm, so a gap of up to %.2f mm is within %.2f mm, one from %.2f mm is over, and what "
        "lies between is too close to call. Each call is then wrong in at most 5 of 100 cases.</li>\n",
        SW_GUARD, fmax(0, limit - 0.05), limit, limit + 0.05);
    sw_sheet_put(
        sheet,
        "<li><b>Sand nothing that is too close to call.</b> Check it with a feeler gauge of the limit&#39;s thickness, "
        "or take a nearer, sharper photo.</li>\n"
        "<li><b>Station</b>: a place along a seam, by its distance from the seam&#39;s north or west end. The last few "
        "mm of a seam (end, grey in the plots), chips and what was not seen are left out of the verdict.</li>\n"
        "<li><b>Gap</b>: what lies between the two side faces just below the rounding of their rims, seen straight "
        "from "
        "above: what a feeler gauge meets. Rounded rims make a seam look wider than its gap.</li>\n"
        "<li><b>Proud, shy</b>: standing out beyond, or falling short of, the true line. <b>Bow, hollow</b>: the "
        "middle of an edge stands proud or shy of its ends. <b>Taper</b>: how much a gap grows from one end of a seam "
        "to the other. <b>Corner step</b>: how far two neighbours are slipped along their seam.</li>\n"
        "<li><b>Straight to</b>: the distance between the two closest parallel lines that hold the whole edge, chips "
        "left out (minimum zone).</li>\n"
        "<li><b>True up</b>: sand an edge to its line. <b>Bevel</b>: relieve the lower part of its side face, where "
        "the base holds the tops apart. <b>Fill</b>: fill a chip, and never sand a whole edge for it. <b>Check</b>: "
        "measure by hand first. <b>Leave</b>: do nothing.</li>\n</ul>\n");
}
