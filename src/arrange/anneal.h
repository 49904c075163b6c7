/* anneal.h - a first guess at a good layout: simulated annealing (Kirkpatrick, Gelatt and Vecchi 1983) on the pairs'
 * ranges, with every tile's small turn as part of the state. */
#ifndef SW_ARRANGE_ANNEAL_H
#define SW_ARRANGE_ANNEAL_H

#include <stdint.h>

#include "arrange/puzzle.h"

typedef struct sw_anneal {
    uint64_t seed;
    long steps;
    int power; /* 1, 2, 4 or 8: joints' gaps are added up to this power; the larger, the more the widest ones count */
    double typical_mm; /* gaps are counted in this: what two edges taken at random leave */
} sw_anneal;

/* When to stop before the work is done; asked now and then. */
typedef struct sw_deadline {
    double seconds; /* of the monotonic clock */
} sw_deadline;

int sw_deadline_over(const sw_deadline *deadline);
sw_deadline sw_deadline_in(double seconds);

/* Changes places that are not fixed and turns (by place, radians). Stops where it is at the deadline. SW_NO_MEMORY. */
sw_status sw_anneal_run(const sw_puzzle *puzzle, const sw_anneal *how, const sw_deadline *deadline, sw_place *places,
                        double *turns, sw_error *err);

/* Turns the tiles one after the other so that the sum of the gaps to the power shrinks, none above `most` if that can
 * be; some rounds of one search along each turn. Returns the sum of the gaps. */
double sw_ease(const sw_puzzle *puzzle, const sw_place *places, double most, int rounds, double *turns);

/* Numbers from 0 up to but not including `below`: splitmix64 (Steele, Lea and Flood 2014). */
uint32_t sw_chance(uint64_t *state, uint32_t below);

#endif
