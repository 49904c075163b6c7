/* plot.c - gap against place along one seam, as an inline picture.
 *
 *   mm |   _/~~\__          band: gap +- u95
 *      |--------------      limit
 *      |_/        \___
 *      +--------------- mm from the north or west end
 */
#include <math.h>

#include "report/page/page.h"

/* The picture's own units; text of 13 in a width of 420 reads at 390 px and does not shout at 1280. */
enum { WIDTH = 420, HEIGHT = 200, LEFT = 40, RIGHT = 16, TOP = 16, BOTTOM = 38, MOST_POINTS = 420, MOST_TICKS = 5 };
/* Room above the highest place and above the limit, so that both are seen to be passed or kept. */
static const double HEADROOM = 1.15, LIMIT_HEADROOM = 1.5;

typedef struct plot {
    sw_sheet *sheet;
    const sw_seam *seam;
    double top_mm, length_mm;
} plot;

static double across(const plot *in, double at_mm)
{
    return LEFT + (WIDTH - LEFT - RIGHT) * fmax(0, fmin(1, at_mm / in->length_mm));
}

static double up(const plot *in, double gap_mm)
{
    double share = fmax(0, fmin(1, gap_mm / in->top_mm));
    return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * share;
}

static double top_of(const sw_seam *seam, double tolerance_mm)
{
    double top = tolerance_mm * LIMIT_HEADROOM;
    for (size_t i = 0; i < seam->station_count; i++) {
        const sw_station *station = &seam->stations[i];
        if (station->state == SW_STATION_OK && isfinite(station->gap_mm))
            top = fmax(top, HEADROOM * (station->gap_mm + fmax(0, station->u95_mm)));
    }
    return top > 0 ? top : 1;
}

static void put_axes(const plot *in)
{
    double step = sw_tick_step(in->top_mm, MOST_TICKS), along = sw_tick_step(in->length_mm, MOST_TICKS);
    int decimals = step < 0.1 ? 2 : 1;
    for (int i = 0; i * step <= in->top_mm; i++) {
        double y = up(in, i * step);
        sw_sheet_put(
            in->sheet,
            "<path d=\"M%d %.1fH%d\" stroke=\"#e2ded2\"/><text x=\"%d\" y=\"%.1f\" text-anchor=\"end\">%.*f</text>\n",
            LEFT, y, WIDTH - RIGHT, LEFT - 5, y + 4.5, decimals, i * step);
    }
    for (int i = 0; i * along <= in->length_mm; i++)
        sw_sheet_put(in->sheet, "<text x=\"%.1f\" y=\"%d\" text-anchor=\"middle\">%.0f</text>\n", across(in, i * along),
                     HEIGHT - BOTTOM + 16, i * along);
    sw_sheet_put(in->sheet, "<path d=\"M%d %dV%dH%d\" fill=\"none\" stroke=\"#1c1c21\"/>\n", LEFT, TOP, HEIGHT - BOTTOM,
                 WIDTH - RIGHT);
    sw_sheet_put(in->sheet,
                 "<text x=\"2\" y=\"11\">mm</text><text x=\"%d\" y=\"%d\" text-anchor=\"middle\">mm %s</text>\n",
                 (WIDTH + LEFT) / 2, HEIGHT - 5, sw_from_end(in->seam->upright));
}

/* Last station of the run that starts at `first` and whose state is the same. */
static size_t run_end(const sw_seam *seam, size_t first)
{
    size_t last = first;
    while (last + 1 < seam->station_count && seam->stations[last + 1].state == seam->stations[first].state)
        last++;
    return last;
}

/* Where a run begins and ends on the paper: half-way to its neighbours. */
static double run_edge(const plot *in, size_t inside, size_t outside)
{
    const sw_seam *seam = in->seam;
    if (outside >= seam->station_count) /* beyond either end; SIZE_MAX before the first */
        return across(in, inside == 0 ? 0 : in->length_mm);
    return across(in, (seam->stations[inside].at_mm + seam->stations[outside].at_mm) / 2);
}

/* Shades what does not count: chips, ends, and what was not seen, each with its word. */
static void put_states(const plot *in)
{
    static const char *const fills[] = {"", "#e6dcc4", "#eeece6", "url(#hatch)"};
    static const char *const names[] = {"", "chip", "", "not seen"};
    for (size_t first = 0; first < in->seam->station_count;) {
        size_t last = run_end(in->seam, first);
        unsigned state = (unsigned)in->seam->stations[first].state % 4;
        double from = run_edge(in, first, first - 1), to = run_edge(in, last, last + 1);
        if (state != SW_STATION_OK)
            sw_sheet_put(in->sheet, "<rect x=\"%.1f\" y=\"%d\" width=\"%.1f\" height=\"%d\" fill=\"%s\"/>\n", from, TOP,
                         fmax(to - from, 1), HEIGHT - TOP - BOTTOM, fills[state]);
        if (names[state][0])
            sw_sheet_put(in->sheet, "<text x=\"%.1f\" y=\"%d\" text-anchor=\"middle\" font-size=\"12\">%s</text>\n",
                         (from + to) / 2, TOP - 4, names[state]);
        first = last + 1;
    }
}

/* Every how-manyeth station is drawn, so that huge tables stay readable files. */
static size_t stride_of(const sw_seam *seam)
{
    return seam->station_count / MOST_POINTS + 1;
}

/* The band and the line of one run of stations that have figures. */
static void put_run(const plot *in, size_t first, size_t last)
{
    const sw_station *stations = in->seam->stations;
    size_t stride = stride_of(in->seam), i;
    sw_sheet_put(in->sheet, "<path class=\"band\" fill=\"#9aa3b5\" fill-opacity=\".55\" d=\"M");
    for (i = first; i <= last; i += stride)
        sw_sheet_put(in->sheet, "%.1f %.1f ", across(in, stations[i].at_mm),
                     up(in, stations[i].gap_mm + stations[i].u95_mm));
    for (i -= stride;; i -= stride) {
        sw_sheet_put(in->sheet, "%.1f %.1f ", across(in, stations[i].at_mm),
                     up(in, stations[i].gap_mm - stations[i].u95_mm));
        if (i < first + stride)
            break;
    }
    sw_sheet_put(in->sheet, "Z\"/>\n<path class=\"gap\" fill=\"none\" stroke=\"#1c1c21\" stroke-width=\"1.8\" d=\"M");
    for (i = first; i <= last; i += stride)
        sw_sheet_put(in->sheet, "%.1f %.1f ", across(in, stations[i].at_mm), up(in, stations[i].gap_mm));
    sw_sheet_put(in->sheet, "\"/>\n");
}

static bool has_figure(const sw_station *station)
{
    return isfinite(station->gap_mm) && isfinite(station->u95_mm);
}

static void put_curve(const plot *in)
{
    for (size_t first = 0; first < in->seam->station_count;) {
        size_t last = first;
        if (!has_figure(&in->seam->stations[first])) {
            first++;
            continue;
        }
        while (last + 1 < in->seam->station_count && has_figure(&in->seam->stations[last + 1]))
            last++;
        put_run(in, first, last);
        first = last + 1;
    }
}

static void put_limit(const plot *in, double tolerance_mm)
{
    double y = up(in, tolerance_mm);
    sw_sheet_put(in->sheet,
                 "<path class=\"limit\" d=\"M%d %.1fH%d\" stroke=\"#a01b5a\" stroke-width=\"2\" stroke-dasharray=\"8 "
                 "5\"/><text x=\"%d\" y=\"%.1f\" text-anchor=\"end\" font-weight=\"600\" stroke=\"#fff\" "
                 "stroke-width=\"3\" paint-order=\"stroke\">limit %.2f</text>\n",
                 LEFT, y, WIDTH - RIGHT, WIDTH - RIGHT - 3, y - 5, tolerance_mm);
    if (in->seam->max_mm >= SW_CLOSED_BELOW_MM && isfinite(in->seam->max_at_mm))
        sw_sheet_put(in->sheet,
                     "<circle class=\"widest\" cx=\"%.1f\" cy=\"%.1f\" r=\"6\" fill=\"none\" stroke=\"#1c1c21\" "
                     "stroke-width=\"2\"/>\n",
                     across(in, in->seam->max_at_mm), up(in, in->seam->max_mm));
}

void sw_page_plot(sw_sheet *sheet, const sw_seam *seam, double tolerance_mm)
{
    plot in = {sheet, seam, top_of(seam, tolerance_mm), seam->length_mm};
    if (!(in.length_mm > 0) || !seam->station_count)
        return;
    sw_sheet_put(
        sheet, "<svg class=\"plot\" viewBox=\"0 0 %d %d\" role=\"img\" font-size=\"13\"><title>Gap along %s</title>\n",
        WIDTH, HEIGHT, seam->name);
    put_states(&in);
    put_axes(&in);
    put_curve(&in);
    put_limit(&in, tolerance_mm);
    sw_sheet_put(sheet, "</svg>\n");
}
