/* legend.c - what the lines and signs mean, the scale, and which side is the photo's top. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "report/common/words.h"
#include "report/overlay/overlay.h"

/* In text heights. */
static const double LINE = 1.9, SAMPLE_LENGTH = 2.6, SAMPLE_WIDTH = 0.5, AIR = 0.5, BETWEEN = 1.3;

/* Items are set one after the other and go to the next line where they no longer fit. */
typedef struct flow {
    const sw_canvas *canvas;
    bool draw;
    double size, x, y; /* y: middle of the line */
} flow;

typedef void (*sample)(const flow *at, double x, double length);

static void verdict(const flow *at, sw_verdict shown, double x, double length)
{
    sw_overlay_sample(at->canvas, shown, x, at->y, length, SAMPLE_WIDTH * at->size);
    sw_overlay_sign(at->canvas, shown, x + length + AIR * at->size, at->y, 0.6 * at->size);
}

static void within(const flow *at, double x, double length)
{
    verdict(at, SW_WITHIN, x, length);
}

static void over(const flow *at, double x, double length)
{
    verdict(at, SW_OVER, x, length);
}

static void too_close(const flow *at, double x, double length)
{
    verdict(at, SW_TOO_CLOSE, x, length);
}

static void unseen(const flow *at, double x, double length)
{
    sw_overlay_unseen(at->canvas, (sw_point){x, at->y}, (sw_point){x + length, at->y});
}

static void chip(const flow *at, double x, double length)
{
    sw_overlay_chip_mark(at->canvas, x + length / 2, at->y, 0.6 * at->size);
}

static void ring(const flow *at, double x, double length)
{
    sw_overlay_ring(at->canvas, x + length / 2, at->y, 0.6 * at->size);
}

static void ruler(const flow *at, double x, double length)
{
    cairo_t *pen = at->canvas->pen;
    double tick = 0.35 * at->size;
    cairo_new_path(pen);
    cairo_move_to(pen, x, at->y - tick);
    cairo_line_to(pen, x, at->y + tick);
    cairo_move_to(pen, x, at->y);
    cairo_line_to(pen, x + length, at->y);
    cairo_move_to(pen, x + length, at->y - tick);
    cairo_line_to(pen, x + length, at->y + tick);
    sw_canvas_colour(at->canvas, SW_INK);
    cairo_set_line_width(pen, 0.1 * at->size);
    cairo_stroke(pen);
}

static void north(const flow *at, double x, double length)
{
    cairo_t *pen = at->canvas->pen;
    double middle = x + length / 2, r = 0.6 * at->size;
    cairo_new_path(pen);
    cairo_move_to(pen, middle, at->y - r);
    cairo_line_to(pen, middle + 0.7 * r, at->y + 0.2 * r);
    cairo_line_to(pen, middle - 0.7 * r, at->y + 0.2 * r);
    cairo_close_path(pen);
    cairo_rectangle(pen, middle - 0.2 * r, at->y, 0.4 * r, r);
    sw_canvas_colour(at->canvas, SW_INK);
    cairo_fill(pen);
}

static void item(flow *at, sample show, double length, double air, const char *text)
{
    double before = show ? length + air : 0;
    double wide = before + sw_overlay_text(at->canvas, 0, 0, at->size, false, false, text);
    if (at->x > at->size && at->x + wide > at->canvas->width_px - at->size) {
        at->x = at->size;
        at->y += LINE * at->size;
    }
    if (at->draw) {
        if (show)
            show(at, at->x, length);
        sw_canvas_colour(at->canvas, SW_INK);
        sw_overlay_text(at->canvas, at->x + before, at->y, at->size, false, true, text);
    }
    at->x += wide + BETWEEN * at->size;
}

/* First of all what was read, on a line of its own. */
static void table_item(flow *at, const sw_inspection *inspection)
{
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    sw_words_table(&sheet, inspection);
    char *text = sw_sheet_take(&sheet);
    item(at, NULL, 0, 0, text ? text : "");
    free(text);
    at->x = at->size;
    at->y += LINE * at->size;
}

double sw_overlay_legend(const sw_canvas *canvas, const sw_inspection *inspection, bool draw)
{
    char text[128];
    double size = canvas->font_px * 0.85, length = SAMPLE_LENGTH * size, small = 1.2 * size, air = AIR * size;
    double hundred_px = 100 * canvas->px_per_mm;
    flow at = {canvas, draw, size, size, canvas->picture_px + LINE * size};
    /* The limit with up to two decimals, through integers, so that no locale changes its point. */
    int hundredths = (int)lround(100 * inspection->tolerance_mm);
    snprintf(text, sizeof text, "over the limit of %d.%02d mm", hundredths / 100, abs(hundredths % 100));
    table_item(&at, inspection);
    item(&at, over, length, 1.3 * size, text);
    item(&at, too_close, length, 1.3 * size, "too close to call");
    item(&at, within, length, 1.3 * size, "within the limit");
    item(&at, unseen, length, air, "not seen");
    item(&at, chip, small, air, "chip, left out of the verdict");
    item(&at, ring, small, air, "worst place");
    item(&at, north, small, air, "top of the photo");
    item(&at, ruler, hundred_px, air, "100 mm");
    snprintf(text, sizeof text, "Figures: widest gap of a seam in mm%s. Gaps are drawn %.0f times as wide as they are.",
             sw_overlay_full_figures(canvas, inspection) ? ", with its 95 % uncertainty" : "", canvas->widened);
    item(&at, NULL, 0, 0, text);
    return at.y + LINE * size - canvas->picture_px;
}
