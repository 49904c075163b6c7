#include "report/arrange/words.h"

#include <math.h>

/* Best and worst case that differ by less are one, mm. */
static const double LEANS_SHOW_MM = 0.05;

sw_verdict sw_arranged_verdict(const sw_arranged_seam *seam, double tolerance_mm)
{
    return sw_verdict_of(seam->max_mm, seam->u95_mm, tolerance_mm);
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

static int unsure(const sw_arranged *arranged, double tolerance_mm)
{
    int count = 0;
    for (size_t i = 0; i < arranged->seam_count; i++)
        count += sw_arranged_verdict(&arranged->seams[i], tolerance_mm) == SW_TOO_CLOSE;
    return count;
}

/* "1.40 mm (0.18 mm at best, as side faces may lean), 3 seams over 0.50 mm" */
static void put_widest(sw_sheet *sheet, const sw_arranged *arranged, double tolerance_mm)
{
    int count = over(arranged, tolerance_mm), close = unsure(arranged, tolerance_mm);
    sw_sheet_number(sheet, arranged->worst_mm, 2, "?");
    if (arranged->worst_mm - arranged->best_mm >= LEANS_SHOW_MM)
        sw_sheet_put(sheet, " mm at worst (%.2f mm at best, as side faces may lean), ", arranged->best_mm);
    else
        sw_sheet_put(sheet, " mm, ");
    if (count)
        sw_sheet_put(sheet, "%d seam%s over %.2f mm", count, count == 1 ? "" : "s", tolerance_mm);
    else
        sw_sheet_put(sheet, "no seam over %.2f mm", tolerance_mm);
    if (close)
        sw_sheet_put(sheet, ", %d too close to call", close);
}

void sw_arrange_words_verdict(sw_sheet *sheet, const sw_arrangement *arrangement)
{
    const sw_arranged *before = &arrangement->before, *after = &arrangement->after;
    double tolerance = arrangement->tolerance_mm;
    if (!arrangement->better) {
        sw_sheet_put(
            sheet,
            "Nothing better was found: leave the tiles as they lie. Pushed together their widest gap should come to ");
        put_widest(sheet, before, tolerance);
        sw_sheet_put(sheet, ".");
        return;
    }
    sw_sheet_put(sheet, "Laid anew and pushed together, the widest gap should come to ");
    put_widest(sheet, after, tolerance);
    sw_sheet_put(sheet, ". As the tiles lie now, pushed together, it would be ");
    put_widest(sheet, before, tolerance);
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
