/* doubts.h - what makes the figures of one photo less sure, told once everything is measured. */
#ifndef SW_INSPECT_DOUBTS_H
#define SW_INSPECT_DOUBTS_H

#include "seamwright/inspect.h"
#include "table/heights.h"

/* Adds to the inspection's notes. SW_NO_MEMORY. */
sw_status sw_note_doubts(const sw_photo *photo, const sw_options *options, const sw_heights *heights,
                         const sw_tops *tops, sw_inspection *inspection);

#endif
