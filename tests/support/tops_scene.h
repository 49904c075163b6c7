/* tops_scene.h - what photos of a table of uneven tops show, worked out from plain geometry: a pinhole, its distortion as
 * scale.h writes it down, straight lines from the table to it. It knows nothing of src/tops.
 *
 * The world: x east, y north, z up, millimetres; the table's north-west corner at (0, 0). */
#ifndef SW_SUPPORT_TOPS_SCENE_H
#define SW_SUPPORT_TOPS_SCENE_H

#include "tops/view.h"

enum { SCENE_TILES_MOST = 36 };

/* A tile's top, and its four rims by sw_side: how far each lies outside its even place, mm, and how it slants. */
typedef struct scene_tile {
    double rise_mm, east, north;
    double out_mm[4], slope[4];
} scene_tile;

/* A frame card 100/60 on its tile's top; its middle from the tile's, its turn, its true size over the nominal one. */
typedef struct scene_card {
    int tile;
    sw_point at_mm;
    double turn_rad, size;
} scene_card;

/* How a table and its photos are drawn by lot. Uniform up to heights_mm, the rest standard deviations. */
typedef struct scene_kind {
    int columns, rows;
    double heights_mm, slant;
    double scatter_mm; /* of heights, besides */
    bool card_on_every_tile;
    bool without_profile;
} scene_kind;

typedef struct scene {
    scene_kind kind;
    double tile_mm, card_thickness_mm;
    scene_tile tiles[SCENE_TILES_MOST];
    scene_card cards[SCENE_TILES_MOST];
    int card_count;
    sw_lens known, true_lens; /* what the program is told; what took the photos */
    double focal_u_rel;
    uint32_t seed;
} scene;

/* The same seed makes the same table. */
void scene_make(const scene_kind *kind, unsigned seed, scene *s);

/* From where a photo is taken and how well it is read. */
typedef struct scene_photo {
    double place_mm[3];
    int quarter_turns;  /* by which the table must be turned counter-clockwise to lie as it does in the world */
    double near_u_mm,   /* of a rim at a knot that ends in the dark, standard deviation; stated too */
        far_u_mm;       /* of the others */
    bool all_along;     /* a rim errs all along alike, by so much as the mean of its knots would */
    double corner_u_px; /* of a card's corner, each axis */
    double start_off;   /* how far the level fit missed the camera: 1: about 10 mm and a third of a degree */
} scene_photo;

/* Free with sw_view_free. Its scale is what a fit to a level table might have found; corners and rims are in pixels. */
void scene_view(scene *s, const scene_photo *photo, sw_view *view);

/* The top's height at a place. */
double scene_rise(const scene *s, int tile, sw_point at);
sw_point scene_middle(const scene *s, int tile);

#endif
