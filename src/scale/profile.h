/* profile.h - a lens as members of a file: of a profile, and of an inspection that was made with one. */
#ifndef SW_SCALE_PROFILE_H
#define SW_SCALE_PROFILE_H

#include "json/fields.h"

/* Of a sw_lens, each to the last bit; read with the checks of sw_lens_load. */
enum { SW_LENS_FIELDS = 20 };
extern const sw_field sw_lens_fields[SW_LENS_FIELDS];

#endif
