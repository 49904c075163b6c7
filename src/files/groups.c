#include "files/formats.h"
#include "files/overwrite.h"

const sw_group SW_GROUPS[] = {
    {"inspection.json", SW_FORMAT_INSPECTION,
     (const char *const[]){"inspection.json", "seams.csv", "edges.csv", "overlay.png", "table.jpg", "seams.jpg",
                           "report.html", NULL}},
    {"plan.json", SW_FORMAT_PLAN, (const char *const[]){"plan.json", "plan.html", "strips.pdf", NULL}},
    {"recheck.json", SW_FORMAT_RECHECK, (const char *const[]){"recheck.json", "recheck.html", NULL}},
    {"arrange.json", SW_FORMAT_ARRANGE, (const char *const[]){"arrange.json", "arrange.html", NULL}},
    {NULL, NULL, NULL}};
