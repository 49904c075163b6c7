/* seam_read.h - a seam as it was read roughly, made up station by station: for the tests of what is no seam. */
#ifndef SW_SUPPORT_SEAM_READ_H
#define SW_SUPPORT_SEAM_READ_H

#include "seam/reading.h"

enum { READ_STATIONS = 200, READ_REACH = 40, READ_SIZE = 2 * READ_REACH + 1, READ_PX_PER_MM = 3 };

/* Stations 1 mm apart along x = 0, at 3 px/mm, tops of light `top` on both sides. */
typedef struct seam_read {
    sw_trace_place places[READ_STATIONS];
    sw_rough roughs[READ_STATIONS];
    sw_point mm[READ_STATIONS];
    sw_kept_lines lines[READ_STATIONS];
    sw_trace trace;
    sw_seam_reading reading;
    sw_scale scale;
    sw_top_light top;
    const sw_top_light *beside[2];
} seam_read;

/* A gap: a bar of so much of the tops' light, mm wide, seen through the blur. */
static inline void seam_read_gap(seam_read *s, int station, double width_mm, double depth)
{
    sw_rough *a = &s->roughs[station];
    double px = width_mm * READ_PX_PER_MM;
    a->dark = (1 - depth) * fmin(a->low, a->high);
    a->lacks = px;
    a->low_rim = -fmax(0.5, px / 2);
    a->high_rim = fmax(0.5, px / 2);
}

/* An even seam of a table known to be level, all of it seen. */
static inline void seam_read_start(seam_read *s, double top, double width_mm, double depth)
{
    *s = (seam_read){.top = {.half_mm = 150, .c = {log(top)}, .spread = 0.006}};
    s->scale = (sw_scale){.blur_px = 0.7, .px_per_mm = READ_PX_PER_MM};
    s->beside[0] = s->beside[1] = &s->top;
    s->trace = (sw_trace){
        .px_per_mm = READ_PX_PER_MM, .stretch = 1, .along_row = true, .places = s->places, .count = READ_STATIONS};
    s->reading = (sw_seam_reading){.roughs = s->roughs, .mm = s->mm, .lines = s->lines, .count = READ_STATIONS};
    for (int i = 0; i < READ_STATIONS; i++) {
        s->places[i] = (sw_trace_place){.line = READ_PX_PER_MM * i, .path_px = 100, .seen = true};
        s->mm[i] = (sw_point){0, 100 - i};
        s->roughs[i].low = s->roughs[i].high = top;
        seam_read_gap(s, i, width_mm, depth);
        s->lines[i].count = 1;
        for (int k = 0; k < READ_SIZE; k++)
            s->lines[i].v[0][k] = (float)top;
    }
}

/* How many stations from `from` to before `to` are seen. */
static inline int seam_read_seen(const seam_read *s, int from, int to)
{
    int seen = 0;
    for (int i = from; i < to; i++)
        seen += s->places[i].seen;
    return seen;
}

#endif
