#include "inspect/doubts.h"

#include <math.h>

#include "inspect/heights_step.h"
#include "inspect/lens_doubts.h"
#include "inspect/processing.h"
#include "inspect/unlevel.h"
#include "inspect/unseen.h"
#include "scale/frame.h"

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

/* What was not looked for because the user said where it is. */
static sw_status note_pointed(const sw_options *options, sw_notes *notes)
{
    const bool cards = options->squares, table = options->corners;
    if (!cards && !table)
        return SW_OK;
    return sw_note_add(notes, SW_NOTE_POINTED_AT,
                       "%s not looked for but measured where you pointed (%s%s%s): see in overlay.png whether every "
                       "seam is drawn where it lies.",
                       cards && table ? "Card and table were"
                       : table        ? "The table was"
                                      : "The card was",
                       cards ? "--square" : "", cards && table ? ", " : "", table ? "--corners" : "");
}

/* Which tile a card lies on, "B2"; "the table's rim" where on none. */
static const char *card_place(const sw_inspection *ins, const sw_square *card)
{
    sw_point at = sw_square_middle(card);
    double column = floor(at.x / ins->table.tile_mm), row = floor(-at.y / ins->table.tile_mm);
    for (size_t i = 0; i < ins->tile_count; i++)
        if (ins->tiles[i].column == (int)column && ins->tiles[i].row == (int)row)
            return ins->tiles[i].name;
    return "the table's rim";
}

/* Cards that were not believed: which, why, and what to do. */
static sw_status note_left_out(sw_inspection *ins)
{
    sw_status status = SW_OK;
    for (int i = 0; !status && i < ins->scale.left_out_count; i++) {
        const sw_card_left_out *card = &ins->scale.left_out[i];
        const char *place = card_place(ins, &card->square);
        double percent = 100 * (card->size - 1);
        if (card->fault == SW_CARD_OTHER_SIZE)
            status = sw_note_add(&ins->notes, SW_NOTE_CARD_LEFT_OUT,
                                 "The card on %s is %.1f %% %s than the others: it was left out. Measure it, and print "
                                 "it anew at 100 %%, not fitted to the page.",
                                 place, fabs(percent), percent < 0 ? "smaller" : "larger");
        else if (card->fault == SW_CARD_BENT)
            status = sw_note_add(&ins->notes, SW_NOTE_CARD_LEFT_OUT,
                                 "The card on %s is curled, creased or no square, its sides are up to %.1f mm off: it "
                                 "was left out. Glue it on stiff card, or print it anew.",
                                 place, card->bend_mm);
        else
            status = sw_note_add(&ins->notes, SW_NOTE_CARD_LEFT_OUT,
                                 "The card on %s slants by %.0f degrees against the others: it was left out. Lay it "
                                 "flat on the tile.",
                                 place, card->slope_deg);
        if (!status)
            sw_note_at(&ins->notes, place);
    }
    return status;
}

sw_status sw_note_doubts(const sw_photo *photo, const sw_options *options, const sw_heights *heights,
                         const sw_tops *tops, sw_inspection *ins)
{
    sw_notes *notes = &ins->notes;
    sw_status status = sw_heights_assumed(heights, notes);
    if (!status)
        status = note_pointed(options, notes);
    if (!status)
        status = note_left_out(ins);
    if (!status && ins->scale.square_count == 1)
        status = sw_note_add(notes, SW_NOTE_ONE_SQUARE,
                             "Only one reference square: gaps are safe, but lengths and corner angles away from it are "
                             "uncertain. Lay four, near the table's corners.");
    if (!status && ins->scale.lens.source == SW_LENS_ESTIMATED)
        status = sw_note_add(notes, SW_NOTE_LENS_ESTIMATED,
                             "No lens profile: the lens was estimated from this picture, and straightness is less "
                             "certain. Make a profile once with 'seamwright lens'.");
    if (!status)
        status = sw_note_processing(&ins->scale, notes);
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
