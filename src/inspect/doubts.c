#include "inspect/doubts.h"

#include "inspect/heights_step.h"
#include "inspect/lens_doubts.h"
#include "inspect/unlevel.h"
#include "inspect/unseen.h"

/* Stored values (8 bit) over this are as good as clipped (method of the trade: tile tops over 250); a tenth of the table is more than
 * cards and glints make. */
enum { CLIPPED = 250 };
static const double CLIPPED_MOST = 0.1, CLIP_STEP_MM = 7;

/* Share of the table's places, looked at every CLIP_STEP_MM, whose stored value is at the top of its range: there edges move. */
static double clipped_share(const sw_photo *photo, const sw_inspection *ins)
{
    const double width = ins->table.columns * ins->table.tile_mm, height = ins->table.rows * ins->table.tile_mm;
    const unsigned limit = photo->bits == 8 ? CLIPPED : CLIPPED * 257u;
    double clipped = 0, all = 0;
    for (double y = CLIP_STEP_MM / 2; y < height; y += CLIP_STEP_MM)
        for (double x = CLIP_STEP_MM / 2; x < width; x += CLIP_STEP_MM) {
            sw_point px = sw_scale_to_px(&ins->scale, (sw_point){x, -y});
            if (!(px.x >= 0 && px.y >= 0 && px.x < photo->width_px - 1 && px.y < photo->height_px - 1))
                continue;
            clipped += sw_photo_at(photo, (int)px.x, (int)px.y) > limit;
            all++;
        }
    return all > 0 ? clipped / all : 0;
}

/* Processing beyond this leaves too little of the edges to be sure: sharpening's amount and radius (px), steepness of the tone
 * curve (study of edge spread). */
static const double SHARPEN_MUCH = 1.2, RADIUS_MUCH_PX = 2, CONTRAST_MUCH = 0.2;

/* What was done to the photo between the sensor and here, where it costs certainty. */
static sw_status look_at_processing(const sw_scale *scale, sw_notes *notes)
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

sw_status sw_note_doubts(const sw_photo *photo, const sw_options *options, const sw_heights *heights,
                         const sw_tops *tops, sw_inspection *ins)
{
    sw_notes *notes = &ins->notes;
    sw_status status = sw_heights_assumed(heights, notes);
    if (!status && ins->scale.square_count == 1)
        status = sw_note_add(notes, SW_NOTE_ONE_SQUARE,
                             "Only one reference square: gaps are safe, but lengths and corner angles away from it are "
                             "uncertain. Lay four, near the table's corners.");
    if (!status && ins->scale.lens.source == SW_LENS_ESTIMATED)
        status = sw_note_add(notes, SW_NOTE_LENS_ESTIMATED,
                             "No lens profile: the lens was estimated from this picture, and straightness is less "
                             "certain. Make a profile once with 'seamwright lens'.");
    if (!status)
        status = look_at_processing(&ins->scale, notes);
    if (!status)
        status = sw_note_unseen(ins);
    if (!status && clipped_share(photo, ins) > CLIPPED_MOST)
        status = sw_note_add(
            notes, SW_NOTE_OVEREXPOSED,
            "Parts of the tiles are overexposed (white without detail), and edges there move; take the photo darker.");
    if (!status)
        status = sw_note_unlevel(tops, ins);
    return !status && options->lens ? sw_lens_doubts(options->lens, photo, notes) : status;
}
