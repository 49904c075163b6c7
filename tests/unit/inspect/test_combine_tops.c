/* Tops of several photos: steps and heights go with the table when it is turned. */
#include "support/maths_check.h"

#include "inspect/combine/turned.h"
#include "inspection/copy.h"
#include "inspection/tops.h"
#include "support/fixture.h"

/* What the turned planes give is what was turned. */
static void tops_turn_with_the_table(void **state)
{
    (void)state;
    sw_inspection turned, anew;
    fixture_inspection(&turned);
    for (int i = 0; i < (int)turned.tile_count; i++) {
        turned.tiles[i].rise_mm = sin(i);
        turned.tiles[i].rise_east = 1e-3 * cos(i);
        turned.tiles[i].rise_north = 2e-3 * cos(3 * i);
        turned.tiles[i].height_u95_mm = turned.tiles[i].tilt_u95_deg = 0.1;
    }
    sw_tops_settle(&turned);
    assert_true(fabs(turned.seams[0].step_mm - turned.seams[0].step_largest_mm) > 0.1);
    for (int q = 0; q < 4; q++) {
        assert_int_equal(sw_inspection_turn(&turned, 1, NULL), SW_OK);
        assert_int_equal(sw_inspection_copy(&turned, &anew, NULL), SW_OK);
        sw_tops_settle(&anew);
        for (size_t i = 0; i < turned.seam_count; i++) {
            expect_near(turned.seams[i].name, turned.seams[i].step_mm, anew.seams[i].step_mm, 1e-9);
            expect_near(turned.seams[i].name, turned.seams[i].step_largest_mm, anew.seams[i].step_largest_mm, 1e-9);
        }
        sw_inspection_free(&anew);
    }
    sw_inspection_free(&turned);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(tops_turn_with_the_table)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
