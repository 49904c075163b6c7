#include "inspect/options.h"

#include <stdlib.h>
#include <string.h>

#include "photo/corners.h"
#include "seamwright/defaults_and_ranges.h"

bool sw_card_said(const sw_options *given)
{
    if (!given)
        return false;
    const sw_reference *r = &given->reference;
    return r->outer_x_mm != 0 || r->outer_y_mm != 0 || r->inner_x_mm != 0 || r->inner_y_mm != 0;
}

static sw_status check_corners(const sw_options *options, const sw_photo *photo, sw_error *err)
{
    sw_status status = options->corners ? sw_corners_check(photo, options->corners, "--corners", err) : SW_OK;
    if (!status && options->squares && (options->square_count < 1 || options->square_count > SW_POINTED_CARDS_MOST))
        return sw_fail(err, SW_BAD_INPUT, "1 to %d cards can be pointed at, not %zu", SW_POINTED_CARDS_MOST,
                       options->square_count);
    for (size_t i = 0; !status && options->squares && i < options->square_count; i++)
        status = sw_corners_check(photo, &options->squares[i], "--square", err);
    return status;
}

sw_status sw_options_settle(const sw_options *given, const sw_photo *photo, sw_options *options, sw_error *err)
{
    const double outer = SW_REFERENCE_MM.usual, inner = SW_INNER_USUAL_MM;
    *options = given ? *given : (sw_options){.tile_mm = 0};
    if (!sw_card_said(options))
        options->reference = (sw_reference){outer, outer, inner, inner};
    sw_status status = sw_reference_check(&options->reference, err);
    if (!status)
        status = sw_table_check(options->columns ? options->columns : 1, options->rows ? options->rows : 1, err);
    if (!status && options->tile_mm != 0)
        status = sw_range_check(SW_TILE_MM, "a tile's side", options->tile_mm, err);
    if (!status)
        status = sw_range_take(SW_TOLERANCE_MM, "the tolerance", options->tolerance_mm, SW_TOLERANCE_MM.usual,
                               &options->tolerance_mm, err);
    if (!status)
        status = sw_range_take(SW_STEP_MM, "the distance between stations", options->step_mm, SW_STEP_MM.usual,
                               &options->step_mm, err);
    if (!status && options->lippage_mm != 0)
        status = sw_range_check(SW_LIPPAGE_MM, "the limit for steps", options->lippage_mm, err);
    if (!status && options->card_thickness_given)
        status = sw_range_check(SW_CARD_THICKNESS_MM, "the cards' thickness", options->card_thickness_mm, err);
    if (!status)
        status = sw_heights_check(options->height_mm, options->heights, options->height_count, err);
    if (!status && options->lens)
        status = sw_lens_check_photo(options->lens, photo, err);
    return status ? status : check_corners(options, photo, err);
}

sw_status sw_options_keep(const sw_options *options, sw_given *given, sw_error *err)
{
    *given = (sw_given){.card_thickness = options->card_thickness_given,
                        .card_thickness_mm = options->card_thickness_mm,
                        .height_mm = options->height_mm};
    if (options->lens) {
        given->lens = *options->lens;
        given->lens.source = SW_LENS_PROFILE;
    }
    given->heights = calloc(options->height_count + 1, sizeof *given->heights);
    if (!given->heights)
        return sw_fail(err, SW_NO_MEMORY, "not enough memory; close other programs and try again");
    given->height_count = options->height_count;
    if (options->height_count)
        memcpy(given->heights, options->heights, options->height_count * sizeof *given->heights);
    return SW_OK;
}
