/* order.c - the order of work (inspection/order.h) for the terminal. */
#include "inspection/order.h"

#include "report/common/words.h"

void sw_words_order(sw_sheet *sheet)
{
    char names[SW_ORDER_ROOM];
    sw_sheet_put(sheet, "Order of work: %s.", sw_order_names(names));
}
