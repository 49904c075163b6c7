/* bound.c - distance to the limit: the spread of our gaps on drawn straight seams, over the Cramer-Rao bound.
 *
 *     study_bound [seams a line [noise, share of the tops' light]]
 *
 * For each width and view angle many seams are drawn, each with its own light (from the prior that the reader has),
 * slant, place between the pixels and noise, and read. Three spreads are held against what nothing can beat:
 * - raw: single stations about their seam's mean, against one station's samples, the light known. What the whole seam shares drops out of both.
 * - smoothed: the same for the smoothed gap, against the bound of its weighted mean of stations. The weights are seen
 * by nudging stations one by one.
 * - mean: the seam's mean gap about the truth, seam to seam, against all stations with the shared light unknown (priors
 *   as the reader has them): once for the pixel rows that are read, once for all there are.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <math.h>

#include "maths/stats.h"
#include "study/strip.h"

static const double WIDTHS[] = {0.2, 0.3, 0.5, 0.7, 1, 1.5, 2, 3, 4, 6, 8, 12}, TANGENTS[] = {0.1, 0.3};
enum { WIDTH_COUNT = 12, TANGENT_COUNT = 2, SEAMS = 60, SEAMS_LEAST = 8, SEAMS_MOST = 2000 };
/* Edges as a phone shows them; tops of two tiles. */
static const double BLUR_PX = 0.8, LOW = 0.36, HIGH = 0.39, SLOPE_MOST = 0.1;
/* No lamp darkens, no wall is white, and the camera sees the far wall; as slot.c, but for lamps of less than nothing. */
static const double LEAST[SW_LIGHT_NUMBERS] = {0, 0.05, 0.02, -3, 0.002, 0, 0.05, -0.02, -0.15},
                    MOST[SW_LIGHT_NUMBERS] = {0.95, 0.8, 0.6, 1.1, 0.2, 0.9, 0.95, 0.5, 0.6};
/* Share of the tops' light. */
static const double NOISE = 0.01;
/* Pixel rows of a station: those read.c takes, and all. What it knows of a station's middle, px. */
enum { ROWS_READ = 2, ROWS_ALL = STRIP_PX_PER_MM };
static const double CENTRE_SD = 0.6;
/* A seam of which less is seen is not counted, and said so. */
static const double SEEN_LEAST = 0.9;

/* How the smoothing weighs the stations: means over the smoothed places of the sum of squared weights, and the same for
 * the mean of all places. */
typedef struct weights {
    double single, mean;
} weights;

typedef struct sums {
    double count, sum, squares;
} sums;

static void add(sums *s, double v)
{
    s->count++;
    s->sum += v;
    s->squares += v * v;
}

static double mean_of(const sums *s)
{
    return s->sum / s->count;
}

static double variance_of(const sums *s)
{
    return (s->squares - s->sum * s->sum / s->count) / (s->count - 1);
}

/* The stations a gap is given for, the seam's ends left out. */
static int counts(const sw_track *t, int i)
{
    double last = t->points[t->count - 1].at_mm;
    return t->points[i].seen && t->points[i].at_mm > SW_SEAM_END_MM && t->points[i].at_mm < last - SW_SEAM_END_MM;
}

/* From the prior, which here ties no number to another; what no slot is like is drawn again. */
static void draw_light(const sw_slot_prior *prior, uint64_t *seed, sw_slot_light *light)
{
    for (int p = 0; p < SW_LIGHT_NUMBERS; p++)
        do
            light->number[p] = prior->mean.number[p] + strip_normal(seed) / sqrt(prior->inverse[p][p]);
        while (light->number[p] < LEAST[p] || light->number[p] > MOST[p]);
}

static strip_scene draw_scene(double width, double tangent, double noise, const sw_slot_prior *prior, uint64_t *seed)
{
    strip_scene s = {.slot = {.width_px = width, .low = LOW, .high = HIGH, .blur_px = BLUR_PX},
                     .tangent = tangent,
                     .sigma = noise * (LOW + HIGH) / 2};
    draw_light(prior, seed, &s.slot.light);
    s.slot.other = prior->other;
    s.slot.slope = SLOPE_MOST * (2 * strip_chance(seed) - 1);
    s.slot.far_high = strip_chance(seed) < 0.5;
    s.middle_px = strip_chance(seed);
    return s;
}

/* What the seams of one line of the table come to: variances and errors as they are, and over each seam's own bound. */
typedef struct line {
    sums own;                                     /* bound of one station */
    sums raw, raw_ratio, smooth, smooth_ratio;    /* variances about the seams' means */
    sums mean, mean_bound, mean_ratio, all_ratio; /* errors of the seams' means */
    double ratios[SEAMS_MOST];                    /* of the means, one by one */
    int lost;                                     /* seams that could not be read */
} line;

/* Gap of a station, px across the seam. */
static double gap_px(const double *across)
{
    return (across[1] - across[0]) * STRIP_PX_PER_MM;
}

/* The bounds for the rows that are read, and for all there are. */
static int bound_one(const strip_scene *scene, const sw_slot_prior *prior, limit_bound *read, limit_bound *all)
{
    limit_seam seam = {STRIP_SEAM_MM, ROWS_READ, scene->slot.slope, scene->sigma, CENTRE_SD, prior};
    limit_model *m = limit_make(&scene->slot);
    int status = m ? limit_of(m, &seam, read) : -1;
    seam.rows = ROWS_ALL;
    status = status ? status : limit_of(m, &seam, all);
    free(m);
    return status;
}

static double mean_bound(const limit_bound *b)
{
    return b->own / STRIP_SEAM_MM + b->common;
}

static void add_track(const sw_track *track, double width, const limit_bound *read, const limit_bound *all,
                      const weights *w, line *l)
{
    sums raw = {0}, smooth = {0};
    for (int i = 0; i < track->count; i++) {
        if (!counts(track, i))
            continue;
        add(&raw, gap_px(track->points[i].raw) - width);
        add(&smooth, gap_px(track->points[i].across) - width);
    }
    l->lost += raw.count < SEEN_LEAST * STRIP_SEAM_MM;
    if (raw.count < SEEN_LEAST * STRIP_SEAM_MM)
        return;
    add(&l->own, read->own);
    add(&l->raw, variance_of(&raw));
    add(&l->raw_ratio, variance_of(&raw) / read->own);
    add(&l->smooth, variance_of(&smooth));
    add(&l->smooth_ratio, variance_of(&smooth) / read->own / (w->single - w->mean));
    add(&l->mean, mean_of(&smooth));
    add(&l->mean_bound, mean_bound(read));
    l->ratios[(int)l->mean_ratio.count] = mean_of(&smooth) / sqrt(mean_bound(read));
    add(&l->mean_ratio, mean_of(&smooth) / sqrt(mean_bound(read)));
    add(&l->all_ratio, mean_of(&smooth) / sqrt(mean_bound(all)));
}

/* Draws one seam, reads it, works out its bounds. */
static int add_seam(const strip_scene *scene, const sw_slot_prior *prior, const weights *w, uint64_t *seed, line *l)
{
    strip s;
    sw_trace trace;
    sw_track track;
    limit_bound read, all;
    if (bound_one(scene, prior, &read, &all) || strip_draw(scene, seed, &s))
        return -1;
    int status = strip_read(&s, prior, &trace, &track);
    strip_free(&s);
    if (status)
        return -1;
    add_track(&track, scene->slot.width_px, &read, &all, w, l);
    sw_trace_free(&trace);
    sw_track_free(&track);
    return 0;
}

/* A made-up trace on a perfect seam, one station's gap nudged, shows that station's weight in every smoothed gap. */
static int weigh(weights *out)
{
    const double nudge_px = 0.004;
    strip_scene scene = {.slot = {.light = strip_prior(0.1).mean, .width_px = 4, .low = LOW, .high = HIGH},
                         .tangent = 0.1};
    strip s;
    sw_trace trace;
    uint64_t seed = 1;
    double mean_squares = 0, single = 0;
    int status = -1;
    scene.slot.blur_px = BLUR_PX;
    if (strip_draw(&scene, &seed, &s))
        return -1;
    if (sw_trace_lay(&s.photo, &s.scale, &s.side, 1, SW_TRACE_SEAM, 1, s.camera, &trace, NULL))
        goto done;
    for (int i = 0; i < trace.count; i++) {
        sw_track track;
        double sum = 0, n = 0, squares = 0;
        for (int k = 0; k < trace.count; k++) {
            trace.places[k].rim_low_px = trace.places[k].path_px - 2;
            trace.places[k].rim_high_px = trace.places[k].path_px + 2 + (k == i ? nudge_px : 0);
        }
        if (sw_track_make(&trace, &s.scale, &s.side, NULL, &track, NULL))
            goto done;
        for (int k = 0; k < track.count; k++)
            if (counts(&track, k)) {
                double w = (gap_px(track.points[k].across) - 4) / nudge_px;
                sum += w;
                squares += w * w;
                n++;
            }
        single += squares / n;
        mean_squares += sum * sum / n / n;
        sw_track_free(&track);
    }
    *out = (weights){single, mean_squares};
    status = 0;
done:
    sw_trace_free(&trace);
    strip_free(&s);
    return status;
}

/* Root of a mean variance, thousandths of a px. */
static double root(const sums *s)
{
    return 1e3 * sqrt(mean_of(s));
}

/* The same as a deviation, from the median seam: hardly moved by the few that go far wrong. */
static double typical_ratio(line *l)
{
    size_t n = (size_t)l->mean_ratio.count;
    double middle = sw_median(l->ratios, n);
    return sw_mad_sigma(l->ratios, n, middle);
}

static void print_line(double width, line *l)
{
    double mean = 1e3 * sqrt(variance_of(&l->mean)), bias = 1e3 * mean_of(&l->mean);
    printf("| %g | %.1f | %.1f | %.2f ", width, root(&l->own), root(&l->raw), sqrt(mean_of(&l->raw_ratio)));
    printf("| %.1f | %.2f ", root(&l->smooth), sqrt(mean_of(&l->smooth_ratio)));
    printf("| %.1f | %.1f | %.2f | %.2f | %.2f | %+.2f |%s\n", root(&l->mean_bound), mean,
           sqrt(variance_of(&l->mean_ratio)), typical_ratio(l), sqrt(variance_of(&l->all_ratio)), bias / mean,
           l->lost ? " some seams could not be read" : "");
    fflush(stdout);
}

static int study(double tangent, double noise, int seams, const weights *w)
{
    printf("\nView angle across the seam: tangent %.1f. Noise of a pixel: %.1f %% of the tops.\n\n", tangent,
           100 * noise);
    puts("| width, px | bound | raw | ratio | smoothed | ratio | bound of the mean | mean | "
         "ratio | "
         "typical | ratio, all rows | bias over mean |\n"
         "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    for (int i = 0; i < WIDTH_COUNT; i++) {
        uint64_t seed = 1000003u * (uint64_t)(i + 1) + (uint64_t)(1e4 * tangent);
        sw_slot_prior prior = strip_prior(tangent);
        line l = {0};
        for (int k = 0; k < seams; k++) {
            strip_scene scene = draw_scene(WIDTHS[i], tangent, noise, &prior, &seed);
            if (add_seam(&scene, &prior, w, &seed, &l)) {
                fputs("study_bound: not enough memory, or a degenerate light\n", stderr);
                return -1;
            }
        }
        print_line(WIDTHS[i], &l);
    }
    return 0;
}

int main(int argc, char **argv)
{
    int seams = argc > 1 ? atoi(argv[1]) : SEAMS;
    double noise = argc > 2 ? atof(argv[2]) : NOISE;
    weights w;
    if (seams < SEAMS_LEAST || seams > SEAMS_MOST || !(noise > 0) || weigh(&w)) {
        fprintf(stderr, "usage: study_bound [seams a line, at least %d [noise, share of the tops' light]]\n",
                SEAMS_LEAST);
        return 2;
    }
    printf("A smoothed gap is worth %.1f stations. Deviations in thousandths of a px.\n", 1 / w.single);
    for (int i = 0; i < TANGENT_COUNT; i++)
        if (study(TANGENTS[i], noise, seams, &w))
            return 1;
    return 0;
}
