/* lens_match.h - does a lens profile belong to a photo? */
#ifndef SW_CLI_LENS_MATCH_H
#define SW_CLI_LENS_MATCH_H

#include "seamwright/photo.h"
#include "seamwright/scale.h"

enum { LENS_DOUBTS_MOST = 2 };

/* SW_BAD_INPUT, with a sentence naming both sizes, when the picture's size is not the profile's: its numbers are pixels
 * of that size and do not hold for another. photo_path is how the user named the photo. */
sw_status lens_match_size(const sw_lens *lens, const sw_photo *photo, const char *photo_path, sw_error *err);

/* Signs that the profile was made with another camera or zoom, each a sentence; returns how many. They are doubts, not
 * refusals: makers write camera names differently from one version of a phone's software to the next. */
int lens_match_doubts(const sw_lens *lens, const sw_photo *photo, char doubts[LENS_DOUBTS_MOST][320]);

#endif
