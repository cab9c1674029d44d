/* A run that goes on from where an earlier one left its casks gives the bytes of one from their
 * fills, wherever it goes on; and it does not go on where the two differ before that day. */
#include "model/outlook.h"
#include "tests/places.h"

enum { N_CASKS = 3, N_DAYS = 12, N_DRAWS = 20, BLOCK = STV_Q_N * N_DRAWS, N_EVENTS_MOST = 12 };

static const int64_t day0 = 11400; /* 2001-03-19 */
static const int64_t new_year_d = 11688;

/* Two casks that exchange spirit and one alone, told on days of their own. */
struct store {
    struct stv_position place;
    double exposed_frac;
    struct stv_position_set set;
    struct stv_cask casks[N_CASKS];
    struct stv_event events[N_EVENTS_MOST];
    struct stv_ledger ledger;
    struct stv_house_rules rules;
    int64_t days_d[N_DAYS];
    struct stv_outlook_start *slots[N_CASKS];
    size_t slot_of_cask[N_CASKS];
    int64_t leave_day_d[N_CASKS], from_day_d[N_CASKS];
    struct stv_outlook_starts starts;
};

static struct stv_event *add_event(struct store *store, int64_t day_d, enum stv_event_kind kind,
                                   int cask_idx)
{
    struct stv_event *event = &store->events[store->ledger.n_events];
    assert_true(store->ledger.n_events < N_EVENTS_MOST);
    *event = event_new(day_d, kind, cask_idx, store->ledger.n_events++);
    return event;
}

static void store_new(struct store *store)
{
    *store = (struct store){
        .place = place_new(2001, 2 * 8760, 0, &mild_climate),
        .exposed_frac = 1.0,
        .casks = {cask_new("A", 200.0), cask_new("B", 200.0), cask_new("C", 50.0)},
        .rules = stv_house_rules_default(),
        .slot_of_cask = {2, 0, 1},
    };
    store->ledger = (struct stv_ledger){store->casks, N_CASKS, store->events, 0};
    for (size_t c = 0; c < N_CASKS; c++) {
        struct stv_event *fill = add_event(store, day0 + (int64_t)c, STV_EVENT_FILL, (int)c);
        fill->volume20_l = 0.8 * store->casks[c].geometry.capacity_l;
        fill->abv20_frac = 0.61;
    }
    struct stv_event *poured = add_event(store, day0 + 100, STV_EVENT_TRANSFER, 0);
    poured->other_idx = 1;
    poured->volume20_l = 5.0;
    for (size_t d = 0; d < N_DAYS; d++)
        store->days_d[d] = day0 + 2 + (int64_t)(d * d) * 4;
    store->starts = (struct stv_outlook_starts){store->slots, store->slot_of_cask,
                                                store->leave_day_d, store->from_day_d};
    store->set = (struct stv_position_set){&store->place, 1, &store->exposed_frac, 0, 0};
}

static void store_end(struct store *store)
{
    for (size_t c = 0; c < N_CASKS; c++)
        stv_outlook_start_free(store->slots[c]);
    place_end(&store->place);
}

struct taken {
    double values[N_CASKS][N_DAYS * BLOCK];
};

static enum stv_status take(void *context, size_t cask_idx, const double *values)
{
    struct taken *taken = context;
    memcpy(taken->values[cask_idx], values, sizeof taken->values[cask_idx]);
    return STV_OK;
}

/* A run of the store's ledger; leave_day_d INT64_MIN: without starts. */
static struct taken *run(struct store *store, size_t n_draws, int64_t leave_day_d)
{
    const int64_t *days_d[N_CASKS] = {store->days_d, store->days_d, store->days_d};
    const size_t n_days[N_CASKS] = {N_DAYS, N_DAYS, N_DAYS};
    struct taken *taken = calloc(1, sizeof *taken);
    assert_non_null(taken);
    const struct stv_outlook_rows rows = {days_d, n_days, take, taken};
    const struct stv_outlook_request request = {
        .ledger = &store->ledger,
        .set = &store->set,
        .rules = &store->rules,
        .options = {.seed = 5, .n_draws = n_draws, .step_d = 5.0},
        .keeps_ranges_only = 1,
        .rows = &rows,
        .starts = leave_day_d == INT64_MIN ? NULL : &store->starts,
    };
    struct stv_outlook outlook;
    for (size_t c = 0; c < N_CASKS; c++)
        store->leave_day_d[c] = leave_day_d;
    stv_assert_ok(stv_ledger_sort(&store->ledger));
    stv_assert_ok(stv_outlook_run(&request, &outlook));
    stv_outlook_free(&outlook);
    return taken;
}

/* What was done more from a day on. */
static void do_more(struct store *store, int64_t day_d)
{
    add_event(store, day_d, STV_EVENT_ADD_WATER, 2)->water_kg = 2.0;
    add_event(store, day_d + 3, STV_EVENT_SAMPLE, 1)->volume20_l = 1.0;
    add_event(store, day_d + 9, STV_EVENT_ADD_WATER, 0)->water_kg = 3.0;
}

/* Days that the later run tells are as from the fills, the others as the earlier one told them. */
static size_t count_gone_on(const struct store *store, const struct taken *fresh,
                            const struct taken *before, const struct taken *after)
{
    size_t n = 0;
    for (size_t c = 0; c < N_CASKS; c++) {
        n += store->from_day_d[c] != INT64_MIN;
        for (size_t d = 0; d < N_DAYS; d++) {
            const struct taken *told = store->days_d[d] > store->from_day_d[c] ? after : before;
            assert_memory_equal(told->values[c] + d * BLOCK, fresh->values[c] + d * BLOCK,
                                BLOCK * sizeof(double));
        }
    }
    return n;
}

static void going_on_changes_no_byte(void **state)
{
    (void)state;
    static const int64_t leave_d[] = {day0 + 1,   day0 + 12,      day0 + 31,      day0 + 98,
                                      day0 + 103, new_year_d - 2, new_year_d,     new_year_d + 1,
                                      day0 + 300, new_year_d + 5, new_year_d + 6, day0 + 420};
    size_t n = 0;
    for (size_t i = 0; i < sizeof leave_d / sizeof *leave_d; i++) {
        struct store store;
        store_new(&store);
        struct taken *before = run(&store, N_DRAWS, leave_d[i]);
        do_more(&store, leave_d[i]);
        struct taken *fresh = run(&store, N_DRAWS, INT64_MIN);
        struct taken *after = run(&store, N_DRAWS, leave_d[i] + 20);
        size_t n_on = count_gone_on(&store, fresh, before, after);
        for (size_t c = 0; c < N_CASKS && n_on == N_CASKS; c++)
            assert_true(store.from_day_d[c] < leave_d[i] && store.from_day_d[c] >= leave_d[i] - 7);
        n += n_on;
        memcpy(before, after, sizeof *before); /* and on again from what that one left */
        for (size_t c = 0; c < N_CASKS; c++)
            for (size_t d = 0; d < N_DAYS; d++)
                if (store.days_d[d] <= store.from_day_d[c])
                    memcpy(before->values[c] + d * BLOCK, fresh->values[c] + d * BLOCK,
                           BLOCK * sizeof(double));
        add_event(&store, leave_d[i] + 20, STV_EVENT_ADD_WATER, 1)->water_kg = 4.0;
        free(fresh);
        free(after);
        fresh = run(&store, N_DRAWS, INT64_MIN);
        after = run(&store, N_DRAWS, INT64_MAX);
        n += count_gone_on(&store, fresh, before, after);
        free(before);
        free(fresh);
        free(after);
        store_end(&store);
    }
    assert_true(n > 60);
}

/* Something done, or told, before the day on which the casks were left: they start from their
 * fills. */
static void what_was_before_must_be_the_same(void **state)
{
    (void)state;
    for (size_t what = 0; what < 4; what++) {
        struct store store;
        store_new(&store);
        size_t n_draws = what == 2 ? 40 : N_DRAWS;
        free(run(&store, n_draws, day0 + 300));
        if (what == 0)
            for (int c = 1; c < N_CASKS; c++)
                add_event(&store, day0 + 60, STV_EVENT_SAMPLE, c)->volume20_l = 0.5;
        if (what == 1)
            store.days_d[3]++;
        if (what == 3)
            for (size_t c = 0; c < N_CASKS; c++)
                store.casks[c].id[0] = (char)('K' + (int)c);
        struct taken *fresh = run(&store, N_DRAWS, INT64_MIN);
        struct taken *after = run(&store, N_DRAWS, INT64_MAX);
        assert_int_equal(count_gone_on(&store, fresh, fresh, after), 0);
        free(fresh);
        free(after);
        store_end(&store);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(going_on_changes_no_byte),
        cmocka_unit_test(what_was_before_must_be_the_same),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
