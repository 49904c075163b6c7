/* plan_fixture.h - plans made up for tests, for the tiles of the made-up inspection of fixture.h. Each fills *plan;
 * free with sw_plan_free. They end the test program when memory is out. */
#ifndef SW_SUPPORT_PLAN_FIXTURE_H
#define SW_SUPPORT_PLAN_FIXTURE_H

#include "seamwright/plan.h"

enum { PLAN_FIXTURE_EDGES = 6, PLAN_FIXTURE_WORK = 3, PLAN_FIXTURE_LIMITS = 3 };

/* Edges by index: 0 B2 east a wedge from its north end, 1 C3 west the two ends of a hollow, 2 A2 north all along, with
 * a bevel that is known, 3 A1 south 0.06 mm near its middle, 4 B1 west a bevel known, 5 C1 south a bevel open. A chip
 * and a seam that was not seen cannot be mended, so the plan does not fit. Work: C1-C2 with edge 5, B2-C2 with edges 0
 * and 1, two chips. */
void plan_fixture(const sw_inspection *inspection, sw_plan *plan);

/* Every seam is within already: no edge, nothing that cannot be mended. */
void plan_fixture_nothing(const sw_inspection *inspection, sw_plan *plan);

/* The first plan made for every layout, and fitting. */
void plan_fixture_any(const sw_inspection *inspection, sw_plan *plan);

/* Makes all edges of a plan so long, what comes off where in proportion. */
void plan_fixture_stretch(sw_plan *plan, double length_mm);

#endif
