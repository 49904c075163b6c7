/* read.c - inspection.json back into an inspection. Nothing in the file is believed before it was looked at. */
#include "report/inspection/read.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "files/formats.h"
#include "report/common/sheet.h"
#include "report/common/words.h"

enum { REFERENCE_ROOM = 64 };
enum { MOST_SQUARES = sizeof((sw_scale *)0)->squares / sizeof(sw_square) };
/* Widest tolerance that means something. */
static const double TOLERANCE_MOST_MM = 1000;

/* ---- the file ---- */

sw_status sw_inspection_read(const char *path, sw_inspection *inspection, sw_error *err)
{
    static const sw_read_kind kind = {"inspection", "inspection.json", "inspect"};
    char *text;
    size_t length;
    memset(inspection, 0, sizeof *inspection);
    sw_status status = sw_read_file(path, &kind, &text, &length, err);
    if (!status)
        status = sw_inspection_parse(text, length, path, inspection, err);
    free(text);
    return status;
}

/* ---- the head ---- */

/* "99.6x99.8" or "100", moving *text on; 0 when it is neither. The program's locale must not matter here. */
static int take_sides(const char **text, double *x, double *y)
{
    for (int k = 0; k < 2; k++) {
        double number = 0, place = 1;
        const char *at = *text;
        for (; *at >= '0' && *at <= '9'; at++)
            number = number * 10 + (*at - '0');
        if (*at == '.')
            for (at++; *at >= '0' && *at <= '9'; at++)
                number += (*at - '0') * (place /= 10);
        if (at == *text)
            return 0;
        *(k ? y : x) = number;
        *text = at;
        if (k == 0 && *at != 'x') {
            *y = number;
            return 1;
        }
        *text += k == 0;
    }
    return 1;
}

static void read_reference(sw_reading *r, const json_t *from, sw_reference *to)
{
    char name[REFERENCE_ROOM];
    const char *at = name;
    sw_read_text(r, from, "reference", SW_MAY, name, sizeof name);
    if (!name[0])
        return;
    int good = take_sides(&at, &to->outer_x_mm, &to->outer_y_mm);
    if (good && *at == '/') {
        at++;
        good = take_sides(&at, &to->inner_x_mm, &to->inner_y_mm);
    }
    if (!good || *at)
        sw_read_wrong(r, "\"reference\" is no card like 100/60");
}

static const char *lens_word(int i)
{
    return sw_lens_source_name((sw_lens_source)i);
}

static void read_photo(sw_reading *r, const json_t *root, sw_inspection *ins)
{
    const json_t *photo = sw_read_object(r, root, "photo", SW_MAY), *from = sw_read_object(r, root, "scale", SW_MAY);
    sw_read_at(r, "\"photo\"");
    sw_read_text(r, photo, "file", SW_MAY, ins->file, sizeof ins->file);
    sw_read_text(r, photo, "taken", SW_MAY, ins->taken, sizeof ins->taken);
    sw_read_text(r, photo, "camera", SW_MAY, ins->camera, sizeof ins->camera);
    ins->width_px = sw_read_whole(r, photo, "width_px", 0, (int)SW_PHOTO_MAX_PIXELS, SW_MAY, 0);
    ins->height_px = sw_read_whole(r, photo, "height_px", 0, (int)SW_PHOTO_MAX_PIXELS, SW_MAY, 0);
    sw_read_at(r, "\"scale\"");
    sw_scale *scale = &ins->scale;
    read_reference(r, from, &scale->reference);
    scale->square_count = sw_read_whole(r, from, "squares", 0, MOST_SQUARES, SW_MAY, 0);
    scale->px_per_mm = sw_read_number(r, from, "px_per_mm", SW_MAY, 0);
    scale->residual_px = sw_read_number(r, from, "residual_px", SW_MAY, 0);
    scale->edge_spread_px = sw_read_number(r, from, "edge_spread_px", SW_MAY, 0);
    scale->edge_spread_u_px = sw_read_number(r, from, "edge_spread_u_px", SW_MAY, 0);
    scale->blur_px = sw_read_number(r, from, "blur_px", SW_MAY, 0);
    const json_t *lens = json_object_get(from, "lens");
    int source = lens ? sw_read_choice(r, lens, "lens", lens_word, SW_LENS_PROFILE + 1) : SW_LENS_NONE;
    scale->lens.source = source < 0 ? SW_LENS_NONE : (sw_lens_source)source;
    sw_read_at(r, "%s", "");
}

static void read_table(sw_reading *r, const json_t *root, sw_inspection *ins)
{
    const json_t *from = sw_read_object(r, root, "table", SW_MUST);
    sw_read_at(r, "\"table\"");
    ins->table.columns = sw_read_whole(r, from, "columns", 1, 26, SW_MUST, 0);
    ins->table.rows = sw_read_whole(r, from, "rows", 1, 99, SW_MUST, 0);
    ins->table.tile_mm = sw_read_number(r, from, "tile_mm", SW_MUST, 0);
    ins->table.tile_given = sw_read_flag(r, from, "tile_given", 0);
    double height = sw_read_number(r, from, "height_mm", SW_MAY, 0);
    ins->table.height_mm = height > 0 ? height : 0;
    if (!(ins->table.tile_mm > 0))
        sw_read_wrong(r, "\"tile_mm\" is no size of a tile");
    sw_read_at(r, "%s", "");
    ins->tolerance_mm = sw_read_number(r, root, "tolerance_mm", SW_MUST, 0);
    if (!(ins->tolerance_mm > 0 && ins->tolerance_mm <= TOLERANCE_MOST_MM))
        sw_read_wrong(r, "\"tolerance_mm\" is no width of a gap");
}

static void check_format(sw_reading *r, const json_t *root)
{
    const char *format = json_string_value(json_object_get(root, "format"));
    const json_t *version = json_object_get(root, "format_version");
    if (!format || strcmp(format, SW_FORMAT_INSPECTION) != 0)
        r->status = sw_fail(r->err, SW_BAD_INPUT,
                            "%.255s: not an inspection (its format is not \"" SW_FORMAT_INSPECTION "\"); name the "
                            "inspection.json that 'seamwright inspect' wrote",
                            r->path);
    else if (json_is_integer(version) && json_integer_value(version) > SW_FORMAT_VERSION)
        r->status = sw_fail(r->err, SW_BAD_INPUT,
                            "%.255s: has format version %lld, and this program reads version %d; use the newer program "
                            "that wrote it",
                            r->path, (long long)json_integer_value(version), SW_FORMAT_VERSION);
    else if (!json_is_integer(version) || json_integer_value(version) != SW_FORMAT_VERSION)
        sw_read_wrong(r, "\"format_version\" is not %d", SW_FORMAT_VERSION);
}

/* ---- the whole ---- */

static void read_warnings(sw_reading *r, const json_t *root, sw_inspection *ins)
{
    sw_read_at(r, "%s", "");
    const json_t *list = sw_read_list(r, root, "warnings", SW_MAY);
    ins->warnings = sw_read_room(r, json_array_size(list), sizeof *ins->warnings);
    for (size_t i = 0; !r->status && i < json_array_size(list); i++) {
        const char *text = json_string_value(json_array_get(list, i));
        if (text)
            sw_utf8_clean(text, ins->warnings[ins->warning_count++], sizeof *ins->warnings);
        else
            sw_read_wrong(r, "one of \"warnings\" is no text");
    }
}

/* The distance between stations, where the file does not say it. */
static double step_of(const sw_inspection *ins)
{
    for (size_t i = 0; i < ins->seam_count; i++)
        if (ins->seams[i].station_count > 1)
            return ins->seams[i].stations[1].at_mm - ins->seams[i].stations[0].at_mm;
    return 0;
}

sw_status sw_inspection_parse(const char *text, size_t length, const char *path, sw_inspection *ins, sw_error *err)
{
    json_error_t where;
    sw_reading r = {.path = path, .err = err};
    memset(ins, 0, sizeof *ins);
    json_t *root = json_loadb(text, length, JSON_REJECT_DUPLICATES, &where);
    if (!root)
        return sw_fail(err, SW_BAD_INPUT,
                       "%.200s: not well-formed JSON (line %d: %.120s); name the inspection.json that 'seamwright "
                       "inspect' wrote, or make it again",
                       path, where.line, where.text);
    check_format(&r, root);
    read_photo(&r, root, ins);
    read_table(&r, root, ins);
    sw_read_tiles(&r, root, ins);
    sw_read_seams(&r, root, ins);
    sw_read_marks(&r, root, ins);
    sw_read_ranking(&r, root, ins);
    read_warnings(&r, root, ins);
    ins->step_mm = sw_read_number(&r, root, "step_mm", SW_MAY, step_of(ins));
    json_decref(root);
    if (r.status)
        sw_inspection_free(ins);
    return r.status;
}
