#include "cli/lens_match.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* EXIF gives a focal length to two or three figures; 2 % is more than its rounding and less than any change of zoom. */
static const double FOCAL_DIFFERS = 0.02;

sw_status lens_match_size(const sw_lens *lens, const sw_photo *photo, const char *photo_path, sw_error *err)
{
    if (lens->width_px == photo->width_px && lens->height_px == photo->height_px)
        return SW_OK;
    return sw_fail(
        err, SW_BAD_INPUT,
        "this profile is for pictures of %d x %d pixels, but %.255s has %d x %d; photograph at the profile's "
        "size or make a profile of this size with 'seamwright lens'",
        lens->width_px, lens->height_px, photo_path, photo->width_px, photo->height_px);
}

int lens_match_doubts(const sw_lens *lens, const sw_photo *photo, char doubts[LENS_DOUBTS_MOST][320])
{
    int count = 0;
    if (lens->camera[0] && photo->camera[0] && strcmp(lens->camera, photo->camera) != 0)
        snprintf(
            doubts[count++], sizeof doubts[0],
            "The lens profile was made with another camera (%s) than this photo (%s): make a profile of this camera.",
            lens->camera, photo->camera);
    double apart_mm = fabs(lens->focal_mm - photo->focal_mm), larger_mm = fmax(lens->focal_mm, photo->focal_mm);
    if (lens->focal_mm > 0.0 && photo->focal_mm > 0.0 && apart_mm > FOCAL_DIFFERS * larger_mm)
        snprintf(doubts[count++], sizeof doubts[0],
                 "The lens profile was made at a focal length of %g mm, this photo at %g mm: photograph with the "
                 "profile's lens and zoom, or make a profile for this one.",
                 lens->focal_mm, photo->focal_mm);
    return count;
}
