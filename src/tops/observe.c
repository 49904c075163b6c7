/* observe.c - everything the photos show and what is known before, as equations. */
#include "tops/observe.h"

#include <math.h>
#include <string.h>

#include "tops/equations.h"

/* One print run makes cards of one size to this, relative (0.01 %: 0.1 mm of depth at 1.1 m); common practice, no source. */
static const double CARD_SIZE_U = 1e-4;
/* Cards lie where they lie: no prior worth the name on their places, mm and radians. */
static const double CARD_PLACE_MM = 1e3, CARD_TURN = 10;
/* How far a camera may be off where the level fit put it, mm and radians: uneven cards tilt it. */
static const double CAMERA_PLACE_MM = 300, CAMERA_TURN = 0.3;
/* What fixes the frame: the first camera's place across and its turn about the vertical stay. */
static const double FIXED = 1e-7;
/* Cards are thick to no less than this, mm: no hair's breadth. */
static const double THICKNESS_U_LEAST_MM = 0.005;

/* All views of one rim at one knot: sights first to first + count - 1. */
static void add_knot(sw_fitting *f, const sw_rim_sight *first, int count)
{
    enum { MOST = SW_TABLE_PHOTOS_MOST };
    sw_observation seen[MOST];
    double slope = 0, weight = 0, rest = 0, worst = 0;
    bool level = first->side == SW_NORTH || first->side == SW_SOUTH;
    if (count < 2)
        return;
    for (int i = 0; i < count; i++)
        slope += first[i].slope / count;
    double l = hypot(1, slope);
    sw_point way = level ? (sw_point){-slope / l, 1 / l} : (sw_point){1 / l, -slope / l};
    for (int i = 0; i < count; i++) {
        sw_sight_line line = sw_sight_line_now(f, (size_t)(first + i - f->s->rims));
        sw_met m;
        sw_meet_all(f, &line, first->tile, 0, &m);
        seen[i] = sw_along(f, &m, way, first->tile, first[i].view);
        seen[i].weight = 1 / (first[i].u_mm * first[i].u_mm);
        weight += seen[i].weight;
        rest += seen[i].weight * seen[i].rest;
    }
    double mean = rest / weight;
    for (int i = 0; i < count; i++)
        worst = fmax(worst, fabs(seen[i].rest - mean));
    double share = 1 / (1 + pow(worst / f->outlier_mm, 2));
    f->agreed += share;
    f->knots++;
    for (int i = 0; i < count; i++) {
        seen[i].weight *= share;
        seen[i].rest -= mean; /* of the rest only what differs */
    }
    sw_equations_add_alike(f, seen, count);
}

static void add_card(sw_fitting *f, const sw_card_sight *c)
{
    const sw_scale *scale = &f->s->scales[c->view];
    const sw_reference *r = &scale->reference;
    const double *value = f->blocks[c->tile].value + f->card_at[c->card];
    const double sx[4] = {-1, 1, 1, -1}, sy[4] = {1, 1, -1, -1};
    double cosine = cos(value[2]), sine = sin(value[2]), spread_mm = scale->edge_spread_px / scale->px_per_mm;
    for (int rim = 0; rim < c->rims; rim++)
        for (int k = 0; k < 4; k++) {
            double ink = rim ? spread_mm : -spread_mm, size = exp(value[3]);
            double u = sx[k] * ((rim ? r->inner_x_mm : r->outer_x_mm) / 2 * size + ink),
                   v = sy[k] * ((rim ? r->inner_y_mm : r->outer_y_mm) / 2 * size + ink);
            sw_point place = {value[0] + cosine * u - sine * v, value[1] + sine * u + cosine * v};
            size_t corner = (size_t)(c - f->s->cards) * SW_CARD_CORNERS + (size_t)(4 * rim + k);
            sw_sight_line line = sw_sight_line_now(f, f->s->rim_count + corner);
            sw_met m;
            sw_meet_all(f, &line, c->tile, f->thickness_mm, &m);
            for (int axis = 0; axis < 2; axis++) {
                sw_observation o = sw_along(f, &m, axis ? (sw_point){0, 1} : (sw_point){1, 0}, c->tile, c->view);
                double turned = axis ? cosine * u - sine * v : -sine * u - cosine * v,
                       sized = axis ? sine * u + cosine * v : cosine * u - sine * v, u_mm = c->u_px / scale->px_per_mm;
                o.card_at = f->card_at[c->card];
                o.rest -= axis ? place.y : place.x;
                o.thickness = o.own[0];
                o.card[axis] = -1;
                o.card[2] = -turned;
                o.card[3] = -sized;
                o.weight = 1 / (u_mm * u_mm);
                sw_equations_add(f, &o);
            }
        }
}

static void add_priors(sw_fitting *f)
{
    for (int t = 0; t < f->tiles; t++) {
        sw_tops_block *b = &f->blocks[t];
        for (int i = 0; i < SW_TOP_NUMBERS; i++)
            sw_equations_prior(b->value[i], i ? f->prior.slope : f->prior.height_mm, &b->own[i * b->numbers + i],
                               &b->side[i], &f->cost);
        for (int i = SW_TOP_NUMBERS; i < b->numbers; i++) {
            int k = (i - SW_TOP_NUMBERS) % SW_CARD_NUMBERS;
            sw_equations_prior(k == 3 ? b->value[i] : 0,
                               k == 3   ? CARD_SIZE_U
                               : k == 2 ? CARD_TURN
                                        : CARD_PLACE_MM,
                               &b->own[i * b->numbers + i], &b->side[i], &f->cost);
        }
    }
    for (int j = 0; j < f->lens_numbers; j++)
        sw_equations_prior(f->lens_z[j], 1, &f->all[j * f->common + j], &f->side[j], &f->cost);
    sw_equations_prior(f->thickness_mm - f->s->scales[0].thickness_mm,
                       fmax(THICKNESS_U_LEAST_MM, f->s->scales[0].thickness_u_mm),
                       &f->all[f->lens_numbers * (f->common + 1)], &f->side[f->lens_numbers], &f->cost);
    for (int i = sw_at_camera(f, 0); i < f->common; i++) {
        int k = (i - sw_at_camera(f, 0)) % SW_CAMERA_NUMBERS, view = (i - sw_at_camera(f, 0)) / SW_CAMERA_NUMBERS;
        double sd = k < 3 ? CAMERA_TURN : CAMERA_PLACE_MM;
        if (view == 0 && (k == 2 || k == 3 || k == 4))
            sd = FIXED;
        sw_equations_prior(0, sd, &f->all[i * f->common + i], &f->side[i], &f->cost);
    }
}

void sw_fitting_collect(sw_fitting *f)
{
    const sw_sights *s = f->s;
    sw_equations_clear(f);
    for (size_t i = 0, j; i < s->rim_count; i = j) {
        for (j = i + 1; j < s->rim_count && s->rims[j].tile == s->rims[i].tile && s->rims[j].side == s->rims[i].side &&
                        s->rims[j].knot == s->rims[i].knot;
             j++)
            ;
        add_knot(f, &s->rims[i], (int)(j - i));
    }
    for (size_t i = 0; i < s->card_count; i++)
        add_card(f, &s->cards[i]);
    add_priors(f);
}
