/* says_marks.c - half-way marks: whether what is built on them will meet. */
#include <math.h>

#include "pages/says.h"
#include "json/json.h"

/* Roads and rivers of a relief map are some mm wide; a step of 1 mm is where the eye begins to see a kink (rule of the
 * workshop, not measured). A wider limit for gaps allows as much here. */
static const double MEET_MM = 1;

/* What two marks of a seam mean for the maker. */
static void put_advice(sw_sheet *sheet, const sw_inspection *of, const sw_mark *a, const sw_mark *b)
{
    const double limit_mm = fmax(MEET_MM, of->tolerance_mm);
    const sw_mark *worse = fabs(a->from_half_mm) > fabs(b->from_half_mm) ? a : b;
    const char *name = of->tiles[worse->tile].name;
    switch (sw_verdict_of(fabs(a->step_mm), a->step_u95_mm, limit_mm)) {
    case SW_OVER:
        sw_sheet_put(sheet,
                     "What is built on them will not meet. Rub out the mark on %s and mark the half again, measured "
                     "from the same corner as its neighbour's.",
                     name);
        break;
    case SW_TOO_CLOSE:
        sw_sheet_put(sheet,
                     "Too close to call. Lay a rule across the seam, along one mark, and look where the other lies.");
        break;
    default:
        if (sw_verdict_of(fabs(worse->from_half_mm), worse->u95_mm, limit_mm) == SW_OVER)
            sw_sheet_put(sheet,
                         "They meet here, but off the half: beside other tiles they would not. If the tiles are to be "
                         "swapped, mark %s again.",
                         name);
        else
            sw_sheet_put(sheet, "They meet. Leave them.");
    }
}

/* A mark whose neighbour was not found. */
static void put_lone_advice(sw_sheet *sheet, const sw_inspection *of, const sw_mark *mark)
{
    const sw_seam *seam = &of->seams[mark->seam];
    int other = mark->tile == seam->first ? seam->second : seam->first;
    sw_sheet_put(sheet, "No mark was seen on %s: none, covered, or too faint. Look, and mark its half.",
                 of->tiles[other].name);
}

void sw_say_marks(json_t *to, const sw_inspection *of, bool *failed)
{
    json_t *list = json_array();
    for (size_t i = 0; i < of->mark_count; i++) {
        const sw_mark *mark = &of->marks[i];
        bool pair = mark->tile == of->seams[mark->seam].first && i + 1 < of->mark_count && mark[1].seam == mark->seam;
        json_t *one = json_object();
        sw_sheet sheet;
        sw_sheet_start(&sheet);
        if (pair)
            put_advice(&sheet, of, mark, mark + 1);
        else
            put_lone_advice(&sheet, of, mark);
        sw_json_set(one, "seam", sw_json_text(of->seams[mark->seam].name), failed);
        sw_say_set(one, "text", &sheet, failed);
        sw_json_append(list, one, failed);
        i += pair;
    }
    sw_json_set(to, "marks", list, failed);
}
