/* deadline.h - when to stop before the work is done; asked now and then. */
#ifndef SW_ARRANGE_DEADLINE_H
#define SW_ARRANGE_DEADLINE_H

#include <stdbool.h>
#include <time.h>

typedef struct sw_deadline {
    double seconds; /* of the monotonic clock */
} sw_deadline;

static inline sw_deadline sw_deadline_in(double seconds)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (sw_deadline){(double)now.tv_sec + 1e-9 * (double)now.tv_nsec + seconds};
}

static inline bool sw_deadline_over(const sw_deadline *deadline)
{
    return sw_deadline_in(0).seconds > deadline->seconds;
}

#endif
