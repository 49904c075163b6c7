/* find.c - candidates, which of them are the reference, their sides, the fit. */
#include "scale/find.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "maths/point.h"
#include "photo/corners.h"
#include "scale/bundle.h"
#include "scale/corner_shape.h"
#include "scale/develop.h"
#include "scale/frame.h"
#include "scale/frames.h"
#include "scale/levels.h"
#include "scale/odd_cards.h"
#include "scale/plane.h"
#include "scale/pointed.h"
#include "scale/processed.h"
#include "scale/smoothed.h"
#include "seamwright/defaults_and_ranges.h"

/* A frame's share of dark may be off by this: ink and blur move every side by a reduced pixel. */
static const double SHARE_SLACK = 0.16;
/* Neighbourhoods that say what is dark, half width in reduced pixels: tried in turn until squares are found. */
static const int WINDOWS[] = {70, 200, 30};
/* Below this scale a gap of half a millimetre is hardly a pixel wide and nothing here was tried. */
static const double LEAST_SIDE_PX = 60;
/* Edges softer than this (one standard deviation) hide gaps of half a millimetre at the usual scale of 3 px/mm. */
static const double BLUR_MOST_PX = 2.6;
/* A square whose size differs from its fellows by more than this factor is something else; a frame, which nothing else looks like, at
 * most a card of another size. */
static const double SIZE_SLACK = 1.6, FRAME_SLACK = 4;
/* Stated uncertainty of the reference's own side when it was measured with a caliper (DIN 862: 30 um, taken as a
 * standard uncertainty; printers that nobody measured are off by 0.4 to 1 %, which no picture can tell). */
static const double REFERENCE_U_MM = 0.03;
/* A printed card is a sheet of paper or thin card: 0.1 mm (80 g paper) to 0.25 mm (card stock) and glue; common
 * practice, no source. One that was measured lies flat, and was measured, to within 0.05 mm and a tenth of itself
 * (glue, waves, soft board). */
static const double CARD_THICKNESS_MM = 0.15, CARD_THICKNESS_U_MM = 0.1, MEASURED_U_MM = 0.05, MEASURED_U_SHARE = 0.1;
/* Focal length of phones' main cameras, share of the longer side (26 mm equivalent: 26 / 36). Only normalises k1 and
 * k2. */
static const double USUAL_FOCAL = 0.72;

/* How far the focal length may be off, relative, one standard deviation. EXIF gives the 35 mm equivalent in whole mm,
 * and makers take the frame's width or its diagonal; without it phones' main cameras lie between 24 and 28 mm, others
 * anywhere. Common practice, no source. */
static const double FOCAL_U_EXIF = 0.04, FOCAL_U_GUESSED = 0.15;

/* Corners of the inner square, from the outer ones: through the plane-to-plane map of the square. */
static sw_status inner_corners(const sw_point *outer, double ratio, sw_point *inner)
{
    const sw_point part[4] = {{-ratio, ratio}, {ratio, ratio}, {ratio, -ratio}, {-ratio, -ratio}};
    double h[3][3];
    sw_status status = sw_plane_of_square(1, 1, outer, h);
    for (int c = 0; !status && c < 4; c++)
        inner[c] = sw_plane_apply(h, part[c]);
    return status;
}

/* Reads one candidate's rims; twice, because the corners of the reduced picture are only good to a few pixels. */
static sw_status sight(const sw_photo *photo, const sw_response *response, double ratio, sw_sighting *s, sw_esf *esf)
{
    double wall_px = ratio > 0 ? s->quad.size_px * (1 - ratio) / 2 : s->quad.size_px / 2;
    double reach = fmin(10, 0.42 * wall_px), wide = fmin(10, 0.8 * wall_px);
    sw_point inner[4];
    s->rim_count = ratio > 0 ? 2 : 1;
    if (sw_sides_read(photo, response, s->quad.corners, !s->light, wide, &s->rims[0], NULL) < 4 ||
        sw_sides_corners(&s->rims[0], s->quad.corners))
        return SW_NOT_FOUND;
    if (sw_sides_read(photo, response, s->quad.corners, !s->light, reach, &s->rims[0], esf) < 4 ||
        sw_sides_corners(&s->rims[0], s->quad.corners))
        return SW_NOT_FOUND;
    if (ratio > 0 && (inner_corners(s->quad.corners, ratio, inner) ||
                      sw_sides_read(photo, response, inner, 0, reach, &s->rims[1], esf) < 4))
        return SW_NOT_FOUND;
    double sum = 0;
    for (int c = 0; c < 4; c++)
        sum += hypot(s->quad.corners[c].x - s->quad.corners[(c + 1) % 4].x,
                     s->quad.corners[c].y - s->quad.corners[(c + 1) % 4].y);
    s->quad.size_px = sum / 4;
    return SW_OK;
}

/* Keeps the candidates that look like the reference and read well. esf collects their edges. */
static int choose(const sw_photo *photo, const sw_quad *quads, int count, double ratio, bool light, sw_sighting *out,
                  sw_esf *esf)
{
    double share = ratio > 0 ? 1 - ratio * ratio : 1;
    int kept = 0;
    for (int i = 0; i < count && kept < SW_SQUARES_MAX; i++) {
        if (fabs(quads[i].dark_share - share) > SHARE_SLACK)
            continue;
        sw_sighting *s = &out[kept];
        memset(s, 0, sizeof *s);
        s->quad = quads[i];
        s->light = light;
        sw_esf mine = *esf;
        if (sight(photo, NULL, ratio, s, &mine))
            continue;
        if (kept > 0 && out[0].quad.size_px > (ratio > 0 ? FRAME_SLACK : SIZE_SLACK) * s->quad.size_px)
            continue;
        *esf = mine;
        kept++;
    }
    return kept;
}

static void start_lens(const sw_photo *photo, const sw_lens *lens, sw_scale *scale)
{
    if (lens) {
        scale->lens = *lens;
        scale->lens.source = SW_LENS_PROFILE;
        scale->focal_u_rel = sqrt(fmax(0, lens->covariance[0][0])) / lens->fx;
        return;
    }
    double longer = photo->width_px > photo->height_px ? photo->width_px : photo->height_px;
    scale->focal_u_rel = photo->focal_35mm > 5 ? FOCAL_U_EXIF : FOCAL_U_GUESSED;
    double f = photo->focal_35mm > 5 ? photo->focal_35mm / 36 * longer : USUAL_FOCAL * longer;
    scale->lens = (sw_lens){.source = SW_LENS_ESTIMATED,
                            .width_px = photo->width_px,
                            .height_px = photo->height_px,
                            .fx = f,
                            .fy = f,
                            .cx = (photo->width_px - 1) / 2.0,
                            .cy = (photo->height_px - 1) / 2.0};
}

/* Size of the largest candidate that looks like the reference but is too small to be read; 0 when there is none. */
static double largest_small(const sw_quad *quads, int count, double ratio)
{
    double share = ratio > 0 ? 1 - ratio * ratio : 1, size = 0;
    for (int i = 0; i < count; i++)
        if (fabs(quads[i].dark_share - share) < 2 * SHARE_SLACK && quads[i].size_px < LEAST_SIDE_PX)
            size = fmax(size, quads[i].size_px);
    return size;
}

/* Takes away dark squares on which a light one lies: these are dark tiles with cut cards. Returns how many stay. */
static int drop_tiles(const sw_quad *lights, int light_count, sw_quad *darks, int count)
{
    int stay = 0;
    for (int i = 0; i < count; i++) {
        bool holds = false;
        for (int k = 0; k < light_count; k++)
            holds |= sw_quad_holds(&darks[i], lights[k].corners[0]) && sw_quad_holds(&darks[i], lights[k].corners[2]);
        if (!holds)
            darks[stay++] = darks[i];
    }
    return stay;
}

/* The reference squares: dark ones as printed, else, where plain squares are asked for, light ones, cut from card.
 * small_px becomes the size of the largest that is too small. SW_NO_MEMORY. */
static sw_status look(const sw_photo *photo, const sw_small *small, double ratio, sw_sighting *sightings, int *kept,
                      sw_esf *esf, double *small_px)
{
    static const int window_count = sizeof WINDOWS / sizeof *WINDOWS;
    sw_quad quads[SW_SQUARES_MAX], lights[SW_SQUARES_MAX];
    int found = 0, light_count = 0;
    sw_status status = ratio > 0 ? SW_OK : sw_quads_find_light(photo, small, lights, &light_count);
    *kept = 0;
    for (int w = 0; !status && w < window_count && *kept == 0; w++) {
        status = sw_quads_find(photo, small, WINDOWS[w], quads, &found);
        found = drop_tiles(lights, light_count, quads, found);
        *kept = choose(photo, quads, found, ratio, false, sightings, esf);
    }
    if (*kept == 0)
        *kept = choose(photo, lights, light_count, ratio, true, sightings, esf);
    *small_px = *kept ? 0 : fmax(largest_small(quads, found, ratio), largest_small(lights, light_count, ratio));
    return status;
}

static sw_status too_small(const sw_photo *photo, double size_px, sw_error *err)
{
    return sw_fail(err, SW_BAD_INPUT,
                   "%s: the reference square is only %.0f pixels wide; go nearer or take the photo at full size",
                   photo->file, size_px);
}

static sw_status not_found(const sw_photo *photo, const sw_reference *reference, double small_px, sw_error *err)
{
    char name[64];
    if (small_px > 0)
        return too_small(photo, small_px, err);
    double outer = (reference->outer_x_mm + reference->outer_y_mm) / 2;
    double inner = (reference->inner_x_mm + reference->inner_y_mm) / 2;
    if (inner > 0)
        snprintf(name, sizeof name, "reference square of %g/%g mm", outer, inner);
    else
        snprintf(name, sizeof name, "plain reference square of %g mm", outer);
    return sw_fail(
        err, SW_NOT_FOUND,
        "%s: no %s found; is it flat, unshadowed%s wholly in the picture%s? If the card is so, say where its "
        "four outer corners are, in pixels: --square x,y,x,y,x,y,x,y",
        photo->file, name, inner > 0 ? " and" : ",",
        inner > 0 ? "" : ", and much darker or lighter than the tile it lies on");
}

static sw_status not_there(const sw_photo *photo, const sw_corners *told, sw_error *err)
{
    const sw_point *p = told->shown_px;
    return sw_fail(err, SW_NOT_FOUND,
                   "%s: no edges of the reference square (--reference) were found at the card's place, --square "
                   "%g,%g,%g,%g,%g,%g,%g,%g; point at its four outer corners, those of the black print or of a cut "
                   "card, to within %d pixels or %.0f %% of its side",
                   photo->file, p[0].x, p[0].y, p[1].x, p[1].y, p[2].x, p[2].y, p[3].x, p[3].y, SW_POINTED_OFF_PX,
                   100 * SW_POINTED_OFF_SHARE);
}

/* The squares that somebody pointed at: all of them, or the photo is refused. */
static sw_status look_there(const sw_photo *photo, const sw_corners *cards, size_t count, double ratio,
                            sw_sighting *sightings, int *kept, sw_esf *esf, sw_error *err)
{
    for (*kept = 0; (size_t)*kept < count && *kept < SW_SQUARES_MAX; ++*kept) {
        const sw_corners *told = &cards[*kept];
        sw_sighting *s = &sightings[*kept];
        memset(s, 0, sizeof *s);
        sw_corners_take(photo, told, s->quad.corners);
        if (!sw_quad_pull_in(photo, ratio > 0, &s->quad, &s->light) || sight(photo, NULL, ratio, s, esf))
            return not_there(photo, told, err);
        for (int i = 0; i < *kept; i++)
            if (sw_quad_holds(&sightings[i].quad, sw_between(s->quad.corners[0], s->quad.corners[2], 0.5)))
                return sw_fail(err, SW_BAD_INPUT, "%s: --square names the same card twice, at %g,%g and %g,%g",
                               photo->file, cards[i].shown_px[0].x, cards[i].shown_px[0].y, told->shown_px[0].x,
                               told->shown_px[0].y);
    }
    return SW_OK;
}

/* Edges that are no edges: of blurred cards any ratio may be read. */
static bool too_soft(const sw_esf *esf, const sw_sighting *sightings)
{
    sw_response response = sw_response_fit(esf, !sightings[0].light);
    return response.poor || response.blur_px > BLUR_MOST_PX;
}

/* SW_BAD_INPUT where frames with the ratio of another size lie there: read as those told they fail in one way or another. */
static sw_status refuse_other_frames(const sw_photo *photo, const sw_small *small, const sw_reference *reference,
                                     sw_error *err)
{
    sw_sighting sightings[SW_SQUARES_MAX];
    double told = sw_frame_ratio(reference), other_small_px;
    for (int i = 0; told > 0 && i < sw_frame_sizes(); i++) {
        sw_esf esf = {{0}, {0}, 0, 0, 0};
        double ratio = sw_frame_ratio_of(i);
        int kept = 0;
        if (sw_frame_ratio_fits(told, ratio, INFINITY) ||
            look(photo, small, ratio, sightings, &kept, &esf, &other_small_px) || kept == 0 ||
            too_soft(&esf, sightings))
            continue;
        double seen = sw_frame_ratio_seen(sightings, kept), size_px = sightings[0].quad.size_px;
        if (size_px > LEAST_SIDE_PX && sw_frame_ratio_fits(ratio, seen, size_px) &&
            !sw_frame_ratio_fits(told, seen, size_px))
            return sw_frame_refuse(photo->file, reference, seen, err);
    }
    return SW_OK;
}

sw_status sw_scale_light(const sw_photo *photo, double contrast, sw_photo *seen, sw_error *err)
{
    *seen = *photo;
    if (!(contrast > 0))
        return SW_OK;
    size_t count = (size_t)1 << photo->bits;
    seen->linear = malloc(count * sizeof *seen->linear);
    if (!seen->linear) {
        memset(seen, 0, sizeof *seen);
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the tone curve", photo->file);
    }
    for (size_t i = 0; i < count; i++)
        seen->linear[i] = (float)sw_light_of((double)i / (double)(count - 1), contrast);
    return SW_OK;
}

/* Reads the sightings again with what the edges told; those that read badly now are dropped. Returns how many stay. */
static int sight_again(const sw_photo *photo, const sw_response *response, double ratio, sw_sighting *sightings,
                       int count)
{
    int good = 0;
    for (int i = 0; i < count; i++) {
        if (sight(photo, response, ratio, &sightings[i], NULL))
            continue;
        if (good != i)
            sightings[good] = sightings[i];
        good++;
    }
    return good;
}

static void keep_response(const sw_response *response, sw_scale *scale)
{
    scale->blur_px = response->blur_px;
    scale->halo = response->halo;
    scale->sharpen = response->sharpen;
    scale->sharpen_radius_px = response->radius_px;
    scale->contrast = response->contrast;
    scale->contrast_u = response->contrast_u;
    scale->black_floor = response->black_floor;
    scale->soften_px = response->soften_px;
    scale->rim_shift_px = response->rim_shift_px;
    scale->rim_shift_u_px = response->rim_shift_u_px;
}

/* What corners and blacks tell of the photo's processing and of stray light. */
static sw_status look_at_processing(const sw_photo *photo, const sw_response *response, const sw_esf *edge,
                                    const sw_sighting *sightings, int count, sw_scale *scale, sw_error *err)
{
    sw_corner_shape shape;
    if (sw_corner_shape_read(photo, response, edge, sightings, count, &shape))
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory for the reference squares", photo->file);
    double paper = sw_paper_unevenness(photo, sightings, count), jagged = sw_levels_jaggedness(photo);
    const sw_flat_noise noise = sw_flat_noise_read(photo, sightings, count);
    scale->filter_u_px = hypot(sw_filter_u_px(&shape, response->misfit), sw_smoothed_u_px(&noise, photo->jpeg_step));
    scale->levels_u_px = sw_levels_u_px(paper, jagged);
    scale->blur_u_rel = hypot(scale->blur_u_rel, sw_slant_u_rel(&shape));
    scale->haze = sw_haze(sightings, count);
    sw_status status = sw_filter_refuse(&shape, photo->file, err);
    return status ? status : sw_smoothed_refuse(&noise, photo->jpeg_step, response->misfit, photo->file, err);
}

/* The reference squares with their sides, found or told. */
static sw_status first_sight(const sw_photo *photo, const sw_small *small, const sw_scale_known *known,
                             sw_sighting *sightings, int *kept, sw_esf *esf, sw_error *err)
{
    double ratio = sw_frame_ratio(&known->reference), small_px = 0;
    if (known->cards)
        return look_there(photo, known->cards, known->card_count, ratio, sightings, kept, esf, err);
    if (look(photo, small, ratio, sightings, kept, esf, &small_px))
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory to look for reference squares", photo->file);
    return *kept ? SW_OK : not_found(photo, &known->reference, small_px, err);
}

static sw_status find_as_told(const sw_photo *photo, const sw_small *small, const sw_scale_known *known,
                              sw_scale *scale, sw_error *err)
{
    sw_sighting sightings[SW_SQUARES_MAX];
    sw_esf esf = {{0}, {0}, 0, 0, 0};
    const sw_reference *reference = &known->reference;
    double thickness_mm = known->thickness_mm;
    double ratio = sw_frame_ratio(reference);
    memset(scale, 0, sizeof *scale);
    scale->reference = *reference;
    start_lens(photo, known->lens, scale);
    int kept;
    sw_status status = first_sight(photo, small, known, sightings, &kept, &esf, err);
    if (status)
        return status;
    if (sightings[0].quad.size_px < LEAST_SIDE_PX)
        return too_small(photo, sightings[0].quad.size_px, err);
    sw_response response = sw_response_fit(&esf, !sightings[0].light);
    if (response.poor || response.blur_px > BLUR_MOST_PX)
        return sw_fail(err, SW_BAD_INPUT,
                       "%s: the photo is blurred, edges are smeared over several pixels; hold the phone still, wipe "
                       "the lens and focus on the tiles",
                       photo->file);
    keep_response(&response, scale);
    sw_unevenness uneven = sw_blur_unevenness(sightings, kept);
    if (sw_blur_refuse(&uneven, response.misfit, photo->file, err))
        return SW_BAD_INPUT;
    scale->blur_u_rel = sw_blur_u_rel(&uneven, response.misfit);
    sw_photo seen;
    if ((status = sw_scale_light(photo, response.contrast, &seen, err)))
        return status;
    int good = sight_again(&seen, &response, ratio, sightings, kept);
    if (seen.linear != photo->linear)
        free(seen.linear);
    if (good == 0)
        return not_found(photo, reference, 0, err);
    double seen_ratio = sw_frame_ratio_seen(sightings, good);
    if (ratio > 0 && !sw_frame_ratio_fits(ratio, seen_ratio, sightings[0].quad.size_px))
        return sw_frame_refuse(photo->file, reference, seen_ratio, err);
    if ((status = look_at_processing(photo, &response, &esf, sightings, good, scale, err)))
        return status;
    if ((status = sw_odd_cards_take(photo, sightings, &good, scale, err)))
        return status;
    for (int i = 0; known->square_tops && i < good; i++)
        sightings[i].top = known->square_tops[i];
    scale->reference_u_rel = REFERENCE_U_MM / ((reference->outer_x_mm + reference->outer_y_mm) / 2);
    status = sw_bundle_fit(sightings, good, scale, err);
    if (!status && isnan(thickness_mm))
        sw_scale_lower(scale, CARD_THICKNESS_MM, CARD_THICKNESS_U_MM);
    else if (!status)
        sw_scale_lower(scale, thickness_mm, hypot(MEASURED_U_MM, MEASURED_U_SHARE * thickness_mm));
    if (status)
        return status;
    sw_odd_cards_place(scale);
    return sw_odd_cards_refuse_picture(photo, scale, err);
}

sw_status sw_scale_find_on(const sw_photo *photo, const sw_small *small, const sw_scale_known *known, sw_scale *scale,
                           sw_error *err)
{
    sw_status status = find_as_told(photo, small, known, scale, err);
    if (!known->cards && (status == SW_BAD_INPUT || status == SW_NOT_FOUND) &&
        refuse_other_frames(photo, small, &known->reference, err))
        return SW_BAD_INPUT;
    return status;
}

sw_status sw_scale_find(const sw_photo *photo, const sw_small *small, const sw_lens *lens,
                        const sw_reference *reference, double thickness_mm, sw_scale *scale, sw_error *err)
{
    const sw_scale_known known = {.lens = lens, .reference = *reference, .thickness_mm = thickness_mm};
    return sw_scale_find_on(photo, small, &known, scale, err);
}
