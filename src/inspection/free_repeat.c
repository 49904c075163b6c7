#include <stdlib.h>
#include <string.h>

#include "seamwright/repeat.h"

void sw_repeatability_free(sw_repeatability *r)
{
    if (!r)
        return;
    for (size_t i = 0; r->seams && i < r->seam_count; i++) {
        free(r->seams[i].counts);
        free(r->seams[i].mean_mm);
    }
    free(r->seams);
    free(r->photos);
    free(r->quarter_turns);
    memset(r, 0, sizeof *r);
}

const char *sw_agreement_name(sw_agreement agreement)
{
    static const char *const names[] = {"unknown", "better than stated", "as stated", "worse than stated"};
    return names[(unsigned)agreement % 4];
}
