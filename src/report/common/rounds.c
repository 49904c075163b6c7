#include "report/common/trees.h"
#include "json/json.h"

enum { MM = 4 }; /* decimals, as in inspection.json */

static void add(json_t *to, const char *photo, int over, int close, int seams, double limit_mm, bool *failed)
{
    json_t *round = json_object();
    sw_json_set(round, "photo", sw_json_text(photo), failed);
    sw_json_set(round, "over", json_integer(over), failed);
    sw_json_set(round, "close", json_integer(close), failed);
    sw_json_set(round, "within", json_integer(seams - over - close), failed);
    sw_json_set(round, "limit_mm", sw_json_number(limit_mm, MM), failed);
    sw_json_append(to, round, failed);
}

static void add_inspection(json_t *to, const sw_inspection *one, double limit_mm, bool *failed)
{
    int of[3] = {0};
    for (size_t i = 0; i < one->seam_count; i++)
        of[sw_verdict_of(one->seams[i].max_mm, one->seams[i].max_u95_mm, limit_mm)]++;
    add(to, one->file, of[SW_OVER], of[SW_TOO_CLOSE], (int)one->seam_count, limit_mm, failed);
}

json_t *sw_rounds_tree(const sw_inspection *before, const sw_inspection *last, double limit_mm)
{
    const sw_inspection *follows = before ? before : last;
    bool failed = false;
    json_t *list = json_array();
    for (size_t i = 0; i < follows->round_count; i++) {
        const sw_round *r = &follows->rounds[i];
        add(list, r->file, r->over, r->too_close, r->seams, r->tolerance_mm, &failed);
    }
    if (before)
        add_inspection(list, before, limit_mm, &failed);
    add_inspection(list, last, limit_mm, &failed);
    if (!failed)
        return list;
    json_decref(list);
    return NULL;
}
