/* Spreads, correlations and keys of the draws: parameter sheet (DEVELOPERS.md, Sources), section 6.
 */
#include "model/draws.h"
#include "tests/check.h"
#include "tests/usual.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define N_DRAWS 512
#define N_CASKS 60
#define N_KINDS 12 /* cask c is of kind c % N_KINDS */
#define N_ALL ((size_t)N_DRAWS * N_CASKS)

static struct stv_params *all; /* [cask * N_DRAWS + draw] */

static uint64_t cask_key(size_t cask)
{
    char id[16];
    snprintf(id, sizeof id, "cask %zu", cask);
    return stv_key_of(id);
}

static struct stv_house_draws house_new(uint64_t seed, size_t n_draws)
{
    uint64_t kind_keys[N_KINDS];
    struct stv_house_draws house;
    for (size_t k = 0; k < N_KINDS; k++) {
        char name[16];
        snprintf(name, sizeof name, "kind %zu", k);
        kind_keys[k] = stv_key_of(name);
    }
    stv_assert_ok(stv_house_draws_new(seed, n_draws, kind_keys, N_KINDS, &house));
    return house;
}

static struct stv_params params_of(const struct stv_house_draws *house, size_t draw, size_t cask)
{
    struct stv_params base = stv_params_default();
    struct stv_scores scores =
        stv_scores_drawn(&base, &usual, house, draw, cask % N_KINDS, cask_key(cask));
    return stv_params_of_scores(&base, &usual, &scores);
}

static int draw_all(void **state)
{
    (void)state;
    struct stv_house_draws house = house_new(7, N_DRAWS);
    all = malloc(N_ALL * sizeof *all);
    for (size_t c = 0; all && c < N_CASKS; c++)
        for (size_t d = 0; d < N_DRAWS; d++)
            all[c * N_DRAWS + d] = params_of(&house, d, c);
    stv_house_draws_free(&house);
    return all ? 0 : -1;
}

static int free_all(void **state)
{
    (void)state;
    free(all);
    return 0;
}

static double field(const struct stv_params *params, size_t offset)
{
    double value;
    memcpy(&value, (const char *)params + offset, sizeof value);
    return value;
}

/* Mean and standard deviation over all casks and draws of a field or of its logarithm. */
static void spread_of(size_t offset, int is_log, double *out_mean, double *out_sd)
{
    double sum = 0.0, square = 0.0;
    for (size_t i = 0; i < N_ALL; i++) {
        double value = field(&all[i], offset);
        value = is_log ? log(value) : value;
        sum += value;
        square += value * value;
    }
    *out_mean = sum / (double)N_ALL;
    *out_sd = sqrt(square / (double)N_ALL - *out_mean * *out_mean);
}

/* Source: FNV-1a 64-bit vectors of Noll's reference test set, from memory. */
static void keys_are_fnv(void **state)
{
    (void)state;
    assert_true(stv_key_of("") == 0xcbf29ce484222325u);
    assert_true(stv_key_of("a") == 0xaf63dc4c8601ec8cu);
    assert_true(stv_key_of("foobar") == 0x85944171f73967e8u);
}

static void uniform_is_uniform(void **state)
{
    (void)state;
    enum { N = 20000, BINS = 20 };
    int count[BINS] = {0};
    double sum = 0.0, next = 0.0;
    for (uint64_t i = 0; i < N; i++) {
        double u = stv_draw_uniform_nd(11, 22, 33, i);
        double after = stv_draw_uniform_nd(11, 22, 34, i);
        assert_true(u > 0.0 && u < 1.0);
        count[(int)(u * BINS)]++;
        sum += u;
        next += (u - 0.5) * (after - 0.5) * 12.0;
    }
    double chi2 = 0.0;
    for (int b = 0; b < BINS; b++)
        chi2 += pow(count[b] - N / BINS, 2.0) / (N / BINS);
    assert_true(chi2 < gsl_cdf_chisq_Pinv(0.999, BINS - 1));
    stv_assert_close(sum / N, 0.5, 0.0, 4.0 / sqrt(12.0 * N));
    stv_assert_close(next / N, 0.0, 0.0, 4.0 / sqrt((double)N)); /* neighbours do not follow */
    assert_true(stv_draw_uniform_nd(11, 22, 33, 5) != stv_draw_uniform_nd(12, 22, 33, 5));
    assert_true(stv_draw_uniform_nd(11, 22, 33, 5) != stv_draw_uniform_nd(11, 33, 22, 5));
    stv_assert_close(stv_draw_normal_nd(11, 22, 33, 5),
                     gsl_cdf_ugaussian_Pinv(stv_draw_uniform_nd(11, 22, 33, 5)), 0.0, 0.0);
}

/* The middles of sixteen equally likely parts of a normal spread a little less than it does. */
static double strata_sd(void)
{
    double square = 0.0;
    for (int m = 0; m < STV_CLIMATE_MEMBERS; m++)
        square += pow(gsl_cdf_ugaussian_Pinv((m + 0.5) / STV_CLIMATE_MEMBERS), 2.0);
    return sqrt(square / STV_CLIMATE_MEMBERS);
}

struct wanted {
    size_t offset;
    int is_log, is_of_member;
    double middle, sd;
};

/* The house's part has 512 shifted Sobol points, a kind's 6144 keyed ones and the cask's 30720:
 * means within 2 % of the spread, spreads within 3 %.  What belongs to the climate member has the
 * middles of its sixteen strata, exactly. */
static void spreads_of_the_sheet(void **state)
{
    (void)state;
    struct stv_params base = stv_params_default();
#define OF(name) offsetof(struct stv_params, name)
    const struct wanted rows[] = {
        {OF(water_permeance_mol_m2spa), 1, 0, log(base.water_permeance_mol_m2spa), 0.26},
        {OF(permeance_ratio_nd), 1, 0, log(base.permeance_ratio_nd), 0.47},
        {OF(neutral_loss_per_y), 1, 0, log(base.neutral_loss_per_y), 0.56},
        {OF(permeance_ea_j_mol), 0, 1, 2250.0, 10000.0},
        {OF(neutral_temp_share_frac), 0, 0, 0.5, sqrt(1.0 / 12.0)},
        {OF(water_activity_offset_nd), 0, 1, 0.0, 0.012},
        {OF(area_factor_nd), 0, 0, 1.0, 0.05},
        {OF(stave_factor_nd), 0, 0, 1.0, 0.10},
        {OF(time_constant_factor_nd), 1, 1, log(1.2), 0.30},
        /* factor 2 as 90 % limit for the house, 30 % from cask to cask */
        {OF(wood_pool_factor_nd), 1, 0, 0.0, hypot(log(2.0) / 1.645, 0.30)},
        {OF(extraction_ea_offset_j_mol), 0, 1, 0.0, 10000.0},
        {OF(ester_rate_factor_nd), 1, 0, 0.0, log(3.0) / 1.645},
        {OF(ester_ea_j_mol), 0, 1, 68000.0, 5000.0},
        {OF(oxidation_mg_ly), 0, 0, 17.5, 15.0 / sqrt(12.0)}, /* uniform 10..25 */
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double mean, sd, part = rows[i].is_of_member ? strata_sd() : 1.0;
        spread_of(rows[i].offset, rows[i].is_log, &mean, &sd);
        stv_assert_close(mean, rows[i].middle, 0.0,
                         (rows[i].is_of_member ? 1e-9 : 0.02) * rows[i].sd);
        stv_assert_close(sd, part * rows[i].sd, rows[i].is_of_member ? 1e-9 : 0.03, 0.0);
    }
    assert_true(strata_sd() > 0.95 && strata_sd() < 1.0);
    /* Nothing draws these. */
    for (size_t i = 0; i < N_ALL; i++) {
        assert_true(all[i].acid_ph_nd == base.acid_ph_nd);
        assert_true(all[i].liquid_offset_k == 0.0 && all[i].humidity_offset_frac == 0.0);
    }
}

/* Share of a parameter's log-variance that casks have in common: mean product of two different
 * casks' deviations over the variance, over pairs that are of one kind or of two. */
static double shared_frac(size_t offset, double middle, int is_same_kind)
{
    double square = 0.0, cross = 0.0;
    for (size_t c = 0; c < N_CASKS; c++) {
        size_t other = (c + (is_same_kind ? N_KINDS : 1)) % N_CASKS;
        for (size_t d = 0; d < N_DRAWS; d++) {
            double own = log(field(&all[c * N_DRAWS + d], offset)) - middle;
            cross += own * (log(field(&all[other * N_DRAWS + d], offset)) - middle);
            square += own * own;
        }
    }
    return cross / square;
}

/* Half of each log-variance is common to casks of a kind; of that, half to the whole house, but for
 * the ratio, which the house shares only through its loss: 0.6^2 of it. */
static void variances_are_shared_as_the_sheet_says(void **state)
{
    (void)state;
    struct stv_params base = stv_params_default();
    double house_pools = pow(log(2.0) / 1.645, 2.0), pools = house_pools + 0.30 * 0.30;
    const struct {
        size_t offset;
        double middle, of_kind, of_house;
    } rows[] = {
        {OF(neutral_loss_per_y), log(base.neutral_loss_per_y), 0.5, 0.25},
        {OF(water_permeance_mol_m2spa), log(base.water_permeance_mol_m2spa), 0.5, 0.25},
        {OF(permeance_ratio_nd), log(base.permeance_ratio_nd), 0.5, 0.36 * 0.25},
        {OF(wood_pool_factor_nd), 0.0, house_pools / pools, 0.5 * house_pools / pools},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        stv_assert_close(shared_frac(rows[i].offset, rows[i].middle, 1), rows[i].of_kind, 0.0,
                         0.03);
        stv_assert_close(shared_frac(rows[i].offset, rows[i].middle, 0), rows[i].of_house, 0.0,
                         0.03);
    }
}

/* What a climate table is made of is the same in all draws of a member, and of its strata. */
static void draws_of_a_member_are_alike(void **state)
{
    (void)state;
    struct stv_house_draws house = house_new(7, N_DRAWS);
    const double *first[STV_CLIMATE_MEMBERS] = {NULL};
    for (size_t d = 0; d < N_DRAWS; d++) {
        const double *scores_nd = house.scores_nd + d * STV_SCORE_N;
        size_t member = stv_draw_member(7, d, STV_CLIMATE_MEMBERS);
        if (!first[member])
            first[member] = scores_nd;
        assert_memory_equal(scores_nd, first[member], STV_SCORE_MEMBER_N * sizeof(double));
        for (size_t s = STV_SCORE_MEMBER_N; s < STV_SCORE_N && scores_nd != first[member]; s++)
            assert_true(scores_nd[s] != first[member][s]);
    }
    for (size_t s = 0; s < STV_SCORE_MEMBER_N; s++)
        for (size_t m = 1; m < STV_CLIMATE_MEMBERS; m++)
            for (size_t other = 0; other < m; other++)
                assert_true(first[m][s] != first[other][s]);
    struct stv_climate_member climate =
        stv_climate_member(7, 3, STV_CLIMATE_MEMBERS, stv_climate_error_weather(&usual));
    stv_assert_close(climate.liquid_offset_k, first[3][STV_SCORE_LIQUID], 1e-14, 0.0);
    stv_assert_close(climate.humidity_offset_frac, 0.06 * first[3][STV_SCORE_HUMIDITY], 1e-14, 0.0);
    stv_house_draws_free(&house);
}

/* 5 % of casks lose 4 % and an exponential of mean 3 % a year, joints of the middle included. */
static void some_casks_leak(void **state)
{
    (void)state;
    double base_per_y = stv_params_default().neutral_loss_per_y;
    static const double at_per_y[] = {0.001, 0.0399, 0.06, 0.10, 0.15};
    for (size_t i = 0; i < sizeof at_per_y / sizeof *at_per_y; i++) {
        size_t n = 0;
        for (size_t k = 0; k < N_ALL; k++)
            n += all[k].leak_per_y > at_per_y[i] - (i ? base_per_y : 0.0);
        double want = 0.05 * (at_per_y[i] <= 0.04 ? 1.0 : exp(-(at_per_y[i] - 0.04) / 0.03));
        stv_assert_close((double)n / (double)N_ALL, want, 0.0,
                         4.0 * sqrt(want * (1.0 - want) / (double)N_ALL));
    }
}

/* ln ratio = -0.6 (0.47/0.56) ln loss + rest. */
static void leaky_wood_has_a_low_ratio(void **state)
{
    (void)state;
    double n = 0.0, x = 0.0, y = 0.0, xx = 0.0, xy = 0.0;
    for (size_t i = 0; i < N_ALL; i++) {
        double loss = log(all[i].neutral_loss_per_y), ratio = log(all[i].permeance_ratio_nd);
        n += 1.0;
        x += loss;
        y += ratio;
        xx += loss * loss;
        xy += loss * ratio;
    }
    double slope = (xy - x * y / n) / (xx - x * x / n);
    stv_assert_close(slope, -0.6 * 0.47 / 0.56, 0.0, 0.02);
}

/* The reference cask is of the middle kind: it has the house's quarter of the variance, its ratio
 * follows its loss alone, and it never leaks. */
static void reference_cask_is_the_house(void **state)
{
    (void)state;
    struct stv_params base = stv_params_default();
    struct stv_house_draws house = house_new(7, N_DRAWS);
    double sum = 0.0, square = 0.0;
    for (size_t d = 0; d < N_DRAWS; d++) {
        struct stv_scores scores = stv_scores_drawn(&base, &usual, &house, d, SIZE_MAX, 0);
        struct stv_params p = stv_params_of_scores(&base, &usual, &scores);
        double loss = log(p.neutral_loss_per_y / base.neutral_loss_per_y);
        double ratio = log(p.permeance_ratio_nd / base.permeance_ratio_nd);
        sum += loss;
        square += loss * loss;
        stv_assert_close(ratio, -0.6 * 0.47 / 0.56 * loss, 1e-12, 1e-12);
        assert_true(p.area_factor_nd == 1.0 && p.stave_factor_nd == 1.0 && p.leak_per_y == 0.0);
    }
    stv_assert_close(sum / N_DRAWS, 0.0, 0.0, 0.01);
    stv_assert_close(sqrt(square / N_DRAWS), 0.56 * 0.5, 0.02, 0.0);
    stv_house_draws_free(&house);
    stv_house_draws_free(&house); /* twice is allowed */
}

static void draws_do_not_know_rows(void **state)
{
    (void)state;
    struct stv_house_draws few = house_new(7, 20), many = house_new(7, N_DRAWS);
    struct stv_house_draws other = house_new(8, 20);
    for (size_t i = 0; i < 20; i++) {
        size_t d = (7 * i) % 20, c = (3 * i) % N_CASKS; /* another order than draw_all */
        struct stv_params early = params_of(&few, d, c), late = params_of(&many, d, c);
        struct stv_params strange = params_of(&other, d, c);
        assert_memory_equal(&early, &late, sizeof early);
        assert_memory_equal(&early, &all[c * N_DRAWS + d], sizeof early);
        assert_true(strange.neutral_loss_per_y != early.neutral_loss_per_y);
    }
    stv_house_draws_free(&few);
    stv_house_draws_free(&many);
    stv_house_draws_free(&other);
}

static void no_draws_are_refused(void **state)
{
    (void)state;
    struct stv_house_draws none;
    stv_assert_status(stv_house_draws_new(7, 0, NULL, 0, &none), STV_E_ARG);
    assert_null(none.scores_nd);
}

static int compare(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Sixteen equally likely strata each of temperature and humidity, shuffled apart. */
static void climate_members_fill_their_strata(void **state)
{
    (void)state;
    for (int has_logger = 0; has_logger < 2; has_logger++) {
        struct stv_climate_error error =
            has_logger ? stv_climate_error_logger(&usual) : stv_climate_error_weather(&usual);
        double temps[STV_CLIMATE_MEMBERS], rhs[STV_CLIMATE_MEMBERS], cross = 0.0;
        for (size_t m = 0; m < STV_CLIMATE_MEMBERS; m++) {
            struct stv_climate_member member = stv_climate_member(5, m, STV_CLIMATE_MEMBERS, error);
            temps[m] = member.liquid_offset_k / error.liquid_k;
            rhs[m] = member.humidity_offset_frac / error.rh_frac;
            cross += temps[m] * rhs[m] / STV_CLIMATE_MEMBERS;
        }
        assert_true(fabs(cross) < 0.8);
        qsort(temps, STV_CLIMATE_MEMBERS, sizeof *temps, compare);
        qsort(rhs, STV_CLIMATE_MEMBERS, sizeof *rhs, compare);
        for (int m = 0; m < STV_CLIMATE_MEMBERS; m++) {
            double want = gsl_cdf_ugaussian_Pinv((m + 0.5) / STV_CLIMATE_MEMBERS);
            stv_assert_close(temps[m], want, 1e-12, 1e-12);
            stv_assert_close(rhs[m], want, 1e-12, 1e-12);
        }
    }
    /* One member alone is the middle. */
    stv_assert_close(stv_climate_member(5, 0, 1, stv_climate_error_weather(&usual)).liquid_offset_k,
                     0.0, 0.0, 1e-15);
}

static void every_block_meets_every_member_once(void **state)
{
    (void)state;
    int orders_differ = 0;
    for (size_t block = 0; block < 8; block++) {
        unsigned met = 0;
        for (size_t i = 0; i < STV_CLIMATE_MEMBERS; i++) {
            size_t member =
                stv_draw_member(3, block * STV_CLIMATE_MEMBERS + i, STV_CLIMATE_MEMBERS);
            assert_true(member < STV_CLIMATE_MEMBERS);
            met |= 1u << member;
            orders_differ |= member != stv_draw_member(3, i, STV_CLIMATE_MEMBERS);
        }
        assert_int_equal(met, (1u << STV_CLIMATE_MEMBERS) - 1);
    }
    assert_true(orders_differ);
}

static void table_of_parameters(void **state)
{
    (void)state;
    size_t n;
    const struct stv_param_info *table = stv_param_table(&n);
    struct stv_params params = stv_params_default();
    assert_int_equal(n * sizeof(double), sizeof params);
    for (size_t i = 0; i < n; i++)
        stv_assert_close(field(&params, i * sizeof(double)), table[i].default_nd, 0.0, 0.0);
    /* Parameter sheet, section 2. */
    stv_assert_close(params.water_permeance_mol_m2spa, 5.95e-9, 1e-15, 0.0);
    stv_assert_close(params.water_permeance_mol_m2spa / params.permeance_ratio_nd, 1.56e-10, 1e-14,
                     0.0);
    stv_assert_close(params.permeance_ea_j_mol, 2250.0, 0.0, 0.0);
    stv_assert_close(params.neutral_loss_per_y, 0.0142, 0.0, 0.0);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(keys_are_fnv),
        cmocka_unit_test(uniform_is_uniform),
        cmocka_unit_test(spreads_of_the_sheet),
        cmocka_unit_test(variances_are_shared_as_the_sheet_says),
        cmocka_unit_test(draws_of_a_member_are_alike),
        cmocka_unit_test(some_casks_leak),
        cmocka_unit_test(leaky_wood_has_a_low_ratio),
        cmocka_unit_test(reference_cask_is_the_house),
        cmocka_unit_test(draws_do_not_know_rows),
        cmocka_unit_test(no_draws_are_refused),
        cmocka_unit_test(climate_members_fill_their_strata),
        cmocka_unit_test(every_block_meets_every_member_once),
        cmocka_unit_test(table_of_parameters),
    };
    return cmocka_run_group_tests(tests, draw_all, free_all);
}
