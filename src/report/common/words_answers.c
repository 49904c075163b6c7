/* words_answers.c - what a try square said, as plan and arrange repeat it. */
#include "report/common/names.h"
#include "report/common/words.h"

void sw_words_answers(sw_sheet *sheet, const sw_lean_answer *answers, size_t count, const sw_inspection *first)
{
    char name[EDGE_NAME_ROOM];
    sw_sheet_put(sheet, "Used what a try square said: ");
    for (size_t i = 0; i < count; i++) {
        const sw_lean_answer *a = &answers[i];
        sw_sheet_put(sheet, "%s%s ", i ? ", " : "", sw_edge_name(first, a->tile, a->side, name));
        if (a->lean_mm > 0)
            sw_sheet_put(sheet, "leans %.1f mm", a->lean_mm);
        else
            sw_sheet_put(sheet, "is square");
    }
    sw_sheet_put(sheet, ".");
}
