/* A place boiled down to steps, against the hours themselves. */
#include "model/air.h"
#include "model/climate_table.h"
#include "model/esters.h"
#include "model/evaporation.h"
#include "model/position_liquid.h"
#include "model/spirit_vapour.h"
#include "model/wood.h"
#include "tests/places.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_integration.h>

#define YEAR_H 8760
#define NODE 16 /* 28 h, as a 200 L cask */

/* Rows of sixteen members, each of its own energies and error of activity; and of one for all. */
static struct stv_params params[STV__LANES];
static struct stv__lane_rows *rows, *alike;
static gsl_integration_glfixed_table *gauss;

static int make_rows(void **state)
{
    struct stv_params same[STV__LANES];
    (void)state;
    for (size_t l = 0; l < STV__LANES; l++) {
        double off = ((double)l - 7.0) / 8.0; /* -0.9 .. 1, 0 for the eighth */
        same[l] = params[l] = stv_params_default();
        params[l].permeance_ea_j_mol += 20000.0 * off;
        params[l].water_activity_offset_nd = 0.022 * off;
        params[l].extraction_ea_offset_j_mol = 15000.0 * off;
        params[l].ester_ea_j_mol -= 9000.0 * off;
    }
    gauss = gsl_integration_glfixed_table_alloc(20);
    bool made = stv__lane_rows_new(params, &usual, STV__LANES, &rows) == STV_OK &&
                stv__lane_rows_new(same, &usual, 1, &alike) == STV_OK;
    return made && gauss ? 0 : -1;
}

static int free_rows(void **state)
{
    (void)state;
    stv__lane_rows_free(rows);
    stv__lane_rows_free(alike);
    stv__lane_rows_free(NULL);
    gsl_integration_glfixed_table_free(gauss);
    return 0;
}

static struct stv__table_plan plan_of(const struct stv_position *place, int first_year,
                                      int last_year)
{
    struct stv__table_plan plan = {.position = place,
                                   .rows = rows,
                                   .step_d = 5,
                                   .first_year = first_year,
                                   .last_year = last_year,
                                   .seed = 5,
                                   .convective_frac = stv_cask_convective_frac(&usual)};
    for (size_t l = 0; l < STV__LANES; l++)
        plan.tau_factor_nd[l] = 1.0;
    return plan;
}

static struct stv_climate_table *table_of(const struct stv__table_plan *plan)
{
    struct stv_climate_table *table;
    stv_assert_ok(stv_climate_table_new(plan, &table));
    return table;
}

static const struct stv__cell *cell_of(struct stv_climate_table *table, size_t panel, size_t node)
{
    const struct stv__cell *cell;
    stv_assert_ok(stv__table_cell(table, panel, node, &cell));
    return cell;
}

static double column(const float *columns, size_t column_idx, size_t lane)
{
    return (double)columns[column_idx * STV__LANES + lane];
}

/* Water and ethanol pressures of a lane's columns at a composition. */
struct pressures {
    double water_pa, ethanol_pa;
};

static struct pressures pressures_at(const float *columns, size_t lane, double root_nd)
{
    size_t panel = stv__panel_of(root_nd);
    double low = stv__panel_bound_nd[panel], high = stv__panel_bound_nd[panel + 1];
    double place = (2.0 * root_nd - low - high) / (high - low);
    struct pressures at = {0.0, 0.0};
    for (size_t k = STV__NODES8; k-- > 0;) {
        at.water_pa = at.water_pa * place + column(columns, STV__COL_WATER + k, lane);
        at.ethanol_pa = at.ethanol_pa * place + column(columns, STV__COL_ETHANOL + k, lane);
    }
    return at;
}

/* The sheet's own equation for an hour, its mean over humidity by twenty points. */
static struct pressures hour_pressures(const struct stv_params *of, double mole_frac,
                                       double liquid_c, double air_c, double rh_frac)
{
    struct stv_spirit_activity activity;
    stv_assert_ok(stv_spirit_activity(mole_frac, liquid_c, &activity));
    double water_nd = activity.water_nd + of->water_activity_offset_nd, wood = 0.0;
    for (size_t i = 0; i < 20; i++) {
        double h, weight;
        gsl_integration_glfixed_point(0.0, 1.0, i, &h, &weight, gauss);
        wood += weight * stv_wood_local_factor_nd(rh_frac + h * (water_nd - rh_frac), liquid_c);
    }
    wood *= exp(-of->permeance_ea_j_mol / STV_GAS_J_MOLK *
                (1.0 / stv_k_from_c(liquid_c) - 1.0 / 288.15));
    return (struct pressures){
        wood * (water_nd * stv_water_psat_pa(liquid_c) - rh_frac * stv_water_psat_pa(air_c)),
        wood * activity.ethanol_nd * stv_ethanol_psat_pa(liquid_c)};
}

/* The larger of both errors, as fluxes, over the sum of both fluxes: what litres and strength see
 * of it. */
static double flux_error(struct pressures got, struct pressures want)
{
    double ratio = params[0].permeance_ratio_nd;
    double scale = fabs(want.water_pa) + want.ethanol_pa / ratio;
    return fmax(fabs(got.water_pa - want.water_pa),
                fabs(got.ethanol_pa - want.ethanol_pa) / ratio) /
           scale;
}

/* All members, all compositions, cold and hot, dry and damp. */
static void steady_air_is_the_equation(void **state)
{
    (void)state;
    static const double climates[][2] = {{5.0, 0.4},   {22.5, 0.6},  {35.0, 0.9},
                                         {20.0, 0.84}, {-11.3, 0.7}, {47.0, 0.15}};
    double worst = 0.0;
    for (size_t c = 0; c < sizeof climates / sizeof *climates; c++) {
        double temp_c = climates[c][0], rh_frac = climates[c][1];
        struct stv_position place = steady_place(2003, YEAR_H, temp_c, rh_frac);
        struct stv__table_plan plan = plan_of(&place, 2003, 2003);
        struct stv_climate_table *table = table_of(&plan);
        for (double root = 0.2001; root < 0.866; root += 0.0171) {
            const float *columns =
                stv__cell_step(cell_of(table, stv__panel_of(root), NODE), 2003, 31);
            for (size_t l = 0; l < STV__LANES; l++) {
                struct pressures want =
                    hour_pressures(&params[l], root * root, temp_c, temp_c, rh_frac);
                worst = fmax(worst, flux_error(pressures_at(columns, l, root), want));
                stv_assert_close(column(columns, STV__COL_PRESSURE, l), 1.0, 1e-6, 0.0);
                stv_assert_close(column(columns, STV__COL_SWING, l), 0.0, 0.0, 1e-9);
            }
        }
        stv_assert_close(stv_table_held_frac(table), 0.0, 0.0, 0.0);
        stv_climate_table_free(table);
        place_end(&place);
    }
    print_message("worst flux of steady air: %.1e\n", worst);
    assert_true(worst < 2e-5);
}

static const struct climate_of swinging = {.mean_c = 17.3,
                                           .year_k = 11.0,
                                           .day_k = 7.5,
                                           .rh_frac = 0.56,
                                           .rh_year_frac = 0.11,
                                           .rh_day_frac = 0.13,
                                           .radiant_more_k = 0.9};

/* Means over hours [from, to) by the equation itself; the liquid moves straight within the hour,
 * which two points at +-1/sqrt(12) of the move integrate. */
static struct pressures mean_of_hours(const struct stv_position *place, double time_constant_h,
                                      size_t lane, double mole_frac, const size_t hours[2])
{
    double *liquid_c = room_for(place->grid.n);
    struct pressures sum = {0.0, 0.0};
    stv_assert_ok(stv_position_liquid_at_c(place, time_constant_h, stv_cask_convective_frac(&usual),
                                           liquid_c));
    for (size_t k = hours[0]; k < hours[1]; k++) {
        double half_k = 0.5 * (liquid_c[k + 1] - liquid_c[k - 1]) / sqrt(12.0);
        for (int side = -1; side <= 1; side += 2) {
            struct pressures hour =
                hour_pressures(&params[lane], mole_frac, liquid_c[k] + side * half_k,
                               place->air_c[k], place->rh_frac[k]);
            sum.water_pa += 0.5 * hour.water_pa / (double)(hours[1] - hours[0]);
            sum.ethanol_pa += 0.5 * hour.ethanol_pa / (double)(hours[1] - hours[0]);
        }
    }
    free(liquid_c);
    return sum;
}

/* Steps and single days, of small and large casks, slowed and quick members. */
static void swinging_air_is_averaged_hour_by_hour(void **state)
{
    (void)state;
    static const size_t nodes[] = {11, NODE, 20};
    struct stv_position place = place_new(2003, YEAR_H, 0, &swinging);
    struct stv__table_plan plan = plan_of(&place, 2003, 2003);
    double worst = 0.0;
    for (size_t l = 0; l < STV__LANES; l++)
        plan.tau_factor_nd[l] = 0.7 + 0.1 * (double)l;
    struct stv_climate_table *table = table_of(&plan);
    for (size_t n = 0; n < sizeof nodes / sizeof *nodes; n++)
        for (size_t l = 0; l < STV__LANES; l += 3) {
            double time_constant_h = stv__tau_of_node_h(nodes[n]) * plan.tau_factor_nd[l];
            double root = 0.5 + 0.02 * (double)l;
            const struct stv__cell *cell = cell_of(table, stv__panel_of(root), nodes[n]);
            const float *day;
            struct pressures want = mean_of_hours(&place, time_constant_h, l, root * root,
                                                  (size_t[]){40 * 120, 41 * 120});
            worst = fmax(worst,
                         flux_error(pressures_at(stv__cell_step(cell, 2003, 40), l, root), want));
            want = mean_of_hours(&place, time_constant_h, l, root * root,
                                 (size_t[]){203 * 24, 204 * 24});
            stv_assert_ok(stv__cell_day(cell, 2003, 40, 3, &day));
            worst = fmax(worst, flux_error(pressures_at(day, l, root), want));
        }
    print_message("worst flux of swinging air: %.1e\n", worst);
    assert_true(worst < 2e-5);
    stv_climate_table_free(table);
    place_end(&place);
}

/* Every factor that some kind of extract or the esters need. */
static void arrhenius_means_are_those_of_the_hours(void **state)
{
    (void)state;
    struct stv_position place = place_new(2003, YEAR_H, 0, &swinging);
    struct stv__table_plan plan = plan_of(&place, 2003, 2003);
    struct stv_climate_table *table = table_of(&plan);
    const struct stv__factor_columns *columns = stv__lane_rows_columns(rows);
    double *liquid_c = room_for(YEAR_H);
    stv_assert_ok(stv_position_liquid_at_c(&place, stv__tau_of_node_h(NODE),
                                           stv_cask_convective_frac(&usual), liquid_c));
    for (size_t s = 4; s < 73; s += 9)
        for (size_t l = 0; l < STV__LANES; l += 5) {
            const float *step = stv__cell_step(cell_of(table, 1, NODE), 2003, s);
            for (size_t k = 0; k <= STV_OAK_N; k++) {
                struct stv_oak_constants oak =
                    stv_oak_constants_of(&usual, (enum stv_oak_kind)(k % STV_OAK_N));
                double ea_j_mol = k < STV_OAK_N
                                      ? stv_oak_ea_j_mol(oak.slow_ea_j_mol, &params[l], &usual)
                                      : params[l].ester_ea_j_mol;
                double sum = 0.0;
                for (size_t h = s * 120; h < (s + 1) * 120; h++)
                    sum += stv_arrhenius20_nd(ea_j_mol, liquid_c[h]);
                size_t at = k < STV_OAK_N ? columns->slow[k] : columns->ester;
                stv_assert_close(column(step, at, l), sum / 120.0, 1e-4, 0.0);
            }
        }
    assert_true(columns->decay[STV_OAK_PHENOLICS] == SIZE_MAX);
    free(liquid_c);
    stv_climate_table_free(table);
    place_end(&place);
}

/* Factor of the ester's energy: tells the temperature that a step saw. */
static double ester_factor(const struct stv__cell *cell, int year, size_t step, size_t lane)
{
    return column(stv__cell_step(cell, year, step), stv__lane_rows_columns(rows)->ester, lane);
}

static double factor_at(double temp_c, size_t lane)
{
    return stv_arrhenius20_nd(params[lane].ester_ea_j_mol, temp_c);
}

/* A different temperature in every five days shows which hours a step took. */
static double banded_c(size_t day)
{
    return 5.0 + 0.35 * (double)(day < 365 ? day / 5 : 72);
}

static void steps_hold_their_days(void **state)
{
    (void)state;
    /* 2004 is a leap year; 2005 shows what follows one. */
    struct climate_of climate = {.rh_frac = 0.6};
    struct stv_position place = place_new(2003, (365 + 366 + 365) * STV_DAY_H, -420, &climate);
    for (size_t k = 0; k < place.grid.n; k++) {
        int64_t day_d = stv_grid_local_day(&place.grid, k, NULL);
        place.air_c[k] = place.radiant_c[k] = banded_c((size_t)stv_day_of_year(day_d) - 1);
    }
    struct stv__table_plan plan = plan_of(&place, 2003, 2005);
    struct stv_climate_table *table = table_of(&plan);
    const struct stv__cell *cell = cell_of(table, 1, 10); /* 8 h: follows soon */
    assert_int_equal(stv_table_steps(table), 73);
    for (int year = 2003; year <= 2005; year++)
        for (size_t s = 1; s < 73; s++) {
            assert_int_equal(stv_table_step_start_d(table, s), 5 * s);
            /* The liquid lags, so the step's mean lies between the last band's and its own. */
            double got = ester_factor(cell, year, s, 7), own_c = banded_c(5 * s);
            assert_true(got < factor_at(own_c, 7) * (1.0 + 1e-6));
            assert_true(got > factor_at(own_c - 0.3 * 0.35, 7));
        }
    /* The 366th day belongs to the last step, not to the first. */
    stv_assert_close(ester_factor(cell, 2004, 0, 7), ester_factor(cell, 2005, 0, 7), 1e-4, 0.0);
    const float *odd;
    stv_assert_ok(stv__cell_day(cell, 2004, 72, 5, &odd));
    stv_assert_close(column(odd, stv__lane_rows_columns(rows)->ester, 7),
                     factor_at(banded_c(365), 7), 1e-6, 0.0);
    stv_climate_table_free(table);

    static const size_t steps[] = {365, 183, 122, 92, 73, 61, 53, 46, 41, 37};
    for (size_t step_d = 1; step_d <= 10; step_d++) {
        plan.step_d = step_d;
        table = table_of(&plan);
        assert_int_equal(stv_table_steps(table), steps[step_d - 1]);
        stv_climate_table_free(table);
    }
    place_end(&place);
}

/* A record each year of which has its own steady temperature, 11 C and one more every year. */
static struct stv_position stepped_place(size_t n_days)
{
    struct stv_position place = steady_place(2003, n_days * STV_DAY_H, 11.0, 0.7);
    for (size_t k = 0; k < place.grid.n; k++) {
        struct stv_date date = stv_date_from_day(stv_grid_local_day(&place.grid, k, NULL));
        place.air_c[k] = place.radiant_c[k] = 11.0 + date.year - 2003;
    }
    return place;
}

/* Temperature of a step well inside a year of such a record. */
static double year_c(const struct stv__cell *cell, int year, size_t step, size_t lane)
{
    double nd =
        log(ester_factor(cell, year, step, lane)) * STV_GAS_J_MOLK / params[lane].ester_ea_j_mol;
    return stv_c_from_k(1.0 / (1.0 / 293.15 - nd));
}

/* Years of the record are their own; others are whole years of it, in order in the central run and
 * drawn lane by lane with draws. */
static void other_years_are_put_together(void **state)
{
    (void)state;
    struct stv_position place = stepped_place(365 + 366 + 365 + 181); /* to the end of June 2006 */
    struct stv__table_plan plan = plan_of(&place, 1999, 2040);
    struct stv_climate_table *table = table_of(&plan);
    const struct stv__cell *cell = cell_of(table, 1, 10);
    size_t n;
    const int32_t *whole = stv_table_whole_years(table, &n);
    assert_int_equal(n, 3);
    assert_int_equal(whole[0], 2003);
    assert_int_equal(whole[2], 2005);
    size_t n_met[3] = {0}, n_differ = 0;
    for (int year = 1999; year <= 2040; year++)
        for (size_t l = 0; l < STV__LANES; l++) {
            double got_c = year_c(cell, year, 30, l);
            if (year >= 2003 && year <= 2006)
                stv_assert_close(got_c, 11.0 + year - 2003, 0.0, 1e-3);
            else
                n_met[llround(got_c) - 11]++;
            n_differ += fabs(got_c - year_c(cell, year, 30, 0)) > 0.5;
            /* One year throughout, but for the rest of 2006. */
            stv_assert_close(got_c, year_c(cell, year, year == 2006 ? 20 : 60, l), 0.0, 1e-3);
        }
    for (size_t i = 0; i < 3; i++) /* of 38 years in 16 lanes a third each, +- 12 */
        assert_true(n_met[i] > 150 && n_met[i] < 260);
    assert_true(n_differ > 300);
    stv_climate_table_free(table);
    plan.is_central = true;
    plan.rows = alike;
    table = table_of(&plan);
    cell = cell_of(table, 1, 10);
    for (int year = 2007; year <= 2040; year++) {
        double want =
            stv_arrhenius20_nd(stv_params_default().ester_ea_j_mol, 11.0 + (year - 2003) % 3);
        float got =
            stv__cell_step(cell, year, 30)[stv__lane_rows_columns(alike)->ester * STV__LANES + 9];
        stv_assert_close((double)got, want, 1e-5, 0.0);
    }
    stv_climate_table_free(table);
    place_end(&place);
}

/* Another seed draws other years; the same draws the same, however many are asked for. */
static void years_depend_on_the_seed_alone(void **state)
{
    (void)state;
    struct stv_position place = stepped_place(365 + 366 + 365);
    struct stv__table_plan plan = plan_of(&place, 2003, 2030), fewer = plan_of(&place, 2010, 2020);
    struct stv__table_plan other = plan;
    other.seed = 6;
    struct stv_climate_table *a = table_of(&plan), *b = table_of(&fewer), *c = table_of(&other);
    size_t n_bytes = stv__lane_rows_columns(rows)->n_columns * STV__LANES * sizeof(float);
    size_t n_differ = 0;
    for (int year = 2010; year <= 2020; year++) {
        const float *step = stv__cell_step(cell_of(a, 1, 10), year, 44);
        assert_memory_equal(step, stv__cell_step(cell_of(b, 1, 10), year, 44), n_bytes);
        n_differ += memcmp(step, stv__cell_step(cell_of(c, 1, 10), year, 44), n_bytes) != 0;
    }
    assert_true(n_differ > 9);
    stv_climate_table_free(a);
    stv_climate_table_free(b);
    stv_climate_table_free(c);
    place_end(&place);
}

/* A step that its year lacks is a whole year's; where no year is whole, any year's that has it. */
static void holes_are_other_years_steps(void **state)
{
    (void)state;
    struct stv_position place = stepped_place(365 + 366 + 181);
    for (size_t k = 0; k < place.grid.n; k++) {
        int64_t day_d = stv_grid_local_day(&place.grid, k, NULL) - day_of(2004, 1, 1);
        if (day_d >= 60 && day_d < 65)
            place.rh_frac[k] = NAN;
    }
    struct stv__table_plan plan = plan_of(&place, 2003, 2006);
    struct stv_climate_table *table = table_of(&plan);
    const struct stv__cell *cell = cell_of(table, 1, 10);
    size_t n;
    stv_table_whole_years(table, &n);
    assert_int_equal(n, 1);
    stv_assert_close(year_c(cell, 2004, 11, 3), 12.0, 0.0, 1e-3);
    stv_assert_close(year_c(cell, 2004, 12, 3), 11.0, 0.0, 1e-3);
    stv_assert_close(year_c(cell, 2005, 35, 3), 13.0, 0.0, 1e-3);
    stv_assert_close(year_c(cell, 2005, 37, 3), 11.0, 0.0, 1e-3);
    stv_assert_close(year_c(cell, 2006, 20, 3), 11.0, 0.0, 1e-3);
    stv_climate_table_free(table);
    for (size_t k = 100 * STV_DAY_H; k < 110 * STV_DAY_H; k++) /* none is whole any more */
        place.air_c[k] = NAN;
    table = table_of(&plan);
    cell = cell_of(table, 1, 10);
    stv_table_whole_years(table, &n);
    assert_int_equal(n, 0);
    stv_assert_close(year_c(cell, 2003, 30, 3), 11.0, 0.0, 1e-3);
    stv_assert_close(year_c(cell, 2005, 50, 3), year_c(cell, 2005, 50, 3) > 11.5 ? 12.0 : 11.0, 0.0,
                     1e-3);
    double gap_c = year_c(cell, 2003, 20, 3); /* 2004 and 2005 have it */
    assert_true(fabs(gap_c - 12.0) < 1e-3 || fabs(gap_c - 13.0) < 1e-3);
    stv_climate_table_free(table);
    place_end(&place);
}

/* Years after the record are warmer, hour by hour, liquid and air. */
static void years_to_come_are_warmed(void **state)
{
    (void)state;
    struct stv_position place = steady_place(2003, 2 * YEAR_H + 24, 14.0, 0.55);
    struct stv__table_plan plan = plan_of(&place, 2003, 2024);
    plan.warming_k_per_y = 0.07;
    struct stv_climate_table *table = table_of(&plan);
    for (int year = 2003; year <= 2024; year += 7) {
        double warm_c = 14.0 + 0.07 * (year > 2004 ? year - 2004 : 0);
        const struct stv__cell *cell = cell_of(table, 1, NODE);
        const float *step = stv__cell_step(cell, year, 20), *day;
        struct pressures want = hour_pressures(&params[5], 0.3, warm_c, warm_c, 0.55);
        assert_true(flux_error(pressures_at(step, 5, sqrt(0.3)), want) < 2e-5);
        stv_assert_ok(stv__cell_day(cell, year, 20, 2, &day));
        assert_true(flux_error(pressures_at(day, 5, sqrt(0.3)), want) < 2e-5);
        stv_assert_close(ester_factor(cell, year, 20, 5), factor_at(warm_c, 5), 1e-6, 0.0);
    }
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
    struct stv__table_plan plan = plan_of(&place, 2001, 2003);
    struct stv_climate_table *table = table_of(&plan);
    double sum = 0.0, first = 0.0;
    for (int year = 2001; year < 2004; year++)
        for (size_t s = 0; s < 73; s++) {
            const float *step = stv__cell_step(cell_of(table, 1, NODE), year, s);
            sum += column(step, STV__COL_PRESSURE, 2) / (3.0 * 73.0);
            first += year == 2001 ? column(step, STV__COL_PRESSURE, 2) / 73.0 : 0.0;
        }
    stv_assert_close(sum, 1.0, 1e-6, 0.0);
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
        struct stv__table_plan plan = plan_of(&place, 2003, 2004);
        place.grid.utc_offset_min = offsets_min[i];
        struct stv_climate_table *table = table_of(&plan);
        size_t n;
        assert_int_equal(stv_table_whole_years(table, &n)[0], 2003);
        assert_int_equal(n, 1);
        stv_climate_table_free(table);
        /* A typical year has no end that the clock could move hours over, at any step. */
        place.grid.is_typical = true;
        plan.step_d = 1;
        table = table_of(&plan);
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
    struct stv__table_plan plan = plan_of(&place, 2003, 2003);
    struct stv_climate_table *table = table_of(&plan);
    stv_assert_close(stv_table_held_frac(table), 0.0, 0.0, 0.0); /* nobody has asked yet */
    const struct stv__cell *cell = cell_of(table, 1, NODE);
    /* The liquid needs its time to get out of range and back. */
    stv_assert_close(stv_table_held_frac(table), 0.2, 0.0, 0.02);
    stv_assert_close(ester_factor(cell, 2003, 37, 4), factor_at(50.0, 4), 1e-6, 0.0);
    stv_climate_table_free(table);
    place_end(&place);
}

/* A member's offsets are a place that lies so much off. */
static void members_move_the_climate(void **state)
{
    (void)state;
    struct stv_position place = place_new(2003, YEAR_H, 0, &swinging);
    struct stv__table_plan plan = plan_of(&place, 2003, 2003);
    for (size_t l = 0; l < STV__LANES; l++)
        plan.members[l] =
            (struct stv_climate_member){0.3 * (double)l - 2.0, 0.06 - 0.007 * (double)l};
    struct stv_climate_table *got = table_of(&plan);
    for (size_t l = 0; l < STV__LANES; l += 5) {
        struct climate_of moved = swinging;
        moved.mean_c += plan.members[l].liquid_offset_k;
        moved.rh_frac += plan.members[l].humidity_offset_frac;
        struct stv_position other = place_new(2003, YEAR_H, 0, &moved);
        struct stv__table_plan there = plan_of(&other, 2003, 2003);
        struct stv_climate_table *want = table_of(&there);
        for (size_t s = 0; s < 73; s += 8) {
            const float *a = stv__cell_step(cell_of(got, 2, NODE), 2003, s);
            const float *b = stv__cell_step(cell_of(want, 2, NODE), 2003, s);
            assert_true(flux_error(pressures_at(a, l, 0.71), pressures_at(b, l, 0.71)) < 2e-6);
            for (size_t c = STV__COL_PRESSURE; c < stv__lane_rows_columns(rows)->n_columns; c++)
                stv_assert_close(column(a, c, l), column(b, c, l), 2e-6, 0.0);
        }
        stv_climate_table_free(want);
        place_end(&other);
    }
    stv_climate_table_free(got);
    place_end(&place);
}

/* Nodes of the time constant: a factor on it is a walk along them, and beyond the ends it counts
 * as the end. */
static void time_constants_have_their_nodes(void **state)
{
    (void)state;
    for (size_t node = 2; node < STV__TAU_NODES - 3; node++)
        stv_assert_close(stv__tau_place_nd(stv__tau_of_node_h(node)), (double)node, 1e-12, 0.0);
    stv_assert_close(stv__tau_place_nd(0.01), 1.0, 0.0, 1e-5);
    stv_assert_close(stv__tau_place_nd(1e4), STV__TAU_NODES - 3.0, 0.0, 0.0);
    struct stv_position place = place_new(2003, YEAR_H, 0, &swinging);
    struct stv__table_plan plan = plan_of(&place, 2003, 2003), slow = plan;
    double factor = stv__tau_of_node_h(NODE + 3) / stv__tau_of_node_h(NODE);
    for (size_t l = 0; l < STV__LANES; l++)
        slow.tau_factor_nd[l] = factor;
    struct stv_climate_table *open = table_of(&plan), *block = table_of(&slow);
    for (size_t s = 0; s < 73; s += 8) {
        const float *a = stv__cell_step(cell_of(open, 1, NODE + 3), 2003, s);
        const float *b = stv__cell_step(cell_of(block, 1, NODE), 2003, s);
        for (size_t c = STV__COL_PRESSURE; c < stv__lane_rows_columns(rows)->n_columns; c++)
            stv_assert_close(column(a, c, 6), column(b, c, 6), 1e-6, 0.0);
    }
    stv_climate_table_free(open);
    stv_climate_table_free(block);
    place_end(&place);
}

/* Cells and days asked for by several threads at once, in any order, are the same bytes. */
static void whoever_asks_first(void **state)
{
    (void)state;
    struct stv_position place = place_new(2003, 2 * YEAR_H, 0, &swinging);
    struct stv__table_plan plan = plan_of(&place, 2003, 2006);
    struct stv_climate_table *one = table_of(&plan), *many = table_of(&plan);
    size_t n_bytes = stv__lane_rows_columns(rows)->n_columns * STV__LANES * sizeof(float);
    const float *want[48], *got[48];
    enum stv_status status[48];
    for (int i = 0; i < 48; i++)
        stv_assert_ok(stv__cell_day(cell_of(one, (size_t)(i % 2), 12 + (size_t)(i % 3)),
                                    2003 + i % 4, (size_t)i, 1, &want[i]));
#pragma omp parallel for schedule(dynamic) num_threads(4)
    for (int i = 47; i >= 0; i--) {
        const struct stv__cell *cell;
        status[i] = stv__table_cell(many, (size_t)(i % 2), 12 + (size_t)(i % 3), &cell);
        if (status[i] == STV_OK)
            status[i] = stv__cell_day(cell, 2003 + i % 4, (size_t)i, 1, &got[i]);
    }
    for (int i = 0; i < 48; i++) {
        stv_assert_ok(status[i]);
        assert_memory_equal(want[i], got[i], n_bytes);
    }
    stv_climate_table_free(one);
    stv_climate_table_free(many);
    place_end(&place);
}

static enum stv_status refusal_of(struct stv__table_plan plan)
{
    struct stv_climate_table *table;
    enum stv_status status = stv_climate_table_new(&plan, &table);
    if (status != STV_OK)
        assert_null(table);
    stv_climate_table_free(table);
    return status;
}

static void refusals(void **state)
{
    (void)state;
    struct stv_position place = steady_place(2003, YEAR_H, 20.0, 0.5);
    struct stv__table_plan plan = plan_of(&place, 2003, 2003), wrong = plan;
    stv_assert_status(refusal_of(plan), STV_OK);
    wrong.step_d = 0;
    stv_assert_status(refusal_of(wrong), STV_E_DOMAIN);
    wrong.step_d = 11;
    stv_assert_status(refusal_of(wrong), STV_E_DOMAIN);
    stv_assert_status(refusal_of(plan_of(&place, 2004, 2003)), STV_E_DOMAIN);
    place.grid.n = 200 * STV_DAY_H; /* the end of the year is never met */
    stv_assert_status(refusal_of(plan), STV_E_NO_DATA);
    place.grid.n = YEAR_H;
    for (size_t k = 120; k < 220; k++) /* a hole in the only year */
        place.air_c[k] = NAN;
    stv_assert_status(refusal_of(plan), STV_E_NO_DATA);
    place.grid.n = 0;
    stv_assert_status(refusal_of(plan), STV_E_DOMAIN);
    place_end(&place);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steady_air_is_the_equation),
        cmocka_unit_test(swinging_air_is_averaged_hour_by_hour),
        cmocka_unit_test(arrhenius_means_are_those_of_the_hours),
        cmocka_unit_test(steps_hold_their_days),
        cmocka_unit_test(other_years_are_put_together),
        cmocka_unit_test(years_depend_on_the_seed_alone),
        cmocka_unit_test(holes_are_other_years_steps),
        cmocka_unit_test(years_to_come_are_warmed),
        cmocka_unit_test(pressures_average_to_one),
        cmocka_unit_test(clocks_cost_no_year),
        cmocka_unit_test(held_hours_are_counted),
        cmocka_unit_test(members_move_the_climate),
        cmocka_unit_test(time_constants_have_their_nodes),
        cmocka_unit_test(whoever_asks_first),
        cmocka_unit_test(refusals),
    };
    return cmocka_run_group_tests(tests, make_rows, free_rows);
}
