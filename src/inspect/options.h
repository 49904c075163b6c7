/* options.h - what the user wishes, checked and completed before anything is measured. */
#ifndef SW_INSPECT_OPTIONS_H
#define SW_INSPECT_OPTIONS_H

#include "seamwright/inspect.h"

/* *options is `given` (NULL: nothing said) with defaults for tolerance, step and reference. SW_BAD_INPUT: anything outside
 * its range, or a lens profile of another picture size. */
sw_status sw_options_settle(const sw_options *given, const sw_photo *photo, sw_options *options, sw_error *err);

/* Whether the user said which cards there are. */
bool sw_card_said(const sw_options *given);

/* What the inspection keeps of them, so that a later one can do as this one did. SW_NO_MEMORY. */
sw_status sw_options_keep(const sw_options *options, sw_given *given, sw_error *err);

#endif
