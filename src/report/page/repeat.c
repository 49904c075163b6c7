/* repeat.c - several photos: how well they agree, seam by seam. */
#include <math.h>

#include "report/page/page.h"

/* The plot, in its own units: names on the left, one row a seam. */
enum { WIDTH = 720, LEFT = 90, RIGHT = 20, TOP = 26, ROW = 24, BOTTOM = 34 };

typedef struct plot {
    sw_sheet *sheet;
    const sw_inspection *inspection;
    double most_mm; /* at either end */
} plot;

static double across(const plot *in, double mm)
{
    double share = fmax(-1, fmin(1, mm / in->most_mm));
    return LEFT + (WIDTH - LEFT - RIGHT) * (share + 1) / 2;
}

/* Mean over the photos that count; NaN when there are none. */
static double middle_of(const sw_inspection *inspection, size_t seam)
{
    const sw_repeatability *r = inspection->repeatability;
    double sum = 0, n = 0;
    for (size_t k = 0; k < r->photo_count; k++)
        if (isfinite(r->seams[seam].mean_mm[k]) && r->seams[seam].counts[k]) {
            sum += r->seams[seam].mean_mm[k];
            n++;
        }
    return n > 0 ? sum / n : NAN;
}

static double find_range(const sw_inspection *inspection)
{
    const sw_repeatability *r = inspection->repeatability;
    double most = 0.01; /* mm: a table on which all agree perfectly still gets a scale */
    for (size_t i = 0; i < r->seam_count; i++) {
        double middle = middle_of(inspection, i);
        if (isfinite(r->seams[i].stated_u_mm))
            most = fmax(most, 2.2 * r->seams[i].stated_u_mm);
        for (size_t k = 0; k < r->photo_count; k++)
            if (isfinite(r->seams[i].mean_mm[k]) && isfinite(middle))
                most = fmax(most, 1.1 * fabs(r->seams[i].mean_mm[k] - middle));
    }
    return most;
}

static void put_row(const plot *in, size_t seam, int row)
{
    const sw_repeatability *r = in->inspection->repeatability;
    double middle = middle_of(in->inspection, seam), u = r->seams[seam].stated_u_mm;
    int y = TOP + ROW * row + ROW / 2;
    sw_sheet_put(in->sheet, "<text x=\"4\" y=\"%d\">%s</text>\n", y + 5, in->inspection->seams[seam].name);
    if (isfinite(u))
        sw_sheet_put(in->sheet, "<rect x=\"%.1f\" y=\"%d\" width=\"%.1f\" height=\"%d\" fill=\"#e6dcc4\"/>\n",
                     across(in, -2 * u), y - ROW / 2 + 3, across(in, 2 * u) - across(in, -2 * u), ROW - 6);
    for (size_t k = 0; k < r->photo_count; k++) {
        double mean = r->seams[seam].mean_mm[k];
        if (!isfinite(mean) || !isfinite(middle))
            continue;
        bool out = !r->seams[seam].counts[k];
        sw_sheet_put(in->sheet,
                     "<circle class=\"%s\" cx=\"%.1f\" cy=\"%d\" r=\"5\" fill=\"%s\" stroke=\"#1c1c21\" "
                     "stroke-width=\"%s\"><title>photo %zu: %.3f mm</title></circle>\n",
                     out ? "out" : "photo", across(in, mean - middle), y, out ? "none" : "#9aa3b5", out ? "2" : "1",
                     k + 1, mean);
    }
}

static void put_plot(sw_sheet *sheet, const sw_inspection *inspection, const size_t *order)
{
    plot in = {sheet, inspection, find_range(inspection)};
    size_t rows = inspection->seam_count;
    int height = TOP + ROW * (int)rows + BOTTOM;
    sw_sheet_put(sheet,
                 "<svg class=\"plot repeat\" viewBox=\"0 0 %d %d\" role=\"img\" font-size=\"14\"><title>Each "
                 "photo&#39;s mean gap against the mean of all</title>\n",
                 WIDTH, height);
    for (size_t row = 0; row < rows; row++)
        put_row(&in, order[row], (int)row);
    sw_sheet_put(sheet, "<path d=\"M%.1f %dV%d\" stroke=\"#1c1c21\" stroke-dasharray=\"3 3\"/>\n", across(&in, 0), TOP,
                 height - BOTTOM);
    for (int end = -1; end <= 1; end++)
        sw_sheet_put(sheet, "<text x=\"%.1f\" y=\"%d\" text-anchor=\"%s\">%.3f mm</text>\n",
                     across(&in, end * in.most_mm), height - BOTTOM + 20,
                     end < 0 ? "start"
                     : end   ? "end"
                             : "middle",
                     end * in.most_mm);
    sw_sheet_put(sheet, "</svg>\n");
}

static void put_number(sw_sheet *sheet, double mm)
{
    sw_sheet_put(sheet, "<td>");
    sw_sheet_number(sheet, mm, 3, "-");
    sw_sheet_put(sheet, "</td>");
}

static void put_table(sw_sheet *sheet, const sw_inspection *inspection, const size_t *order)
{
    const sw_repeatability *r = inspection->repeatability;
    sw_sheet_put(sheet, "<table><thead><tr><th>seam</th><th>mean gap, mm</th><th>photos</th><th>s_r, mm</th><th>stated "
                        "u, mm</th><th>widened</th></tr></thead>\n<tbody>\n");
    for (size_t row = 0; row < r->seam_count; row++) {
        const sw_seam *seam = &inspection->seams[order[row]];
        const sw_seam_spread *s = &r->seams[order[row]];
        sw_sheet_put(sheet, "<tr><td>%s</td>", seam->name);
        sw_page_figure_cell(sheet, seam->mean_mm, seam->mean_u95_mm);
        sw_sheet_put(sheet, "<td>%d", s->photos);
        if (s->left_out)
            sw_sheet_put(sheet, ", %d left out", s->left_out);
        sw_sheet_put(sheet, "</td>");
        put_number(sheet, s->s_r_mm);
        put_number(sheet, s->stated_u_mm);
        if (s->widened > 1)
            sw_sheet_put(sheet, "<td>%.1f times</td></tr>\n", s->widened);
        else
            sw_sheet_put(sheet, "<td>no</td></tr>\n");
    }
    sw_sheet_put(sheet, "</tbody></table>\n");
}

static void put_photos(sw_sheet *sheet, const sw_repeatability *r)
{
    static const char *const turns[] = {"", ", turned by a quarter", ", turned by a half", ", turned by a quarter"};
    sw_sheet_put(sheet, "<p>");
    for (size_t k = 0; k < r->photo_count; k++) {
        sw_sheet_put(sheet, "%sphoto %zu: ", k ? "; " : "", k + 1);
        sw_sheet_html(sheet, r->photos[k]);
        sw_sheet_put(sheet, "%s", turns[(unsigned)r->quarter_turns[k] % 4]);
    }
    sw_sheet_put(sheet, ".</p>\n");
}

void sw_page_repeat(sw_sheet *sheet, const sw_inspection *inspection, const size_t *order)
{
    const sw_repeatability *r = inspection->repeatability;
    sw_sheet plain;
    if (!r)
        return;
    sw_sheet_put(sheet, "<h2>Several photos</h2>\n<section class=\"card\">\n<p class=\"lead\">");
    sw_sheet_start(&plain);
    sw_words_repeat(&plain, inspection);
    sw_page_plain(sheet, &plain);
    sw_sheet_put(sheet, "</p>\n");
    put_photos(sheet, r);
    if (isfinite(r->mean.r))
        sw_sheet_put(
            sheet,
            "<p>Mean gaps of the same seam in two such photos differ by more than r = 2.8 s_r = %.3f&nbsp;mm in one of "
            "twenty cases only (repeatability limit, ISO 5725). Each dot is one photo&#39;s mean gap against the mean "
            "of all; the band is the ± of one photo. A ring is a photo left out because it shows another gap.</p>\n",
            r->mean.r);
    put_plot(sheet, inspection, order);
    put_table(sheet, inspection, order);
    sw_sheet_put(sheet, "<p>More photos make noise smaller, not what all of them get wrong alike: the card&#39;s size, "
                        "the lens profile, a lamp that stays where it is. That part of the ± is never averaged down. "
                        "Photos from several sides and in other light show more of it.</p>\n</section>\n");
}
