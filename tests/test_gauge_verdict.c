/* A gauge that disagrees: the stories it must tell apart, and the laws of its odds. */
#include "tests/check.h"

#include "model/gauge_verdict.h"

#include <gsl/gsl_errno.h>

static struct stv_gauge_figure litres(double volume_l, int n_decimals)
{
    return (struct stv_gauge_figure){volume_l, 0.7, volume_l, 1.0, n_decimals};
}

static struct stv_gauge_figure strength(double abv_pct)
{
    return (struct stv_gauge_figure){0.01 * abv_pct, 0.0015, abv_pct, 0.01, 1};
}

/* A year in a cask of 200 L that should have lost 9 L and risen by 0.2 %vol. */
static struct stv_gauge_change a_year(double volume_l, double abv_pct)
{
    return (struct stv_gauge_change){.years_y = 1.0,
                                     .cask_l = 200.0,
                                     .loss_l = 9.0,
                                     .loss_error_l = 2.0,
                                     .rise_abv20_frac = 0.002,
                                     .rise_error_frac = 0.003,
                                     .volume_then = litres(196.0, 1),
                                     .strength_then = strength(62.8),
                                     .volume = litres(volume_l, 1),
                                     .strength = strength(abv_pct)};
}

static struct stv_gauge_odds odds_of(const struct stv_gauge_change *change)
{
    struct stv_gauge_odds odds;
    stv_assert_ok(stv_gauge_verdict(change, &odds));
    stv_assert_close(odds.evaporation_frac + odds.leak_frac + odds.misread_frac, 1.0, 1e-12, 0.0);
    assert_true(odds.evaporation_frac >= 0.0 && odds.leak_frac >= 0.0 && odds.misread_frac >= 0.0);
    return odds;
}

static struct stv_gauge_odds tell(const char *story, struct stv_gauge_change change)
{
    struct stv_gauge_odds odds = odds_of(&change);
    print_message("%s: evaporation %.3f, leak %.3f, misread %.3f\n", story, odds.evaporation_frac,
                  odds.leak_frac, odds.misread_frac);
    return odds;
}

static void ten_litres_short_at_the_same_strength_leak(void **state)
{
    (void)state;
    struct stv_gauge_odds odds = tell("176.5 L 62.9 %", a_year(176.5, 62.9));
    assert_true(odds.leak_frac > 0.85);
    stv_assert_close(odds.excess_l, 10.5, 1e-12, 0.0);
    stv_assert_close(odds.excess_error_l, sqrt(4.0 + 2.0 * 0.49), 1e-12, 0.0);
    assert_true(isnan(odds.swapped_volume_nd) && isnan(odds.swapped_strength_nd));
}

/* Where one was stopped a leak is as likely as not, 1 to 1 instead of 1 to 19, the others as they
 * stand to each other. */
static void a_leak_that_was_stopped_is_likelier(void **state)
{
    (void)state;
    struct stv_gauge_change change = a_year(184.0, 62.8);
    struct stv_gauge_odds before = tell("184.0 L 62.8 %", change);
    change.leak_was_stopped = true;
    struct stv_gauge_odds after = tell("the same, a leak was stopped", change);
    assert_true(before.leak_frac < 0.5 && after.leak_frac > before.leak_frac);
    stv_assert_close(after.leak_frac / after.evaporation_frac,
                     19.0 * before.leak_frac / before.evaporation_frac, 0.0, 1e-9);
    stv_assert_close(after.misread_frac / after.evaporation_frac,
                     before.misread_frac / before.evaporation_frac, 0.0, 1e-9);
}

static void digits_that_changed_places_are_misread(void **state)
{
    (void)state;
    struct stv_gauge_odds odds = tell("187.0 L 26.8 %", a_year(187.0, 26.8));
    assert_true(odds.misread_frac > 0.99);
    stv_assert_close(odds.swapped_strength_nd, 62.8, 1e-12, 0.0);
    assert_true(isnan(odds.swapped_volume_nd));
    /* 196.5 L at the first gauge after filling with 197. */
    struct stv_gauge_change change = a_year(169.5, 62.8);
    change.years_y = 0.1;
    change.volume_then = litres(197.0, 1);
    change.loss_l = 0.8;
    change.loss_error_l = 0.3;
    odds = tell("169.5 L for 196.5", change);
    assert_true(odds.misread_frac > 0.9);
    stv_assert_close(odds.swapped_volume_nd, 196.5, 1e-12, 0.0);
    /* The same figure in a year in which 188 L were due: nothing was swapped, so look for a leak.
     */
    odds = tell("169.5 L where 188 were due", a_year(169.5, 62.9));
    assert_true(isnan(odds.swapped_volume_nd));
    assert_true(odds.leak_frac > odds.misread_frac);
}

static void a_slip_of_another_kind_is_misread_too(void **state)
{
    (void)state;
    struct stv_gauge_odds odds = tell("187.0 L 55.0 %", a_year(187.0, 55.0));
    assert_true(odds.misread_frac > 0.95);
    assert_true(isnan(odds.swapped_strength_nd));
    odds = tell("212.0 L 62.9 %", a_year(212.0, 62.9));
    assert_true(odds.misread_frac > 0.95);
}

static void a_dry_summer_is_evaporation(void **state)
{
    (void)state;
    struct stv_gauge_change change = a_year(183.5, 63.3);
    struct stv_gauge_odds odds = tell("183.5 L 63.3 %", change);
    assert_true(odds.evaporation_frac > 0.8);
    /* That strength rose along speaks for the air where the two are known to go together. */
    change.correlation_nd = 0.7;
    struct stv_gauge_odds together = tell("the same, loss and rise together", change);
    assert_true(together.evaporation_frac > odds.evaporation_frac);
    assert_true(together.leak_frac < 0.75 * odds.leak_frac);
    odds = tell("as predicted", a_year(187.0, 63.0));
    assert_true(odds.evaporation_frac > 0.95);
}

/* Without digits to swap: the more is missing, the less it is the air, and the more a leak against
 * it. */
static void odds_follow_the_excess(void **state)
{
    (void)state;
    double air = 1.0, ratio = 0.0;
    for (double excess_l = 0.0; excess_l <= 60.0; excess_l += 0.25) {
        struct stv_gauge_change change = a_year(187.0 - excess_l, 63.0);
        change.volume.typed_nd = change.strength.typed_nd = 0.0;
        struct stv_gauge_odds odds = odds_of(&change);
        assert_true(odds.evaporation_frac <= air);
        assert_true(odds.leak_frac >= ratio * odds.evaporation_frac);
        air = odds.evaporation_frac;
        ratio = air > 0.0 ? odds.leak_frac / air * (1.0 - 1e-9) : ratio;
    }
    assert_true(air < 1e-6);
    air = 1.0;
    for (double off_pct = 0.0; off_pct <= 20.0; off_pct += 0.1) {
        struct stv_gauge_change change = a_year(187.0, 63.0 - off_pct);
        change.volume.typed_nd = change.strength.typed_nd = 0.0;
        struct stv_gauge_odds odds = odds_of(&change);
        assert_true(odds.evaporation_frac <= air);
        air = odds.evaporation_frac;
    }
    assert_true(air < 1e-6);
}

/* Litres alone, strength alone; a surer prediction is surer of a leak. */
static void one_figure_is_enough(void **state)
{
    (void)state;
    struct stv_gauge_change change = a_year(176.5, 62.9);
    change.strength.value = NAN;
    assert_true(tell("176.5 L, no strength", change).leak_frac > 0.85);
    double unsure = 0.0;
    change = a_year(181.0, 62.9);
    change.loss_error_l = 4.0;
    unsure = odds_of(&change).leak_frac;
    change.loss_error_l = 1.0;
    assert_true(odds_of(&change).leak_frac > unsure);
    change.volume.value = NAN;
    struct stv_gauge_odds odds = odds_of(&change);
    assert_true(isnan(odds.excess_l));
    /* Strength says nothing about leaks. */
    assert_true(odds.leak_frac > 0.03 && odds.leak_frac < 0.07);
    change.strength_then.value = NAN;
    assert_int_equal(stv_gauge_verdict(&change, &odds), STV_E_NO_DATA);
}

static void what_cannot_be_is_refused(void **state)
{
    (void)state;
    struct stv_gauge_odds odds;
    struct stv_gauge_change change = a_year(187.0, 63.0);
    stv_assert_status(stv_gauge_verdict(NULL, &odds), STV_E_ARG);
    stv_assert_status(stv_gauge_verdict(&change, NULL), STV_E_ARG);
    change.years_y = 0.0;
    stv_assert_status(stv_gauge_verdict(&change, &odds), STV_E_ARG);
    change = a_year(187.0, 63.0);
    change.loss_error_l = 0.0;
    stv_assert_status(stv_gauge_verdict(&change, &odds), STV_E_ARG);
    change = a_year(-1.0, 63.0);
    stv_assert_status(stv_gauge_verdict(&change, &odds), STV_E_ARG);
    change = a_year(187.0, 63.0);
    change.correlation_nd = 1.0;
    stv_assert_status(stv_gauge_verdict(&change, &odds), STV_E_ARG);
    change = a_year(187.0, 63.0);
    change.volume.n_decimals = 9;
    stv_assert_status(stv_gauge_verdict(&change, &odds), STV_E_ARG);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ten_litres_short_at_the_same_strength_leak),
        cmocka_unit_test(a_leak_that_was_stopped_is_likelier),
        cmocka_unit_test(digits_that_changed_places_are_misread),
        cmocka_unit_test(a_slip_of_another_kind_is_misread_too),
        cmocka_unit_test(a_dry_summer_is_evaporation),
        cmocka_unit_test(odds_follow_the_excess),
        cmocka_unit_test(one_figure_is_enough),
        cmocka_unit_test(what_cannot_be_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
