#include "pages/data.h"

#include <stdlib.h>
#include <string.h>

#include "maths/guard.h"
#include "report/common/sheet.h"
#include "report/common/trees.h"
#include "report/picture/picture.h"
#include "seamwright/seamwright.h"
#include "json/json.h"

enum { DIGITS = 12 }; /* as in the JSON files */

static const char *const OPEN[] = {[SW_PAGE_REPORT] = "report",
                                   [SW_PAGE_PLAN] = "plan",
                                   [SW_PAGE_COMPARISON] = "comparison",
                                   [SW_PAGE_ARRANGEMENT] = "arrangement"};

/* What sw_seam_verdict_at needs. */
static json_t *guard(const sw_inspection *of, bool *failed)
{
    json_t *object = json_object(), *seams = json_array();
    for (size_t i = 0; i < of->seam_count; i++) {
        const sw_seam *seam = &of->seams[i];
        json_t *one = json_object();
        double u95_mm = seam->seen_u95_mm > 0 ? seam->seen_u95_mm : seam->max_u95_mm;
        sw_json_set(one, "max_mm", sw_json_number(seam->max_mm, SW_EXACT), failed);
        sw_json_set(one, "u95_mm", sw_json_number(u95_mm, SW_EXACT), failed);
        sw_json_set(one, "hidden_mm", sw_json_number(seam->hidden_mm, SW_EXACT), failed);
        sw_json_append(seams, one, failed);
    }
    sw_json_set(object, "share", sw_json_number(SW_GUARD, SW_EXACT), failed);
    sw_json_set(object, "seams", seams, failed);
    return object;
}

static json_t *pictures(const sw_page *page, bool *failed)
{
    json_t *object = json_object();
    sw_json_set(object, "table", sw_picture_data(page->table_picture, SW_PICTURE_TABLE, page->inspection), failed);
    sw_json_set(object, "seams", sw_picture_data(page->seams_picture, SW_PICTURE_SEAMS, page->inspection), failed);
    sw_json_set(object, "before_seams",
                page->before ? sw_picture_data(page->before_seams_picture, SW_PICTURE_SEAMS, page->before)
                             : json_null(),
                failed);
    return object;
}

json_t *sw_page_data(const sw_page *page)
{
    bool failed = false;
    const sw_inspection *of = page->inspection;
    double limit_mm = page->recheck ? page->recheck->tolerance_mm : of->tolerance_mm;
    json_t *data = json_object();
    sw_json_set(data, "open", sw_json_text(OPEN[page->open]), &failed);
    sw_json_set(data, "program", json_string("seamwright " SW_VERSION), &failed);
    json_t *says = sw_page_says(page);
    /* So that the template leaves out the headings of empty lists. */
    sw_json_set(data, "has_work", json_boolean(json_array_size(json_object_get(says, "work"))), &failed);
    sw_json_set(data, "has_mind", json_boolean(json_array_size(json_object_get(says, "mind"))), &failed);
    sw_json_set(data, "has_strips", json_boolean(json_array_size(json_object_get(says, "strips"))), &failed);
    sw_json_set(data, "has_order", json_boolean(json_array_size(json_object_get(says, "order"))), &failed);
    sw_json_set(data, "has_cannot", json_boolean(json_array_size(json_object_get(says, "cannot"))), &failed);
    sw_json_set(data, "says", says, &failed);
    sw_json_set(data, "guard", guard(of, &failed), &failed);
    sw_json_set(data, "inspection", sw_inspection_tree(of), &failed);
    sw_json_set(data, "plan", page->plan ? sw_plan_tree(page->plan, of) : json_null(), &failed);
    sw_json_set(data, "recheck", page->recheck ? sw_recheck_tree(page->recheck, page->before, of) : json_null(),
                &failed);
    sw_json_set(data, "before", page->before ? sw_inspection_tree(page->before) : json_null(), &failed);
    sw_json_set(data, "arrangement", page->arrangement ? sw_arrangement_tree(page->arrangement, of) : json_null(),
                &failed);
    sw_json_set(data, "rounds", sw_rounds_tree(page->recheck ? page->before : NULL, of, limit_mm), &failed);
    sw_json_set(data, "pictures", pictures(page, &failed), &failed);
    if (!failed)
        return data;
    json_decref(data);
    return NULL;
}

/* What would end a script element, or a line of a script: in JSON these stand only in texts, where they may be escaped. */
static const struct {
    const char *text, *escaped;
} ESCAPES[] = {{"<", "\\u003c"}, {">", "\\u003e"}, {"&", "\\u0026"}, {"\u2028", "\\u2028"}, {"\u2029", "\\u2029"}};

/* The pictures themselves are elements of the page, where they show without script, too: the data says where they lie. */
static char *dump_without_sources(json_t *data)
{
    static const char *const names[] = {"table", "seams", "before_seams"};
    enum { COUNT = sizeof names / sizeof *names };
    json_t *pictures = json_object_get(data, "pictures"), *sources[COUNT];
    for (int i = 0; i < COUNT; i++) {
        json_t *picture = json_object_get(pictures, names[i]);
        sources[i] = json_incref(json_object_get(picture, "src"));
        json_object_del(picture, "src");
    }
    char *text = json_dumps(data, JSON_COMPACT | JSON_REAL_PRECISION(DIGITS));
    bool back = true;
    for (int i = 0; i < COUNT; i++)
        if (sources[i] && json_object_set_new(json_object_get(pictures, names[i]), "src", sources[i]))
            back = false;
    if (back)
        return text;
    free(text);
    return NULL;
}

char *sw_page_data_text(json_t *data)
{
    sw_sheet sheet;
    char *text = dump_without_sources(data);
    sw_sheet_start(&sheet);
    sheet.failed |= !text;
    for (const char *at = text; at && *at;) {
        size_t plain = strcspn(at, "<>&\xE2"), length = plain ? plain : 1;
        const char *put = at;
        for (size_t i = 0; !plain && i < sizeof ESCAPES / sizeof *ESCAPES; i++)
            if (strncmp(at, ESCAPES[i].text, strlen(ESCAPES[i].text)) == 0) {
                put = ESCAPES[i].escaped;
                length = strlen(ESCAPES[i].text);
            }
        sw_sheet_bytes(&sheet, put, put == at ? length : strlen(put));
        at += length;
    }
    free(text);
    return sw_sheet_take(&sheet);
}
