/* remedy.c - where a part of an uncertainty comes from, and what would make it smaller. */
#include "tile/budgets.h"

#include <stdbool.h>

/* With so many cards near the corners the slant of the view is as well known as cards can tell. */
enum { ENOUGH_CARDS = 4 };

sw_part_kind sw_budget_kind(const sw_scale *scale, sw_part part)
{
    switch (part) {
    case SW_PART_LENS:
        return scale->lens.source == SW_LENS_PROFILE ? SW_FROM_PROFILE : SW_SEEN;
    case SW_PART_SPREAD: /* only a frame shows it; of a plain square's there is no more than a guess */
        return scale->reference.inner_x_mm > 0 ? SW_SEEN : SW_ASSUMED;
    case SW_PART_MODEL:
    case SW_PART_PIXELS:
    case SW_PART_SIZE:
    case SW_PART_THICKNESS:
    case SW_PART_HEIGHT:
        return SW_ASSUMED;
    default:
        return SW_SEEN;
    }
}

static const char *cards_remedy(const sw_scale *scale)
{
    if (scale->square_count == 1)
        return "Four cards instead of one, near the table's corners.";
    if (scale->square_count < ENOUGH_CARDS)
        return "Four cards, one near each corner of the table.";
    return "A sharper photo from straight above, taken from nearer, or larger cards.";
}

const char *sw_budget_remedy(const sw_scale *scale, sw_part part, sw_budget_figure figure)
{
    bool frame = scale->reference.inner_x_mm > 0;
    switch (part) {
    case SW_PART_NOISE:
        return "A sharper photo: from nearer, in more light, the phone held still.";
    case SW_PART_TEXTURE:
        return "Softer, more even light; what is left is the roughness of the edges themselves.";
    case SW_PART_LIGHT:
        return "Softer light from all sides, so that the walls in the gaps are evenly dark.";
    case SW_PART_MODEL:
        return figure == SW_BUDGET_STRAIGHTNESS ? "Softer light from all sides; a photo cannot do much better."
                                                : "A photo from nearer: this part is a fixed share of a pixel.";
    case SW_PART_PIXELS:
        return "A photo from nearer: it is sharper than its pixels can show.";
    case SW_PART_SPREAD:
        return frame ? "A less bright photo, so that light edges do not spill over dark ones."
                     : "Frame cards instead of plain squares: they show how far dark edges have moved.";
    case SW_PART_HIDDEN:
        return "Cards laid in the middle of tiles, where they hide no seam.";
    case SW_PART_SIZE:
        return "Larger cards, measured with a caliper: their own error then counts for less.";
    case SW_PART_LENS:
        return scale->lens.source == SW_LENS_PROFILE
                   ? "A lens profile from more photos that fill the picture's corners."
                   : "A lens profile, made once with 'seamwright lens'.";
    case SW_PART_FIT:
    case SW_PART_PERSPECTIVE:
        return cards_remedy(scale);
    case SW_PART_THICKNESS:
        return "Thinner cards that lie flat, and a camera held higher.";
    default:
        return "Tiles whose tops are level: lay a straightedge across the seams.";
    }
}
