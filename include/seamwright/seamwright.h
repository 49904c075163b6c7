/* seamwright.h - measure the seams of a table of square tiles from one overhead photo.
 *
 * photo -> scale -> table -> seam -> tile -> report: one call does them all, sw_inspect; the headers of the stages say
 * what each result means. Thread use: no global state; different photos may be inspected in different threads.
 */
#ifndef SEAMWRIGHT_SEAMWRIGHT_H
#define SEAMWRIGHT_SEAMWRIGHT_H

#include "seamwright/budget.h"
#include "seamwright/inspect.h"
#include "seamwright/mark.h"
#include "seamwright/photo.h"
#include "seamwright/report.h"
#include "seamwright/scale.h"
#include "seamwright/seam.h"
#include "seamwright/status.h"
#include "seamwright/table.h"
#include "seamwright/tile.h"

#ifdef __cplusplus
extern "C" {
#endif

#define SW_VERSION "0.1.0"

/* What the user says about table, card and wishes. Zero means: work it out, or the default in brackets. */
typedef struct sw_options {
    sw_reference reference;        /* [frame 100/60] */
    double tile_mm;                /* nominal side of a tile [worked out] */
    int columns, rows;             /* [worked out] */
    double tolerance_mm;           /* [0.5] */
    double height_mm;              /* of the tops over the table, mm, where heights does not say otherwise [unknown] */
    const sw_tile_height *heights; /* tiles with a height of their own, height_count of them. Without height_mm, tiles
                                    * not named here are taken to be as high as the lowest one named, and a warning says
                                    * so. A name the table lacks, one named twice, heights outside 0.5 to 500 mm or more
                                    * than 30 mm apart are SW_BAD_INPUT [all level] */
    size_t height_count;
    double step_mm;      /* distance between stations [1] */
    const sw_lens *lens; /* a profile, or NULL: estimate the lens from the picture */
    bool card_thickness_given;
    double
        card_thickness_mm; /* how far the cards' faces lie above the tiles, 0 to 20; if not given [0.15, good to 0.1] */
} sw_options;

/* The main job on a loaded photo. On success *inspection is filled and the caller frees it with sw_inspection_free; on
 * failure it is zeroed and err says what to do. progress may be NULL; share runs from 0 to 1. */
sw_status sw_inspect(const sw_photo *photo, const sw_options *options,
                     void (*progress)(void *context, const char *what, double share), void *context,
                     sw_inspection *inspection, sw_error *err);

#ifdef __cplusplus
}
#endif
#endif
