/* on_tops.h - an inspection of a photo whose tops are known from elsewhere. */
#ifndef SW_INSPECT_ON_TOPS_H
#define SW_INSPECT_ON_TOPS_H

#include "seamwright/inspect.h"
#include "table/tops.h"
#include "tops/view.h"

/* sw_inspect; known (may be NULL): the tops of the table as it lies in this photo. Heights that the options give go before it.
 * view (may be NULL) gets what the photo shows of the tops, for sw_view_free, on success only. */
sw_status sw_inspect_on(const sw_photo *photo, const sw_options *options, const sw_tops *known,
                        void (*progress)(void *context, const char *what, double share), void *context,
                        sw_inspection *inspection, sw_view *view, sw_error *err);

#endif
