#include "table/evidence.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Length of a bin along a line, mm: short against a tile, long against a stroke's own noise. */
static const double ALONG_MM = 10;
/* Evidence that lies off an even grid is worth less, share a mm: shadows run along tables too, a centimetre or so
 * outside. */
static const double AWAY = 0.035;

sw_status sw_evidence_make(sw_evidence *e, double low_across, double high_across, double low_along, double high_along,
                           double bin)
{
    e->low_across = low_across;
    e->low_along = low_along;
    e->bin = bin;
    e->across = (int)((high_across - low_across) / bin) + 1;
    e->along = (int)((high_along - low_along) / ALONG_MM) + 1;
    e->seen = calloc((size_t)e->across * (size_t)e->along, 1);
    return e->seen ? SW_OK : SW_NO_MEMORY;
}

void sw_evidence_vote(sw_evidence *e, double across, double along, double weight)
{
    int i = (int)floor((across - e->low_across) / e->bin), j = (int)floor((along - e->low_along) / ALONG_MM);
    if (i < 0 || j < 0 || i >= e->across || j >= e->along)
        return;
    unsigned char *at = &e->seen[(size_t)i * (size_t)e->along + (size_t)j];
    unsigned char w = (unsigned char)(255 * weight);
    if (w > *at)
        *at = w;
}

sw_status sw_evidence_close(sw_evidence *e)
{
    size_t n = (size_t)e->along;
    e->sums = calloc((size_t)e->across * (n + 1), sizeof *e->sums);
    if (!e->sums)
        return SW_NO_MEMORY;
    for (int i = 1; i + 1 < e->across; i++) {
        const unsigned char *at = e->seen + (size_t)i * n, *before = at - n, *after = at + n;
        int *sum = e->sums + (size_t)i * (n + 1);
        for (size_t j = 0; j < n; j++) {
            unsigned char most = at[j];
            most = before[j] > most ? before[j] : most;
            most = after[j] > most ? after[j] : most;
            sum[j + 1] = sum[j] + most;
        }
    }
    return SW_OK;
}

/* Share of evidence along one line of bins. */
static double straight_share(const sw_evidence *e, double across, double along0, double along1)
{
    int j0 = (int)ceil((along0 - e->low_along) / ALONG_MM), j1 = (int)floor((along1 - e->low_along) / ALONG_MM);
    int i = (int)floor((across - e->low_across) / e->bin), length = j1 - j0;
    j0 = j0 < 0 ? 0 : j0;
    j1 = j1 > e->along ? e->along : j1;
    if (j1 <= j0 || i < 0 || i >= e->across)
        return 0;
    const int *sum = e->sums + (size_t)i * ((size_t)e->along + 1);
    return (sum[j1] - sum[j0]) / (255.0 * length);
}

/* Share of evidence on the straight line from (across0, along0) to (across1, along1), a bin to either side allowed. */
static double line_share(const sw_evidence *e, double across0, double across1, double along0, double along1)
{
    int j0 = (int)ceil((along0 - e->low_along) / ALONG_MM), j1 = (int)floor((along1 - e->low_along) / ALONG_MM);
    double sum = 0;
    if (j1 <= j0)
        return 0;
    for (int j = j0; j < j1; j++) {
        double part = (j + 0.5 - j0) / (j1 - j0);
        int i = (int)floor((across0 + part * (across1 - across0) - e->low_across) / e->bin);
        if (j < 0 || j >= e->along || i < 1 || i >= e->across - 1)
            continue;
        const unsigned char *at = &e->seen[(size_t)i * (size_t)e->along + (size_t)j];
        unsigned char most = at[0];
        most = at[-e->along] > most ? at[-e->along] : most;
        most = at[e->along] > most ? at[e->along] : most;
        sum += most;
    }
    return sum / (255.0 * (j1 - j0));
}

void sw_evidence_free(sw_evidence *e)
{
    free(e->seen);
    free(e->sums);
    memset(e, 0, sizeof *e);
}

sw_fitted sw_fit_side(const sw_evidence *e, double across, double slip, double along0, double along1)
{
    sw_fitted best = {across, across, -1};
    double margin = fmin(15, 0.1 * (along1 - along0));
    int steps = (int)ceil(slip / e->bin);
    for (int k = -steps; k <= steps; k++) {
        double a = across + k * e->bin,
               share = straight_share(e, a, along0 + margin, along1 - margin) - AWAY * abs(k) * e->bin;
        if (share > best.share)
            best = (sw_fitted){a, a, share};
    }
    best.share = fmax(best.share, 0);
    return best;
}

sw_fitted sw_fit_turned(const sw_evidence *e, double across, double slip, double along0, double along1)
{
    sw_fitted best = sw_fit_side(e, across, slip, along0, along1);
    double margin = fmin(15, 0.1 * (along1 - along0));
    int steps = (int)ceil(slip / e->bin);
    for (int k = -steps; k <= steps; k++)
        for (double turn = -2; turn <= 2; turn += 4) {
            double a0 = across + k * e->bin - turn / 2, a1 = a0 + turn;
            double share = line_share(e, a0, a1, along0 + margin, along1 - margin) - AWAY * abs(k) * e->bin - 0.01;
            if (share > best.share)
                best = (sw_fitted){a0, a1, share};
        }
    return best;
}
