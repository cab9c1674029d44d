/* Oak pools against the parameter sheet's table (DEVELOPERS.md, Sources, section 4): regression
 * values of the parameter sheet, computed from the stated equations, not published evidence. */
#include "model/extraction.h"
#include "model/units.h"
#include "tests/check.h"
#include "tests/usual.h"

#include <gsl/gsl_errno.h>
#include <string.h>

#define CASK_L 200.0
#define WALL_M2 1.83 /* A/V 9.15 1/m, as the table has it */
#define MONTH_D 30.44

struct oak {
    struct stv_oak_pools pools;
    double content_mg[STV_OAK_N];
};

static struct oak oak_new(void)
{
    struct stv_params params = stv_params_default();
    struct oak oak = {.pools = stv_oak_pools_of(STV_WOOD_NEW, &params, &usual)};
    return oak;
}

static struct stv_oak_step step_at(double temp_c, double step_d)
{
    struct stv_oak_step step = {.step_d = step_d,
                                .wetted_m2 = WALL_M2,
                                .wall_m2 = WALL_M2,
                                .volume20_l = CASK_L,
                                .abv20_frac = 0.60};
    for (size_t k = 0; k < STV_OAK_N; k++) {
        struct stv_oak_constants oak = stv_oak_constants_of(&usual, (enum stv_oak_kind)k);
        step.fast_nd[k] = stv_arrhenius20_nd(oak.fast_ea_j_mol, temp_c);
        step.slow_nd[k] = stv_arrhenius20_nd(oak.slow_ea_j_mol, temp_c);
        step.decay_nd[k] = stv_arrhenius20_nd(oak.decay_ea_j_mol, temp_c);
    }
    return step;
}

static void advance_to(struct oak *oak, const struct stv_oak_step *whole, double *now_d,
                       double to_d)
{
    while (*now_d < to_d) {
        struct stv_oak_step step = *whole;
        step.step_d = fmin(whole->step_d, to_d - *now_d);
        stv_oak_advance(&step, &usual, &oak->pools, oak->content_mg);
        *now_d = to_d - *now_d <= whole->step_d ? to_d : *now_d + whole->step_d;
    }
}

/* Source: parameter sheet, section 4, mg/L of a new 200 L cask after 1 and 6 months, 1, 3, 5, 8
 * years at 10, 20, 27 C; regression values. */
static const double sheet_mg_l[STV_OAK_N][3][6] = {
    [STV_OAK_PHENOLICS] = {{48.07, 134.1, 152.8, 185.3, 213.8, 251.5},
                           {67.73, 150.3, 168.7, 224, 269.3, 322.6},
                           {83.09, 160.9, 184.7, 261.3, 317.8, 376.2}},
    [STV_OAK_LACTONE] = {{0.5733, 2.195, 2.864, 3.323, 3.519, 3.773},
                         {0.8422, 2.663, 3.13, 3.531, 3.806, 4.118},
                         {1.071, 2.912, 3.254, 3.703, 4.01, 4.293}},
    [STV_OAK_ALDEHYDES] = {{0.4866, 1.733, 2.167, 2.507, 2.719, 2.999},
                           {0.7262, 2.143, 2.518, 3.167, 3.644, 4.128},
                           {0.9449, 2.475, 2.925, 3.974, 4.537, 4.784}},
    [STV_OAK_TANNINS] = {{58.2, 135.3, 119.6, 51.9, 22.97, 7.66},
                         {74.29, 109.6, 66.35, 8.53, 2.114, 1.283},
                         {83.6, 75.51, 28.57, 1.517, 1.004, 0.9173}},
    [STV_OAK_ACIDS] = {{15.25, 65.16, 92.64, 119.8, 131.3, 147},
                       {24.36, 86.96, 110.2, 137.7, 158.4, 185.9},
                       {32.74, 100.8, 120.8, 156.9, 186.5, 222.9}},
    [STV_OAK_SUGARS] = {{8.018, 36.9, 55.9, 78.72, 86.69, 96.78},
                        {12.19, 49.76, 68.79, 90.78, 104.1, 121.8},
                        {16, 59.16, 77.36, 103.2, 122.2, 145.9}},
};

static void table_of_the_sheet(void **state)
{
    (void)state;
    static const double temps_c[3] = {10.0, 20.0, 27.0};
    const double at_d[6] = {MONTH_D,          6.0 * MONTH_D,    STV_YEAR_D,
                            3.0 * STV_YEAR_D, 5.0 * STV_YEAR_D, 8.0 * STV_YEAR_D};
    for (int t = 0; t < 3; t++) {
        struct oak oak = oak_new();
        struct stv_oak_step step = step_at(temps_c[t], 5.0);
        double now_d = 0.0;
        for (int i = 0; i < 6; i++) {
            advance_to(&oak, &step, &now_d, at_d[i]);
            for (size_t k = 0; k < STV_OAK_N; k++)
                stv_assert_close(oak.content_mg[k] / CASK_L, sheet_mg_l[k][t][i], 1e-3, 0.0);
        }
    }
}

static void halved_steps_agree(void **state)
{
    (void)state;
    struct oak whole = oak_new(), halved = oak_new();
    struct stv_oak_step step = step_at(27.0, 5.0), half = step_at(27.0, 2.5);
    double whole_d = 0.0, half_d = 0.0;
    advance_to(&whole, &step, &whole_d, 700.0);
    advance_to(&halved, &half, &half_d, 700.0);
    /* The slow pool's gift is not pushed back before the step's end: first order in its small
     * rate; tannins decay by a tenth in a 5-day step at 27 C. */
    for (size_t k = 0; k < STV_OAK_N; k++)
        stv_assert_close(whole.content_mg[k], halved.content_mg[k], 5e-4, 0.0);
}

static void what_the_wood_lost_the_liquid_has(void **state)
{
    (void)state;
    struct oak oak = oak_new();
    struct oak before = oak;
    struct stv_oak_step step = step_at(23.85, 5.0);
    memset(step.decay_nd, 0, sizeof step.decay_nd);
    for (int i = 0; i < 400; i++) {
        step.wetted_m2 = WALL_M2 * (1.0 - 0.002 * i); /* the level falls meanwhile */
        step.volume20_l = CASK_L * (1.0 - 0.002 * i);
        step.abv20_frac = 0.635 - 0.0004 * i;
        stv_oak_advance(&step, &usual, &oak.pools, oak.content_mg);
    }
    for (size_t k = 0; k < STV_OAK_N; k++) {
        double had_mg = WALL_M2 * (before.pools.fast_mg_m2[k] + before.pools.slow_mg_m2[k]);
        double has_mg = WALL_M2 * (oak.pools.fast_mg_m2[k] + oak.pools.slow_mg_m2[k]);
        stv_assert_close(has_mg + oak.content_mg[k], had_mg, 1e-12, 0.0);
        assert_true(oak.content_mg[k] > 0.0);
    }
}

static void dry_wall_gives_nothing(void **state)
{
    (void)state;
    struct oak wet = oak_new(), part = oak_new(), dry = oak_new();
    struct stv_oak_step step = step_at(20.0, 1e-3);
    stv_oak_advance(&step, &usual, &wet.pools, wet.content_mg);
    step.wetted_m2 = 0.37 * WALL_M2;
    stv_oak_advance(&step, &usual, &part.pools, part.content_mg);
    step.wetted_m2 = 0.0;
    stv_oak_advance(&step, &usual, &dry.pools, dry.content_mg);
    struct oak untouched = oak_new();
    for (size_t k = 0; k < STV_OAK_N; k++) {
        stv_assert_close(part.content_mg[k], 0.37 * wet.content_mg[k], 1e-4, 0.0);
        stv_assert_close(dry.content_mg[k], 0.0, 0.0, 0.0);
        stv_assert_close(dry.pools.fast_mg_m2[k], untouched.pools.fast_mg_m2[k], 0.0, 0.0);
    }
}

/* A worn-out wood takes back what a rich spirit brings: the partition works both ways. */
static void rich_spirit_gives_back(void **state)
{
    (void)state;
    struct oak oak = {0};
    struct stv_oak_step step = step_at(20.0, 5.0);
    oak.content_mg[STV_OAK_PHENOLICS] = 30000.0;
    stv_oak_advance(&step, &usual, &oak.pools, oak.content_mg);
    assert_true(oak.content_mg[STV_OAK_PHENOLICS] < 30000.0);
    assert_true(oak.pools.fast_mg_m2[STV_OAK_PHENOLICS] > 0.0);
    for (int i = 0; i < 2000; i++)
        stv_oak_advance(&step, &usual, &oak.pools, oak.content_mg);
    /* At rest Wf = delta Kp C, with delta 4 mm and Kp 2 of the sheet. */
    double conc_mg_m3 = oak.content_mg[STV_OAK_PHENOLICS] / (CASK_L / 1000.0);
    stv_assert_close(oak.pools.fast_mg_m2[STV_OAK_PHENOLICS], 0.008 * conc_mg_m3, 1e-9, 0.0);
}

/* Source of the forms: parameter sheet, section 4. */
static void strength_response(void **state)
{
    (void)state;
    stv_assert_close(stv_oak_strength_factor_nd(STV_OAK_LACTONE, 0.57, &usual), 1.0, 1e-14, 0.0);
    stv_assert_close(stv_oak_strength_factor_nd(STV_OAK_ACIDS, 0.32, &usual), exp(-1.0), 1e-13,
                     0.0);
    stv_assert_close(stv_oak_strength_factor_nd(STV_OAK_PHENOLICS, 0.82, &usual), exp(-1.0), 1e-13,
                     0.0);
    stv_assert_close(stv_oak_strength_factor_nd(STV_OAK_TANNINS, 0.63, &usual), 0.904, 1e-13, 0.0);
    stv_assert_close(stv_oak_strength_factor_nd(STV_OAK_SUGARS, 0.20, &usual), 1.3, 0.0, 0.0);
}

static void what_the_wood_held_before(void **state)
{
    (void)state;
    struct stv_params params = stv_params_default();
    params.wood_pool_factor_nd = 1.37;
    /* Source: parameter sheet, section 4: shares left after spirit and after fortified wine. */
    struct stv_oak_pools fresh = stv_oak_pools_of(STV_WOOD_NEW, &params, &usual);
    struct stv_oak_pools spirit = stv_oak_pools_of(STV_WOOD_HELD_SPIRIT, &params, &usual);
    struct stv_oak_pools wine = stv_oak_pools_of(STV_WOOD_HELD_FORTIFIED, &params, &usual);
    stv_assert_close(fresh.fast_mg_m2[STV_OAK_PHENOLICS], 1.37 * 16000.0, 1e-14, 0.0);
    stv_assert_close(fresh.slow_mg_m2[STV_OAK_ALDEHYDES], 1.37 * 1000.0, 1e-14, 0.0);
    for (size_t k = 0; k < STV_OAK_N; k++) {
        stv_assert_close(spirit.fast_mg_m2[k], 0.28 * fresh.fast_mg_m2[k], 1e-14, 0.0);
        stv_assert_close(spirit.slow_mg_m2[k], 0.75 * fresh.slow_mg_m2[k], 1e-14, 0.0);
        stv_assert_close(wine.fast_mg_m2[k], 0.50 * fresh.fast_mg_m2[k], 1e-14, 0.0);
        stv_assert_close(wine.slow_mg_m2[k], 0.85 * fresh.slow_mg_m2[k], 1e-14, 0.0);
    }
    assert_string_equal(stv_wood_history_name(STV_WOOD_NEW), "new oak");
    assert_string_equal(stv_wood_history_name(STV_WOOD_HISTORY_N), "unknown wood");
}

static void activation_energies(void **state)
{
    (void)state;
    struct stv_params params = stv_params_default();
    stv_assert_close(stv_arrhenius20_nd(45000.0, 20.0), 1.0, 0.0, 0.0);
    /* exp[45000/8.314462618 (1/293.15 - 1/303.15)], worked apart. */
    stv_assert_close(stv_arrhenius20_nd(45000.0, 30.0), 1.8386268615799195, 1e-13, 0.0);
    params.extraction_ea_offset_j_mol = 7000.0;
    stv_assert_close(stv_oak_ea_j_mol(30000.0, &params, &usual), 37000.0, 0.0, 0.0);
    stv_assert_close(stv_oak_ea_j_mol(61000.0, &params, &usual), 65000.0, 0.0, 0.0);
    stv_assert_close(stv_oak_ea_j_mol(75000.0, &params, &usual), 75000.0, 0.0, 0.0);
    params.extraction_ea_offset_j_mol = -23000.0;
    stv_assert_close(stv_oak_ea_j_mol(30000.0, &params, &usual), 20000.0, 0.0, 0.0);
    stv_assert_close(stv_oak_ea_j_mol(75000.0, &params, &usual), 52000.0, 0.0, 0.0);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(table_of_the_sheet),
        cmocka_unit_test(halved_steps_agree),
        cmocka_unit_test(what_the_wood_lost_the_liquid_has),
        cmocka_unit_test(dry_wall_gives_nothing),
        cmocka_unit_test(rich_spirit_gives_back),
        cmocka_unit_test(strength_response),
        cmocka_unit_test(what_the_wood_held_before),
        cmocka_unit_test(activation_energies),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
