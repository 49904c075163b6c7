/* soft.h - stretches of a seam that are much softer than the cards: a drop on the lens, a smear. */
#ifndef SW_SEAM_SOFT_H
#define SW_SEAM_SOFT_H

#include "seam/reading.h"
#include "seam/trace.h"
#include "seamwright/scale.h"

/* Takes what is much softer than the cards' edges for not seen, and marks it `soft`. SW_NO_MEMORY. */
sw_status sw_soft_judge(const sw_scale *scale, sw_trace *t, const sw_seam_reading *w);

#endif
