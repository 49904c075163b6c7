/* cast.h - shadows that lie in a line of seams and go on over the floor: an edge, so near that both tops look as if they were of two colours, or a bar, which
 * looks like a wide gap. */
#ifndef SW_SEAM_CAST_H
#define SW_SEAM_CAST_H

#include <stdbool.h>

/* Which of the seams in one line across the table have the edge of a shadow in them: their tops differ as the floor does where the line goes on
 * beyond the table. step: of the light at each seam, from its first tile to its second, logarithm, NaN where it was not seen; floor: the same of
 * the floor beyond the line's two ends, NaN where the photo does not show it. */
void sw_cast_in_line(const double *step, int count, const double floor[2], bool *cast);

struct sw_seams_job;
/* Sets `cast` of all seams of a table, which have been read roughly: by edges, and by bars that the floor shows in their line. */
void sw_cast_judge(struct sw_seams_job *job);

#endif
