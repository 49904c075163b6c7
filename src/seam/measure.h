/* measure.h - all traces of a table: read, with what wide seams say of the light in the slots handed to narrow ones. */
#ifndef SW_SEAM_MEASURE_H
#define SW_SEAM_MEASURE_H

#include "seam/trace.h"
#include "table/grid.h"

/* upright[i * rows + j]: line i (0 to columns) in row j; level[i * (rows + 1) + j]: column i, line j (0 to rows). level
 * goes on where upright ends: upright[0] to upright[count - 1] are all there are. Free with sw_traces_free. */
typedef struct sw_traces {
    int columns, rows, count;
    sw_trace *upright, *level;
    bool
        patterned; /* the floor is: where its stripes or spots end is no tile's rim, and the table's own rims were not read */
} sw_traces;

sw_status sw_traces_read(const sw_photo *photo, const sw_scale *scale, const sw_grid *grid, double step_mm,
                         void (*progress)(void *context, double share), void *context, sw_traces *traces,
                         sw_error *err);
void sw_traces_free(sw_traces *traces);

#endif
