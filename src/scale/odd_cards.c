#include "scale/odd_cards.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "maths/point.h"
#include "scale/frame.h"

enum { PLACES_ROOM = 160 };
/* Less is "0.0 mm" and says nothing. */
static const double SAID_MM = 0.05;
/* Cards that were left out as bent are one card's fault, unless they are half of all and the rest fits badly, too: then it is the picture. */
static const double REST_FITS = 2.5;

/* "top left", "middle": where in the picture as it is shown, by thirds. */
static void place_of(const sw_photo *photo, const sw_quad *quad, char *text, size_t room)
{
    static const char *const down[] = {"top", "middle", "bottom"}, *const across[] = {" left", "", " right"};
    sw_point at = sw_photo_show(photo, sw_between(quad->corners[0], quad->corners[2], 0.5));
    sw_point far = sw_photo_show(photo, (sw_point){photo->width_px - 1, photo->height_px - 1}),
             near = sw_photo_show(photo, (sw_point){0, 0});
    double x = at.x / fmax(far.x, near.x), y = at.y / fmax(far.y, near.y);
    int column = x < 1.0 / 3 ? 0 : x < 2.0 / 3 ? 1 : 2, row = y < 1.0 / 3 ? 0 : y < 2.0 / 3 ? 1 : 2;
    snprintf(text, room, "%s%s", down[row], across[column]);
}

/* "at the top left and bottom right": all with this fault, or all without any. */
static int places_of(const sw_photo *photo, const sw_sighting *sightings, const sw_card_story *stories, int count,
                     bool faulty, char text[PLACES_ROOM])
{
    int n = 0;
    text[0] = 0;
    for (int i = 0; i < count; i++) {
        char place[32];
        size_t used = strlen(text);
        if ((stories[i].fault != SW_CARD_GOOD) != faulty || used + sizeof place > PLACES_ROOM)
            continue;
        place_of(photo, &sightings[i].quad, place, sizeof place);
        snprintf(text + used, PLACES_ROOM - used, "%s%s", n++ ? " and " : "", place);
    }
    return n;
}

static sw_status refuse_sizes(const sw_photo *photo, const sw_sighting *sightings, const sw_card_story *stories,
                              int count, sw_error *err)
{
    char odd[PLACES_ROOM], rest[PLACES_ROOM];
    double odd_size = 0, rest_size = 0;
    int odds = places_of(photo, sightings, stories, count, true, odd),
        rests = places_of(photo, sightings, stories, count, false, rest);
    for (int i = 0; i < count; i++)
        *(stories[i].fault != SW_CARD_GOOD ? &odd_size : &rest_size) +=
            stories[i].size / (stories[i].fault != SW_CARD_GOOD ? odds : rests);
    double percent = 100 * (odd_size / rest_size - 1);
    if (!isfinite(percent)) /* what is not flat or not square has no size to compare */
        return sw_fail(err, SW_BAD_INPUT,
                       "%s: the cards disagree: %s at the %s and %s at the %s do not fit one flat table, and nothing "
                       "tells which is right; lay all of them flat, take away what is no card, and photograph again",
                       photo->file, odds > 1 ? "those" : "the one", odd, rests > 1 ? "those" : "the one", rest);
    return sw_fail(err, SW_BAD_INPUT,
                   "%s: the cards disagree: in the picture, %s at the %s %s %.1f %% %s than %s at the %s, and "
                   "nothing tells which is right; measure both, take the wrong one away or print it anew at 100 %%, "
                   "and photograph again",
                   photo->file, odds > 1 ? "those" : "the one", odd, odds > 1 ? "are" : "is", fabs(percent),
                   percent < 0 ? "smaller" : "larger", rests > 1 ? "those" : "the one", rest);
}

static sw_status refuse(const sw_photo *photo, const sw_sighting *sightings, const sw_card_story *stories, int count,
                        sw_cards_verdict verdict, sw_error *err)
{
    char places[PLACES_ROOM];
    double bend_mm = INFINITY;
    if (verdict == SW_CARDS_DISAGREE)
        return refuse_sizes(photo, sightings, stories, count, err);
    if (verdict == SW_CARDS_LENS)
        return sw_fail(err, SW_BAD_INPUT,
                       "%s: this lens profile makes the reference cards look bent or of unequal size, and without it "
                       "they are flat and alike; it is not of this camera, lens and zoom: make a new one with "
                       "'seamwright lens', or leave --lens out",
                       photo->file);
    for (int i = 0; i < count; i++)
        bend_mm = fmin(bend_mm, stories[i].bend_mm);
    places_of(photo, sightings, stories, count, true, places);
    if (bend_mm < SAID_MM) /* one that was taken to slant as it likes may look as flat as that */
        return sw_fail(err, SW_BAD_INPUT,
                       "%s: no reference card lies flat: the one at the %s is curled, creased or lies on something: "
                       "glue it on stiff card, lay it flat and photograph again",
                       photo->file, places);
    return sw_fail(err, SW_BAD_INPUT,
                   "%s: no reference card lies flat: the sides of the one at the %s are %.1f mm off a square's; it is "
                   "curled, creased or lies on something: glue it on stiff card, lay it flat and photograph again",
                   photo->file, places, bend_mm);
}

static void leave_out(const sw_sighting *sighting, const sw_card_story *story, sw_scale *scale)
{
    sw_card_left_out *to = &scale->left_out[scale->left_out_count++];
    *to = (sw_card_left_out){.fault = story->fault,
                             .size = story->size,
                             .bend_mm = story->bend_mm,
                             .slope_deg = atan(story->slope) * 180 / M_PI};
    memcpy(to->square.corners_px, sighting->quad.corners, sizeof to->square.corners_px);
}

sw_status sw_odd_cards_take(const sw_photo *photo, sw_sighting *sightings, int *count, sw_scale *scale, sw_error *err)
{
    sw_card_story stories[SW_SQUARES_MAX];
    sw_cards_verdict verdict;
    int stay = 0;
    scale->left_out_count = 0;
    if (sw_cards_weigh(sightings, *count, scale, stories, &verdict))
        return sw_fail(err, SW_NO_MEMORY, "%s: not enough memory to weigh the cards", photo->file);
    if (verdict != SW_CARDS_AGREE)
        return refuse(photo, sightings, stories, *count, verdict, err);
    for (int i = 0; i < *count; i++)
        if (stories[i].fault == SW_CARD_GOOD)
            sightings[stay++] = sightings[i];
        else if (scale->left_out_count < SW_CARDS_LEFT_OUT_MOST)
            leave_out(&sightings[i], &stories[i], scale);
    *count = stay;
    return SW_OK;
}

void sw_odd_cards_place(sw_scale *scale)
{
    for (int i = 0; i < scale->left_out_count; i++)
        for (int k = 0; k < 4; k++)
            scale->left_out[i].square.corners_mm[k] = sw_scale_to_mm(scale, scale->left_out[i].square.corners_px[k]);
}

sw_status sw_odd_cards_refuse_picture(const sw_photo *photo, const sw_scale *scale, sw_error *err)
{
    int bent = 0;
    for (int i = 0; i < scale->left_out_count; i++)
        bent += scale->left_out[i].fault == SW_CARD_BENT || scale->left_out[i].fault == SW_CARD_ASLANT;
    if (2 * bent < sw_scale_cards(scale) || scale->misfit < REST_FITS)
        return SW_OK;
    return sw_fail(
        err, SW_BAD_INPUT,
        "%s: %d of %d reference cards look bent, and the rest fits badly: the picture itself is bent (put "
        "together by a program, taken while the phone moved, noisy or under a flickering lamp), or the cards "
        "are; lay them flat, hold the phone still, and take one plain photo",
        photo->file, bent, sw_scale_cards(scale));
}
