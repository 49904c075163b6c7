/* Many bent cards: the picture's fault, not the cards'. */
#include "support/maths_check.h"

#include <string.h>

#include "scale/odd_cards.h"

static sw_status ask(int good, int bent, int other_size, double misfit, sw_error *err)
{
    static const sw_photo photo = {.file = "photo.jpg"};
    sw_scale scale = {.square_count = good, .left_out_count = bent + other_size, .misfit = misfit};
    for (int i = 0; i < bent + other_size; i++)
        scale.left_out[i].fault = i >= bent ? SW_CARD_OTHER_SIZE : i % 2 ? SW_CARD_ASLANT : SW_CARD_BENT;
    return sw_odd_cards_refuse_picture(&photo, &scale, err);
}

static void half_of_all_and_a_bad_rest_are_refused(void **state)
{
    (void)state;
    sw_error err = {""};
    assert_int_equal(ask(2, 2, 0, 8, &err), SW_BAD_INPUT);
    assert_non_null(strstr(err.text, "2 of 4"));
    assert_int_equal(ask(1, 1, 0, 8, &err), SW_BAD_INPUT);
}

static void single_cards_and_a_good_rest_are_not(void **state)
{
    (void)state;
    sw_error err = {""};
    assert_int_equal(ask(3, 1, 0, 8, &err), SW_OK);
    assert_int_equal(ask(2, 2, 0, 1.5, &err), SW_OK);
    assert_int_equal(ask(2, 0, 2, 8, &err), SW_OK);
    assert_int_equal(ask(4, 0, 0, 8, &err), SW_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(half_of_all_and_a_bad_rest_are_refused),
                                       cmocka_unit_test(single_cards_and_a_good_rest_are_not)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
