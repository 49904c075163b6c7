/* marks.c - half-way marks: whether what is built on them will meet. */
#include <math.h>

#include "report/page/page.h"

/* Roads and rivers of a relief map are some mm wide; a step of 1 mm is where the eye begins to see a kink (rule of the
 * workshop, not measured). A wider limit for gaps allows as much here. */
static const double MEET_MM = 1;

static double limit_of(const sw_inspection *inspection)
{
    return fmax(MEET_MM, inspection->tolerance_mm);
}

static void put_signed(sw_sheet *sheet, double value, double u95)
{
    sw_sheet_put(sheet, "<td><span class=\"figure\">%s", value >= 0.005 ? "+" : "");
    sw_words_figure(sheet, value, u95);
    sw_sheet_put(sheet, "</span></td>");
}

/* What two marks of a seam mean for the maker. */
static void put_advice(sw_sheet *sheet, const sw_inspection *inspection, const sw_mark *a, const sw_mark *b)
{
    const double limit = limit_of(inspection);
    const sw_mark *worse = fabs(a->from_half_mm) > fabs(b->from_half_mm) ? a : b;
    const char *name = inspection->tiles[worse->tile].name;
    switch (sw_verdict_of(fabs(a->step_mm), a->step_u95_mm, limit)) {
    case SW_OVER:
        sw_sheet_put(sheet,
                     "What is built on them will not meet. Rub out the mark on %s and mark the half again, measured "
                     "from the same corner as its neighbour&#39;s.",
                     name);
        break;
    case SW_TOO_CLOSE:
        sw_sheet_put(sheet,
                     "Too close to call. Lay a rule across the seam, along one mark, and look where the other lies.");
        break;
    default:
        if (sw_verdict_of(fabs(worse->from_half_mm), worse->u95_mm, limit) == SW_OVER)
            sw_sheet_put(sheet,
                         "They meet here, but off the half: beside other tiles they would not. If the tiles are to be "
                         "swapped, mark %s again.",
                         name);
        else
            sw_sheet_put(sheet, "They meet. Leave them.");
    }
}

/* A mark whose neighbour was not found. */
static void put_lone_advice(sw_sheet *sheet, const sw_inspection *inspection, const sw_mark *mark)
{
    const sw_seam *seam = &inspection->seams[mark->seam];
    int other = mark->tile == seam->first ? seam->second : seam->first;
    sw_sheet_put(sheet, "No mark was seen on %s: none, covered, or too faint. Look, and mark its half.",
                 inspection->tiles[other].name);
}

static void put_row(sw_sheet *sheet, const sw_inspection *inspection, const sw_mark *a, const sw_mark *b)
{
    const sw_mark *one = a ? a : b;
    sw_sheet_put(sheet, "<tr><td>%s</td>", inspection->seams[one->seam].name);
    put_signed(sheet, a ? a->from_half_mm : NAN, a ? a->u95_mm : NAN);
    put_signed(sheet, b ? b->from_half_mm : NAN, b ? b->u95_mm : NAN);
    put_signed(sheet, a && b ? a->step_mm : NAN, one->step_u95_mm);
    sw_sheet_put(sheet, "<td class=\"words\">");
    if (a && b)
        put_advice(sheet, inspection, a, b);
    else
        put_lone_advice(sheet, inspection, one);
    sw_sheet_put(sheet, "</td></tr>\n");
}

void sw_page_marks(sw_sheet *sheet, const sw_inspection *inspection)
{
    if (!inspection->mark_count)
        return;
    sw_sheet_put(
        sheet,
        "<section class=\"marks\"><h2>Half-way marks</h2>\n<p>Pencil marks beside the middle of the edges, in mm: how "
        "far each lies from half-way between its edge&#39;s two corners, and the step from the first tile&#39;s mark "
        "to the second&#39;s. + is to the south or east. Steps up to %.1f&nbsp;mm count as meeting.</p>\n"
        "<table><thead><tr><th>seam</th><th>first tile&#39;s mark</th><th>second tile&#39;s "
        "mark</th><th>step</th><th>what to do</th></tr></thead>\n<tbody>\n",
        limit_of(inspection));
    for (size_t i = 0; i < inspection->mark_count; i++) {
        const sw_mark *m = &inspection->marks[i];
        if (m->tile != inspection->seams[m->seam].first)
            put_row(sheet, inspection, NULL, m);
        else if (i + 1 < inspection->mark_count && m[1].seam == m->seam) {
            put_row(sheet, inspection, m, m + 1);
            i++;
        } else
            put_row(sheet, inspection, m, NULL);
    }
    sw_sheet_put(sheet, "</tbody></table>\n</section>\n");
}
