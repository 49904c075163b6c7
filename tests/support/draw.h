/* draw.h - drawings of tables and cards with everything about them known, for the tests of the measuring stages.
 *
 * A drawing is made of convex polygons on the table (mm, x east, y north), each of one brightness in linear light. What
 * share of a pixel a polygon covers is worked out exactly, not sampled, so a rim lies where it was put to the last
 * digit. Then the made-up camera blurs in linear light, adds noise, codes (sRGB, IEC 61966-2-1) and sharpens the stored
 * values. */
#ifndef SW_SUPPORT_DRAW_H
#define SW_SUPPORT_DRAW_H

#include <stdint.h>

#include "seamwright/photo.h"
#include "seamwright/scale.h"

/* A pinhole camera over the table. */
typedef struct draw_view {
    int width_px, height_px;
    double f_px;
    double camera_mm[3]; /* over the table's plane z = 0 */
    double h[3][3];      /* mm (x, y, 1) -> px */
} draw_view;

/* Straight from above, (0, 0) in the picture's middle, the table turned counter-clockwise by turn_rad. The camera hangs
 * 1250 mm up. */
draw_view draw_above(int width_px, int height_px, double px_per_mm, double turn_rad);

/* From `camera_mm`, looking at `look_mm` on the table, north about up. */
draw_view draw_from(int width_px, int height_px, double f_px, const double camera_mm[3], sw_point look_mm);

sw_point draw_px(const draw_view *view, sw_point mm);

/* The view's lens as a profile: no distortion, everything known. */
sw_lens draw_lens(const draw_view *view);

/* Zeroed memory; ends the test when there is none. */
void *draw_room(size_t count, size_t size);

enum { DRAW_CORNERS_MOST = 32 };

/* One polygon in the picture. */
typedef struct draw_piece {
    sw_point *px;
    int count;
    double light;
} draw_piece;

/* Free with draw_free. */
typedef struct drawing {
    draw_view view;
    double light;   /* where no polygon lies; linear, 0 to 1 */
    double blur_px; /* of the lens */
    draw_piece *pieces;
    int count;
} drawing;

/* All of one brightness. Ends the test when memory is out. */
drawing draw_start(const draw_view *view, double light);
void draw_free(drawing *d);

/* A convex polygon, either way round. Polygons drawn later lie on top. */
void draw_polygon(drawing *d, const sw_point *mm, int count, double light);
/* A rectangle round (x, y), turned counter-clockwise. */
void draw_box(drawing *d, sw_point centre, double width_mm, double height_mm, double turn_rad, double light);

/* Black, white and tops of the drawings, linear light. */
#define DRAW_BLACK 0.03
#define DRAW_WHITE 0.8
#define DRAW_TOP 0.38
#define DRAW_FLOOR 0.15

/* A card: white with a margin, black outer square, white inner one (inner_mm 0: a plain square). */
typedef struct draw_card {
    sw_point centre;
    double turn_rad, outer_mm, inner_mm, margin_mm;
    double ink_mm; /* by which the black reaches beyond its nominal sides, inside and outside */
} draw_card;
void draw_put_card(drawing *d, const draw_card *card);
/* Its outer corners in the picture, NW NE SE SW, ink that ran not counted. */
void draw_card_corners(const draw_view *view, const draw_card *card, sw_point corners_px[4]);

/* Tiles side by side. (0, 0) is the middle of the table, x east, y north; tile sides run along the axes. */
enum { DRAW_TILES_MOST = 8 };
typedef struct draw_table {
    int columns, rows;
    double tile_mm;
    double upright_mm[DRAW_TILES_MOST]; /* gap between columns i and i + 1 */
    double level_mm[DRAW_TILES_MOST];   /* gap between rows i and i + 1, from the north */
    double slot;                        /* light in the gaps */
} draw_table;

/* A table whose gaps are all the same, black. */
draw_table draw_even_table(int columns, int rows, double tile_mm, double gap_mm);
void draw_put_table(drawing *d, const draw_table *table);
/* A place on the table: x_mm and y_mm from the north-west corner of a tile, + to the east and to the south. */
sw_point draw_on_tile(const draw_table *table, int column, int row, double x_mm, double y_mm);

/* The lens: a Gaussian blur of the linear light, standard deviation in px. It comes before the pixels sum up their
 * area, as in a camera: the other way round, rims that run along the pixels would be wrong by a tenth of a pixel. */
void draw_blur(drawing *d, double sigma_px);

typedef struct draw_camera {
    double noise;              /* standard deviation, share of the light */
    double sharpen, radius_px; /* stored value + sharpen (stored value - Gaussian of it) */
    double contrast;           /* before that: stored value v + 2 contrast v (1 - v) (v - 1/2) */
    double soften_px;          /* after it: a Gaussian blur, as a program makes it */
    int bits;                  /* 8 or 16 */
    uint32_t seed;
} draw_camera;

/* The photo; free with sw_photo_free. */
void draw_develop(const drawing *d, const draw_camera *camera, sw_photo *photo);

#endif
