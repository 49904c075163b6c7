#include "inspect/processing.h"

#include <math.h>

#include "track/rims_mm.h"

/* Processing beyond this leaves too little of the edges to be sure: sharpening's amount and radius (px), steepness of the tone
 * curve (study of edge spread). */
static const double SHARPEN_MUCH = 1.2, RADIUS_MUCH_PX = 2, CONTRAST_MUCH = 0.2;

/* What a camera or program did to the edges. */
static sw_status note_program(const sw_scale *scale, sw_notes *notes)
{
    const double u95_mm = 4 * scale->rim_shift_u_px / scale->px_per_mm;
    sw_status status = SW_OK;
    if (scale->soften_px > 0)
        status = sw_note_add(
            notes, SW_NOTE_BLURRED,
            "This photo was blurred by a program after it was taken (or made smaller and larger again). Gaps are "
            "corrected for that, which alone makes them uncertain by %.2f mm. Use the photo as the camera saved it.",
            u95_mm);
    if (!status && (scale->sharpen > SHARPEN_MUCH ||
                    (scale->sharpen > SHARPEN_MUCH / 4 && scale->sharpen_radius_px > RADIUS_MUCH_PX)))
        status =
            sw_note_add(notes, SW_NOTE_SHARPENED,
                        "This photo is sharpened so strongly that parts of its edges are lost, which alone makes gaps "
                        "uncertain by %.2f mm. Turn sharpening down, or use the photo as the camera saved it.",
                        u95_mm);
    if (!status && scale->contrast > CONTRAST_MUCH)
        status = sw_note_add(notes, SW_NOTE_CONTRAST,
                             "This photo's contrast is turned up so far that the cards' black is deeper than print can "
                             "be, which alone makes gaps uncertain by %.2f mm. Use the photo as the camera saved it.",
                             u95_mm);
    return status;
}

/* A part of the ± of gaps, mm, that is worth a word: half of what gaps usually have. */
static const double NOTED_MM = 0.05;

/* Blur that is more than the cards tell, or than a lens in focus has. */
static sw_status note_blur(const sw_scale *scale, sw_notes *notes)
{
    const double uneven_mm = 2 * sw_uneven_u_px(scale) / scale->px_per_mm,
                 soft_mm = 2 * sw_soft_u_px(scale) / scale->px_per_mm;
    sw_status status = SW_OK;
    if (uneven_mm > NOTED_MM)
        status =
            sw_note_add(notes, SW_NOTE_BLUR_UNEVEN,
                        "This photo is shaken, or sharper in one place than in another, which alone makes gaps "
                        "uncertain by %.2f mm. Wipe the lens, hold the phone level and rest it on something, focus on "
                        "the tiles, and photograph again.",
                        uneven_mm);
    if (!status && soft_mm > NOTED_MM)
        status =
            sw_note_add(notes, SW_NOTE_BLURRED,
                        "This photo is out of focus, which alone makes gaps uncertain by %.2f mm. Wipe the lens, focus "
                        "on the tiles, and photograph again in more light.",
                        soft_mm);
    return status;
}

sw_status sw_note_processing(const sw_scale *scale, sw_notes *notes)
{
    const double filter_mm = 2 * scale->filter_u_px / scale->px_per_mm,
                 levels_mm = 2 * scale->levels_u_px / scale->px_per_mm;
    sw_status status = note_program(scale, notes);
    if (!status)
        status = note_blur(scale, notes);
    if (!status && filter_mm > NOTED_MM)
        status = sw_note_add(
            notes, SW_NOTE_DENOISED,
            "Noise reduction, strong compression or a filter has changed this photo and may have filled narrow "
            "gaps, which alone makes gaps uncertain by %.2f mm or more. Photograph again in more light, "
            "with noise reduction off, and use the photo as the camera saved it.",
            filter_mm);
    if (!status && levels_mm > NOTED_MM)
        status =
            sw_note_add(notes, SW_NOTE_LEVELS,
                        "A program has changed this photo's brightness from place to place (HDR, local contrast) or "
                        "rounded it to few levels, which alone makes gaps uncertain by %.2f mm. Photograph again with "
                        "HDR and effects off, and use the photo as the camera saved it.",
                        levels_mm);
    if (!status && scale->haze > 0)
        status =
            sw_note_add(notes, SW_NOTE_HAZE,
                        "The cards' black is paler than print usually is: stray light lies over the photo, and narrow "
                        "gaps may be wider than they look (their ± holds it). Wipe the lens, keep lamps and windows "
                        "from shining into it, and print cards in full black.");
    return status;
}
