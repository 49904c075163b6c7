/* plan.c - plan.json, plan.html and strips.pdf into a folder: all of them or none. */
#include "files/all_or_none.h"
#include "files/formats.h"
#include "report/folder/pictures.h"

enum { JSON, PAGE };

static const char *const NAMES[] = {"plan.json", "plan.html", "strips.pdf", NULL};
static const sw_overwrite RULE = {
    .how = SW_OVERWRITE_IN_OURS,
    .groups = SW_GROUPS,
    .proofs = (const char *const[]){"inspection.json", "plan.json", NULL},
    .deny = "is there already and holds no inspection or plan of ours; choose another folder or move it away",
    .deny_file = "was not written by plan and is left alone; move it or choose another folder with -o",
    .no_folder = "is a file, not a folder; choose another folder for the plan"};

typedef struct writing {
    const sw_plan *plan;
    const sw_inspection *first;
    const sw_paper *paper;
    const char *pictures;
} writing;

static sw_status write_one(size_t which, char *const *paths, const void *context, sw_error *err)
{
    const writing *what = context;
    if (which == JSON)
        return sw_report_plan_json(what->plan, what->first, paths[which], err);
    if (which == PAGE) {
        const sw_page page = {.open = SW_PAGE_PLAN, .inspection = what->first, .plan = what->plan};
        return sw_page_with_pictures(&page, what->pictures, NULL, paths[which], err);
    }
    return sw_report_strips(what->plan, what->first, what->paper, paths[which], err);
}

sw_status sw_report_plan_write(const sw_plan *plan, const sw_inspection *first, const sw_paper *paper,
                               const char *pictures, const char *folder, sw_error *err)
{
    const writing what = {plan, first, paper, pictures};
    const sw_files files = {RULE, NAMES, write_one, &what};
    return sw_files_write(&files, folder, err);
}
