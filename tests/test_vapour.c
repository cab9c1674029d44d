/* Ethanol in a room's air: worked examples and the laws of a mixed volume. */
#include "model/cask_heat.h"
#include "model/draws.h"
#include "model/evaporation.h"
#include "model/spirit.h"
#include "model/vapour.h"
#include "model/vapour_release.h"
#include "model/vapour_trials.h"
#include "model/wood.h"
#include "tests/places.h"
#include "tests/usual.h"

#include <math.h>
#include <omp.h>

#define ROOM_M3 1800.0
#define CASKS 500.0
#define HOURS 2000

/* 500 casks that each lose 9.5 kg a year, four times the mean in the worst hour, 35 C, half a
 * change an hour: by hand from G = m R T/(M p), C = G/Q, Q = K G/C; to the digits given. */
static void a_store_by_hand(void **state)
{
    (void)state;
    double mean_kg_h = CASKS * 9.5 / 8760.0;
    double mean_m3_h = stv_vapour_m3_h(mean_kg_h, 35.0, STV_STANDARD_PRESSURE_PA);
    double air_m3_h = 0.5 * ROOM_M3;
    stv_assert_close(mean_kg_h, 0.54, 0.0, 0.005);
    stv_assert_close(mean_m3_h, 0.30, 0.0, 0.005);
    stv_assert_close(stv_vapour_ppm(mean_m3_h, air_m3_h), 330.0, 0.0, 1.0);
    stv_assert_close(stv_vapour_ppm(4.0 * mean_m3_h, air_m3_h), 1322.0, 0.0, 2.0);
    stv_assert_close(stv_vapour_air_m3_h(4.0 * mean_m3_h, STV_VAPOUR_DAY_PPM, 4.0), 4760.0, 1e-3,
                     0.0);
    stv_assert_close(stv_vapour_air_m3_h(4.0 * mean_m3_h, STV_VAPOUR_TENTH_LEL_PPM, 4.0), 1442.0,
                     1e-3, 0.0);
    stv_assert_close(stv_vapour_air_m3_h(4.0 * mean_m3_h, STV_VAPOUR_QUARTER_LEL_PPM, 4.0), 577.0,
                     1e-3, 0.0);
    /* Airing from 1322 to 500 ppm with 5000 m3/h, mixing factor 4: 1.4 h. */
    stv_assert_close(stv_vapour_airing_h(ROOM_M3, 5000.0, 4.0, 1322.0, 500.0), 1.4, 0.0, 0.05);
    stv_assert_close(stv_vapour_airing_h(ROOM_M3, 5000.0, 4.0, 400.0, 500.0), 0.0, 0.0, 0.0);
    assert_true(isnan(stv_vapour_m3_h(1.0, 20.0, 0.0)));
}

/* 1 ppm of ethanol is 1.88 mg/m3 at 25 C (NIOSH Pocket Guide). */
static void a_ppm_weighs(void **state)
{
    (void)state;
    double m3_per_kg = stv_vapour_m3_h(1.0, 25.0, STV_STANDARD_PRESSURE_PA);
    stv_assert_close(1.0 / m3_per_kg, 1.88, 0.0, 0.01); /* kg a m3 is mg/m3 of a ppm */
}

/* What comes in is what leaves and what stays; a steady room stays; a shut one gathers. */
static void a_room_keeps_its_books(void **state)
{
    (void)state;
    static double release_kg_h[HOURS], air_m3_h[HOURS], temp_c[HOURS], ppm[HOURS];
    double in_m3 = 0.0, out_m3 = 0.0;
    for (int k = 0; k < HOURS; k++) {
        release_kg_h[k] = k < HOURS / 2 ? 0.2 + 0.1 * sin(k / 3.0) : 0.0;
        air_m3_h[k] = ROOM_M3 * (0.3 + 0.25 * cos(k / 5.0));
        temp_c[k] = 30.0;
    }
    stv_assert_ok(stv_vapour_room(release_kg_h, air_m3_h, temp_c, HOURS, ROOM_M3,
                                  STV_STANDARD_PRESSURE_PA, ppm));
    for (int k = 0; k < HOURS; k++) {
        in_m3 += stv_vapour_m3_h(release_kg_h[k], 30.0, STV_STANDARD_PRESSURE_PA);
        out_m3 += ppm[k] / 1e6 * air_m3_h[k];
        assert_true(ppm[k] >= 0.0);
    }
    double held_m3 =
        stv_vapour_ppm(stv_vapour_m3_h(release_kg_h[0], 30.0, STV_STANDARD_PRESSURE_PA),
                       air_m3_h[0]) /
        1e6 * ROOM_M3; /* at the start; at the end it is aired out */
    stv_assert_close(out_m3, in_m3 + held_m3, 1e-9, 0.0);
    assert_true(ppm[HOURS - 1] < 1e-6);
    for (int k = 0; k < HOURS; k++) {
        release_kg_h[k] = 0.2;
        air_m3_h[k] = 900.0;
    }
    stv_assert_ok(stv_vapour_room(release_kg_h, air_m3_h, temp_c, HOURS, ROOM_M3,
                                  STV_STANDARD_PRESSURE_PA, ppm));
    stv_assert_close(ppm[HOURS - 1], ppm[0], 1e-12, 0.0);
    for (int k = 0; k < HOURS; k++)
        air_m3_h[k] = 0.0;
    stv_assert_ok(stv_vapour_room(release_kg_h, air_m3_h, temp_c, HOURS, ROOM_M3,
                                  STV_STANDARD_PRESSURE_PA, ppm));
    for (int k = 1; k < HOURS; k++)
        assert_true(ppm[k] > ppm[k - 1]);
    stv_assert_status(
        stv_vapour_room(release_kg_h, air_m3_h, temp_c, HOURS, 0.0, STV_STANDARD_PRESSURE_PA, ppm),
        STV_E_DOMAIN);
}

/* Air as rich as the spirit would stop the loss; 1000 ppm at 30 C is about a 54th of that over
 * strong spirit (by hand from its vapour pressure). */
static void a_room_slows_little(void **state)
{
    (void)state;
    stv_assert_close(stv_vapour_slowing_frac(1000.0, STV_STANDARD_PRESSURE_PA, 0.36, 30.0),
                     1.0 / 54.0, 0.1, 0.0);
}

#define MANY 60
#define YEAR_H 8760
#define DRAWS 32

/* A store of one or two places with casks of some size and content. */
struct store {
    struct stv_position places[2];
    double exposed_frac[2];
    struct stv_position_set set;
    struct stv_params base;
    struct stv_cask casks[MANY];
    struct stv_vapour_cask lying[MANY];
    double volume20_l[DRAWS], abv20_frac[DRAWS]; /* the same for all */
    double air_m3_h[YEAR_H];
    struct stv_vapour_request request;
};

/* Casks as alike as can be; tests change them. */
static void store_new(struct store *store, size_t n_casks, const struct climate_of *climate)
{
    memset(store, 0, sizeof *store);
    for (int p = 0; p < 2; p++) {
        store->places[p] = place_new(2003, YEAR_H, 0, climate);
        store->exposed_frac[p] = 1.0;
    }
    store->set = (struct stv_position_set){store->places, 2, store->exposed_frac, 0, 0};
    store->base = stv_params_default();
    for (size_t d = 0; d < DRAWS; d++) {
        store->volume20_l[d] = 180.0;
        store->abv20_frac[d] = 0.60;
    }
    for (size_t c = 0; c < n_casks; c++) {
        char id[8];
        snprintf(id, sizeof id, "%zu", c);
        store->casks[c] = cask_new(id, 200.0);
        store->lying[c] = (struct stv_vapour_cask){&store->casks[c],  0,     store->volume20_l,
                                                   store->abv20_frac, 180.0, 0.60};
    }
    for (size_t k = 0; k < YEAR_H; k++)
        store->air_m3_h[k] = 300.0 + 200.0 * sin((double)k);
    store->request = (struct stv_vapour_request){.casks = store->lying,
                                                 .crowd_nd = 1.0,
                                                 .n_casks = n_casks,
                                                 .set = &store->set,
                                                 .base = &store->base,
                                                 .numbers = &usual,
                                                 .seed = 7,
                                                 .store_key = 11,
                                                 .n_draws = DRAWS,
                                                 .air_m3_h = store->air_m3_h,
                                                 .air_c = store->places[0].air_c,
                                                 .n_hours = YEAR_H,
                                                 .volume_m3 = ROOM_M3,
                                                 .pressure_pa = STV_STANDARD_PRESSURE_PA,
                                                 .watch_idx = {17, 4000},
                                                 .n_watch = 2};
}

static void store_end(struct store *store)
{
    place_end(&store->places[0]);
    place_end(&store->places[1]);
}

/* What one cask gives off in an hour by the equation itself. */
static double rate_kg_h(const struct store *store, size_t cask_idx, double liquid_c, double air_c,
                        double rh_frac)
{
    const struct stv_vapour_cask *cask = &store->lying[cask_idx];
    double ethanol_kg, water_kg;
    struct stv_evaporation rates;
    stv_assert_ok(stv_spirit_masses_kg(cask->middle_volume20_l, cask->middle_abv20_frac,
                                       &ethanol_kg, &water_kg));
    stv_assert_ok(
        stv_evaporation_rates(&(struct stv_cask_wood){&cask->cask->geometry, &store->base, &usual},
                              ethanol_kg, water_kg, liquid_c, air_c, rh_frac, &rates));
    return 3600.0 * (rates.air_ethanol_kg_s + rates.joint_ethanol_kg_s);
}

static const struct {
    double capacity_l, volume20_l, abv20_frac;
} mixed[] = {{50.0, 48.0, 0.62}, {200.0, 195.0, 0.68}, {250.0, 120.0, 0.55}, {500.0, 480.0, 0.42}};
#define N_MIXED (sizeof mixed / sizeof mixed[0])

static void mix_casks(struct store *store)
{
    for (size_t c = 0; c < N_MIXED; c++) {
        store->casks[c] = cask_new("mixed", mixed[c].capacity_l);
        store->lying[c].middle_volume20_l = mixed[c].volume20_l;
        store->lying[c].middle_abv20_frac = mixed[c].abv20_frac;
        store->lying[c].position_idx = c % 2;
    }
}

/* Casks of unlike size, content and strength, each by itself: in steady air, and on days of +-5 K
 * with each cask's own time constant. */
static void each_cask_gives_off_its_own(void **state)
{
    (void)state;
    static struct store store;
    static double release_kg_h[YEAR_H], ppm[YEAR_H], liquid_c[YEAR_H];
    static const double day_k[] = {0.0, 5.0};
    for (size_t i = 0; i < 2; i++) {
        struct climate_of climate = {.mean_c = 23.0, .day_k = day_k[i], .rh_frac = 0.55};
        struct stv_vapour_trial trial;
        double want_mean = 0.0, worst = 0.0;
        store_new(&store, N_MIXED, &climate);
        mix_casks(&store);
        stv_assert_ok(stv_vapour_default(&store.request, release_kg_h, ppm, &trial));
        for (size_t k = 2000; k < 2048; k++) {
            double want = 0.0;
            for (size_t c = 0; c < N_MIXED; c++) {
                double tau_h = stv_cask_time_constant_h(
                    &store.casks[c].geometry, mixed[c].volume20_l, mixed[c].abv20_frac, &usual);
                stv_assert_ok(stv_cask_liquid_c(store.places[0].air_c, store.places[0].radiant_c,
                                                YEAR_H, tau_h, stv_cask_convective_frac(&usual),
                                                liquid_c));
                want += rate_kg_h(&store, c, liquid_c[k], store.places[0].air_c[k],
                                  store.places[0].rh_frac[k]);
            }
            worst = fmax(worst, fabs(release_kg_h[k] / want - 1.0));
            want_mean += want / 48.0;
        }
        print_message("days of +-%.0f K: worst hour %.2f %% from the equation\n", day_k[i],
                      100.0 * worst);
        assert_true(worst < (i == 0 ? 1e-3 : 5e-3));
        stv_assert_close(trial.mean_kg_h, want_mean, i == 0 ? 1e-3 : 3e-3, 0.0);
        store_end(&store);
    }
}

/* Between the points of temperature and humidity that hours are read from, to both ends; beyond
 * them liquid counts as at the end. */
static void hours_at_any_climate(void **state)
{
    (void)state;
    static struct store store;
    static double release_kg_h[YEAR_H], ppm[YEAR_H];
    static const double rh_frac[] = {0.0, 0.1424, 0.3476, 0.5124, 0.7223, 0.8976, 0.9526, 0.9974};
    double worst_dry = 0.0, worst_wet = 0.0;
    for (double mean_c = -14.87; mean_c < 50.0; mean_c += 9.25)
        for (size_t i = 0; i < sizeof rh_frac / sizeof rh_frac[0]; i++) {
            struct climate_of climate = {.mean_c = mean_c, .rh_frac = rh_frac[i]};
            struct stv_vapour_trial trial;
            store_new(&store, 1, &climate);
            stv_assert_ok(stv_vapour_default(&store.request, release_kg_h, ppm, &trial));
            double want = rate_kg_h(&store, 0, mean_c, mean_c, rh_frac[i]);
            double away = fabs(release_kg_h[4000] / want - 1.0);
            if (rh_frac[i] < 0.9)
                worst_dry = fmax(worst_dry, away);
            else
                worst_wet = fmax(worst_wet, away);
            store_end(&store);
        }
    print_message("worst to 90 %% humidity %.4f %%, beyond %.4f %%\n", 100.0 * worst_dry,
                  100.0 * worst_wet);
    assert_true(worst_dry < 2e-4 && worst_wet < 5e-4);
    double ends_kg_h[2];
    for (size_t i = 0; i < 2; i++) {
        struct climate_of climate = {.mean_c = i ? -40.0 : -15.0, .rh_frac = 0.5};
        struct stv_vapour_trial trial;
        store_new(&store, 1, &climate);
        stv_assert_ok(stv_vapour_default(&store.request, release_kg_h, ppm, &trial));
        ends_kg_h[i] = trial.mean_kg_h;
        store_end(&store);
    }
    stv_assert_close(ends_kg_h[1], ends_kg_h[0], 1e-12, 0.0);
}

/* Twice the casks give off twice as much; an empty place nothing. */
static void casks_add_up(void **state)
{
    (void)state;
    static struct store store;
    static double release_kg_h[YEAR_H], ppm[YEAR_H];
    struct climate_of climate = {.mean_c = 18.0, .year_k = 9.0, .day_k = 3.0, .rh_frac = 0.6};
    struct stv_vapour_trial one, two, none;
    store_new(&store, 2, &climate);
    stv_assert_ok(stv_vapour_default(&store.request, release_kg_h, ppm, &two));
    store.request.n_casks = 1;
    stv_assert_ok(stv_vapour_default(&store.request, release_kg_h, ppm, &one));
    stv_assert_close(two.mean_kg_h, 2.0 * one.mean_kg_h, 1e-12, 0.0);
    assert_true(one.peak_kg_h > 1.2 * one.mean_kg_h); /* hot summers */
    store.request.n_casks = 0;
    stv_assert_ok(stv_vapour_default(&store.request, release_kg_h, ppm, &none));
    stv_assert_close(none.mean_kg_h, 0.0, 0.0, 0.0);
    stv_assert_close(none.peak_ppm, 0.0, 0.0, 0.0);
    store.request.watch_idx[0] = YEAR_H;
    stv_assert_status(stv_vapour_default(&store.request, release_kg_h, ppm, &none), STV_E_ARG);
    store_end(&store);
}

static int compare(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Means of a store's trials, sorted. */
static void sorted_means(const struct stv_vapour_trial *trials, double out_kg_h[DRAWS])
{
    for (size_t d = 0; d < DRAWS; d++)
        out_kg_h[d] = trials[d].mean_kg_h;
    qsort(out_kg_h, DRAWS, sizeof *out_kg_h, compare);
}

/* Trials hold the default; the house's part does not average out over many casks, the casks' own
 * does. */
static void many_casks_keep_the_houses_part(void **state)
{
    (void)state;
    static struct store store;
    static double release_kg_h[YEAR_H], ppm[YEAR_H];
    static struct stv_vapour_trial trials[DRAWS];
    static const size_t n_casks[] = {1, MANY};
    double spread[2], means[DRAWS];
    struct climate_of climate = {.mean_c = 18.0, .year_k = 9.0, .day_k = 3.0, .rh_frac = 0.6};
    store_new(&store, MANY, &climate);
    for (size_t i = 0; i < 2; i++) {
        struct stv_vapour_trial middle;
        store.request.n_casks = n_casks[i];
        stv_assert_ok(stv_vapour_default(&store.request, release_kg_h, ppm, &middle));
        stv_assert_ok(stv_vapour_trials(&store.request, trials));
        sorted_means(trials, means);
        assert_true(means[2] < middle.mean_kg_h && middle.mean_kg_h < means[DRAWS - 3]);
        spread[i] = log(means[DRAWS - 3] / means[2]);
    }
    print_message("ln of upper over lower: one cask %.2f, %d casks %.2f\n", spread[0], MANY,
                  spread[1]);
    assert_true(spread[1] < 0.9 * spread[0] && spread[1] > 0.3 * spread[0]);
    store_end(&store);
}

/* What gauges taught of the house's losses moves the trials, and its doubt their range. */
static void what_was_learned_counts(void **state)
{
    (void)state;
    enum { SHARED = STV_SCORE_N };
    static struct store store;
    static struct stv_vapour_trial before[DRAWS], after[DRAWS];
    static double mean_nd[SHARED], chol_nd[SHARED * SHARED];
    double before_kg_h[DRAWS], after_kg_h[DRAWS];
    struct climate_of climate = {.mean_c = 18.0, .year_k = 9.0, .day_k = 3.0, .rh_frac = 0.6};
    struct stv_posterior learned = {.n_shared = SHARED, .mean_nd = mean_nd, .chol_nd = chol_nd};
    for (size_t s = 0; s < SHARED; s++)
        chol_nd[s * SHARED + s] = 1.0;
    store_new(&store, MANY, &climate);
    stv_assert_ok(stv_vapour_trials(&store.request, before));
    store.request.learned = &learned;
    stv_assert_ok(stv_vapour_trials(&store.request, after));
    for (size_t d = 0; d < DRAWS; d++) /* nothing new was learned */
        stv_assert_close(after[d].mean_kg_h, before[d].mean_kg_h, 1e-12, 0.0);
    mean_nd[STV_SCORE_LOSS] = -1.0;
    chol_nd[STV_SCORE_LOSS * SHARED + STV_SCORE_LOSS] = 0.1;
    stv_assert_ok(stv_vapour_trials(&store.request, after));
    sorted_means(before, before_kg_h);
    sorted_means(after, after_kg_h);
    assert_true(after_kg_h[DRAWS / 2] < 0.9 * before_kg_h[DRAWS / 2]);
    assert_true(after_kg_h[DRAWS - 3] / after_kg_h[2] < before_kg_h[DRAWS - 3] / before_kg_h[2]);
    store_end(&store);
}

/* More air, fewer ppm, in every trial; air that is said does not spread. */
static void more_air_less_vapour(void **state)
{
    (void)state;
    static struct store store;
    static struct stv_vapour_trial some[DRAWS], more[DRAWS];
    struct climate_of climate = {.mean_c = 18.0, .year_k = 9.0, .day_k = 3.0, .rh_frac = 0.6};
    store_new(&store, 5, &climate);
    stv_assert_ok(stv_vapour_trials(&store.request, some));
    for (size_t k = 0; k < YEAR_H; k++)
        store.air_m3_h[k] *= 1.5;
    stv_assert_ok(stv_vapour_trials(&store.request, more));
    for (size_t d = 0; d < DRAWS; d++) {
        assert_true(more[d].mean_ppm < some[d].mean_ppm && more[d].peak_ppm < some[d].peak_ppm);
        assert_true(more[d].watch_ppm[0] < some[d].watch_ppm[0]);
        stv_assert_close(more[d].mean_kg_h, some[d].mean_kg_h, 0.0, 0.0);
    }
    double least = INFINITY, most = 0.0;
    for (size_t d = 0; d < DRAWS; d++) {
        least = fmin(least, some[d].air_mean_m3_h);
        most = fmax(most, some[d].air_mean_m3_h);
    }
    assert_true(most > 1.8 * least && most < 8.0 * least);
    store.request.is_air_said = true;
    stv_assert_ok(stv_vapour_trials(&store.request, more));
    for (size_t d = 0; d < DRAWS; d++)
        stv_assert_close(more[d].air_mean_m3_h, more[0].air_mean_m3_h, 0.0, 0.0);
    store_end(&store);
}

/* The worst hour of the year is the highest of the clock, at its own month and hour; a store whose
 * casks are hotter in summer stands highest then. */
static void a_clock_holds_the_worst_hour(void **state)
{
    (void)state;
    static struct store store;
    static struct stv_vapour_trial trials[DRAWS];
    static double release_kg_h[YEAR_H], ppm[YEAR_H];
    struct climate_of climate = {.mean_c = 18.0, .year_k = 9.0, .day_k = 3.0, .rh_frac = 0.6};
    struct stv_vapour_trial middle;
    store_new(&store, 3, &climate);
    stv_assert_ok(stv_vapour_default(&store.request, release_kg_h, ppm, &middle));
    stv_assert_ok(stv_vapour_trials(&store.request, trials));
    size_t worst = 0;
    for (size_t k = 1; k < YEAR_H; k++)
        worst = ppm[k] > ppm[worst] ? k : worst;
    int hour;
    int64_t day_d = stv_grid_local_day(&store.set.positions[0].grid, worst, &hour);
    int month_idx = stv_date_from_day(day_d).month - 1;
    stv_assert_close(middle.clock_ppm[month_idx][hour], middle.peak_ppm, 0.0, 0.0);
    for (size_t d = 0; d < DRAWS; d++) {
        double highest = 0.0;
        for (int i = 0; i < STV_MONTHS * STV_DAY_H; i++)
            highest = fmax(highest, trials[d].clock_ppm[i / STV_DAY_H][i % STV_DAY_H]);
        stv_assert_close(highest, trials[d].peak_ppm, 0.0, 0.0);
        assert_true(trials[d].clock_ppm[7][15] > trials[d].clock_ppm[1][15]);
    }
    store.request.n_casks = 0;
    stv_assert_ok(stv_vapour_default(&store.request, release_kg_h, ppm, &middle));
    assert_true(isnan(middle.clock_ppm[7][15]));
    store_end(&store);
}

/* The factor on the air: its middle is 1, and a tenth lies beyond a factor of two. */
static void air_is_known_within_a_factor_of_two(void **state)
{
    (void)state;
    int n_below = 0, n_beyond = 0;
    for (size_t d = 0; d < 20000; d++) {
        double factor = stv_air_factor_drawn_nd(&usual, 3, 5, d);
        n_below += factor < 1.0;
        n_beyond += factor < 0.5 || factor > 2.0;
    }
    stv_assert_close(n_below / 20000.0, 0.5, 0.0, 0.015);
    stv_assert_close(n_beyond / 20000.0, 0.1, 0.0, 0.01);
}

static void the_same_bytes(void **state)
{
    (void)state;
    static struct store store;
    static struct stv_vapour_trial one[DRAWS], two[DRAWS];
    struct climate_of climate = {.mean_c = 18.0, .year_k = 9.0, .day_k = 3.0, .rh_frac = 0.6};
    store_new(&store, 7, &climate);
    omp_set_num_threads(1);
    stv_assert_ok(stv_vapour_trials(&store.request, one));
    omp_set_num_threads(2);
    stv_assert_ok(stv_vapour_trials(&store.request, two));
    assert_memory_equal(one, two, sizeof one);
    store.request.seed = 8;
    stv_assert_ok(stv_vapour_trials(&store.request, two));
    assert_memory_not_equal(one, two, sizeof one);
    store_end(&store);
}

/* G against Simpson's rule on 2000 cells. */
static void wood_integral_is_smooth(void **state)
{
    (void)state;
    static const double temps_c[] = {-15.0, 3.5, 20.0, 50.0};
    struct stv_params params = stv_params_default();
    struct stv__cask_functions *functions;
    stv_assert_ok(stv__cask_functions_new(&params, &functions));
    for (int t = 0; t < 4; t++)
        for (double to = 0.0007; to < 1.0; to += 0.0391) {
            double sum = 0.0, cell = to / 2000.0;
            for (int i = 0; i < 2000; i++)
                sum += (stv_wood_local_factor_nd(i * cell, temps_c[t]) +
                        4.0 * stv_wood_local_factor_nd((i + 0.5) * cell, temps_c[t]) +
                        stv_wood_local_factor_nd((i + 1) * cell, temps_c[t])) *
                       cell / 6.0;
            stv_assert_close(stv__wood_integral_nd(functions, to, temps_c[t]), sum, 0.0,
                             to < 0.9 ? 2e-8 : 1e-6);
        }
    stv__cask_functions_free(functions);
    stv__cask_functions_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_store_by_hand),
        cmocka_unit_test(a_ppm_weighs),
        cmocka_unit_test(a_room_keeps_its_books),
        cmocka_unit_test(a_room_slows_little),
        cmocka_unit_test(each_cask_gives_off_its_own),
        cmocka_unit_test(hours_at_any_climate),
        cmocka_unit_test(casks_add_up),
        cmocka_unit_test(many_casks_keep_the_houses_part),
        cmocka_unit_test(what_was_learned_counts),
        cmocka_unit_test(more_air_less_vapour),
        cmocka_unit_test(air_is_known_within_a_factor_of_two),
        cmocka_unit_test(a_clock_holds_the_worst_hour),
        cmocka_unit_test(the_same_bytes),
        cmocka_unit_test(wood_integral_is_smooth),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
