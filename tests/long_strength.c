/* Every strength comes back from its inverse, over the whole domain of each, at more than a million
 * places of a sequence that fills the range evenly.
 *
 * Too long to sit among the short tests, though a second or two is all it takes.  Prints the worst
 * miss of each. */
#include "tests/check.h"

#include "model/gauge.h"
#include "model/units.h"

#define N_POINTS 200000
#define MOST_MISS 1e-10

/* Steps of the additive recurrence that is hardest to approximate by fractions, in one dimension
 * (golden ratio) and in two (plastic number). */
#define GOLDEN_STEP 0.6180339887498949
#define PLASTIC_STEP_1 0.7548776662466927
#define PLASTIC_STEP_2 0.5698402909980532

#define COLDEST_C (-20.0)
#define WARMEST_C 50.0

struct worst {
    double miss, at_frac, at_c; /* at_c is NaN where warmth plays no part */
    size_t n, n_refused;        /* refused: ice, or beyond the scale */
};

static size_t n_all;

static void note(struct worst *worst, double miss, double at_frac, double temp_c)
{
    worst->n++;
    if (fabs(miss) <= worst->miss)
        return;
    worst->miss = isnan(miss) ? (double)INFINITY : fabs(miss);
    worst->at_frac = at_frac;
    worst->at_c = temp_c;
}

static void judge(const char *name, const struct worst *worst)
{
    print_message("%-32s %7zu points, %6zu refused, worst %.1e at %.6f", name, worst->n,
                  worst->n_refused, worst->miss, worst->at_frac);
    if (isnan(worst->at_c))
        print_message("\n");
    else
        print_message(" and %.2f C\n", worst->at_c);
    n_all += worst->n;
    assert_true(worst->miss <= MOST_MISS);
}

/* Point i of a range of 0..1: both ends first, then the sequence. */
static double place(int i)
{
    return i < 2 ? (double)i : fmod(i * GOLDEN_STEP, 1.0);
}

/* Point i of fraction and temperature: the four corners first. */
static void place_2(int i, double *frac, double *temp_c)
{
    double across = i < 4 ? (double)(i % 2) : fmod(i * PLASTIC_STEP_1, 1.0);
    double along = i < 4 ? (double)(i / 2) : fmod(i * PLASTIC_STEP_2, 1.0);
    *frac = across;
    *temp_c = COLDEST_C + along * (WARMEST_C - COLDEST_C);
}

static void strength_by_volume(void **state)
{
    (void)state;
    struct worst from_mass = {0}, from_volume = {0};
    double most_abv20_frac = stv_abv20_from_mass_frac(1.0); /* beyond it all is pure ethanol */
    for (int i = 0; i < N_POINTS; i++) {
        double p = place(i), abv20_frac = place(i) * most_abv20_frac, back;
        stv_assert_ok(stv_mass_frac_from_abv20(stv_abv20_from_mass_frac(p), &back));
        note(&from_mass, back - p, p, 20.0);
        stv_assert_ok(stv_mass_frac_from_abv20(abv20_frac, &back));
        note(&from_volume, stv_abv20_from_mass_frac(back) - abv20_frac, abv20_frac, 20.0);
    }
    judge("mass, % vol, mass", &from_mass);
    judge("% vol, mass, % vol", &from_volume);
}

static void us_proof(void **state)
{
    (void)state;
    struct worst from_mass = {0}, from_proof = {0};
    for (int i = 0; i < N_POINTS; i++) {
        double p = place(i), back;
        stv_assert_ok(stv_mass_frac_from_us_proof(stv_us_proof_nd(p), &back));
        note(&from_mass, back - p, p, STV_60F_C);
        stv_assert_ok(stv_mass_frac_from_us_proof(200.0 * p, &back));
        note(&from_proof, stv_us_proof_nd(back) / 200.0 - p, p, STV_60F_C);
    }
    judge("mass, US proof, mass", &from_mass);
    judge("US proof / 200, mass, US proof", &from_proof);
}

static void uk_proof(void **state)
{
    (void)state;
    struct worst from_mass = {0}, from_proof = {0};
    double most_nd = stv_uk_proof_nd(1.0);
    for (int i = 0; i < N_POINTS; i++) {
        double p = place(i), back;
        stv_assert_ok(stv_mass_frac_from_uk_proof(stv_uk_proof_nd(p), &back));
        note(&from_mass, back - p, p, 20.0);
        stv_assert_ok(stv_mass_frac_from_uk_proof(most_nd * p, &back));
        note(&from_proof, stv_uk_proof_nd(back) / most_nd - p, p, 20.0);
    }
    judge("mass, UK proof, mass", &from_mass);
    judge("UK proof / 175, mass, UK proof", &from_proof);
}

static void mole_fraction(void **state)
{
    (void)state;
    struct worst from_mass = {0}, from_moles = {0};
    for (int i = 0; i < N_POINTS; i++) {
        double p = place(i);
        note(&from_mass, stv_mass_frac_from_mole_frac(stv_mole_frac_from_mass_frac(p)) - p, p, NAN);
        note(&from_moles, stv_mole_frac_from_mass_frac(stv_mass_frac_from_mole_frac(p)) - p, p,
             NAN);
    }
    judge("mass, moles, mass", &from_mass);
    judge("moles, mass, moles", &from_moles);
}

/* Density and share by volume at any temperature; what is frozen there is refused both ways. */
static void any_temperature(void **state)
{
    (void)state;
    struct worst by_density = {0}, by_volume = {0};
    for (int i = 0; i < 2 * N_POINTS; i++) {
        double p, temp_c, back;
        struct stv_spirit_at at;
        place_2(i, &p, &temp_c);
        stv_assert_ok(stv_spirit_at(temp_c, &at));
        double rho_kg_m3 = stv_spirit_at_rho_kg_m3(&at, p);
        if (isnan(rho_kg_m3)) {
            assert_true(temp_c < stv_spirit_freezing_c(p));
            by_density.n_refused++;
            by_volume.n_refused++;
            continue;
        }
        stv_assert_ok(stv_spirit_at_mass_frac(&at, rho_kg_m3, &back));
        note(&by_density, back - p, p, temp_c);
        stv_assert_ok(stv_spirit_at_mass_frac_of_vol(&at, stv_spirit_at_vol_frac(&at, p), &back));
        note(&by_volume, back - p, p, temp_c);
    }
    judge("mass, density, mass", &by_density);
    judge("mass, % vol at t, mass", &by_volume);
    assert_true(by_density.n > 9 * by_density.n_refused);
}

/* The two fixed-temperature ways round, to 40 C where R 22 ends. */
static void density_within_the_tables(void **state)
{
    (void)state;
    struct worst worst = {0};
    for (int i = 0; i < N_POINTS; i++) {
        double p, temp_c, rho_kg_m3, back;
        place_2(i, &p, &temp_c);
        temp_c = COLDEST_C + (temp_c - COLDEST_C) * (40.0 - COLDEST_C) / (WARMEST_C - COLDEST_C);
        if (stv_spirit_density_kg_m3(p, temp_c, &rho_kg_m3) != STV_OK) {
            assert_true(temp_c < stv_spirit_freezing_c(p));
            worst.n_refused++;
            continue;
        }
        stv_assert_ok(stv_mass_frac_from_density(rho_kg_m3, temp_c, &back));
        note(&worst, back - p, p, temp_c);
    }
    judge("mass, density to 40 C, mass", &worst);
}

/* What a hydrometer reads, the truth, and what the hydrometer reads in that. */
static void hydrometer(void **state)
{
    (void)state;
    struct worst worst = {0};
    static const double reference_c[] = {20.0, STV_60F_C};
    for (int i = 0; i < 2 * N_POINTS; i++) {
        double shown, temp_c, p, back;
        place_2(i / 2, &shown, &temp_c);
        struct stv_strength_reading reading = {
            .instrument = STV_HYDROMETER, .mass_frac = shown, .reference_c = reference_c[i % 2]};
        if (stv_true_mass_frac(&reading, temp_c, &p) != STV_OK) {
            worst.n_refused++;
            continue;
        }
        struct stv_spirit_at here, there;
        stv_assert_ok(stv_spirit_at(temp_c, &here));
        stv_assert_ok(stv_spirit_at(reading.reference_c, &there));
        double grown = STV_GLASS_PER_K * (temp_c - reading.reference_c);
        double rho_kg_m3 = stv_spirit_at_rho_kg_m3(&here, p) / (1.0 - grown);
        stv_assert_ok(stv_spirit_at_mass_frac(&there, rho_kg_m3, &back));
        note(&worst, back - shown, shown, temp_c);
    }
    judge("reading, truth, reading", &worst);
    assert_true(worst.n > 3 * worst.n_refused);
}

/* No miss at all where the scales end. */
static void ends_are_exact(void **state)
{
    (void)state;
    double p;
    for (int end = 0; end < 2; end++) {
        stv_assert_ok(stv_mass_frac_from_abv20(end, &p));
        stv_assert_close(p, end, 0.0, 0.0);
        stv_assert_ok(stv_mass_frac_from_us_proof(200.0 * end, &p));
        stv_assert_close(p, end, 0.0, 1e-15);
        stv_assert_ok(stv_mass_frac_from_uk_proof(175.131 * end, &p));
        stv_assert_close(p, end, 0.0, 0.0);
        stv_assert_close(stv_mole_frac_from_mass_frac(end), end, 0.0, 0.0);
        stv_assert_close(stv_mass_frac_from_mole_frac(end), end, 0.0, 0.0);
        for (double temp_c = end ? COLDEST_C : 0.5; temp_c <= WARMEST_C; temp_c += 0.125) {
            struct stv_spirit_at at;
            stv_assert_ok(stv_spirit_at(temp_c, &at));
            stv_assert_ok(stv_spirit_at_mass_frac(&at, stv_spirit_at_rho_kg_m3(&at, end), &p));
            stv_assert_close(p, end, 0.0, 1e-15);
            stv_assert_ok(stv_spirit_at_mass_frac_of_vol(&at, end, &p));
            stv_assert_close(p, end, 0.0, 1e-15);
        }
    }
}

static void a_million_points_were_tried(void **state)
{
    (void)state;
    print_message("%zu points in all\n", n_all);
    assert_true(n_all >= 1000000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(strength_by_volume),
        cmocka_unit_test(us_proof),
        cmocka_unit_test(uk_proof),
        cmocka_unit_test(mole_fraction),
        cmocka_unit_test(any_temperature),
        cmocka_unit_test(density_within_the_tables),
        cmocka_unit_test(hydrometer),
        cmocka_unit_test(ends_are_exact),
        cmocka_unit_test(a_million_points_were_tried),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
