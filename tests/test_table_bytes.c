/* Rows of climate tables and a building's air from one run of the program to the next: no byte of
 * an answer changes, whatever was kept and however it was spoilt since. */
#include "model/building.h"
#include "model/table_bytes.h"
#include "tests/byte_shelf.h"
#include "tests/two_tiers.h"

#include <gsl/gsl_errno.h>
#include <omp.h>

#define N_CASKS 2

static struct stv_cask casks[N_CASKS];
static struct stv_event events[N_CASKS + 1];

/* Two casks, one of which moves from tier to tier within a step: rows of days are wanted too. */
static struct stv_ledger ledger_of(size_t n_events)
{
    casks[0] = cask_new("a", 200.0);
    casks[1] = cask_new("b", 50.0);
    events[0] = fill_new(day_of(2001, 1, 1), 0, 200.0, 0.60, 0);
    events[1] = fill_new(day_of(2001, 6, 3), 1, 48.0, 0.57, 1);
    events[1].place = (struct stv_place){0, 1, -1, -1};
    events[2] = event_new(day_of(2002, 3, 9), STV_EVENT_MOVE, 0, 2);
    events[2].place = (struct stv_place){0, 1, -1, -1};
    return (struct stv_ledger){casks, N_CASKS, events, n_events};
}

struct ask {
    const struct store *store;
    size_t n_events, n_draws;
    int64_t day_d;
    double warming_k_per_y;
};

/* A run of the program of its own: what it keeps lies on the shelf alone. */
static struct stv_outlook outlook_of(const struct ask *ask, const struct stv_byte_store *kept_in)
{
    struct stv_ledger ledger = ledger_of(ask->n_events);
    struct stv_house_rules rules = stv_house_rules_default();
    struct stv_kept_tables *kept = stv_kept_tables_new(kept_in);
    struct stv_outlook outlook;
    assert_non_null(kept);
    const struct stv_outlook_request request = {
        .ledger = &ledger,
        .set = &ask->store->set,
        .rules = &rules,
        .options = {.seed = 5,
                    .n_draws = ask->n_draws,
                    .step_d = 5.0,
                    .warming_k_per_y = ask->warming_k_per_y},
        .days_d = &ask->day_d,
        .n_days = 1,
        .kept = kept};
    stv_assert_ok(stv_outlook_run(&request, &outlook));
    stv_kept_tables_free(kept);
    return outlook;
}

/* The shelf answers as no shelf does. */
static void assert_same(const struct ask *ask, struct stv_shelf *shelf)
{
    struct stv_outlook alone = outlook_of(ask, NULL), after = outlook_of(ask, &shelf->store);
    assert_memory_equal(alone.values, after.values,
                        N_CASKS * STV_Q_N * alone.n_draws * sizeof(double));
    assert_memory_equal(&alone.held_frac, &after.held_frac, sizeof(double));
    stv_outlook_free(&alone);
    stv_outlook_free(&after);
}

static void answers_stay_the_same(void **state)
{
    (void)state;
    struct store store;
    struct stv_shelf shelf;
    store_new(&store, 3);
    for (size_t k = 9000; k < 9060; k++) /* a hole, and hours too cold for spirit */
        store.places[0].air_c[k] = k < 9030 ? (double)NAN : -40.0;
    stv_shelf_open(&shelf);
    const struct ask asks[] = {
        {&store, 2, 16, day_of(2002, 5, 1), 0.0},  {&store, 2, 16, day_of(2002, 5, 1), 0.0},
        {&store, 3, 40, day_of(2008, 5, 1), 0.0},  {&store, 3, 40, day_of(2008, 5, 1), 0.0},
        {&store, 2, 8, day_of(2001, 12, 1), 0.0},  {&store, 3, 0, day_of(2009, 5, 1), 0.0},
        {&store, 3, 16, day_of(2010, 5, 1), 0.03}, {&store, 3, 16, day_of(2010, 5, 1), 0.03}};
    /* One table for each tier, once for the draws and once without; rows of warmed years are not
     * kept, and a day in the middle of a step wants rows of days. */
    static const size_t n_found[] = {0, 2, 2, 2, 2, 0, 2, 2}, n_kept[] = {2, 0, 2, 0, 0, 2, 0, 0};
    for (size_t i = 0; i < sizeof asks / sizeof *asks; i++) {
        shelf.n_found = shelf.n_kept = 0;
        assert_same(&asks[i], &shelf);
        assert_int_equal(shelf.n_found, n_found[i]);
        assert_int_equal(shelf.n_kept, n_kept[i]);
    }
    stv_shelf_close(&shelf);
    store_end(&store);
}

/* Two trials ask for two lanes of the sixteen: nobody makes rows for the rest. */
static void few_trials_make_few_rows(void **state)
{
    (void)state;
    struct store store;
    size_t n_bytes[2] = {0, 0};
    store_new(&store, 3);
    for (size_t i = 0; i < 2; i++) {
        struct ask ask = {&store, 2, i ? 16 : 2, day_of(2002, 5, 1), 0.0};
        struct stv_shelf shelf;
        stv_shelf_open(&shelf);
        struct stv_outlook outlook = outlook_of(&ask, &shelf.store);
        for (size_t t = 0; t < shelf.n; t++)
            n_bytes[i] += shelf.things[t].n;
        stv_outlook_free(&outlook);
        stv_shelf_close(&shelf);
    }
    print_message("rows of 2 trials %zu kB, of 16 %zu kB\n", n_bytes[0] / 1000, n_bytes[1] / 1000);
    assert_true(n_bytes[0] > 0 && 5 * n_bytes[0] < n_bytes[1]);
    store_end(&store);
}

/* Other air, other members, another number of the model: never taken for what was kept. */
static void other_places_find_nothing(void **state)
{
    (void)state;
    struct store store;
    struct stv_shelf shelf;
    store_new(&store, 1);
    stv_shelf_open(&shelf);
    struct ask ask = {&store, 2, 16, day_of(2001, 12, 1), 0.0};
    assert_same(&ask, &shelf);
    for (int way = 0; way < 5; way++) {
        if (way == 0)
            store.places[1].radiant_c[7000] += 1e-9;
        else if (way == 1)
            store.places[1].rh_frac[1] += 1e-9;
        else if (way == 2)
            store.places[1].error.liquid_k += 0.01;
        else if (way == 3)
            store.places[1].grid.utc_offset_min += 60;
        else
            store.places[1].grid.t0_s += 3600;
        shelf.n_found = 0;
        assert_same(&ask, &shelf);
        assert_int_equal(shelf.n_found, 1); /* the other tier's */
    }
    stv_shelf_close(&shelf);
    store_end(&store);
}

/* The next of a row of numbers, the same in every run. */
static uint64_t next_of(uint64_t *seed)
{
    *seed = *seed * UINT64_C(6364136223846793005) + 1442695040888963407u;
    return *seed >> 17;
}

/* Spoils a thing; way 0 cuts it, 1 adds a word, 2 flips a bit, 3 swaps two words. */
static void spoil(struct stv_shelf_thing *thing, const unsigned char *bytes, size_t n, int way,
                  uint64_t *seed)
{
    size_t at = (size_t)(next_of(seed) % n), other = (size_t)(next_of(seed) % n) / 8 * 8;
    free(thing->bytes);
    thing->n = way == 0 ? at : way == 1 ? n + 8 : n;
    thing->bytes = calloc(thing->n + 1, 1);
    assert_non_null(thing->bytes);
    memcpy(thing->bytes, bytes, thing->n < n ? thing->n : n);
    if (way == 2)
        thing->bytes[at] ^= (unsigned char)(1u << next_of(seed) % 8);
    if (way == 3) {
        memcpy(thing->bytes + other, bytes + at / 8 * 8, 8);
        memcpy(thing->bytes + at / 8 * 8, bytes + other, 8);
    }
}

static void spoilt_rows_are_made_anew(void **state)
{
    (void)state;
    struct store store;
    struct stv_shelf shelf;
    uint64_t seed = 11;
    store_new(&store, 1);
    stv_shelf_open(&shelf);
    omp_set_num_threads(1); /* how far ahead rows are made is a matter of who asks first */
    const struct ask ask = {&store, 3, 0, day_of(2002, 5, 1), 0.0};
    assert_same(&ask, &shelf);
    size_t n = shelf.things[0].n;
    unsigned char *whole = malloc(n);
    assert_non_null(whole);
    memcpy(whole, shelf.things[0].bytes, n);
    for (int round = 0; round < 40; round++) {
        spoil(&shelf.things[0], whole, n, round % 4, &seed);
        bool is_spoilt = shelf.things[0].n != n || memcmp(shelf.things[0].bytes, whole, n) != 0;
        shelf.n_kept = 0;
        assert_same(&ask, &shelf);
        assert_int_equal(shelf.n_kept, is_spoilt);
        if (is_spoilt)
            assert_memory_equal(shelf.things[0].bytes, whole, n);
    }
    omp_set_num_threads(omp_get_num_procs());
    free(whole);
    stv_shelf_close(&shelf);
    store_end(&store);
}

/* A table made for one lane, to read bytes into without an outlook. */
static struct stv_climate_table *table_of(const struct store *store, struct stv__lane_rows **rows)
{
    struct stv_params lanes[STV__LANES];
    struct stv_cask_numbers numbers = stv_cask_numbers_default();
    struct stv_climate_table *table;
    for (size_t l = 0; l < STV__LANES; l++)
        lanes[l] = stv_params_default();
    stv_assert_ok(stv__lane_rows_new(lanes, &numbers, 1, rows));
    struct stv__table_plan plan = {.position = &store->places[0],
                                   .rows = *rows,
                                   .step_d = 5,
                                   .first_year = 2001,
                                   .last_year = 2001,
                                   .is_central = true,
                                   .convective_frac = 0.4};
    for (size_t l = 0; l < STV__LANES; l++)
        plan.tau_factor_nd[l] = 1.0;
    stv_assert_ok(stv_climate_table_new(&plan, &table));
    return table;
}

/* Counts and indices that lie, under a sum that was made to fit: refused, or harmless. */
static void lying_counts_stay_inside(void **state)
{
    (void)state;
    struct store store;
    struct stv__lane_rows *rows;
    const float *out[STV__TAU_WINDOW];
    size_t n, n_taken = 0;
    unsigned char *bytes;
    struct stv__table_told told;
    uint64_t seed = 3;
    store_new(&store, 1);
    struct stv_climate_table *table = table_of(&store, &rows);
    const struct stv__table_window asked[] = {{1, 10, 0, 2001, 8, SIZE_MAX},
                                              {2, 12, 0, 2001, 9, 2}};
    for (size_t i = 0; i < 2; i++)
        stv_assert_ok(stv__table_rows(table, &asked[i], out));
    stv_assert_ok(stv__table_tell(table, &told));
    bytes = stv_shelf_join(told.runs, told.n_runs, &n);
    stv__table_told_free(&told);
    stv_climate_table_free(table);
    stv__lane_rows_free(rows);
    for (int round = 0; round < 400; round++) {
        size_t n_lie = round % 4 ? n : 8 * (9 + (size_t)(next_of(&seed) % (n / 8 - 9)));
        unsigned char *lie = malloc(n_lie);
        assert_non_null(lie);
        memcpy(lie, bytes, n_lie);
        /* Words of the head and of the first cells' counts are hit most; or the end is missing. */
        size_t most = round % 2 ? n / 8 : 150, at = 2 + (size_t)(next_of(&seed) % (most - 2));
        uint64_t word = round % 3 ? next_of(&seed) % 50 : next_of(&seed) << 40;
        if (round % 4 == 0) {
            at = 2;
            word = n_lie;
        }
        memcpy(lie + 8 * at, &word, 8);
        word = stv__word_sum(&(struct stv_byte_run){lie + 16, n_lie - 16}, 1);
        memcpy(lie + 8, &word, 8);
        table = table_of(&store, &rows);
        bool is_taken = stv__table_take_bytes(table, lie, n_lie);
        n_taken += is_taken;
        if (!is_taken)
            free(lie);
        for (size_t i = 0; i < 2; i++)
            stv_assert_ok(stv__table_rows(table, &asked[i], out));
        stv_climate_table_free(table);
        stv__lane_rows_free(rows);
    }
    assert_in_range(n_taken, 1, 399); /* a float that lies cannot be seen, a count can */
    free(bytes);
    store_end(&store);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(answers_stay_the_same),     cmocka_unit_test(few_trials_make_few_rows),
        cmocka_unit_test(other_places_find_nothing), cmocka_unit_test(spoilt_rows_are_made_anew),
        cmocka_unit_test(lying_counts_stay_inside),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
