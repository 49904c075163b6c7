/* edges_scene.h - what cards and tile edges of a table say of the lens, from plain geometry: points put through a camera of known k1, as
 * if they had been read from its photo, with a little chance on each. */
#ifndef SW_SUPPORT_EDGES_SCENE_H
#define SW_SUPPORT_EDGES_SCENE_H

#include <stdint.h>

#include "seam/measure.h"
#include "seamwright/scale.h"
#include "table/grid.h"

/* The table: tiles a side, and the stations of a trace; side and gap, mm. Its tiles start at (0, 0). */
enum { EDGES_TILES = 3, EDGES_STATIONS = 290 };
#define EDGES_TILE_MM 300.0
#define EDGES_GAP_MM 1.2

/* The camera that took the points. What the program guesses of an unknown lens holds for it, its focal length 0.72 of the longer side,
 * but not k1. */
typedef struct edges_camera {
    sw_lens lens;
    double at[3];
    double right[3], down[3], ahead[3];
} edges_camera;
edges_camera edges_camera_make(double k1);
/* Where it shows a place of the table. */
sw_point edges_shoot(const edges_camera *c, sw_point mm);

/* The scale as one card or four alone give it by this lens; SW_LENS_ESTIMATED: its k1 and k2 are found, too. Ends the test when it cannot
 * be fitted. */
void edges_scale(const edges_camera *c, int cards, const sw_lens *lens, uint32_t *seed, sw_scale *scale);
/* The camera's lens before anything is known of it. */
sw_lens edges_lens_unknown(const edges_camera *c);

/* Every edge straight, but for a bow of its own: standard deviation in mm. Free with edges_table_free. */
typedef struct edges_table {
    sw_traces traces;
    sw_grid *grid; /* in the table's own frame */
} edges_table;
edges_table edges_table_lay(const edges_camera *c, double bow_sd, uint32_t *seed);
void edges_table_free(edges_table *t);
/* The north-west corner of a tile. */
sw_point edges_corner(int column, int row);
/* The grid in the scale's frame. */
void edges_into_frame(const edges_camera *c, const sw_scale *scale, sw_grid *grid);

#endif
