/* formats.h - what our files call their own format: the member "format" at the head of each, and "format_version". */
#ifndef SW_FILES_FORMATS_H
#define SW_FILES_FORMATS_H

#define SW_FORMAT_INSPECTION "seamwright-inspection"
#define SW_FORMAT_PLAN "seamwright-plan"
#define SW_FORMAT_RECHECK "seamwright-recheck"
#define SW_FORMAT_ARRANGE "seamwright-arrangement"
#define SW_FORMAT_LENS "seamwright-lens"
#define SW_FORMAT_PICTURE "seamwright-picture"

/* Of every one of them. */
enum { SW_FORMAT_VERSION = 1 };

#endif
