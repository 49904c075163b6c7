/* defaults_and_ranges.h - what may be asked for, ends included, and what is meant where nothing is said. The only place
 * for these figures: the library checks whatever it is given against them, and files that it reads, too. */
#ifndef SEAMWRIGHT_DEFAULTS_AND_RANGES_H
#define SEAMWRIGHT_DEFAULTS_AND_RANGES_H

#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* mm. usual: where nothing is said; 0 when there is no such figure. */
typedef struct sw_range {
    double least, usual, most;
} sw_range;

/* Widest gap accepted: 0.01 mm is finer than a photo measures (about 0.04 px at 4 px/mm), 20 mm is no seam any more. */
#define SW_TOLERANCE_LEAST_MM 0.01
#define SW_TOLERANCE_MOST_MM 20.0
static const sw_range SW_TOLERANCE_MM = {SW_TOLERANCE_LEAST_MM, 0.5, SW_TOLERANCE_MOST_MM};
/* Largest step accepted between neighbouring tops, asked for by the user only: heights are known to 0.1 mm or so; beyond
 * 20 mm tops are stairs on purpose. */
#define SW_LIPPAGE_LEAST_MM 0.1
#define SW_LIPPAGE_MOST_MM 20.0
static const sw_range SW_LIPPAGE_MM = {SW_LIPPAGE_LEAST_MM, 0, SW_LIPPAGE_MOST_MM};
/* Side of a tile: 20 mm is as small as a reference may be; 2 m is more than one photo resolves to tenths of a mm. */
static const sw_range SW_TILE_MM = {20, 0, 2000};
/* Tiles across and down: column letters end with Z, and the table found in the picture holds no more rows either. */
enum { SW_TABLE_MOST = 26 };
/* Height of a tile's top over the table, from a sheet to half a metre of board; usual for bevels only. */
static const sw_range SW_HEIGHT_MM = {0.5, 45, 500};
/* Tops of one photo, highest less lowest. Seen 15 degrees off the vertical, a wall that stands 30 mm free is as wide as
 * the widest gap that is read (seam/widest_gap.h). */
static const double SW_HEIGHTS_APART_MOST_MM = 30;
/* A card: printed right on the tile, up to a block of wood. Usual: paper glued on thin cardboard. */
#define SW_CARD_THICKNESS_MOST_MM 20.0
static const sw_range SW_CARD_THICKNESS_MM = {0, 0.15, SW_CARD_THICKNESS_MOST_MM};
/* Between stations: closer than 0.1 mm (under half a pixel) they tell nothing new; 50 mm leaves a 300 mm seam with seven.
 */
static const sw_range SW_STEP_MM = {0.1, 1, 50};
/* Deepest cut of a plan: a hundredth of a 300 mm tile; beyond that it is quicker and truer to cut a new one (common
 * practice, no source). */
static const sw_range SW_CUT_MM = {0.1, 3, 20};
/* How far a base stands proud of its top edge, by a try square: no more than anybody would take off; 0 is square. */
#define SW_LEAN_MOST_MM 20.0
static const sw_range SW_LEAN_MM = {0, 0, SW_LEAN_MOST_MM};

/* Outer side of a reference square. Below 20 mm it is under 80 px at 4 px/mm, where one pixel of error at an edge is over
 * 1 % of scale. Above 1 m it would be larger than most tables: the number was meant in another unit. */
static const sw_range SW_REFERENCE_MM = {20, 100, 1000};
/* An inner square needs a side that is long against its blurred edges: 10 mm is 40 px at 4 px/mm. */
static const double SW_INNER_LEAST_MM = 10, SW_INNER_USUAL_MM = 60;
/* The black band between outer and inner square must reach its own dark level: a blurred edge takes about 4 px (2.563
 * sigma from 10 to 90 %), so two of them need 8 px, which are 2 mm at 4 px/mm. */
static const double SW_BAND_LEAST_MM = 2;
/* Printers are off by 0.4 to 1 %, differently in x and y; 5 % is no printer, it is a slip of the pen. */
static const double SW_SIDES_DIFFER_MOST = 0.05;

/* Cards made at once: one for every tile of a table of ten by ten; more is a slip. */
enum { SW_CARDS_MOST = 100 };

/* Squares of a checkerboard each way: three inner corners are the least its finder takes; 40 squares of the least side
 * fill the width of a sheet. The usual board is the ready-made sheet. */
enum { SW_BOARD_LEAST = 4, SW_BOARD_MOST = 40, SW_BOARD_COLUMNS = 10, SW_BOARD_ROWS = 7 };
/* Their side: 3 mm is the least a phone resolves at arm's length, 200 mm make a board over 1 m wide. */
static const sw_range SW_BOARD_SQUARE_MM = {3, 25, 200};
/* Photos of a checkerboard: three slants settle focal length and distortion, with nothing to spare; the solver's memory
 * grows with the square of their number. */
enum { SW_LENS_PHOTOS_LEAST = 3, SW_LENS_PHOTOS_MOST = 100 };
/* Photos of one table: more do not make the result better, and a slip with a wildcard should not run for hours. */
enum { SW_TABLE_PHOTOS_MOST = 50 };

/* Corners that somebody points at instead of the program's looking for them. How far off each may be, both ways: of a card, a share of its
 * side (5 of 100 mm), or so many pixels where that is more; of the table, mm. Beyond, other edges lie as near. */
#define SW_POINTED_OFF_SHARE 0.05
#define SW_POINTED_OFF_PX 10
#define SW_POINTED_OFF_MM 8
/* How many cards, and how far apart the corners must be at least: what the smallest card that can be read measures. */
enum { SW_POINTED_CARDS_MOST = 32, SW_POINTED_APART_PX = 60 };

/* SW_BAD_INPUT "WHAT must be from LEAST to MOST mm" for anything outside, NaN too. */
SW_API sw_status sw_range_check(sw_range range, const char *what, double value_mm, sw_error *err);
/* *value_mm is `given_mm`, or `otherwise_mm` when that is 0; then checked as above. */
SW_API sw_status sw_range_take(sw_range range, const char *what, double given_mm, double otherwise_mm, double *value_mm,
                               sw_error *err);

#ifdef __cplusplus
}
#endif
#endif
