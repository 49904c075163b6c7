/* data.h - what a page knows: one object, which the template is filled from and the page's script reads. README.md says what
 * is in it. */
#ifndef SW_PAGES_DATA_H
#define SW_PAGES_DATA_H

#include <jansson.h>

#include "seamwright/page.h"

/* NULL: memory is out. */
json_t *sw_page_data(const sw_page *page);
/* Its member "says": sentences by the same words as the console's. */
json_t *sw_page_says(const sw_page *page);
/* The object as text that may stand within a script element, for free(); NULL: memory is out. */
char *sw_page_data_text(json_t *data);

#endif
