/* beam.h - a first guess at a good layout: places filled one after the other, row after row, with the best few hundred
 * ways to fill them so far carried along (a beam search; Lowerre 1976). It finds sheets that were cut apart, where
 * annealing needs luck. */
#ifndef SW_ARRANGE_BEAM_H
#define SW_ARRANGE_BEAM_H

#include "arrange/deadline.h"
#include "arrange/puzzle.h"

/* Fills the places; those that are fixed keep their tiles. What counts is the sum of the pairs' zones to this power (1,
 * 2 or 4), however the tiles' small turns agree. At the deadline places stay as they were. SW_NO_MEMORY. */
sw_status sw_beam_run(const sw_puzzle *puzzle, int power, const sw_deadline *deadline, sw_place *places, sw_error *err);

#endif
