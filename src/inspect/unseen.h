/* unseen.h - seams of which a good part was not seen. */
#ifndef SW_INSPECT_UNSEEN_H
#define SW_INSPECT_UNSEEN_H

#include "seamwright/inspection.h"

/* Adds a note to the inspection for each seam of which a good part was not seen. SW_NO_MEMORY. */
sw_status sw_note_unseen(sw_inspection *inspection);

#endif
