/* scale.h - from pixels to millimetres: lens, reference squares, and what they cost in certainty.
 *
 * Millimetre frame: on the plane of the tile tops, x east, y north (so y grows upwards in the photo as it is shown).
 * Pixel -> lens (radial-tangential, k1 k2 p1 p2 k3 as in OpenCV's documentation) -> homography -> mm.
 */
#ifndef SEAMWRIGHT_SCALE_H
#define SEAMWRIGHT_SCALE_H

#include <stdbool.h>

#include "seamwright/note.h"
#include "seamwright/photo.h"
#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum sw_lens_source { SW_LENS_NONE, SW_LENS_ESTIMATED, SW_LENS_PROFILE } sw_lens_source;

/* Places of a lens's numbers wherever they stand in a row, as in its covariance. */
enum {
    SW_LENS_FX,
    SW_LENS_FY,
    SW_LENS_CX,
    SW_LENS_CY,
    SW_LENS_K1,
    SW_LENS_K2,
    SW_LENS_P1,
    SW_LENS_P2,
    SW_LENS_K3,
    SW_LENS_NUMBERS
};

/* A lens: pinhole plus radial-tangential distortion, in the sensor's frame.
 * x' = x (1 + k1 r2 + k2 r2^2 + k3 r2^3) + 2 p1 x y + p2 (r2 + 2 x^2), y' = y (...) + p1 (r2 + 2 y^2) + 2 p2 x y;
 * pixel = (fx x' + cx, fy y' + cy). */
typedef struct sw_lens {
    sw_lens_source source;
    int width_px, height_px; /* the picture size the numbers belong to */
    double fx, fy, cx, cy;   /* px */
    double k1, k2, p1, p2, k3;
    double residual_px; /* RMS over the calibration's corners, per axis pair; 0 when unknown */
    double covered;     /* share of the frame (0 to 1) that held corners when it was calibrated */
    int photos;         /* how many photos it came from */
    double square_mm;   /* side of the checkerboard's squares it was made with */
    double covariance[SW_LENS_NUMBERS][SW_LENS_NUMBERS]; /* zeros when unknown */
    char camera[96];                                     /* from EXIF, or "" */
    double focal_mm;                                     /* from EXIF, 0 when unknown */
} sw_lens;

/* Reads a lens profile written by sw_lens_save. Checks format, version and ranges. */
SW_API sw_status sw_lens_load(const char *path, sw_lens *lens, sw_error *err);

/* Writes a profile as JSON, whole or not at all. */
SW_API sw_status sw_lens_save(const char *path, const sw_lens *lens, sw_error *err);

/* A printed checkerboard: squares across by squares down, so (columns - 1) x (rows - 1) inner corners. */
typedef struct sw_checkerboard {
    int columns, rows;
    double square_mm;
} sw_checkerboard;

/* SW_BAD_INPUT: squares or their number outside defaults_and_ranges.h. */
SW_API sw_status sw_checkerboard_check(const sw_checkerboard *board, sw_error *err);

/* Makes a lens profile from photos of a checkerboard lying or held in different places and slants. Called with progress
 * (may be NULL) before each photo. SW_BAD_INPUT when sw_checkerboard_check refuses the board, or the photos are too few
 * (under 3 usable), too many (over 100), too alike, or disagree in size; what is no error (corners of the frame unseen,
 * photos left out and why) goes to *notes, which is zeroed first; free it with sw_notes_free, on failure too. NULL: not
 * wanted. */
SW_API sw_status sw_lens_calibrate(const char *const *paths, int count, sw_checkerboard board,
                                   void (*progress)(void *context, int done, int count), void *context, sw_lens *lens,
                                   sw_notes *notes, sw_error *err);

/* How well a profile's photos agree with it. */
typedef enum sw_lens_fit { SW_LENS_GOOD = 0, SW_LENS_FAIR, SW_LENS_POOR } sw_lens_fit;
SW_API sw_lens_fit sw_lens_fit_of(const sw_lens *lens);
/* "good", "fair", "poor". */
SW_API const char *sw_lens_fit_name(sw_lens_fit fit);
/* Whether the board reached enough of the picture. */
SW_API bool sw_lens_covers(const sw_lens *lens);
/* SW_BAD_INPUT, naming both sizes, when the picture's size is not the profile's: its numbers are pixels of that size and
 * do not hold for another. */
SW_API sw_status sw_lens_check_photo(const sw_lens *lens, const sw_photo *photo, sw_error *err);

/* Pixel -> point on the plane at distance 1 in front of the lens, distortion taken out to 1e-10. NaN where the lens shows
 * no point: far outside the frame, where its polynomial folds over. */
SW_API sw_point sw_lens_undistort(const sw_lens *lens, sw_point px);
/* The way back. */
SW_API sw_point sw_lens_distort(const sw_lens *lens, sw_point normal);

/* A reference square. inner sides are 0 for a plain square. Sides as measured: x across and y down as printed; which is
 * which on the photo is not known, so their half difference counts as uncertainty. */
typedef struct sw_reference {
    double outer_x_mm, outer_y_mm;
    double inner_x_mm, inner_y_mm;
} sw_reference;

/* Inner side, whole mm, of the frame that is printed with this outer side: each size has a ratio of its own, 0.6 for 100 mm and 0.05 more
 * or less for each 20 mm, so that a photo shows which size its cards are of. Outer sides of 40 to 160 mm; beyond, the ratio stays. */
SW_API double sw_frame_inner_mm(double outer_mm);

/* SW_BAD_INPUT: sides outside defaults_and_ranges.h, no square, or too narrow a band. */
SW_API sw_status sw_reference_check(const sw_reference *reference, sw_error *err);

/* One reference square as it was found. */
typedef struct sw_square {
    sw_point corners_px[4]; /* outer corners, in the photo's order NW NE SE SW as shown */
    sw_point inner_px[4];   /* inner corners of a frame; (0, 0) of a plain square */
    sw_point corners_mm[4]; /* the outer ones on the table */
} sw_square;

/* Why a card is not believed. */
typedef enum sw_card_fault {
    SW_CARD_GOOD = 0,
    SW_CARD_OTHER_SIZE, /* no step between tops explains its size */
    SW_CARD_BENT,       /* its sides are no flat square's */
    SW_CARD_ASLANT      /* it does not lie along the tops */
} sw_card_fault;

/* A card that was found but not believed. */
typedef struct sw_card_left_out {
    sw_square square; /* as far as the others' scale tells */
    sw_card_fault fault;
    double size;      /* over the others' */
    double bend_mm;   /* how far its sides lie off a flat square's, at most */
    double slope_deg; /* against the others */
} sw_card_left_out;

enum { SW_CARDS_LEFT_OUT_MOST = 16 };

/* Most independent directions of a scale's uncertainty that are kept. */
enum { SW_SCALE_ALTERNATIVES = 20 };

typedef struct sw_scale_alternative {
    double lens[SW_LENS_NUMBERS];
    double to_plane[3][3], to_mm[3][3]; /* its homography */
    double edge_spread_change_px;       /* how much more edge spread goes with it than the scale has */
} sw_scale_alternative;

/* The photo's scale: how pixels become millimetres, and how well that is known. Plain data, nothing to free. */
typedef struct sw_scale {
    sw_lens lens;
    sw_reference reference;
    int square_count;
    sw_square squares[32];
    int left_out_count; /* cards that are there but contradict the others or flatness: nothing is measured with them */
    sw_card_left_out left_out[SW_CARDS_LEFT_OUT_MOST];
    double to_plane[3][3]; /* mm (x, y, 1) -> undistorted normal coordinates */
    double to_mm[3][3];    /* the inverse */
    /* What else the picture would allow: each alternative is the scale moved by one standard deviation along one
     * independent direction of its uncertainty (squares, lens). The standard uncertainty of any figure that depends on the
     * scale is the root sum of squares of its changes from this scale to each alternative. */
    int alternative_count;
    sw_scale_alternative alternatives[SW_SCALE_ALTERNATIVES];
    double reference_u_rel; /* standard uncertainty of the reference's own sides, relative; scales every length alike */
    double thickness_mm,
        thickness_u_mm; /* how far the cards' faces were taken to lie above the tops, and its standard uncertainty */
    double thickness_u_rel; /* the part of it (root sum of squares) that stands for the cards' unknown thickness */
    double focal_u_rel; /* standard uncertainty of the focal length, relative; with it the camera's height over the tops
                         * is as uncertain, which matters to tiles of unequal height only */
    double px_per_mm;   /* at the middle of the squares */
    double residual_px; /* RMS distance of the squares' edge points from the fitted squares */
    double
        misfit; /* mean square of what the squares leave over, points or whole sides, over what they should: 1 where all fits */
    double
        edge_spread_px; /* how far a dark edge has moved into the dark (+: dark reads narrow), measured on frame cards */
    double edge_spread_u_px;
    double edge_spread_alone_px; /* the part of it that moves nothing else, so that no alternative shows it */
    double blur_px;              /* Gaussian blur that fits the card's edges, px, one standard deviation */
    double
        blur_u_rel; /* how far the blur differs between places and directions of the photo, share of it (told from the cards) */
    double
        filter_u_px; /* standard uncertainty of a gap from noise reduction that fills thin lines, px (0: the cards' corners are sharp) */
    double
        levels_u_px; /* the same from brightness that a program changed from place to place, or rounded to few levels */
    double
        haze; /* stray light over the photo, linear light as a share of the range, as far as the cards' black tells it (0 none) */
    double halo;              /* share of a wider Gaussian taken off the blur in linear light (0 none) */
    double sharpen;           /* amount of sharpening found in the stored values (0 none) */
    double sharpen_radius_px; /* its Gaussian radius, px */
    double contrast;          /* steepness of the tone curve beyond sRGB, told from the cards' black (0 none, to 0.9) */
    double contrast_u;        /* its standard uncertainty, as far as black deeper than the densest print tells */
    double black_floor; /* or the stored level, share of the range, below which all may have been made black (0 none) */
    double soften_px;   /* Gaussian blur after the tone curve, px: the work of a program, not of the lens (0 none) */
    double
        rim_shift_px; /* how far processing that cannot be undone makes a tile's rim read into the tile beside a wide gap;
                             * gaps are corrected by it */
    double rim_shift_u_px; /* its standard uncertainty */
} sw_scale;

SW_API sw_point sw_scale_to_mm(const sw_scale *scale, sw_point px);
SW_API sw_point sw_scale_to_px(const sw_scale *scale, sw_point mm);

/* The scale as its alternative number i (0 to alternative_count - 1) has it. */
SW_API void sw_scale_take_alternative(const sw_scale *scale, int i, sw_scale *out);

#ifdef __cplusplus
}
#endif
#endif
