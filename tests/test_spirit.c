/* Spirit properties against printed tables, measurements and laws.
 *
 * Values marked "regression" were computed with this model once and only guard against change;
 * all others come from outside.  [27CFR30] tables are typed from a public transcription; rows
 * that disagree with their neighbours there are not used. */
#include "tests/spirit_case.h"

#include "model/spirit.h"
#include "model/tables/larkin.h"
#include "model/tables/melinder.h"
#include "model/tables/oiml_r22.h"
#include "model/tables/redlich_kister.h"
#include "model/units.h"

#define COUNT(a) (sizeof(a) / sizeof(a)[0])

static double density(double p, double temp_c)
{
    double rho;
    stv_assert_ok(stv_spirit_density_kg_m3(p, temp_c, &rho));
    return rho;
}

/* [R22] printed densities (the first four also stand in 76/766/EEC or quotations of R 22), off
 * 20 C with p > 0 as well. */
static void density_matches_printed_tables(void **state)
{
    (void)state;
    static const double row[][3] = {{0.0, 20.0, 998.20},  {1.0, 20.0, 789.24}, {0.0, 0.0, 999.84},
                                    {0.0, 10.0, 999.70},  {1.0, 40.0, 771.93}, {0.31, 13.0, 956.42},
                                    {0.88, -10.0, 848.57}};
    for (size_t i = 0; i < COUNT(row); i++)
        stv_assert_close(density(row[i][0], row[i][1]), row[i][2], 0.0, 0.006);
    double p;
    stv_assert_ok(stv_mass_frac_from_density(848.4, 20.0, &p));
    stv_assert_close(p, 0.7796, 0.0, 5e-5);
    stv_assert_close(density(0.0, 3.97), 999.97, 0.0, 0.006);
}

/* Water by the IAPWS-IF97 formulation at 101.325 kPa, ethanol by none of it. */
static void density_matches_water_standard(void **state)
{
    (void)state;
    static const double row[][2] = {
        {10.0, 999.7015}, {20.0, 998.2061}, {25.0, 997.0480}, {30.0, 995.6521}, {40.0, 992.2243}};
    for (size_t i = 0; i < COUNT(row); i++)
        stv_assert_close(density(0.0, row[i][0]), row[i][1], 0.0, 0.015);
    /* The same standard at 50 C, to which the formula is carried beyond its range. */
    struct stv_spirit_at at;
    stv_assert_ok(stv_spirit_at(50.0, &at));
    stv_assert_close(stv_spirit_at_rho_kg_m3(&at, 0.0), 988.047, 0.0, 0.3);
}

/* Sums of every coefficient, as typed: regression. */
static void tables_are_unedited(void **state)
{
    (void)state;
    double a = 0.0, b = 0.0, larkin = 0.0, rk = 0.0, melinder = 0.0;
    for (int i = 0; i < R22_N_A; i++)
        a += r22_a_kg_m3[i];
    for (int i = 0; i < R22_N_B; i++)
        b += fabs(r22_b_kg_m3[i]);
    stv_assert_close(a, 789.2391233, 1e-10, 0.0);
    stv_assert_close(b, 0.21148991105911324, 1e-14, 0.0);
    for (int i = 0; i < LARKIN_N; i++)
        larkin += larkin_power_nd[i] *
                  (larkin_b_j_mol[i] + larkin_c_j_molk[i] * 300.0 + larkin_d_j_molk2[i] * 9e4);
    stv_assert_close(larkin, -11298.749999999636, 1e-12, 0.0);
    for (int i = 0; i < REDLICH_KISTER_N; i++)
        rk += (i + 1) * redlich_kister_nd[i];
    stv_assert_close(rk, 0.235, 1e-12, 0.0);
    for (int i = 0; i < MELINDER_N_TEMP; i++)
        for (int j = 0; j < MELINDER_N_COMP; j++)
            melinder += fabs(melinder_cp_j_kgk[i][j]) / 1000.0 +
                        fabs(melinder_conductivity_w_mk[i][j]) +
                        fabs(melinder_ln_viscosity_nd[i][j]);
    for (int j = 0; j < MELINDER_N_COMP; j++)
        melinder += fabs(melinder_freezing_k[j]);
    stv_assert_close(melinder, 2654.4416972240624, 1e-12, 0.0);
    /* The cross terms at p = 1, 10 and 5 K below 20 C, with weights. */
    double cross = 0.0;
    for (int k = 0; k < 11; k++)
        cross += (k + 1) * r22_c1_kg_m3[k] + (k < 10 ? (k + 2) * r22_c2_kg_m3[k] : 0.0) +
                 (k < 9 ? (k + 3) * r22_c3_kg_m3[k] : 0.0) +
                 (k < 4 ? (k + 4) * 1e6 * r22_c4_kg_m3[k] : 0.0) +
                 (k < 2 ? (k + 5) * 1e8 * r22_c5_kg_m3[k] : 0.0);
    stv_assert_close(cross, -4.546807042713734, 1e-12, 0.0);
}

static void density_falls_with_strength(void **state)
{
    (void)state;
    for (double temp_c = -20.0; temp_c <= 40.0; temp_c += 4.0) {
        double last = INFINITY, rho;
        int n_known = 0;
        for (int i = 0; i <= 1000; i++) {
            if (stv_spirit_density_kg_m3(i / 1000.0, temp_c, &rho) != STV_OK)
                continue; /* frozen: counted below */
            assert_true(rho < last);
            last = rho;
            n_known++;
        }
        assert_true(n_known > 690); /* even at -20 C all but the weakest 31 % by mass is liquid */
    }
    for (double p = 0.35; p < 1.0; p += 0.05)
        for (double temp_c = -19.0; temp_c <= 40.0; temp_c += 1.0)
            assert_true(density(p, temp_c) < density(p, temp_c - 1.0));
}

static void density_refuses_outside(void **state)
{
    (void)state;
    double rho = 1.0;
    static const double bad[][2] = {{-1e-9, 20.0}, {1.0 + 1e-9, 20.0}, {0.5, -20.1}, {0.5, 40.1},
                                    {NAN, 20.0},   {0.5, NAN},         {0.0, -1.0},  {0.2, -13.0}};
    for (size_t i = 0; i < COUNT(bad); i++) {
        rho = 1.0;
        stv_assert_status(stv_spirit_density_kg_m3(bad[i][0], bad[i][1], &rho), STV_E_DOMAIN);
        stv_assert_close(rho, NAN, 0.0, 0.0);
    }
    stv_assert_status(stv_spirit_density_kg_m3(0.5, 20.0, NULL), STV_E_ARG);
    stv_assert_close(stv_spirit_rho20_kg_m3(NAN), NAN, 0.0, 0.0);
}

/* 40 C is the last temperature of [R22], 50 C the last that is carried on. */
static void extrapolation_is_flagged(void **state)
{
    (void)state;
    struct stv_spirit_at inside, outside;
    stv_assert_ok(stv_spirit_at(40.0, &inside));
    assert_false(inside.is_extrapolated);
    stv_assert_close(stv_spirit_at_rho_kg_m3(&inside, 0.52), density(0.52, 40.0), 0.0, 0.0);
    stv_assert_ok(stv_spirit_at(45.0, &outside));
    assert_true(outside.is_extrapolated);
    double slope = (density(0.52, 40.0) - density(0.52, 35.0)) / 5.0;
    stv_assert_close(stv_spirit_at_rho_kg_m3(&outside, 0.52), density(0.52, 40.0) + 5.0 * slope,
                     0.0, 0.3);
    static const double bad_c[] = {-20.01, 50.01, NAN, INFINITY};
    for (size_t i = 0; i < COUNT(bad_c); i++) {
        stv_assert_status(stv_spirit_at(bad_c[i], &outside), STV_E_DOMAIN);
        stv_assert_close(outside.temp_c, NAN, 0.0, 0.0);
    }
    stv_assert_status(stv_spirit_at(20.0, NULL), STV_E_ARG);
}

static void rho20_is_the_density_at_20(void **state)
{
    (void)state;
    for (int i = 0; i <= 997; i++)
        stv_assert_close(stv_spirit_rho20_kg_m3(i / 997.0), density(i / 997.0, 20.0), 0.0, 0.0);
}

static void strengths_come_back(void **state)
{
    (void)state;
    for (int i = 0; i <= 4999; i++) {
        double p = i / 4999.0, back;
        stv_assert_ok(stv_mass_frac_from_abv20(stv_abv20_from_mass_frac(p), &back));
        stv_assert_close(back, p, 0.0, 1e-11);
        stv_assert_ok(stv_mass_frac_from_us_proof(stv_us_proof_nd(p), &back));
        stv_assert_close(back, p, 0.0, 1e-11);
        stv_assert_close(stv_mass_frac_from_mole_frac(stv_mole_frac_from_mass_frac(p)), p, 0.0,
                         1e-14);
    }
    int n_liquid = 0;
    for (double temp_c = -20.0; temp_c <= 40.0; temp_c += 3.75)
        for (int i = 0; i <= 499; i++) {
            double p = i / 499.0, rho, back;
            if (stv_spirit_density_kg_m3(p, temp_c, &rho) != STV_OK)
                continue; /* frozen */
            stv_assert_ok(stv_mass_frac_from_density(rho, temp_c, &back));
            stv_assert_close(back, p, 0.0, 1e-11);
            n_liquid++;
        }
    assert_true(n_liquid > 17 * 340);
}

static void ends_of_the_scales(void **state)
{
    (void)state;
    stv_assert_close(mass_frac_of_abv(0.0), 0.0, 0.0, 0.0);
    stv_assert_close(mass_frac_of_abv(1.0), 1.0, 0.0, 0.0);
    stv_assert_close(mass_frac_of_abv(0.999995), 0.9999905, 0.0, 1e-5);
    stv_assert_close(mass_frac_of_proof(0.0), 0.0, 0.0, 0.0);
    stv_assert_close(mass_frac_of_proof(200.0), 1.0, 0.0, 1e-15);
    stv_assert_close(stv_us_proof_nd(1.0), 200.0, 0.0, 0.0);
    stv_assert_close(stv_abv20_from_mass_frac(1.0), 1.0, 0.0, 1.2e-6);
}

static void strengths_refuse_outside(void **state)
{
    (void)state;
    double p;
    stv_assert_status(stv_mass_frac_from_abv20(-0.001, &p), STV_E_DOMAIN);
    stv_assert_close(p, NAN, 0.0, 0.0);
    stv_assert_status(stv_mass_frac_from_abv20(1.001, &p), STV_E_DOMAIN);
    stv_assert_status(stv_mass_frac_from_abv20(NAN, &p), STV_E_DOMAIN);
    stv_assert_status(stv_mass_frac_from_abv20(0.4, NULL), STV_E_ARG);
    stv_assert_status(stv_mass_frac_from_us_proof(-0.1, &p), STV_E_DOMAIN);
    stv_assert_status(stv_mass_frac_from_us_proof(200.1, &p), STV_E_DOMAIN);
    stv_assert_close(p, NAN, 0.0, 0.0);
    stv_assert_status(stv_mass_frac_from_us_proof(80.0, NULL), STV_E_ARG);
    stv_assert_status(stv_mass_frac_from_uk_proof(176.0, &p), STV_E_DOMAIN);
    stv_assert_close(p, NAN, 0.0, 0.0);
    stv_assert_status(stv_mass_frac_from_uk_proof(70.0, NULL), STV_E_ARG);
    stv_assert_status(stv_mass_frac_from_density(1000.5, 20.0, &p), STV_E_DOMAIN);
    stv_assert_status(stv_mass_frac_from_density(788.0, 20.0, &p), STV_E_DOMAIN);
    stv_assert_status(stv_mass_frac_from_density(900.0, 41.0, &p), STV_E_DOMAIN);
    stv_assert_status(stv_mass_frac_from_density(NAN, 20.0, &p), STV_E_DOMAIN);
    stv_assert_status(stv_mass_frac_from_density(985.0, -12.0, &p), STV_E_DOMAIN); /* ice */
    stv_assert_close(p, NAN, 0.0, 0.0);
    stv_assert_status(stv_mass_frac_from_density(900.0, 20.0, NULL), STV_E_ARG);
    stv_assert_close(stv_abv20_from_mass_frac(1.1), NAN, 0.0, 0.0);
    stv_assert_close(stv_us_proof_nd(-0.1), NAN, 0.0, 0.0);
    stv_assert_close(stv_mole_frac_from_mass_frac(1.1), NAN, 0.0, 0.0);
    stv_assert_close(stv_mass_frac_from_mole_frac(-0.1), NAN, 0.0, 0.0);
}

/* [27CFR30] Table 6: specific gravity in vacuum, 60/60 F, by proof.  Printed to 1e-5; the US
 * tables stand on older densities than [R22], which is up to 7e-5 near 200 proof. */
static void us_table_6_specific_gravity(void **state)
{
    (void)state;
    static const double row[][2] = {{70, 0.95908},  {86, 0.94693},  {92, 0.94174},  {100, 0.93426},
                                    {107, 0.92728}, {114, 0.91999}, {120, 0.91344}, {125, 0.90779},
                                    {130, 0.90202}, {140, 0.88999}};
    static const double wide[][2] = {
        {10, 0.99282}, {50, 0.97084}, {160, 0.86380}, {190, 0.81603}, {200, 0.79389}};
    double water = density(0.0, STV_60F_C);
    for (size_t i = 0; i < COUNT(row); i++)
        stv_assert_close(density(mass_frac_of_proof(row[i][0]), STV_60F_C) / water, row[i][1], 0.0,
                         4e-5);
    for (size_t i = 0; i < COUNT(wide); i++)
        stv_assert_close(density(mass_frac_of_proof(wide[i][0]), STV_60F_C) / water, wide[i][1],
                         0.0, 1e-4);
}

/* Wine gallons per pound: water weighs 1 lb per 0.120074 gal in air at 60 F (27 CFR 30.41) and
 * air is 1.2173 kg/m3. */
static double gallons_per_lb(double us_proof_nd)
{
    double air = 1.2173;
    double sg_air = (density(mass_frac_of_proof(us_proof_nd), STV_60F_C) - air) /
                    (density(0.0, STV_60F_C) - air);
    return 0.120074 / sg_air;
}

/* Worked examples and rows of [27CFR30]. */
static void us_gauging_by_weight(void **state)
{
    (void)state;
    /* Table 4, gallons per pound, printed to 1e-5. */
    static const double row[][2] = {{86, 0.12681},  {100, 0.12853}, {110, 0.12994},
                                    {120, 0.13147}, {125, 0.13229}, {140, 0.13494}};
    for (size_t i = 0; i < COUNT(row); i++)
        stv_assert_close(gallons_per_lb(row[i][0]), row[i][1], 0.0, 1.5e-5);
    /* 30.64: 81,000 lb of 190 proof are 11,921.6 wine gallons and 22,650.8 proof gallons. */
    stv_assert_close(81000.0 * gallons_per_lb(190.0), 11921.6, 1e-4, 0.0);
    stv_assert_close(81000.0 * gallons_per_lb(190.0) * 1.90, 22650.8, 1e-4, 0.0);
    /* 30.63: 321.5 lb of 86 proof are 35.1 proof gallons. */
    stv_assert_close(321.5 * gallons_per_lb(86.0) * 0.86, 35.1, 0.0, 0.05);
    /* 30.64: 1,000 lb of 200 proof are reduced to 190 proof by 82.03 lb of water. */
    stv_assert_close(1000.0 / mass_frac_of_proof(190.0) - 1000.0, 82.03, 0.0, 0.25);
}

/* [27CFR30] Table 7, volume factor to 60 F (printed to 1e-3), and the example of 30.51
 * (86.8 proof at 72 F: 0.995). */
static void us_volume_correction(void **state)
{
    (void)state;
    static const double row[][3] = {{80, 40, 1.007},  {80, 80, 0.992},   {100, 40, 1.009},
                                    {100, 90, 0.986}, {120, 50, 1.005},  {120, 86, 0.987},
                                    {130, 30, 1.015}, {130, 100, 0.979}, {86.8, 72, 0.995}};
    for (size_t i = 0; i < COUNT(row); i++) {
        double p = mass_frac_of_proof(row[i][0]);
        double factor = density(p, stv_c_from_f(row[i][1])) / density(p, STV_60F_C);
        stv_assert_close(factor, row[i][2], 0.0, 1e-3);
    }
}

/* [27CFR30] Table 1: true proof of a hydrometer reading.  A soda-lime glass hydrometer
 * (25e-6 per K in volume, [R22]) graduated at 60 F; printed to 0.1. */
static void us_hydrometer_correction(void **state)
{
    (void)state;
    static const double row[][3] = {{80, 50, 84.5},   {80, 68, 76.4},   {92, 80, 83.3},
                                    {100, 40, 108.1}, {100, 50, 104.1}, {100, 70, 95.8},
                                    {110, 70, 106.0}, {120, 50, 123.8}, {120, 90, 108.1},
                                    {125, 77, 118.4}, {130, 95, 116.5}, {193, 75, 189.5}};
    for (size_t i = 0; i < COUNT(row); i++) {
        double temp_c = stv_c_from_f(row[i][1]), p;
        double shown = density(mass_frac_of_proof(row[i][0]), STV_60F_C);
        double rho = shown * (1.0 - 25e-6 * (temp_c - STV_60F_C));
        stv_assert_ok(stv_mass_frac_from_density(rho, temp_c, &p));
        stv_assert_close(stv_us_proof_nd(p), row[i][2], 0.0, 0.15);
    }
}

/* Water of reduction from the alcohol and water columns A, W of [27CFR30] Table 6:
 * (A1/A2) W2 - W1 gallons per 100, against the masses. */
static void us_water_of_reduction(void **state)
{
    (void)state;
    static const struct {
        double proof, water;
    } from = {120, 43.71}, to[] = {{100, 53.73}, {92, 57.66}, {86, 60.56}};
    double start = density(mass_frac_of_proof(from.proof), STV_60F_C);
    for (size_t i = 0; i < COUNT(to); i++) {
        double grown = from.proof / to[i].proof;
        double end = density(mass_frac_of_proof(to[i].proof), STV_60F_C);
        double water = 100.0 * (grown * end - start) / density(0.0, STV_60F_C);
        stv_assert_close(water, grown * to[i].water - from.water, 0.0, 0.02);
    }
}

static void proofs_of_two_countries(void **state)
{
    (void)state;
    double p;
    stv_assert_ok(stv_mass_frac_from_uk_proof(100.0, &p));
    stv_assert_close(stv_abv20_from_mass_frac(p), 1.0 / 1.75131, 1e-12, 0.0);
    /* Alcoholic Liquor Duties Act 1979 s. 2 as enacted: proof spirit weighs 12/13 of an equal
     * volume of water at 51 F.  The factor in force is 0.05 % vol below it. */
    double temp_c = stv_c_from_f(51.0);
    stv_assert_close(density(p, temp_c) / density(0.0, temp_c), 12.0 / 13.0, 0.0, 2e-4);
    /* Twice the strength at 20 C is not the proof at 60 F: 60 % vol is 119.89 (regression). */
    stv_assert_close(stv_us_proof_nd(mass_frac_of_abv(0.6)), 119.891, 0.0, 5e-4);
}

static void amounts_return(void **state)
{
    (void)state;
    for (int i = 0; i <= 200; i++) {
        double abv = i * 0.0049999, volume = 193.7 - 0.5 * i, ethanol, water;
        stv_assert_ok(stv_spirit_masses_kg(volume, abv, &ethanol, &water));
        struct stv_spirit_amount amount = stv_spirit_amount(ethanol, water);
        stv_assert_close(amount.volume20_l, volume, 1e-12, 0.0);
        stv_assert_close(amount.abv20_frac, abv, 0.0, 1e-12);
        stv_assert_close(amount.lpa_l, volume * abv, 1e-12, 1e-10);
    }
    struct stv_spirit_amount none = stv_spirit_amount(0.0, 0.0);
    stv_assert_close(none.volume20_l, 0.0, 0.0, 0.0);
    stv_assert_close(none.lpa_l, 0.0, 0.0, 0.0);
    stv_assert_close(none.abv20_frac, NAN, 0.0, 0.0);
}

static void mixing_shrinks(void **state)
{
    (void)state;
    double ethanol, water;
    stv_assert_ok(stv_spirit_masses_kg(100.0, 0.635, &ethanol, &water));
    /* Reduction of 63.5 to 46 % vol takes 39.403 L of water per 100 L and loses 1.360 L
     * (regression); the sum of volumes without contraction would take 38.04 L. */
    double added_kg = 39.403 * 0.99820123;
    struct stv_spirit_amount mixed = stv_spirit_amount(ethanol, water + added_kg);
    stv_assert_close(mixed.abv20_frac, 0.46, 0.0, 1e-6);
    stv_assert_close(100.0 + 39.403 - mixed.volume20_l, 1.360, 0.0, 1e-3);
}

static void amounts_refuse_outside(void **state)
{
    (void)state;
    double ethanol = 1.0, water = 1.0;
    stv_assert_close(stv_spirit_amount(-1e-6, 3.0).volume20_l, NAN, 0.0, 0.0);
    stv_assert_close(stv_spirit_amount(2.0, -1e-6).lpa_l, NAN, 0.0, 0.0);
    stv_assert_close(stv_spirit_amount(NAN, 1.0).lpa_l, NAN, 0.0, 0.0);
    stv_assert_status(stv_spirit_masses_kg(-1.0, 0.6, &ethanol, &water), STV_E_DOMAIN);
    stv_assert_close(ethanol, NAN, 0.0, 0.0);
    stv_assert_close(water, NAN, 0.0, 0.0);
    stv_assert_status(stv_spirit_masses_kg(INFINITY, 0.6, &ethanol, &water), STV_E_DOMAIN);
    stv_assert_status(stv_spirit_masses_kg(200.0, 1.2, &ethanol, &water), STV_E_DOMAIN);
    stv_assert_status(stv_spirit_masses_kg(200.0, 0.6, NULL, &water), STV_E_ARG);
    stv_assert_status(stv_spirit_masses_kg(200.0, 0.6, &ethanol, NULL), STV_E_ARG);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(density_matches_printed_tables),
        cmocka_unit_test(density_matches_water_standard),
        cmocka_unit_test(tables_are_unedited),
        cmocka_unit_test(density_falls_with_strength),
        cmocka_unit_test(density_refuses_outside),
        cmocka_unit_test(extrapolation_is_flagged),
        cmocka_unit_test(rho20_is_the_density_at_20),
        cmocka_unit_test(strengths_come_back),
        cmocka_unit_test(ends_of_the_scales),
        cmocka_unit_test(strengths_refuse_outside),
        cmocka_unit_test(us_table_6_specific_gravity),
        cmocka_unit_test(us_gauging_by_weight),
        cmocka_unit_test(us_volume_correction),
        cmocka_unit_test(us_hydrometer_correction),
        cmocka_unit_test(us_water_of_reduction),
        cmocka_unit_test(proofs_of_two_countries),
        cmocka_unit_test(amounts_return),
        cmocka_unit_test(mixing_shrinks),
        cmocka_unit_test(amounts_refuse_outside),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
