/* page.c - report.html: one page that needs no network. Verdict first, then one next step, then the rest. */
#include "report/page/page.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/recheck/page.h"

/* Of both style sheets that a report may need besides the pages' own, bytes. */
enum { STYLE_ROOM = 8192 };

static void put_verdict(sw_sheet *sheet, const sw_inspection *inspection, const sw_comparison *since)
{
    sw_sheet words, unseen;
    sw_sheet_start(&words);
    sw_sheet_start(&unseen);
    if (since)
        sw_recheck_words_verdict(&words, since->recheck, since->before, inspection);
    else
        sw_words_verdict(&words, inspection);
    sw_words_unseen(&unseen, inspection);
    sw_page_verdict(sheet, sw_inspection_verdict(inspection), &words, &unseen);
}

/* After an earlier inspection the next step is that of the comparison: what came off counts in it. */
static void put_next_since(sw_sheet *sheet, const sw_recheck *recheck)
{
    sw_page_next(sheet, recheck->next);
    if (!recheck->stop)
        sw_page_mask(sheet);
    sw_sheet_put(sheet, "</section>\n");
    sw_page_mind(sheet, &recheck->notes);
}

static void put_next(sw_sheet *sheet, const sw_inspection *inspection)
{
    const sw_advice *first = sw_first_advice(inspection);
    sw_sheet deed;
    sw_sheet_start(&deed);
    if (first) {
        sw_words_begin(&deed, inspection);
        sw_words_deed(&deed, inspection, first);
        sw_sheet_put(&deed, ".");
    } else {
        sw_words_next(&deed, inspection);
    }
    sheet->failed |= deed.failed;
    sw_page_next(sheet, deed.text ? deed.text : "");
    sw_sheet_free(&deed);
    if (first) {
        sw_sheet_put(sheet, "<p class=\"why\">");
        sw_page_text(sheet, first->reason);
        sw_sheet_put(sheet, "</p>\n");
    }
    if (sw_any_sanding(inspection))
        sw_page_mask(sheet);
    sw_sheet_put(sheet, "</section>\n");
}

/* A whole file in memory, for free(); NULL with a message otherwise. */
static unsigned char *read_file(const char *path, size_t *count, sw_error *err)
{
    unsigned char *bytes = NULL;
    FILE *file = fopen(path, "rb");
    long size = -1;
    if (file && fseek(file, 0, SEEK_END) == 0)
        size = ftell(file);
    if (size >= 0 && fseek(file, 0, SEEK_SET) == 0 && (bytes = malloc((size_t)size + 1)))
        *count = fread(bytes, 1, (size_t)size, file);
    if (!bytes || *count != (size_t)size) {
        sw_fail(err, SW_CANNOT_READ, "%s: cannot be read (%s); write the overlay again", path, strerror(errno));
        free(bytes);
        bytes = NULL;
    }
    if (file)
        fclose(file);
    return bytes;
}

static sw_status put_overlay(sw_sheet *sheet, const sw_inspection *inspection, const char *overlay_png, sw_error *err)
{
    size_t count = 0;
    if (!overlay_png)
        return SW_OK;
    unsigned char *bytes = read_file(overlay_png, &count, err);
    if (!bytes)
        return SW_CANNOT_READ;
    sw_sheet_put(sheet,
                 "<h2>The table from straight above</h2>\n<figure><img alt=\"The table from straight above, each seam "
                 "drawn with its gap; the figures are in the list of seams below\" src=\"data:image/png;base64,");
    sw_sheet_base64(sheet, bytes, count);
    free(bytes);
    sw_sheet_put(sheet, "\">\n<figcaption>%d by %d tiles of ", inspection->table.columns, inspection->table.rows);
    sw_sheet_number(sheet, inspection->table.tile_mm, 0, "?");
    sw_sheet_put(sheet, " mm, named by column letter and row number from the photo&#39;s top left. North is the top of "
                        "the photo.</figcaption></figure>\n");
    return SW_OK;
}

static void put_foot(sw_sheet *sheet, const sw_inspection *inspection)
{
    sw_sheet_put(sheet, "</main>\n<footer>Photo ");
    sw_sheet_html(sheet, inspection->file);
    if (inspection->repeatability)
        sw_sheet_put(sheet, " (the first of %zu)", inspection->repeatability->photo_count);
    sw_sheet_put(sheet, ", %d by %d px", inspection->width_px, inspection->height_px);
    if (inspection->taken[0]) {
        sw_sheet_put(sheet, ", taken ");
        sw_sheet_html(sheet, inspection->taken);
    }
    if (inspection->camera[0]) {
        sw_sheet_put(sheet, ", ");
        sw_sheet_html(sheet, inspection->camera);
    }
    sw_sheet_put(sheet, ". ");
    sw_page_foot(sheet, "All figures are also in inspection.json, seams.csv and edges.csv");
}

static void put_header(sw_sheet *sheet, const sw_inspection *inspection, const sw_comparison *since)
{
    char style[STYLE_ROOM];
    snprintf(style, sizeof style, "%s%s", sw_page_tops_style, since ? sw_recheck_page_style : "");
    sw_page_head(sheet, "Seams of", inspection->file, style);
    put_verdict(sheet, inspection, since);
    if (since)
        put_next_since(sheet, since->recheck);
    else
        put_next(sheet, inspection);
    sw_page_mind(sheet, &inspection->notes);
    sw_sheet_put(sheet, "</header>\n<main>\n");
}

static void put_since(sw_sheet *sheet, const sw_inspection *inspection, const sw_comparison *since)
{
    sw_sheet_put(sheet, "<h2>Since the earlier inspection</h2>\n");
    sw_recheck_page_rounds(sheet, since->recheck, since->before);
    sw_recheck_page_changes(sheet, since->recheck, since->before, inspection);
}

static void put_work(sw_sheet *sheet, const sw_inspection *inspection)
{
    sw_page_edges(sheet, inspection);
    if (sw_inspection_verdict(inspection) == SW_OVER)
        sw_page_order(sheet);
}

sw_status sw_report_page(const sw_inspection *inspection, const char *overlay_png, const char *path, sw_error *err)
{
    return sw_report_page_after(inspection, NULL, overlay_png, path, err);
}

sw_status sw_report_page_after(const sw_inspection *inspection, const sw_comparison *since, const char *overlay_png,
                               const char *path, sw_error *err)
{
    sw_sheet sheet;
    size_t *order = sw_seams_worst_first(inspection);
    sw_sheet_start(&sheet);
    sheet.failed |= !order && inspection->seam_count;
    put_header(&sheet, inspection, since);
    if (order)
        sw_page_seam_list(&sheet, inspection, order);
    if (since)
        put_since(&sheet, inspection, since);
    if (!since || !since->recheck->stop) /* after a stop no edge is to be worked on */
        put_work(&sheet, inspection);
    sw_status status = put_overlay(&sheet, inspection, overlay_png, err);
    if (order)
        sw_page_seams(&sheet, inspection, order);
    sw_page_tops(&sheet, inspection);
    sw_page_marks(&sheet, inspection);
    sw_page_tiles(&sheet, inspection);
    if (order)
        sw_page_repeat(&sheet, inspection, order);
    sw_page_scale(&sheet, inspection);
    sw_page_budgets(&sheet, inspection);
    sw_page_reading(&sheet, inspection);
    sw_page_safety(&sheet);
    put_foot(&sheet, inspection);
    if (!status)
        status = sw_sheet_save(&sheet, path, err);
    sw_sheet_free(&sheet);
    free(order);
    return status;
}
