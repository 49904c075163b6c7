/* check.c - what may be asked of a reference, a checkerboard and a lens profile. */
#include <math.h>

#include "seamwright/defaults_and_ranges.h"
#include "seamwright/scale.h"

/* 0.5 px are an eighth of a millimetre at 4 px/mm, a table of about 900 mm in a 12 megapixel photo, and well inside the
 * usual tolerance of 0.5 mm; 1 px, a quarter of a millimetre, eats half of it. */
static const double RESIDUAL_GOOD_PX = 0.5, RESIDUAL_POOR_PX = 1.0;
/* Crossings never come nearer to the picture's border than one square of the board, so even a careful set stays under
 * 1: eight rendered practice photos with the board in every corner but one reached 0.69. A tile table fills most of the
 * picture, and distortion grows fastest in what was not covered. */
static const double COVERED_GOOD = 0.6;

static bool alike(double x, double y)
{
    return fabs(x - y) <= SW_SIDES_DIFFER_MOST * fmax(x, y);
}

sw_status sw_reference_check(const sw_reference *r, sw_error *err)
{
    const bool frame = r->inner_x_mm != 0 || r->inner_y_mm != 0;
    sw_status status = sw_range_check(SW_REFERENCE_MM, "the outer sides", r->outer_x_mm, err);
    if (!status)
        status = sw_range_check(SW_REFERENCE_MM, "the outer sides", r->outer_y_mm, err);
    if (status)
        return status;
    if (!alike(r->outer_x_mm, r->outer_y_mm) || (frame && !alike(r->inner_x_mm, r->inner_y_mm)))
        return sw_fail(err, SW_BAD_INPUT,
                       "the two sides differ by more than %g %%, so this is no square; measure again",
                       100.0 * SW_SIDES_DIFFER_MOST);
    if (frame && !(r->inner_x_mm >= SW_INNER_LEAST_MM && r->inner_y_mm >= SW_INNER_LEAST_MM))
        return sw_fail(err, SW_BAD_INPUT, "the inner sides must be at least %g mm", SW_INNER_LEAST_MM);
    double band_mm = 0.5 * fmin(r->outer_x_mm - r->inner_x_mm, r->outer_y_mm - r->inner_y_mm);
    if (frame && band_mm < SW_BAND_LEAST_MM)
        return sw_fail(err, SW_BAD_INPUT,
                       "the black band must be at least %g mm wide; write the outer side first, like 100/60",
                       SW_BAND_LEAST_MM);
    return SW_OK;
}

sw_status sw_checkerboard_check(const sw_checkerboard *board, sw_error *err)
{
    if (board->columns < SW_BOARD_LEAST || board->columns > SW_BOARD_MOST || board->rows < SW_BOARD_LEAST ||
        board->rows > SW_BOARD_MOST)
        return sw_fail(err, SW_BAD_INPUT, "a checkerboard needs %d to %d squares each way, not %d x %d squares",
                       SW_BOARD_LEAST, SW_BOARD_MOST, board->columns, board->rows);
    return sw_range_check(SW_BOARD_SQUARE_MM, "a checkerboard's squares", board->square_mm, err);
}

sw_lens_fit sw_lens_fit_of(const sw_lens *lens)
{
    return lens->residual_px <= RESIDUAL_GOOD_PX   ? SW_LENS_GOOD
           : lens->residual_px <= RESIDUAL_POOR_PX ? SW_LENS_FAIR
                                                   : SW_LENS_POOR;
}

const char *sw_lens_fit_name(sw_lens_fit fit)
{
    return fit == SW_LENS_GOOD ? "good" : fit == SW_LENS_FAIR ? "fair" : "poor";
}

bool sw_lens_covers(const sw_lens *lens)
{
    return lens->covered >= COVERED_GOOD;
}

sw_status sw_lens_check_photo(const sw_lens *lens, const sw_photo *photo, sw_error *err)
{
    if (lens->width_px == photo->width_px && lens->height_px == photo->height_px)
        return SW_OK;
    return sw_fail(err, SW_BAD_INPUT,
                   "this profile is for pictures of %d x %d pixels, but %.255s has %d x %d; photograph at the "
                   "profile's size or make a profile of this size with 'seamwright lens'",
                   lens->width_px, lens->height_px, photo->file, photo->width_px, photo->height_px);
}
