/* A place boiled down to steps, against the hours themselves. */
/* Rows of sixteen members, each of its own energies and error of activity; and of one for all. */
#include "tests/tables.h"

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
            struct columns columns = step_of(cell_of(table, stv__panel_of(root), NODE), 2003, 31);
            for (size_t l = 0; l < STV__LANES; l++) {
                struct pressures want =
                    hour_pressures(&params[l], root * root, temp_c, temp_c, rh_frac);
                worst = fmax(worst, flux_error(pressures_at(&columns, l, root), want));
                stv_assert_close(column(&columns, STV__COL_PRESSURE, l), 1.0, 1e-6, 0.0);
                stv_assert_close(column(&columns, STV__COL_SWING, l), 0.0, 0.0, 1e-6);
            }
        }
        stv_assert_close(stv_table_held_frac(table), 0.0, 0.0, 0.0);
        stv_climate_table_free(table);
        place_end(&place);
    }
    print_message("worst flux of steady air: %.1e\n", worst);
    assert_true(worst < 3e-5); /* on a row, where the lines between rows are worst */
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
            struct cell cell = cell_of(table, stv__panel_of(root), nodes[n]);
            struct columns step = step_of(cell, 2003, 40), day = day_of_step(cell, 2003, 40, 3);
            struct pressures want = mean_of_hours(&place, time_constant_h, l, root * root,
                                                  (size_t[]){40 * 120, 41 * 120});
            worst = fmax(worst, flux_error(pressures_at(&step, l, root), want));
            want = mean_of_hours(&place, time_constant_h, l, root * root,
                                 (size_t[]){203 * 24, 204 * 24});
            worst = fmax(worst, flux_error(pressures_at(&day, l, root), want));
        }
    print_message("worst flux of swinging air: %.1e\n", worst);
    assert_true(worst < 4e-6);
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
            struct columns step = step_of(cell_of(table, 1, NODE), 2003, s);
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
                stv_assert_close(column(&step, at, l), sum / 120.0, 1e-4, 0.0);
            }
        }
    assert_true(columns->decay[STV_OAK_PHENOLICS] == SIZE_MAX);
    free(liquid_c);
    stv_climate_table_free(table);
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
        struct columns a = step_of(cell_of(open, 1, NODE + 3), 2003, s);
        struct columns b = step_of(cell_of(block, 1, NODE), 2003, s);
        for (size_t c = STV__COL_AHEAD; c < stv__lane_rows_columns(rows)->n_columns; c++) {
            /* An hour of the node's time constant has the factor, too. */
            bool is_warm = c > STV__COL_WARM && c < STV__COL_WARM + STV__LAG_N;
            bool is_left = c > STV__COL_LEFT && c < STV__COL_LEFT + STV__LAG_N;
            double share = is_warm || is_left ? factor : 1.0;
            stv_assert_close(share * column(&a, c, 6), column(&b, c, 6), 1e-6, 0.0);
        }
    }
    stv_climate_table_free(open);
    stv_climate_table_free(block);
    place_end(&place);
}

/* Rows and days asked for by several threads at once, in any order, are the same bytes. */
static void whoever_asks_first(void **state)
{
    (void)state;
    struct stv_position place = place_new(2003, 2 * YEAR_H, 0, &swinging);
    struct stv__table_plan plan = plan_of(&place, 2003, 2006);
    struct stv_climate_table *one = table_of(&plan), *many = table_of(&plan);
    const float *want[48][STV__TAU_WINDOW], *got[48][STV__TAU_WINDOW];
    size_t n_bytes = stv__lane_rows_columns(rows)->n_columns * sizeof(float);
    struct stv__table_window windows[48];
    enum stv_status status[48];
    for (size_t i = 0; i < 48; i++) {
        windows[i] = (struct stv__table_window){
            i % 2, 12 + i % 3, i % STV__LANES, 2003 + (int)i % 4, i, i % 5 ? 1 : SIZE_MAX};
        stv_assert_ok(stv__table_rows(one, &windows[i], want[i]));
    }
#pragma omp parallel for schedule(dynamic) num_threads(4)
    for (int i = 4 * 48 - 1; i >= 0; i--)
        status[i % 48] = stv__table_rows(many, &windows[i % 48], got[i % 48]);
    for (int i = 0; i < 48; i++) {
        stv_assert_ok(status[i]);
        for (size_t w = 0; w < STV__TAU_WINDOW; w++)
            assert_memory_equal(want[i][w], got[i][w], n_bytes);
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
        cmocka_unit_test(time_constants_have_their_nodes),
        cmocka_unit_test(whoever_asks_first),
        cmocka_unit_test(refusals),
    };
    return cmocka_run_group_tests(tests, make_rows, free_rows);
}
