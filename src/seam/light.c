#include "seam/light.h"

#include <math.h>
#include <string.h>

#include "maths/lsq.h"

enum { N = SW_LIGHT_NUMBERS };

/* What an upright wall in the open gets of the sky's light on the tops: 0.5 under an even sky, 0.4 under an overcast one (CIE's standard
 * sky). Standard deviations of it where the floor tells what lamps leave of the sky, and where it does not show. */
static const double WALL = 0.43, WALL_SD = 0.07, WALL_SD_BLIND = 0.12;
/* Reflectance of the walls: foam of any colour. */
static const double ALBEDO = 0.45, ALBEDO_SD = 0.2;
/* How gradually a lamp's light ends: a bulb's at once, a window's over most of its depth. */
static const double PENUMBRA = 0.35, PENUMBRA_SD = 0.2;
/* Light that is the same all over a slot: little, unless its bottom shows, and a lamp along the seam lights it. */
static const double EVEN = 0.005, EVEN_SD = 0.01, BOTTOM_SD = 0.05;
/* Of the stray light that the cards' black speaks for so much is expected, give or take as much: it may be the print that is pale. */
static const double HAZE_SHARE = 0.5;
/* How far across a lamp's light goes for each step down: one that stands 45 degrees up, more or less (logarithm). */
static const double SLANT = 0.1, SLANT_SD = 0.8;
/* Walls lean in, hand-cut foam by 0 to 3 degrees, each its own way; but no farther than to where the bases meet, so a narrow slot's
 * hardly do. Mean, and least standard deviation; the height of a tile, mm (common practice, no source). */
static const double LEAN_MOST = 0.02, LEAN_SD_LEAST = 0.002, TILE_HEIGHT_MM = 45;
/* Share of what room there is that a wall takes on average. */
static const double LEAN_SHARE = 0.25;
/* Standard deviation of a number that is held, whatever its unit. */
static const double HELD = 1e-4;
/* Least view tangent. */
static const double TANGENT_LEAST = 0.005;
/* Rims are a little softer than print, how much is the maker's hand. */
static const double BLUR = 0.018, BLUR_SD = 0.006;
/* A near wall is in sight only where the camera looks in less steeply than walls lean (a few degrees). */
static const double NEAR_SIGHT = 0.05, NEAR_NONE = 0.004;
/* The floor beside the table: at the side away from a lamp of share D it has about (1 - D) times this of the light, the
 * table being in the way of half of the sky; at the lamp's side D more. Standard deviation of the shares found so: wood
 * has a grain. */
static const double FLOOR_SKY = 0.55, FLOOR_SD = 0.15;
/* Share of a lamp when the floor does not show. */
static const double SHARE = 0.2, SHARE_SD = 0.25;
/* Away from the lamp. */
static const double BEHIND = 0.03, BEHIND_SD = 0.03;
/* Logarithms of the floor's light that differ by less than this say of no side that the lamp is there. Then it may shine nearly
 * along the seams (s next to 0), or two may stand at opposite sides. */
static const double ALIKE_LOG = 0.35, SLANT_ALIKE = -1, SLANT_ALIKE_SD = 0.6;
/* How far slots differ in their numbers (standard deviations), where walls face the same way and where they do not. Leans are
 * each wall's own. */
static const double DIFFER[N] = {0.03, 0.02, 1e3, 0.15, 1e3, 0.05, 0.1, 1e3, 0.006};
static const double DIFFER_ACROSS[N] = {1e3, 0.03, 1e3, 1e3, 1e3, 0.08, 0.1, 1e3, 0.006};

/* A lamp over the table stands at another angle for every seam: by this much s differs. */
static const double SLANT_DIFFER = 0.12;
/* Where the floor says that walls of two facings are lit by more than this, it is one lamp. */
static const double ONE_LAMP = 0.15, ONE_LAMP_SD = 0.08;

int sw_facing_of(const sw_trace *t, bool upright)
{
    bool far_high = (t->tangent >= 0) != t->reversed;
    return 2 * upright + far_high;
}

/* The logarithm of how much lighter the floor is where a facing looks to than at the other side; false when it does not show. */
static bool floor_tells(const sw_table_light *table, int facing, double *log_ratio)
{
    int other = facing ^ 1;
    if (!(table->floors[facing] > 0) || !(table->floors[other] > 0))
        return false;
    *log_ratio = table->floor[facing] / table->floors[facing] - table->floor[other] / table->floors[other];
    return true;
}

static double share_of(double log_ratio)
{
    double more = FLOOR_SKY * (exp(log_ratio) - 1);
    return more > 0 ? fmax(BEHIND, more / (1 + more)) : BEHIND;
}

/* The largest share of a lamp that the floor tells of, at any side; SHARE when it does not show. */
static double lamp_of(const sw_table_light *table)
{
    double most = 0, log_ratio;
    for (int f = 0; f < SW_FACINGS; f++)
        if (floor_tells(table, f, &log_ratio))
            most = fmax(most, share_of(log_ratio));
    return most > 0 ? most : SHARE;
}

/* What the floor tells of a lamp in front of a facing. Where it is as light as at the other side, the lamp may shine along
 * the seams, or one may stand at either side. */
static void lamp_before(const sw_table_light *table, int facing, sw_slot_light *mean, sw_slot_light *sd)
{
    double log_ratio;
    mean->share = SHARE;
    sd->share = SHARE_SD;
    mean->slant = SLANT;
    sd->slant = SLANT_SD;
    if (!floor_tells(table, facing, &log_ratio))
        return;
    double away = log_ratio / ALIKE_LOG, alike = exp(-away * away), half = lamp_of(table) / 2;
    mean->share = (1 - alike) * share_of(log_ratio) + alike * half;
    sd->share = hypot(log_ratio > 0 ? FLOOR_SD : BEHIND_SD, alike * half);
    mean->slant = (1 - alike) * SLANT + alike * SLANT_ALIKE;
    sd->slant = (1 - alike) * sd->slant + alike * SLANT_ALIKE_SD;
}

static void general_prior(const sw_table_light *table, const sw_trace *t, int facing, sw_slot_light *mean,
                          sw_slot_light *sd)
{
    double view = fmax(TANGENT_LEAST, fabs(t->tangent)), off = fmax(0, 1 - view / NEAR_SIGHT), ignored,
           lean = fmin(LEAN_MOST, LEAN_SHARE * fmax(0, t->open_mm) / TILE_HEIGHT_MM);
    bool shows = floor_tells(table, 0, &ignored) || floor_tells(table, 2, &ignored);
    lamp_before(table, facing, mean, sd);
    mean->wall = WALL * (1 - lamp_of(table));
    sd->wall = shows ? WALL_SD : WALL_SD_BLIND;
    mean->tangent = view + lean;
    sd->tangent = lean + LEAN_SD_LEAST;
    mean->near = lean * off * off + NEAR_NONE;
    sd->near = lean * off + LEAN_SD_LEAST;
    mean->albedo = ALBEDO;
    sd->albedo = ALBEDO_SD;
    mean->penumbra = PENUMBRA;
    sd->penumbra = PENUMBRA_SD;
    mean->even = EVEN + HAZE_SHARE * table->haze;
    sd->even = hypot(EVEN_SD + (t->narrow ? 0 : BOTTOM_SD * off), HAZE_SHARE * table->haze);
    mean->blur = BLUR;
    sd->blur = BLUR_SD;
}

/* What is believed of the light on walls of a facing: mean and inverse covariance. */
static void believe(const sw_table_light *table, const sw_trace *t, int facing, sw_slot_light *mean,
                    double inverse[SW_SLOT_NUMBERS][SW_SLOT_NUMBERS])
{
    const sw_light_word *word = &table->word[facing];
    sw_slot_light sd;
    double side[N], a[N * N];
    general_prior(table, t, facing, mean, &sd);
    for (int i = 0; i < N; i++) {
        double own = 1 / (sd.number[i] * sd.number[i]);
        side[i] = own * mean->number[i] + word->vector[i];
        for (int j = 0; j < N; j++)
            a[i * N + j] = inverse[i][j] = word->matrix[i][j] + (i == j ? own : 0);
    }
    if (sw_cholesky_solve(a, side, N))
        return;
    for (int i = 0; i < N; i++) /* slots that the model does not fit may tell of what cannot be */
        mean->number[i] = fmax(SW_SLOT_LEAST[i], fmin(SW_SLOT_MOST[i], side[i]));
}

/* Variance of a number, the others not known. */
static double variance_of(double inverse[SW_SLOT_NUMBERS][SW_SLOT_NUMBERS], int number)
{
    double a[N * N];
    for (int i = 0; i < N; i++)
        memcpy(a + (size_t)i * N, inverse[i], N * sizeof *a);
    return sw_cholesky_invert(a, N) ? INFINITY : a[number * N + number];
}

/* The shape: the step as it is known; sharp rims; the lamp at the other side, where the near top lies in its shade. */
static void shape_prior(const sw_trace *t, const sw_slot_light *other, double known[SW_SLOT_NUMBERS][SW_SLOT_NUMBERS],
                        sw_slot_prior *prior)
{
    const struct {
        double mean, variance;
    } shape[SW_SLOT_NUMBERS - N] = {{t->step_mm, t->step_u_mm * t->step_u_mm},
                                    {0, 0},
                                    {0, 0},
                                    {fmax(0, other->share), variance_of(known, SW_LIGHT_SHARE)},
                                    {other->slant, variance_of(known, SW_LIGHT_SLANT)}};
    prior->shaped = prior->stepped = t->stepped;
    for (int i = N; i < SW_SLOT_NUMBERS; i++) {
        prior->mean.number[i] = shape[i - N].mean;
        prior->inverse[i][i] = 1 / fmax(HELD * HELD, shape[i - N].variance);
    }
}

void sw_light_prior(const sw_table_light *table, const sw_trace *t, int facing, sw_slot_prior *prior)
{
    sw_slot_light other;
    double known[SW_SLOT_NUMBERS][SW_SLOT_NUMBERS];
    memset(prior, 0, sizeof *prior);
    believe(table, t, facing, &prior->mean, prior->inverse);
    believe(table, t, facing ^ 1, &other, known);
    prior->other = (sw_slot_other){.share = fmax(0, other.share), .slant = exp(other.slant), .top_ratio = 1};
    prior->view = fabs(t->tangent);
    prior->px_per_mm = t->px_per_mm;
    shape_prior(t, &other, known, prior);
}

/* Whether the floor says that a lamp stands in front of a facing. */
static bool lit(const sw_table_light *table, int facing)
{
    double log_ratio;
    return floor_tells(table, facing, &log_ratio) && share_of(log_ratio) > ONE_LAMP;
}

/* J and J x become those of a word weaker by how much slots differ, variances V: (J^-1 + V)^-1 = V^-1 (V^-1 + J)^-1 J, as J may be
 * singular. False, and both left, when that cannot be worked out. */
static bool weaken(double told[N][N], double side[N], const double sd[N])
{
    double a[N * N], was[N][N + 1];
    for (int i = 0; i < N; i++) {
        was[i][N] = side[i];
        for (int j = 0; j < N; j++) {
            was[i][j] = told[i][j];
            a[i * N + j] = told[i][j] + (i == j ? 1 / (sd[i] * sd[i]) : 0);
        }
    }
    if (sw_cholesky_invert(a, N))
        return false;
    for (int i = 0; i < N; i++)
        for (int j = 0; j <= N; j++) {
            double sum = 0;
            for (int k = 0; k < N; k++)
                sum += a[i * N + k] * was[k][j] / (sd[i] * sd[i]);
            *(j < N ? &told[i][j] : &side[i]) = sum;
        }
    return true;
}

void sw_light_hear(sw_table_light *table, int facing, const sw_slot_prior *prior, const sw_slot_result *result,
                   double weight)
{
    double c[N * N];
    for (int i = 0; i < N; i++) /* the light's alone: what is not known of a seam's shape makes its word weaker */
        memcpy(c + (size_t)i * N, result->covariance[i], N * sizeof *c);
    if (sw_cholesky_invert(c, N))
        return;
    for (int f = 0; f < SW_FACINGS; f++) {
        /* What the samples alone say: J = C^-1 - P, J x = C^-1 now - P mean. */
        double told[N][N], side[N];
        for (int i = 0; i < N; i++) {
            side[i] = 0;
            for (int j = 0; j < N; j++) {
                told[i][j] = c[i * N + j] - prior->inverse[i][j];
                side[i] += c[i * N + j] * result->light.number[j] - prior->inverse[i][j] * prior->mean.number[j];
            }
        }
        double differ[N];
        memcpy(differ, f == facing ? DIFFER : DIFFER_ACROSS, sizeof differ);
        differ[SW_LIGHT_SLANT] = hypot(differ[SW_LIGHT_SLANT], SLANT_DIFFER * exp(-result->light.slant));
        if (f != facing && lit(table, f) && lit(table, facing))
            differ[SW_LIGHT_SHARE] = ONE_LAMP_SD;
        if (!weaken(told, side, differ))
            continue;
        sw_light_word *word = &table->word[f];
        for (int i = 0; i < N; i++) {
            word->vector[i] += weight * side[i];
            for (int j = 0; j < N; j++)
                word->matrix[i][j] += weight * told[i][j];
        }
    }
}
