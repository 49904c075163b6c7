#include "report/common/names.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "report/common/sheet.h"

const char *sw_from_end(bool upright)
{
    return upright ? "from its north end" : "from its west end";
}

const char *sw_advice_seam(const sw_inspection *inspection, const sw_advice *advice)
{
    return advice->seam >= 0 && (size_t)advice->seam < inspection->seam_count ? inspection->seams[advice->seam].name
                                                                              : "";
}

const char *sw_lens_source_name(sw_lens_source source)
{
    return source == SW_LENS_PROFILE ? "profile" : source == SW_LENS_ESTIMATED ? "estimated" : "none";
}

/* A side in mm without trailing zeros, at most 0.01 mm fine: as fine as a caliper reads a printed card. */
static void put_side(sw_sheet *sheet, double side_mm)
{
    size_t from = sheet->length;
    sw_sheet_number(sheet, side_mm, 2, "?");
    if (sheet->failed || !memchr(sheet->text + from, '.', sheet->length - from))
        return;
    while (sheet->text[sheet->length - 1] == '0')
        sheet->length--;
    if (sheet->text[sheet->length - 1] == '.')
        sheet->length--;
    sheet->text[sheet->length] = 0;
}

static void put_sides(sw_sheet *sheet, double x_mm, double y_mm)
{
    put_side(sheet, x_mm);
    if (fabs(x_mm - y_mm) >= 0.005) {
        sw_sheet_put(sheet, "x");
        put_side(sheet, y_mm);
    }
}

void sw_reference_name(const sw_reference *reference, char *name, size_t room)
{
    sw_sheet sheet;
    sw_sheet_start(&sheet);
    put_sides(&sheet, reference->outer_x_mm, reference->outer_y_mm);
    if (reference->inner_x_mm > 0) {
        sw_sheet_put(&sheet, "/");
        put_sides(&sheet, reference->inner_x_mm, reference->inner_y_mm);
    }
    snprintf(name, room, "%s", sheet.failed || !sheet.text ? "" : sheet.text);
    sw_sheet_free(&sheet);
}

int sw_times_larger(double size_mm, double room_mm, int most)
{
    static const int steps[] = {100, 50, 20, 10, 5, 2};
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++)
        if (steps[i] <= most && size_mm * steps[i] <= room_mm)
            return steps[i];
    return 1;
}
