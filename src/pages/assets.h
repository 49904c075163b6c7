/* assets.h - page.html, page.css and the scripts as the build put them into the program; each ends with 0. */
#ifndef SW_PAGES_ASSETS_H
#define SW_PAGES_ASSETS_H

extern const unsigned char sw_page_template[], sw_page_style[], sw_page_script[];

#endif
