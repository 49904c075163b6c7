/* radii.h - what the edges of a table say of each other's rounding. */
#ifndef SW_SEAM_RADII_H
#define SW_SEAM_RADII_H

/* A radius and its standard deviation, mm; an sd of 0 or less: nothing is known. */
typedef struct sw_radius {
    double mm, sd_mm;
} sw_radius;

/* told: what each edge's own light says, four edges a tile, one tile after the other. others: what all but itself say of each edge;
 * all: the same with its own word. A hand sands all edges of a table about alike, those of a tile more so: how much, is read from
 * the table itself. */
void sw_radii_believe(const sw_radius *told, int tiles, sw_radius *others, sw_radius *all);

#endif
