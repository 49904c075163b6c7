/* page.c - the page as a file: its template filled, its looks, its script and its data put in. */
#include <stdlib.h>

#include "pages/assets.h"
#include "pages/data.h"
#include "pages/fill.h"

static bool has_what_it_opens(const sw_page *page)
{
    switch (page->open) {
    case SW_PAGE_PLAN:
        return page->plan;
    case SW_PAGE_COMPARISON:
        return page->recheck && page->before;
    case SW_PAGE_ARRANGEMENT:
        return page->arrangement;
    default:
        return !page->recheck || page->before;
    }
}

sw_status sw_report_page(const sw_page *page, const char *path, sw_error *err)
{
    sw_sheet sheet;
    if (!page->inspection || !has_what_it_opens(page))
        return sw_fail(err, SW_BAD_INPUT, "%s: this page needs an inspection, and what it is to show of it", path);
    json_t *data;
    sw_status status = sw_page_data(page, &data, err);
    if (status)
        return status;
    char *text = sw_page_data_text(data);
    const sw_raw raw[] = {
        {"style", (const char *)sw_page_style}, {"script", (const char *)sw_page_script}, {"data", text}, {NULL, NULL}};
    sw_sheet_start(&sheet);
    status = text ? sw_fill((const char *)sw_page_template, data, raw, &sheet, err) : SW_OK;
    sheet.failed |= !text;
    json_decref(data);
    free(text);
    if (!status)
        return sw_sheet_save(&sheet, path, err);
    sw_sheet_free(&sheet);
    return status;
}
