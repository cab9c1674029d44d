/* Half-lives and equilibria of the parameter sheet (DEVELOPERS.md, Sources), section 5: regression
 * values of the parameter sheet, computed from the stated equations, not published evidence. */
#include "model/esters.h"
#include "model/extraction.h"
#include "model/spirit.h"
#include "model/units.h"
#include "tests/check.h"
#include "tests/usual.h"

#include <gsl/gsl_errno.h>

#define ACETIC_G_MOL 60.05 /* parameter sheet, section 5 */
#define ETHYL_ACETATE_G_MOL 88.11

static double mole_frac_of(double abv20_frac)
{
    double ethanol_kg, water_kg;
    stv_assert_ok(stv_spirit_masses_kg(1.0, abv20_frac, &ethanol_kg, &water_kg));
    return stv_mole_frac_from_mass_frac(ethanol_kg / (ethanol_kg + water_kg));
}

static void half_lives(void **state)
{
    (void)state;
    struct stv_params params = stv_params_default();
    static const double rows[4][2] = {{10.0, 17.0}, {20.0, 6.36}, {25.0, 3.98}, {30.0, 2.53}};
    for (int i = 0; i < 4; i++)
        stv_assert_close(stv_ester_half_life_y(&params, &usual, rows[i][0]), rows[i][1], 3e-3, 0.0);
    /* One unit of pH is a factor of ten. */
    params.acid_ph_nd -= 1.0;
    stv_assert_close(stv_ester_half_life_y(&params, &usual, 25.0), 0.398, 2e-3, 0.0);
    stv_assert_close(stv_arrhenius25_nd(68000.0, 10.0), 0.23382929878894843, 1e-13, 0.0);
}

static void equilibrium(void **state)
{
    (void)state;
    struct stv_params params = stv_params_default();
    params.oxidation_mg_ly = 0.0;
    /* Share of acid that is ester at rest with K = 4, per cent: parameter sheet, section 5. */
    static const double rows[3][2] = {{0.635, 66.0}, {0.60, 63.0}, {0.40, 44.0}};
    for (int i = 0; i < 3; i++) {
        struct stv_ester_step step = {.step_d = 5.0,
                                      .volume20_l = 197.0,
                                      .ethanol_mole_frac = mole_frac_of(rows[i][0]),
                                      .rate_nd = 40.0};
        double acid_mg = 23850.0, ester_mg = 0.0, fruit_nd = 1.0;
        for (int n = 0; n < 2000; n++)
            stv_ester_advance(&step, &params, &usual, &acid_mg, &ester_mg, &fruit_nd);
        double acid = acid_mg / ACETIC_G_MOL, ester = ester_mg / ETHYL_ACETATE_G_MOL;
        stv_assert_close(100.0 * ester / (acid + ester), rows[i][1], 0.0, 0.6);
        double x = step.ethanol_mole_frac;
        stv_assert_close(ester * (1.0 - x) / (acid * x), 4.0, 1e-9, 0.0);
    }
}

static void moles_are_kept(void **state)
{
    (void)state;
    struct stv_params params = stv_params_default();
    struct stv_ester_step step = {.step_d = 5.0,
                                  .volume20_l = 197.0,
                                  .ethanol_mole_frac = 0.317,
                                  .rate_nd = 0.62,
                                  .oxidation_nd = 1.3};
    double acid_mg = 9125.0, ester_mg = 2385.0, fruit_nd = 0.83;
    double before = acid_mg / ACETIC_G_MOL + ester_mg / ETHYL_ACETATE_G_MOL;
    for (int n = 1; n <= 700; n++) {
        stv_ester_advance(&step, &params, &usual, &acid_mg, &ester_mg, &fruit_nd);
        /* Oxidation alone adds: 15 mg of acetic acid per litre and year at 20 C. */
        double made = 15.0 * 1.3 * 197.0 * n * 5.0 / STV_YEAR_D / ACETIC_G_MOL;
        double now = acid_mg / ACETIC_G_MOL + ester_mg / ETHYL_ACETATE_G_MOL;
        stv_assert_close(now, before + made, 1e-12, 0.0);
    }
}

/* E goes to its share of the total with the rate kh (1 + r), whatever the step. */
static void approach_is_exponential(void **state)
{
    (void)state;
    struct stv_params params = stv_params_default();
    params.oxidation_mg_ly = 0.0;
    struct stv_ester_step step = {
        .step_d = 365.25 * 2.385, .volume20_l = 197.0, .ethanol_mole_frac = 0.317, .rate_nd = 0.62};
    double acid_mg = 9125.0, ester_mg = 0.0, fruit_nd = 0.83;
    double total = acid_mg / ACETIC_G_MOL;
    double r = 4.0 * 0.317 / 0.683;
    double rate_per_y = 0.62 * stv_ester_rate25_per_y(&params, &usual);
    double want = total * r / (1.0 + r) * (1.0 - exp(-rate_per_y * (1.0 + r) * 2.385));
    stv_ester_advance(&step, &params, &usual, &acid_mg, &ester_mg, &fruit_nd);
    stv_assert_close(ester_mg / ETHYL_ACETATE_G_MOL, want, 1e-12, 0.0);
    stv_assert_close(fruit_nd, 0.83 * exp(-rate_per_y * 2.385), 1e-13, 0.0);
}

/* Strong spirit holds more ester, weak spirit less: an ester-rich one gives acid back. */
static void water_turns_it_back(void **state)
{
    (void)state;
    struct stv_params params = stv_params_default();
    params.oxidation_mg_ly = 0.0;
    struct stv_ester_step step = {
        .step_d = 30.0, .volume20_l = 197.0, .ethanol_mole_frac = 0.05, .rate_nd = 1.0};
    double acid_mg = 100.0, ester_mg = 9000.0, fruit_nd = 1.0;
    stv_ester_advance(&step, &params, &usual, &acid_mg, &ester_mg, &fruit_nd);
    assert_true(acid_mg > 100.0);
    assert_true(ester_mg < 9000.0);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(half_lives),          cmocka_unit_test(equilibrium),
        cmocka_unit_test(moles_are_kept),      cmocka_unit_test(approach_is_exponential),
        cmocka_unit_test(water_turns_it_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
