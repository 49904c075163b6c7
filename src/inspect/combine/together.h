/* together.h - several photos of one table, laid alike, joined part by part into one inspection. */
#ifndef SW_INSPECT_COMBINE_TOGETHER_H
#define SW_INSPECT_COMBINE_TOGETHER_H

#include <stdbool.h>

#include "inspect/combine/figure.h"
#include "inspect/combine/match.h"
#include "seamwright/report.h"

/* photos[0] is the first; all lie as it does. */
typedef struct sw_together {
    const sw_inspection *photos;
    size_t count;
    const sw_difference *differences; /* of photo k in seam i: [k * seam_count + i]; zeros for photo 0 */
    sw_inspection *out;               /* a copy of the first photo's inspection, to be filled with joined figures */
    sw_repeatability *repeat;         /* of out; its seams are there, with room in counts and mean_mm */
    sw_photo_figure *readings;        /* work: room for 2 * count */
    sw_station_state *states;         /* work: room for count */
} sw_together;

/* Whether photo k counts for seam i: it shows enough of it, and the same gap as the first photo. */
bool sw_photo_counts(const sw_together *t, size_t k, size_t i);

/* Gaps, means, extremes, tapers, chips and verdicts. SW_NO_MEMORY. */
sw_status sw_join_seams(sw_together *t);

/* Chips of one list (of seam i, or of a tile's own rim): those that at least half of the photos show. chips and counts
 * hold one list a photo, NULL for a photo that does not count. The joined list replaces *joined. SW_NO_MEMORY. */
sw_status sw_join_chips(const sw_chip *const *chips, const size_t *counts, size_t photos, sw_chip **joined,
                        size_t *joined_count);

/* Corner angles, lengths, straightness, bow, proud and shy, chips at the table's rim. SW_NO_MEMORY. */
sw_status sw_join_tiles(sw_together *t);

/* Half-way marks: those that at least half of the photos show at the same place. Tiles and seams must be joined.
 * SW_NO_MEMORY. */
sw_status sw_join_marks(sw_together *t);

/* Adds to out->notes what single photos gave note of, and where photos differ or disagree. All must be joined.
 * SW_NO_MEMORY. */
sw_status sw_note_photos(const sw_together *t);

#endif
