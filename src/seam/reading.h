/* reading.h - what read.c keeps of a seam for its fits (seam_fit.c). */
#ifndef SW_SEAM_READING_H
#define SW_SEAM_READING_H

#include "seam/read.h"

/* Pixel lines of a station; samples of a line. */
enum { SW_ROWS_MOST = 2, SW_PROFILE_MOST = 141 };

/* One station read roughly: a mean profile about its path, in whole pixels from -reach to reach. */
typedef struct sw_rough {
    double low_rim, high_rim; /* relative to the path */
    double low, high, dark;
    double lacks;           /* light missing between the tops, px of theirs */
    double low_at, high_at; /* where the tops were read */
} sw_rough;

/* The pixel lines of one station as they were read for its rough look; the fit takes its samples from them. */
typedef struct sw_kept_lines {
    int count, row[SW_ROWS_MOST], start[SW_ROWS_MOST];
    float v[SW_ROWS_MOST][SW_PROFILE_MOST];
} sw_kept_lines;

/* Everything a seam's reading needs, in one block each. */
struct sw_seam_reading {
    double *low, *high, *centre, *work;
    sw_point *mm; /* where each station's path lies on the table */
    sw_rough *roughs;
    sw_slot_station *stations;
    float *samples;
    sw_kept_lines *lines; /* only while samples are taken */
    int count;
    sw_edge_table table;
};

#endif
