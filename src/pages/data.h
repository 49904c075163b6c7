/* data.h - what a page knows: one object, which the template is filled from and the page's script reads. README.md says what
 * is in it. */
#ifndef SW_PAGES_DATA_H
#define SW_PAGES_DATA_H

#include <jansson.h>

#include "seamwright/page.h"

/* For json_decref. SW_NO_MEMORY; SW_CANNOT_READ: a picture that is there. */
sw_status sw_page_data(const sw_page *page, json_t **data, sw_error *err);
/* Its member "says": sentences by the same words as the console's; NULL: memory is out. */
json_t *sw_page_says(const sw_page *page);
/* The object as text that may stand within a script element, for free(); NULL: memory is out. */
char *sw_page_data_text(json_t *data);

#endif
