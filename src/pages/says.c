/* says.c - the sentences of a page, each by the words that the console has for it. */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "inspection/order.h"
#include "pages/data.h"
#include "pages/says.h"
#include "report/arrange/words.h"
#include "report/common/words.h"
#include "report/plan/words.h"
#include "report/recheck/words.h"
#include "json/json.h"

json_t *sw_say(sw_sheet *sheet)
{
    json_t *text = NULL;
    if (!sheet->failed) {
        text = json_stringn(sheet->text ? sheet->text : "", sheet->length);
        if (!text) /* no UTF-8, or no memory */
            text = sw_json_text(sheet->text ? sheet->text : "");
    }
    sw_sheet_free(sheet);
    return text;
}

void sw_say_set(json_t *to, const char *key, sw_sheet *sheet, bool *failed)
{
    sw_json_set(to, key, sw_say(sheet), failed);
}

static void set_title(json_t *to, const sw_page *page, bool *failed)
{
    static const char *const of[] = {[SW_PAGE_REPORT] = "Seams of",
                                     [SW_PAGE_PLAN] = "Sanding plan for",
                                     [SW_PAGE_COMPARISON] = "Recheck of",
                                     [SW_PAGE_ARRANGEMENT] = "Arrangement of"};
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    sw_sheet_put(&sheet, "%s %s", of[page->open], page->inspection->file);
    sw_say_set(to, "title", &sheet, failed);
}

/* What a plan comes to; seams that were not seen are too close to call. */
static sw_verdict plan_verdict(const sw_plan *plan)
{
    if (sw_plan_fits(plan))
        return SW_WITHIN;
    if (plan->purpose == SW_PLAN_ANY)
        return SW_OVER;
    for (size_t i = 0; i < plan->seam_count; i++)
        if (sw_plan_seam_verdict(plan, &plan->seams[i]) == SW_OVER)
            return SW_OVER;
    return SW_TOO_CLOSE;
}

static sw_verdict verdict_of(const sw_page *page)
{
    switch (page->open) {
    case SW_PAGE_PLAN:
        return plan_verdict(page->plan);
    case SW_PAGE_ARRANGEMENT:
        return sw_arrange_verdict(page->arrangement);
    default:
        return page->recheck ? sw_recheck_verdict(page->recheck) : sw_inspection_verdict(page->inspection);
    }
}

static void set_verdict(json_t *to, const sw_page *page, bool *failed)
{
    static const char *const signs[] = {[SW_WITHIN] = "within", [SW_OVER] = "over", [SW_TOO_CLOSE] = "close"};
    sw_sheet verdict, unseen;
    sw_sheet_start(&verdict);
    sw_sheet_start(&unseen);
    if (page->open == SW_PAGE_PLAN)
        sw_plan_words_verdict(&verdict, page->plan);
    else if (page->open == SW_PAGE_ARRANGEMENT)
        sw_arrange_words_verdict(&verdict, page->arrangement);
    else if (page->recheck)
        sw_recheck_words_verdict(&verdict, page->recheck, page->before, page->inspection);
    else
        sw_words_verdict(&verdict, page->inspection);
    if (page->open == SW_PAGE_REPORT || page->open == SW_PAGE_COMPARISON)
        sw_words_unseen(&unseen, page->inspection);
    sw_json_set(to, "sign", json_string(page->inspection->seam_count ? signs[verdict_of(page)] : "none"), failed);
    sw_say_set(to, "verdict", &verdict, failed);
    sw_say_set(to, "unseen", &unseen, failed);
}

/* "2026-03-02 11:17:00" -> ", 2 March 2026, 11:17"; what is not written so stands as it is. */
static void put_taken(sw_sheet *sheet, const char *taken)
{
    static const char *const months[] = {"January", "February", "March",     "April",   "May",      "June",
                                         "July",    "August",   "September", "October", "November", "December"};
    unsigned year, month, day, hour, minute;
    if (sscanf(taken, "%4u-%2u-%2u %2u:%2u", &year, &month, &day, &hour, &minute) == 5 && month >= 1 && month <= 12)
        sw_sheet_put(sheet, ", %u %s %u, %02u:%02u", day, months[month - 1], year, hour, minute);
    else if (taken[0])
        sw_sheet_put(sheet, ", %s", taken);
}

static void set_table(json_t *to, const sw_inspection *of, bool *failed)
{
    sw_sheet table, photo;
    sw_sheet_start(&table);
    sw_sheet_start(&photo);
    sw_sheet_put(&table, "%d × %d tiles of %.0f mm", of->table.columns, of->table.rows, of->table.tile_mm);
    sw_sheet_put(&photo, "%s", of->file);
    put_taken(&photo, of->taken);
    if (of->camera[0])
        sw_sheet_put(&photo, ", %s", of->camera);
    if (of->repeatability && of->repeatability->photo_count > 1)
        sw_sheet_put(&photo, ", and %zu more", of->repeatability->photo_count - 1);
    sw_say_set(to, "table", &table, failed);
    sw_say_set(to, "photo", &photo, failed);
}

static const char *next_given(const sw_page *page)
{
    if (page->open == SW_PAGE_PLAN)
        return page->plan->next;
    if (page->open == SW_PAGE_ARRANGEMENT)
        return page->arrangement->next;
    if (page->recheck)
        return page->recheck->next;
    return page->plan && page->plan->work_count ? page->plan->next : NULL; /* the list's first line */
}

static void set_next(json_t *to, const sw_page *page, bool *failed)
{
    const sw_advice *first = sw_first_advice(page->inspection);
    const char *given = next_given(page), *why = given || !first ? "" : first->reason;
    json_t *next = json_object();
    sw_sheet deed;
    sw_sheet_start(&deed);
    if (given) {
        sw_sheet_put(&deed, "%s", given);
    } else if (first) {
        sw_words_begin(&deed, page->inspection);
        sw_words_deed(&deed, page->inspection, first);
        sw_sheet_put(&deed, ".");
    } else {
        sw_words_next(&deed, page->inspection);
    }
    sw_say_set(next, "deed", &deed, failed);
    sw_json_set(next, "why", sw_json_text(why), failed);
    sw_json_set(to, "next", next, failed);
}

/* Whether the page tells to sand or cut. */
static bool sands(const sw_page *page)
{
    if (page->open == SW_PAGE_ARRANGEMENT)
        return false;
    if (page->recheck && (page->open == SW_PAGE_REPORT || page->open == SW_PAGE_COMPARISON))
        return !page->recheck->stop;
    return (page->plan && sw_plan_any_sanding(page->plan)) ||
           (page->open == SW_PAGE_REPORT && (sw_any_sanding(page->inspection) || page->inspection->top_count));
}

static void set_cautions(json_t *to, const sw_page *page, bool *failed)
{
    json_t *list = json_array();
    for (const char *const *caution = sw_cautions; *caution; caution++)
        sw_json_append(list, json_string(*caution), failed);
    sw_json_set(to, "mask", json_string(sands(page) ? sw_cautions_short : ""), failed);
    sw_json_set(to, "cautions", list, failed);
}

static bool needs_order(const sw_page *page)
{
    if (page->open == SW_PAGE_ARRANGEMENT)
        return true;
    if (page->open == SW_PAGE_REPORT && !page->recheck)
        return sw_inspection_verdict(page->inspection) == SW_OVER;
    return sands(page);
}

static void set_order(json_t *to, const sw_page *page, bool *failed)
{
    json_t *list = json_array();
    for (int i = 0; needs_order(page) && i < SW_ORDER_STEPS; i++) {
        json_t *step = json_object();
        sw_sheet name;
        sw_sheet_start(&name);
        sw_sheet_put(&name, "%c%s", toupper((unsigned char)sw_order[i].name[0]), sw_order[i].name + 1);
        sw_say_set(step, "step", &name, failed);
        sw_json_set(step, "text", json_string(sw_order[i].says), failed);
        sw_json_append(list, step, failed);
    }
    sw_json_set(to, "order", list, failed);
}

/* Each sentence once. */
static void append_notes(json_t *list, const sw_notes *notes, bool *failed)
{
    for (size_t i = 0; i < notes->count; i++) {
        /* These stand elsewhere: set_guessed, set_proposal. */
        bool there = notes->list[i].kind == SW_NOTE_CARD_GUESSED || notes->list[i].kind == SW_NOTE_LEAN_TOLD_BY;
        for (size_t k = 0; k < json_array_size(list); k++)
            there |= strcmp(json_string_value(json_array_get(list, k)), notes->list[i].text) == 0;
        if (!there)
            sw_json_append(list, sw_json_text(notes->list[i].text), failed);
    }
}

static void append_answers(json_t *list, const sw_lean_answer *answers, size_t count, const sw_inspection *first,
                           bool *failed)
{
    sw_sheet sheet;
    if (!count)
        return;
    sw_sheet_start(&sheet);
    sw_words_answers(&sheet, answers, count, first);
    sw_json_append(list, sw_say(&sheet), failed);
}

static void set_mind(json_t *to, const sw_page *page, bool *failed)
{
    json_t *list = json_array();
    if (page->recheck)
        append_notes(list, &page->recheck->notes, failed);
    if (page->open == SW_PAGE_REPORT)
        append_notes(list, &page->inspection->notes, failed);
    if (page->plan) {
        append_answers(list, page->plan->answers, page->plan->answer_count, page->inspection, failed);
        append_notes(list, &page->plan->notes, failed);
    }
    if (page->arrangement) {
        append_answers(list, page->arrangement->answers, page->arrangement->answer_count, page->inspection, failed);
        append_notes(list, &page->arrangement->notes, failed);
    }
    sw_json_set(to, "mind", list, failed);
}

static void set_leave(json_t *to, const sw_inspection *of, bool *failed)
{
    char edge[EDGE_NAME_ROOM];
    sw_sheet sheet;
    bool any = false;
    sw_sheet_start(&sheet);
    for (size_t i = 0; i < of->advice_count; i++) {
        const sw_advice *advice = &of->ranking[i];
        if (advice->action != SW_LEAVE)
            continue;
        sw_sheet_put(&sheet, "%s%s",
                     any ? ", " : "Leave as they are: ", sw_edge_name(of, advice->tile, advice->side, edge));
        any = true;
    }
    sw_sheet_put(&sheet, "%s", any ? "." : "");
    sw_say_set(to, "leave", &sheet, failed);
}

static void set_repeat(json_t *to, const sw_inspection *of, bool *failed)
{
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    if (of->repeatability)
        sw_words_repeat(&sheet, of);
    sw_say_set(to, "repeat", &sheet, failed);
}

/* What was guessed of the cards stands beside the verdict: all figures hang on it. */
static void set_guessed(json_t *to, const sw_inspection *of, bool *failed)
{
    const char *text = "";
    for (size_t i = 0; i < of->notes.count; i++)
        if (of->notes.list[i].kind == SW_NOTE_CARD_GUESSED)
            text = of->notes.list[i].text;
    sw_json_set(to, "guessed", sw_json_text(text), failed);
}

json_t *sw_page_says(const sw_page *page)
{
    bool failed = false;
    json_t *says = json_object();
    set_title(says, page, &failed);
    set_verdict(says, page, &failed);
    set_table(says, page->inspection, &failed);
    set_guessed(says, page->inspection, &failed);
    set_next(says, page, &failed);
    set_cautions(says, page, &failed);
    set_mind(says, page, &failed);
    set_order(says, page, &failed);
    set_leave(says, page->inspection, &failed);
    sw_say_plan(says, page->plan, page->inspection, &failed);
    sw_say_seams(says, page->inspection, &failed);
    sw_say_tops(says, page->inspection, &failed);
    sw_say_marks(says, page->inspection, &failed);
    set_repeat(says, page->inspection, &failed);
    sw_say_arrangement(says, page->arrangement, page->inspection, &failed);
    if (!failed)
        return says;
    json_decref(says);
    return NULL;
}
