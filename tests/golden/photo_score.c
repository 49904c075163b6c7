#include "golden/photo_score.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { PATH_MOST = 4096 };

int photo_is_there(const char *folder, const char *name)
{
    char path[PATH_MOST];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "rb");
    if (file)
        fclose(file);
    return file != NULL;
}

void inspect_photo(const char *folder, const char *name, const sw_options *options, sw_inspection *ins, score *out)
{
    char path[PATH_MOST];
    sw_photo photo;
    sw_error err = {""};
    snprintf(path, sizeof path, "%s/%s.jpg", folder, name);
    if (sw_photo_load(path, &photo, &err))
        fail_msg("%s", err.text);
    if (sw_inspect(&photo, options, NULL, NULL, ins, &err))
        fail_msg("%s", err.text);
    sw_photo_free(&photo);
    snprintf(path, sizeof path, "%s/%s.truth.json", folder, name);
    if (score_inspection(ins, path, out))
        fail_msg("%s: no truth that could be read", path);
    print_message("  %s: gap rms %.4f bias %+.4f covered %.3f, worst seam %s %+.3f, measured %.3f, means covered %.2f; "
                  "angle rms %.4f "
                  "deg covered %.2f; straightness rms %.4f covered %.2f; length rms %.3f; chips %d of %d, %d false\n",
                  name, out->gap.rms, out->gap.bias, out->gap.covered, out->worst_seam, out->worst_seam_mm,
                  out->measured, out->gap_mean.covered, out->angle_deg.rms, out->angle_deg.covered,
                  out->straightness_mm.rms, out->straightness_mm.covered, out->length_mm.rms, out->chips_found,
                  out->chips_true, out->chips_false);
}

/* Adds a sentence for a figure that is over (way 1) or under (-1) its bound; NaN keeps no bound. */
static void check(char *text, size_t size, const char *what, double got, double bound, int way)
{
    if (bound <= 0 || way * got <= way * bound)
        return;
    size_t used = strlen(text);
    snprintf(text + used, size - used, " %s %.4f, wanted %s %g;", what, got, way > 0 ? "at most" : "at least", bound);
}

void expect_within(const char *name, const score *got, const bounds *wanted)
{
    char text[1024] = "";
    check(text, sizeof text, "gap RMS", got->gap.rms, wanted->gap_rms_mm, 1);
    check(text, sizeof text, "gap bias", fabs(got->gap.bias), wanted->gap_bias_mm, 1);
    check(text, sizeof text, "worst seam's bias", fabs(got->worst_seam_mm), wanted->seam_bias_mm, 1);
    check(text, sizeof text, "share measured", got->measured, wanted->measured, -1);
    check(text, sizeof text, "share of stations covered", got->gap.covered, wanted->covered_least, -1);
    check(text, sizeof text, "share of stations covered", got->gap.covered, wanted->covered_most, 1);
    check(text, sizeof text, "straightness RMS", got->straightness_mm.rms, wanted->straightness_rms_mm, 1);
    if (got->chips_true > 0)
        check(text, sizeof text, "share of chips found", (double)got->chips_found / got->chips_true,
              wanted->chips_share, -1);
    if (wanted->no_false_chips && got->chips_false > 0)
        snprintf(text + strlen(text), sizeof text - strlen(text), " %d false chips;", got->chips_false);
    if (text[0])
        fail_msg("%s:%s", name, text);
}

void calibrate(const char *folder, const char *pattern, int count, sw_lens *lens)
{
    static char paths[16][PATH_MOST];
    const char *list[16];
    sw_error err = {""};
    sw_notes notes;
    for (int i = 0; i < count && i < 16; i++) {
        int used = snprintf(paths[i], PATH_MOST, "%s/", folder);
        snprintf(paths[i] + used, (size_t)(PATH_MOST - used), pattern, i + 1);
        list[i] = paths[i];
    }
    if (sw_lens_calibrate(list, count, (sw_checkerboard){10, 7, 25}, NULL, NULL, lens, &notes, &err))
        fail_msg("%s", err.text);
    sw_notes_free(&notes);
}
