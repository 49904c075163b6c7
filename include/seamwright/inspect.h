/* inspect.h - from a photo to an inspection, and from several photos of one table to one. */
#ifndef SEAMWRIGHT_INSPECT_H
#define SEAMWRIGHT_INSPECT_H

#include <stdbool.h>
#include <stddef.h>

#include "seamwright/inspection.h"
#include "seamwright/photo.h"
#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* What the user says about table, card and wishes. Zero means: work it out, or the default in brackets. Figures and
 * ranges stand in defaults_and_ranges.h; anything else is SW_BAD_INPUT. */
typedef struct sw_options {
    sw_reference reference;        /* [frame 100/60; where the photo shows none, plain squares of 100, with a note] */
    double tile_mm;                /* nominal side of a tile [worked out] */
    int columns, rows;             /* [worked out] */
    double tolerance_mm;           /* [SW_TOLERANCE_MM] */
    double height_mm;              /* of the tops over the table, mm, where heights does not say otherwise [unknown] */
    const sw_tile_height *heights; /* tiles with a height of their own, height_count of them. Without height_mm, tiles
                                    * not named here are taken to be as high as the lowest one named, and a warning says
                                    * so. What sw_heights_check refuses, and a name the table lacks, is SW_BAD_INPUT
                                    * [all level] */
    size_t height_count;
    double lippage_mm;   /* limit for steps between neighbouring tops, of which then something is said [not asked] */
    double step_mm;      /* distance between stations [SW_STEP_MM] */
    const sw_lens *lens; /* a profile, of pictures of the photo's size, or NULL: estimate the lens from the picture */
    bool card_thickness_given;
    double card_thickness_mm; /* how far the cards' faces lie above the tiles; if not given [0.15, good to 0.1] */
    /* Where the table's four outer corners are, to SW_POINTED_OFF_MM, and its cards' outer corners, one entry a card, square_count of
     * them, 1 to SW_POINTED_CARDS_MOST, to SW_POINTED_OFF_SHARE of a side or SW_POINTED_OFF_PX. What is told is not looked for; it is
     * measured as if it had been found, all the cards there are being those told. Only with a single photo [NULL: looked for] */
    const sw_corners *corners, *squares;
    size_t square_count;
} sw_options;

/* The main job on a loaded photo; options may be NULL. On success *inspection is filled and the caller frees it with sw_inspection_free; on
 * failure it is zeroed and err says what to do. progress may be NULL; share runs from 0 to 1. */
SW_API sw_status sw_inspect(const sw_photo *photo, const sw_options *options,
                            void (*progress)(void *context, const char *what, double share), void *context,
                            sw_inspection *inspection, sw_error *err);

/* What can be refused before several photos of one table are measured: more than SW_TABLE_PHOTOS_MOST, one that is not
 * there, one named twice (SW_BAD_INPUT, SW_CANNOT_READ). *which gets the place of the photo that is to blame, from 0. */
SW_API sw_status sw_photos_check(const char *const *paths, int count, int *which, sw_error *err);

/* Combines the inspections of `count` photos (2 to SW_TABLE_PHOTOS_MOST) of the same, untouched table, each made by sw_inspect with the
 * same options. They are only read and stay the caller's. Tables that lie turned by quarter turns against the first
 * photo's are turned back: the turn is the one whose gaps fit the first photo's best.
 *
 * On success *combined is filled, in the first photo's names, frame and stations, with `repeatability`; free it with
 * sw_inspection_free. Every figure is a weighted mean; with v_k the larger of the photo's own random variance and the
 * variance between photos, c the part of the stated standard uncertainty that is taken to be common to all photos, w_k
 * = 1 / v_k: u^2 = sum w_k^2 v_k / (sum w_k)^2 + c^2, never more than the photos' own stated u^2 (JCGM
 * 100:2008, 4.2.3, 4.2.4 and 5.2.2; ISO 5725-2). Where the photos disagree by more than stated (chi-square, 95 %), all
 * stated parts are first widened by the ratio of the two. Verdicts and advice are made from the combined figures.
 * Seams that differ from the first photo's by far more than their uncertainty are not averaged: photos that differ are
 * left out there, the uncertainty is widened to the difference, and a warning names them.
 *
 * SW_BAD_INPUT: a photo does not show the table that the first one shows (other counts or sizes of tiles, or most seams
 * differ), or is the same picture as an earlier one. *combined is then zeroed. */
SW_API sw_status sw_inspection_combine(const sw_inspection *photos, size_t count, sw_inspection *combined,
                                       sw_error *err);

/* Loads one of several photos of a table: number `which` from 0, into *photo, which is freed with sw_photo_free. */
typedef sw_status sw_photo_loader(void *context, int which, sw_photo *photo, sw_error *err);

/* The main job on several photos (2 to SW_TABLE_PHOTOS_MOST) of one untouched table, taken from different places. Where the options give no
 * heights, cameras, tops, cards and rims are fitted together (least squares), which tells how high each top stands and how it is
 * tilted; then each photo is measured on those tops, and sw_inspection_combine joins them. Photos are loaded one at a time, each
 * two to six times, until heights settle. On failure *combined is zeroed, and *which is the photo to blame, or -1. */
SW_API sw_status sw_inspect_several(int count, sw_photo_loader *load, void *load_context, const sw_options *options,
                                    void (*progress)(void *context, int which, const char *what, double share),
                                    void *context, sw_inspection *combined, int *which, sw_error *err);

#ifdef __cplusplus
}
#endif
#endif
