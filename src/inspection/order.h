/* order.h - the one order of work, the same wherever a person is told what to do: report, plan, recheck, arrange,
 * console, README. No sentence elsewhere may contradict it. */
#ifndef SW_INSPECTION_ORDER_H
#define SW_INSPECTION_ORDER_H

#include <stddef.h>

enum { SW_ORDER_STEPS = 6, SW_ORDER_ROOM = 160 };

typedef struct sw_order_step {
    const char *name; /* "push" */
    const char *says; /* one plain sentence */
} sw_order_step;

extern const sw_order_step sw_order[SW_ORDER_STEPS];

/* The names alone: "push; photograph; ...", in text, which is returned. */
const char *sw_order_names(char text[SW_ORDER_ROOM]);

/* How every next step begins while a seam is over, without a stop at its end: the first two steps. */
extern const char sw_order_begin[];

#endif
