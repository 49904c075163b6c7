/* seams.c - the seams of several photos, joined at the first photo's stations. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "inspect/combine/together.h"
#include "tile/outline.h"
#include "tile/parts.h"

/* A photo counts for a seam when it saw this many of its stations. */
enum { STATIONS_LEAST = 10 };

bool sw_photo_counts(const sw_together *t, size_t k, size_t i)
{
    const sw_seam *seam = &t->photos[k].seams[i];
    size_t seen = 0;
    for (size_t s = 0; s < seam->station_count; s++)
        seen += seam->stations[s].state == SW_STATION_OK;
    return seen >= STATIONS_LEAST && !t->differences[k * t->out->seam_count + i].moved;
}

/* A straight line through a photo's gaps. */
typedef struct sums {
    double n, x, xx, y, xy;
} sums;

static void add_place(sums *s, double x, double y)
{
    s->n++;
    s->x += x;
    s->xx += x * x;
    s->y += y;
    s->xy += x * y;
}

static double slope_of(const sums *s)
{
    double spread = s->xx - s->x * s->x / s->n;
    return s->n >= 3 && spread > 0 ? (s->xy - s->x * s->y / s->n) / spread : NAN;
}

/* Whether every photo that counts reads the place well. */
static bool all_see(const sw_together *t, const bool *counts, size_t i, double at)
{
    for (size_t k = 0; k < t->count; k++)
        if (counts[k] && sw_station_at(&t->photos[k].seams[i], at).state != SW_STATION_OK)
            return false;
    return true;
}

/* Mean gap and taper of each photo over the places that all of them saw. */
static void read_lines(const sw_together *t, const bool *counts, size_t i, sw_photo_figure *means,
                       sw_photo_figure *tapers)
{
    const sw_seam *first = &t->out->seams[i];
    for (size_t k = 0; k < t->count; k++) {
        const sw_seam *seam = &t->photos[k].seams[i];
        sums s = {0, 0, 0, 0, 0};
        for (size_t p = 0; p < first->station_count; p++) {
            double at = first->stations[p].at_mm;
            sw_station here = sw_station_at(seam, at);
            if (here.state == SW_STATION_OK && all_see(t, counts, i, at))
                add_place(&s, at, here.gap_mm);
        }
        means[k] = (sw_photo_figure){s.n > 0 ? s.y / s.n : NAN, seam->mean_u95_mm / 2, seam->mean_u_random_mm};
        tapers[k] = (sw_photo_figure){slope_of(&s) * first->length_mm, seam->taper_u95_mm / 2, seam->taper_u_random_mm};
    }
}

/* Takes out what does not count. */
static void leave_out(const bool *counts, size_t count, sw_photo_figure *readings)
{
    for (size_t k = 0; k < count; k++)
        if (!counts[k])
            readings[k].value = NAN;
}

/* What a place is, by the most of the photos that count and saw it; between chip and other, a tie makes it a chip, as
 * chips stay out of the verdict. Readings that disagree become NaN. */
static sw_station_state read_place(const sw_together *t, const bool *counts, size_t i, double at,
                                   sw_photo_figure *readings)
{
    size_t of[4] = {0, 0, 0, 0};
    sw_station_state most = SW_STATION_UNSEEN;
    for (size_t k = 0; k < t->count; k++) {
        sw_station s = {at, NAN, NAN, SW_STATION_UNSEEN, NAN};
        if (counts[k])
            s = sw_station_at(&t->photos[k].seams[i], at);
        readings[k] = (sw_photo_figure){s.gap_mm, s.u95_mm / 2, s.u_random_mm};
        t->states[k] = s.state;
        of[(unsigned)s.state % 4]++;
    }
    if (2 * of[SW_STATION_CHIP] >= of[SW_STATION_OK] + of[SW_STATION_END] + of[SW_STATION_CHIP] && of[SW_STATION_CHIP])
        most = SW_STATION_CHIP;
    else if (of[SW_STATION_OK] || of[SW_STATION_END])
        most = of[SW_STATION_END] > of[SW_STATION_OK] ? SW_STATION_END : SW_STATION_OK;
    for (size_t k = 0; k < t->count; k++)
        if ((t->states[k] == SW_STATION_CHIP) != (most == SW_STATION_CHIP))
            readings[k].value = NAN;
    return most;
}

/* Share of the stations that is independent of its neighbours. */
static double independent(const sw_together *t)
{
    return fmin(1, t->out->step_mm / SW_INDEPENDENT_MM);
}

static void find_counts(const sw_together *t, size_t i, bool *counts)
{
    for (size_t k = 0; k < t->count; k++)
        counts[k] = sw_photo_counts(t, k, i);
}

static void tally_stations(const sw_together *t, const bool *counts, size_t i, sw_tally *tally)
{
    const sw_seam *first = &t->out->seams[i];
    for (size_t p = 0; p < first->station_count; p++)
        if (read_place(t, counts, i, first->stations[p].at_mm, t->readings) == SW_STATION_OK)
            sw_tally_add(tally, t->readings, t->count);
}

/* First round: how much the photos spread, over the whole table. */
static void find_spreads(const sw_together *t)
{
    sw_tally mean = {0}, taper = {0}, stations = {0};
    sw_photo_figure *means = t->readings, *tapers = t->readings + t->count;
    for (size_t i = 0; i < t->out->seam_count; i++) {
        bool *counts = t->repeat->seams[i].counts;
        find_counts(t, i, counts);
        read_lines(t, counts, i, means, tapers);
        leave_out(counts, t->count, means);
        leave_out(counts, t->count, tapers);
        sw_tally_add(&mean, means, t->count);
        sw_tally_add(&taper, tapers, t->count);
        tally_stations(t, counts, i, &stations);
    }
    t->repeat->mean = sw_tally_close(&mean, 1);
    t->repeat->taper = sw_tally_close(&taper, 1);
    t->repeat->station = sw_tally_close(&stations, independent(t));
}

/* Stations, where the weights and the spread are the seam's: single places would draw them too much by chance. */
static void join_stations(const sw_together *t, const bool *counts, size_t i, sw_seam *out)
{
    sw_tally own = {0};
    tally_stations(t, counts, i, &own);
    sw_spread kind = sw_tally_close(&own, independent(t));
    t->repeat->seams[i].station_s_r_mm = kind.s_r;
    t->repeat->seams[i].station_stated_u_mm = kind.stated_u;
    kind.widened = fmax(t->repeat->station.widened, kind.widened);
    for (size_t p = 0; p < out->station_count; p++) {
        sw_station *s = &out->stations[p];
        sw_station_state state = read_place(t, counts, i, s->at_mm, t->readings);
        sw_joined j = sw_join_pooled(t->readings, t->count, &kind);
        *s = (sw_station){s->at_mm, fmax(0, j.value), 2 * j.u, state, j.u_random};
        if (isnan(j.value))
            *s = (sw_station){s->at_mm, NAN, NAN, SW_STATION_UNSEEN, NAN};
    }
}

/* Means and extremes over the joined stations. */
static void sum_up(sw_seam *seam)
{
    sums line = {0, 0, 0, 0, 0};
    seam->mean_mm = seam->min_mm = seam->max_mm = seam->max_at_mm = seam->max_u95_mm = NAN;
    seam->hidden_mm = seam->seen_u95_mm = 0; /* held against single photos only */
    for (size_t p = 0; p < seam->station_count; p++) {
        const sw_station *s = &seam->stations[p];
        if (s->state != SW_STATION_OK)
            continue;
        add_place(&line, s->at_mm, s->gap_mm);
        seam->min_mm = isnan(seam->min_mm) ? s->gap_mm : fmin(seam->min_mm, s->gap_mm);
        if (isnan(seam->max_mm) || s->gap_mm > seam->max_mm) {
            seam->max_mm = s->gap_mm;
            seam->max_at_mm = s->at_mm;
            seam->max_u95_mm = s->u95_mm;
        }
    }
    if (line.n >= 3)
        seam->mean_mm = line.y / line.n;
    seam->taper_mm = slope_of(&line) * seam->length_mm;
}

/* Where photos were left out, both readings may be the right one: within +- d, none likelier than another, so u = d /
 * root 3 (JCGM 100, 4.3.7). */
static void hold_both(const sw_together *t, size_t i, sw_seam *seam)
{
    double most = 0, mean = 0, taper = 0;
    for (size_t k = 1; k < t->count; k++) {
        const sw_difference *d = &t->differences[k * t->out->seam_count + i];
        if (!d->moved)
            continue;
        t->repeat->seams[i].left_out++;
        mean = fmax(mean, fabs(d->mean_mm));
        taper = fmax(taper, fabs(d->taper_mm));
        if (fabs(sw_difference_most(d)) > fabs(most))
            most = sw_difference_most(d);
    }
    t->repeat->seams[i].difference_mm = most;
    seam->mean_u95_mm = fmax(seam->mean_u95_mm, 2 * mean / sqrt(3));
    seam->taper_u95_mm = fmax(seam->taper_u95_mm, 2 * taper / sqrt(3));
    for (size_t p = 0; most != 0 && p < seam->station_count; p++)
        seam->stations[p].u95_mm = fmax(seam->stations[p].u95_mm, 2 * fabs(most) / sqrt(3));
    if (most != 0)
        seam->max_u95_mm = fmax(seam->max_u95_mm, 2 * fabs(most) / sqrt(3));
}

static sw_status join_seam_chips(const sw_together *t, const bool *counts, size_t i, sw_seam *out)
{
    const sw_chip **lists = calloc(t->count, sizeof *lists);
    size_t *many = calloc(t->count, sizeof *many);
    sw_status status = lists && many ? SW_OK : SW_NO_MEMORY;
    for (size_t k = 0; !status && k < t->count; k++) {
        lists[k] = counts[k] ? t->photos[k].seams[i].chips : NULL;
        many[k] = t->photos[k].seams[i].chip_count;
    }
    if (!status)
        status = sw_join_chips(lists, many, t->count, &out->chips, &out->chip_count);
    free(lists);
    free(many);
    return status;
}

static double mean_step(const sw_together *t, const bool *counts, size_t i)
{
    double sum = 0, n = 0;
    for (size_t k = 0; k < t->count; k++)
        if (counts[k]) {
            sum += t->photos[k].seams[i].corner_step_mm;
            n++;
        }
    return sum / n;
}

/* The parts of the two figures that have a budget, after their uncertainties. */
static void rescale_parts(sw_seam *seam)
{
    sw_parts_rescale(seam->mean_u95_mm / 2, fmin(seam->mean_u_random_mm, seam->mean_u95_mm / 2), &seam->mean_parts);
    for (size_t k = 0; k < seam->station_count; k++) {
        const sw_station *s = &seam->stations[k];
        if (s->at_mm == seam->max_at_mm)
            sw_parts_rescale(seam->max_u95_mm / 2, fmin(s->u_random_mm, seam->max_u95_mm / 2), &seam->max_parts);
    }
}

static sw_status join_seam(const sw_together *t, size_t i)
{
    sw_seam *out = &t->out->seams[i];
    sw_seam_spread *spread = &t->repeat->seams[i];
    sw_photo_figure *means = t->readings, *tapers = t->readings + t->count;
    bool *counts = spread->counts;
    find_counts(t, i, counts);
    *spread = (sw_seam_spread){.s_r_mm = NAN,
                               .stated_u_mm = NAN,
                               .station_s_r_mm = NAN,
                               .station_stated_u_mm = NAN,
                               .widened = 1,
                               .counts = spread->counts,
                               .mean_mm = spread->mean_mm};
    for (size_t k = 0; k < t->count; k++)
        spread->photos += counts[k];
    read_lines(t, counts, i, means, tapers);
    for (size_t k = 0; k < t->count; k++)
        spread->mean_mm[k] = means[k].value;
    if (!spread->photos)
        return SW_OK; /* too little seen anywhere: the first photo's figures stay */
    leave_out(counts, t->count, means);
    leave_out(counts, t->count, tapers);
    sw_joined mean = sw_join(means, t->count, &t->repeat->mean), taper = sw_join(tapers, t->count, &t->repeat->taper);
    if (mean.photos > 1) {
        spread->s_r_mm = mean.s_r;
        spread->stated_u_mm = mean.stated_u;
        spread->widened = mean.widened;
    }
    join_stations(t, counts, i, out);
    sum_up(out);
    out->corner_step_mm = mean_step(t, counts, i);
    if (mean.photos > 0) {
        out->mean_u95_mm = 2 * mean.u;
        out->mean_u_random_mm = mean.u_random;
        out->taper_u95_mm = 2 * taper.u;
        out->taper_u_random_mm = taper.u_random;
    }
    hold_both(t, i, out);
    rescale_parts(out);
    out->verdict = sw_verdict_of(out->max_mm, out->max_u95_mm, t->out->tolerance_mm);
    return join_seam_chips(t, counts, i, out);
}

sw_status sw_join_seams(sw_together *t)
{
    sw_status status = SW_OK;
    find_spreads(t);
    for (size_t i = 0; !status && i < t->out->seam_count; i++)
        status = join_seam(t, i);
    return status;
}
