/* read_marks.c - the half-way marks of an inspection.json. */
#include <math.h>

#include "report/inspection/read.h"

static void read_mark(sw_reading *r, const sw_inspection *ins, const json_t *from, sw_mark *mark)
{
    if (!sw_read_edge_name(ins, json_string_value(json_object_get(from, "edge")), &mark->tile, &mark->side))
        sw_read_wrong(r, "\"edge\" is no edge of this table's tiles");
    mark->seam = -1;
    for (size_t i = 0; i < ins->seam_count; i++) {
        const sw_seam *s = &ins->seams[i];
        int upright = mark->side == SW_EAST || mark->side == SW_WEST,
            later = mark->side == SW_WEST || mark->side == SW_NORTH;
        if (s->upright == upright && (later ? s->second : s->first) == mark->tile)
            mark->seam = (int)i;
    }
    if (mark->seam < 0)
        sw_read_wrong(r, "a half-way mark lies at no seam");
    mark->at_mm = sw_read_number(r, from, "at_mm", SW_MUST, NAN);
    mark->from_half_mm = sw_read_number(r, from, "from_half_mm", SW_MUST, NAN);
    mark->u95_mm = sw_read_number(r, from, "u95_mm", SW_MUST, NAN);
    mark->step_mm = sw_read_number(r, from, "step_mm", SW_MUST, NAN);
    mark->step_u95_mm = sw_read_number(r, from, "step_u95_mm", SW_MUST, NAN);
    mark->u_random_mm = mark->step_u_random_mm = mark->mm.x = mark->mm.y = NAN; /* not in the file */
}

void sw_read_marks(sw_reading *r, const json_t *root, sw_inspection *ins)
{
    sw_read_at(r, "\"marks\"");
    const json_t *list = sw_read_list(r, root, "marks", SW_MAY);
    if (json_array_size(list) > 2 * ins->seam_count)
        sw_read_wrong(r, "a seam has two marks at most");
    if (r->status)
        return;
    ins->marks = sw_read_room(r, json_array_size(list), sizeof *ins->marks);
    for (size_t i = 0; !r->status && i < json_array_size(list); i++)
        read_mark(r, ins, json_array_get(list, i), &ins->marks[ins->mark_count++]);
}
