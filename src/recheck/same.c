/* same.c - whether both inspections show the same tiles.
 *
 * Sanding takes away, whatever else it does: a tile of afterwards, shifted and turned as suits it best, lies within the
 * tile of before. Tiles of another table do not, or only by chance: they are as often larger as smaller. So every
 * place is free to have lost, and what would have had to grow is priced as in fit.c (minus the log-likelihood). The
 * later photo's scale may be off by two standard uncertainties to the tile's favour, and a card of another size makes
 * all tiles larger alike, which the rest of recheck warns of: the median tile's growth is forgiven to all. Where the
 * tiles of before lie within those of afterwards, the two are the wrong way round, which is said and no reason to refuse. A
 * table photographed from another of its sides is known again by the same means.
 */
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "maths/stats.h"
#include "recheck/work.h"

/* Price of a tile from which it tells of another one, and of the whole table: e^-30. Pairs of photos of the same
 * tables before and after sanding, or untouched, come to 0 to 1.4 in all; pairs of different tables of the same size to
 * 154 to 965, on 4 tiles of 9 or more. */
static const double TELLING_COST = 3, TELLING_SUM = 30;
static const double TELLING_SHARE = 0.25;

static double grown_of(const sw_work *w)
{
    return w->is.half_mm / w->was.half_mm - 1;
}

static sw_status common_growth(const sw_work *works, size_t count, double *relative, sw_error *err)
{
    double *grown = calloc(count + 1, sizeof *grown);
    size_t known = 0;
    if (!grown)
        return sw_fail(err, SW_NO_MEMORY, "not enough memory; close other programs and try again");
    for (size_t i = 0; i < count; i++)
        if (works[i].measured)
            grown[known++] = grown_of(&works[i]);
    *relative = known ? sw_median(grown, known) : 0;
    free(grown);
    return SW_OK;
}

/* Places at every other mm, as in the fit of what came off. sign -1: as if the later photo was the earlier one. */
static sw_status price(const sw_work *w, int sign, double common, double *cost, sw_error *err)
{
    sw_fit_place *places = calloc(4 * (2 * (size_t)w->was.reach + 1), sizeof *places);
    size_t count = 0;
    if (!places)
        return sw_fail(err, SW_NO_MEMORY, "not enough memory; close other programs and try again");
    double forgiven = fmax(2 * w->scale_mm, sign * common * w->is.half_mm);
    for (int s = 0; s < 4; s++)
        for (int k = -w->was.reach; k <= w->was.reach; k += 2) {
            sw_outline_known known;
            double u = k * SW_OUTLINE_PITCH_MM, missing = sw_work_missing(w, s, u, &known);
            if (known >= SW_OUTLINE_BRIDGED && isfinite(missing) && sw_work_told(w, s, u))
                places[count++] = (sw_fit_place){s, u, sign * missing + forgiven, sw_work_shape(w, s, u), true};
        }
    sw_status status = sw_fit_grown(places, count, w->was.half_mm, cost, err);
    free(places);
    return status;
}

typedef struct told {
    double sum;
    size_t looked_at, telling;
} told;

static sw_status price_all(const sw_work *works, size_t count, int sign, double common, told *t, sw_error *err)
{
    sw_status status = SW_OK;
    *t = (told){0, 0, 0};
    for (size_t i = 0; !status && i < count; i++) {
        double cost = 0;
        status = works[i].measured ? price(&works[i], sign, common, &cost, err) : SW_NOT_FOUND;
        t->looked_at += !status;
        t->telling += !status && cost > TELLING_COST;
        t->sum += status ? 0 : cost;
        status = status == SW_NOT_FOUND ? SW_OK : status;
    }
    return status;
}

/* They stand out of what they were: of many tiles a single one may have been seen badly. */
static bool stands_out(const told *t, size_t count)
{
    return t->sum >= TELLING_SUM && t->telling >= (count > 1 ? 2 : 1) &&
           (double)t->telling >= TELLING_SHARE * (double)t->looked_at;
}

static sw_status judge(const sw_work *works, size_t count, bool *forward, bool *backward, told *t, sw_error *err)
{
    double common = 0;
    told back = {0, 0, 0};
    sw_status status = common_growth(works, count, &common, err);
    if (!status)
        status = price_all(works, count, 1, common, t, err);
    *forward = !status && !stands_out(t, count);
    if (!status && !*forward)
        status = price_all(works, count, -1, common, &back, err);
    *backward = !status && !*forward && !stands_out(&back, count);
    return status;
}

/* As the tiles lie by c->places. SW_BAD_INPUT: they are others, or one's size differs by more than sanding explains. */
static sw_status look(sw_comparing *c, bool *forward, bool *backward, sw_error *err)
{
    size_t count = c->out->place_count, begun = 0;
    sw_work *works = calloc(count + 1, sizeof *works);
    sw_status status =
        works ? SW_OK : sw_fail(err, SW_NO_MEMORY, "not enough memory; close other programs and try again");
    told t = {0, 0, 0};
    for (; !status && begun < count; begun++)
        status = sw_work_begin(c, (int)begun, &works[begun], err);
    *forward = *backward = false;
    if (!status)
        status = judge(works, count, forward, backward, &t, err);
    for (size_t i = 0; i < begun; i++)
        sw_work_end(&works[i]);
    free(works);
    c->grown = 0; /* counted when the edges are compared */
    if (status || *forward || *backward)
        return status;
    return sw_fail(err, SW_BAD_INPUT,
                   "these are not the same tiles: %zu of %zu stand out beyond what they were in the earlier "
                   "inspection, and sanding only takes away; name two inspections of one table, the earlier one first "
                   "(if its tiles lie otherwise now, say how with --layout)",
                   t.telling, t.looked_at);
}

/* The earlier table turned as a whole, clockwise. false: it is not as wide and high then. */
static bool turn_table(const sw_comparing *c, int turns, sw_place *places)
{
    int columns = c->before->table.columns, rows = c->before->table.rows;
    if (turns % 2 && columns != rows)
        return false;
    for (int i = 0; i < columns * rows; i++) {
        int column = i % columns, row = i / columns;
        int to_column[] = {column, rows - 1 - row, columns - 1 - column, row};
        int to_row[] = {row, column, rows - 1 - row, columns - 1 - column};
        places[to_row[turns] * columns + to_column[turns]] = (sw_place){i, turns};
    }
    return true;
}

sw_status sw_recheck_same(sw_comparing *c, bool laid, sw_error *err)
{
    sw_place *places = c->out->places;
    bool forward, backward, turned_back;
    sw_status status = look(c, &forward, &backward, err);
    for (int turns = 1; !laid && turns < 4 && !forward && (!status || status == SW_BAD_INPUT); turns++) {
        if (!turn_table(c, turns, places))
            continue;
        sw_status turned = look(c, &forward, &turned_back, NULL);
        if (forward) {
            c->turned = turns;
            return SW_OK;
        }
        if (turned && turned != SW_BAD_INPUT)
            return sw_fail(err, turned, "not enough memory; close other programs and try again");
    }
    if (!laid)
        memcpy(places, c->own.places, c->out->place_count * sizeof *places);
    c->backward = backward;
    return status;
}
