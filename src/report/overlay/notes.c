/* notes.c - what is written on the picture: names, figures, the worst place, chips. */
#include <math.h>
#include <stdio.h>

#include "paper/letters.h"
#include "report/common/sign.h"
#include "report/common/words.h"
#include "report/overlay/overlay.h"

/* A name stands this share of a tile north of its middle: the middle of an upright seam carries its figure. */
static const double NAME_NORTH = 0.24;
static const double NAME_SIZE = 1.7, RING_RADIUS = 0.95; /* in text heights */
/* A figure with its uncertainty is some 8 text heights wide, without it 4; a tile must be wider than that to carry it.
 */
static const double ROOM_FOR_BOTH = 11, ROOM_FOR_ONE = 5;

/* A sign leaves air in its box; beside figures it fills more of it. */
static const double SIGN_SIZE = 1.15;

double sw_overlay_text(const sw_canvas *canvas, double x, double y, double size, bool bold, bool draw, const char *text)
{
    cairo_text_extents_t extents;
    cairo_font_extents_t font;
    sw_letters_choose(canvas->pen, bold ? SW_LETTERS_BOLD : SW_LETTERS_PLAIN, size);
    cairo_text_extents(canvas->pen, text, &extents);
    if (draw) {
        cairo_font_extents(canvas->pen, &font);
        cairo_move_to(canvas->pen, x, y + (font.ascent - font.descent) / 2);
        cairo_show_text(canvas->pen, text);
    }
    return extents.x_advance;
}

void sw_overlay_sign(const sw_canvas *canvas, sw_verdict verdict, double x, double y, double size)
{
    cairo_t *pen = canvas->pen;
    cairo_save(pen);
    cairo_translate(pen, x, y);
    cairo_scale(pen, SIGN_SIZE * size / SW_SIGN_SIDE, SIGN_SIZE * size / SW_SIGN_SIDE);
    cairo_translate(pen, -SW_SIGN_SIDE / 2.0, -SW_SIGN_SIDE / 2.0);
    sw_canvas_colour(canvas, sw_style_of(verdict).line);
    cairo_set_line_width(pen, 0.2 * SW_SIGN_SIDE);
    cairo_set_line_cap(pen, CAIRO_LINE_CAP_ROUND);
    cairo_new_path(pen);
    for (const sw_sign_line *line = sw_sign(verdict); line->kind; line++) {
        const sw_point *to = line->to;
        if (line->kind == 'M')
            cairo_move_to(pen, to->x, to->y);
        else if (line->kind == 'L')
            cairo_line_to(pen, to->x, to->y);
        else
            cairo_curve_to(pen, to[0].x, to[0].y, to[1].x, to[1].y, to[2].x, to[2].y);
    }
    cairo_stroke(pen);
    cairo_restore(pen);
}

void sw_overlay_ring(const sw_canvas *canvas, double x, double y, double radius)
{
    for (int pass = 0; pass < 2; pass++) {
        cairo_new_path(canvas->pen);
        cairo_arc(canvas->pen, x, y, radius, 0, 2 * M_PI);
        sw_canvas_colour(canvas, pass ? SW_INK : SW_PAPER_WHITE);
        cairo_set_line_width(canvas->pen, (pass ? 0.12 : 0.26) * canvas->font_px);
        cairo_stroke(canvas->pen);
    }
}

void sw_overlay_chip_mark(const sw_canvas *canvas, double x, double y, double size)
{
    cairo_t *pen = canvas->pen;
    cairo_new_path(pen);
    cairo_move_to(pen, x, y - size / 2);
    cairo_line_to(pen, x + size / 2, y + size / 2);
    cairo_line_to(pen, x - size / 2, y + size / 2);
    cairo_close_path(pen);
    sw_canvas_colour(canvas, SW_PAPER_WHITE);
    cairo_fill_preserve(pen);
    sw_canvas_colour(canvas, SW_INK);
    cairo_set_line_width(pen, 0.08 * canvas->font_px);
    cairo_stroke(pen);
}

void sw_overlay_names(const sw_canvas *canvas, const sw_inspection *inspection)
{
    double size = NAME_SIZE * canvas->font_px;
    for (size_t i = 0; i < inspection->tile_count; i++) {
        const sw_tile *tile = &inspection->tiles[i];
        sw_point north = {tile->centre_mm.x, tile->centre_mm.y + NAME_NORTH * inspection->table.tile_mm};
        sw_point at = sw_canvas_place(canvas, north);
        double width = sw_overlay_text(canvas, 0, 0, size, true, false, tile->name), pad = 0.25 * size;
        cairo_new_path(canvas->pen);
        cairo_rectangle(canvas->pen, at.x - width / 2 - pad, at.y - size * 0.62, width + 2 * pad, size * 1.24);
        cairo_set_source_rgba(canvas->pen, 1, 1, 1, 0.6);
        cairo_fill(canvas->pen);
        sw_canvas_colour(canvas, SW_INK);
        sw_overlay_text(canvas, at.x - width / 2, at.y, size, true, true, tile->name);
    }
}

/* Where a chip on an edge at the table's rim is. */
static sw_point chip_on_rim(const sw_canvas *canvas, const sw_tile *tile, const sw_chip *chip)
{
    static const int from[] = {SW_NW, SW_NE, SW_SW, SW_NW}, to[] = {SW_NE, SW_SE, SW_SE, SW_SW};
    unsigned side = (unsigned)chip->side % 4;
    sw_point a = tile->corners[from[side]].mm, b = tile->corners[to[side]].mm;
    double share = chip->at_mm / fmax(hypot(b.x - a.x, b.y - a.y), 1);
    return sw_canvas_place(canvas, (sw_point){a.x + (b.x - a.x) * share, a.y + (b.y - a.y) * share});
}

void sw_overlay_chips(const sw_canvas *canvas, const sw_inspection *inspection)
{
    double size = 0.6 * canvas->font_px, beside_mm = 0.9 * canvas->font_px / canvas->px_per_mm;
    for (size_t i = 0; i < inspection->seam_count; i++)
        for (size_t k = 0; k < inspection->seams[i].chip_count; k++) {
            const sw_seam *seam = &inspection->seams[i];
            const sw_chip *chip = &seam->chips[k];
            bool on_second = chip->side == (seam->upright ? SW_WEST : SW_NORTH);
            sw_point at = sw_canvas_on_seam(canvas, seam, chip->at_mm, on_second ? beside_mm : -beside_mm);
            sw_overlay_chip_mark(canvas, at.x, at.y, size);
        }
    for (size_t i = 0; i < inspection->tile_count; i++)
        for (size_t k = 0; k < inspection->tiles[i].chip_count; k++) {
            sw_point at = chip_on_rim(canvas, &inspection->tiles[i], &inspection->tiles[i].chips[k]);
            sw_overlay_chip_mark(canvas, at.x, at.y, size);
        }
}

static void figure_of(const sw_seam *seam, bool with_u95, char *text, size_t room)
{
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    if (!isfinite(seam->max_mm))
        sw_sheet_put(&sheet, "not seen");
    else if (with_u95)
        sw_words_figure(&sheet, seam->max_mm, seam->max_u95_mm);
    else
        sw_sheet_number(&sheet, seam->max_mm, 1, "");
    snprintf(text, room, "%s", sheet.text ? sheet.text : "");
    sw_sheet_free(&sheet);
}

/* A white plate with the verdict's sign and the seam's widest gap; its corner nearest the seam at `at`. */
static void plate(const sw_canvas *canvas, const sw_seam *seam, sw_point at, const char *figure, double border)
{
    double size = canvas->font_px, high = 1.35 * size, sign = 0.6 * size, pad = 0.35 * size;
    double wide = 3 * pad + sign + sw_overlay_text(canvas, 0, 0, size, true, false, figure);
    double x = seam->upright ? at.x : at.x - wide / 2, y = seam->upright ? at.y - high / 2 : at.y - high;
    x = fmax(0, fmin(x, canvas->width_px - wide));
    y = fmax(0, fmin(y, canvas->picture_px - high));
    cairo_new_path(canvas->pen);
    cairo_rectangle(canvas->pen, x, y, wide, high);
    sw_canvas_colour(canvas, SW_PAPER_WHITE);
    cairo_fill_preserve(canvas->pen);
    sw_canvas_colour(canvas, sw_style_of(seam->verdict).line);
    cairo_set_line_width(canvas->pen, border * size);
    cairo_stroke(canvas->pen);
    sw_overlay_sign(canvas, seam->verdict, x + pad + sign / 2, y + high / 2, sign);
    sw_canvas_colour(canvas, SW_INK);
    sw_overlay_text(canvas, x + 2 * pad + sign, y + high / 2, size, true, true, figure);
}

/* Half of a ribbon's greatest width and a little air: how far from the seam's line a plate stands. */
static double clearance_mm(const sw_canvas *canvas, const sw_seam *seam, double more_px)
{
    double half = isfinite(seam->max_mm) ? seam->max_mm * canvas->widened / 2 : 0;
    return half + (0.3 * canvas->font_px + more_px) / canvas->px_per_mm;
}

/* Where along a seam its plate stands, mm: beside the worst place but clear of the seams that cross at the ends, or in
 * the middle; moved aside where it would hide a chip's mark. */
static double plate_at(const sw_canvas *canvas, const sw_seam *seam, bool ringed)
{
    static const double shifts[] = {0, -0.14, 0.14};
    double wanted = ringed ? fmax(0.26, fmin(0.74, seam->max_at_mm / seam->length_mm)) : 0.5;
    double half_mm = (seam->upright ? 1.2 : 4.4) * canvas->font_px / canvas->px_per_mm;
    for (size_t i = 0; i < sizeof shifts / sizeof shifts[0]; i++) {
        double at_mm = (wanted + shifts[i]) * seam->length_mm;
        bool hides = false;
        for (size_t k = 0; k < seam->chip_count; k++)
            hides |= fabs(seam->chips[k].at_mm - at_mm) < half_mm;
        if (!hides)
            return at_mm;
    }
    return wanted * seam->length_mm;
}

static void leader(const sw_canvas *canvas, sw_point from, sw_point to, double radius)
{
    double x = to.x - from.x, y = to.y - from.y, length = hypot(x, y);
    if (!(length > radius))
        return;
    for (int pass = 0; pass < 2; pass++) {
        cairo_new_path(canvas->pen);
        cairo_move_to(canvas->pen, from.x + x * radius / length, from.y + y * radius / length);
        cairo_line_to(canvas->pen, to.x, to.y);
        sw_canvas_colour(canvas, pass ? SW_INK : SW_PAPER_WHITE);
        cairo_set_line_width(canvas->pen, (pass ? 0.12 : 0.26) * canvas->font_px);
        cairo_stroke(canvas->pen);
    }
}

static void label(const sw_canvas *canvas, const sw_seam *seam, bool ringed, bool with_u95)
{
    double at_mm = plate_at(canvas, seam, ringed), radius = RING_RADIUS * canvas->font_px;
    double away = clearance_mm(canvas, seam, ringed ? radius : 0);
    sw_point at = sw_canvas_on_seam(canvas, seam, at_mm, seam->upright ? away : -away);
    char figure[48];
    figure_of(seam, with_u95, figure, sizeof figure);
    if (ringed) {
        sw_point ring = sw_canvas_on_seam(canvas, seam, seam->max_at_mm, 0);
        leader(canvas, ring, at, radius);
        sw_overlay_ring(canvas, ring.x, ring.y, radius);
    }
    plate(canvas, seam, at, figure, ringed ? 0.14 : 0.06);
}

bool sw_overlay_full_figures(const sw_canvas *canvas, const sw_inspection *inspection)
{
    return inspection->table.tile_mm * canvas->px_per_mm >= ROOM_FOR_BOTH * canvas->font_px;
}

void sw_overlay_labels(const sw_canvas *canvas, const sw_inspection *inspection, size_t worst)
{
    double tile_px = inspection->table.tile_mm * canvas->px_per_mm;
    const sw_seam *ringed = worst < inspection->seam_count ? &inspection->seams[worst] : NULL;
    if (ringed && !(isfinite(ringed->max_at_mm) && ringed->length_mm > 0))
        ringed = NULL;
    for (size_t i = 0; i < inspection->seam_count; i++)
        if (&inspection->seams[i] != ringed && tile_px >= ROOM_FOR_ONE * canvas->font_px)
            label(canvas, &inspection->seams[i], false, sw_overlay_full_figures(canvas, inspection));
    if (ringed)
        label(canvas, ringed, true, true);
}
