/* How many cask-years the engine walks in a second of one core: tables of the climate apart and
 * together with the casks, for few and many paths (casks times trials) a position, and against the
 * slow integrator of tests/slow_cask.h in the same run.
 *
 *     bench_cask                          the rates
 *     bench_cask CASKS DRAWS [POSITIONS]  a whole house of 20 years on all threads, ranges only:
 *                                         wall time and most memory; 200 positions unless said
 *
 * Rates are by the process's own time, one thread.  It judges nothing.  Five years of record are
 * told 20 years on. */
#include "model/ensemble.h"
#include "tests/bench/clock.h"
#include "tests/slow_cask.h"

#include <gsl/gsl_errno.h>
#include <omp.h>
#include <sys/resource.h>

#define RECORD_Y 5
#define WALK_Y 20
#define SLOW_D 730
#define REPEATS 4
#define LAST_RANGE_DAYS 4

static struct stv_position place_of(size_t idx)
{
    struct climate_of climate = {.mean_c = 13.0 + 0.02 * (double)idx,
                                 .year_k = 11.0,
                                 .day_k = 6.0 + 0.01 * (double)idx,
                                 .rh_frac = 0.6,
                                 .rh_year_frac = 0.1,
                                 .rh_day_frac = 0.1};
    struct stv_position place =
        place_new(2001, RECORD_Y * 365 * STV_DAY_H + STV_DAY_H, 0, &climate);
    place.place = (struct stv_place){0, 0, (int)idx, -1};
    place.error = stv_climate_error_weather(&usual);
    return place;
}

struct house {
    struct stv_position *places;
    double *exposed_frac;
    struct stv_cask *casks;
    struct stv_event *fills;
    struct stv_ledger ledger;
    struct stv_position_set set;
};

static struct house house_new(size_t n_casks, size_t n_positions)
{
    static const double sizes_l[] = {200.0, 200.0, 225.0, 250.0, 500.0};
    struct house house = {.places = malloc(n_positions * sizeof *house.places),
                          .exposed_frac = malloc(n_positions * sizeof(double)),
                          .casks = malloc(n_casks * sizeof *house.casks),
                          .fills = malloc(n_casks * sizeof *house.fills)};
    assert_true(house.places && house.exposed_frac && house.casks && house.fills);
    for (size_t p = 0; p < n_positions; p++) {
        house.places[p] = place_of(p);
        house.exposed_frac[p] = 1.0;
    }
    for (size_t c = 0; c < n_casks; c++) {
        char id[24];
        double capacity_l = sizes_l[c / n_positions % 5];
        snprintf(id, sizeof id, "%zu", c);
        house.casks[c] = cask_new(id, capacity_l);
        house.fills[c] =
            fill_new(day_of(2001, 1, 10) + (int64_t)(c % 50), (int)c, 0.97 * capacity_l, 0.60, c);
        house.fills[c].place = house.places[c % n_positions].place;
    }
    house.ledger = (struct stv_ledger){house.casks, n_casks, house.fills, n_casks};
    stv_assert_ok(stv_ledger_sort(&house.ledger));
    house.set = (struct stv_position_set){house.places, n_positions, house.exposed_frac, 0, 0};
    return house;
}

static void house_end(struct house *house)
{
    for (size_t p = 0; p < house->set.n_positions; p++)
        place_end(&house->places[p]);
    free(house->places);
    free(house->exposed_frac);
    free(house->casks);
    free(house->fills);
}

static void hear(void *context, size_t member_idx, size_t day_idx, size_t packet_idx,
                 const struct stv__packet *packet)
{
    double *sum_kg = context;
    (void)member_idx;
    (void)day_idx;
    (void)packet_idx;
    *sum_kg += packet->ethanol_kg[0];
}

/* Seconds of all groups through tables that are there, or are made on the way. */
static double walk_s(const struct stv__ensemble *ensemble, const int64_t *days_d, size_t n_days)
{
    double sum_kg = 0.0, started_s = cpu_s();
    struct stv_path_input input = stv__ensemble_path(ensemble);
    input.days_d = days_d;
    input.n_days = n_days;
    struct stv__lane_cask *lanes = aligned_alloc(64, ensemble->n_packets * sizeof *lanes);
    assert_non_null(lanes);
    for (size_t g = 0; g < ensemble->n_groups; g++) {
        stv__ensemble_lanes(ensemble, &ensemble->groups[g], NULL, lanes);
        stv_assert_ok(stv_path_run(&input, &ensemble->groups[g], lanes, hear, &sum_kg));
    }
    free(lanes);
    assert_true(sum_kg > 0.0);
    return cpu_s() - started_s;
}

/* Prints the rates of so many casks and draws in one position. */
static void tell_rates(size_t n_casks, size_t n_draws, double slow_per_s)
{
    struct house house = house_new(n_casks, 1);
    struct stv_house_rules rules = stv_house_rules_default();
    const int64_t day_d = day_of(2001 + WALK_Y, 1, 10);
    struct stv_outlook_request request = {
        .ledger = &house.ledger,
        .set = &house.set,
        .rules = &rules,
        .options = {.seed = 1, .n_draws = n_draws, .step_d = 10.0},
        .days_d = &day_d,
        .n_days = 1};
    struct stv__ensemble ensemble;
    size_t to;
    double started_s = cpu_s(), years = WALK_Y * (double)(n_casks * n_draws);
    stv_assert_ok(stv__ensemble_new(&request, &ensemble));
    stv_assert_ok(stv__ensemble_tables(&ensemble, 0, &to));
    double made_s = cpu_s() - started_s;
    double first_s = walk_s(&ensemble, &day_d, 1), again_s = first_s;
    for (int i = 0; i < REPEATS; i++)
        again_s = fmin(again_s, walk_s(&ensemble, &day_d, 1));
    double tables_s = made_s + first_s - again_s;
    printf("%5zu paths a position: tables %.3f s; cask-years/s/core: casks alone %.0f, with tables "
           "%.0f (%.0f times the integrator)\n",
           n_casks * n_draws, tables_s, years / again_s, years / (tables_s + again_s),
           years / (tables_s + again_s) / slow_per_s);
    stv__ensemble_free(&ensemble);
    house_end(&house);
}

static double slow_per_s(void)
{
    struct stv_position place = place_of(0);
    struct stv_cask cask = cask_new("a", 200.0);
    struct slow_cask slow = {.geometry = cask.geometry,
                             .params = stv_params_default(),
                             .place = &place,
                             .exposed_frac = 1.0};
    int64_t from_d = day_of(2001, 1, 10);
    slow_start(&slow, STV_WOOD_NEW);
    slow_fill(&slow, from_d, 194.0, 0.60, false);
    double started_s = cpu_s();
    slow_carry(&slow, from_d, from_d + SLOW_D);
    double per_s = SLOW_D / STV_YEAR_D / (cpu_s() - started_s);
    printf("integrator: %.2f cask-years/s/core\n", per_s);
    place_end(&place);
    return per_s;
}

static void tell_house(size_t n_casks, size_t n_draws, size_t n_positions)
{
    struct house house = house_new(n_casks, n_positions);
    struct stv_house_rules rules = stv_house_rules_default();
    int64_t days_d[LAST_RANGE_DAYS];
    struct stv_outlook outlook;
    struct rusage usage;
    for (int d = 0; d < LAST_RANGE_DAYS; d++)
        days_d[d] = day_of(2001 + (d + 1) * WALK_Y / LAST_RANGE_DAYS, 1, 10);
    struct stv_outlook_request request = {
        .ledger = &house.ledger,
        .set = &house.set,
        .rules = &rules,
        .options = {.seed = 1, .n_draws = n_draws, .step_d = 10.0},
        .days_d = days_d,
        .n_days = LAST_RANGE_DAYS,
        .keeps_ranges_only = 1};
    double started_s = now_s(), worked_s = cpu_s();
    stv_assert_ok(stv_outlook_run(&request, &outlook));
    double took_s = now_s() - started_s;
    worked_s = cpu_s() - worked_s;
    getrusage(RUSAGE_SELF, &usage);
    printf("%zu casks, %zu trials, %d years, %zu positions on %d threads: %.1f s (%.1f s "
           "of work), %.0f cask-years/s/core, %.0f MB\n",
           n_casks, n_draws, WALK_Y, n_positions, omp_get_max_threads(), took_s, worked_s,
           (double)(n_casks * n_draws * WALK_Y) / worked_s, (double)usage.ru_maxrss / 1024.0);
    stv_outlook_free(&outlook);
    house_end(&house);
}

int main(int n_words, char **words)
{
    static const size_t paths[][2] = {{1, 3}, {1, 25}, {1, 250}, {20, 250}};
    gsl_set_error_handler_off();
    if (n_words > 2) {
        tell_house(strtoul(words[1], NULL, 10), strtoul(words[2], NULL, 10),
                   n_words > 3 ? strtoul(words[3], NULL, 10) : 200);
        return 0;
    }
    omp_set_num_threads(1);
    double slow = slow_per_s();
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++)
        tell_rates(paths[i][0], paths[i][1], slow);
    return 0;
}
