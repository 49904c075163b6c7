#include "inspect/lens_doubts.h"

#include <math.h>
#include <string.h>

/* EXIF gives a focal length to two or three figures; 2 % is more than its rounding and less than any change of zoom. */
static const double FOCAL_DIFFERS = 0.02;

sw_status sw_lens_doubts(const sw_lens *lens, const sw_photo *photo, sw_notes *notes)
{
    sw_status status = SW_OK;
    if (lens->camera[0] && photo->camera[0] && strcmp(lens->camera, photo->camera) != 0)
        status = sw_note_add(
            notes, SW_NOTE_LENS_DOUBTFUL,
            "The lens profile was made with another camera (%s) than this photo (%s): make a profile of this camera.",
            lens->camera, photo->camera);
    double apart_mm = fabs(lens->focal_mm - photo->focal_mm), larger_mm = fmax(lens->focal_mm, photo->focal_mm);
    if (!status && lens->focal_mm > 0.0 && photo->focal_mm > 0.0 && apart_mm > FOCAL_DIFFERS * larger_mm)
        status = sw_note_add(notes, SW_NOTE_LENS_DOUBTFUL,
                             "The lens profile was made at a focal length of %g mm, this photo at %g mm: photograph "
                             "with the profile's lens and zoom, or make a profile for this one.",
                             lens->focal_mm, photo->focal_mm);
    return status;
}
