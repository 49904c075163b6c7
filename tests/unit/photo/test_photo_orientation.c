/* sw_photo_show against the wording of the EXIF standard. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "seamwright/photo.h"

enum side { TOP, RIGHT, BOTTOM, LEFT };

/* JEITA CP-3451 (EXIF 2.2), tag 274 Orientation: "the 0th row is at the visual (first) of the image, and the 0th column
 * is the visual (second)". */
static const struct {
    enum side row0, column0;
} standard[9] = {[1] = {TOP, LEFT}, [2] = {TOP, RIGHT}, [3] = {BOTTOM, RIGHT}, [4] = {BOTTOM, LEFT},
                 [5] = {LEFT, TOP}, [6] = {RIGHT, TOP}, [7] = {RIGHT, BOTTOM}, [8] = {LEFT, BOTTOM}};

static int is_at(sw_point shown, enum side side, double width, double height)
{
    switch (side) {
    case TOP:
        return shown.y == 0;
    case BOTTOM:
        return shown.y == height - 1;
    case LEFT:
        return shown.x == 0;
    default:
        return shown.x == width - 1;
    }
}

static void rows_and_columns_go_where_the_standard_says(void **state)
{
    (void)state;
    for (int tag = 1; tag <= 8; tag++) {
        sw_photo photo = {.width_px = 7, .height_px = 4, .orientation = tag};
        double width = tag >= 5 ? 4 : 7, height = tag >= 5 ? 7 : 4;
        for (int x = 0; x < 7; x++)
            assert_true(is_at(sw_photo_show(&photo, (sw_point){x, 0}), standard[tag].row0, width, height));
        for (int y = 0; y < 4; y++)
            assert_true(is_at(sw_photo_show(&photo, (sw_point){0, y}), standard[tag].column0, width, height));
    }
}

static void every_place_is_taken_once(void **state)
{
    (void)state;
    for (int tag = 1; tag <= 8; tag++) {
        sw_photo photo = {.width_px = 7, .height_px = 4, .orientation = tag};
        int width = tag >= 5 ? 4 : 7, height = tag >= 5 ? 7 : 4, seen[28] = {0};
        for (int i = 0; i < 28; i++) {
            sw_point p = sw_photo_show(&photo, (sw_point){i % 7, i / 7});
            assert_true(p.x >= 0 && p.y >= 0 && p.x < width && p.y < height);
            seen[(int)p.y * width + (int)p.x]++;
        }
        for (int i = 0; i < 28; i++)
            assert_int_equal(seen[i], 1);
    }
}

static void fractions_of_a_pixel_move_along(void **state)
{
    (void)state;
    for (int tag = 1; tag <= 8; tag++) {
        sw_photo photo = {.width_px = 4000, .height_px = 3000, .orientation = tag};
        sw_point a = sw_photo_show(&photo, (sw_point){10.25, 20.5}), b = sw_photo_show(&photo, (sw_point){13.25, 24.5});
        assert_true(fabs(hypot(a.x - b.x, a.y - b.y) - 5) < 1e-12);
    }
}

static void nonsense_is_shown_as_it_is(void **state)
{
    (void)state;
    sw_photo photo = {.width_px = 7, .height_px = 4, .orientation = 0};
    sw_point p = sw_photo_show(&photo, (sw_point){3, 2});
    assert_true(p.x == 3 && p.y == 2);
}

static void the_way_back(void **state)
{
    (void)state;
    for (int tag = 1; tag <= 8; tag++) {
        sw_photo photo = {.width_px = 7, .height_px = 4, .orientation = tag};
        for (int i = 0; i < 28; i++) {
            sw_point at = {i % 7 + 0.25, i / 7 - 0.125};
            sw_point back = sw_photo_sensor(&photo, sw_photo_show(&photo, at));
            if (back.x != at.x || back.y != at.y)
                fail_msg("tag %d: %g,%g comes back as %g,%g", tag, at.x, at.y, back.x, back.y);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_and_columns_go_where_the_standard_says),
        cmocka_unit_test(every_place_is_taken_once),
        cmocka_unit_test(the_way_back),
        cmocka_unit_test(fractions_of_a_pixel_move_along),
        cmocka_unit_test(nonsense_is_shown_as_it_is),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
