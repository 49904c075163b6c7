/* edge_table.h - the photo's own response to a sharp step, as a table. */
#ifndef SW_SEAM_EDGE_TABLE_H
#define SW_SEAM_EDGE_TABLE_H

/* Response to a sharp unit step: value and slope on a grid of 1 / PER px, for a crossing slanted by cos `stretch`. */
enum { SW_EDGE_PER = 32, SW_EDGE_REACH = 8, SW_EDGE_GRID = 2 * SW_EDGE_PER * SW_EDGE_REACH + 2 };
typedef struct sw_edge_node {
    float value, value_by; /* and its change to the next node */
    float slope, slope_by;
} sw_edge_node;
typedef struct sw_edge_table {
    sw_edge_node node[SW_EDGE_GRID];
    float reach; /* px from the edge beyond which nothing more is seen of it */
} sw_edge_table;

/* Value and slope at x px from the edge. */
static inline float sw_edge_at(const sw_edge_table *t, float x, float *slope)
{
    float at = (x + SW_EDGE_REACH) * SW_EDGE_PER;
    at = at < 0 ? 0 : at > SW_EDGE_GRID - 2 ? SW_EDGE_GRID - 2 : at;
    int i = (int)at;
    const sw_edge_node *n = &t->node[i];
    float part = at - (float)i;
    *slope = n->slope + part * n->slope_by;
    return n->value + part * n->value_by;
}

void sw_edge_table_make(double blur_px, double halo, double stretch, sw_edge_table *table);

#endif
