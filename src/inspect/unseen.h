/* unseen.h - seams of which a good part was not seen. */
#ifndef SW_INSPECT_UNSEEN_H
#define SW_INSPECT_UNSEEN_H

#include "seamwright/inspection.h"

/* Warns of seams of which a good part was not seen. */
sw_status sw_warn_unseen(sw_inspection *inspection, sw_error *err);

#endif
