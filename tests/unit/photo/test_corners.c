/* Corners that somebody points at: in whatever order, of whatever photo, they come out as the sensor's, NW NE SE SW as shown; and what
 * cannot be a card's or a table's is refused by a sentence. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "photo/corners.h"

static const sw_photo SHOT = {.width_px = 1600, .height_px = 1200, .orientation = 1, .file = "table.jpg"};
/* NW NE SE SW as shown. */
static const sw_point SHOWN[4] = {{210, 180}, {900, 250}, {840, 930}, {160, 860}};

static void expect_order(const sw_photo *photo, const sw_corners *told)
{
    sw_point got[4];
    sw_error err = {{0}};
    if (sw_corners_check(photo, told, "--corners", &err) != SW_OK)
        fail_msg("tag %d: %s", photo->orientation, err.text);
    sw_corners_take(photo, told, got);
    for (int i = 0; i < 4; i++) {
        sw_point shown = sw_photo_show(photo, got[i]);
        if (!(hypot(shown.x - SHOWN[i].x, shown.y - SHOWN[i].y) < 1e-9))
            fail_msg("tag %d: corner %d is shown at %g,%g", photo->orientation, i, shown.x, shown.y);
    }
}

static void any_order_and_orientation(void **state)
{
    (void)state;
    for (int tag = 1; tag <= 8; tag++)
        for (int a = 0; a < 4; a++)
            for (int b = 0; b < 4; b++)
                for (int c = 0; c < 4; c++) {
                    sw_photo photo = SHOT;
                    photo.orientation = tag;
                    if (a == b || b == c || a == c)
                        continue;
                    expect_order(&photo, &(sw_corners){{SHOWN[a], SHOWN[b], SHOWN[c], SHOWN[6 - a - b - c]}});
                }
}

static void refuse(const sw_photo *photo, sw_corners told, const char *option, const char *why)
{
    sw_error err = {{0}};
    assert_int_equal(sw_corners_check(photo, &told, option, &err), SW_BAD_INPUT);
    if (!strstr(err.text, why) || !strstr(err.text, option) || strncmp(err.text, "table.jpg: ", 11) != 0)
        fail_msg("\"%s\" does not say \"%s\" of %s", err.text, why, option);
}

static void outside_the_picture(void **state)
{
    (void)state;
    sw_photo tall = SHOT;
    tall.orientation = 6; /* shown 1200 wide, 1600 high */
    refuse(&SHOT, (sw_corners){{{210, 180}, {1600, 180}, {900, 900}, {210, 900}}}, "--corners",
           "1600,180 lies outside the picture, which is 1600 x 1200");
    refuse(&SHOT, (sw_corners){{{-1, 180}, {900, 180}, {900, 900}, {210, 900}}}, "--square", "-1,180 lies outside");
    refuse(&SHOT, (sw_corners){{{210, 180}, {900, 180}, {900, 1200}, {210, 900}}}, "--square", "outside");
    refuse(&SHOT, (sw_corners){{{210, NAN}, {900, 180}, {900, 900}, {210, 900}}}, "--square", "outside");
    refuse(&tall, (sw_corners){{{210, 180}, {1300, 180}, {900, 900}, {210, 900}}}, "--corners",
           "1300,180 lies outside the picture, which is 1200 x 1600");
    assert_int_equal(
        sw_corners_check(&tall, &(sw_corners){{{0, 0}, {1199, 0}, {1199, 1599}, {0, 1599}}}, "--corners", NULL), SW_OK);
}

static void no_rectangle(void **state)
{
    (void)state;
    /* The fourth lies between the others; three in a line; a sliver. */
    refuse(&SHOT, (sw_corners){{{200, 200}, {1000, 210}, {600, 1000}, {600, 480}}}, "--corners",
           "not those of a square");
    refuse(&SHOT, (sw_corners){{{200, 200}, {600, 200}, {1000, 205}, {600, 900}}}, "--corners",
           "not those of a square");
    refuse(&SHOT, (sw_corners){{{200, 200}, {1000, 200}, {1400, 300}, {600, 300}}}, "--square",
           "not those of a square");
    refuse(&SHOT, (sw_corners){{{200, 200}, {1000, 200}, {1000, 259}, {200, 259}}}, "--square", "too small");
    refuse(&SHOT, (sw_corners){{{200, 200}, {900, 200}, {900, 200}, {200, 900}}}, "--square", "too small");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_order_and_orientation),
        cmocka_unit_test(outside_the_picture),
        cmocka_unit_test(no_rectangle),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
