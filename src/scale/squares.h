/* squares.h - reference squares in the picture: where they are, and their sides to a hundredth of a pixel. */
#ifndef SW_SCALE_SQUARES_H
#define SW_SCALE_SQUARES_H

#include <math.h>
#include <stdbool.h>

#include "photo/crossing.h"
#include "photo/small.h"
#include "seamwright/scale.h"

enum { SW_SQUARES_MAX = 32, SW_SIDE_POINTS = 24 };

/* A quadrilateral found in the reduced picture, dark on light ground or light on darker; corners in photo pixels, NW NE SE SW as
 * the photo is shown. */
typedef struct sw_quad {
    sw_point corners[4];
    double
        dark_share; /* dark pixels over the quadrilateral's area: 1 for a plain square, 1 - (inner / outer)^2 for a frame; of a
                        * light one, light pixels */
    double size_px; /* mean side */
} sw_quad;

/* Dark quadrilaterals of the picture, largest first; out holds SW_SQUARES_MAX. window_px is the half width, in reduced
 * pixels, of the neighbourhood that says what is dark. SW_NO_MEMORY. */
sw_status sw_quads_find(const sw_photo *photo, const sw_small *small, int window_px, sw_quad *out, int *count);

/* Light squares of the picture that may be cut cards: evenly lighter than what surrounds them on all four sides, and not tiles.
 * Tiles are light squares too, but a tile holds cards, has gaps beside it, or differing neighbours; and cards, all of one size, are
 * the lightest. out holds SW_SQUARES_MAX, largest first. SW_NO_MEMORY. */
sw_status sw_quads_find_light(const sw_photo *photo, const sw_small *small, sw_quad *out, int *count);

/* Whether a place lies inside a quadrilateral. */
bool sw_quad_holds(const sw_quad *quad, sw_point px);

/* All light quadrilaterals of the reduced picture at some level of brightness, each once, largest first, tiles and the whole table
 * among them. SW_NO_MEMORY. */
sw_status sw_quads_lighter(const sw_photo *photo, const sw_small *small, sw_quad *out, int *count);

/* A place on a square's side, read across it. */
typedef struct sw_side_point {
    sw_point px;
    double weight; /* crossings it is the mean of */
} sw_side_point;

/* The four sides of one closed dark-light rim (outer or inner), sides as sw_side. */
typedef struct sw_rim_square {
    int counts[4];
    sw_side_point points[4][SW_SIDE_POINTS];
    double scatter_px;   /* spread of single crossings about their side */
    double width_px[4];  /* how soft each side is (sw_edge_width), NaN: not read, or not asked for */
    double dark, bright; /* levels beside the sides, linear light; NaN: not read */
} sw_rim_square;

/* What the camera made of a sharp edge: (1 + halo) times one Gaussian less halo times a wider one, in linear light, then
 * sharpening of the stored values. */
typedef struct sw_response {
    double blur_px, halo, sharpen, radius_px;
    double contrast;   /* steepness of the tone curve on top of sRGB (develop.h), as far as it is believed */
    double contrast_u; /* its standard uncertainty, as far as black deeper than the densest print tells */
    double
        black_floor; /* stored level, share of the range, below which all was made black, if that is what made print so black */
    double soften_px; /* Gaussian blur of the stored values, after all else, that the edge speaks for; 0 none */
    double
        rim_shift_px; /* how far a tile's rim still reads into the tile when all that can be is taken back, and its standard */
    double rim_shift_u_px; /* uncertainty; both rims of a slot move so */
    double misfit;         /* RMS of the model against the edge, in share of its step */
    bool poor;             /* no such edge fits */
} sw_response;

/* The wider Gaussian of a halo. Fixed against the blur: colour filters reach about a pixel. */
static inline double sw_halo_blur(double blur_px)
{
    return sqrt(blur_px * blur_px + 1);
}

/* Normalised stored values against the distance from the edge, pooled over many crossings. */
enum { SW_ESF_BINS = 96 };
typedef struct sw_esf {
    double sum[SW_ESF_BINS], count[SW_ESF_BINS]; /* bin i is centred at (i - 48 + 0.5) / 5 px, bright side + */
    double dark, bright, weight;                 /* linear levels, summed with weight */
} sw_esf;

/* Reads the four sides between corners (NW NE SE SW). outward_bright: an outer rim, not an inner one. reach_px is
 * how far from the side its surroundings are even. esf (may be NULL) collects the edge's shape. Returns the number of
 * sides that were read well. */
int sw_sides_read(const sw_photo *photo, const sw_response *response, const sw_point *corners, bool outward_bright,
                  double reach_px, sw_rim_square *rim, sw_esf *esf);

/* Corners from straight lines through the points of each side. SW_NOT_FOUND when a side has too few points. */
sw_status sw_sides_corners(const sw_rim_square *rim, sw_point *corners);

/* Fits what happened to a pooled edge. Its levels are in linear light by the sRGB curve. printed: the dark side is black print
 * on paper, which tells of the tone curve; else it may be anything. */
sw_response sw_response_fit(const sw_esf *esf, bool printed);

#endif
