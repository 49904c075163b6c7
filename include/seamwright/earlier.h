/* earlier.h - the inspection that a new one of the same table follows: what the new one takes from it, and how rounds of
 * measuring and sanding are counted. */
#ifndef SEAMWRIGHT_EARLIER_H
#define SEAMWRIGHT_EARLIER_H

#include <stdbool.h>

#include "seamwright/inspect.h"
#include "seamwright/plan.h"
#include "seamwright/recheck.h"
#include "seamwright/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Free with sw_earlier_free. */
typedef struct sw_earlier {
    sw_inspection inspection;
    sw_plan plan;            /* what was carried out since */
    bool planned;            /* there is one */
    bool tile_as_measured;   /* sw_earlier_options took the tiles to be as large as the earlier photo showed them */
    bool tops_as_measured;   /* sw_earlier_options took the tops to stand as the earlier photos showed them */
    sw_tile_height *heights; /* for the options */
} sw_earlier;

/* Reads an inspection.json and, unless plan is NULL, the plan made from it. SW_CANNOT_READ, SW_BAD_INPUT, SW_NO_MEMORY.
 * On failure *earlier is zeroed. */
SW_API sw_status sw_earlier_read(const char *inspection, const char *plan, sw_earlier *earlier, sw_error *err);
SW_API void sw_earlier_free(sw_earlier *earlier);

/* What options leave at zero is taken from the earlier inspection: card and its thickness, lens profile, limits, tile size,
 * heights. Its heights are those given then; if none were, and there is only one photo now, those that its photos
 * measured, unless a card on every tile tells them anew. layout says how the tiles lie now, in the earlier one's names;
 * NULL: as they lay. Columns and rows stay open: sw_recheck_make says it better if they differ. The options point into
 * *earlier. SW_NO_MEMORY. */
SW_API sw_status sw_earlier_options(sw_earlier *earlier, const sw_layout *layout, int photos, sw_options *options,
                                    sw_error *err);

/* Whether the earlier inspection was made with a lens profile that its file does not hold (older versions). */
SW_API bool sw_earlier_lacks_lens(const sw_earlier *earlier);

/* Writes down in `inspection` that it follows the earlier one, named `path` by the user, and all that one followed. The
 * earlier one's gaps are held against the later one's limit. SW_NO_MEMORY. */
SW_API sw_status sw_earlier_follow(const sw_earlier *earlier, const char *path, sw_inspection *inspection,
                                   sw_error *err);

#ifdef __cplusplus
}
#endif
#endif
