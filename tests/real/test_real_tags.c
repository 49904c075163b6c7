/* Dark square tags on a board, two photos of a phone with orientation tags 1 and 6: each tag is taken for a plain
 * reference square, by the square finder, the sides and the fit that inspect uses.
 *
 * Source: ../shared/real/README.md; photos by A. Tabb (MIT). By ruler: tags of 25.5 mm, 51 mm apart; the board is not
 * quite flat, the tags scatter by 0.2 to 0.4 mm.
 *
 * One photo holds no length of its own, so only the share side : pitch is measured here. It is told as the tag's side
 * with the scale from the pitch. The fit gets its scale from the side instead; which of the two is given makes no
 * difference to the share. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "maths/lsq.h"
#include "maths/stats.h"
#include "real/real.h"
#include "scale/bundle.h"
#include "scale/plane.h"
#include "support/mean.h"

static const double SIDE_MM = 25.5, PITCH_MM = 51;
/* Asked for; a ruler tells a tag's side to a quarter of a millimetre, which is as much. */
static const double WITHIN = 0.01;
/* Known shortfall, to come down to WITHIN: read between its outer sides alone, as a plain square is, a tag is about 1
 * px too wide at each side. Its own cells show it (see below), so it is ink or light that spread, not the ruler. */
static const double WITHIN_AS_PLAIN = 0.0125;
/* Tags that something lies on and the card's own print are none of the squares wanted: a side of a whole tag is not off
 * by more than the board's waves make it (0.4 mm, 1.6 %); one that is partly hidden is mostly off by far more. */
static const double WHOLE = 0.05;
/* How far the tags' middles may lie off an even grid, each way: the board's waves (0.2 to 0.4 mm, see above). */
static const double WAVES_MM = 0.4;

typedef struct tags {
    sw_photo photo;
    sw_sighting sightings[SW_SQUARES_MAX];
    int found, count; /* dark squares found; tags kept */
    sw_scale scale;
} tags;

/* Everything dark and square that has a light surround, in the order of the finder: largest first. */
static void find_tags(tags *t)
{
    enum { WINDOW_PX = 70 }; /* the first that find.c tries */
    sw_small small;
    sw_quad quads[SW_SQUARES_MAX];
    sw_esf esf = {{0}, {0}, 0, 0, 0};
    assert_int_equal(sw_small_make(&t->photo, &small, NULL), SW_OK);
    assert_int_equal(sw_quads_find(&t->photo, &small, WINDOW_PX, quads, &t->found), SW_OK);
    sw_small_free(&small);
    for (int i = 0; i < t->found; i++) {
        sw_sighting *s = &t->sightings[t->count];
        *s = (sw_sighting){.quad = quads[i], .rim_count = 1};
        if (!real_read_square(&t->photo, NULL, s->quad.corners, &s->rims[0], &esf))
            t->count++;
    }
    sw_response response = sw_response_fit(&esf, 0);
    printf("  edges: blur %.2f px, halo %.2f, sharpening %.2f, half-way %.2f px off the middle of the area\n",
           response.blur_px, response.halo, response.sharpen, real_half_way_px(&t->photo, &esf));
    int kept = 0;
    for (int i = 0; i < t->count; i++)
        if (!real_read_square(&t->photo, &response, t->sightings[i].quad.corners, &t->sightings[i].rims[0], NULL))
            t->sightings[kept++] = t->sightings[i];
    t->count = kept;
}

static void fit(tags *t)
{
    sw_error err = {""};
    const double longer = t->photo.width_px;
    const double f = t->photo.focal_35mm / 36 * longer; /* as find.c takes it from EXIF */
    memset(&t->scale, 0, sizeof t->scale);
    t->scale.reference = (sw_reference){SIDE_MM, SIDE_MM, 0, 0};
    t->scale.lens = (sw_lens){.source = SW_LENS_ESTIMATED,
                              .width_px = t->photo.width_px,
                              .height_px = t->photo.height_px,
                              .fx = f,
                              .fy = f,
                              .cx = (longer - 1) / 2,
                              .cy = (t->photo.height_px - 1) / 2.0};
    if (sw_bundle_fit(t->sightings, t->count, &t->scale, &err))
        fail_msg("%s", err.text);
}

/* Takes out what is no whole tag: a side, on the plane fitted, that is off from the middle one by more than WHOLE. */
static int drop_partial(tags *t)
{
    double sides[SW_SQUARES_MAX][4], all[4 * SW_SQUARES_MAX];
    for (int i = 0; i < t->count; i++) {
        sw_point mm[4];
        for (int c = 0; c < 4; c++)
            mm[c] = sw_scale_to_mm(&t->scale, t->sightings[i].quad.corners[c]);
        for (int c = 0; c < 4; c++)
            all[4 * i + c] = sides[i][c] = hypot(mm[c].x - mm[(c + 1) % 4].x, mm[c].y - mm[(c + 1) % 4].y);
    }
    double middle = sw_median(all, (size_t)t->count * 4);
    int kept = 0, count = t->count;
    for (int i = 0; i < count; i++) {
        int whole = 1;
        for (int c = 0; c < 4; c++)
            whole = whole && fabs(sides[i][c] / middle - 1) < WHOLE;
        if (whole)
            t->sightings[kept++] = t->sightings[i];
    }
    t->count = kept;
    return count - kept;
}

static sw_point middle_of(const tags *t, int i)
{
    const sw_point *c = t->scale.squares[i].corners_mm;
    return (sw_point){(c[0].x + c[2].x) / 2, (c[0].y + c[2].y) / 2};
}

/* The tags' middles as a square grid in the frame of the first one: x = x0 + a i - b j, y = y0 + b i + a j. Returns the
 * pitch; scatter_mm is the RMS distance of the middles from the grid. */
static double grid_pitch(const tags *t, double *scatter_mm)
{
    double x[2 * SW_SQUARES_MAX][4] = {{0}}, y[2 * SW_SQUARES_MAX], grid[4], sd;
    sw_point first = middle_of(t, 0);
    for (int k = 0; k < t->count; k++) {
        sw_point m = middle_of(t, k);
        double i = round((m.x - first.x) / PITCH_MM), j = round((m.y - first.y) / PITCH_MM);
        const double rows[2][4] = {{1, 0, i, -j}, {0, 1, j, i}};
        memcpy(x[2 * k], rows, sizeof rows);
        y[2 * k] = m.x;
        y[2 * k + 1] = m.y;
    }
    assert_int_equal(sw_lsq_linear(&x[0][0], y, NULL, 2 * (size_t)t->count, 4, 1, grid, NULL, &sd), 0);
    *scatter_mm = sd * sqrt(2);
    return hypot(grid[2], grid[3]);
}

/* ---- what the tags themselves say of their size ---- */

/* A tag is 8 x 8 cells, the outermost all dark. Bleed moves edges from light to dark one way and edges from dark to
 * light the other; edges of one kind keep their distances, whole cells. So the cells tell the tag's true side, in
 * shares of the side that was read between the outer sides. */
enum { CELLS = 8, SAMPLES = 800, EDGES_MOST = 2 * 6 * CELLS };

static double light_at(const sw_photo *photo, sw_point p)
{
    int x = (int)floor(p.x), y = (int)floor(p.y);
    double fx = p.x - x, fy = p.y - y;
    const float *l = photo->linear;
    return (1 - fy) * ((1 - fx) * l[sw_photo_at(photo, x, y)] + fx * l[sw_photo_at(photo, x + 1, y)]) +
           fy * ((1 - fx) * l[sw_photo_at(photo, x, y + 1)] + fx * l[sw_photo_at(photo, x + 1, y + 1)]);
}

/* Half-way places along one line of cells, as shares of the side read (0 to 1). kinds: 1 from light to dark. */
static int edges_along(const sw_photo *photo, const double h[3][3], int cell, int upright, double *at, int *kinds)
{
    double light[SAMPLES], low = 1, high = 0;
    int count = 0;
    for (int i = 0; i < SAMPLES; i++) {
        double u = 2 * (i + 0.5) / SAMPLES - 1, v = (2 * cell + 1.0) / CELLS - 1;
        light[i] = light_at(photo, sw_plane_apply(h, upright ? (sw_point){v, u} : (sw_point){u, v}));
        low = fmin(low, light[i]);
        high = fmax(high, light[i]);
    }
    const double half = (low + high) / 2, edge_zone = 0.06 * SAMPLES; /* half a cell: the outer sides are not asked */
    for (int i = (int)edge_zone; i + 1 < SAMPLES - edge_zone && high > 3 * low && count < CELLS; i++)
        if ((light[i] < half) != (light[i + 1] < half)) {
            kinds[count] = light[i] > half;
            at[count++] = (i + 0.5 + (half - light[i]) / (light[i + 1] - light[i])) / SAMPLES;
        }
    return count;
}

/* The tag's side by its cells over the side read, from all lines of cells one way: place = start of its kind + cell x
 * (whole number). NaN when there are too few edges. */
static double side_by_cells(const sw_photo *photo, const sw_point *corners, int upright)
{
    double h[3][3], x[EDGES_MOST][3], y[EDGES_MOST], fit[3];
    size_t n = 0;
    if (sw_plane_of_square(1, 1, corners, h))
        return NAN;
    for (int cell = 1; cell < CELLS - 1; cell++) {
        double at[CELLS];
        int kinds[CELLS], count = edges_along(photo, h, cell, upright, at, kinds);
        for (int i = 0; i < count; i++, n++) {
            x[n][0] = kinds[i];
            x[n][1] = !kinds[i];
            x[n][2] = round(at[i] * CELLS);
            y[n] = at[i];
        }
    }
    return n < 6 || sw_lsq_linear(&x[0][0], y, NULL, n, 3, 1, fit, NULL, NULL) ? NAN : CELLS * fit[2];
}

static double all_by_cells(const tags *t, double *scatter)
{
    double shares[2 * SW_SQUARES_MAX];
    size_t n = 0;
    for (int i = 0; i < t->count; i++)
        for (int upright = 0; upright < 2; upright++) {
            double share = side_by_cells(&t->photo, t->sightings[i].quad.corners, upright);
            if (!isnan(share))
                shares[n++] = share;
        }
    *scatter = deviation_of(shares, n);
    return mean_of(shares, n);
}

/* Corners come NW NE SE SW as the photo is shown. */
static void expect_upright(const tags *t)
{
    for (int i = 0; i < t->count; i++) {
        sw_point c[4];
        for (int k = 0; k < 4; k++)
            c[k] = sw_photo_show(&t->photo, t->sightings[i].quad.corners[k]);
        assert_true(c[SW_NW].x < c[SW_NE].x && c[SW_SW].x < c[SW_SE].x);
        assert_true(c[SW_NW].y < c[SW_SW].y && c[SW_NE].y < c[SW_SE].y);
    }
}

static void measure(const char *file, int orientation)
{
    static tags t;
    double scatter;
    memset(&t, 0, sizeof t);
    real_load("phone-tag-board", file, &t.photo);
    assert_int_equal(t.photo.orientation, orientation);
    printf("%s, orientation %d:\n", file, orientation);
    find_tags(&t);
    fit(&t);
    while (drop_partial(&t))
        fit(&t);
    assert_in_range(t.count, 10, SW_SQUARES_MAX);
    expect_upright(&t);
    double pitch = grid_pitch(&t, &scatter), as_plain = SIDE_MM * PITCH_MM / pitch, spread;
    double share = all_by_cells(&t, &spread), by_cells = as_plain * share;
    printf(
        "  %d dark squares found, %d whole tags kept; their middles off an even grid by %.2f mm, their edges off their "
        "squares by %.2f px (RMS)\n",
        t.found, t.count, scatter, t.scale.residual_px);
    printf("  side between the outer sides, as a plain square: %.3f mm (%+.2f %%; with the side given the pitch reads "
           "%.3f "
           "mm)\n",
           as_plain, 100 * (as_plain / SIDE_MM - 1), pitch);
    printf("  side by the tags' cells: %.3f mm (%+.2f %%); the outer sides stand %.2f px too far out each\n", by_cells,
           100 * (by_cells / SIDE_MM - 1), (1 - share) / 2 * t.scale.px_per_mm * SIDE_MM);
    assert_true(fabs(by_cells / SIDE_MM - 1) < WITHIN);
    assert_true(fabs(as_plain / SIDE_MM - 1) < WITHIN_AS_PLAIN);
    assert_true(fabs(t.scale.edge_spread_px) < 0.01); /* plain squares say nothing of it: its prior's middle */
    assert_true(scatter < WAVES_MM * sqrt(2));
    sw_photo_free(&t.photo);
}

static void as_the_sensor_lies(void **state)
{
    (void)state;
    measure("IMG_0455.JPG", 1);
}

static void turned_by_a_quarter(void **state)
{
    (void)state;
    measure("IMG_0461.JPG", 6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(as_the_sensor_lies),
        cmocka_unit_test(turned_by_a_quarter),
    };
    if (!real_is_there("phone-tag-board"))
        return REAL_SKIPPED;
    return cmocka_run_group_tests(tests, NULL, NULL);
}
