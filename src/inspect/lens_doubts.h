/* lens_doubts.h - signs that a lens profile does not belong to a photo. */
#ifndef SW_INSPECT_LENS_DOUBTS_H
#define SW_INSPECT_LENS_DOUBTS_H

#include "seamwright/scale.h"

/* Adds a note when the profile was made with another camera or zoom. Doubts, not refusals: makers write camera names
 * differently from one version of a phone's software to the next. SW_NO_MEMORY. */
sw_status sw_lens_doubts(const sw_lens *lens, const sw_photo *photo, sw_notes *notes);

#endif
