/* Grid, sizes, alcohol, standstill and sensitivities of the parameter sheet (DEVELOPERS.md,
 * Sources), section 2: regression values of the parameter sheet, computed from the stated
 * equations, not published evidence.  Here the instantaneous rates are integrated in fine fixed
 * steps, apart from the project's own tables and paths. */
#include "model/evaporation.h"
#include "model/spirit.h"
#include "model/units.h"
#include "tests/check.h"
#include "tests/usual.h"

#include <gsl/gsl_errno.h>

#define PRINTED_PCT 6e-4 /* half of the last printed digit, and as much for our step */

struct year {
    double loss_pct, drift_pct, alcohol_loss_pct;
};

static struct stv_cask_geometry cask_of(double capacity_l)
{
    struct stv_cask_geometry cask;
    stv_assert_ok(stv_cask_geometry(capacity_l, NAN, &usual, &cask));
    return cask;
}

/* 365.25 days at constant temperature and humidity, full at 20 C, 60 % vol, already soaked. */
static struct year year_of(const struct stv_params *params, double capacity_l, double temp_c,
                           double rh_frac)
{
    const int n_steps = 1461; /* six hours, midpoint rule: the error is below 1e-6 % */
    const double step_s = STV_YEAR_D * STV_DAY_S / n_steps;
    struct stv_cask_geometry cask = cask_of(capacity_l);
    double ethanol_kg, water_kg;
    stv_assert_ok(stv_spirit_masses_kg(capacity_l, 0.60, &ethanol_kg, &water_kg));
    double first_kg = ethanol_kg;
    for (int i = 0; i < n_steps; i++) {
        double share_s = 0.5 * step_s;
        double from_ethanol_kg = ethanol_kg, from_water_kg = water_kg;
        for (int half = 0; half < 2; half++, share_s = step_s) {
            struct stv_evaporation rate;
            stv_assert_ok(stv_evaporation_rates(&(struct stv_cask_wood){&cask, params, &usual},
                                                ethanol_kg, water_kg, temp_c, temp_c, rh_frac,
                                                &rate));
            ethanol_kg =
                from_ethanol_kg - share_s * (rate.air_ethanol_kg_s + rate.joint_ethanol_kg_s);
            water_kg = from_water_kg - share_s * (rate.air_water_kg_s + rate.joint_water_kg_s);
        }
    }
    struct stv_spirit_amount left = stv_spirit_amount(ethanol_kg, water_kg);
    return (struct year){100.0 * (1.0 - left.volume20_l / capacity_l),
                         100.0 * (left.abv20_frac - 0.60), 100.0 * (1.0 - ethanol_kg / first_kg)};
}

/* Source: parameter sheet, section 2, loss % and drift % vol by temperature; regression. */
static const double grid_cells[7][8][2] = {
    {{2.572, 0.428},
     {2.445, 0.317},
     {2.290, 0.180},
     {2.093, 0.002},
     {1.973, -0.110},
     {1.830, -0.247},
     {1.654, -0.419},
     {1.426, -0.649}},
    {{3.109, 0.638},
     {2.926, 0.479},
     {2.702, 0.282},
     {2.423, 0.029},
     {2.253, -0.129},
     {2.052, -0.321},
     {1.806, -0.561},
     {1.488, -0.882}},
    {{3.838, 0.931},
     {3.578, 0.705},
     {3.264, 0.428},
     {2.874, 0.075},
     {2.637, -0.144},
     {2.359, -0.408},
     {2.022, -0.738},
     {1.588, -1.173}},
    {{4.809, 1.331},
     {4.447, 1.015},
     {4.012, 0.631},
     {3.476, 0.147},
     {3.153, -0.152},
     {2.776, -0.509},
     {2.320, -0.952},
     {1.739, -1.534}},
    {{6.078, 1.871},
     {5.581, 1.434},
     {4.988, 0.909},
     {4.264, 0.253},
     {3.830, -0.148},
     {3.326, -0.624},
     {2.721, -1.211},
     {1.955, -1.974}},
    {{7.706, 2.589},
     {7.036, 1.992},
     {6.241, 1.281},
     {5.277, 0.404},
     {4.703, -0.128},
     {4.040, -0.754},
     {3.248, -1.518},
     {2.252, -2.504}},
    {{9.760, 3.535},
     {8.871, 2.726},
     {7.822, 1.772},
     {6.557, 0.612},
     {5.809, -0.084},
     {4.948, -0.897},
     {3.926, -1.881},
     {2.649, -3.136}},
};

static void grid_of_56_cells(void **state)
{
    (void)state;
    static const double rh_frac[8] = {0.40, 0.50, 0.60, 0.70, 0.75, 0.80, 0.85, 0.90};
    struct stv_params params = stv_params_default();
    for (int t = 0; t < 7; t++) {
        for (int h = 0; h < 8; h++) {
            struct year got = year_of(&params, 200.0, 5.0 + 5.0 * t, rh_frac[h]);
            stv_assert_close(got.loss_pct, grid_cells[t][h][0], 0.0, PRINTED_PCT);
            stv_assert_close(got.drift_pct, grid_cells[t][h][1], 0.0, PRINTED_PCT);
        }
    }
}

static void pure_alcohol_ranks_otherwise(void **state)
{
    (void)state;
    static const double rh_frac[4] = {0.40, 0.60, 0.80, 0.90};
    /* Source: parameter sheet, section 2, loss of pure alcohol, % in the year; regression. */
    static const double cells[3][4] = {
        {2.078, 2.245, 2.575, 2.935}, {2.697, 3.002, 3.601, 4.252}, {3.723, 4.240, 5.245, 6.332}};
    struct stv_params params = stv_params_default();
    for (int t = 0; t < 3; t++)
        for (int h = 0; h < 4; h++)
            stv_assert_close(year_of(&params, 200.0, 10.0 + 10.0 * t, rh_frac[h]).alcohol_loss_pct,
                             cells[t][h], 0.0, PRINTED_PCT);
}

static void sizes(void **state)
{
    (void)state;
    /* Source: parameter sheet, section 2: litres; cool (10 C, 82 %), hot (22.5 C, 60 %); k and
     * neutral loss % per year; regression. */
    static const double rows[6][7] = {
        {50, 3.365, -0.864, 8.569, 1.634, 1.333, 2.235},
        {100, 2.471, -0.559, 5.870, 1.042, 1.111, 1.738},
        {200, 1.960, -0.410, 4.469, 0.760, 1.000, 1.420},
        {225, 1.885, -0.394, 4.299, 0.730, 1.000, 1.366},
        {250, 1.767, -0.356, 3.954, 0.659, 0.952, 1.298},
        {500, 1.362, -0.248, 2.890, 0.456, 0.833, 1.034},
    };
    struct stv_params params = stv_params_default();
    for (int i = 0; i < 6; i++) {
        struct stv_cask_geometry cask = cask_of(rows[i][0]);
        struct year cool = year_of(&params, rows[i][0], 10.0, 0.82);
        struct year hot = year_of(&params, rows[i][0], 22.5, 0.60);
        stv_assert_close(cool.loss_pct, rows[i][1], 0.0, PRINTED_PCT);
        stv_assert_close(cool.drift_pct, rows[i][2], 0.0, PRINTED_PCT);
        stv_assert_close(hot.loss_pct, rows[i][3], 0.0, PRINTED_PCT);
        stv_assert_close(hot.drift_pct, rows[i][4], 0.0, PRINTED_PCT);
        stv_assert_close(stv_dry_wood_factor_nd(&cask, &params, &usual), rows[i][5], 0.0, 5.1e-4);
        stv_assert_close(100.0 * stv_neutral_loss_per_y(&cask, &params, &usual), rows[i][6], 0.0,
                         1e-3);
    }
}

/* How fast the mass fraction of ethanol moves, 1/s; joints take both alike and do not matter. */
static double strength_speed_per_s(double abv20_frac, double temp_c, double rh_frac)
{
    struct stv_params params = stv_params_default();
    struct stv_cask_geometry cask = cask_of(200.0);
    struct stv_evaporation rate;
    double ethanol_kg, water_kg;
    stv_assert_ok(stv_spirit_masses_kg(200.0, abv20_frac, &ethanol_kg, &water_kg));
    stv_assert_ok(stv_evaporation_rates(&(struct stv_cask_wood){&cask, &params, &usual}, ethanol_kg,
                                        water_kg, temp_c, temp_c, rh_frac, &rate));
    return rate.air_water_kg_s / water_kg - rate.air_ethanol_kg_s / ethanol_kg;
}

static void strength_stands_still(void **state)
{
    (void)state;
    static const double abv20_frac[3] = {0.50, 0.60, 0.635};
    /* Source: parameter sheet, section 2, humidity of no drift at 10, 20, 30 C; regression. */
    static const double rows[3][3] = {
        {0.708, 0.725, 0.738}, {0.710, 0.726, 0.739}, {0.709, 0.724, 0.737}};
    for (int s = 0; s < 3; s++) {
        for (int t = 0; t < 3; t++) {
            double low = 0.4, high = 0.95;
            for (int i = 0; i < 40; i++) {
                double middle = 0.5 * (low + high);
                if (strength_speed_per_s(abv20_frac[s], 10.0 + 10.0 * t, middle) > 0.0)
                    low = middle;
                else
                    high = middle;
            }
            stv_assert_close(low, rows[s][t], 0.0, 1e-3);
        }
    }
}

static void sensitivities(void **state)
{
    (void)state;
    /* Source: parameter sheet, section 2, change of loss and drift, cool then hot; regression. */
    static const double rows[6][4] = {
        {-0.040, -0.024, 0.488, 0.312}, {0.178, -0.078, 0.271, -0.118},
        {-0.039, 0.029, 0.340, 0.087},  {0.490, -0.001, 0.484, 0.002},
        {0.099, -0.046, 0.411, 0.118},  {-0.270, -0.268, -0.295, -0.264},
    };
    static const double climate[2][2] = {{10.0, 0.82}, {22.5, 0.60}};
    struct stv_params plain = stv_params_default();
    for (int row = 0; row < 6; row++) {
        struct stv_params changed = plain;
        if (row == 0) { /* P_w alone: the ratio moves with it, so that P_e stays */
            changed.water_permeance_mol_m2spa *= 1.25;
            changed.permeance_ratio_nd *= 1.25;
        } else if (row == 1) {
            changed.permeance_ratio_nd /= 1.25;
        } else if (row == 2) {
            changed.permeance_ea_j_mol += 10000.0;
        } else if (row == 3) {
            changed.neutral_loss_per_y += 0.005;
        }
        for (int c = 0; c < 2; c++) {
            double warmer_k = row == 4 ? 2.0 : 0.0, damper = row == 5 ? 0.05 : 0.0;
            struct year before = year_of(&plain, 200.0, climate[c][0], climate[c][1]);
            struct year after =
                year_of(&changed, 200.0, climate[c][0] + warmer_k, climate[c][1] + damper);
            stv_assert_close(after.loss_pct - before.loss_pct, rows[row][2 * c], 0.0, 3e-3);
            stv_assert_close(after.drift_pct - before.drift_pct, rows[row][2 * c + 1], 0.0, 3e-3);
        }
    }
}

static void laws_of_direction(void **state)
{
    (void)state;
    struct stv_params params = stv_params_default();
    struct stv_cask_geometry cask = cask_of(200.0);
    double last_water = INFINITY, last_ethanol = 0.0;
    for (double rh_frac = 0.0; rh_frac < 1.005; rh_frac += 0.05) {
        struct stv_evaporation rate;
        stv_assert_ok(stv_evaporation_rates(&(struct stv_cask_wood){&cask, &params, &usual}, 87.3,
                                            71.9, 18.6, 18.6, fmin(1.0, rh_frac), &rate));
        assert_true(rate.air_water_kg_s < last_water);
        assert_true(rate.air_ethanol_kg_s > last_ethanol); /* moist wood lets more through */
        stv_assert_close(rate.joint_ethanol_kg_s / rate.joint_water_kg_s, 87.3 / 71.9, 1e-13, 0.0);
        last_water = rate.air_water_kg_s;
        last_ethanol = rate.air_ethanol_kg_s;
    }
    assert_true(last_water < 0.0); /* saturated air gives water to the cask */

    /* Ethanol and water scale with area and the inverse of the dry stave; the joints do not. */
    struct stv_evaporation plain, thin;
    stv_assert_ok(stv_evaporation_rates(&(struct stv_cask_wood){&cask, &params, &usual}, 87.3, 71.9,
                                        18.6, 21.2, 0.52, &plain));
    cask.stave_mm = 17.0;
    cask.mid_area_m2 *= 1.3;
    stv_assert_ok(stv_evaporation_rates(&(struct stv_cask_wood){&cask, &params, &usual}, 87.3, 71.9,
                                        18.6, 21.2, 0.52, &thin));
    stv_assert_close(thin.air_water_kg_s, 2.6 * plain.air_water_kg_s, 1e-12, 0.0);
    stv_assert_close(thin.air_ethanol_kg_s, 2.6 * plain.air_ethanol_kg_s, 1e-12, 0.0);
    stv_assert_close(thin.joint_water_kg_s, 1.3 * plain.joint_water_kg_s, 1e-12, 0.0);
}

/* Below 10 mm of stave the dry zone is taken as 3 mm: said in the header. */
static void thin_staves_keep_three_millimetres(void **state)
{
    (void)state;
    struct stv_params params = stv_params_default();
    struct stv_cask_geometry cask = cask_of(200.0);
    cask.stave_mm = 8.0;
    stv_assert_close(stv_dry_wood_factor_nd(&cask, &params, &usual), 20.0 / 3.0, 1e-14, 0.0);
    cask.stave_mm = 25.0;
    params.stave_factor_nd = 1.2;
    stv_assert_close(stv_dry_wood_factor_nd(&cask, &params, &usual), 20.0 / 23.0, 1e-14, 0.0);
}

static void outside_is_refused(void **state)
{
    (void)state;
    struct stv_params params = stv_params_default();
    struct stv_cask_geometry cask = cask_of(200.0);
    struct stv_evaporation rate;
    struct stv_wood_flux flux;
    static const double outside[][4] = {
        {0.31, 20.0, 20.0, 1.0001}, {0.31, 20.0, 20.0, -0.0001}, {0.31, 20.0, 20.0, NAN},
        {0.31, 50.01, 20.0, 0.5},   {0.31, -15.01, 20.0, 0.5},   {0.31, 20.0, NAN, 0.5},
        {0.31, 20.0, -80.1, 0.5},   {-0.01, 20.0, 20.0, 0.5},    {1.01, 20.0, 20.0, 0.5}};
    for (size_t i = 0; i < sizeof outside / sizeof *outside; i++) {
        stv_assert_status(stv_wood_flux(&params, outside[i][0], outside[i][1], outside[i][2],
                                        outside[i][3], &flux),
                          STV_E_DOMAIN);
        stv_assert_close(flux.ethanol_mol_m2s, NAN, 0.0, 0.0);
        stv_assert_close(flux.water_mol_m2s, NAN, 0.0, 0.0);
    }
    params.water_activity_offset_nd = 0.012; /* pure water would have an activity above 1 */
    stv_assert_status(stv_wood_flux(&params, 0.0, 20.0, 20.0, 0.5, &flux), STV_E_DOMAIN);
    stv_assert_status(stv_evaporation_rates(&(struct stv_cask_wood){&cask, &params, &usual}, -1.0,
                                            71.9, 18.6, 18.6, 0.5, &rate),
                      STV_E_DOMAIN);
    stv_assert_status(stv_evaporation_rates(&(struct stv_cask_wood){&cask, &params, &usual}, 0.0,
                                            0.0, 18.6, 18.6, 0.5, &rate),
                      STV_E_DOMAIN);
    stv_assert_close(rate.joint_water_kg_s, NAN, 0.0, 0.0);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(grid_of_56_cells),
        cmocka_unit_test(pure_alcohol_ranks_otherwise),
        cmocka_unit_test(sizes),
        cmocka_unit_test(strength_stands_still),
        cmocka_unit_test(sensitivities),
        cmocka_unit_test(laws_of_direction),
        cmocka_unit_test(thin_staves_keep_three_millimetres),
        cmocka_unit_test(outside_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
