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

static sw_status set_pictures(json_t *to, const sw_page *page, bool *failed, sw_error *err)
{
    const struct {
        const char *name, *path;
        sw_picture_of of;
        const sw_inspection *inspection;
    } all[] = {{"table", page->table_picture, SW_PICTURE_TABLE, page->inspection},
               {"seams", page->seams_picture, SW_PICTURE_SEAMS, page->inspection},
               {"before_seams", page->before ? page->before_seams_picture : NULL, SW_PICTURE_SEAMS, page->before}};
    json_t *pictures = json_object();
    sw_status status = SW_OK;
    for (size_t i = 0; !status && i < sizeof all / sizeof *all; i++) {
        json_t *data;
        status = sw_picture_data(all[i].path, all[i].of, all[i].inspection, &data, err);
        sw_json_set(pictures, all[i].name, data, failed);
    }
    sw_json_set(to, "pictures", pictures, failed);
    return status;
}

/* What the JSON files hold. */
static void set_files(json_t *to, const sw_page *page, bool *failed)
{
    const sw_inspection *of = page->inspection;
    const sw_plan *plan = page->plan;
    const sw_recheck *recheck = page->recheck;
    const sw_arrangement *arrangement = page->arrangement;
    sw_json_set(to, "inspection", sw_inspection_tree(of), failed);
    sw_json_set(to, "plan", plan ? sw_plan_tree(plan, of) : json_null(), failed);
    sw_json_set(to, "recheck", recheck ? sw_recheck_tree(recheck, page->before, of) : json_null(), failed);
    sw_json_set(to, "before", page->before ? sw_inspection_tree(page->before) : json_null(), failed);
    sw_json_set(to, "arrangement", arrangement ? sw_arrangement_tree(arrangement, of) : json_null(), failed);
}

/* Also whether lists are empty, so that the template leaves out their headings. */
static void set_says(json_t *to, const sw_page *page, bool *failed)
{
    /* So that the template leaves out the headings of empty lists. */
    static const char *const lists[][2] = {{"has_work", "work"},
                                           {"has_mind", "mind"},
                                           {"has_strips", "strips"},
                                           {"has_order", "order"},
                                           {"has_cannot", "cannot"}};
    json_t *says = sw_page_says(page);
    for (size_t i = 0; i < sizeof lists / sizeof *lists; i++)
        sw_json_set(to, lists[i][0], json_boolean(json_array_size(json_object_get(says, lists[i][1]))), failed);
    sw_json_set(to, "says", says, failed);
}

sw_status sw_page_data(const sw_page *page, json_t **data, sw_error *err)
{
    bool failed = false;
    const sw_inspection *of = page->inspection;
    double limit_mm = page->recheck ? page->recheck->tolerance_mm : of->tolerance_mm;
    *data = json_object();
    sw_json_set(*data, "open", sw_json_text(OPEN[page->open]), &failed);
    sw_json_set(*data, "program", json_string("seamwright " SW_VERSION), &failed);
    set_says(*data, page, &failed);
    sw_json_set(*data, "guard", guard(of, &failed), &failed);
    set_files(*data, page, &failed);
    sw_json_set(*data, "rounds", sw_rounds_tree(page->recheck ? page->before : NULL, of, limit_mm), &failed);
    sw_status status = set_pictures(*data, page, &failed, err);
    if (!status && failed)
        status = sw_fail(err, SW_NO_MEMORY, "not enough memory for the page; close other programs and try again");
    if (status) {
        json_decref(*data);
        *data = NULL;
    }
    return status;
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
