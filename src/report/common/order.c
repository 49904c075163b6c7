/* order.c - the order of work (inspection/order.h) for the terminal and for every page. */
#include "inspection/order.h"

#include <ctype.h>

#include "report/common/page.h"

void sw_words_order(sw_sheet *sheet)
{
    char names[SW_ORDER_ROOM];
    sw_sheet_put(sheet, "Order of work: %s.", sw_order_names(names));
}

void sw_page_order(sw_sheet *sheet)
{
    sw_sheet_put(sheet, "<h2>Order of work</h2>\n<ol class=\"words\">\n");
    for (int i = 0; i < SW_ORDER_STEPS; i++) {
        sw_sheet_put(sheet, "<li><b>%c%s.</b> ", toupper((unsigned char)sw_order[i].name[0]), sw_order[i].name + 1);
        sw_page_text(sheet, sw_order[i].says);
        sw_sheet_put(sheet, "</li>\n");
    }
    sw_sheet_put(sheet, "</ol>\n");
}
