/* evidence.h - maps of line evidence along one direction, and the lines that best fit them. */
#ifndef SW_TABLE_EVIDENCE_H
#define SW_TABLE_EVIDENCE_H

#include "seamwright/status.h"

/* Fine bins across the lines, long ones along them. */
typedef struct sw_evidence {
    double low_across, low_along, bin;
    int across, along;
    unsigned char *seen; /* across x along, weight 0 to 255 */
    int *sums; /* across x (along + 1): running sums along each line of the strongest of it and its two neighbours */
} sw_evidence;

/* Makes an empty map; SW_NO_MEMORY. */
sw_status sw_evidence_make(sw_evidence *e, double low_across, double high_across, double low_along, double high_along,
                           double bin);
void sw_evidence_vote(sw_evidence *e, double across, double along, double weight);
/* Works out the running sums once all votes are in; SW_NO_MEMORY. */
sw_status sw_evidence_close(sw_evidence *e);
void sw_evidence_free(sw_evidence *e);

/* A line from at0 (at the low end) to at1, and the share of its length with evidence, less what it lies off its place.
 */
typedef struct sw_fitted {
    double at0, at1, share;
} sw_fitted;

/* Best line of bins near `across` between along0 and along1, within slip. */
sw_fitted sw_fit_side(const sw_evidence *e, double across, double slip, double along0, double along1);
/* The same with a turn of up to 2 mm from end to end, for the final places. */
sw_fitted sw_fit_turned(const sw_evidence *e, double across, double slip, double along0, double along1);

#endif
