/* running.h - the median of a window that slides along a row of numbers. */
#ifndef SW_MATHS_RUNNING_H
#define SW_MATHS_RUNNING_H

/* out[i] = median of in[i - half] to in[i + half] (cut at the ends; every so many of them only), numbers that are not
 * finite left out; NaN where fewer than `least` (at least 1) are left. Windows hold 256 numbers. in and out differ.
 * O(count log half), moves of memory apart. */
void sw_running_median(const double *in, int count, int half, int every, int least, double *out);

#endif
