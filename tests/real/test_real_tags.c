#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "bundle.h"
#include "real.h"
#include "stats.h"

static void explore(void **state)
{
    (void)state;
    static const char *const FILES[] = {"IMG_0455.JPG", "IMG_0461.JPG"};
    for (int f = 0; f < 2; f++) {
        sw_photo photo;
        sw_small small;
        sw_quad quads[SW_SQUARES_MAX];
        static sw_sighting sightings[SW_SQUARES_MAX];
        sw_esf esf = {{0}, {0}, 0, 0, 0};
        real_load("phone-tag-board", FILES[f], &photo);
        assert_int_equal(sw_small_make(&photo, &small, NULL), SW_OK);
        for (int window = 30; window <= 200; window += 40) {
        int count = sw_quads_find(&photo, &small, window, quads), kept = 0;
        printf("%s window %d: %d quads\n", FILES[f], window, count);
        for (int i = 0; i < count; i++) {
            sw_sighting *s = &sightings[kept];
            memset(s, 0, sizeof *s);
            s->quad = quads[i];
            int bad = real_read_square(&photo, NULL, s->quad.corners, &s->rims[0], &esf);
            if (window == 70) printf("  %.0f %.0f size %.1f share %.2f bad %d scatter %.3f\n", quads[i].corners[0].x, quads[i].corners[0].y, quads[i].size_px, quads[i].dark_share, bad, s->rims[0].scatter_px);
            s->rim_count = 1;
            if (!bad) kept++;
        }
        if (window != 70) continue;
        sw_response r = sw_response_fit(&photo, &esf);
        printf(" blur %.2f halo %.2f sharpen %.2f r %.2f misfit %.4f poor %d halfway %.3f\n", r.blur_px, r.halo, r.sharpen, r.radius_px, r.misfit, r.poor, real_half_way_px(&photo, &esf));
        }
        sw_small_free(&small);
        sw_photo_free(&photo);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(explore),
    };
    if (!real_is_there("phone-tag-board"))
        return REAL_SKIPPED;
    return cmocka_run_group_tests(tests, NULL, NULL);
}
