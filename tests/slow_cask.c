#include "tests/slow_cask.h"

#include "model/air.h"
#include "model/cask_heat.h"
#include "model/cooperage.h"
#include "model/esters.h"
#include "model/evaporation.h"
#include "model/position_liquid.h"
#include "model/spirit.h"
#include "model/spirit_vapour.h"
#include "model/wood.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_integration.h>
#include <gsl/gsl_odeiv2.h>

/* Parameter sheet, section 2. */
#define INDRINK_L_PER_KG (4.5 / 39.0)
#define DAMP_WATER_KG_PER_KG (0.5 / 39.0)
#define CONVECTIVE_FRAC 0.375 /* section 3 */
#define LEAST_MOLE_FRAC 0.04
#define MOST_MOLE_FRAC 0.75

static double outside_c(const struct stv_position *place, size_t k)
{
    return CONVECTIVE_FRAC * place->air_c[k] + (1.0 - CONVECTIVE_FRAC) * place->radiant_c[k];
}

/* Straight between the middles of hours; x is the place within hour k. */
static double outside_at_c(const struct stv_position *place, size_t k, double x)
{
    size_t before = k > 0 ? k - 1 : k, after = k + 1 < place->grid.n ? k + 1 : k;
    double here_c = outside_c(place, k);
    double next_c = outside_c(place, x < 0.5 ? before : after);
    return here_c + fabs(x - 0.5) * (next_c - here_c);
}

static double tau_h(const struct slow_cask *cask, const struct stv_spirit_amount *amount)
{
    return stv_cask_time_constant_h(&cask->geometry, amount->volume20_l, amount->abv20_frac,
                                    &usual);
}

static double held_tau_h(const struct slow_cask *cask, double own_h)
{
    return fmax(1.0, own_h * cask->params.time_constant_factor_nd / cask->exposed_frac);
}

#define WOOD_POINTS 10

/* Mean of the wood's local factor, by ten points of Gauss and Legendre: 1e-9. */
static double wood_factor(double rh_frac, double activity, double temp_c)
{
    static double at_nd[WOOD_POINTS], weight_nd[WOOD_POINTS];
    double sum = 0.0;
    if (weight_nd[0] == 0.0) {
        gsl_integration_glfixed_table *table = gsl_integration_glfixed_table_alloc(WOOD_POINTS);
        assert_non_null(table);
        for (size_t i = 0; i < WOOD_POINTS; i++)
            gsl_integration_glfixed_point(0.0, 1.0, i, &at_nd[i], &weight_nd[i], table);
        gsl_integration_glfixed_table_free(table);
    }
    for (size_t i = 0; i < WOOD_POINTS; i++)
        sum += weight_nd[i] *
               stv_wood_local_factor_nd(rh_frac + at_nd[i] * (activity - rh_frac), temp_c);
    return sum;
}

/* kg/s through the wall. */
static void through_wood(const struct slow_cask *cask, const double *y, double *out_ethanol,
                         double *out_water)
{
    const struct stv_params *params = &cask->params;
    double own = stv_mole_frac_from_mass_frac(y[SLOW_ETHANOL] / (y[SLOW_ETHANOL] + y[SLOW_WATER]));
    double x = fmin(MOST_MOLE_FRAC, fmax(LEAST_MOLE_FRAC, own));
    double liquid_c = y[SLOW_TEMP] + params->liquid_offset_k;
    double air_c = cask->place->air_c[cask->hour] + params->liquid_offset_k;
    double rh_frac =
        fmin(1.0, fmax(0.0, cask->place->rh_frac[cask->hour] + params->humidity_offset_frac));
    struct stv_spirit_activity activity;
    stv_assert_ok(stv_spirit_activity(x, liquid_c, &activity));
    double water_nd = activity.water_nd + params->water_activity_offset_nd;
    double warmth = exp(-params->permeance_ea_j_mol / STV_GAS_J_MOLK *
                        (1.0 / stv_k_from_c(liquid_c) - 1.0 / 288.15));
    double wall = cask->geometry.mid_area_m2 * params->area_factor_nd *
                  stv_dry_wood_factor_nd(&cask->geometry, params, &usual) *
                  params->water_permeance_mol_m2spa * warmth *
                  wood_factor(rh_frac, water_nd, liquid_c);
    *out_water = wall * STV_WATER_KG_MOL *
                 (water_nd * stv_water_psat_pa(liquid_c) - rh_frac * stv_water_psat_pa(air_c));
    *out_ethanol = wall / params->permeance_ratio_nd * STV_ETHANOL_KG_MOL * activity.ethanol_nd *
                   stv_ethanol_psat_pa(liquid_c);
    if (own < x)
        *out_ethanol *= own / x;
    if (own > x)
        *out_water *= (1.0 - own) / (1.0 - x);
}

/* Time constants at which the year's mean of ethanol's pressure is known. */
#define MEAN_LEAST_H 0.5
#define MEAN_RATIO_ND 1.2

static double mean_tau_h(size_t i)
{
    return MEAN_LEAST_H * pow(MEAN_RATIO_ND, (double)i);
}

/* The mean over a year counts its days alike: in a leap year the last six as five. */
static double weight_of_day(int64_t day_d)
{
    int32_t year = stv_date_from_day(day_d).year;
    int64_t new_year_d = stv_day_from_date((struct stv_date){year + 1, 1, 1});
    return stv_day_of_year(new_year_d - 1) == 366 && new_year_d - day_d <= 6 ? 5.0 / 6.0 : 1.0;
}

/* Mean of ethanol's pressure in an hour through which the liquid moves straight, as in
 * between its neighbours: at the two points that integrate that. */
static double hour_pressure_pa(const double *liquid_c, size_t n, size_t k)
{
    double before_c = liquid_c[k > 0 ? k - 1 : k], after_c = liquid_c[k + 1 < n ? k + 1 : k];
    double off_k = 0.5 * (after_c - before_c) / sqrt(12.0);
    return 0.5 *
           (stv_ethanol_psat_pa(liquid_c[k] - off_k) + stv_ethanol_psat_pa(liquid_c[k] + off_k));
}

static void note_mean(struct slow_cask *cask, size_t i)
{
    const struct stv_grid *grid = &cask->place->grid;
    double *liquid_c = malloc(grid->n * sizeof *liquid_c);
    assert_non_null(liquid_c);
    stv_assert_ok(stv_position_liquid_at_c(cask->place, held_tau_h(cask, mean_tau_h(i)),
                                           CONVECTIVE_FRAC, liquid_c));
    double sum_pa = 0.0, sum_h = 0.0, weight_h = 0.0;
    for (size_t k = 0; k < grid->n; k++)
        liquid_c[k] += cask->params.liquid_offset_k;
    int64_t day_d = INT64_MIN;
    for (size_t k = 0; k < grid->n; k++) {
        int64_t today_d = stv_grid_local_day(grid, k, NULL);
        if (today_d != day_d)
            weight_h = weight_of_day(today_d);
        day_d = today_d;
        sum_h += weight_h;
        sum_pa += weight_h * hour_pressure_pa(liquid_c, grid->n, k);
    }
    cask->mean_pa[i] = sum_pa / sum_h;
    free(liquid_c);
}

static void forget_means(struct slow_cask *cask)
{
    for (size_t i = 0; i < SLOW_MEANS; i++)
        cask->mean_pa[i] = NAN;
}

/* A cubic through four neighbours in the logarithm, each noted when it is first asked for. */
static double mean_pressure_pa(struct slow_cask *cask, double at_h)
{
    double place = log(at_h / MEAN_LEAST_H) / log(MEAN_RATIO_ND), value = 0.0;
    size_t first = (size_t)fmin(SLOW_MEANS - 4.0, fmax(0.0, floor(place) - 1.0));
    for (size_t i = 0; i < 4; i++) {
        double weight = 1.0;
        if (isnan(cask->mean_pa[first + i]))
            note_mean(cask, first + i);
        for (size_t j = 0; j < 4; j++)
            if (j != i)
                weight *= (place - (double)(first + j)) / ((double)i - (double)j);
        value += weight * cask->mean_pa[first + i];
    }
    return value;
}

static double joints_per_s(struct slow_cask *cask, const double *y, double own_tau_h)
{
    double share = cask->params.neutral_temp_share_frac;
    double per_s =
        stv_neutral_loss_per_y(&cask->geometry, &cask->params, &usual) / (STV_YEAR_D * STV_DAY_S);
    if (share == 0.0)
        return per_s;
    double pa = stv_ethanol_psat_pa(y[SLOW_TEMP] + cask->params.liquid_offset_k);
    return per_s * (1.0 - share + share * pa / mean_pressure_pa(cask, own_tau_h));
}

/* Litres a second that dry wood takes, and kg of water that it gives back. */
static void wood_drinks(const struct slow_cask *cask, double t_s, double *out_l, double *out_kg)
{
    double age_d =
        (t_s + (double)cask->place->grid.t0_s + 60.0 * (double)cask->place->grid.utc_offset_min) /
            STV_DAY_S -
        (double)cask->wetted_d;
    *out_l =
        cask->indrink_l * 0.5 * ((age_d < 2.0 ? 0.5 : 0.0) + exp(-age_d / 30.0) / 30.0) / STV_DAY_S;
    *out_kg = age_d < 2.0 ? cask->damp_water_kg / 2.0 / STV_DAY_S : 0.0;
}

static void quality(const struct slow_cask *cask, const double *y,
                    const struct stv_spirit_amount *amount, double *dydt)
{
    const struct stv_params *params = &cask->params;
    double wall_m2 = cask->geometry.inner_area_m2 * params->area_factor_nd;
    double wetted =
        cask->wetted_frac + cask->wetted_per_l * (amount->volume20_l - cask->volume20_l);
    double volume_m3 = amount->volume20_l / 1000.0, temp_c = y[SLOW_TEMP] + params->liquid_offset_k;
    for (size_t k = 0; k < STV_OAK_N; k++) {
        struct stv_oak_constants oak = stv_oak_constants_of(&usual, (enum stv_oak_kind)k);
        double response =
            stv_oak_strength_factor_nd((enum stv_oak_kind)k, amount->abv20_frac, &usual) * wetted;
        double fast =
            oak.fast_rate_per_d / STV_DAY_S * response *
            stv_arrhenius20_nd(stv_oak_ea_j_mol(oak.fast_ea_j_mol, params, &usual), temp_c);
        double slow =
            oak.slow_rate_per_y / (STV_YEAR_D * STV_DAY_S) * response *
            stv_arrhenius20_nd(stv_oak_ea_j_mol(oak.slow_ea_j_mol, params, &usual), temp_c);
        double decay = oak.decay_per_y / (STV_YEAR_D * STV_DAY_S) *
                       stv_arrhenius20_nd(oak.decay_ea_j_mol, temp_c);
        double push = y[SLOW_FAST + k] - 0.004 * 2.0 * y[SLOW_CONTENT + k] / volume_m3;
        dydt[SLOW_FAST + k] = -fast * push;
        dydt[SLOW_GIVEN + k] = -slow * y[SLOW_GIVEN + k];
        dydt[SLOW_CONTENT + k] +=
            wall_m2 * (fast * push + slow * y[SLOW_GIVEN + k]) - decay * y[SLOW_CONTENT + k];
    }
    double x = stv_mole_frac_from_mass_frac(y[SLOW_ETHANOL] / (y[SLOW_ETHANOL] + y[SLOW_WATER]));
    double rate = stv_ester_rate25_per_y(params, &usual) / (STV_YEAR_D * STV_DAY_S) *
                  stv_arrhenius25_nd(params->ester_ea_j_mol, temp_c);
    double acid_mol = y[SLOW_CONTENT + STV_OAK_ACIDS] / STV_ACETIC_G_MOL;
    double ester_mol = y[SLOW_ESTER] / STV_ETHYL_ACETATE_G_MOL;
    double formed =
        rate * (usual.ester_equilibrium_nd * x / (1.0 - x) * acid_mol - ester_mol); /* mmol/s */
    dydt[SLOW_CONTENT + STV_OAK_ACIDS] += params->oxidation_mg_ly / (STV_YEAR_D * STV_DAY_S) *
                                              stv_arrhenius20_nd(usual.oxidation_ea_j_mol, temp_c) *
                                              amount->volume20_l -
                                          formed * STV_ACETIC_G_MOL;
    dydt[SLOW_ESTER] += formed * STV_ETHYL_ACETATE_G_MOL;
    dydt[SLOW_FRUIT] = -rate * y[SLOW_FRUIT];
}

static int slow_rates(double t_s, const double y[], double dydt[], void *context)
{
    struct slow_cask *cask = context;
    double hour_s = t_s - (double)cask->hour * STV_HOUR_S;
    struct stv_spirit_amount amount = stv_spirit_amount(y[SLOW_ETHANOL], y[SLOW_WATER]);
    memset(dydt, 0, SLOW_N * sizeof *dydt);
    double own_tau_h = tau_h(cask, &amount);
    dydt[SLOW_TEMP] = (outside_at_c(cask->place, cask->hour, hour_s / STV_HOUR_S) - y[SLOW_TEMP]) /
                      (held_tau_h(cask, own_tau_h) * STV_HOUR_S);
    if (!(amount.volume20_l > 1.0))
        return GSL_SUCCESS;
    double ethanol, water, drink_l, given_kg;
    through_wood(cask, y, &ethanol, &water);
    wood_drinks(cask, t_s, &drink_l, &given_kg);
    double joints = joints_per_s(cask, y, own_tau_h);
    double leak = cask->is_tight ? 0.0 : cask->params.leak_per_y / (STV_YEAR_D * STV_DAY_S);
    double drunk = drink_l / amount.volume20_l;
    dydt[SLOW_ETHANOL] = -ethanol - (joints + leak + drunk) * y[SLOW_ETHANOL];
    dydt[SLOW_WATER] = -water - (joints + leak + drunk) * y[SLOW_WATER] + given_kg;
    for (size_t k = 0; k < STV_OAK_N; k++)
        dydt[SLOW_CONTENT + k] = -(leak + drunk) * y[SLOW_CONTENT + k];
    dydt[SLOW_ESTER] = -(leak + drunk) * y[SLOW_ESTER];
    quality(cask, y, &amount, dydt);
    return GSL_SUCCESS;
}

void slow_start(struct slow_cask *cask, enum stv_wood_history history)
{
    struct stv_oak_pools pools = stv_oak_pools_of(history, &cask->params, &usual);
    memset(cask->state, 0, sizeof cask->state);
    for (size_t k = 0; k < STV_OAK_N; k++) {
        cask->state[SLOW_FAST + k] = pools.fast_mg_m2[k];
        cask->state[SLOW_GIVEN + k] = pools.slow_mg_m2[k];
    }
    forget_means(cask);
}

static size_t hour_of_day(const struct slow_cask *cask, int64_t day_d)
{
    const struct stv_grid *grid = &cask->place->grid;
    return (size_t)((day_d * STV_DAY_S - (int64_t)grid->utc_offset_min * 60 - grid->t0_s) /
                    STV_HOUR_S);
}

void slow_settle(struct slow_cask *cask, int64_t day_d)
{
    size_t n = hour_of_day(cask, day_d) + 1;
    double *liquid_c = malloc(n * sizeof *liquid_c);
    assert_non_null(liquid_c);
    struct stv_position before = *cask->place;
    struct stv_spirit_amount amount =
        stv_spirit_amount(cask->state[SLOW_ETHANOL], cask->state[SLOW_WATER]);
    before.grid.n = n;
    stv_assert_ok(stv_position_liquid_at_c(&before, held_tau_h(cask, tau_h(cask, &amount)),
                                           CONVECTIVE_FRAC, liquid_c));
    cask->state[SLOW_TEMP] = n > 1 ? 0.5 * (liquid_c[n - 1] + liquid_c[n - 2]) : liquid_c[0];
    free(liquid_c);
}

void slow_wet(struct slow_cask *cask, int64_t day_d, bool is_soaked)
{
    cask->wetted_d = day_d;
    cask->indrink_l = is_soaked ? 0.0 : INDRINK_L_PER_KG * cask->geometry.wood_kg;
    cask->damp_water_kg = is_soaked ? 0.0 : DAMP_WATER_KG_PER_KG * cask->geometry.wood_kg;
}

void slow_fill(struct slow_cask *cask, int64_t day_d, double volume20_l, double abv20_frac,
               bool is_soaked)
{
    stv_assert_ok(stv_spirit_masses_kg(volume20_l, abv20_frac, &cask->state[SLOW_ETHANOL],
                                       &cask->state[SLOW_WATER]));
    for (size_t k = 0; k < STV_OAK_N; k++)
        cask->state[SLOW_CONTENT + k] = 0.0;
    cask->state[SLOW_ESTER] = 0.0;
    cask->state[SLOW_FRUIT] = 1.0;
    slow_wet(cask, day_d, is_soaked);
    slow_settle(cask, day_d);
}

void slow_move(struct slow_cask *cask, int64_t day_d, const struct stv_position *place)
{
    cask->place = place;
    forget_means(cask);
    slow_settle(cask, day_d);
}

void slow_take(struct slow_cask *cask, double part)
{
    static const int liquid[] = {SLOW_ETHANOL, SLOW_WATER, SLOW_ESTER};
    for (size_t i = 0; i < sizeof liquid / sizeof *liquid; i++)
        cask->state[liquid[i]] *= 1.0 - part;
    for (size_t k = 0; k < STV_OAK_N; k++)
        cask->state[SLOW_CONTENT + k] *= 1.0 - part;
}

double slow_litres(const struct slow_cask *cask)
{
    return stv_spirit_amount(cask->state[SLOW_ETHANOL], cask->state[SLOW_WATER]).volume20_l;
}

void slow_pour(struct slow_cask *from, struct slow_cask *to, double part)
{
    double more_l = part * slow_litres(from), there_l = slow_litres(to);
    to->state[SLOW_FRUIT] =
        (there_l * to->state[SLOW_FRUIT] + more_l * from->state[SLOW_FRUIT]) / (there_l + more_l);
    to->state[SLOW_ETHANOL] += part * from->state[SLOW_ETHANOL];
    to->state[SLOW_WATER] += part * from->state[SLOW_WATER];
    to->state[SLOW_ESTER] += part * from->state[SLOW_ESTER];
    for (size_t k = 0; k < STV_OAK_N; k++)
        to->state[SLOW_CONTENT + k] += part * from->state[SLOW_CONTENT + k];
    slow_take(from, part);
}

/* What is taken once in half an hour. */
static void look_around(struct slow_cask *cask)
{
    double capacity_l = cask->geometry.capacity_l;
    cask->volume20_l = slow_litres(cask);
    double less_l = 1e-3 * cask->volume20_l;
    cask->wetted_frac = stv_cask_wetted_frac(cask->volume20_l / capacity_l, &usual);
    cask->wetted_per_l = (cask->wetted_frac -
                          stv_cask_wetted_frac((cask->volume20_l - less_l) / capacity_l, &usual)) /
                         less_l;
}

void slow_carry(struct slow_cask *cask, int64_t from_d, int64_t to_d)
{
    gsl_odeiv2_system system = {slow_rates, NULL, SLOW_N, cask};
    gsl_odeiv2_driver *driver =
        gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rkf45, 1800.0, 1e-10, 1e-11);
    size_t end = hour_of_day(cask, to_d);
    assert_non_null(driver);
    assert_true(end <= cask->place->grid.n);
    for (cask->hour = hour_of_day(cask, from_d); cask->hour < end; cask->hour++) {
        double t_s = (double)cask->hour * STV_HOUR_S;
        /* The outside bends in the middle of an hour and its humidity steps at the end. */
        for (int half = 1; half <= 2; half++) {
            look_around(cask);
            double until_s =
                ((double)cask->hour + 0.5 * half) * STV_HOUR_S - (half == 1 ? 1e-6 : 0.0);
            assert_int_equal(gsl_odeiv2_driver_apply(driver, &t_s, until_s, cask->state),
                             GSL_SUCCESS);
            gsl_odeiv2_driver_reset(driver);
        }
    }
    gsl_odeiv2_driver_free(driver);
}
