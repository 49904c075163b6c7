/* One figure from several photos: by hand, and by drawing many whose truth is known. */
#include "support/maths_check.h"

#include "inspect/combine/figure.h"

static const double UNKNOWN = NAN;

static sw_spread spread_of(const sw_photo_figure *readings, size_t count)
{
    sw_tally tally = {0};
    sw_tally_add(&tally, readings, count);
    return sw_tally_close(&tally, 1);
}

/* By hand: 1.00, 1.06, 1.12 have the mean 1.06 and s = 0.06. Stated 0.10, of which 0.06 random and so 0.08 common. The
 * variance between photos, 0.0036, is the random one: u^2 = 0.0036 / 3 + 0.0064 = 0.0076. chi^2 = 2 * 0.0036 / 0.01 =
 * 0.72. */
static void three_photos_by_hand(void **state)
{
    (void)state;
    const sw_photo_figure r[3] = {{1.00, 0.10, 0.06}, {1.06, 0.10, 0.06}, {1.12, 0.10, 0.06}};
    sw_spread kind = spread_of(r, 3);
    expect_digits("s_r", kind.s_r, 0.06, 12);
    expect_digits("r", kind.r, 0.168, 12);
    expect_digits("chi-square", kind.chi_square, 0.72, 12);
    expect_digits("stated", kind.stated_u, 0.10, 12);
    assert_int_equal(kind.agreement, SW_AGREE_AS_STATED);
    sw_joined j = sw_join(r, 3, &kind);
    expect_digits("mean", j.value, 1.06, 12);
    expect_digits("u", j.u, sqrt(0.0076), 12);
    expect_digits("random part", j.u_random, sqrt(0.0012), 12);
    assert_int_equal(j.photos, 3);
    assert_true(j.widened == 1);
}

/* Photos that agree to a hair still keep their common part whole, and the random part as stated. */
static void the_common_part_is_not_averaged_down(void **state)
{
    (void)state;
    sw_photo_figure r[16];
    for (int k = 0; k < 16; k++)
        r[k] = (sw_photo_figure){0.5, 0.05, 0.03};
    sw_spread kind = spread_of(r, 16);
    assert_int_equal(kind.agreement, SW_AGREE_BETTER);
    expect_digits("u", sw_join(r, 16, &kind).u, hypot(0.04, 0.03 / 4), 12);
    /* All common: nothing is gained, and nothing lost. */
    for (int k = 0; k < 16; k++)
        r[k].u_random = 0;
    expect_digits("all common", sw_join(r, 16, &kind).u, 0.05, 6);
}

/* A photo with half the noise weighs four times. */
static void surer_photos_weigh_more(void **state)
{
    (void)state;
    const sw_photo_figure r[3] = {{1.0, 0.02, 0.02}, {1.001, 0.01, 0.01}, {UNKNOWN, 0.01, 0.01}};
    sw_spread kind = spread_of(r, 3);
    sw_joined j = sw_join(r, 3, &kind);
    expect_digits("mean", j.value, (1.0 + 4 * 1.001) / 5, 12);
    expect_digits("u", j.u, sqrt(1 / (1 / 0.0004 + 1 / 0.0001)), 12);
    assert_int_equal(j.photos, 2);
}

/* By hand: 0 and 1 with u = 0.1, all random: chi^2 = 0.5 / 0.01 = 50 for one degree of freedom, over 3.84, so u is
 * widened by root 50 to 0.7071, which is s itself; the mean of two has 0.5. */
static void disagreement_widens(void **state)
{
    (void)state;
    const sw_photo_figure r[2] = {{0, 0.1, 0.1}, {1, 0.1, 0.1}};
    sw_spread kind = spread_of(r, 2);
    assert_int_equal(kind.agreement, SW_AGREE_WORSE);
    expect_digits("widened", kind.widened, sqrt(50), 12);
    expect_digits("u", sw_join(r, 2, &kind).u, 0.5, 12);
    /* All common: every bit as wide as the spread, as nothing says that it averages out. */
    const sw_photo_figure same[2] = {{0, 0.1, 0}, {1, 0.1, 0}};
    expect_digits("all common", sw_join(same, 2, &kind).u, sqrt(0.5), 12);
}

static void one_photo_or_none(void **state)
{
    (void)state;
    const sw_photo_figure r[2] = {{0.7, 0.1, 0.06}, {UNKNOWN, UNKNOWN, UNKNOWN}};
    sw_spread kind = spread_of(r, 2);
    assert_int_equal(kind.agreement, SW_AGREE_UNKNOWN);
    assert_true(isnan(kind.s_r) && isnan(kind.chi_square_95) && kind.widened == 1);
    sw_joined j = sw_join(r, 2, &kind);
    expect_digits("value", j.value, 0.7, 15);
    expect_digits("u", j.u, 0.1, 12);
    assert_true(isnan(j.s_r));
    j = sw_join(&r[1], 1, &kind);
    assert_true(isnan(j.value) && isnan(j.u) && j.photos == 0);
}

/* Share of joined figures that hold the truth, over many tables of twelve seams whose photos err by `random` each and
 * by `common` together, where `stated` times as much is stated. */
static double held(int photos, double random, double common, double stated, int *worse)
{
    enum { TABLES = 300, SEAMS = 12, MOST = 8 };
    sw_photo_figure r[SEAMS][MOST];
    uint32_t seed = 4711;
    double good = 0;
    *worse = 0;
    for (int t = 0; t < TABLES; t++) {
        sw_tally tally = {0};
        for (int i = 0; i < SEAMS; i++) {
            double bias = common * normal(&seed);
            for (int k = 0; k < photos; k++)
                r[i][k] =
                    (sw_photo_figure){bias + random * normal(&seed), stated * hypot(random, common), stated * random};
            sw_tally_add(&tally, r[i], (size_t)photos);
        }
        sw_spread kind = sw_tally_close(&tally, 1);
        *worse += kind.agreement == SW_AGREE_WORSE;
        for (int i = 0; i < SEAMS; i++) {
            sw_joined j = sw_join(r[i], (size_t)photos, &kind);
            good += fabs(j.value) <= 2 * j.u;
        }
    }
    return good / (TABLES * SEAMS);
}

/* 95 % is promised; 3600 draws tell it to 0.4 % (one standard deviation). Where what is stated is right the promise is
 * kept, and a false alarm comes at most as often as the test says (5 %, 300 tables: up to 27 would be 9 %, three
 * standard deviations). */
static void what_is_stated_holds(void **state)
{
    (void)state;
    int worse;
    for (int photos = 2; photos <= 8; photos += 3) {
        double share = held(photos, 0.03, 0.02, 1, &worse);
        print_message("  %d photos: held %.3f, worse than stated in %d of 300\n", photos, share, worse);
        assert_true(share > 0.945);
        assert_true(worse <= 27);
        share = held(photos, 0.03, 0, 1, &worse);
        print_message("  %d photos, all random: held %.3f, worse than stated in %d of 300\n", photos, share, worse);
        assert_true(share > 0.945);
        assert_true(worse <= 27);
    }
}

/* Stated a third of what is true: the photos tell, nearly always, and the widened figure holds. */
static void what_is_stated_too_small_is_found_out(void **state)
{
    (void)state;
    int worse;
    for (int photos = 2; photos <= 8; photos += 3) {
        double share = held(photos, 0.03, 0.01, 1 / 3.0, &worse);
        print_message("  %d photos, a third stated: held %.3f, worse than stated in %d of 300\n", photos, share, worse);
        assert_true(share > 0.93);
        assert_true(worse > 290);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(three_photos_by_hand),
        cmocka_unit_test(the_common_part_is_not_averaged_down),
        cmocka_unit_test(surer_photos_weigh_more),
        cmocka_unit_test(disagreement_widens),
        cmocka_unit_test(one_photo_or_none),
        cmocka_unit_test(what_is_stated_holds),
        cmocka_unit_test(what_is_stated_too_small_is_found_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
