/* A slot between two tops of different height, drawn from rays: which parts of a lamp, and how much of the sky, each place of both
 * tops, the face and the far wall sees. Walls throw nothing back (black foam with pale tops), so that all of it is known in closed
 * form. */
#include "support/maths_check.h"

#include <stdlib.h>
#include <string.h>

#include "seam/search.h"
#include "seam/slot.h"

enum { STATIONS = 40, HALF = 66, MOST = 2 * HALF + 1, FINE = 10, RAYS = 100 };
static const double BLUR_PX = 0.8, SCALE = 2.5, NOISE = 0.004, TOP = 0.5, WALL = 0.3, EVEN = 0.005;

/* So near, mm: 0.15 of a pixel. */
static const double GAP_MM = 0.06;

/* step: of the far top above the near one, mm. The lamp shines from the higher side; c: how far it goes across for each step down. */
typedef struct scene {
    double step, view, gap_mm, share, c, penumbra;
    int far_high;
} scene;

/* Share of the lamp that gets past an edge `down` mm higher and `across` mm away. Its parts are evenly spread by how deep they light a
 * wall. */
static double lamp_past(const scene *s, double down, double across)
{
    double seen = 0;
    for (int i = 0; i < RAYS; i++) {
        double deep = 1 + s->penumbra * (2 * (i + 0.5) / RAYS - 1);
        seen += s->c / deep * down < across;
    }
    return seen / RAYS;
}

/* Share of an even sky that an upright wall `high` mm hides from a level top `across` mm before it. */
static double sky_hidden(double high, double across)
{
    return (1 - across / hypot(across, high)) / 2;
}

static double lower_top(const scene *s, double across)
{
    double high = fabs(s->step);
    return 1 - s->share * (1 - lamp_past(s, high, across)) - 2 * WALL * sky_hidden(high, across);
}

/* A point of a wall `deep` mm below an edge on the other side of the gap. */
static double sky_on_wall(const scene *s, double deep)
{
    return WALL * (1 - deep / hypot(deep, s->gap_mm));
}

/* Light x mm behind the near rim, as seen. */
static double light_at(const scene *s, double x)
{
    double moved = s->step * s->view, seen = s->gap_mm + moved;
    if (s->step > 0) {
        if (x < 0)
            return lower_top(s, s->gap_mm - x);
        if (x > seen)
            return 1;
        return x > s->gap_mm ? WALL : sky_on_wall(s, (s->gap_mm - x) / s->view) + EVEN;
    }
    if (x < 0)
        return 1;
    if (x > seen)
        return lower_top(s, x - moved);
    double deep = (seen - x) / s->view - s->step;
    return sky_on_wall(s, deep) + s->share * s->c * lamp_past(s, deep, s->gap_mm) + EVEN;
}

/* The same through the camera's blur. */
static double seen_at(const scene *s, double x_px)
{
    double sum = 0, weight = 0;
    for (int i = -4 * FINE; i <= 4 * FINE; i++) {
        double off = (double)i / FINE, w = exp(-off * off / (2 * BLUR_PX * BLUR_PX));
        sum += w * light_at(s, (x_px + off) / SCALE);
        weight += w;
    }
    return TOP * sum / weight;
}

typedef struct seam {
    sw_slot_station stations[STATIONS];
    float x[STATIONS][MOST], v[STATIONS][MOST];
    sw_slot_result result;
} seam;

/* Stations along a seam that runs aslant; the tops' levels are read at the samples' ends. */
static seam *lay(const scene *s)
{
    seam *out = calloc(1, sizeof *out);
    uint32_t seed = 7;
    assert_non_null(out);
    for (int i = 0; i < STATIONS; i++) {
        sw_slot_station *st = &out->stations[i];
        double near_rim = 4.0 * i / STATIONS - 2 - s->gap_mm * SCALE / 2, way = s->far_high ? 1 : -1;
        *st = (sw_slot_station){.x = out->x[i], .v = out->v[i], .count = MOST, .used = 1};
        for (int k = 0; k < MOST; k++) {
            st->x[k] = (float)(k - HALF);
            st->v[k] = (float)(seen_at(s, way * (k - HALF) - near_rim) + NOISE * normal(&seed));
        }
        st->low_at = -HALF;
        st->high_at = HALF;
        st->low = seen_at(s, way * -HALF - near_rim);
        st->high = seen_at(s, way * HALF - near_rim);
    }
    return out;
}

static sw_slot_prior prior_of(const scene *s, double step_sd)
{
    sw_slot_prior p = {.mean = {{.wall = WALL,
                                 .tangent = s->view,
                                 .near = 0.004,
                                 .albedo = 0,
                                 .penumbra = s->penumbra,
                                 .even = EVEN,
                                 .slant = log(s->c),
                                 .other_slant = log(s->c)}},
                       .other = {.slant = 1, .top_ratio = 1},
                       .shaped = true,
                       .stepped = true,
                       .px_per_mm = SCALE,
                       .view = s->view};
    const double sd[SW_SLOT_NUMBERS] = {0.1,   0.02,  0.003,   0.1,  1e-4, 1e-4, 0.05,
                                        0.003, 0.003, step_sd, 1e-4, 1e-4, 0.1,  0.1};
    p.mean.share = s->step < 0 ? s->share : 0;
    p.mean.other_share = s->step > 0 ? s->share : 0;
    p.mean.step = s->step;
    for (int i = 0; i < SW_SLOT_NUMBERS; i++)
        p.inverse[i][i] = 1 / (sd[i] * sd[i]);
    if (s->step > 0)
        p.inverse[SW_LIGHT_SHARE][SW_LIGHT_SHARE] = 1e8; /* the lamp stands at the other side */
    return p;
}

static void fit(seam *m, const scene *s, const sw_slot_prior *prior)
{
    sw_edge_table table;
    sw_cavity cavity;
    double face = fmax(0, s->step) * s->view * SCALE;
    sw_edge_table_make(BLUR_PX, 0, 1, &table);
    sw_cavity_make(&cavity);
    m->result.light = prior->mean;
    assert_int_equal(
        sw_slot_search(&cavity, &table, m->stations, STATIONS, s->far_high, prior, &prior->mean, NOISE, true), 0);
    for (int i = 0; i < STATIONS; i++) {
        m->stations[i].centre_prior = m->stations[i].centre;
        m->stations[i].centre_prior_sd = 2;
        m->stations[i].width_least = face - 1;
        m->stations[i].width_most = 40;
    }
    assert_int_equal(
        sw_slot_fit(&cavity, &table, m->stations, STATIONS, s->far_high, true, prior, NOISE, 25, true, &m->result), 0);
}

static double mean_gap(const seam *m, const scene *s)
{
    double sum = 0;
    for (int i = 0; i < STATIONS; i++)
        sum += m->stations[i].width / STATIONS;
    return sum / SCALE - s->step * s->view;
}

/* Steps of a hair to 10 mm, up and down, in a lamp's light and in none; gaps from a third of a mm on that are in sight. */
static const double STEPS[] = {0.4, 1, 2.5, 6, 10, -0.4, -1, -2.5, -6, -10}, GAPS[] = {0.35, 1.1, 2.6};

static void gaps_beside_a_step(void **state)
{
    (void)state;
    for (int k = 0; k < 10; k++)
        for (int g = 0; g < 3; g++)
            for (int lit = 0; lit < 2; lit++) {
                scene s = {STEPS[k], k % 2 ? 0.3 : 0.1, GAPS[g], lit ? 0.45 : 0, k % 3 ? 0.9 : 0.5, 0.2, (k + g) % 2};
                if (s.gap_mm + s.step * s.view < 0.25 || (s.step > 0 && 1 - s.share - WALL < 0.1))
                    continue;
                sw_slot_prior prior = prior_of(&s, 0.14);
                seam *m = lay(&s);
                fit(m, &s, &prior);
                if (!(fabs(mean_gap(m, &s) - s.gap_mm) < GAP_MM))
                    fail_msg("step %g, gap %g, lamp %g: read %.3f mm", s.step, s.gap_mm, s.share, mean_gap(m, &s));
                free(m);
            }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(gaps_beside_a_step)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
