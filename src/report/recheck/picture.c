/* picture.c - the table from above as a drawing: tiles all alike, gaps many times larger.
 *
 *      +------+  +------+      Tiles are SW_RECHECK_TILE wide, with SW_RECHECK_ROOM between them, so that every gap has
 *      |  A1  ||||  B1  |      room. A gap is a ribbon about the middle of that room, as wide as it was measured there.
 *      +------+  +------+
 */
#include <math.h>

#include "report/recheck/page.h"

static const double MARGIN = 6, THINNEST = 1.2;
enum { RIBBON_PLACES = 24 };

static double tile_at(int index)
{
    return MARGIN + index * (SW_RECHECK_TILE + SW_RECHECK_ROOM);
}

/* Mean gap of the stations in one stretch of the ribbon, a chip counting as the gap before it; NaN when none was read.
 */
static double gap_in(const sw_seam *seam, int place, double before)
{
    double from = seam->length_mm * place / RIBBON_PLACES, to = seam->length_mm * (place + 1) / RIBBON_PLACES, sum = 0;
    int count = 0, chip = 0;
    for (size_t i = 0; i < seam->station_count; i++) {
        const sw_station *s = &seam->stations[i];
        if (s->at_mm < from || s->at_mm > to || !isfinite(s->gap_mm))
            continue;
        chip |= s->state == SW_STATION_CHIP;
        sum += s->state == SW_STATION_CHIP ? 0 : s->gap_mm;
        count += s->state != SW_STATION_CHIP;
    }
    return count ? sum / count : chip ? before : NAN;
}

static void put_point(sw_sheet *sheet, bool upright, double along, double across)
{
    sw_sheet_number(sheet, upright ? across : along, 1, "0");
    sw_sheet_put(sheet, " ");
    sw_sheet_number(sheet, upright ? along : across, 1, "0");
    sw_sheet_put(sheet, " ");
}

/* The ribbon from stretch `first` to before `end`: down one rim and up the other. */
static void put_ribbon(sw_sheet *sheet, bool upright, const double *half, int first, int end, double start,
                       double middle)
{
    double step = SW_RECHECK_TILE / RIBBON_PLACES;
    sw_sheet_put(sheet, "<polygon class=\"gap\" points=\"");
    for (int i = first; i < end; i++) {
        put_point(sheet, upright, start + i * step, middle - half[i]);
        put_point(sheet, upright, start + (i + 1) * step, middle - half[i]);
    }
    for (int i = end - 1; i >= first; i--) {
        put_point(sheet, upright, start + (i + 1) * step, middle + half[i]);
        put_point(sheet, upright, start + i * step, middle + half[i]);
    }
    sw_sheet_put(sheet, "\"/>");
}

static void put_blind(sw_sheet *sheet, bool upright, int first, int end, double start, double middle)
{
    double step = SW_RECHECK_TILE / RIBBON_PLACES, from = start + first * step, long_side = (end - first) * step;
    double thick = SW_RECHECK_ROOM / 2, near = middle - thick / 2;
    sw_sheet_put(sheet, "<rect class=\"blind\" x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\"/>",
                 upright ? near : from, upright ? from : near, upright ? thick : long_side,
                 upright ? long_side : thick);
}

/* The gap along a seam; hatched where it was not seen. */
static void put_gap(sw_sheet *sheet, const sw_recheck_view *view, const sw_seam *seam, double start, double middle)
{
    double half[RIBBON_PLACES], gap = NAN;
    for (int i = 0; i < RIBBON_PLACES; i++) {
        gap = gap_in(seam, i, gap);
        half[i] = isfinite(gap) ? fmin(fmax(gap * view->units_per_mm, THINNEST), SW_RECHECK_ROOM - 2) / 2 : NAN;
    }
    for (int first = 0, end; first < RIBBON_PLACES; first = end) {
        bool seen = isfinite(half[first]);
        for (end = first + 1; end < RIBBON_PLACES && !isfinite(half[end]) == !seen;)
            end++;
        if (seen)
            put_ribbon(sheet, seam->upright, half, first, end, start, middle);
        else
            put_blind(sheet, seam->upright, first, end, start, middle);
    }
}

static void put_seam(sw_sheet *sheet, const sw_recheck_view *view, const sw_seam *seam)
{
    const sw_tile *first = &view->inspection->tiles[seam->first];
    double column = tile_at(first->column), row = tile_at(first->row), start = seam->upright ? row : column;
    double middle = (seam->upright ? column : row) + SW_RECHECK_TILE + SW_RECHECK_ROOM / 2;
    double along = start + SW_RECHECK_TILE / 2, x = seam->upright ? middle : along, y = seam->upright ? along : middle;
    sw_verdict verdict = sw_verdict_of(seam->max_mm, seam->max_u95_mm, view->tolerance_mm);
    sw_sheet_put(sheet, "<g class=\"%s\">", sw_page_class(verdict));
    put_gap(sheet, view, seam, start, middle);
    sw_page_seam_sign(sheet, verdict, x, y, seam->upright, seam->max_mm, 0);
    sw_sheet_put(sheet, "</g>\n");
}

static void put_tile(sw_sheet *sheet, const sw_recheck_view *view, int index)
{
    static const char *const turns[] = {"", "r", "h", "l"};
    const sw_tile *tile = &view->inspection->tiles[index];
    const sw_place own = {index, 0}, *place = view->places ? &view->places[index] : &own;
    double x = tile_at(tile->column), y = tile_at(tile->row), half = SW_RECHECK_TILE / 2;
    sw_sheet_put(sheet, "<rect class=\"tile\" x=\"%.1f\" y=\"%.1f\" width=\"%.0f\" height=\"%.0f\"/>", x, y,
                 SW_RECHECK_TILE, SW_RECHECK_TILE);
    sw_sheet_put(sheet, "<text class=\"name\" x=\"%.1f\" y=\"%.1f\">", x + half, y + half + 6);
    sw_sheet_html(sheet, view->names->tiles[place->tile].name);
    sw_sheet_put(sheet, "%s</text>\n", turns[place->turns & 3]);
}

void sw_recheck_picture(sw_sheet *sheet, const sw_recheck_view *view, const char *title)
{
    const sw_inspection *ins = view->inspection;
    double width = tile_at(ins->table.columns) - SW_RECHECK_ROOM + MARGIN;
    double height = tile_at(ins->table.rows) - SW_RECHECK_ROOM + MARGIN;
    sw_sheet_put(sheet, "<svg class=\"pair\" viewBox=\"0 0 %.0f %.0f\" role=\"img\" aria-label=\"%s\">\n", width,
                 height, title);
    for (size_t i = 0; i < ins->tile_count; i++)
        put_tile(sheet, view, (int)i);
    for (size_t i = 0; i < ins->seam_count; i++)
        put_seam(sheet, view, &ins->seams[i]);
    sw_sheet_put(sheet, "</svg>\n");
}
