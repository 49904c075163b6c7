/* write.c - plan.json, plan.html and strips.pdf into a folder: all of them or none. */
#include "files/beside.h"
#include "seamwright/plan.h"

enum { JSON, PAGE, STRIPS, FILES };
static const char *const NAMES[FILES] = {"plan.json", "plan.html", "strips.pdf"};

typedef struct writing {
    const sw_plan *plan;
    const sw_inspection *first;
    const sw_paper *paper;
} writing;

static sw_status write_one(size_t which, const char *path, const void *context, sw_error *err)
{
    const writing *what = context;
    if (which == JSON)
        return sw_report_plan_json(what->plan, what->first, path, err);
    if (which == PAGE)
        return sw_report_plan_page(what->plan, what->first, path, err);
    return sw_report_strips(what->plan, what->first, what->paper, path, err);
}

sw_status sw_report_plan_write(const sw_plan *plan, const sw_inspection *first, const sw_paper *paper,
                               const char *folder, sw_error *err)
{
    const writing what = {plan, first, paper};
    const sw_beside files = {
        .names = NAMES,
        .count = FILES,
        .write = write_one,
        .context = &what,
        .ours = SW_FOLDER_INSPECTION | SW_FOLDER_PLAN,
        .only_ours = 1,
        .deny = "is there already and holds no inspection or plan of ours; choose another folder or move it away",
        .no_folder = "is a file, not a folder; choose another folder for the plan"};
    return sw_beside_write(&files, folder, err);
}
