#include "seam/rounding.h"

#include <math.h>
#include <string.h>

#include "seam/rim.h"

/* A table counts as one of sharp rims until the odds for round ones are this good (logarithm). */
static const double ROUND_ODDS = 8, SEAM_ODDS_MOST = 10, RIM_ODDS_MOST = 5, SEAM_ODDS_LESS = 5, RIM_ODDS_LESS = 2,
                    ODDS_LEAST = -1, ROUND_FAILS = -20;
/* Rims that a hand has sanded, mm; and how little of one shows, px. A fit tells of a radius if it knows this many times more than was
 * known before. */
static const double ROUND_USUAL_MM = 0.25, ROUND_SD_MM = 0.4, ROUND_MOST_MM = 1.2, ROUND_SHOWS_PX = 0.4,
                    ROUND_U_PX = 0.15, ROUND_U_SHARE = 0.2, ROUND_TELLS = 1.5;
/* No edge is known better than that from others, mm. */
static const double RADIUS_SD_LEAST_MM = 0.03;
/* Factors that are tried on how far across a lamp's light goes; one counts where it explains the rims better by so much (logarithm of
 * odds). */
enum { LAMPS = 3 };
static const double LAMP_FACTOR[LAMPS] = {0.4, 0.65, 1.6}, LAMP_ODDS = 2;
/* A step that is held, mm. */
static const double LEVEL_SD_MM = 1e-4;

void sw_believe_radii(sw_slot_prior *prior, const sw_radius *near, const sw_radius *far)
{
    const sw_radius *radius[2] = {near, far};
    prior->round = prior->shaped = true;
    prior->inverse[SW_SHAPE_STEP][SW_SHAPE_STEP] = 1 / (LEVEL_SD_MM * LEVEL_SD_MM);
    for (int side = 0; side < 2; side++) {
        int at = SW_SHAPE_ROUND_NEAR + side;
        double sd = fmax(RADIUS_SD_LEAST_MM, radius[side]->sd_mm);
        prior->mean.number[at] = fmax(0, radius[side]->mm);
        prior->inverse[at][at] = 1 / (sd * sd);
    }
}

bool sw_round_table(const sw_seams_job *j)
{
    return j->round_odds > ROUND_ODDS;
}

/* Standard uncertainty of a radius: its own light's, and what model and light leave over. */
static double round_u(double sd_mm, const sw_trace *t, double radius_mm)
{
    return hypot(sd_mm, hypot(ROUND_U_PX / t->px_per_mm, ROUND_U_SHARE * radius_mm));
}

void sw_note_radii(const sw_seams_job *j, const sw_seam_job *s, const sw_slot_result *result)
{
    sw_trace *t = s->trace;
    for (int side = 0; side < 2 && sw_round_table(j) && !t->stepped; side++) {
        int high = (side == SW_FAR) == (t->tangent >= 0), number = SW_SHAPE_ROUND_NEAR + side;
        t->round_mm[high] = result->light.number[number];
        t->round_u_mm[high] = round_u(sqrt(result->covariance[number][number]), t, t->round_mm[high]);
    }
}

/* What lights the shoulder of the table's own rim. */
static sw_shoulder_light rim_light(const sw_seams_job *j, const sw_rim_job *r)
{
    sw_slot_prior prior;
    sw_light_prior(&j->light, r->trace, r->facing, &prior);
    double share = fmax(0, prior.mean.share), sky = fmax(0, 1 - share - prior.other.share);
    return (sw_shoulder_light){.wall = fmin(prior.mean.wall, sky / 2), /* what each facing says is not of one piece */
                               .share = share,
                               .slant = exp(prior.mean.slant) * j->lamp[r->facing / 2],
                               .share_behind = prior.other.share,
                               .slant_behind = prior.other.slant * j->lamp[r->facing / 2],
                               .penumbra = prior.mean.penumbra};
}

/* The light as the wide seams tell it, with sharp rims or with round ones. */
static void hear_all(sw_seams_job *j, const sw_table_light *floor)
{
    j->light = *floor;
    for (int k = 0; k < j->seam_count; k++)
        if (j->seams[k].heard)
            sw_light_hear(&j->light, j->seams[k].facing, &j->seams[k].prior, &j->seams[k].result, 1);
}

/* What a fit says of a radius beyond what was believed before. Below about a third of a pixel a round rim looks like a sharp
 * one. */
static sw_radius radius_told(const sw_trace *t, const sw_slot_prior *prior, const sw_slot_result *result, int number)
{
    double least = ROUND_SHOWS_PX / t->px_per_mm, mm = result->light.number[number],
           p = 1 / result->covariance[number][number], before = prior->inverse[number][number];
    if (mm < least)
        return (sw_radius){least / 2, least};
    if (!(p > before * ROUND_TELLS))
        return (sw_radius){0, 0};
    mm = (p * mm - before * prior->mean.number[number]) / (p - before);
    return (sw_radius){fmax(0, mm), hypot(sqrt(1 / (p - before)), least / 2)};
}

/* What an edge or two say for round rims: less what two more numbers explain of anything (an edge response that is a little off, in all
 * seams alike), and no more than so much, as something else may lie at a single edge. */
static double odds_of(double gain, double less, double most)
{
    return fmax(ODDS_LEAST, fmin(most, gain - less));
}

/* The same of a seam. A step between its tops makes bands beside the slot that no hand-sanded rims do: too wide, or not to be fitted. */
static double seam_odds(const sw_seam_job *s)
{
    double gain = s->result.cost - s->round.cost, widest = fmax(s->round.light.round_near, s->round.light.round_far);
    return widest > ROUND_MOST_MM || gain < ROUND_FAILS ? -SEAM_ODDS_MOST
                                                        : odds_of(gain, SEAM_ODDS_LESS, SEAM_ODDS_MOST);
}

/* The same seam with round rims. */
static sw_status listen_round(sw_seams_job *j, sw_seam_job *s)
{
    const sw_radius any = {ROUND_USUAL_MM, ROUND_SD_MM};
    sw_slot_prior prior;
    sw_light_prior(&j->light, s->trace, s->facing, &prior);
    s->prior.other = prior.other; /* shoulders see the lamp at the other side, too: as well as is known by now */
    prior = s->prior;
    sw_believe_radii(&prior, &any, &any);
    s->round = s->result;
    s->round.light.step = prior.mean.step;
    s->round.light.round_near = s->round.light.round_far = ROUND_USUAL_MM;
    sw_status status = sw_seam_fit(&j->cavity, s->reading, s->trace, &prior, s->far_wider, false, &s->round);
    if (status)
        return status;
    s->round_far_wider = sw_seam_far_wider(s->reading, s->trace);
    for (int side = 0; side < 2; side++)
        j->told[s->edge[side]] = radius_told(s->trace, &prior, &s->round, SW_SHAPE_ROUND_NEAR + side);
    return SW_OK;
}

/* A seam that is fitted with round rims, too: at a step its shape is the step's. */
static bool fits_round(const sw_seam_job *s)
{
    return s->heard && !s->prior.stepped;
}

/* What a rim's own light says of its radius. */
static sw_rim_odds tell_rim(sw_seams_job *j, const sw_rim_job *r)
{
    const sw_shoulder_light light = rim_light(j, r);
    sw_rim_odds odds;
    j->told[r->edge] = sw_trace_rim_radius(j->photo, j->scale, r->trace, &light, &odds);
    return odds;
}

static double tell_rims(sw_seams_job *j, bool upright)
{
    double left = 0;
    for (int i = 0; i < j->rim_count; i++)
        if (j->rims[i].facing / 2 == upright)
            left += tell_rim(j, &j->rims[i]).left;
    return left;
}

/* How far across the lamp's light goes is not known of walls that the camera does not see, but the shoulders of the table's own rims
 * tell it. */
static void find_lamp(sw_seams_job *j, bool upright)
{
    double usual = tell_rims(j, upright), best = usual - LAMP_ODDS, factor = 1;
    for (int k = 0; k < LAMPS; k++) {
        j->lamp[upright] = LAMP_FACTOR[k];
        double left = tell_rims(j, upright);
        if (left < best) {
            best = left;
            factor = LAMP_FACTOR[k];
        }
    }
    j->lamp[upright] = factor;
    tell_rims(j, upright);
}

/* Takes the fits with round rims for those that count. */
static void hear_round(sw_seams_job *j, const sw_table_light *floor)
{
    for (int k = 0; k < j->seam_count; k++)
        if (fits_round(&j->seams[k])) {
            j->seams[k].result = j->seams[k].round;
            j->seams[k].far_wider = j->seams[k].round_far_wider;
        }
    hear_all(j, floor);
}

sw_status sw_weigh_rounding(sw_seams_job *j, const sw_table_light *floor)
{
    double rims[SW_FACINGS] = {0}; /* what they say, by where they look */
    hear_all(j, floor);
    for (int k = 0; k < j->seam_count; k++)
        if (fits_round(&j->seams[k]) && listen_round(j, &j->seams[k]))
            return SW_NO_MEMORY;
        else if (fits_round(&j->seams[k]))
            j->round_odds += seam_odds(&j->seams[k]);
    for (int k = 0; k < j->rim_count; k++) {
        const sw_rim_job *r = &j->rims[k];
        rims[r->facing] += odds_of(tell_rim(j, r).gain, RIM_ODDS_LESS, RIM_ODDS_MOST);
    }
    /* what a lit floor makes of a sharp rim can look like a shoulder, but not at the opposite side as well */
    for (int f = 0; f < SW_FACINGS; f += 2)
        j->round_odds += fmin(rims[f], rims[f + 1]);

    if (!sw_round_table(j))
        return SW_OK;
    hear_round(j, floor);
    for (int upright = 0; upright < 2; upright++)
        find_lamp(j, upright);
    sw_radii_believe(j->told, j->grid->columns * j->grid->rows, j->others, j->all);
    for (int k = 0; k < j->rim_count; k++) {
        const sw_rim_job *r = &j->rims[k];
        const sw_shoulder_light light = rim_light(j, r);
        int high = r->trace->kind == SW_TRACE_HIGH_TILE;
        r->trace->round_mm[high] = fmax(0, j->all[r->edge].mm);
        r->trace->round_u_mm[high] = round_u(j->all[r->edge].sd_mm, r->trace, r->trace->round_mm[high]);
        sw_trace_round_rim(j->photo, j->scale, r->trace, &light, r->trace->round_mm[high]);
    }
    return SW_OK;
}
