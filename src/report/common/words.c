/* words.c - the verdict and the next step in words, the same on the terminal and on the page. */
#include <math.h>
#include <stdlib.h>

#include "inspection/order.h"
#include "inspection/tiles_size.h"
#include "report/common/words.h"

/* Measured so far off the size told, the tiles' size is said, too. */
static const double SIZE_SHOWS = 0.005;

typedef struct place {
    size_t index;
    int urgency;
    double gap_mm;
} place;

static int by_urgency(const void *a, const void *b)
{
    const place *one = a, *two = b;
    if (one->urgency != two->urgency)
        return two->urgency - one->urgency;
    if (one->gap_mm != two->gap_mm)
        return one->gap_mm < two->gap_mm ? 1 : -1;
    return one->index < two->index ? -1 : one->index > two->index;
}

size_t *sw_seams_worst_first(const sw_inspection *inspection)
{
    size_t count = inspection->seam_count, *order = count ? malloc(count * sizeof *order) : NULL;
    place *places = count ? malloc(count * sizeof *places) : NULL;
    if (!order || !places) {
        free(order);
        free(places);
        return NULL;
    }
    for (size_t i = 0; i < count; i++) {
        const sw_seam *seam = &inspection->seams[i];
        places[i].index = i;
        places[i].urgency = seam->verdict == SW_OVER ? 2 : seam->verdict == SW_TOO_CLOSE ? 1 : 0;
        places[i].gap_mm = isfinite(seam->max_mm) ? seam->max_mm : -1; /* not seen at all: last of its kind */
    }
    qsort(places, count, sizeof *places, by_urgency);
    for (size_t i = 0; i < count; i++)
        order[i] = places[i].index;
    free(places);
    return order;
}

const sw_advice *sw_first_advice(const sw_inspection *inspection)
{
    for (size_t i = 0; i < inspection->advice_count; i++)
        if (inspection->ranking[i].action != SW_LEAVE)
            return &inspection->ranking[i];
    return NULL;
}

bool sw_any_sanding(const sw_inspection *inspection)
{
    for (size_t i = 0; i < inspection->advice_count; i++)
        if (inspection->ranking[i].action == SW_TRUE_UP || inspection->ranking[i].action == SW_BEVEL)
            return true;
    return false;
}

void sw_words_figure_cell(sw_sheet *sheet, double value, double u95, size_t columns)
{
    size_t from = sheet->length;
    sw_words_figure(sheet, value, u95);
    sw_sheet_pad(sheet, from, columns);
}

void sw_words_figure(sw_sheet *sheet, double value, double u95)
{
    if (!isfinite(value)) {
        sw_sheet_put(sheet, "not seen");
        return;
    }
    sw_sheet_number(sheet, value, 2, "");
    sw_sheet_put(sheet, " ± ");
    sw_sheet_number(sheet, u95, 2, "?");
}

void sw_words_place(sw_sheet *sheet, const sw_seam *seam)
{
    if (seam->max_mm >= SW_CLOSED_BELOW_MM && isfinite(seam->max_at_mm))
        sw_sheet_put(sheet, ", %.0f mm %s", seam->max_at_mm, sw_from_end(seam->upright));
}

/* "A1-B1, 2.31 ± 0.08 mm, 120 mm from its north end" */
static void put_worst(sw_sheet *sheet, const sw_seam *seam)
{
    sw_sheet_put(sheet, "%s, ", seam->name);
    sw_words_figure(sheet, seam->max_mm, seam->max_u95_mm);
    if (isfinite(seam->max_mm))
        sw_sheet_put(sheet, " mm");
    sw_words_place(sheet, seam);
}

bool sw_words_unseen(sw_sheet *sheet, const sw_inspection *inspection)
{
    enum { NAMED = 4 }; /* more names than this make no readable sentence; the list of seams has them all */
    size_t named = 0, more = 0;
    for (size_t i = 0; i < inspection->seam_count; i++) {
        const sw_seam *seam = &inspection->seams[i];
        double share = sw_seam_unseen(seam);
        if (!(share > 0))
            continue;
        if (named == NAMED) {
            more++;
            continue;
        }
        sw_sheet_put(sheet, named++ ? ", " : "Not seen: ");
        if (share < 1)
            sw_sheet_put(sheet, "%.0f %% of %s", fmin(99, ceil(100 * share)), seam->name);
        else
            sw_sheet_put(sheet, "all of %s", seam->name);
    }
    if (more)
        sw_sheet_put(sheet, " and parts of %zu more", more);
    if (named)
        sw_sheet_put(sheet, ".");
    return named > 0;
}

/* Decimals of a size that was told. */
static int decimals_of(double mm)
{
    return mm == round(mm) ? 0 : 1;
}

void sw_words_table(sw_sheet *sheet, const sw_inspection *inspection)
{
    const sw_table *table = &inspection->table;
    char card[64];
    double size = sw_tiles_size(inspection, NULL), told = table->tile_mm;
    if (table->columns * table->rows > 1)
        sw_sheet_put(sheet, "%d x %d tiles of ", table->columns, table->rows);
    else
        sw_sheet_put(sheet, "1 tile of ");
    if (table->tile_given || !isfinite(size))
        sw_sheet_number(sheet, told, decimals_of(told), "?");
    else
        sw_sheet_number(sheet, size, 0, "?");
    sw_sheet_put(sheet, " mm");
    if (table->tile_given && fabs(size / told - 1) > SIZE_SHOWS) {
        sw_sheet_put(sheet, " as told, measured ");
        sw_sheet_number(sheet, size, 1, "?");
    }
    sw_reference_name(&inspection->scale.reference, card, sizeof card);
    sw_sheet_put(sheet, ", by cards of %s mm", card);
}

void sw_words_verdict(sw_sheet *sheet, const sw_inspection *inspection)
{
    size_t count = inspection->seam_count, of[3] = {0, 0, 0}, blind = 0;
    size_t *order = sw_seams_worst_first(inspection);
    double limit = inspection->tolerance_mm;
    for (size_t i = 0; i < count; i++) {
        of[(unsigned)inspection->seams[i].verdict % 3]++;
        blind += !isfinite(inspection->seams[i].max_mm);
    }
    size_t close = of[SW_TOO_CLOSE] > blind ? of[SW_TOO_CLOSE] - blind : 0;
    if (!order) {
        sheet->failed |= count > 0;
        sw_sheet_put(sheet, "No seam: there is only one tile.");
        return;
    }
    if (of[SW_OVER]) {
        sw_sheet_put(sheet, "Over: %zu of %zu seams %s open by more than %.2f mm; the worst is ", of[SW_OVER], count,
                     of[SW_OVER] == 1 ? "is" : "are", limit);
        put_worst(sheet, &inspection->seams[order[0]]);
        if (close)
            sw_sheet_put(sheet, "; %zu more %s too close to call", close, close == 1 ? "is" : "are");
    } else if (of[SW_TOO_CLOSE]) {
        sw_sheet_put(sheet, "Too close to call: no seam is surely over %.2f mm, but %zu of %zu may be", limit,
                     of[SW_TOO_CLOSE], count);
        if (isfinite(inspection->seams[order[0]].max_mm)) {
            sw_sheet_put(sheet, "; the widest of these is ");
            put_worst(sheet, &inspection->seams[order[0]]);
        }
    } else {
        if (count == 1)
            sw_sheet_put(sheet, "Within: the only seam is within %.2f mm: ", limit);
        else
            sw_sheet_put(sheet, "Within: all %zu seams are within %.2f mm; the widest is ", count, limit);
        put_worst(sheet, &inspection->seams[order[0]]);
    }
    sw_sheet_put(sheet, ".");
    free(order);
}

static void put_place(sw_sheet *sheet, const sw_advice *advice)
{
    if (!isfinite(advice->from_mm) || !isfinite(advice->to_mm) || !(advice->to_mm > advice->from_mm))
        return;
    sw_sheet_put(sheet, ", %.0f to %.0f mm %s", advice->from_mm, advice->to_mm,
                 sw_from_end(sw_side_upright(advice->side)));
}

void sw_words_deed(sw_sheet *sheet, const sw_inspection *inspection, const sw_advice *advice)
{
    char edge[EDGE_NAME_ROOM];
    sw_sheet_put(sheet, "%s %s", sw_action_name(advice->action),
                 sw_edge_name(inspection, advice->tile, advice->side, edge));
    put_place(sheet, advice);
    if (advice->remove_mm > 0 && (advice->action == SW_TRUE_UP || advice->action == SW_BEVEL))
        sw_sheet_put(sheet, ": take off %.2f mm at most", advice->remove_mm);
}

void sw_words_begin(sw_sheet *sheet, const sw_inspection *inspection)
{
    if (sw_inspection_verdict(inspection) == SW_OVER)
        sw_sheet_put(sheet, "%s; then begin with the worst seam: ", sw_order_begin);
}

void sw_words_next(sw_sheet *sheet, const sw_inspection *inspection)
{
    const sw_advice *first = sw_first_advice(inspection);
    if (first) {
        sw_words_begin(sheet, inspection);
        sw_words_deed(sheet, inspection, first);
        sw_sheet_put(sheet, ".%s%s", first->reason[0] ? " " : "", first->reason);
        return;
    }
    switch (sw_inspection_verdict(inspection)) {
    case SW_OVER:
        sw_sheet_put(sheet, "%s; sand nothing before that.", sw_order_begin);
        break;
    case SW_TOO_CLOSE:
        sw_sheet_put(sheet,
                     "sand nothing; take a sharper or nearer photo with four reference squares and measure again.");
        break;
    case SW_WITHIN:
        sw_sheet_put(sheet, "nothing to sand; leave the tiles as they are.");
        break;
    }
}
