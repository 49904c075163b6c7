/* budget.c - "How sure is this?": what the ± of a few figures is made of, a bar for each part.
 *
 *   light in the gap   |###########      |  0.013 mm   58 %
 *   lens               |////             |  0.006 mm   20 %     hatched: assumed, not seen in this photo
 */
#include <math.h>

#include "report/page/page.h"

/* The picture's own units; text of 13 in a width of 420 reads at 390 px, as in the plots. */
enum { WIDTH = 420, ROW = 22, BAR_LEFT = 182, BAR_WIDTH = 112, BAR_HEIGHT = 12, FIGURE_RIGHT = 372 };
/* Parts of less than this share of the variance are put together. */
static const double WORTH_A_BAR = 0.01;
/* More degrees of freedom than this hardly move the factor 2 (JCGM 100 table G.2: 2.01 for 50). */
static const double FREEDOM_WORTH_TELLING = 50;

/* The parts in words for somebody at a workbench; at most 26 characters, which the picture holds. */
static const char *plain_name(sw_part part)
{
    static const char *const names[SW_PART_COUNT] = {"noise of the photo",
                                                     "rough edges, patchy light",
                                                     "light in the gap",
                                                     "what no model holds",
                                                     "coarse pixels",
                                                     "dark edges that moved",
                                                     "the cards' own size",
                                                     "cards' size in the photo",
                                                     "lens",
                                                     "slant of the view",
                                                     "thickness of the cards",
                                                     "stretch under the card",
                                                     "tops not level"};
    return (unsigned)part < SW_PART_COUNT ? names[part] : "";
}

static const char *fill_of(sw_part_kind kind)
{
    return kind == SW_SEEN ? "#3d4a66" : kind == SW_FROM_PROFILE ? "#9aa3b5" : "url(#hatch)";
}

static void put_bar(sw_sheet *sheet, int row, const char *name, const char *fill, double u, double share)
{
    int top = row * ROW, text = top + 15;
    sw_sheet_put(sheet, "<text x=\"0\" y=\"%d\">", text);
    sw_sheet_html(sheet, name);
    sw_sheet_put(sheet,
                 "</text><rect class=\"part\" x=\"%d\" y=\"%d\" width=\"%.1f\" height=\"%d\" fill=\"%s\" "
                 "stroke=\"#1c1c21\" stroke-width=\".8\"/><text x=\"%d\" y=\"%d\" text-anchor=\"end\">",
                 BAR_LEFT, top + 4, fmax(1, BAR_WIDTH * share), BAR_HEIGHT, fill, FIGURE_RIGHT, text);
    sw_sheet_number(sheet, u, 3, "?");
    sw_sheet_put(sheet, "</text><text x=\"%d\" y=\"%d\" text-anchor=\"end\">", WIDTH, text);
    sw_sheet_put(sheet, share < WORTH_A_BAR ? "&lt;1 %%</text>\n" : "%.0f %%</text>\n", 100 * share);
}

static void put_bars(sw_sheet *sheet, const sw_figure_budget *b)
{
    int rows = 0, rest = 0;
    double rest_share = 0, rest_u2 = 0;
    for (size_t i = 0; i < b->line_count; i++) {
        const sw_budget_line *line = &b->lines[i];
        bool small = line->included && line->share < WORTH_A_BAR;
        rows += line->included && !small;
        rest |= small;
        rest_share += small ? line->share : 0;
        rest_u2 += small ? line->u * line->u : 0;
    }
    sw_sheet_put(sheet,
                 "<svg class=\"plot budget\" viewBox=\"0 0 %d %d\" role=\"img\" font-size=\"13\"><title>Parts of the ± "
                 "of the %s: standard uncertainty, and share of the whole</title>\n",
                 WIDTH, (rows + rest) * ROW, sw_budget_figure_name(b->figure));
    for (size_t i = 0, row = 0; i < b->line_count; i++) {
        const sw_budget_line *line = &b->lines[i];
        if (line->included && line->share >= WORTH_A_BAR)
            put_bar(sheet, (int)row++, plain_name(line->part), fill_of(line->kind), line->u, line->share);
    }
    if (rest)
        put_bar(sheet, rows, "all the rest", "none", sqrt(rest_u2), rest_share);
    sw_sheet_put(sheet, "</svg>\n");
}

/* What the ± holds nothing for. Parts with one note stand together, as their root sum of squares. */
static void put_left_out(sw_sheet *sheet, const sw_figure_budget *b)
{
    double short_u2 = 0;
    int is_short = 0;
    for (size_t i = 0; i < b->line_count; i++) {
        const sw_budget_line *line = &b->lines[i];
        if (line->included)
            continue;
        if (line->part != SW_PART_HEIGHT) {
            short_u2 += line->left_out * line->left_out;
            is_short = 1;
            continue;
        }
        sw_sheet_put(sheet, "<p class=\"apart\"><b>Not in the ±:</b> it would be off by ");
        sw_sheet_number(sheet, line->left_out, 2, "?");
        sw_sheet_put(sheet, "&nbsp;%s more ", b->unit);
        sw_page_text(sheet, line->note);
        sw_sheet_put(sheet, ". Nothing in the photo tells.</p>\n");
    }
    if (!is_short)
        return;
    sw_sheet_put(
        sheet,
        "<p class=\"apart\"><b>Not in the ±,</b> as a gap is short: cards, lens and slant of the view, together ");
    sw_sheet_number(sheet, sqrt(short_u2), 4, "?");
    sw_sheet_put(sheet, "&nbsp;%s.</p>\n", b->unit);
}

static void put_budget(sw_sheet *sheet, const sw_figure_budget *b)
{
    sw_sheet_put(sheet, "<section class=\"card\">\n<h3>");
    sw_sheet_put(sheet, "<span class=\"why\">%s</span>", sw_budget_figure_name(b->figure));
    sw_sheet_put(sheet, ": ");
    sw_page_text(sheet, b->where);
    sw_sheet_put(sheet, "</h3>\n<p class=\"lead\">");
    sw_page_figure(sheet, b->value, b->u95);
    sw_sheet_put(sheet, "&nbsp;%s</p>\n", b->unit);
    put_bars(sheet, b);
    sw_sheet_put(sheet, "<p class=\"surer\"><b>What would make it surer:</b> ");
    sw_page_text(sheet, b->next);
    sw_sheet_put(sheet, "</p>\n");
    put_left_out(sheet, b);
    if (b->degrees_of_freedom < FREEDOM_WORTH_TELLING)
        sw_sheet_put(sheet,
                     "<p class=\"apart\">The scatter was judged from few places (%.0f effective degrees of freedom), "
                     "so the ± itself is rough.</p>\n",
                     floor(b->degrees_of_freedom));
    sw_sheet_put(sheet, "</section>\n");
}

void sw_page_budgets(sw_sheet *sheet, const sw_inspection *inspection)
{
    if (!inspection->budget_count)
        return;
    sw_sheet_put(
        sheet,
        "<h2 id=\"sure\">How sure is this?</h2>\n<p>A ± is twice a standard uncertainty, and that is made of the parts "
        "drawn here: each with its own standard uncertainty and its share of the whole (shares go by the squares, as "
        "independent errors partly cancel). Dark bars were seen in this photo%s; hatched ones are assumed, and no "
        "photo shows them. The longest bar is the one worth working on.</p>\n<p>The ± holds only what is known of. "
        "Light that shines onto the far wall of a gap can make it read too narrow without showing here.</p>\n"
        "<div class=\"grid\">\n",
        inspection->scale.lens.source == SW_LENS_PROFILE ? ", pale ones in the photos of the lens profile" : "");
    for (size_t i = 0; i < inspection->budget_count; i++)
        put_budget(sheet, &inspection->budgets[i]);
    sw_sheet_put(sheet, "</div>\n");
}
