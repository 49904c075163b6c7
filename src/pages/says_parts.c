/* says_parts.c - what a page says of a plan, of each seam, and of an arrangement. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "pages/says.h"
#include "report/arrange/words.h"
#include "report/common/words.h"
#include "report/plan/words.h"
#include "json/json.h"

static void append(json_t *list, sw_sheet *sheet, bool *failed)
{
    sw_json_append(list, sw_say(sheet), failed);
}

static json_t *work_line(size_t i, const char *seam, const char *cause, sw_sheet *deed, sw_sheet *worth, bool *failed)
{
    json_t *line = json_object();
    sw_json_set(line, "rank", json_integer((json_int_t)i + 1), failed);
    sw_json_set(line, "seam", sw_json_text(seam), failed);
    sw_json_set(line, "cause", sw_json_text(cause), failed);
    sw_say_set(line, "do", deed, failed);
    sw_say_set(line, "worth", worth, failed);
    return line;
}

/* One line a seam. A plan for any layout has no list: an edge a line. */
static json_t *work_of(const sw_plan *plan, const sw_inspection *first, bool *failed)
{
    json_t *list = json_array();
    sw_sheet deed, worth;
    for (size_t i = 0; plan && i < plan->work_count; i++) {
        const sw_work_line *line = &plan->work[i];
        sw_sheet_start(&deed);
        sw_sheet_start(&worth);
        sw_sheet_put(&deed, "%s", line->what);
        sw_plan_words_worth(&worth, line);
        sw_json_append(list, work_line(i, sw_plan_work_name(first, line), line->cause, &deed, &worth, failed), failed);
    }
    for (size_t i = 0; plan && plan->purpose == SW_PLAN_ANY && i < plan->edge_count; i++) {
        const sw_edge_plan *edge = &plan->edges[i];
        char name[EDGE_NAME_ROOM];
        sw_sheet_start(&deed);
        sw_sheet_start(&worth);
        sw_plan_words_edge(&deed, edge);
        sw_json_append(list, work_line(i, sw_edge_name(first, edge->tile, edge->side, name), "", &deed, &worth, failed),
                       failed);
    }
    return list;
}

static void set_proposal(json_t *to, const sw_plan *plan, bool *failed)
{
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    if (plan)
        sw_plan_words_proposal(&sheet, plan);
    for (size_t i = 0; plan && i < plan->notes.count; i++)
        if (plan->notes.list[i].kind == SW_NOTE_LEAN_TOLD_BY)
            sw_sheet_put(&sheet, " %s", plan->notes.list[i].text);
    sw_say_set(to, "proposal", &sheet, failed);
}

/* How to do what the list says: only where it is to be done. */
static void set_how(json_t *to, const sw_plan *plan, bool *failed)
{
    json_t *strips = json_array();
    bool open = false, sanding = false;
    for (size_t i = 0; plan && i < plan->edge_count; i++) {
        open |= sw_plan_bevels(&plan->edges[i]) && plan->edges[i].lean == SW_LEAN_OPEN;
        sanding |= sw_plan_sands(&plan->edges[i]);
    }
    for (size_t i = 0; sanding && sw_plan_words_strips[i]; i++)
        sw_json_append(strips, json_string(sw_plan_words_strips[i]), failed);
    sw_json_set(to, "try_square", json_string(open ? sw_plan_words_try_square : ""), failed);
    sw_json_set(to, "strips", strips, failed);
}

void sw_say_plan(json_t *to, const sw_plan *plan, const sw_inspection *first, bool *failed)
{
    json_t *cannot = json_array();
    sw_sheet promise, amount;
    sw_sheet_start(&promise);
    sw_sheet_start(&amount);
    if (plan) {
        sw_plan_words_verdict(&promise, plan);
        sw_plan_words_work(&amount, plan);
    }
    for (size_t i = 0; plan && i < plan->cannot.count; i++)
        sw_json_append(cannot, sw_json_text(plan->cannot.list[i].text), failed);
    sw_say_set(to, "promise", &promise, failed);
    sw_say_set(to, "amount", &amount, failed);
    sw_json_set(to, "work", work_of(plan, first, failed), failed);
    sw_json_set(to, "cannot", cannot, failed);
    set_proposal(to, plan, failed);
    set_how(to, plan, failed);
}

static void put_chip(sw_sheet *sheet, const sw_inspection *of, const sw_chip *chip)
{
    char edge[EDGE_NAME_ROOM];
    sw_sheet_put(sheet, " Chip in %s at ", sw_edge_name(of, chip->tile, chip->side, edge));
    sw_sheet_number(sheet, chip->at_mm, 0, "?");
    sw_sheet_put(sheet, " mm: ");
    sw_sheet_number(sheet, chip->length_mm, 0, "?");
    sw_sheet_put(sheet, " mm long, ");
    sw_sheet_number(sheet, chip->depth_mm, 1, "?");
    sw_sheet_put(sheet, " mm deep. Fill it; it is left out of the verdict.");
}

/* Why a part was not seen, where a note says so. */
static const char *why_unseen(const sw_inspection *of, const char *seam)
{
    for (size_t i = 0; i < of->notes.count; i++) {
        const sw_note *note = &of->notes.list[i];
        bool tells =
            note->kind == SW_NOTE_SEAM_UNSEEN || note->kind == SW_NOTE_LINE_BESIDE || note->kind == SW_NOTE_TILE_UNSEEN;
        for (size_t k = 0; tells && k < note->place_count; k++)
            if (strcmp(note->places[k], seam) == 0)
                return note->text;
    }
    return NULL;
}

static void put_unseen(sw_sheet *sheet, const sw_inspection *of, const sw_seam *seam)
{
    const char *why = why_unseen(of, seam->name);
    double share = sw_seam_unseen(seam);
    if (why)
        sw_sheet_put(sheet, " %s", why);
    else if (share > 0)
        sw_sheet_put(sheet, " %.0f %% of it was not seen. Move what lies on it and take the photo again.",
                     ceil(100 * share));
}

void sw_say_seams(json_t *to, const sw_inspection *of, bool *failed)
{
    json_t *list = json_array();
    for (size_t i = 0; i < of->seam_count; i++) {
        const sw_seam *seam = &of->seams[i];
        sw_sheet sheet;
        sw_sheet_start(&sheet);
        if (isfinite(seam->max_mm)) {
            sw_sheet_put(&sheet, seam->max_mm < SW_CLOSED_BELOW_MM ? "Closed: " : "Widest ");
            sw_words_figure(&sheet, seam->max_mm, seam->max_u95_mm);
            sw_sheet_put(&sheet, " mm");
            sw_words_place(&sheet, seam);
            sw_sheet_put(&sheet, ".");
        } else {
            sw_sheet_put(&sheet, "Nothing of it could be measured.");
        }
        for (size_t c = 0; c < seam->chip_count; c++)
            put_chip(&sheet, of, &seam->chips[c]);
        put_unseen(&sheet, of, seam);
        append(list, &sheet, failed);
    }
    sw_json_set(to, "seam_text", list, failed);
}

void sw_say_tops(json_t *to, const sw_inspection *of, bool *failed)
{
    json_t *list = json_array();
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    if (sw_words_tops(&sheet, of))
        append(list, &sheet, failed);
    else
        sw_sheet_free(&sheet);
    if (of->lippage_mm > 0) {
        sw_sheet_start(&sheet);
        sw_words_steps(&sheet, of);
        append(list, &sheet, failed);
    }
    for (size_t i = 0; i < of->top_count; i++) {
        sw_sheet_start(&sheet);
        sw_words_top_deed(&sheet, of, &of->tops[i]);
        sw_sheet_put(&sheet, ". %s", of->tops[i].reason);
        append(list, &sheet, failed);
    }
    sw_json_set(to, "tops", list, failed);
}

/* Which tile goes where. */
void sw_say_arrangement(json_t *to, const sw_arrangement *arrangement, const sw_inspection *first, bool *failed)
{
    json_t *list = json_array();
    int places =
        arrangement && arrangement->better ? arrangement->after.layout.columns * arrangement->after.layout.rows : 0;
    for (int p = 0; p < places; p++) {
        sw_sheet sheet;
        if (!sw_arrange_changed(arrangement, p))
            continue;
        sw_sheet_start(&sheet);
        sw_arrange_words_deed(&sheet, arrangement, first, p);
        sw_sheet_put(&sheet, ".");
        append(list, &sheet, failed);
    }
    sw_json_set(to, "arrangement", list, failed);
}
