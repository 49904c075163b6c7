/* observe.h - everything the photos show and what is known before, as equations. */
#ifndef SW_TOPS_OBSERVE_H
#define SW_TOPS_OBSERVE_H

#include "tops/sight_line.h"

void sw_fitting_collect(sw_fitting *fitting);

#endif
