/* page_edges.c - what to do, edge by edge, each with a picture of what comes off.
 *
 *    1.2  0.8  0.4   0    0    0         amounts
 *   ~~~~~~~~~~~~~~~~~~~~~~~~~~~~~ edge   the part that goes hangs below the edge's line, hatched
 *   #######\
 *   ####\         tile
 *   0        100       200      300 mm
 *   north end               south end
 */
#include <math.h>
#include <string.h>

#include "inspection/names.h"
#include "report/common/colours.h"
#include "report/plan/page.h"

/* The profile's own units; text of 13 in a width of 420 reads at 390 px and does not shout at 1280. */
enum { WIDTH = 420, LEFT = 14, RIGHT = 14, EDGE_Y = 40, DEEPEST = 56, HEIGHT = 152, AMOUNT_ROOM = 34, TICKS = 6 };
/* The wedge's. */
enum { WEDGE_WIDTH = 300, WEDGE_HEIGHT = 170, FACE_X = 190, FACE_TOP = 24, FACE_LONG = 110, WEDGE_MOST = 60 };

typedef struct profile {
    sw_sheet *sheet;
    const sw_edge_plan *edge;
    double per_mm; /* units along */
    int times;
} profile;

static double along(const profile *in, double at_mm)
{
    return LEFT + in->per_mm * fmax(0, fmin(in->edge->length_mm, at_mm));
}

static double depth(const profile *in, double remove_mm)
{
    return fmin(HEIGHT - EDGE_Y, fmax(0, remove_mm) * in->per_mm * in->times);
}

/* The tile below the edge's line, and in it the part that goes. */
static void put_body(const profile *in)
{
    const sw_edge_plan *edge = in->edge;
    double end = along(in, edge->length_mm);
    sw_sheet_put(in->sheet, "<path d=\"M%d %dH%.1fV%dH%dz\" fill=\"#e9e4d6\"/>\n", LEFT, EDGE_Y, end, HEIGHT - 40,
                 LEFT);
    sw_sheet_put(in->sheet, "<path class=\"goes\" fill=\"" SW_HEX_OVER "\" stroke=\"" SW_HEX_OVER_INK "\" d=\"M%.1f %d",
                 along(in, edge->true_up[0].at_mm), EDGE_Y);
    for (size_t i = 0; i < edge->true_up_count; i++)
        sw_sheet_put(in->sheet, "L%.1f %.1f", along(in, edge->true_up[i].at_mm),
                     EDGE_Y + depth(in, edge->true_up[i].remove_mm));
    sw_sheet_put(in->sheet, "V%dz\"/>\n<path d=\"M%d %dH%.1f\" stroke=\"#1c1c21\" stroke-width=\"2\"/>\n", EDGE_Y, LEFT,
                 EDGE_Y, end);
}

/* The amounts over the line: the deepest, and of the others those that have room. */
static void put_amounts(const profile *in)
{
    const sw_edge_plan *edge = in->edge;
    size_t deepest = 0;
    double last = -AMOUNT_ROOM;
    for (size_t i = 1; i < edge->true_up_count; i++)
        if (edge->true_up[i].remove_mm > edge->true_up[deepest].remove_mm)
            deepest = i;
    double kept = along(in, edge->true_up[deepest].at_mm);
    for (size_t i = 0; i < edge->true_up_count; i++) {
        const sw_removal *at = &edge->true_up[i];
        double x = along(in, at->at_mm);
        if (i != deepest && (x - last < AMOUNT_ROOM || fabs(x - kept) < AMOUNT_ROOM))
            continue;
        last = x;
        sw_sheet_put(in->sheet,
                     "<path d=\"M%.1f %dv5\" stroke=\"#1c1c21\"/><text x=\"%.1f\" y=\"%d\" text-anchor=\"%s\" "
                     "font-size=\"13\"%s>%.*f</text>\n",
                     x, EDGE_Y - 5, x, EDGE_Y - 9,
                     i == 0                         ? "start"
                     : i + 1 == edge->true_up_count ? "end"
                                                    : "middle",
                     i == deepest ? " font-weight=\"700\"" : "", at->remove_mm < SW_PLAN_NOTHING_MM ? 0 : 2,
                     at->remove_mm < SW_PLAN_NOTHING_MM ? 0.0 : at->remove_mm);
    }
}

static void put_axis(const profile *in)
{
    double step = sw_tick_step(in->edge->length_mm, TICKS);
    for (int i = 0; i * step <= in->edge->length_mm + 1; i++) {
        double x = along(in, i * step);
        sw_sheet_put(in->sheet,
                     "<path d=\"M%.1f %dv6\" stroke=\"#55534c\"/><text x=\"%.1f\" y=\"%d\" text-anchor=\"%s\" "
                     "font-size=\"12\">%.0f</text>\n",
                     x, HEIGHT - 40, x, HEIGHT - 20,
                     i == 0                   ? "start"
                     : x > WIDTH - RIGHT - 14 ? "end"
                                              : "middle",
                     i * step);
    }
    sw_sheet_put(in->sheet,
                 "<text x=\"%d\" y=\"%d\" font-size=\"13\" font-weight=\"700\">%s</text><text x=\"%d\" y=\"%d\" "
                 "font-size=\"12\" text-anchor=\"middle\">mm along the edge</text><text x=\"%d\" y=\"%d\" "
                 "font-size=\"13\" font-weight=\"700\" text-anchor=\"end\">%s</text>\n",
                 LEFT, HEIGHT - 4, sw_end_name(in->edge->side, 0), WIDTH / 2, HEIGHT - 4, WIDTH - RIGHT, HEIGHT - 4,
                 sw_end_name(in->edge->side, 1));
}

void sw_plan_page_profile(sw_sheet *sheet, const sw_edge_plan *edge, const char *name)
{
    profile in = {sheet, edge, (WIDTH - LEFT - RIGHT) / edge->length_mm, 1};
    if (!sw_plan_sands(edge) || !(edge->length_mm > 0))
        return;
    in.times = sw_times_larger(edge->deepest_mm, DEEPEST / in.per_mm, SW_PLAN_TIMES);
    sw_sheet_put(sheet,
                 "<svg class=\"profile\" viewBox=\"0 0 %d %d\" role=\"img\"><title>What comes off %s along its length, "
                 "in mm</title>\n<text x=\"%d\" y=\"13\" font-size=\"12\">mm to take off</text><text x=\"%d\" y=\"13\" "
                 "font-size=\"12\" text-anchor=\"end\">drawn %d times as deep</text>\n",
                 WIDTH, HEIGHT, name, LEFT, WIDTH - RIGHT, in.times);
    put_body(&in);
    put_amounts(&in);
    put_axis(&in);
    sw_sheet_put(sheet, "<text x=\"%d\" y=\"%d\" font-size=\"13\" text-anchor=\"middle\">tile %.*s</text></svg>\n",
                 WIDTH / 2, HEIGHT - 46, (int)strcspn(name, " "), name);
}

/* In section: the tile on the left, its leaning side face on the right, and the wedge outside the plumb line. */
void sw_plan_page_wedge(sw_sheet *sheet, const sw_edge_plan *edge, double height_mm)
{
    double per_mm = FACE_LONG / (height_mm > 0 ? height_mm : 1);
    int times = sw_times_larger(edge->bevel_mm, WEDGE_MOST / per_mm, SW_PLAN_TIMES), base = FACE_TOP + FACE_LONG;
    double out = fmin(WEDGE_MOST, edge->bevel_mm * per_mm * times);
    if (!sw_plan_bevels(edge))
        return;
    sw_sheet_put(sheet,
                 "<svg class=\"wedge\" viewBox=\"0 0 %d %d\" role=\"img\"><title>The side face in section: the wedge "
                 "to take off its base</title>\n<path d=\"M10 %dH%dV%dH10z\" fill=\"#e9e4d6\"/>\n",
                 WEDGE_WIDTH, WEDGE_HEIGHT, FACE_TOP, FACE_X, base);
    sw_sheet_put(sheet, "<path d=\"M%d %dV%dh%.1fz\" fill=\"" SW_HEX_BEVEL_WASH "\" stroke=\"" SW_HEX_WITHIN "\"/>\n",
                 FACE_X, FACE_TOP, base, out);
    sw_sheet_put(sheet,
                 "<path d=\"M10 %dH%dL%.1f %dH10\" fill=\"none\" stroke=\"#1c1c21\" stroke-width=\"2\"/>\n"
                 "<text x=\"10\" y=\"16\" font-size=\"13\">top, face up</text><text x=\"20\" y=\"%d\" "
                 "font-size=\"13\">tile, in section</text>\n",
                 FACE_TOP, FACE_X, FACE_X + out, base, (FACE_TOP + base) / 2);
    sw_sheet_put(sheet, "<text x=\"%d\" y=\"%d\" font-size=\"15\" font-weight=\"700\">B</text>\n", FACE_X + 3,
                 base - 6);
    sw_sheet_put(sheet,
                 "<text x=\"10\" y=\"%d\" font-size=\"13\">base: %.2f mm off, %.1f° (drawn %d times)</text></svg>\n",
                 base + 22, edge->bevel_mm, edge->bevel_deg, times);
}

static void put_edge(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first, size_t index)
{
    const sw_edge_plan *edge = &plan->edges[index];
    char name[EDGE_NAME_ROOM];
    sw_sheet plain;
    sw_edge_name(first, edge->tile, edge->side, name);
    sw_sheet_put(sheet, "<section class=\"card\" id=\"edge-%zu\"><h3>%zu. %s: %s</h3>\n<p class=\"lead\">", index + 1,
                 index + 1, name,
                 !sw_plan_bevels(edge)        ? "true up"
                 : edge->lean == SW_LEAN_OPEN ? "check for lean, then true up"
                 : sw_plan_sands(edge)        ? "bevel and true up"
                                              : "bevel");
    sw_sheet_start(&plain);
    sw_plan_words_edge(&plain, edge);
    sw_page_plain(sheet, &plain);
    sw_sheet_put(sheet, "</p>\n<p>");
    sw_page_text(sheet, edge->why);
    sw_sheet_put(sheet, "</p>\n");
    sw_plan_page_profile(sheet, edge, name);
    if (edge->lean == SW_LEAN_KNOWN)
        sw_plan_page_wedge(sheet, edge, plan->height_mm);
    sw_sheet_put(sheet, "</section>\n");
}

static bool only_to_check(const sw_edge_plan *edge)
{
    return !sw_plan_sands(edge) && edge->lean == SW_LEAN_OPEN;
}

/* Edges that are only to be checked: a line each, the reason folded away, as it is much the same for all. */
static void put_checks(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first)
{
    size_t count = 0;
    for (size_t i = 0; i < plan->edge_count; i++) {
        const sw_edge_plan *edge = &plan->edges[i];
        char name[EDGE_NAME_ROOM];
        if (!only_to_check(edge))
            continue;
        if (!count++)
            sw_sheet_put(sheet, "<h3 class=\"checks\">Check for lean first, with a try square (<a "
                                "href=\"#lean\">how</a>)</h3>\n<ul class=\"words\">\n");
        sw_sheet_put(sheet,
                     "<li id=\"edge-%zu\"><details%s><summary><b>%zu. %s</b>: if it leans, bevel at most %.2f&nbsp;mm "
                     "(%.1f°) at the base</summary>\n<p>",
                     i + 1, count == 1 ? " open" : "", i + 1, sw_edge_name(first, edge->tile, edge->side, name),
                     edge->bevel_mm, edge->bevel_deg);
        sw_page_text(sheet, edge->why);
        sw_sheet_put(sheet, "</p></details></li>\n");
    }
    if (count)
        sw_sheet_put(sheet, "</ul>\n");
}

void sw_plan_page_edges(sw_sheet *sheet, const sw_plan *plan, const sw_inspection *first)
{
    if (!plan->edge_count)
        return;
    sw_sheet_put(sheet, "<h2>Edge by edge</h2>\n");
    sw_sheet_put(sheet, "<p>A gap closes where the tiles touch, not where they gape. ");
    if (sw_plan_deepest(plan) > 0)
        sw_sheet_put(sheet, "Orange is what comes off the top edge, seen from above; the figures are mm, and between "
                            "two of them it runs straight.");
    sw_sheet_put(sheet, "</p>\n<div class=\"grid sanding\">\n");
    for (size_t i = 0; i < plan->edge_count; i++)
        if (!only_to_check(&plan->edges[i]))
            put_edge(sheet, plan, first, i);
    sw_sheet_put(sheet, "</div>\n");
    put_checks(sheet, plan, first);
}
