/* warn.h - things the user should know that are no errors. */
#ifndef SW_WARN_H
#define SW_WARN_H

#include "seamwright/report.h"

/* Adds a warning (printf style) to the inspection. */
#if defined(__GNUC__)
__attribute__((format(printf, 3, 4)))
#endif
sw_status
sw_warn(sw_inspection *inspection, sw_error *err, const char *format, ...);

/* Warns of seams of which a good part was not seen. */
sw_status sw_warn_unseen(sw_inspection *inspection, sw_error *err);

#endif
