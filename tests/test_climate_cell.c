/* Steps and days of a place against the hours themselves. */
#include "tests/climate_rows.h"

/* All members, all compositions, cold and hot, dry and damp.  Where a node's water activity comes
 * within 1e-4 of the humidity, the local value stands for its mean there: 1e-4 of the flux. */
static void steady_air_is_the_equation(void **state)
{
    (void)state;
    static const double climates[][2] = {{5.0, 0.4},   {22.5, 0.6},  {35.0, 0.9},
                                         {20.0, 0.84}, {-11.3, 0.7}, {47.0, 0.15}};
    double worst = 0.0;
    size_t n = 0, n_off = 0;
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
                double error = flux_error(pressures_at(columns, l, root), want);
                worst = fmax(worst, error);
                n_off += error > 3e-6;
                n++;
                stv_assert_close(column(columns, STV__COL_PRESSURE, l), 1.0, 1e-6, 0.0);
                stv_assert_close(column(columns, STV__COL_SWING, l), 0.0, 0.0, 1e-9);
            }
        }
        stv_assert_close(stv_table_held_frac(table), 0.0, 0.0, 0.0);
        stv_climate_table_free(table);
        place_end(&place);
    }
    print_message("worst flux of steady air: %.1e; %zu of %zu above 3e-6\n", worst, n_off, n);
    assert_true(worst < 2e-4 && n_off < n / 50);
}

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
    assert_true(worst < 5e-6);
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

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steady_air_is_the_equation),
        cmocka_unit_test(swinging_air_is_averaged_hour_by_hour),
        cmocka_unit_test(arrhenius_means_are_those_of_the_hours),
    };
    return cmocka_run_group_tests(tests, make_rows, free_rows);
}
