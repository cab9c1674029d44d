/* Casks through time: the parameter sheet's years, a slow integrator beside the tables, and the
 * laws that every history obeys. */
#include "model/cooperage.h"
#include "model/draws.h"
#include "model/evaporation.h"
#include "model/spirit.h"
#include "tests/places.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

#define YEAR_H 8760

static struct stv_outlook run_at(const struct stv_ledger *ledger,
                                 const struct stv_position_set *set, struct stv_run_options options,
                                 const int64_t *days_d, size_t n_days)
{
    struct stv_house_rules rules = stv_house_rules_default();
    struct stv_outlook_request request = {.ledger = ledger,
                                          .set = set,
                                          .rules = &rules,
                                          .base = NULL,
                                          .options = options,
                                          .days_d = days_d,
                                          .n_days = n_days};
    struct stv_outlook outlook;
    stv_assert_ok(stv_outlook_run(&request, &outlook));
    return outlook;
}

/* The default parameters alone, in one place that all events are said to be in. */
static struct stv_outlook run_one(struct stv_ledger *ledger, const struct stv_position *place,
                                  double step_d, const int64_t *days_d, size_t n_days)
{
    double exposed_frac = 1.0;
    struct stv_position_set set = {place, 1, &exposed_frac, 0, 0};
    return run_at(ledger, &set, (struct stv_run_options){.seed = 1, .n_draws = 0, .step_d = step_d},
                  days_d, n_days);
}

/* Source: parameter sheet (DEVELOPERS.md, Sources), section 2: litres, C, humidity, loss %, drift
 * % vol of the first 365.25 d.  Regression values of the parameter sheet, computed from the stated
 * equations, not published evidence. */
static const double years[][5] = {
    {200, 10.0, 0.82, 1.960, -0.410}, {200, 22.5, 0.60, 4.469, 0.760},
    {200, 5.0, 0.40, 2.572, 0.428},   {200, 35.0, 0.90, 2.649, -3.136},
    {200, 20.0, 0.70, 3.476, 0.147},  {200, 30.0, 0.40, 7.706, 2.589},
    {50, 10.0, 0.82, 3.365, -0.864},  {50, 22.5, 0.60, 8.569, 1.634},
    {100, 10.0, 0.82, 2.471, -0.559}, {225, 22.5, 0.60, 4.299, 0.730},
    {250, 10.0, 0.82, 1.767, -0.356}, {500, 22.5, 0.60, 2.890, 0.456},
};

static void years_of_the_sheet(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof years / sizeof *years; i++) {
        struct stv_position place = steady_place(2001, YEAR_H, years[i][1], years[i][2]);
        struct stv_cask cask = cask_new("a", years[i][0]);
        int64_t day0 = day_of(2001, 1, 1);
        struct stv_event fill = fill_new(day0, 0, years[i][0], 0.60, 0);
        fill.is_soaked = 1;
        struct stv_ledger ledger = {&cask, 1, &fill, 1};
        const int64_t days_d[] = {day0, day0 + 365, day0 + 366};
        struct stv_outlook outlook = run_one(&ledger, &place, 5.0, days_d, 3);
        double litres = 0.75 * drawn(&outlook, 0, 1, STV_Q_VOLUME20_L) +
                        0.25 * drawn(&outlook, 0, 2, STV_Q_VOLUME20_L);
        double abv20_frac = 0.75 * drawn(&outlook, 0, 1, STV_Q_ABV20_FRAC) +
                            0.25 * drawn(&outlook, 0, 2, STV_Q_ABV20_FRAC);
        stv_assert_close(drawn(&outlook, 0, 0, STV_Q_VOLUME20_L), years[i][0], 1e-12, 0.0);
        stv_assert_close(100.0 * (1.0 - litres / years[i][0]), years[i][3], 0.0, 2e-3);
        stv_assert_close(100.0 * (abv20_frac - 0.60), years[i][4], 0.0, 2e-3);
        stv_outlook_free(&outlook);
        place_end(&place);
    }
}

static const struct climate_of harsh = {.mean_c = 16.4,
                                        .year_k = 12.0,
                                        .day_k = 9.0,
                                        .rh_frac = 0.55,
                                        .rh_year_frac = 0.13,
                                        .rh_day_frac = 0.15,
                                        .radiant_more_k = 1.5};

/* What the slow integrator needs: ethanol, water and the liquid's own temperature. */
struct slow {
    struct stv_cask_geometry geometry;
    struct stv_params params;
    const struct stv_position *place;
    size_t hour;
    enum stv_status status;
};

static double outside_c(const struct stv_position *place, size_t k)
{
    return 0.375 * place->air_c[k] + 0.625 * place->radiant_c[k]; /* sheet, section 3 */
}

static int slow_rates(double time_h, const double state[], double rate[], void *given)
{
    struct slow *slow = given;
    const struct stv_position *place = slow->place;
    struct stv_spirit_amount amount = stv_spirit_amount(state[0], state[1]);
    double tau_h =
        stv_cask_time_constant_h(&slow->geometry, amount.volume20_l, amount.abv20_frac, &usual);
    size_t last = place->grid.n - 1, k = slow->hour;
    double part = time_h - (double)k - 0.5; /* -1/2 .. 1/2 about the hour's middle */
    size_t next = part < 0.0 ? (k > 0 ? k - 1 : 0) : (k < last ? k + 1 : last);
    double around_c =
        outside_c(place, k) + fabs(part) * (outside_c(place, next) - outside_c(place, k));
    struct stv_evaporation out;
    const struct stv_cask_wood wood = {&slow->geometry, &slow->params, &usual};
    slow->status = stv_evaporation_rates(&wood, state[0], state[1], state[2], place->air_c[k],
                                         place->rh_frac[k], &out);
    if (slow->status != STV_OK)
        return GSL_EBADFUNC;
    rate[0] = -STV_HOUR_S * (out.air_ethanol_kg_s + out.joint_ethanol_kg_s);
    rate[1] = -STV_HOUR_S * (out.air_water_kg_s + out.joint_water_kg_s);
    rate[2] = (around_c - state[2]) / tau_h;
    return GSL_SUCCESS;
}

/* Two years of hours by GSL's embedded Runge-Kutta-Fehlberg (4, 5), stopped at every half hour
 * where the outside has a kink. */
static struct stv_spirit_amount slow_years(struct slow *slow, double litres, double abv20_frac)
{
    gsl_odeiv2_system system = {slow_rates, NULL, 3, slow};
    gsl_odeiv2_driver *driver =
        gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rkf45, 0.25, 1e-9, 1e-9);
    assert_non_null(driver);
    double state[3], time_h = 0.0;
    stv_assert_ok(stv_spirit_masses_kg(litres, abv20_frac, &state[0], &state[1]));
    state[2] = 4.0;
    for (size_t half = 0; half < 2 * slow->place->grid.n; half++) {
        slow->hour = half / 2;
        assert_int_equal(gsl_odeiv2_driver_apply(driver, &time_h, 0.5 * (double)(half + 1), state),
                         GSL_SUCCESS);
    }
    gsl_odeiv2_driver_free(driver);
    return stv_spirit_amount(state[0], state[1]);
}

static void agree(const struct stv_position *place, double capacity_l, double abv20_frac,
                  double activity_offset_nd, double wanted)
{
    struct stv_cask cask = cask_new("a", capacity_l);
    struct slow slow = {.geometry = cask.geometry, .params = stv_params_default(), .place = place};
    slow.params.water_activity_offset_nd = activity_offset_nd;
    int64_t day0 = day_of(2002, 1, 1), day2 = day0 + 730;
    struct stv_event fill = fill_new(day0, 0, 0.97 * capacity_l, abv20_frac, 0);
    fill.is_soaked = 1;
    struct stv_ledger ledger = {&cask, 1, &fill, 1};
    double exposed_frac = 1.0;
    struct stv_position_set set = {place, 1, &exposed_frac, 0, 0};
    struct stv_house_rules rules = stv_house_rules_default();
    struct stv_outlook_request request = {.ledger = &ledger,
                                          .set = &set,
                                          .rules = &rules,
                                          .base = &slow.params,
                                          .options = {.seed = 1, .step_d = 5.0},
                                          .days_d = &day2,
                                          .n_days = 1};
    struct stv_outlook outlook;
    stv_assert_ok(stv_outlook_run(&request, &outlook));
    struct stv_spirit_amount want = slow_years(&slow, 0.97 * capacity_l, abv20_frac);
    stv_assert_close(drawn(&outlook, 0, 0, STV_Q_VOLUME20_L), want.volume20_l, wanted, 0.0);
    stv_assert_close(drawn(&outlook, 0, 0, STV_Q_ABV20_FRAC), want.abv20_frac, wanted, 0.0);
    stv_outlook_free(&outlook);
}

static void tables_agree_with_the_hours(void **state)
{
    (void)state;
    struct stv_position place = place_new(2002, 2 * YEAR_H, -420, &harsh);
    agree(&place, 200.0, 0.635, 0.0, 1e-4);
    /* The small cask lies between the tables' time constants and loses a fifth of its litres. */
    agree(&place, 50.0, 0.55, 0.0, 2e-4);
    agree(&place, 200.0, 0.60, 0.024, 1e-4); /* a water activity two deviations off */
    place_end(&place);
}

static void halved_steps_agree(void **state)
{
    (void)state;
    struct stv_position place = place_new(2001, 3 * YEAR_H, -420, &harsh);
    struct stv_cask cask = cask_new("a", 200.0);
    int64_t day0 = day_of(2001, 4, 17);
    struct stv_event fill = fill_new(day0, 0, 195.0, 0.625, 0);
    struct stv_ledger ledger = {&cask, 1, &fill, 1};
    const int64_t days_d[] = {day0 + 1, day0 + 365, day0 + 1096, day0 + 1827};
    struct stv_outlook whole = run_one(&ledger, &place, 5.0, days_d, 4);
    struct stv_outlook half = run_one(&ledger, &place, 2.5, days_d, 4);
    for (size_t d = 0; d < 4; d++) {
        for (int q = STV_Q_VOLUME20_L; q <= STV_Q_LPA_L; q++)
            stv_assert_close(drawn(&whole, 0, d, (enum stv_quantity)q),
                             drawn(&half, 0, d, (enum stv_quantity)q), 1e-4, 0.0);
        stv_assert_close(drawn(&whole, 0, d, STV_Q_STILL_FRUIT_ND),
                         drawn(&half, 0, d, STV_Q_STILL_FRUIT_ND), 1e-4, 0.0);
        if (d > 0)
            stv_assert_close(drawn(&whole, 0, d, STV_Q_WOOD_INDEX_ND),
                             drawn(&half, 0, d, STV_Q_WOOD_INDEX_ND), 1e-3, 0.0);
    }
    stv_outlook_free(&whole);
    stv_outlook_free(&half);
    place_end(&place);
}

/* Oak and esters made in the cask, of first order in the step. */
static int is_oak(int quantity)
{
    return quantity == STV_Q_WOOD_INDEX_ND || quantity == STV_Q_CASK_ESTERS_ND ||
           quantity == STV_Q_OAK_MG_PER_LPA_L || quantity >= STV_Q_LACTONE_ND;
}

/* A known error of the site's temperature and humidity, as parameters: as if the place were so. */
static void offsets_move_the_place(void **state)
{
    (void)state;
    struct climate_of moved = harsh;
    moved.mean_c += 1.3;
    moved.rh_frac -= 0.04;
    struct stv_position place = place_new(2001, YEAR_H, 0, &harsh);
    struct stv_position other = place_new(2001, YEAR_H, 0, &moved);
    struct stv_params base = stv_params_default();
    base.liquid_offset_k = 1.3;
    base.humidity_offset_frac = -0.04;
    struct stv_cask cask = cask_new("a", 200.0);
    int64_t day_d = day_of(2002, 8, 3);
    struct stv_event fill = fill_new(day_of(2001, 4, 17), 0, 195.0, 0.625, 0);
    struct stv_ledger ledger = {&cask, 1, &fill, 1};
    struct stv_house_rules rules = stv_house_rules_default();
    double exposed_frac = 1.0;
    struct stv_position_set set = {&place, 1, &exposed_frac, 0, 0};
    struct stv_position_set other_set = {&other, 1, &exposed_frac, 0, 0};
    for (size_t n_draws = 0; n_draws < 4; n_draws += 3) {
        struct stv_outlook_request request = {
            .ledger = &ledger,
            .set = &set,
            .rules = &rules,
            .base = &base,
            .options = {.seed = 1, .n_draws = n_draws, .step_d = 5.0},
            .days_d = &day_d,
            .n_days = 1};
        struct stv_outlook outlook;
        stv_assert_ok(stv_outlook_run(&request, &outlook));
        struct stv_outlook want = run_at(
            &ledger, &other_set,
            (struct stv_run_options){.seed = 1, .n_draws = n_draws, .step_d = 5.0}, &day_d, 1);
        for (size_t d = 0; d < outlook.n_draws; d++)
            stv_assert_close(stv_outlook_draws(&outlook, 0, 0, STV_Q_VOLUME20_L)[d],
                             stv_outlook_draws(&want, 0, 0, STV_Q_VOLUME20_L)[d], 1e-9, 0.0);
        stv_outlook_free(&outlook);
        stv_outlook_free(&want);
    }
    place_end(&place);
    place_end(&other);
}

/* Steps that do not end on whole days end all the same. */
static void odd_steps_end(void **state)
{
    (void)state;
    static const double steps_d[] = {1.7, 3.3, 4.0, 6.1, 7.0, 9.9};
    struct stv_position place = place_new(2001, 3 * YEAR_H, -420, &harsh);
    struct stv_cask cask = cask_new("a", 200.0);
    int64_t day0 = day_of(2001, 4, 17), day_d = day_of(2007, 3, 3);
    struct stv_event fill = fill_new(day0, 0, 195.0, 0.625, 0);
    struct stv_ledger ledger = {&cask, 1, &fill, 1};
    struct stv_outlook five = run_one(&ledger, &place, 5.0, &day_d, 1);
    for (size_t i = 0; i < sizeof steps_d / sizeof *steps_d; i++) {
        struct stv_outlook odd = run_one(&ledger, &place, steps_d[i], &day_d, 1);
        stv_assert_close(drawn(&odd, 0, 0, STV_Q_VOLUME20_L), drawn(&five, 0, 0, STV_Q_VOLUME20_L),
                         3e-4, 0.0);
        stv_outlook_free(&odd);
    }
    stv_outlook_free(&five);
    place_end(&place);
}

/* What is asked about other days must not change the answer about this one. */
static void answers_do_not_depend_on_other_days(void **state)
{
    (void)state;
    struct stv_position place = place_new(2001, 3 * YEAR_H, 0, &harsh);
    struct stv_cask cask = cask_new("a", 200.0);
    int64_t day0 = day_of(2001, 4, 17), last_d = day_of(2008, 4, 17), days_d[85];
    struct stv_event fill = fill_new(day0, 0, 195.0, 0.625, 0);
    struct stv_ledger ledger = {&cask, 1, &fill, 1};
    for (int m = 0; m < 85; m++)
        days_d[m] = stv_day_add_months(day0, m);
    struct stv_outlook monthly = run_one(&ledger, &place, 5.0, days_d, 85);
    struct stv_outlook alone = run_one(&ledger, &place, 5.0, &last_d, 1);
    assert_int_equal(days_d[84], last_d);
    for (int q = 0; q < STV_Q_N; q++)
        stv_assert_close(drawn(&monthly, 0, 84, (enum stv_quantity)q),
                         drawn(&alone, 0, 0, (enum stv_quantity)q), is_oak(q) ? 2e-4 : 2e-5, 0.0);
    stv_outlook_free(&monthly);
    stv_outlook_free(&alone);
    place_end(&place);
}

static void dry_air_strengthens_and_damp_air_weakens(void **state)
{
    (void)state;
    for (double temp_c = 8.0; temp_c < 33.0; temp_c += 8.0) {
        struct stv_position dry = steady_place(2001, YEAR_H, temp_c, 0.55);
        struct stv_position damp = steady_place(2001, YEAR_H, temp_c, 0.85);
        struct stv_cask cask = cask_new("a", 200.0);
        int64_t day0 = day_of(2001, 2, 3);
        struct stv_event fill = fill_new(day0, 0, 195.0, 0.60, 0);
        fill.is_soaked = 1;
        struct stv_ledger ledger = {&cask, 1, &fill, 1};
        int64_t days_d[] = {day0, day0 + 400, day0 + 800};
        struct stv_outlook up = run_one(&ledger, &dry, 5.0, days_d, 3);
        struct stv_outlook down = run_one(&ledger, &damp, 5.0, days_d, 3);
        for (size_t d = 1; d < 3; d++) {
            assert_true(drawn(&up, 0, d, STV_Q_ABV20_FRAC) >
                        drawn(&up, 0, d - 1, STV_Q_ABV20_FRAC));
            assert_true(drawn(&down, 0, d, STV_Q_ABV20_FRAC) <
                        drawn(&down, 0, d - 1, STV_Q_ABV20_FRAC));
            assert_true(drawn(&up, 0, d, STV_Q_VOLUME20_L) < drawn(&down, 0, d, STV_Q_VOLUME20_L));
        }
        stv_outlook_free(&up);
        stv_outlook_free(&down);
        place_end(&dry);
        place_end(&damp);
    }
}

/* Dry wood of 39 kg drinks 4.5 L, half in two days and the rest with 30 d: parameter sheet,
 * section 2 (assumed there).  A fill after 30 days of emptiness finds the wood still wet, after
 * 90 days dry again. */
static void dry_wood_drinks(void **state)
{
    (void)state;
    struct stv_position place = steady_place(2001, YEAR_H, 12.0, 0.75);
    struct stv_cask casks[2] = {cask_new("dry", 200.0), cask_new("soaked", 200.0)};
    int64_t day0 = day_of(2001, 2, 3);
    struct stv_event events[8];
    for (int c = 0; c < 2; c++) {
        events[c] = fill_new(day0, c, 195.0, 0.60, (size_t)c);
        events[c].is_soaked = c;
    }
    events[2] = event_new(day0 + 300, STV_EVENT_EMPTY, 0, 2);
    events[3] = fill_new(day0 + 330, 0, 195.0, 0.60, 3);
    events[4] = event_new(day0 + 600, STV_EVENT_EMPTY, 0, 4);
    events[5] = fill_new(day0 + 690, 0, 195.0, 0.60, 5);
    struct stv_ledger ledger = {casks, 2, events, 6};
    const int64_t days_d[] = {day0, day0 + 2, day0 + 32, day0 + 299, day0 + 599, day0 + 999};
    struct stv_outlook outlook = run_one(&ledger, &place, 5.0, days_d, 6);
    for (size_t d = 0; d < 6; d++)
        stv_assert_close(drawn(&outlook, 1, d, STV_Q_INDRINK_LPA_L), 0.0, 0.0, 0.0);
    /* Two days: half of it, and 1 - exp(-2/30) of the other half; 0.5 kg of the wood's own water
     * has come out meanwhile and thins what goes in later. */
    double half = 0.5 * 4.5 * 0.60;
    stv_assert_close(drawn(&outlook, 0, 0, STV_Q_INDRINK_LPA_L), 0.0, 0.0, 0.0);
    stv_assert_close(drawn(&outlook, 0, 1, STV_Q_INDRINK_LPA_L), half * (2.0 - exp(-2.0 / 30.0)),
                     3e-3, 0.0);
    stv_assert_close(drawn(&outlook, 0, 2, STV_Q_INDRINK_LPA_L), half * (2.0 - exp(-32.0 / 30.0)),
                     5e-3, 0.0);
    stv_assert_close(drawn(&outlook, 0, 3, STV_Q_INDRINK_LPA_L), 2.0 * half, 5e-3, 0.0);
    stv_assert_close(drawn(&outlook, 0, 4, STV_Q_INDRINK_LPA_L), 0.0, 0.0, 0.0);
    stv_assert_close(drawn(&outlook, 0, 5, STV_Q_INDRINK_LPA_L), 2.0 * half, 5e-3, 0.0);
    stv_outlook_free(&outlook);
    place_end(&place);
}

/* Two halves of one spirit: left alone, and moved into a like cask at once; the litres lost, the
 * fruit and the wood of before go along, the pools stay behind. */
static void transfers_keep_the_history(void **state)
{
    (void)state;
    struct stv_position place = steady_place(2001, YEAR_H, 17.0, 0.65);
    struct stv_cask casks[3] = {cask_new("from", 200.0), cask_new("to", 200.0),
                                cask_new("part", 100.0)};
    casks[1].history = casks[2].history = STV_WOOD_HELD_SPIRIT;
    int64_t day0 = day_of(2001, 2, 3), moved_d = day0 + 700;
    struct stv_event events[3] = {fill_new(day0, 0, 195.0, 0.62, 0),
                                  event_new(moved_d, STV_EVENT_TRANSFER, 0, 1),
                                  event_new(moved_d, STV_EVENT_TRANSFER, 0, 2)};
    events[1].other_idx = 2;
    events[1].volume20_l = 60.0;
    events[2].other_idx = 1;
    events[1].is_soaked = events[2].is_soaked = 1;
    struct stv_ledger ledger = {casks, 3, events, 3};
    const int64_t before_d = moved_d;
    struct stv_ledger untouched = {casks, 1, events, 1};
    struct stv_outlook whole = run_one(&untouched, &place, 5.0, &before_d, 1);
    struct stv_outlook outlook = run_one(&ledger, &place, 5.0, &before_d, 1);
    double part = 60.0 / drawn(&whole, 0, 0, STV_Q_VOLUME20_L);
    static const enum stv_quantity shared[] = {
        STV_Q_VOLUME20_L, STV_Q_LPA_L,       STV_Q_WATER_LOST_KG, STV_Q_ETHANOL_LOST_KG,
        STV_Q_AIR_LPA_L,  STV_Q_JOINT_LPA_L, STV_Q_INDRINK_LPA_L, STV_Q_BOTTLES_ND};
    static const enum stv_quantity same[] = {STV_Q_ABV20_FRAC, STV_Q_WOOD_INDEX_ND,
                                             STV_Q_CASK_ESTERS_ND, STV_Q_STILL_FRUIT_ND};
    for (size_t i = 0; i < sizeof shared / sizeof *shared; i++) {
        double all = drawn(&whole, 0, 0, shared[i]);
        stv_assert_close(drawn(&outlook, 2, 0, shared[i]), part * all, 1e-7, 0.0);
        stv_assert_close(drawn(&outlook, 1, 0, shared[i]), (1.0 - part) * all, 1e-8, 0.0);
    }
    for (size_t i = 0; i < sizeof same / sizeof *same; i++)
        for (size_t c = 1; c < 3; c++)
            stv_assert_close(drawn(&outlook, c, 0, same[i]), drawn(&whole, 0, 0, same[i]), 1e-5,
                             0.0);
    for (int q = 0; q < STV_Q_N; q++)
        stv_assert_close(drawn(&outlook, 0, 0, (enum stv_quantity)q), NAN, 0.0, 0.0);
    stv_outlook_free(&whole);
    stv_outlook_free(&outlook);
    place_end(&place);
}

/* Poured into a younger cask, fruit mixes by litres and pure alcohol adds up. */
static void transfers_mix(void **state)
{
    (void)state;
    struct stv_position place = steady_place(2001, YEAR_H, 22.0, 0.65);
    struct stv_cask casks[2] = {cask_new("old", 200.0), cask_new("young", 200.0)};
    int64_t day0 = day_of(2001, 2, 3), day_d = day0 + 1000;
    struct stv_event events[3] = {fill_new(day0, 0, 195.0, 0.62, 0),
                                  fill_new(day0 + 700, 1, 90.0, 0.55, 1),
                                  event_new(day_d, STV_EVENT_TRANSFER, 0, 2)};
    events[2].other_idx = 1;
    events[2].volume20_l = 75.0;
    struct stv_ledger apart = {casks, 2, events, 2}, mixed = {casks, 2, events, 3};
    struct stv_outlook a = run_one(&apart, &place, 5.0, &day_d, 1);
    struct stv_outlook b = run_one(&mixed, &place, 5.0, &day_d, 1);
    double young_l = drawn(&a, 1, 0, STV_Q_VOLUME20_L);
    double old_fruit = drawn(&a, 0, 0, STV_Q_STILL_FRUIT_ND);
    double young_fruit = drawn(&a, 1, 0, STV_Q_STILL_FRUIT_ND);
    assert_true(old_fruit < 0.9 * young_fruit);
    stv_assert_close(drawn(&b, 1, 0, STV_Q_STILL_FRUIT_ND),
                     (75.0 * old_fruit + young_l * young_fruit) / (75.0 + young_l), 1e-8, 0.0);
    stv_assert_close(drawn(&b, 1, 0, STV_Q_LPA_L),
                     drawn(&a, 1, 0, STV_Q_LPA_L) + 75.0 * drawn(&a, 0, 0, STV_Q_ABV20_FRAC), 1e-8,
                     0.0);
    stv_assert_close(drawn(&b, 0, 0, STV_Q_STILL_FRUIT_ND), old_fruit, 1e-8, 0.0);
    stv_outlook_free(&a);
    stv_outlook_free(&b);
    place_end(&place);
}

/* Refilled wood: fruit and losses start again, the wood is tired; rejuvenated it gives more. */
static void refilled_wood_is_tired(void **state)
{
    (void)state;
    struct stv_position place = steady_place(2001, YEAR_H, 17.0, 0.65);
    struct stv_cask casks[2] = {cask_new("a", 200.0), cask_new("b", 200.0)};
    int64_t day0 = day_of(2001, 2, 3);
    struct stv_event events[7];
    for (int c = 0; c < 2; c++) {
        size_t row = (size_t)c;
        events[c] = fill_new(day0, c, 195.0, 0.62, row);
        events[2 + c] = event_new(day0 + 800, STV_EVENT_EMPTY, c, 2 + row);
        events[5 + c] = fill_new(day0 + 820, c, 195.0, 0.62, 5 + row);
        events[c].is_soaked = events[5 + c].is_soaked = 1;
    }
    events[4] = event_new(day0 + 810, STV_EVENT_REJUVENATE, 1, 4);
    struct stv_ledger ledger = {casks, 2, events, 7};
    const int64_t days_d[] = {day0 + 365, day0 + 810, day0 + 820, day0 + 1185};
    struct stv_outlook outlook = run_one(&ledger, &place, 5.0, days_d, 4);
    stv_assert_close(drawn(&outlook, 0, 1, STV_Q_VOLUME20_L), NAN, 0.0, 0.0);
    stv_assert_close(drawn(&outlook, 0, 2, STV_Q_STILL_FRUIT_ND), 1.0, 0.0, 0.0);
    stv_assert_close(drawn(&outlook, 0, 2, STV_Q_ETHANOL_LOST_KG), 0.0, 0.0, 0.0);
    stv_assert_close(drawn(&outlook, 0, 2, STV_Q_VOLUME20_L), 195.0, 1e-8, 0.0);
    double fresh = drawn(&outlook, 0, 0, STV_Q_WOOD_INDEX_ND);
    double tired = drawn(&outlook, 0, 3, STV_Q_WOOD_INDEX_ND);
    double mended = drawn(&outlook, 1, 3, STV_Q_WOOD_INDEX_ND);
    assert_true(tired < 0.6 * fresh);
    assert_true(tired < mended && mended < fresh);
    /* Litres do not care. */
    stv_assert_close(drawn(&outlook, 0, 3, STV_Q_VOLUME20_L),
                     drawn(&outlook, 0, 0, STV_Q_VOLUME20_L), 1e-6, 0.0);
    stv_outlook_free(&outlook);
    place_end(&place);
}

/* A thimble in a furnace: the strength leaves what the tables know, nothing becomes negative. */
static void dried_out_casks_stop(void **state)
{
    (void)state;
    static const double climates[][2] = {{38.0, 0.20}, {38.0, 0.97}};
    for (int i = 0; i < 2; i++) {
        struct stv_position place = steady_place(2001, YEAR_H, climates[i][0], climates[i][1]);
        struct stv_cask cask = cask_new("a", 20.0);
        int64_t day0 = day_of(2001, 2, 3), days_d[60];
        for (int m = 0; m < 60; m++)
            days_d[m] = stv_day_add_months(day0, 6 * m);
        struct stv_event fill = fill_new(day0, 0, 20.0, 0.60, 0);
        struct stv_ledger ledger = {&cask, 1, &fill, 1};
        struct stv_outlook outlook = run_one(&ledger, &place, 5.0, days_d, 60);
        assert_int_equal(outlook.n_strength_held, 1);
        for (size_t d = 0; d < 60; d++) {
            for (int q = 0; q < STV_Q_N; q++)
                if (q != STV_Q_WATER_LOST_KG && q != STV_Q_AIR_L) /* humid air gives water */
                    assert_true(drawn(&outlook, 0, d, (enum stv_quantity)q) >= 0.0);
            assert_true(drawn(&outlook, 0, d, STV_Q_ABV20_FRAC) <= 1.0);
        }
        assert_true(outlook.balance_residual_frac < 1e-9);
        stv_outlook_free(&outlook);
        place_end(&place);
    }
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(years_of_the_sheet),
        cmocka_unit_test(tables_agree_with_the_hours),
        cmocka_unit_test(halved_steps_agree),
        cmocka_unit_test(offsets_move_the_place),
        cmocka_unit_test(odd_steps_end),
        cmocka_unit_test(answers_do_not_depend_on_other_days),
        cmocka_unit_test(dry_air_strengthens_and_damp_air_weakens),
        cmocka_unit_test(dry_wood_drinks),
        cmocka_unit_test(transfers_keep_the_history),
        cmocka_unit_test(transfers_mix),
        cmocka_unit_test(refilled_wood_is_tired),
        cmocka_unit_test(dried_out_casks_stop),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
