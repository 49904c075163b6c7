#include "seam/edge_table.h"

#include <math.h>

#include "scale/squares.h"

/* An edge is past where it is within this share of its end: far below the noise of a sample, 0.01. */
static const float SETTLED = 5e-4f;

static double gauss_step(double x)
{
    return 0.5 * erfc(-x / M_SQRT2);
}

static double gauss_density(double x)
{
    return exp(-0.5 * x * x) / sqrt(2 * M_PI);
}

void sw_edge_table_make(double blur_px, double halo, double stretch, sw_edge_table *table)
{
    double wide = sw_halo_blur(blur_px);
    table->reach = 0;
    for (int i = 0; i < SW_EDGE_GRID; i++) {
        double x = ((double)i / SW_EDGE_PER - SW_EDGE_REACH) * stretch;
        sw_edge_node *n = &table->node[i];
        n->value = (float)((1 + halo) * gauss_step(x / blur_px) - halo * gauss_step(x / wide));
        n->slope = (float)(stretch *
                           ((1 + halo) * gauss_density(x / blur_px) / blur_px - halo * gauss_density(x / wide) / wide));
        n->value_by = n->slope_by = 0;
    }
    for (int i = 0; i + 1 < SW_EDGE_GRID; i++) {
        table->node[i].value_by = table->node[i + 1].value - table->node[i].value;
        table->node[i].slope_by = table->node[i + 1].slope - table->node[i].slope;
        if (table->node[i].value < SETTLED || table->node[i].value > 1 - SETTLED)
            continue;
        table->reach = fmaxf(table->reach, fabsf((float)i / SW_EDGE_PER - SW_EDGE_REACH));
    }
}
