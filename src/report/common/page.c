/* page.c - what every page has: its head, headline, signs, figures and cautions. */
#include "report/common/page.h"
#include "report/common/sign.h"
#include "seamwright/seamwright.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

const char *sw_page_class(sw_verdict verdict)
{
    return verdict == SW_OVER ? "over" : verdict == SW_WITHIN ? "within" : "close";
}

/* A sign as the d of a path. */
static void put_sign(sw_sheet *sheet, sw_verdict verdict)
{
    for (const sw_sign_line *line = sw_sign(verdict); line->kind; line++) {
        sw_sheet_put(sheet, "%c%g %g", line->kind, line->to[0].x, line->to[0].y);
        for (int i = 1; line->kind == 'C' && i < 3; i++)
            sw_sheet_put(sheet, " %g %g", line->to[i].x, line->to[i].y);
    }
}

void sw_page_sign(sw_sheet *sheet, sw_verdict verdict)
{
    sw_sheet_put(sheet, "<svg class=\"sign\" viewBox=\"0 0 %d %d\" aria-hidden=\"true\"><path d=\"", SW_SIGN_SIDE,
                 SW_SIGN_SIDE);
    put_sign(sheet, verdict);
    sw_sheet_put(sheet, "\"/></svg>");
}

/* Does the blank at `at` stand between a figure and its ± or its unit? */
static bool keeps_together(const char *text, const char *at)
{
    static const char plus_minus[] = "±";
    size_t wide = sizeof plus_minus - 1;
    if (strncmp(at + 1, plus_minus, wide) == 0 ||
        ((size_t)(at - text) >= wide && strncmp(at - wide, plus_minus, wide) == 0))
        return true;
    return at > text && at[-1] >= '0' && at[-1] <= '9' && (strncmp(at + 1, "mm", 2) == 0 || at[1] == '%');
}

void sw_page_text(sw_sheet *sheet, const char *plain)
{
    char piece[512];
    const char *from = plain;
    for (const char *at = plain;; at++) {
        bool together = *at == ' ' && keeps_together(plain, at);
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

void sw_page_figure_mm(sw_sheet *sheet, double value, double u95, const char *mm)
{
    sw_page_figure(sheet, value, u95);
    sw_sheet_put(sheet, "%s", isfinite(value) ? mm : "");
}

void sw_page_figure_cell(sw_sheet *sheet, double value, double u95)
{
    sw_sheet_put(sheet, "<td>");
    sw_page_figure(sheet, value, u95);
    sw_sheet_put(sheet, "</td>");
}

void sw_page_head(sw_sheet *sheet, const char *what, const char *file, const char *more_style)
{
    sw_sheet_put(sheet,
                 "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                 "<meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">\n<title>%s ",
                 what);
    sw_sheet_html(sheet, file);
    sw_sheet_put(sheet,
                 "</title>\n<style>\n%s%s</style>\n</head>\n<body>\n"
                 "<svg width=\"0\" height=\"0\" style=\"position:absolute\" aria-hidden=\"true\"><defs><pattern "
                 "id=\"hatch\" width=\"8\" height=\"8\" patternUnits=\"userSpaceOnUse\"><path d=\"M-2 6 6-2M2 10 10 "
                 "2\" stroke=\"#77746a\"/></pattern></defs></svg>\n",
                 sw_page_style, more_style);
}

void sw_page_plain(sw_sheet *sheet, sw_sheet *plain)
{
    sheet->failed |= plain->failed;
    if (plain->text)
        sw_page_text(sheet, plain->text);
    sw_sheet_free(plain);
}

void sw_page_disc(sw_sheet *sheet, sw_verdict verdict, double x, double y)
{
    static const double RADIUS = 9.5, HALF = 6; /* of the disc, of the sign's 24 units drawn at half size */
    sw_sheet_put(sheet, "<circle class=\"disc\" cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\"/>", x, y, RADIUS);
    sw_sheet_put(sheet, "<path class=\"mark\" transform=\"translate(%.1f %.1f) scale(.5)\" d=\"", x - HALF, y - HALF);
    put_sign(sheet, verdict);
    sw_sheet_put(sheet, "\"/>");
}

void sw_page_seam_sign(sw_sheet *sheet, sw_verdict verdict, double x, double y, bool upright, double max_mm,
                       double clear)
{
    sw_page_disc(sheet, verdict, x, y);
    sw_sheet_put(sheet, "<text x=\"%.1f\" y=\"%.1f\">", upright ? x : x + 25 + clear,
                 upright ? y + 22 + clear : y + 4 + clear / 2);
    sw_sheet_number(sheet, max_mm, 2, "?");
    sw_sheet_put(sheet, "</text>");
}

void sw_page_verdict(sw_sheet *sheet, sw_verdict verdict, sw_sheet *words, sw_sheet *more)
{
    sw_sheet_put(sheet, "<header>\n<div class=\"verdict %s\">", sw_page_class(verdict));
    sw_page_sign(sheet, verdict);
    sw_sheet_put(sheet, "<div><h1>");
    sw_page_plain(sheet, words);
    sw_sheet_put(sheet, "</h1>");
    if (more) {
        sw_sheet_put(sheet, "\n<p>");
        sw_page_plain(sheet, more);
        sw_sheet_put(sheet, "</p>");
    }
    sw_sheet_put(sheet, "</div></div>\n");
}

void sw_page_next(sw_sheet *sheet, const char *deed)
{
    sw_sheet_put(sheet, "<section class=\"next\"><h2>Next</h2>\n<p class=\"deed\">");
    sw_page_text(sheet, deed);
    sw_sheet_put(sheet, "</p>\n");
}

void sw_page_foot(sw_sheet *sheet, const char *figures)
{
    sw_sheet_put(sheet, "Made by seamwright %s. %s beside this page.</footer>\n</body>\n</html>\n", SW_VERSION,
                 figures);
}

void sw_page_mind(sw_sheet *sheet, const sw_notes *notes)
{
    if (!notes->count)
        return;
    sw_sheet_put(sheet, "<section class=\"mind\"><h3>Mind</h3>\n<ul>\n");
    for (size_t i = 0; i < notes->count; i++) {
        sw_sheet_put(sheet, "<li class=\"why\">");
        sw_page_text(sheet, notes->list[i].text);
        sw_sheet_put(sheet, "</li>\n");
    }
    sw_sheet_put(sheet, "</ul></section>\n");
}
