/* cautions.c - the cautions that stand wherever a user is told to sand or cut. */
#include "report/common/page.h"

const char sw_cautions_paper[] =
    "Before you sand or cut: wear an FFP3 or P3 mask, the dust of wood and foam harms the lungs, and eye protection. "
    "Work outdoors or with extraction, fumes and dust do harm. Sharp blades, cut away from you, fingers behind the "
    "edge. Local rules and the makers' data sheets come first; leave licensed work to licensed people.";

void sw_words_mask(sw_sheet *sheet)
{
    sw_sheet_put(sheet, "Sanding or cutting: FFP3 or P3 mask, eye protection, blades away from you, fumes and dust "
                        "outdoors; local rules and licensed work come first.\n");
}

void sw_page_mask(sw_sheet *sheet)
{
    sw_sheet_put(sheet, "<p class=\"mask\"><b>Before you sand or cut:</b> FFP3 or P3 mask, eye protection, blades away "
                        "from you, fumes and dust outdoors or with extraction; local rules come first, and licensed "
                        "work is for licensed people. <a href=\"#safety\">More on safety</a></p>\n");
}

void sw_page_safety(sw_sheet *sheet)
{
    sw_sheet_put(sheet,
                 "<h2 id=\"safety\">Before you sand or cut</h2>\n<ul class=\"words\">\n"
                 "<li><b>Dust:</b> wear an FFP3 or P3 mask, not FFP1 or FFP2; the dust of wood board and of foam harms "
                 "the lungs. Sand outdoors or with extraction at the tool, and wipe up wet rather than sweep.</li>\n"
                 "<li><b>Eyes:</b> wear eye protection for sanding, cutting and blowing off dust.</li>\n"
                 "<li><b>Blades:</b> use sharp ones, cut away from you, keep the other hand behind the edge, and cover "
                 "them when done.</li>\n"
                 "<li><b>Hot wire:</b> its fumes are harmful; use it only outdoors or with extraction, and never leave "
                 "it on unattended.</li>\n"
                 "<li><b>Rules:</b> local rules, your workshop&#39;s rules and the makers&#39; data sheets come before "
                 "this page; leave to licensed people what is theirs to do.</li>\n</ul>\n");
}
