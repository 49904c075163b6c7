/* page.c - report.html: one page that needs no network. Verdict first, then one next step, then the rest. */
#include "page.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "seamwright/seamwright.h"

const char *sw_page_class(sw_verdict verdict)
{
    return verdict == SW_OVER ? "over" : verdict == SW_WITHIN ? "within" : "close";
}

const char *sw_page_end(int upright)
{
    return upright ? "from its north end" : "from its west end";
}

const char *sw_page_sign_path(sw_verdict verdict)
{
    static const char *const paths[] = {
        "M3.5 12.5 9.5 19 20.5 5.5",                                  /* tick */
        "M5 5 19 19M19 5 5 19",                                       /* cross */
        "M7 8.5C7 2.5 17 2.5 17 8.5 17 12 12 12 12 15.5M12 20.5v.01", /* question mark */
    };
    return paths[(unsigned)verdict % 3];
}

void sw_page_sign(sw_sheet *sheet, sw_verdict verdict)
{
    sw_sheet_put(sheet, "<svg class=\"sign\" viewBox=\"0 0 24 24\" aria-hidden=\"true\"><path d=\"%s\"/></svg>",
                 sw_page_sign_path(verdict));
}

/* 1 when the blank at `at` stands between a figure and its ± or its unit. */
static int keeps_together(const char *text, const char *at)
{
    static const char plus_minus[] = "±";
    size_t wide = sizeof plus_minus - 1;
    if (strncmp(at + 1, plus_minus, wide) == 0 ||
        ((size_t)(at - text) >= wide && strncmp(at - wide, plus_minus, wide) == 0))
        return 1;
    return at > text && at[-1] >= '0' && at[-1] <= '9' && (strncmp(at + 1, "mm", 2) == 0 || at[1] == '%');
}

void sw_page_text(sw_sheet *sheet, const char *plain)
{
    char piece[512];
    const char *from = plain;
    for (const char *at = plain;; at++) {
        int together = *at == ' ' && keeps_together(plain, at);
        if (*at && !together && (size_t)(at - from) < sizeof piece - 1)
            continue;
        snprintf(piece, sizeof piece, "%.*s", (int)(at - from), from);
        sw_sheet_html(sheet, piece);
        if (!*at)
            break;
        sw_sheet_put(sheet, together ? "&nbsp;" : "%c", *at);
        from = at + 1;
    }
}

void sw_page_figure(sw_sheet *sheet, double value, double u95)
{
    sw_sheet_put(sheet, "<span class=\"figure\">");
    sw_words_figure(sheet, value, u95);
    sw_sheet_put(sheet, "</span>");
}

/* A sentence made as plain text, escaped. */
static void put_words(sw_sheet *sheet, const sw_inspection *inspection,
                      void (*words)(sw_sheet *, const sw_inspection *))
{
    sw_sheet plain;
    sw_sheet_start(&plain);
    words(&plain, inspection);
    sw_page_plain(sheet, &plain);
}

static void put_unseen(sw_sheet *plain, const sw_inspection *inspection)
{
    sw_words_unseen(plain, inspection);
}

void sw_page_head(sw_sheet *sheet, const char *what, const char *file, const char *more_style)
{
    sw_sheet_put(sheet,
                 "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                 "<meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">\n<title>%s ",
                 what);
    sw_sheet_html(sheet, file);
    sw_sheet_put(
        sheet,
        "</title>\n<style>\n%s%s</style>\n</head>\n<body>\n"
        "<svg width=\"0\" height=\"0\" style=\"position:absolute\" aria-hidden=\"true\"><defs><pattern id=\"hatch\" "
        "width=\"8\" height=\"8\" patternUnits=\"userSpaceOnUse\"><path d=\"M-2 6 6-2M2 10 10 2\" stroke=\"#77746a\"/>"
        "</pattern></defs></svg>\n",
        sw_page_style, more_style);
}

void sw_page_plain(sw_sheet *sheet, sw_sheet *plain)
{
    sheet->failed |= plain->failed;
    if (plain->text)
        sw_page_text(sheet, plain->text);
    sw_sheet_free(plain);
}

void sw_page_seam_sign(sw_sheet *sheet, sw_verdict verdict, double x, double y, int upright, double max_mm,
                       double clear)
{
    static const double RADIUS = 9.5, HALF = 6; /* of the disc, of the sign's 24 units drawn at half size */
    sw_sheet_put(sheet, "<circle class=\"disc\" cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\"/>", x, y, RADIUS);
    sw_sheet_put(sheet, "<path class=\"mark\" transform=\"translate(%.1f %.1f) scale(.5)\" d=\"%s\"/>", x - HALF,
                 y - HALF, sw_page_sign_path(verdict));
    sw_sheet_put(sheet, "<text x=\"%.1f\" y=\"%.1f\">", upright ? x : x + 25 + clear,
                 upright ? y + 22 + clear : y + 4 + clear / 2);
    sw_sheet_number(sheet, max_mm, 2, "?");
    sw_sheet_put(sheet, "</text>");
}

void sw_page_headline(sw_sheet *sheet, sw_verdict verdict)
{
    sw_sheet_put(sheet, "<header>\n<div class=\"verdict %s\">", sw_page_class(verdict));
    sw_page_sign(sheet, verdict);
    sw_sheet_put(sheet, "<div><h1>");
}

static void put_verdict(sw_sheet *sheet, const sw_inspection *inspection)
{
    sw_verdict verdict = sw_inspection_verdict(inspection);
    sw_page_headline(sheet, verdict);
    put_words(sheet, inspection, sw_words_verdict);
    sw_sheet_put(sheet, "</h1>\n<p>");
    put_words(sheet, inspection, put_unseen);
    sw_sheet_put(sheet, "</p></div></div>\n");
}

static void put_first_deed(sw_sheet *plain, const sw_inspection *inspection)
{
    const sw_advice *first = sw_first_advice(inspection);
    if (first) {
        sw_words_deed(plain, inspection, first);
        sw_sheet_put(plain, ".");
    } else {
        sw_words_next(plain, inspection);
    }
}

static void put_next(sw_sheet *sheet, const sw_inspection *inspection)
{
    const sw_advice *first = sw_first_advice(inspection);
    sw_sheet_put(sheet, "<section class=\"next\"><h2>Next</h2>\n<p class=\"deed\">");
    put_words(sheet, inspection, put_first_deed);
    sw_sheet_put(sheet, "</p>\n");
    if (first) {
        sw_sheet_put(sheet, "<p class=\"why\">");
        sw_page_text(sheet, first->reason);
        sw_sheet_put(sheet, "</p>\n");
    }
    if (sw_words_sanding(inspection))
        sw_page_mask(sheet);
    sw_sheet_put(sheet, "</section>\n");
}

void sw_page_mind(sw_sheet *sheet, char (*sentences)[320], size_t count)
{
    if (!count)
        return;
    sw_sheet_put(sheet, "<section class=\"mind\"><h3>Mind</h3>\n<ul>\n");
    for (size_t i = 0; i < count; i++) {
        sw_sheet_put(sheet, "<li class=\"why\">");
        sw_page_text(sheet, sentences[i]);
        sw_sheet_put(sheet, "</li>\n");
    }
    sw_sheet_put(sheet, "</ul></section>\n");
}

void sw_page_mask(sw_sheet *sheet)
{
    sw_sheet_put(sheet,
                 "<p class=\"mask\"><b>Before you sand or cut:</b> FFP3 or P3 mask, eye protection, blades away from "
                 "you, fresh air or extraction. <a href=\"#safety\">More on safety</a></p>\n");
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
    sw_sheet_put(
        sheet,
        "<h2>The table from straight above</h2>\n<figure><img alt=\"The table from straight above, each seam drawn "
        "with its gap; the figures are in the list of seams below\" src=\"data:image/png;base64,");
    sw_sheet_base64(sheet, bytes, count);
    free(bytes);
    sw_sheet_put(sheet, "\">\n<figcaption>%d by %d tiles of ", inspection->table.columns, inspection->table.rows);
    sw_sheet_number(sheet, inspection->table.tile_mm, 0, "?");
    sw_sheet_put(sheet,
                 " mm, named by column letter and row number from the photo&#39;s top left. North is the top of the "
                 "photo.</figcaption></figure>\n");
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
    sw_sheet_put(
        sheet,
        ". Made by seamwright %s. All figures are also in inspection.json, seams.csv and edges.csv beside this "
        "page.</footer>\n</body>\n</html>\n",
        SW_VERSION);
}

sw_status sw_report_page(const sw_inspection *inspection, const char *overlay_png, const char *path, sw_error *err)
{
    sw_sheet sheet;
    size_t *order = sw_seams_worst_first(inspection);
    sw_sheet_start(&sheet);
    sheet.failed |= !order && inspection->seam_count;
    sw_page_head(&sheet, "Seams of", inspection->file, "");
    put_verdict(&sheet, inspection);
    put_next(&sheet, inspection);
    sw_page_mind(&sheet, inspection->warnings, inspection->warning_count);
    sw_sheet_put(&sheet, "</header>\n<main>\n");
    if (order)
        sw_page_seam_list(&sheet, inspection, order);
    sw_page_edges(&sheet, inspection);
    sw_status status = put_overlay(&sheet, inspection, overlay_png, err);
    if (order)
        sw_page_seams(&sheet, inspection, order);
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
