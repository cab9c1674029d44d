/* A fill run against worked cases, conservation, and what is refused. */
#include "tests/spirit_case.h"

#include "model/draws.h"
#include "model/fill_run.h"
#include "model/spirit.h"
#include "model/units.h"

#define N_OF(array) (sizeof(array) / sizeof(array)[0])
#define N_KEYED 400

/* Twelve 200 L casks, of spirit of 68 %vol on hand. */
static struct stv_fill_input twelve(void)
{
    return (struct stv_fill_input){.n_casks = 12,
                                   .into_l = 194.0,
                                   .filled_at_c = 20.0,
                                   .abv20_frac = 0.60,
                                   .from_abv20_frac = 0.68,
                                   .indrink_frac = STV_INDRINK_FRAC,
                                   .limit = {200.0, 38.0, STV_ROOM_USUAL_FRAC}};
}

/* The second worked case: one cask of 63.5 %vol filled at 18 C that sees 42 C. */
static struct stv_fill_input hot_tier(double into_l)
{
    return (struct stv_fill_input){.n_casks = 1,
                                   .into_l = into_l,
                                   .filled_at_c = 18.0,
                                   .abv20_frac = 0.635,
                                   .from_abv20_frac = 0.635,
                                   .indrink_frac = STV_INDRINK_FRAC,
                                   .limit = {200.0, 42.0, STV_ROOM_LEAST_FRAC}};
}

static struct stv_fill fill_of(struct stv_fill_input input)
{
    struct stv_fill fill;
    stv_assert_ok(stv_fill_work(&input, &fill));
    return fill;
}

/* Worked on densities of OIML R 22: 12 x 194 L at 60 %vol out of 68 %vol take 2054.1 L or
 * 1829.1 kg of spirit and 287.3 kg of water. */
static void twelve_casks(void **state)
{
    (void)state;
    struct stv_fill fill = fill_of(twelve());
    stv_assert_close(fill.spirit20_l, 2054.1, 0.0, 0.06);
    stv_assert_close(fill.spirit_kg, 1829.1, 0.0, 0.06);
    stv_assert_close(fill.water_kg, 287.3, 0.0, 0.06);
    stv_assert_close(fill.lpa_l, 12 * 194.0 * 0.60, 1e-12, 0.0);
    stv_assert_close(fill.into20_l, 194.0, 1e-12, 0.0);
    stv_assert_close(fill.mass_frac, 0.520884, 0.0, 1e-6);
    assert_false(fill.is_extrapolated);
}

/* The same numbers for a cask that gets hot: 194 L become 198.4 L, 194.4 L after what the wood
 * drinks; 191.6, 190.7 or 189.7 L leave 2, 2.5 or 3 per cent; 197 L become 201.5 L. */
static void a_cask_on_a_hot_tier(void **state)
{
    (void)state;
    static const double room[][2] = {
        {STV_ROOM_LEAST_FRAC, 191.6}, {STV_ROOM_USUAL_FRAC, 190.7}, {STV_ROOM_MOST_FRAC, 189.7}};
    struct stv_fill fill = fill_of(hot_tier(194.0));
    stv_assert_close(fill.volume_hot_l, 198.4, 0.0, 0.06);
    stv_assert_close(fill.volume_hot_after_indrink_l, 194.4, 0.0, 0.06);
    assert_false(fill.fits);
    assert_true(fill.is_extrapolated);
    for (size_t i = 0; i < N_OF(room); i++) {
        struct stv_fill_input input = hot_tier(194.0);
        input.limit.room_frac = room[i][0];
        stv_assert_close(fill_of(input).most_full_l, room[i][1], 0.0, 0.06);
    }
    fill = fill_of(hot_tier(197.0));
    stv_assert_close(fill.volume_hot_l, 201.5, 0.0, 0.06);
    assert_false(fill.fits);
    assert_true(isinf(fill.closed_pa) && fill.closed_pa > 0.0);
    assert_true(fill_of(hot_tier(191.5)).fits);
}

/* Closed casks of 63.5 %vol, worked by hand: ideal gas over saturated vapour, absolute, 101.325 kPa
 * at closing.  The vapours add up to 2.67, 3.70 and 5.05 kPa at 10, 15 and 20 C and to 9.10 and
 * 15.69 kPa at 30 and 40 C; the gas is squeezed from 25, 10 and 4 L to 18.70, 5.54 and 2.19 L. */
static void closed_casks(void **state)
{
    (void)state;
    static const struct {
        double capacity_l, head_l, filled_at_c, hottest_c, kpa;
    } rows[] = {{250.0, 25.0, 10.0, 40.0, 161.5},
                {200.0, 10.0, 15.0, 40.0, 207.0},
                {200.0, 4.0, 20.0, 30.0, 191.0}};
    for (size_t i = 0; i < N_OF(rows); i++) {
        struct stv_fill_input input = hot_tier(rows[i].capacity_l - rows[i].head_l);
        input.filled_at_c = rows[i].filled_at_c;
        input.limit.capacity_l = rows[i].capacity_l;
        input.limit.hottest_c = rows[i].hottest_c;
        stv_assert_close(fill_of(input).closed_pa / 1000.0, rows[i].kpa, 0.0, 0.6);
    }
    struct stv_fill_input input = hot_tier(196.0);
    input.filled_at_c = 15.0;
    input.limit.hottest_c = 35.0;
    assert_true(fill_of(input).closed_pa > 1e6);
}

static void a_closed_cask_pushes_more_the_fuller_it_is(void **state)
{
    (void)state;
    double last_pa = STV_STANDARD_PRESSURE_PA;
    for (double into_l = 100.0; into_l < 195.0; into_l += 2.5) {
        double here_pa = fill_of(hot_tier(into_l)).closed_pa;
        assert_true(here_pa > last_pa);
        last_pa = here_pa;
    }
    struct stv_fill_input input = hot_tier(187.3);
    input.limit.hottest_c = input.filled_at_c;
    stv_assert_close(fill_of(input).closed_pa, STV_STANDARD_PRESSURE_PA, 1e-12, 0.0);
}

static struct stv_fill_input keyed_input(size_t k)
{
    double abv20_frac = keyed("strength", k, 0.35, 0.94);
    double filled_at_c = keyed("filled at", k, 2.0, 35.0), capacity_l = keyed("cask", k, 20, 700);
    return (struct stv_fill_input){
        .n_casks = 1 + (size_t)keyed("n", k, 0.0, 40.0),
        .into_l = keyed("into", k, 0.05, 1.0) * capacity_l,
        .filled_at_c = filled_at_c,
        .abv20_frac = abv20_frac,
        .from_abv20_frac = keyed("from", k, abv20_frac, 0.97),
        .indrink_frac = keyed("indrink", k, 0.0, 0.1),
        .limit = {capacity_l, keyed("hottest", k, filled_at_c, 50.0), keyed("room", k, 0.0, 0.1)},
    };
}

static void nothing_is_lost_or_made(void **state)
{
    (void)state;
    for (size_t k = 0; k < N_KEYED; k++) {
        struct stv_fill_input input = keyed_input(k);
        struct stv_fill fill = fill_of(input);
        double n = (double)input.n_casks, cask_kg = n * fill.cask_kg, ethanol_kg, water_kg;
        double p = mass_frac_of_abv(input.abv20_frac),
               p_from = mass_frac_of_abv(input.from_abv20_frac);
        stv_assert_close(fill.spirit_kg + fill.water_kg, cask_kg, 1e-12, 0.0);
        stv_assert_close(fill.spirit_kg * p_from, cask_kg * p, 1e-12, 0.0);
        stv_assert_close(fill.spirit_kg * (1.0 - p_from) + fill.water_kg, cask_kg * (1.0 - p),
                         1e-12, 0.0);
        /* By litres: the pure alcohol that is put in is what was taken. */
        stv_assert_close(fill.spirit20_l * input.from_abv20_frac, fill.lpa_l, 1e-12, 0.0);
        stv_assert_ok(
            stv_spirit_masses_kg(n * fill.into20_l, input.abv20_frac, &ethanol_kg, &water_kg));
        stv_assert_close(ethanol_kg + water_kg, cask_kg, 1e-12, 0.0);
        stv_assert_close(stv_spirit_volume_l(fill.cask_kg, p, input.filled_at_c), input.into_l,
                         1e-12, 0.0);
        assert_true(fill.water_kg >= 0.0);
        stv_assert_close(fill.volume_hot_after_indrink_l,
                         (1.0 - input.indrink_frac) * fill.volume_hot_l, 1e-12, 0.0);
    }
}

static void as_many_casks_as_one_that_often(void **state)
{
    (void)state;
    for (size_t k = 0; k < N_KEYED; k++) {
        struct stv_fill_input input = keyed_input(k);
        struct stv_fill all = fill_of(input);
        double n = (double)input.n_casks;
        input.n_casks = 1;
        struct stv_fill one = fill_of(input);
        stv_assert_close(all.spirit_kg, n * one.spirit_kg, 1e-12, 0.0);
        stv_assert_close(all.water_kg, n * one.water_kg, 1e-12, 0.0);
        stv_assert_close(all.lpa_l, n * one.lpa_l, 1e-12, 0.0);
        stv_assert_close(all.cask_kg, one.cask_kg, 0.0, 0.0);
        stv_assert_close(all.most_full_l, one.most_full_l, 0.0, 0.0);
    }
}

static void stronger_takes_more_spirit_and_less_water(void **state)
{
    (void)state;
    struct stv_fill_input input = twelve();
    input.from_abv20_frac = 0.72;
    struct stv_fill last = {.water_kg = INFINITY};
    for (int pct = 30; pct <= 72; pct += 3) {
        input.abv20_frac = pct / 100.0;
        struct stv_fill fill = fill_of(input);
        assert_true(fill.spirit_kg > last.spirit_kg && fill.spirit20_l > last.spirit20_l);
        assert_true(fill.water_kg < last.water_kg);
        assert_true(fill.cask_kg < last.cask_kg || last.cask_kg <= 0.0);
        last = fill;
    }
    stv_assert_close(last.water_kg, 0.0, 0.0, 1e-9);
    stv_assert_close(last.spirit20_l, 12 * 194.0, 1e-12, 0.0);
    /* Litres that are measured warm hold less. */
    struct stv_fill_input warm = twelve();
    warm.filled_at_c = 31.5;
    assert_true(fill_of(warm).lpa_l < fill_of(twelve()).lpa_l);
}

static void filled_to_the_most_it_fits(void **state)
{
    (void)state;
    for (size_t k = 0; k < N_KEYED; k++) {
        struct stv_fill_input input = keyed_input(k);
        double most_l = fill_of(input).most_full_l;
        input.into_l = most_l;
        assert_true(fill_of(input).fits);
        stv_assert_close(fill_of(input).most_full_l, most_l, 0.0, 0.0);
        input.into_l = most_l + 1e-6;
        if (input.into_l <= input.limit.capacity_l)
            assert_false(fill_of(input).fits);
    }
}

static void a_capacity_that_is_not_said(void **state)
{
    (void)state;
    struct stv_fill_input input = twelve();
    input.limit.capacity_l = (double)NAN;
    struct stv_fill fill = fill_of(input), said = fill_of(twelve());
    stv_assert_close(fill.most_full_l, (double)NAN, 0.0, 0.0);
    stv_assert_close(fill.closed_pa, (double)NAN, 0.0, 0.0);
    assert_false(fill.fits);
    stv_assert_close(fill.spirit_kg, said.spirit_kg, 0.0, 0.0);
    stv_assert_close(fill.water_kg, said.water_kg, 0.0, 0.0);
    stv_assert_close(fill.volume_hot_l, said.volume_hot_l, 0.0, 0.0);
}

static void above_40_c_is_said(void **state)
{
    (void)state;
    struct stv_fill_input input = twelve();
    input.limit.hottest_c = 40.0;
    assert_false(fill_of(input).is_extrapolated);
    input.limit.hottest_c = 40.01;
    assert_true(fill_of(input).is_extrapolated);
}

static void assert_refused(struct stv_fill_input input, enum stv_status want, const char *what)
{
    struct stv_fill fill = {.spirit_kg = 1.0};
    enum stv_status status = stv_fill_work(&input, &fill);
    if (status != want)
        print_error("%s\n", what);
    stv_assert_status(status, want);
    stv_assert_close(fill.spirit_kg, (double)NAN, 0.0, 0.0);
    assert_false(fill.fits);
}

#define REFUSED(member, value, status)                           \
    do {                                                         \
        struct stv_fill_input changed = twelve();                \
        changed.member = (value);                                \
        assert_refused(changed, (status), #member " = " #value); \
    } while (0)

static void what_cannot_be_is_refused(void **state)
{
    (void)state;
    REFUSED(n_casks, 0, STV_E_DOMAIN);
    REFUSED(into_l, 0.0, STV_E_DOMAIN);
    REFUSED(into_l, -12.5, STV_E_DOMAIN);
    REFUSED(into_l, NAN, STV_E_DOMAIN);
    REFUSED(into_l, INFINITY, STV_E_DOMAIN);
    REFUSED(into_l, 200.0 + 1e-9, STV_E_DOMAIN);
    REFUSED(filled_at_c, NAN, STV_E_DOMAIN);
    REFUSED(filled_at_c, 50.1, STV_E_DOMAIN);
    REFUSED(filled_at_c, -20.1, STV_E_DOMAIN);
    REFUSED(abv20_frac, 0.0, STV_E_DOMAIN);
    REFUSED(abv20_frac, -0.1, STV_E_DOMAIN);
    REFUSED(abv20_frac, NAN, STV_E_DOMAIN);
    REFUSED(from_abv20_frac, 1.01, STV_E_DOMAIN);
    REFUSED(from_abv20_frac, NAN, STV_E_DOMAIN);
    REFUSED(limit.hottest_c, NAN, STV_E_DOMAIN);
    REFUSED(limit.hottest_c, 50.1, STV_E_DOMAIN);
    REFUSED(limit.hottest_c, -20.1, STV_E_DOMAIN);
    REFUSED(limit.capacity_l, 0.0, STV_E_DOMAIN);
    REFUSED(from_abv20_frac, 0.5999, STV_E_CONSISTENCY);
    struct stv_fill_input frozen = twelve();
    frozen.abv20_frac = 0.12;
    frozen.filled_at_c = -9.0;
    assert_refused(frozen, STV_E_DOMAIN, "frozen");
    struct stv_fill fill;
    stv_assert_status(stv_fill_work(NULL, &fill), STV_E_ARG);
    stv_assert_status(stv_fill_work(&frozen, NULL), STV_E_ARG);
}

/* A room outside the range could make any fill "fit". */
static void no_room_but_0_to_a_half(void **state)
{
    (void)state;
    REFUSED(limit.room_frac, -1e-9, STV_E_DOMAIN);
    REFUSED(limit.room_frac, 0.5 + 1e-9, STV_E_DOMAIN);
    REFUSED(limit.room_frac, NAN, STV_E_DOMAIN);
    REFUSED(indrink_frac, -1e-9, STV_E_DOMAIN);
    REFUSED(indrink_frac, 0.5 + 1e-9, STV_E_DOMAIN);
    REFUSED(indrink_frac, NAN, STV_E_DOMAIN);
}

static void nothing_is_left_of_a_refused_run(void **state)
{
    (void)state;
    struct stv_fill_input weak = twelve(), hot = twelve();
    weak.from_abv20_frac = 0.5;
    hot.limit.hottest_c = 60.0;
    const struct stv_fill_input inputs[] = {weak, hot};
    for (size_t i = 0; i < N_OF(inputs); i++) {
        struct stv_fill fill;
        assert_true(stv_fill_work(&inputs[i], &fill) != STV_OK);
        const double members[] = {
            fill.spirit_kg,   fill.spirit20_l,
            fill.water_kg,    fill.lpa_l,
            fill.cask_kg,     fill.into20_l,
            fill.mass_frac,   fill.volume_hot_l,
            fill.most_full_l, fill.volume_hot_after_indrink_l,
            fill.closed_pa,
        };
        for (size_t m = 0; m < N_OF(members); m++)
            stv_assert_close(members[m], (double)NAN, 0.0, 0.0);
    }
}

/* Spirit that is warmer when it is filled than it will ever be in the store. */
static void warm_spirit_in_a_cold_store(void **state)
{
    (void)state;
    struct stv_fill_input input = twelve();
    input.filled_at_c = 30.0;
    input.limit = (struct stv_cask_limit){200.0, 5.0, 0.0};
    assert_true(fill_of(input).most_full_l <= 200.0 + 1e-9);
    input.into_l = 200.0;
    assert_true(isinf(fill_of(input).closed_pa));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(twelve_casks),
        cmocka_unit_test(a_cask_on_a_hot_tier),
        cmocka_unit_test(closed_casks),
        cmocka_unit_test(a_closed_cask_pushes_more_the_fuller_it_is),
        cmocka_unit_test(nothing_is_lost_or_made),
        cmocka_unit_test(as_many_casks_as_one_that_often),
        cmocka_unit_test(stronger_takes_more_spirit_and_less_water),
        cmocka_unit_test(filled_to_the_most_it_fits),
        cmocka_unit_test(a_capacity_that_is_not_said),
        cmocka_unit_test(above_40_c_is_said),
        cmocka_unit_test(what_cannot_be_is_refused),
        cmocka_unit_test(no_room_but_0_to_a_half),
        cmocka_unit_test(nothing_is_left_of_a_refused_run),
        cmocka_unit_test(warm_spirit_in_a_cold_store),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
