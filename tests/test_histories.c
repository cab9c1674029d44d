/* Laws over thousands of random histories, and the same bytes whatever the order and the threads.
 */
#include "model/draws.h"
#include "tests/two_tiers.h"

#include <gsl/gsl_errno.h>
#include <omp.h>

#define N_GROUPS 120  /* of a house: small ledgers, none of which knows of another */
#define N_HOUSES 12   /* without draws */
#define GROUP 4       /* casks of a group, 1 to 4 of which are in use */
#define EVENTS_MAX 60 /* of a group */
#define N_BYTES 17    /* draws: more than there are climate members */

/* Random histories that can be true.  What a group did is a function of its number alone. */
struct dice {
    uint64_t group, throw;
};

static double throw_nd(struct dice *dice)
{
    return stv_draw_uniform_nd(4711, stv_key_of("history"), dice->group, dice->throw ++);
}

static int throw_of(struct dice *dice, int n)
{
    return (int)(throw_nd(dice) * n);
}

static const double sizes_l[GROUP] = {200.0, 50.0, 225.0, 110.0};

/* One event for a group whose casks hold about litres[]; 0 when the throw gave nothing. */
static int throw_event(struct dice *dice, int first_cask, double litres[GROUP],
                       struct stv_event *event)
{
    int n = 1 + (int)(dice->group % GROUP), a = throw_of(dice, n);
    int b = (a + 1 + throw_of(dice, n > 1 ? n - 1 : 1)) % n;
    double share = 0.05 + 0.9 * throw_nd(dice);
    event->cask_idx = first_cask + a;
    event->place = (struct stv_place){0, throw_of(dice, 2), -1, -1};
    event->is_soaked = throw_of(dice, 2);
    if (litres[a] == 0.0 && throw_of(dice, 4) == 0) {
        event->kind = STV_EVENT_REJUVENATE;
        return 1;
    }
    if (litres[a] == 0.0) {
        event->kind = STV_EVENT_FILL;
        event->volume20_l = litres[a] = (0.3 + 0.68 * share) * sizes_l[a];
        event->abv20_frac = 0.45 + 0.25 * throw_nd(dice);
        return 1;
    }
    static const enum stv_event_kind kinds[] = {
        STV_EVENT_MOVE,   STV_EVENT_TRANSFER, STV_EVENT_TRANSFER,     STV_EVENT_ADD_WATER,
        STV_EVENT_TOP_UP, STV_EVENT_SAMPLE,   STV_EVENT_LEAK_STOPPED, STV_EVENT_EMPTY};
    event->kind = kinds[throw_of(dice, (int)(sizeof kinds / sizeof *kinds))];
    double room_l = sizes_l[a] - litres[a];
    switch (event->kind) {
    case STV_EVENT_TRANSFER:
        if (b == a)
            return 0;
        event->other_idx = first_cask + b;
        if (litres[b] == 0.0 && litres[a] <= sizes_l[b] && share < 0.5) {
            litres[b] = litres[a]; /* all of it */
            litres[a] = 0.0;
            return 1;
        }
        event->volume20_l = fmin(0.6 * share * litres[a], 0.9 * (sizes_l[b] - litres[b]));
        litres[a] -= event->volume20_l;
        litres[b] += event->volume20_l;
        return event->volume20_l > 0.1;
    case STV_EVENT_ADD_WATER:
        event->water_kg = 0.2 * share * room_l;
        litres[a] += event->water_kg;
        return 1;
    case STV_EVENT_TOP_UP:
        event->volume20_l = 0.8 * share * room_l;
        event->abv20_frac = 0.55 + 0.1 * share;
        litres[a] += event->volume20_l;
        return event->volume20_l > 0.1;
    case STV_EVENT_SAMPLE:
        event->volume20_l = 0.5 * share;
        litres[a] -= event->volume20_l;
        return litres[a] > 20.0;
    case STV_EVENT_EMPTY:
        litres[a] = 0.0;
        return dice->group % 2 == 1; /* even groups keep every drop */
    default:
        return 1;
    }
}

/* Histories of a group over about four years, written from event *row on. */
static void throw_group(uint64_t group, int first_cask, struct stv_event *events, size_t *row)
{
    struct dice dice = {group, 0};
    double litres[GROUP] = {0.0};
    int64_t day_d = day_of(2001, 2, 1) + throw_of(&dice, 60);
    for (int i = 0; i < EVENTS_MAX && day_d < day_of(2005, 1, 1); i++) {
        double before[GROUP];
        memcpy(before, litres, sizeof before);
        struct stv_event event = event_new(day_d, STV_EVENT_N, -1, *row);
        if (throw_event(&dice, first_cask, litres, &event))
            events[(*row)++] = event;
        else
            memcpy(litres, before, sizeof litres);
        day_d += throw_of(&dice, 60);
    }
}

/* Groups in the book's order or backwards. */
static struct stv_ledger house_new(int first_group, int is_backwards)
{
    size_t n_casks = N_GROUPS * GROUP, row = 0;
    struct stv_cask *casks = calloc(n_casks, sizeof *casks);
    struct stv_event *events = calloc(N_GROUPS * EVENTS_MAX, sizeof *events);
    assert_true(casks && events);
    for (int i = 0; i < N_GROUPS; i++) {
        int group = first_group + (is_backwards ? N_GROUPS - 1 - i : i);
        for (int c = 0; c < GROUP; c++) {
            char id[16];
            snprintf(id, sizeof id, "%d/%d", group, c);
            casks[i * GROUP + c] = cask_new(id, sizes_l[c]);
            casks[i * GROUP + c].history = (enum stv_wood_history)((group + c) % 3);
        }
        throw_group((uint64_t)group, i * GROUP, events, &row);
    }
    struct stv_ledger house = {casks, n_casks, events, row};
    stv_assert_ok(stv_ledger_sort(&house));
    struct stv_ledger_fault fault;
    size_t n_faults;
    stv_assert_ok(stv_ledger_check(&house, &fault, 1, &n_faults));
    return house;
}

/* What was ever put into a group, litres of pure alcohol. */
static double lpa_put_in(const struct stv_ledger *house, int group)
{
    double lpa_l = 0.0;
    for (size_t e = 0; e < house->n_events; e++) {
        const struct stv_event *event = &house->events[e];
        if (event->cask_idx / GROUP == group &&
            (event->kind == STV_EVENT_FILL || event->kind == STV_EVENT_TOP_UP))
            lpa_l += event->volume20_l * event->abv20_frac;
    }
    return lpa_l;
}

/* What is left of it and where the rest went, in one draw. */
static double lpa_accounted(const struct stv_outlook *outlook, int group, size_t day_idx,
                            size_t draw)
{
    static const enum stv_quantity parts[] = {STV_Q_LPA_L,        STV_Q_AIR_LPA_L,
                                              STV_Q_JOINT_LPA_L,  STV_Q_INDRINK_LPA_L,
                                              STV_Q_SAMPLE_LPA_L, STV_Q_LEAK_LPA_L};
    double lpa_l = 0.0;
    for (int c = 0; c < GROUP; c++)
        for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
            double part_l =
                stv_outlook_draws(outlook, (size_t)(group * GROUP + c), day_idx, parts[i])[draw];
            lpa_l += isnan(part_l) ? 0.0 : part_l;
        }
    return lpa_l;
}

/* A cask, a day, a draw: full and everything known and nothing negative, or empty and nothing
 * known.  A leaking cask can be drained by litres that the book thought were only a part. */
static void judge_cask(const struct stv_outlook *outlook, int is_full, const size_t at[3],
                       size_t *n_full, size_t *n_drained)
{
    int n_known = 0;
    for (int q = 0; q < STV_Q_N; q++) {
        double value = stv_outlook_draws(outlook, at[0], at[1], (enum stv_quantity)q)[at[2]];
        n_known += isfinite(value) != 0;
        assert_true(!(value < 0.0) || q == STV_Q_WATER_LOST_KG); /* humid air gives water */
        if (q == STV_Q_STILL_FRUIT_ND || q == STV_Q_ABV20_FRAC)
            assert_true(!(value > 1.0));
    }
    assert_true(n_known == 0 || (is_full && n_known == STV_Q_N));
    *n_full += n_known > 0;
    *n_drained += is_full && n_known == 0;
}

/* Even groups never poured anything away: every drop is in a cask, the air, the joints, the wood or
 * a sample glass, however it was shared out on the way. */
static void no_drop_is_missing(const struct stv_ledger *house, const struct stv_outlook *outlook)
{
    for (int group = 0; group < N_GROUPS; group += 2)
        for (size_t draw = 0; draw < outlook->n_draws; draw++)
            stv_assert_close(lpa_accounted(outlook, group, outlook->n_days - 1, draw),
                             lpa_put_in(house, group), 1e-9, 1e-12);
}

static void obey_the_laws(const struct stv_ledger *house, const struct store *store, size_t n_draws)
{
    const int64_t days_d[] = {day_of(2002, 2, 28), day_of(2003, 7, 1), day_of(2004, 12, 31),
                              day_of(2006, 3, 1)};
    size_t n_full = 0, n_drained = 0, n_casks = house->n_casks;
    omp_set_num_threads(1);
    struct stv_outlook one = run(house, store, n_draws, days_d, 4);
    omp_set_num_threads(2);
    struct stv_outlook two = run(house, store, n_draws, days_d, 4);
    assert_true(one.balance_residual_frac < 1e-9);
    assert_true(one.balance_residual_frac > 0.0);
    assert_true(one.balance_residual_frac == two.balance_residual_frac);
    assert_memory_equal(one.values, two.values,
                        n_casks * 4 * STV_Q_N * one.n_draws * sizeof(double));
    for (size_t c = 0; c < n_casks; c++)
        for (size_t d = 0; d < 4; d++)
            for (size_t draw = 0; draw < one.n_draws; draw++)
                judge_cask(&one, stv_ledger_is_full(house, (int)c, days_d[d]),
                           (size_t[]){c, d, draw}, &n_full, &n_drained);
    assert_true(n_full > n_casks * one.n_draws); /* the dice gave something to test */
    assert_true(n_drained < n_full / 50);
    no_drop_is_missing(house, &one);
    stv_outlook_free(&one);
    stv_outlook_free(&two);
}

static void random_histories_obey_the_laws(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, 1);
    for (int i = 0; i <= N_HOUSES; i++) {
        struct stv_ledger house = house_new(i * N_GROUPS, 0);
        obey_the_laws(&house, &store, i < N_HOUSES ? 0 : 3);
        stv_ledger_free(&house);
    }
    store_end(&store);
}

static void the_same_bytes(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, 2);
    struct stv_ledger house = house_new(0, 0), turned = house_new(0, 1);
    const int64_t days_d[] = {day_of(2001, 5, 31), day_of(2002, 1, 1), day_of(2002, 8, 9)};
    omp_set_num_threads(1);
    struct stv_outlook one = run(&house, &store, N_BYTES, days_d, 3);
    omp_set_num_threads(2);
    struct stv_outlook two = run(&house, &store, N_BYTES, days_d, 3);
    struct stv_outlook backwards = run(&turned, &store, N_BYTES, days_d, 3);
    size_t per_cask = 3 * STV_Q_N * N_BYTES;
    assert_memory_equal(one.values, two.values, house.n_casks * per_cask * sizeof(double));
    assert_true(one.balance_residual_frac == two.balance_residual_frac);
    for (int i = 0; i < N_GROUPS * GROUP; i++) {
        int there = (N_GROUPS - 1 - i / GROUP) * GROUP + i % GROUP;
        assert_string_equal(house.casks[i].id, turned.casks[there].id);
        assert_memory_equal(one.values + (size_t)i * per_cask,
                            backwards.values + (size_t)there * per_cask, per_cask * sizeof(double));
    }
    /* Another seed is another house. */
    struct stv_outlook other;
    stv_assert_ok(try_run(&house, &store,
                          (struct stv_run_options){.seed = 78, .n_draws = N_BYTES, .step_d = 5.0},
                          days_d, 3, &other));
    assert_memory_not_equal(one.values, other.values, house.n_casks * per_cask * sizeof(double));
    stv_outlook_free(&one);
    stv_outlook_free(&two);
    stv_outlook_free(&backwards);
    stv_outlook_free(&other);
    stv_ledger_free(&house);
    stv_ledger_free(&turned);
    store_end(&store);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_histories_obey_the_laws),
        cmocka_unit_test(the_same_bytes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
