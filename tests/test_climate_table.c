/* A place boiled down to steps, against the hours themselves. */
#include "model/air.h"
#include "model/climate_table.h"
#include "model/evaporation.h"
#include "model/extraction.h"
#include "model/position_liquid.h"
#include "model/wood.h"
#include "tests/places.h"
#include "tests/usual.h"

#include <gsl/gsl_errno.h>

#define PI 3.14159265358979323846
#define YEAR_H 8760

static struct stv_params params;
static struct stv__cask_functions *functions;

static int make_functions(void **state)
{
    (void)state;
    params = stv_params_default();
    return stv__cask_functions_new(&params, &usual, &functions) == STV_OK ? 0 : -1;
}

static int free_functions(void **state)
{
    (void)state;
    stv__cask_functions_free(functions);
    stv__cask_functions_free(NULL);
    return 0;
}

static struct stv_climate_table *table_of(const struct stv_position *place, double step_d)
{
    struct stv_table_options options = {.step_d = step_d, .exposed_frac = 1.0, .numbers = &usual};
    struct stv_climate_table *table;
    stv_assert_ok(stv_climate_table_new(place, functions, &options, &table));
    return table;
}

static enum stv_status refusal_of(const struct stv_position *place, double step_d,
                                  double exposed_frac)
{
    struct stv_table_options options = {
        .step_d = step_d, .exposed_frac = exposed_frac, .numbers = &usual};
    struct stv_climate_table *table;
    enum stv_status status = stv_climate_table_new(place, functions, &options, &table);
    if (status != STV_OK)
        assert_null(table);
    stv_climate_table_free(table);
    return status;
}

static struct stv_step_climate step_of(const struct stv_climate_table *table, size_t data_idx,
                                       double tau_h, double ea_j_mol)
{
    struct stv_table_weights weights = stv_table_weights(table, tau_h, ea_j_mol);
    struct stv_step_climate step;
    assert_true(data_idx != SIZE_MAX);
    stv_table_step(table, data_idx, &weights, &step);
    return step;
}

/* Fluxes of a table's step over both fluxes of the hours' own equation: what strength and litres
 * see of the error. */
static double flux_error(const struct stv_climate_table *table, const struct stv_step_climate *step,
                         double mole_frac, const struct stv_wood_flux *want)
{
    struct stv_step_flux got = stv_step_flux(table, step, mole_frac);
    double water = got.water_pa * params.water_permeance_mol_m2spa;
    double ethanol = got.ethanol_pa * params.water_permeance_mol_m2spa / params.permeance_ratio_nd;
    double scale = fabs(want->water_mol_m2s) + fabs(want->ethanol_mol_m2s);
    return fmax(fabs(water - want->water_mol_m2s), fabs(ethanol - want->ethanol_mol_m2s)) / scale;
}

/* The nine nodes are Chebyshev's in the root of the mole fraction.  There only the quadratures of
 * the wood factor differ (5-point Gauss in one, the tabulated integral in the other: below 1e-4
 * for 40..90 % humidity, see model/wood.h); between the nodes the polynomial's error comes on top:
 * 1e-3 from 50 to 70 % vol, 3e-3 from 27 to 85. */
static void steady_air_is_the_equation(void **state)
{
    (void)state;
    static const double climates[][2] = {{5.0, 0.4},   {12.5, 0.82}, {22.5, 0.6}, {35.0, 0.9},
                                         {20.0, 0.84}, {-11.3, 0.7}, {47.0, 0.5}};
    for (size_t c = 0; c < sizeof climates / sizeof *climates; c++) {
        double temp_c = climates[c][0], rh_frac = climates[c][1];
        struct stv_position place = steady_place(2003, YEAR_H, temp_c, rh_frac);
        struct stv_climate_table *table = table_of(&place, 5.0);
        struct stv_step_climate step =
            step_of(table, stv_table_find(table, 2003, 31), 28.2, params.permeance_ea_j_mol);
        double least = sqrt(STV_TABLE_LEAST_MOLE_FRAC), most = sqrt(STV_TABLE_MOST_MOLE_FRAC);
        for (int i = 0; i < STV__NODES; i++) {
            double root =
                0.5 * (least + most) - 0.5 * (most - least) * cos(PI * (i + 0.5) / STV__NODES);
            struct stv_wood_flux want;
            stv_assert_ok(stv_wood_flux(&params, root * root, temp_c, temp_c, rh_frac, &want));
            assert_true(flux_error(table, &step, root * root, &want) < 5e-4);
        }
        for (double x = 0.10; x < 0.61; x += 0.005) {
            struct stv_wood_flux want;
            stv_assert_ok(stv_wood_flux(&params, x, temp_c, temp_c, rh_frac, &want));
            double allowed = x > 0.235 && x < 0.42 ? 1e-3 : 3e-3;
            assert_true(flux_error(table, &step, x, &want) < allowed);
        }
        stv_assert_close(step.ethanol_pressure_rel_nd, 1.0, 1e-12, 0.0);
        stv_assert_close(stv_table_held_frac(table), 0.0, 0.0, 0.0);
        stv_climate_table_free(table);
        place_end(&place);
    }
}

static const struct climate_of swinging = {.mean_c = 17.3,
                                           .year_k = 11.0,
                                           .day_k = 7.5,
                                           .rh_frac = 0.56,
                                           .rh_year_frac = 0.11,
                                           .rh_day_frac = 0.13,
                                           .radiant_more_k = 0.9};

/* Means of the hours of the table's step 40 (2003, days 200 to 204) by the equation itself. */
static struct stv_wood_flux mean_of_hours(const struct stv_position *place, double tau_h,
                                          const struct stv_params *of, double mole_frac)
{
    double *liquid_c = room_for(place->grid.n);
    struct stv_wood_flux sum = {0.0, 0.0};
    stv_assert_ok(
        stv_position_liquid_at_c(place, tau_h, stv_cask_convective_frac(&usual), liquid_c));
    for (size_t k = 40 * 120; k < 41 * 120; k++) {
        struct stv_wood_flux flux;
        stv_assert_ok(
            stv_wood_flux(of, mole_frac, liquid_c[k], place->air_c[k], place->rh_frac[k], &flux));
        sum.water_mol_m2s += flux.water_mol_m2s / 120.0;
        sum.ethanol_mol_m2s += flux.ethanol_mol_m2s / 120.0;
    }
    free(liquid_c);
    return sum;
}

/* Time constants lie on a parabola in log tau through 10, 36 and 130 h: within 2e-3 of the flux on
 * a day of +-7.5 K.  Wood energies lie on a parabola through 2.25 and +-20 kJ/mol: within 5e-3. */
static void swinging_air_is_averaged_hour_by_hour(void **state)
{
    (void)state;
    static const double taus_h[] = {10.0, 16.4, 28.2, 36.0, 41.5, 75.0, 130.0};
    struct stv_position place = place_new(2003, YEAR_H, 0, &swinging);
    struct stv_climate_table *table = table_of(&place, 5.0);
    size_t data_idx = stv_table_find(table, 2003, 40);
    for (size_t t = 0; t < sizeof taus_h / sizeof *taus_h; t++) {
        struct stv_step_climate step =
            step_of(table, data_idx, taus_h[t], params.permeance_ea_j_mol);
        struct stv_wood_flux want = mean_of_hours(&place, taus_h[t], &params, 0.317);
        assert_true(flux_error(table, &step, 0.317, &want) < 2e-3);
    }
    for (double moved = -20000.0; moved < 20001.0; moved += 5000.0) {
        struct stv_params other = params;
        other.permeance_ea_j_mol += moved;
        struct stv_step_climate step = step_of(table, data_idx, 36.0, other.permeance_ea_j_mol);
        struct stv_wood_flux want = mean_of_hours(&place, 36.0, &other, 0.317);
        assert_true(flux_error(table, &step, 0.317, &want) < 5e-3);
    }
    stv_climate_table_free(table);
    place_end(&place);
}

/* What draws do to the water activity: the fluxes are those at the composition that has it, but
 * for ethanol's own pressure. */
static void activity_offsets_move_the_composition(void **state)
{
    (void)state;
    struct stv_position place = steady_place(2003, YEAR_H, 27.0, 0.65);
    struct stv_climate_table *table = table_of(&place, 5.0);
    struct stv_step_climate step =
        step_of(table, stv_table_find(table, 2003, 3), 28.2, params.permeance_ea_j_mol);
    for (double offset = -0.024; offset < 0.025; offset += 0.012) {
        struct stv_params other = params;
        other.water_activity_offset_nd = offset;
        struct stv_wood_flux want;
        stv_assert_ok(stv_wood_flux(&other, 0.317, 27.0, 27.0, 0.65, &want));
        double moved = stv__mole_frac_at_offset(functions, 0.317, offset);
        struct stv_step_flux got = stv_step_flux(table, &step, moved);
        double ethanol_ratio = stv__ethanol_activity20_nd(functions, 0.317) /
                               stv__ethanol_activity20_nd(functions, moved);
        stv_assert_close(got.water_pa * params.water_permeance_mol_m2spa, want.water_mol_m2s, 4e-3,
                         0.0);
        stv_assert_close(got.ethanol_pa * ethanol_ratio * params.water_permeance_mol_m2spa /
                             params.permeance_ratio_nd,
                         want.ethanol_mol_m2s, 4e-3, 0.0);
    }
    stv_assert_close(stv__mole_frac_at_offset(functions, 0.317, 0.0), 0.317, 0.0, 0.0);
    stv_climate_table_free(table);
    place_end(&place);
}

static void arrhenius_means_are_exact_enough(void **state)
{
    (void)state;
    struct stv_position place = place_new(2003, YEAR_H, 0, &swinging);
    struct stv_climate_table *table = table_of(&place, 5.0);
    double *liquid_c = room_for(YEAR_H);
    stv_assert_ok(
        stv_position_liquid_at_c(&place, 10.0, stv_cask_convective_frac(&usual), liquid_c));
    for (size_t s = 0; s < 73; s += 9) {
        struct stv_step_climate step =
            step_of(table, stv_table_find(table, 2003, s), 10.0, params.permeance_ea_j_mol);
        for (double ea_j_mol = 20000.0; ea_j_mol < 90001.0; ea_j_mol += 1900.0) {
            double sum = 0.0;
            for (size_t k = s * 120; k < (s + 1) * 120; k++)
                sum += stv_arrhenius20_nd(ea_j_mol, liquid_c[k]);
            stv_assert_close(stv_step_arrhenius20_nd(&step, ea_j_mol), sum / 120.0, 3e-5, 0.0);
        }
    }
    free(liquid_c);
    stv_climate_table_free(table);
    place_end(&place);
}

/* A different temperature in every five days shows which hours a step took. */
static double banded_c(size_t day)
{
    return 5.0 + 0.35 * (double)(day < 365 ? day / 5 : 72);
}

static struct stv_position banded_place(int year, int n_days, int offset_min)
{
    struct climate_of climate = {.rh_frac = 0.6};
    struct stv_position place = place_new(year, (size_t)n_days * STV_DAY_H, offset_min, &climate);
    for (size_t k = 0; k < place.grid.n; k++) {
        int64_t day_d = stv_grid_local_day(&place.grid, k, NULL);
        size_t day = (size_t)(stv_day_of_year(day_d) - 1);
        place.air_c[k] = place.radiant_c[k] = banded_c(day);
    }
    return place;
}

static void steps_hold_their_days(void **state)
{
    (void)state;
    /* 2004 is a leap year; 2005 shows what follows one. */
    struct stv_position place = banded_place(2003, 365 + 366 + 365, -420);
    struct stv_climate_table *table = table_of(&place, 5.0);
    assert_int_equal(stv_table_steps(table), 73);
    for (int year = 2003; year <= 2005; year++) {
        for (size_t s = 1; s < 73; s++) {
            stv_assert_close(stv_table_step_start_d(table, s), 5.0 * (double)s, 1e-13, 0.0);
            struct stv_step_climate step =
                step_of(table, stv_table_find(table, year, s), 10.0, params.permeance_ea_j_mol);
            double before_c = banded_c(5 * s - 1), own_c = banded_c(5 * s);
            /* The liquid lags, so the step's mean lies between the last band's and its own. */
            double got = stv_step_arrhenius20_nd(&step, 40000.0);
            assert_true(got < stv_arrhenius20_nd(40000.0, own_c));
            assert_true(got > stv_arrhenius20_nd(40000.0, 0.3 * before_c + 0.7 * own_c));
        }
    }
    stv_assert_close(stv_table_step_start_d(table, 73), 365.0, 0.0, 0.0);
    /* The 366th day belongs to the last step, not to the first. */
    struct stv_step_climate before =
        step_of(table, stv_table_find(table, 2004, 0), 10.0, params.permeance_ea_j_mol);
    struct stv_step_climate after =
        step_of(table, stv_table_find(table, 2005, 0), 10.0, params.permeance_ea_j_mol);
    stv_assert_close(stv_step_arrhenius20_nd(&before, 40000.0),
                     stv_step_arrhenius20_nd(&after, 40000.0), 1e-4, 0.0);
    stv_climate_table_free(table);

    static const double wished_d[] = {1.0, 2.5, 4.0, 7.0, 10.0};
    static const size_t steps[] = {365, 146, 92, 53, 37};
    for (int i = 0; i < 5; i++) {
        table = table_of(&place, wished_d[i]);
        assert_int_equal(stv_table_steps(table), steps[i]);
        stv_climate_table_free(table);
    }
    place_end(&place);
}

static void years_are_told_apart(void **state)
{
    (void)state;
    /* 2003 from 1 January to the end of June 2005, with five days missing in March 2004. */
    struct stv_position place = steady_place(2003, (365 + 366 + 181) * STV_DAY_H, 11.0, 0.7);
    for (size_t k = 0; k < place.grid.n; k++) {
        int64_t day_d = stv_grid_local_day(&place.grid, k, NULL);
        struct stv_date date = stv_date_from_day(day_d);
        place.air_c[k] = place.radiant_c[k] = 11.0 + date.year - 2003;
        if (day_d >= day_of(2004, 1, 1) + 60 && day_d < day_of(2004, 1, 1) + 65)
            place.rh_frac[k] = NAN;
    }
    struct stv_climate_table *table = table_of(&place, 5.0);
    size_t n;
    const int32_t *whole = stv_table_whole_years(table, &n);
    assert_int_equal(n, 1);
    assert_int_equal(whole[0], 2003);
    assert_true(stv_table_find(table, 2004, 11) != SIZE_MAX);
    assert_true(stv_table_find(table, 2004, 12) == SIZE_MAX);
    assert_true(stv_table_find(table, 2005, 35) != SIZE_MAX);
    assert_true(stv_table_find(table, 2005, 37) == SIZE_MAX);
    assert_true(stv_table_find(table, 2002, 1) == SIZE_MAX);
    assert_true(stv_table_find(table, 2006, 1) == SIZE_MAX);
    /* Any year that has the step, counted round. */
    assert_true(stv_table_find_any(table, 0, 12) == stv_table_find(table, 2003, 12));
    assert_true(stv_table_find_any(table, 1, 12) == stv_table_find(table, 2005, 12));
    assert_true(stv_table_find_any(table, 2, 12) == stv_table_find(table, 2003, 12));
    assert_true(stv_table_find_any(table, 4, 20) == stv_table_find(table, 2004, 20));
    assert_true(stv_table_find_any(table, 77, 50) ==
                stv_table_find(table, 77 % 2 ? 2004 : 2003, 50));
    stv_climate_table_free(table);
    place_end(&place);
}

/* The pressure that leaks may follow is told over the mean of all years, not of one. */
static void pressures_average_to_one(void **state)
{
    (void)state;
    struct stv_position place = place_new(2001, 3 * YEAR_H, 0, &swinging);
    for (size_t k = 0; k < YEAR_H; k++)
        place.air_c[k] = place.radiant_c[k] += 6.0; /* a hot first year */
    struct stv_climate_table *table = table_of(&place, 5.0);
    double sum = 0.0, first = 0.0;
    for (int year = 2001; year < 2004; year++)
        for (size_t s = 0; s < 73; s++) {
            struct stv_step_climate step =
                step_of(table, stv_table_find(table, year, s), 36.0, params.permeance_ea_j_mol);
            sum += step.ethanol_pressure_rel_nd / (3.0 * 73.0);
            first += year == 2001 ? step.ethanol_pressure_rel_nd / 73.0 : 0.0;
        }
    stv_assert_close(sum, 1.0, 1e-9, 0.0);
    assert_true(first > 1.15);
    stv_climate_table_free(table);
    place_end(&place);
}

static void clocks_cost_no_year(void **state)
{
    (void)state;
    static const int offsets_min[] = {-720, -420, 0, 330, 780, 840};
    for (int i = 0; i < 6; i++) {
        /* A record cut at UTC: 14 h of a step are another local year's. */
        struct stv_position place = steady_place(2003, YEAR_H, 11.0, 0.7);
        place.grid.utc_offset_min = offsets_min[i];
        struct stv_climate_table *table = table_of(&place, 5.0);
        size_t n;
        assert_int_equal(stv_table_whole_years(table, &n)[0], 2003);
        assert_int_equal(n, 1);
        stv_climate_table_free(table);
        /* A typical year has no end that the clock could move hours over, at any step. */
        place.grid.is_typical = true;
        table = table_of(&place, 1.0);
        stv_table_whole_years(table, &n);
        assert_int_equal(n, 1);
        stv_climate_table_free(table);
        place_end(&place);
    }
}

static void held_hours_are_counted(void **state)
{
    (void)state;
    struct stv_position place = steady_place(2003, YEAR_H, 20.0, 0.3);
    for (size_t k = 4000; k < 4876; k++) /* a tenth of the year */
        place.air_c[k] = place.radiant_c[k] = 80.0;
    for (size_t k = 0; k < 876; k++)
        place.air_c[k] = place.radiant_c[k] = -40.0;
    struct stv_climate_table *table = table_of(&place, 5.0);
    /* The liquid needs its time to get out of range and back. */
    stv_assert_close(stv_table_held_frac(table), 0.2, 0.0, 0.02);
    struct stv_step_climate step =
        step_of(table, stv_table_find(table, 2003, 37), 28.2, params.permeance_ea_j_mol);
    stv_assert_close(stv_step_arrhenius20_nd(&step, 30000.0), stv_arrhenius20_nd(30000.0, 50.0),
                     1e-6, 0.0);
    stv_climate_table_free(table);
    place_end(&place);
}

static void members_move_the_climate(void **state)
{
    (void)state;
    struct stv_position place = place_new(2003, YEAR_H, 0, &swinging);
    struct climate_of moved = swinging;
    moved.mean_c += 1.37;
    moved.rh_frac += 0.043;
    struct stv_position other = place_new(2003, YEAR_H, 0, &moved);
    struct stv_table_options options = {
        .step_d = 5.0, .member = {1.37, 0.043}, .exposed_frac = 1.0, .numbers = &usual};
    struct stv_climate_table *got, *want = table_of(&other, 5.0);
    stv_assert_ok(stv_climate_table_new(&place, functions, &options, &got));
    for (size_t s = 0; s < 73; s++) {
        struct stv_step_climate a =
            step_of(got, stv_table_find(got, 2003, s), 28.2, params.permeance_ea_j_mol);
        struct stv_step_climate b =
            step_of(want, stv_table_find(want, 2003, s), 28.2, params.permeance_ea_j_mol);
        for (int i = 0; i < STV__NODES; i++) {
            stv_assert_close(a.water_pa[i], b.water_pa[i], 1e-9, 1e-6);
            stv_assert_close(a.ethanol_pa[i], b.ethanol_pa[i], 1e-9, 0.0);
        }
    }
    stv_climate_table_free(got);
    stv_climate_table_free(want);
    place_end(&place);
    place_end(&other);
}

/* A cask in a block sees part of the air: slower by the exposed share. */
static void exposure_slows_the_liquid(void **state)
{
    (void)state;
    struct stv_position place = place_new(2003, YEAR_H, 0, &swinging);
    struct stv_table_options options = {.step_d = 5.0, .exposed_frac = 0.6, .numbers = &usual};
    struct stv_climate_table *block, *open = table_of(&place, 5.0);
    stv_assert_ok(stv_climate_table_new(&place, functions, &options, &block));
    struct stv_step_climate slow =
        step_of(block, stv_table_find(block, 2003, 40), 36.0, params.permeance_ea_j_mol);
    struct stv_wood_flux want = mean_of_hours(&place, 60.0, &params, 0.317);
    assert_true(flux_error(block, &slow, 0.317, &want) < 3e-4);
    stv_climate_table_free(block);
    stv_climate_table_free(open);
    place_end(&place);
}

static void refusals(void **state)
{
    (void)state;
    struct stv_position place = steady_place(2003, YEAR_H, 20.0, 0.5);
    stv_assert_status(refusal_of(&place, 0.99, 1.0), STV_E_DOMAIN);
    stv_assert_status(refusal_of(&place, 10.01, 1.0), STV_E_DOMAIN);
    stv_assert_status(refusal_of(&place, NAN, 1.0), STV_E_DOMAIN);
    stv_assert_status(refusal_of(&place, 5.0, 0.0), STV_E_DOMAIN);
    stv_assert_status(refusal_of(&place, 5.0, 1.01), STV_E_DOMAIN);
    stv_assert_status(refusal_of(&place, 5.0, 1.0), STV_OK);
    place.grid.n = 200 * STV_DAY_H; /* the end of the year is never met */
    stv_assert_status(refusal_of(&place, 5.0, 1.0), STV_E_NO_DATA);
    place.grid.n = YEAR_H;
    for (size_t k = 120; k < 220; k++) /* a hole in the only year */
        place.air_c[k] = NAN;
    stv_assert_status(refusal_of(&place, 5.0, 1.0), STV_E_NO_DATA);
    place.grid.n = 0;
    stv_assert_status(refusal_of(&place, 5.0, 1.0), STV_E_DOMAIN);
    place_end(&place);
}

/* Against Simpson's rule on 4000 cells. */
static void wood_integral_is_smooth(void **state)
{
    (void)state;
    static const double temps_c[] = {-15.0, 3.5, 20.0, 50.0};
    for (int t = 0; t < 4; t++)
        for (double to = 0.0007; to < 1.0; to += 0.0391) {
            double sum = 0.0, cell = to / 4000.0;
            for (int i = 0; i < 4000; i++)
                sum += (stv_wood_local_factor_nd(i * cell, temps_c[t]) +
                        4.0 * stv_wood_local_factor_nd((i + 0.5) * cell, temps_c[t]) +
                        stv_wood_local_factor_nd((i + 1) * cell, temps_c[t])) *
                       cell / 6.0;
            stv_assert_close(stv__wood_integral_nd(functions, to, temps_c[t]), sum, 0.0,
                             to < 0.9 ? 2e-8 : 1e-6);
        }
}

/* Cooperage's own function by straight lines. */
static void wetted_share_is_tabulated(void **state)
{
    (void)state;
    for (double full = -0.1; full < 1.15; full += 0.01237)
        stv_assert_close(stv__wetted_frac(functions, full), stv_cask_wetted_frac(full, &usual), 0.0,
                         5e-4);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steady_air_is_the_equation),
        cmocka_unit_test(swinging_air_is_averaged_hour_by_hour),
        cmocka_unit_test(activity_offsets_move_the_composition),
        cmocka_unit_test(arrhenius_means_are_exact_enough),
        cmocka_unit_test(steps_hold_their_days),
        cmocka_unit_test(years_are_told_apart),
        cmocka_unit_test(pressures_average_to_one),
        cmocka_unit_test(clocks_cost_no_year),
        cmocka_unit_test(held_hours_are_counted),
        cmocka_unit_test(members_move_the_climate),
        cmocka_unit_test(exposure_slows_the_liquid),
        cmocka_unit_test(refusals),
        cmocka_unit_test(wood_integral_is_smooth),
        cmocka_unit_test(wetted_share_is_tabulated),
    };
    return cmocka_run_group_tests(tests, make_functions, free_functions);
}
