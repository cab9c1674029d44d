/* Laws of maturing that must hold whatever the model's numbers are, each with the study that showed
 * it.  Sizes are told in README.md's table (tests/accuracy) and asserted nowhere. */
#include "tests/accuracy/chemistry.h"
#include "tests/accuracy/store.h"

#define FULL_L 200.0

static struct acc_filling filling_at(enum acc_place place)
{
    return (struct acc_filling){place, 1, FULL_L, FULL_L, 0.60, STV_WOOD_NEW, 1, 0.0, 0};
}

static struct acc_casks run_years(const struct acc_filling *filling, double age_y)
{
    return acc_run(filling, &age_y, 1, 0);
}

struct year {
    double lost_l, drift_frac, oak_mg;
};

static struct year year_in(enum acc_place place)
{
    struct acc_filling filling = filling_at(place);
    struct acc_casks casks = run_years(&filling, 1.0);
    struct year year = {FULL_L - acc_amount(&casks, 0, STV_Q_VOLUME20_L, 0),
                        acc_abv20_frac(&casks, 0, 0) - 0.60, acc_oak_mg(&casks, 0, 0)};
    acc_casks_free(&casks);
    return year;
}

/* Source: Reid & Ward 1994, in Conner, Reid & Jack 2003: in one store strength may fall below,
 * where it is damp, and rise above, where it is drier and warmer and more is lost. */
static void damp_falls_dry_rises(void **state)
{
    (void)state;
    struct year damp = year_in(ACC_BOTTOM_TIER), dry = year_in(ACC_TOP_TIER);
    assert_true(damp.drift_frac < 0.0);
    assert_true(dry.drift_frac > damp.drift_frac);
    assert_true(dry.lost_l > damp.lost_l);
    assert_true(year_in(ACC_HOT_DRY).drift_frac > 0.0);
}

/* Source: Rogers, Proof, 2014, second-hand: by a wet coast casks take up water.  French trade
 * pages: strength falls the more, the damper the cellar. */
static void water_turns_round(void **state)
{
    (void)state;
    struct acc_filling filling = filling_at(ACC_CELLAR_HUMID);
    struct acc_casks humid = run_years(&filling, 1.0);
    filling.place = ACC_CELLAR_DRY;
    struct acc_casks dry = run_years(&filling, 1.0);
    assert_true(acc_wood_loss(&humid, 0, 0).water_kg < 0.0);
    assert_true(acc_wood_loss(&dry, 0, 0).water_kg > 0.0);
    assert_true(acc_wood_loss(&humid, 0, 0).ethanol_kg > 0.0);
    assert_true(acc_abv20_frac(&humid, 0, 0) < 0.60);
    acc_casks_free(&humid);
    acc_casks_free(&dry);
    double middle = year_in(ACC_CELLAR_MIDDLE).drift_frac;
    assert_true(year_in(ACC_CELLAR_HUMID).drift_frac < middle);
    assert_true(middle < year_in(ACC_CELLAR_DRY).drift_frac);
}

/* Source: University of Kentucky, BAE Faculty Publications 257: stronger spirit loses less mass
 * through the wood.  Baldwin & Andreasen, J. AOAC 1974: and takes less colour. */
static void stronger_loses_and_takes_less(void **state)
{
    (void)state;
    double before_kg = INFINITY, before_mg = INFINITY;
    for (double abv20_frac = 0.545; abv20_frac < 0.80; abv20_frac += 0.0575) {
        struct acc_filling filling = filling_at(ACC_KENTUCKY);
        filling.abv20_frac = abv20_frac;
        struct acc_casks casks = run_years(&filling, 12.0);
        struct acc_wood_loss lost = acc_wood_loss(&casks, 0, 0);
        double lost_kg = lost.ethanol_kg + lost.water_kg;
        double colour_mg = acc_oak_mg(&casks, 0, 0) / acc_amount(&casks, 0, STV_Q_LPA_L, 0);
        assert_true(lost_kg < before_kg);
        assert_true(colour_mg < before_mg);
        before_kg = lost_kg;
        before_mg = colour_mg;
        acc_casks_free(&casks);
    }
}

/* Source: Miller 1895 beside Kentucky trade figures: water leaves before alcohol the more, the
 * hotter and drier the store. */
static void hot_and_dry_takes_water_first(void **state)
{
    (void)state;
    struct acc_filling filling = filling_at(ACC_HOT_DRY);
    struct acc_casks hot = run_years(&filling, 3.0);
    filling.place = ACC_KENTUCKY;
    struct acc_casks mild = run_years(&filling, 3.0);
    assert_true(acc_log_ratio(&hot, 0, 0) > acc_log_ratio(&mild, 0, 0));
    assert_true(acc_log_ratio(&hot, 0, 0) > 1.0);
    acc_casks_free(&hot);
    acc_casks_free(&mild);
}

/* Source: US outage allowance of 1894: most is lost in the first months, when dry wood drinks. */
static void dry_wood_drinks_first(void **state)
{
    (void)state;
    const double ages_y[] = {1.0, 2.0};
    struct acc_filling filling = filling_at(ACC_KENTUCKY);
    double soaked_l = year_in(ACC_KENTUCKY).lost_l;
    filling.is_soaked = 0;
    struct acc_casks casks = acc_run(&filling, ages_y, 2, 0);
    double first_l = FULL_L - acc_amount(&casks, 0, STV_Q_VOLUME20_L, 0);
    double both_l = FULL_L - acc_amount(&casks, 1, STV_Q_VOLUME20_L, 0);
    assert_true(first_l > both_l - first_l);
    assert_true(first_l > soaked_l + 1.0); /* 3 to 6 L are said to soak in */
    acc_casks_free(&casks);
}

/* Source: trade statements of regions, which are agreed on their order alone. */
static void regions_keep_their_order(void **state)
{
    (void)state;
    double scotland_l = year_in(ACC_SCOTLAND).lost_l, kentucky_l = year_in(ACC_KENTUCKY).lost_l;
    double caribbean_l = year_in(ACC_CARIBBEAN).lost_l;
    assert_true(scotland_l < kentucky_l);
    assert_true(kentucky_l < caribbean_l);
    assert_true(caribbean_l < year_in(ACC_INDIA).lost_l);
}

/* Source: wine trade: more is lost in dry cellars than in humid ones, above ground than in caves.
 */
static void wine_likes_it_damp(void **state)
{
    (void)state;
    static const enum acc_place places[4] = {ACC_WINE_DRY, ACC_WINE_HALL, ACC_WINE_CAVE,
                                             ACC_WINE_HUMID};
    double before_l = INFINITY;
    for (int i = 0; i < 4; i++) {
        struct acc_filling filling = filling_at(places[i]);
        filling.abv20_frac = 0.13;
        struct acc_casks casks = run_years(&filling, 1.0);
        double lost_l = FULL_L - acc_amount(&casks, 0, STV_Q_VOLUME20_L, 0);
        assert_true(lost_l < before_l);
        before_l = lost_l;
        acc_casks_free(&casks);
    }
}

/* Source: Reazin, AJEV 1981: wood gives more where it is warmer.  Duncan & Philp, J. Sci. Food
 * Agric. 1966, second-hand: swings of temperature about the same mean do next to nothing; what they
 * do here is the bend of the rate alone. */
static void warmth_counts_and_swings_do_not(void **state)
{
    (void)state;
    double steady_mg = year_in(ACC_STEADY).oak_mg, swinging_mg = year_in(ACC_SWINGING).oak_mg;
    assert_true(year_in(ACC_STEADY_COOL).oak_mg < steady_mg);
    assert_true(steady_mg < year_in(ACC_STEADY_WARM).oak_mg);
    assert_true(swinging_mg > steady_mg);
    assert_true(swinging_mg < 1.05 * steady_mg);
}

/* Source: Liebmann & Rosenblatt 1943: colour comes in the first months.  Reazin 1981 and the trade:
 * each fill takes less than the one before. */
static void wood_tires(void **state)
{
    (void)state;
    const double day_y = 1.0 / STV_YEAR_D;
    const double ages_y[] = {0.5, 1.0, 6.0 - day_y, 12.0 - day_y, 18.0};
    struct acc_filling filling = filling_at(ACC_SCOTLAND);
    filling.refill_y = 6.0;
    filling.n_refills = 2;
    struct acc_casks casks = acc_run(&filling, ages_y, 5, 0);
    double mg[5];
    for (size_t i = 0; i < 5; i++)
        mg[i] = acc_oak_mg(&casks, i, 0);
    assert_true(mg[1] - mg[0] < mg[0]);
    assert_true(mg[3] < mg[2]);
    assert_true(mg[4] < mg[3]);
    assert_true(mg[4] > 0.0);
    acc_casks_free(&casks);
}

/* Source: Jeffery & Berglund, J. Food Process. Beverages 2016: both rates follow surface over
 * volume, for casks that are alike as V^(-1/3). */
static void small_casks_run_fast(void **state)
{
    (void)state;
    double age_y = 20.0 / STV_YEAR_D, oak[2], lost[2];
    for (int i = 0; i < 2; i++) {
        struct acc_filling filling = filling_at(ACC_STEADY);
        filling.capacity_l = filling.fill_l = (i == 0 ? 2.0 : 10.0) * STV_WINE_GALLON_L;
        struct acc_casks casks = run_years(&filling, age_y);
        oak[i] = acc_oak_mg(&casks, 0, 0) / filling.fill_l;
        lost[i] = 1.0 - acc_amount(&casks, 0, STV_Q_VOLUME20_L, 0) / filling.fill_l;
        acc_casks_free(&casks);
    }
    stv_assert_close(oak[0] / oak[1], cbrt(5.0), 0.05, 0.0);
    stv_assert_close(lost[0] / lost[1], cbrt(5.0), 0.05, 0.0);
}

/* Source: Jordao et al., S. Afr. J. Enol. Vitic. 2005: ellagitannins last longer at 12 C than at
 * 20; experimental brandies, AJEV: acetates of higher alcohols fall; Baldwin & Andreasen,
 * second-hand: esters rise for 12 years. */
static void cool_keeps(void **state)
{
    (void)state;
    struct stv_params params = stv_params_default();
    struct acc_liquid at[2];
    for (int i = 0; i < 2; i++) {
        struct climate_of wave = {.mean_c = i == 0 ? 12.0 : 20.0};
        at[i].pools = stv_oak_pools_of(STV_WOOD_NEW, &params, &usual);
        acc_liquid_fill(&at[i], 0.60);
        acc_liquid_carry(&at[i], &params, &wave, 0.0, 104.0);
    }
    assert_true(at[0].content_mg[STV_OAK_TANNINS] > at[1].content_mg[STV_OAK_TANNINS]);
    assert_true(at[0].fruit_nd > at[1].fruit_nd);
    assert_true(at[0].fruit_nd < 1.0);
    struct climate_of kentucky = acc_climate_of(ACC_KENTUCKY)->wave;
    double before_mg = at[1].ester_mg;
    for (int year = 1; year <= 12; year++) {
        acc_liquid_carry(&at[1], &params, &kentucky, 0.0, STV_YEAR_D);
        assert_true(at[1].ester_mg > before_mg);
        before_mg = at[1].ester_mg;
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(damp_falls_dry_rises),
        cmocka_unit_test(water_turns_round),
        cmocka_unit_test(stronger_loses_and_takes_less),
        cmocka_unit_test(hot_and_dry_takes_water_first),
        cmocka_unit_test(dry_wood_drinks_first),
        cmocka_unit_test(regions_keep_their_order),
        cmocka_unit_test(wine_likes_it_damp),
        cmocka_unit_test(warmth_counts_and_swings_do_not),
        cmocka_unit_test(wood_tires),
        cmocka_unit_test(small_casks_run_fast),
        cmocka_unit_test(cool_keeps),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
