/* Climate tables through the years: days of a step, years to come, holes, warming, members. */
#include "tests/tables.h"

/* Factor of the ester's energy: tells the temperature that a step saw. */
static double ester_factor(struct cell cell, int year, size_t step, size_t lane)
{
    struct columns columns = step_of(cell, year, step);
    return column(&columns, stv__lane_rows_columns(rows)->ester, lane);
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
    struct cell cell = cell_of(table, 1, 10); /* 8 h: follows soon */
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
    struct columns odd = day_of_step(cell, 2004, 72, 5);
    /* Its last half hour leans to the cold of the new year. */
    stv_assert_close(column(&odd, stv__lane_rows_columns(rows)->ester, 7),
                     factor_at(banded_c(365), 7), 1e-3, 0.0);
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
static double year_c(struct cell cell, int year, size_t step, size_t lane)
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
    struct cell cell = cell_of(table, 1, 10);
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
        struct columns got = step_of(cell, year, 30);
        stv_assert_close(column(&got, stv__lane_rows_columns(alike)->ester, 9), want, 1e-5, 0.0);
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
    size_t n_differ = 0;
    for (int year = 2010; year <= 2020; year++) {
        struct columns own = step_of(cell_of(a, 1, 10), year, 44);
        struct columns same = step_of(cell_of(b, 1, 10), year, 44);
        struct columns drawn = step_of(cell_of(c, 1, 10), year, 44);
        assert_memory_equal(&own, &same, sizeof own);
        n_differ += memcmp(&own, &drawn, sizeof own) != 0;
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
    struct cell cell = cell_of(table, 1, 10);
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
        struct cell cell = cell_of(table, stv__panel_of(sqrt(0.3)), NODE);
        struct columns step = step_of(cell, year, 20), day = day_of_step(cell, year, 20, 2);
        struct pressures want = hour_pressures(&params[5], 0.3, warm_c, warm_c, 0.55);
        assert_true(flux_error(pressures_at(&step, 5, sqrt(0.3)), want) < 2e-5);
        assert_true(flux_error(pressures_at(&day, 5, sqrt(0.3)), want) < 2e-5);
        stv_assert_close(ester_factor(cell, year, 20, 5), factor_at(warm_c, 5), 5e-6, 0.0);
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
            struct columns step = step_of(cell_of(table, 1, NODE), year, s);
            sum += column(&step, STV__COL_PRESSURE, 2) / (3.0 * 73.0);
            first += year == 2001 ? column(&step, STV__COL_PRESSURE, 2) / 73.0 : 0.0;
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
    struct cell cell = cell_of(table, 1, NODE);
    stv_assert_close(ester_factor(cell, 2003, 37, 4), factor_at(50.0, 4), 2e-6, 0.0);
    /* The liquid needs its time to get out of range and back. */
    stv_assert_close(stv_table_held_frac(table), 0.2, 0.0, 0.02);
    stv_climate_table_free(table);
    place_end(&place);
}

/* Waves, and what comes early, are differences of sums, to which rounding is more. */
static bool is_wave(size_t column_idx)
{
    size_t n_factors = stv__lane_rows_columns(rows)->n_factors;
    if (column_idx >= STV__COL_FACTORS)
        return column_idx >= STV__COL_FACTORS + n_factors;
    return column_idx != STV__COL_PRESSURE && column_idx != STV__COL_SWING;
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
            struct columns a = step_of(cell_of(got, 2, NODE), 2003, s);
            struct columns b = step_of(cell_of(want, 2, NODE), 2003, s);
            assert_true(flux_error(pressures_at(&a, l, 0.71), pressures_at(&b, l, 0.71)) < 2e-6);
            /* Lags are small differences of hours; a thousandth of a second is none. */
            for (size_t c = STV__COL_AHEAD; c < stv__lane_rows_columns(rows)->n_columns; c++)
                stv_assert_close(column(&a, c, l), column(&b, c, l), is_wave(c) ? 1e-4 : 2e-6,
                                 3e-7);
        }
        stv_climate_table_free(want);
        place_end(&other);
    }
    stv_climate_table_free(got);
    place_end(&place);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steps_hold_their_days),
        cmocka_unit_test(other_years_are_put_together),
        cmocka_unit_test(years_depend_on_the_seed_alone),
        cmocka_unit_test(holes_are_other_years_steps),
        cmocka_unit_test(years_to_come_are_warmed),
        cmocka_unit_test(pressures_average_to_one),
        cmocka_unit_test(clocks_cost_no_year),
        cmocka_unit_test(held_hours_are_counted),
        cmocka_unit_test(members_move_the_climate),
    };
    return cmocka_run_group_tests(tests, make_rows, free_rows);
}
