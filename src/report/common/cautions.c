/* cautions.c - the cautions that stand wherever a user is told to sand or cut. */
#include "report/common/words.h"

const char sw_cautions_paper[] =
    "Before you sand or cut: wear an FFP3 or P3 mask, the dust of wood and foam harms the lungs, and eye protection. "
    "Work outdoors or with extraction, fumes and dust do harm. Sharp blades, cut away from you, fingers behind the "
    "edge. Local rules and the makers' data sheets come first; leave licensed work to licensed people.";

const char sw_cautions_short[] =
    "Before you sand or cut: FFP3 or P3 mask, eye protection, blades away from you, fumes and dust outdoors or with "
    "extraction; local rules come first, and licensed work is for licensed people.";

const char *const sw_cautions[] = {
    "Dust: wear an FFP3 or P3 mask, not FFP1 or FFP2; the dust of wood board and of foam harms the lungs. Sand "
    "outdoors or "
    "with extraction at the tool, and wipe up wet rather than sweep.",
    "Eyes: wear eye protection for sanding, cutting and blowing off dust.",
    "Blades: use sharp ones, cut away from you, keep the other hand behind the edge, and cover them when done.",
    "Hot wire: its fumes are harmful; use it only outdoors or with extraction, and never leave it on unattended.",
    "Rules: local rules, your workshop's rules and the makers' data sheets come before this page; leave to licensed "
    "people "
    "what is theirs to do.",
    NULL};

void sw_words_mask(sw_sheet *sheet)
{
    sw_sheet_put(sheet, "Sanding or cutting: FFP3 or P3 mask, eye protection, blades away from you, fumes and dust "
                        "outdoors; local rules and licensed work come first.\n");
}
