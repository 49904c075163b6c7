/* words_tops.c - how high the tops stand and how they step, in words, the same on the terminal and on the page. */
#include <math.h>

#include "inspection/tops.h"
#include "report/common/words.h"

/* From this ± on hundredths say nothing, mm. */
static const double COARSE_MM = 0.095;

sw_tops sw_tops_of(const sw_inspection *inspection)
{
    sw_tops tops = {0};
    for (size_t i = 0; i < inspection->tile_count; i++) {
        const sw_tile *tile = &inspection->tiles[i];
        if (!sw_height_known(tile))
            continue;
        tops.known++;
        if (!tops.highest || tile->height_mm > tops.highest->height_mm)
            tops.highest = tile;
        if (!tops.lowest || tile->height_mm < tops.lowest->height_mm)
            tops.lowest = tile;
    }
    return tops;
}

void sw_words_rounded(sw_sheet *sheet, double value, double u95, bool with_sign)
{
    int decimals = u95 < COARSE_MM ? 2 : 1;
    bool shows_zero = fabs(value) < 0.5 * pow(10, -decimals);
    if (with_sign && value > 0 && !shows_zero)
        sw_sheet_put(sheet, "+");
    sw_sheet_number(sheet, value, decimals, "?");
}

void sw_words_height(sw_sheet *sheet, double value, double u95, bool with_sign)
{
    sw_words_rounded(sheet, value, u95, with_sign);
    sw_sheet_put(sheet, " ± ");
    sw_words_rounded(sheet, u95, u95, false);
}

const sw_tile *sw_higher_tile(const sw_inspection *inspection, const sw_seam *seam)
{
    if (!(fabs(seam->step_largest_mm) > seam->step_u95_mm))
        return NULL;
    return &inspection->tiles[seam->step_largest_mm > 0 ? seam->first : seam->second];
}

static bool is_sure(const sw_inspection *inspection, const sw_seam *seam)
{
    return sw_higher_tile(inspection, seam) != NULL;
}

static bool is_over(const sw_inspection *inspection, const sw_seam *seam)
{
    return sw_step_verdict(inspection, seam) == SW_OVER;
}

static bool is_too_close(const sw_inspection *inspection, const sw_seam *seam)
{
    return sw_step_verdict(inspection, seam) == SW_TOO_CLOSE;
}

static bool is_within(const sw_inspection *inspection, const sw_seam *seam)
{
    return sw_step_verdict(inspection, seam) == SW_WITHIN;
}

/* The seam with the largest step of those that are so, NULL when none is. */
static const sw_seam *largest_step(const sw_inspection *inspection, bool is_so(const sw_inspection *, const sw_seam *))
{
    const sw_seam *largest = NULL;
    for (size_t i = 0; i < inspection->seam_count; i++) {
        const sw_seam *seam = &inspection->seams[i];
        if (isfinite(seam->step_largest_mm) && is_so(inspection, seam) &&
            (!largest || fabs(seam->step_largest_mm) > fabs(largest->step_largest_mm)))
            largest = seam;
    }
    return largest;
}

/* "2.2 ± 0.2 mm, at A1-B1, where B1 is the higher one" */
static void put_step(sw_sheet *sheet, const sw_inspection *inspection, const sw_seam *seam)
{
    const sw_tile *higher = sw_higher_tile(inspection, seam);
    sw_words_height(sheet, fabs(seam->step_largest_mm), seam->step_u95_mm, false);
    sw_sheet_put(sheet, " mm, at %s", seam->name);
    if (higher)
        sw_sheet_put(sheet, ", where %s is the higher one", higher->name);
}

static void put_apart(sw_sheet *sheet, const sw_tops *tops, double apart_mm, double u95_mm)
{
    sw_sheet_put(sheet,
                 apart_mm > u95_mm ? "The highest top, %s, stands " : "No step is sure: the highest top, %s, stands ",
                 tops->highest->name);
    sw_words_height(sheet, apart_mm, u95_mm, false);
    sw_sheet_put(sheet, " mm above the lowest, %s", tops->lowest->name);
}

bool sw_words_tops(sw_sheet *sheet, const sw_inspection *inspection)
{
    sw_tops tops = sw_tops_of(inspection);
    const sw_seam *largest = largest_step(inspection, is_sure);
    if (tops.known < 2)
        return false;
    double apart_mm = tops.highest->height_mm - tops.lowest->height_mm;
    double u95_mm = hypot(tops.highest->height_u95_mm, tops.lowest->height_u95_mm);
    if (tops.highest == tops.lowest)
        sw_sheet_put(sheet, "No step is sure: the tops whose heights are known stand alike");
    else
        put_apart(sheet, &tops, apart_mm, u95_mm);
    if (apart_mm > u95_mm && largest) {
        sw_sheet_put(sheet, "; the largest step between neighbours is ");
        put_step(sheet, inspection, largest);
    }
    sw_sheet_put(sheet, ".");
    size_t unknown = inspection->tile_count - tops.known;
    if (unknown)
        sw_sheet_put(sheet, " The height%s of %zu tile%s not known.", unknown == 1 ? "" : "s", unknown,
                     unknown == 1 ? " is" : "s are");
    return true;
}

/* The largest of the steps that are so. */
static void put_largest(sw_sheet *sheet, const sw_inspection *inspection,
                        bool is_so(const sw_inspection *, const sw_seam *))
{
    sw_sheet_put(sheet, "; the largest is ");
    put_step(sheet, inspection, largest_step(inspection, is_so));
}

void sw_words_steps(sw_sheet *sheet, const sw_inspection *inspection)
{
    size_t of[3] = {0, 0, 0}, known = 0;
    double limit_mm = inspection->lippage_mm;
    for (size_t i = 0; i < inspection->seam_count; i++)
        if (isfinite(inspection->seams[i].step_largest_mm)) {
            of[(unsigned)sw_step_verdict(inspection, &inspection->seams[i]) % 3]++;
            known++;
        }
    if (!known) {
        sw_sheet_put(sheet,
                     "Steps are not known, so none was held against %g mm: take a second photo from the other side, or "
                     "put a card on every tile.",
                     limit_mm);
        return;
    }
    if (of[SW_OVER]) {
        sw_sheet_put(sheet, "%zu of %zu steps %s over %g mm", of[SW_OVER], known, of[SW_OVER] == 1 ? "is" : "are",
                     limit_mm);
        put_largest(sheet, inspection, is_over);
        if (of[SW_TOO_CLOSE])
            sw_sheet_put(sheet, "; %zu more %s too close to call", of[SW_TOO_CLOSE],
                         of[SW_TOO_CLOSE] == 1 ? "is" : "are");
    } else if (of[SW_TOO_CLOSE]) {
        sw_sheet_put(sheet, "No step is surely over %g mm, but %zu of %zu %s too close to call", limit_mm,
                     of[SW_TOO_CLOSE], known, of[SW_TOO_CLOSE] == 1 ? "is" : "are");
        put_largest(sheet, inspection, is_too_close);
    } else {
        sw_sheet_put(sheet, known == 1 ? "The only step is within %g mm" : "All steps are within %g mm", limit_mm);
        if (known > 1)
            put_largest(sheet, inspection, is_within);
    }
    sw_sheet_put(sheet, ".");
    if (known < inspection->seam_count)
        sw_sheet_put(sheet, " %zu more are not known.", inspection->seam_count - known);
}

void sw_words_top_deed(sw_sheet *sheet, const sw_inspection *inspection, const sw_top_advice *advice)
{
    sw_sheet_put(sheet, advice->action == SW_PLANE_DOWN ? "plane %s down by " : "pack %s up by ",
                 inspection->tiles[advice->tile].name);
    sw_sheet_number(sheet, advice->by_mm, 1, "?");
    sw_sheet_put(sheet, " mm");
}
