/* Cards of which nobody said what they are: what may be taken for plain ones, drawn, and where they must lie. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "inspect/guessed_cards.h"

enum { WIDE = 600, TOP = 110, WHITE = 230, BLACK = 30, CARD = 100 };

static void fill(sw_photo *photo, int x, int y, int side, int level)
{
    for (int j = y; j < y + side; j++)
        memset(photo->luma8 + (size_t)j * WIDE + x, level, (size_t)side);
}

static int set_up(void **state)
{
    sw_photo *photo = calloc(1, sizeof *photo);
    *photo = (sw_photo){.width_px = WIDE, .height_px = WIDE, .bits = 8, .luma8 = malloc((size_t)WIDE * WIDE)};
    fill(photo, 0, 0, WIDE, TOP);
    *state = photo;
    return 0;
}

static int tear_down(void **state)
{
    sw_photo *photo = *state;
    free(photo->luma8);
    free(photo);
    return 0;
}

static sw_square square(double x, double y, double side)
{
    return (sw_square){.corners_px = {{x, y}, {x + side, y}, {x + side, y + side}, {x, y + side}},
                       .corners_mm = {{x, -y}, {x + side, -y}, {x + side, -y - side}, {x, -y - side}}};
}

/* Two squares whose top left corners lie there. */
static sw_scale two(double x, double y, double side)
{
    sw_scale scale = {.square_count = 2};
    scale.squares[0] = square(x, y, side);
    scale.squares[1] = square(x + 300, y + 300, side);
    return scale;
}

static void plain_squares_may_be_cards(void **state)
{
    static const int levels[] = {WHITE, BLACK};
    sw_photo *photo = *state;
    sw_scale scale = two(100, 100, CARD);
    for (int i = 0; i < 2; i++) {
        fill(photo, 100, 100, CARD, levels[i]);
        fill(photo, 400, 400, CARD, levels[i]);
        assert_true(sw_guessed_cards_plain(photo, &scale));
    }
    scale.square_count = 1;
    assert_false(sw_guessed_cards_plain(photo, &scale));
}

/* The white inside of a frame, which was taken for a cut card: frames of any ratio, one of the two being enough. */
static void insides_of_frames_may_not(void **state)
{
    static const int inner[] = {40, 60, 80};
    sw_photo *photo = *state;
    for (int i = 0; i < 3; i++) {
        int wall = (CARD - inner[i]) / 2;
        fill(photo, 0, 0, WIDE, TOP);
        fill(photo, 100 - 12, 100 - 12, CARD + 24, WHITE);
        fill(photo, 100, 100, CARD, BLACK);
        fill(photo, 100 + wall, 100 + wall, inner[i], WHITE);
        fill(photo, 400 + wall, 400 + wall, inner[i], WHITE);
        const sw_scale scale = two(100 + wall, 100 + wall, inner[i]);
        assert_false(sw_guessed_cards_plain(photo, &scale));
    }
}

/* A pale floor behind a corner tile is no margin: it lies on two sides. Nor is a pencil line around a card. */
static void a_pale_floor_is_no_margin(void **state)
{
    sw_photo *photo = *state;
    fill(photo, 0, 0, WIDE, WHITE);
    fill(photo, 60, 60, WIDE - 120, TOP);
    fill(photo, 75, 75, CARD + 50, WHITE);
    fill(photo, 77, 77, CARD + 46, TOP);
    fill(photo, 100, 100, CARD, WHITE);
    fill(photo, 400, 400, CARD, WHITE);
    const sw_scale scale = two(100, 100, CARD);
    assert_true(sw_guessed_cards_plain(photo, &scale));
}

static void cards_lie_on_tiles(void **state)
{
    (void)state;
    sw_grid *grid = calloc(1, sizeof *grid);
    grid->columns = grid->rows = 2;
    grid->tile_mm = 300;
    sw_scale on = two(30, 150, CARD), across = two(250, 30, CARD), tiles = two(0, 0, 300), beside = two(330, 330, CARD);
    assert_true(sw_guessed_cards_lie(&on, grid));
    assert_false(sw_guessed_cards_lie(&across, grid));
    assert_false(sw_guessed_cards_lie(&tiles, grid));
    assert_false(sw_guessed_cards_lie(&beside, grid));
    free(grid);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(plain_squares_may_be_cards, set_up, tear_down),
        cmocka_unit_test_setup_teardown(insides_of_frames_may_not, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_pale_floor_is_no_margin, set_up, tear_down),
        cmocka_unit_test(cards_lie_on_tiles),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
