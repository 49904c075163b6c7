/* observe.h - everything the photos show and what is known before, as equations. */
#ifndef SW_TOPS_OBSERVE_H
#define SW_TOPS_OBSERVE_H

#include "tops/sight_line.h"

/* lenses: room for one a view. */
void sw_fitting_collect(sw_fitting *fitting, sw_lens_set *lenses);

#endif
