/* notes.h - things the user should know that are no errors. */
#ifndef SW_INSPECTION_NOTES_H
#define SW_INSPECTION_NOTES_H

#include "seamwright/inspection.h"

/* Adds a warning (printf style) to the inspection. */
#if defined(__GNUC__)
__attribute__((format(printf, 3, 4)))
#endif
sw_status
sw_warn(sw_inspection *inspection, sw_error *err, const char *format, ...);

#endif
