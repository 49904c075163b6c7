/* pictures.h - where a page finds the pictures that lie beside an inspection. */
#ifndef SW_REPORT_FOLDER_PICTURES_H
#define SW_REPORT_FOLDER_PICTURES_H

#include "seamwright/page.h"

#define SW_TABLE_PICTURE "table.jpg"
#define SW_SEAMS_PICTURE "seams.jpg"

/* sw_report_page with the pictures in two folders, either of which may be NULL, in place of the page's own. */
sw_status sw_page_with_pictures(const sw_page *page, const char *folder, const char *before_folder, const char *path,
                                sw_error *err);

#endif
