#include "report/arrange/words.h"

#include <math.h>

sw_verdict sw_arranged_verdict(const sw_arranged_seam *seam, double tolerance_mm)
{
    return !isfinite(seam->max_mm) ? SW_TOO_CLOSE : seam->max_mm <= tolerance_mm ? SW_WITHIN : SW_OVER;
}

sw_verdict sw_arrange_verdict(const sw_arrangement *arrangement)
{
    sw_verdict all = SW_WITHIN;
    for (size_t i = 0; i < arrangement->after.seam_count; i++) {
        sw_verdict one = sw_arranged_verdict(&arrangement->after.seams[i], arrangement->tolerance_mm);
        if (one == SW_OVER)
            return SW_OVER;
        all = one == SW_TOO_CLOSE ? one : all;
    }
    return all;
}

static int over(const sw_arranged *arranged, double tolerance_mm)
{
    int count = 0;
    for (size_t i = 0; i < arranged->seam_count; i++)
        count += sw_arranged_verdict(&arranged->seams[i], tolerance_mm) == SW_OVER;
    return count;
}

static void put_over(sw_sheet *sheet, int count, double tolerance_mm)
{
    if (!count)
        sw_sheet_put(sheet, "no seam over %.2f mm", tolerance_mm);
    else
        sw_sheet_put(sheet, "%d seam%s over %.2f mm", count, count == 1 ? "" : "s", tolerance_mm);
}

void sw_arrange_words_verdict(sw_sheet *sheet, const sw_arrangement *arrangement)
{
    const sw_arranged *before = &arrangement->before, *after = &arrangement->after;
    double tolerance = arrangement->tolerance_mm;
    if (!arrangement->better) {
        sw_sheet_put(
            sheet,
            "Nothing better was found: leave the tiles as they lie. Pushed together their widest gap should come to ");
        sw_sheet_number(sheet, before->worst_mm, 2, "?");
        sw_sheet_put(sheet, " mm, ");
        put_over(sheet, over(before, tolerance), tolerance);
        sw_sheet_put(sheet, ".");
        return;
    }
    sw_sheet_put(sheet, "Laid anew and pushed together, the widest gap should come to ");
    sw_sheet_number(sheet, after->worst_mm, 2, "?");
    sw_sheet_put(sheet, " mm, ");
    put_over(sheet, over(after, tolerance), tolerance);
    sw_sheet_put(sheet, ". As the tiles lie now, pushed together, it would be ");
    sw_sheet_number(sheet, before->worst_mm, 2, "?");
    sw_sheet_put(sheet, " mm, ");
    put_over(sheet, over(before, tolerance), tolerance);
    sw_sheet_put(sheet, ".");
}

bool sw_arrange_changed(const sw_arrangement *arrangement, int place)
{
    const sw_place *at = &arrangement->after.layout.places[place];
    return at->tile != place || at->turns != 0;
}

const char *sw_arrange_turn(int turns)
{
    static const char *const words[4] = {"", "a quarter to the right", "half round", "a quarter to the left"};
    return words[turns & 3];
}

void sw_arrange_words_deed(sw_sheet *sheet, const sw_arrangement *arrangement, const sw_inspection *first, int place)
{
    const sw_place *at = &arrangement->after.layout.places[place];
    const char *turn = sw_arrange_turn(at->turns);
    if (at->tile == place)
        sw_sheet_put(sheet, "%s stays in its place, turned %s", first->tiles[at->tile].name, turn);
    else
        sw_sheet_put(sheet, "%s to where %s lay, %s%s", first->tiles[at->tile].name, first->tiles[place].name,
                     at->turns ? "turned " : "not turned", turn);
}
