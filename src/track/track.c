#include "track/track.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void sw_track_point_sum(sw_track_point *p)
{
    p->systematic_mm = sqrt(p->light_mm * p->light_mm + p->model_mm * p->model_mm + p->pixels_mm * p->pixels_mm +
                            p->spread_mm * p->spread_mm + p->height_mm * p->height_mm);
}

double sw_track_step(const sw_track *t)
{
    double step = t->count > 1 ? (t->points[t->count - 1].at_mm - t->points[0].at_mm) / (t->count - 1) : 1;
    return fmax(step, 1e-3);
}

void sw_track_free(sw_track *t)
{
    if (!t)
        return;
    free(t->points);
    free(t->chips);
    memset(t, 0, sizeof *t);
}

void sw_tracks_free(sw_tracks *tracks)
{
    if (!tracks)
        return;
    for (int k = 0; tracks->upright && k < tracks->count; k++)
        sw_track_free(&tracks->upright[k]);
    free(tracks->upright);
    memset(tracks, 0, sizeof *tracks);
}
