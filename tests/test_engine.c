/* The engine against the slow integrator (tests/slow_cask.h): every state at every year's end over
 * twenty years, relative to the larger of the state and a hundredth of what it is at its most (of
 * the fill, for the liquid). */
#include "model/ensemble.h"
#include "tests/slow_cask.h"

#include <gsl/gsl_errno.h>

#define N_YEARS 20
#define WANTED 1e-4

/* Weather that is never the same: the waves of tests/places.h and slow and quick noise on top. */
static struct stv_position weathered(const struct climate_of *climate, double noise_k, int seed)
{
    size_t n = (N_YEARS * 365 + 5) * 24;
    struct stv_position place = place_new(2001, n, 0, climate);
    double slow_k = 0.0, damp = 0.0;
    for (size_t k = 0; k < n; k++) {
        double u = stv_draw_normal_nd((uint64_t)seed, 1, 2, k);
        double v = stv_draw_normal_nd((uint64_t)seed, 3, 4, k);
        slow_k += -slow_k / 60.0 + noise_k * u * sqrt(2.0 / 60.0);
        damp += -damp / 40.0 + 0.08 * v * sqrt(2.0 / 40.0);
        place.air_c[k] += slow_k;
        place.radiant_c[k] += slow_k;
        place.rh_frac[k] = fmin(0.98, fmax(0.08, place.rh_frac[k] + damp));
    }
    return place;
}

static const struct climate_of seasonal = {16.0, 12.0, 8.0, 0.58, 0.12, 0.16, 1.0};
static const struct climate_of furnace = {29.0, 6.0, 8.0, 0.30, 0.08, 0.12, 1.0};
static const struct climate_of cellar = {7.0, 3.0, 1.0, 0.82, 0.03, 0.04, 0.0};
static const struct climate_of jungle = {30.0, 3.0, 6.0, 0.84, 0.03, 0.12, 0.5};

/* States of one lane at the days, in the slow cask's order. */
struct seen {
    size_t n_days;
    double (*at)[SLOW_N]; /* [member * n_days + day] */
};

static void see(void *context, size_t member_idx, size_t day_idx, size_t packet_idx,
                const struct stv__packet *packet)
{
    const struct seen *seen = context;
    double *at = seen->at[member_idx * seen->n_days + day_idx];
    assert_int_equal(packet_idx, 0);
    at[SLOW_ETHANOL] = packet->ethanol_kg[0];
    at[SLOW_WATER] = packet->water_kg[0];
    at[SLOW_ESTER] = packet->ester_mg[0];
    at[SLOW_FRUIT] = packet->fruit_nd[0];
    for (size_t k = 0; k < STV_OAK_N; k++) {
        at[SLOW_CONTENT + k] = packet->content_mg[k][0];
        at[SLOW_FAST + k] = packet->fast_mg_m2[k][0];
        at[SLOW_GIVEN + k] = packet->slow_mg_m2[k][0];
    }
}

static void run_engine(const struct stv_ledger *ledger, const struct stv_position *place,
                       const struct stv_params *params, const int64_t *days_d, struct seen *seen)
{
    double exposed_frac = 1.0;
    struct stv_position_set set = {place, 1, &exposed_frac, 0, 0};
    struct stv_house_rules rules = stv_house_rules_default();
    struct stv_outlook_request request = {.ledger = ledger,
                                          .set = &set,
                                          .rules = &rules,
                                          .base = params,
                                          .options = {.seed = 1, .step_d = 5.0},
                                          .days_d = days_d,
                                          .n_days = seen->n_days};
    struct stv__ensemble ensemble;
    size_t to;
    stv_assert_ok(stv__ensemble_new(&request, &ensemble));
    stv_assert_ok(stv__ensemble_tables(&ensemble, 0, &to));
    struct stv_path_input input = {
        ledger, &ensemble.model, ensemble.tables, ensemble.event_positions,
        0,      days_d,          seen->n_days,    ensemble.n_packets};
    for (size_t g = 0; g < ensemble.n_groups; g++) {
        struct stv__lane_cask *lanes =
            aligned_alloc(64, ensemble.groups[g].n_members * sizeof *lanes);
        stv__ensemble_lanes(&ensemble, &ensemble.groups[g], lanes);
        stv_assert_ok(stv_path_run(&input, &ensemble.groups[g], lanes, see, seen));
        free(lanes);
    }
    stv__ensemble_free(&ensemble);
}

/* One draw of all parameters. */
static struct stv_params drawn_params(uint64_t seed, bool is_leaky)
{
    struct stv_house_draws house;
    struct stv_params base = stv_params_default();
    uint64_t kind = stv_key_of("oak");
    stv_assert_ok(stv_house_draws_new(seed, 1, &kind, 1, &house));
    struct stv_scores scores = stv_scores_drawn(&base, &usual, &house, 0, 0, stv_key_of("cask"));
    scores.leak_per_y = is_leaky ? 0.06 : 0.0;
    struct stv_params params = stv_params_of_scores(&base, &usual, &scores);
    stv_house_draws_free(&house);
    return params;
}

struct worst {
    double error;
    int state, year;
};

static double fill_of(const double *most)
{
    return most[SLOW_ETHANOL] + most[SLOW_WATER];
}

static void compare(const double *got, const double *want, double *most, int year,
                    struct worst *worst)
{
    double fill_kg = fill_of(most);
    for (int i = SLOW_ETHANOL; i < SLOW_N; i++) {
        most[i] = fmax(most[i], want[i]);
        double scale = i <= SLOW_WATER ? fill_kg : most[i];
        double error = fabs(got[i] - want[i]) / fmax(want[i], 0.01 * scale);
        if (!(error <= worst->error))
            *worst = (struct worst){error, i, year};
        if (getenv("V")) if (error > (getenv("T")?atof(getenv("T")):1e-4)) print_message("   %d state %d got %.9g want %.9g err %.1e\n", year, i, got[i], want[i], error);
    }
}

static struct worst one_cask(double capacity_l, double abv20_frac, const struct stv_params *params,
                             const struct stv_position *place)
{
    struct stv_cask cask = cask_new("a", capacity_l);
    struct stv_event fill =
        fill_new(day_of(2001, 3, 14), 0, 0.97 * capacity_l, abv20_frac, 0); /* in mid step */
    struct stv_ledger ledger = {&cask, 1, &fill, 1};
    int64_t days_d[N_YEARS - 1];
    double at[N_YEARS][SLOW_N], most[SLOW_N] = {0.0};
    struct seen seen = {N_YEARS - 1, at};
    struct slow_cask slow = {
        .geometry = cask.geometry, .params = *params, .place = place, .exposed_frac = 1.0};
    struct worst worst = {0.0, 0, 0};
    for (int y = 0; y < N_YEARS - 1; y++)
        days_d[y] = day_of(2002 + y, 1, 1);
    run_engine(&ledger, place, params, days_d, &seen);
    slow_start(&slow, STV_WOOD_NEW);
    slow_fill(&slow, fill.day_d, fill.volume20_l, abv20_frac, false);
    memcpy(most, slow.state, sizeof most);
    for (int y = 0; y < N_YEARS - 1; y++) {
        for (int64_t from_d = y ? days_d[y - 1] : fill.day_d, to_d; from_d < days_d[y]; from_d = to_d) {
            to_d = from_d + 40 < days_d[y] ? from_d + 40 : days_d[y];
            slow_carry(&slow, from_d, to_d);
            for (int i = 0; i < SLOW_N; i++)
                most[i] = fmax(most[i], slow.state[i]);
        }
        compare(at[y], slow.state, most, 2002 + y, &worst);
    }
    print_message("%5.0f L  %4.1f %%vol  left %7.2f kg, worst %.1e (state %d, %d)\n", capacity_l,
                  100.0 * abv20_frac, slow.state[SLOW_ETHANOL] + slow.state[SLOW_WATER],
                  worst.error, worst.state, worst.year);
    return worst;
}

static void sizes_and_climates(void **state)
{
    (void)state;
    static const double sizes_l[] = {50, 100, 200, 250, 500};
    static const struct climate_of *const climates[] = {&seasonal, &furnace, &cellar, &jungle};
    double worst = 0.0;
    for (size_t c = getenv("C")?(size_t)atoi(getenv("C")):0; c < (getenv("C")?(size_t)atoi(getenv("C"))+1:4); c++) {
        struct stv_position place = weathered(climates[c], 2.5, (int)c);
        for (size_t s = getenv("S")?(size_t)atoi(getenv("S")):0; s < (getenv("S")?(size_t)atoi(getenv("S"))+1:5); s++) {
            struct stv_params params = stv_params_default();
            if (s % 2)
                params = drawn_params(10 * c + s, s == 3);
            struct worst own = one_cask(sizes_l[s], s == 1 ? 0.70 : 0.60, &params, &place);
            worst = fmax(worst, own.error);
        }
        place_end(&place);
    }
    print_message("worst of all %.2e\n", worst);
    assert_true(worst <= WANTED);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sizes_and_climates),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
