#include "inspect/unseen.h"

#include "inspect/heights_step.h"
#include "inspection/notes.h"

sw_status sw_warn_unseen(sw_inspection *ins, sw_error *err)
{
    sw_status status = SW_OK;
    for (size_t i = 0; !status && i < ins->seam_count; i++) {
        const sw_seam *s = &ins->seams[i];
        size_t unseen = 0;
        char text[320];
        for (size_t k = 0; k < s->station_count; k++)
            unseen += s->stations[k].state == SW_STATION_UNSEEN;
        if (sw_heights_hidden(ins, s, text))
            status = sw_warn(ins, err, "%s", text);
        else if (unseen * 50 > s->station_count)
            status = sw_warn(ins, err, "%s: %.0f %% of the seam could not be seen (under a card, or hidden).", s->name,
                             100.0 * (double)unseen / (double)s->station_count);
    }
    return status;
}
