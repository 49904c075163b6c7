/* json.c - arrange.json: the layout as it is and the one found, both pushed together. */
#include "report/common/json.h"
#include "files/formats.h"

#include <stdlib.h>

#include "seamwright/arrange.h"
#include "seamwright/seamwright.h"

enum { DECIMALS = 4, VERSION = 1 }; /* 0.1 um, as in inspection.json */

static json_t *mm(double value)
{
    return sw_json_number(value, DECIMALS);
}

static json_t *arranged(const sw_arranged *from, const sw_inspection *first, int *failed)
{
    json_t *object = json_object(), *places = json_array(), *seams = json_array();
    char *text = sw_layout_text(&from->layout, first);
    *failed += !text;
    sw_json_set(object, "layout", sw_json_text(text ? text : ""), failed);
    free(text);
    for (int p = 0; p < from->layout.columns * from->layout.rows; p++) {
        json_t *place = json_object();
        sw_json_set(place, "place", sw_json_text(first->tiles[p].name), failed);
        sw_json_set(place, "tile", sw_json_text(first->tiles[from->layout.places[p].tile].name), failed);
        sw_json_set(place, "quarter_turns", json_integer(from->layout.places[p].turns), failed);
        sw_json_append(places, place, failed);
    }
    for (size_t i = 0; i < from->seam_count; i++) {
        json_t *seam = json_object();
        sw_json_set(seam, "name", sw_json_text(from->seams[i].name), failed);
        sw_json_set(seam, "max_mm", mm(from->seams[i].max_mm), failed);
        sw_json_set(seam, "mean_mm", mm(from->seams[i].mean_mm), failed);
        sw_json_append(seams, seam, failed);
    }
    sw_json_set(object, "worst_mm", mm(from->worst_mm), failed);
    sw_json_set(object, "sum_mm", mm(from->sum_mm), failed);
    sw_json_set(object, "places", places, failed);
    sw_json_set(object, "seams", seams, failed);
    return object;
}

sw_status sw_report_arrange_json(const sw_arrangement *arrangement, const sw_inspection *first, const char *path,
                                 sw_error *err)
{
    int failed = 0;
    json_t *root = json_object(), *notes = json_array();
    for (size_t i = 0; i < arrangement->note_count; i++)
        sw_json_append(notes, sw_json_text(arrangement->notes[i]), &failed);
    sw_json_set(root, "format", sw_json_text(SW_FORMAT_ARRANGE), &failed);
    sw_json_set(root, "format_version", json_integer(VERSION), &failed);
    sw_json_set(root, "program", sw_json_text("seamwright " SW_VERSION), &failed);
    sw_json_set(root, "photo", sw_json_text(first->file), &failed);
    sw_json_set(root, "tolerance_mm", mm(arrangement->tolerance_mm), &failed);
    sw_json_set(root, "better", json_boolean(arrangement->better), &failed);
    sw_json_set(root, "moved", json_integer(arrangement->moved), &failed);
    sw_json_set(root, "tried", json_integer((json_int_t)arrangement->tried), &failed);
    sw_json_set(root, "before", arranged(&arrangement->before, first, &failed), &failed);
    sw_json_set(root, "after", arranged(&arrangement->after, first, &failed), &failed);
    sw_json_set(root, "notes", notes, &failed);
    sw_json_set(root, "next", sw_json_text(arrangement->next), &failed);
    sw_status status = failed ? sw_fail(err, SW_NO_MEMORY,
                                        "%s: not enough memory to write it; close other programs and try again", path)
                              : sw_json_save(root, path, err);
    json_decref(root);
    return status;
}
