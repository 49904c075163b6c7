/* processing.h - what was done to the photo between the scene and here, said where it costs certainty. */
#ifndef SW_INSPECT_PROCESSING_H
#define SW_INSPECT_PROCESSING_H

#include "seamwright/scale.h"

/* Adds a note for each that alone makes gaps noticeably less certain: why, by how much, and how to photograph again. SW_NO_MEMORY. */
sw_status sw_note_processing(const sw_scale *scale, sw_notes *notes);

#endif
