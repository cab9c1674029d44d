/* Sums of a house: the balance, spans about pourings, and losses that compound. */
#include "model/stock.h"

#include "tests/two_tiers.h"

#define N_CASKS 4
#define N_DRAWS 24
#define N_DAYS 4

struct scene {
    struct store store;
    struct stv_cask casks[N_CASKS];
    struct stv_event events[12];
    struct stv_ledger ledger;
    struct stv_house_rules rules;
    struct stv_outlook_request house;
    int64_t days_d[N_DAYS];
    size_t labels[N_CASKS];
    struct stv_stock_request request;
};

/* Casks of two labels, one on each tier; filled in 2001, told yearly from 2002. */
static void scene_new(struct scene *scene)
{
    *scene = (struct scene){.rules = stv_house_rules_default(), .labels = {0, 0, 1, 1}};
    store_new(&scene->store, 1);
    for (int c = 0; c < N_CASKS; c++) {
        char id[2] = {(char)('a' + c), 0};
        scene->casks[c] = cask_new(id, 200.0);
        if (c < 3)
            scene->events[c] = fill_new(day_of(2001, 4, 1), c, 190.0, 0.60, (size_t)c);
        scene->events[c].place = (struct stv_place){0, c / 2, c, 0};
    }
    scene->ledger = (struct stv_ledger){scene->casks, N_CASKS, scene->events, 3};
    for (int d = 0; d < N_DAYS; d++)
        scene->days_d[d] = day_of(2002 + d, 4, 1);
    scene->house = (struct stv_outlook_request){.ledger = &scene->ledger,
                                                .set = &scene->store.set,
                                                .rules = &scene->rules,
                                                .options = {3, N_DRAWS, 5.0, 0.0}};
    scene->request = (struct stv_stock_request){
        &scene->house, scene->days_d, N_DAYS, scene->labels, NULL, 2, NULL};
}

static void add_event(struct scene *scene, struct stv_event event)
{
    event.row = scene->ledger.n_events;
    scene->events[scene->ledger.n_events++] = event;
    stv_assert_ok(stv_ledger_sort(&scene->ledger));
}

static double figure(const struct stv_stock *stock, size_t label, size_t day,
                     enum stv_stock_figure figure, size_t draw)
{
    return stv_stock_draws_nd(stock, label, day, figure)[draw];
}

/* What was held, came and went makes what is held, in every trial. */
static void check_balance(const struct stv_stock *stock, size_t label, double within_l)
{
    for (size_t d = 1; d < stock->n_days; d++)
        for (size_t k = 0; k < stock->n_draws; k++) {
            double is_l = figure(stock, label, d, STV_STOCK_LPA_L, k);
            double should_l = figure(stock, label, d - 1, STV_STOCK_LPA_L, k) +
                              figure(stock, label, d, STV_STOCK_FILLED_LPA_L, k) +
                              figure(stock, label, d, STV_STOCK_MOVED_LPA_L, k) -
                              figure(stock, label, d, STV_STOCK_TAKEN_LPA_L, k) -
                              figure(stock, label, d, STV_STOCK_LOST_LPA_L, k);
            stv_assert_close(is_l, should_l, 0.0, within_l);
        }
}

static void what_is_held_is_what_came_less_what_went(void **state)
{
    (void)state;
    struct scene scene;
    struct stv_stock stock;
    scene_new(&scene);
    struct stv_event sample = event_new(day_of(2002, 9, 1), STV_EVENT_SAMPLE, 0, 0);
    sample.volume20_l = 0.5;
    struct stv_event top_up = event_new(day_of(2003, 9, 1), STV_EVENT_TOP_UP, 1, 0);
    top_up.volume20_l = 4.0;
    top_up.abv20_frac = 0.63;
    struct stv_event water = event_new(day_of(2003, 10, 1), STV_EVENT_ADD_WATER, 1, 0);
    water.water_kg = 5.0;
    add_event(&scene, sample);
    add_event(&scene, top_up);
    add_event(&scene, water);
    add_event(&scene, event_new(day_of(2003, 6, 1), STV_EVENT_EMPTY, 0, 0));
    add_event(&scene, fill_new(day_of(2003, 11, 1), 3, 180.0, 0.63, 0));
    stv_assert_ok(stv_stock_sum(&scene.request, &stock));
    for (size_t label = 0; label <= 2; label++)
        check_balance(&stock, label, 1e-3);
    for (size_t k = 0; k < N_DRAWS; k++) {
        for (int f = 0; f < STV_STOCK_N; f++)
            for (size_t d = 0; d < N_DAYS; d++)
                stv_assert_close(figure(&stock, 2, d, (enum stv_stock_figure)f, k),
                                 figure(&stock, 0, d, (enum stv_stock_figure)f, k) +
                                     figure(&stock, 1, d, (enum stv_stock_figure)f, k),
                                 0.0, 1e-8);
        assert_true(figure(&stock, 0, 1, STV_STOCK_SAMPLES_LPA_L, k) > 0.25);
        assert_true(figure(&stock, 0, 2, STV_STOCK_TAKEN_LPA_L, k) > 90.0);
        stv_assert_close(figure(&stock, 1, 2, STV_STOCK_FILLED_LPA_L, k), 180.0 * 0.63, 0.0, 1e-6);
        stv_assert_close(figure(&stock, 0, 2, STV_STOCK_FILLED_LPA_L, k), 4.0 * 0.63, 0.0, 1e-6);
        stv_assert_close(figure(&stock, 2, 1, STV_STOCK_LOST_LPA_L, k),
                         figure(&stock, 2, 1, STV_STOCK_ANGELS_LPA_L, k) +
                             figure(&stock, 2, 1, STV_STOCK_INDRINK_LPA_L, k) +
                             figure(&stock, 2, 1, STV_STOCK_SAMPLES_LPA_L, k) +
                             figure(&stock, 2, 1, STV_STOCK_LEAK_LPA_L, k),
                         0.0, 1e-8);
    }
    assert_int_equal(stock.n_full[2 * N_DAYS + 1], 3);
    assert_int_equal(stock.n_full[0 * N_DAYS + 2], 1);
    assert_int_equal(stock.n_full[1 * N_DAYS + 2], 2);
    stv_stock_free(&stock);
    store_end(&scene.store);
}

/* A sample of more than is left takes all there is, in the trials in which it drains the cask: the
 * balance holds in each of them, and casks are counted as their states are. */
static void a_draining_sample_takes_what_there_was(void **state)
{
    (void)state;
    struct scene scene;
    struct stv_stock stock;
    for (int i = 0; i < 2; i++) {
        scene_new(&scene);
        struct stv_event sample = event_new(day_of(2003, 9, 1), STV_EVENT_SAMPLE, 0, 0);
        sample.volume20_l = i ? 500.0 : 168.0; /* all trials, some */
        add_event(&scene, sample);
        stv_assert_ok(stv_stock_sum(&scene.request, &stock));
        for (size_t label = 0; label <= 2; label++)
            check_balance(&stock, label, 1e-3);
        size_t n_drained = 0;
        for (size_t k = 0; k < N_DRAWS; k++) {
            double states = 0.0;
            for (int f = STV_STOCK_YOUNG_CASKS_ND; f <= STV_STOCK_OVER_CASKS_ND; f++)
                states += figure(&stock, 0, 2, (enum stv_stock_figure)f, k);
            n_drained += states < 1.5;
            assert_true(figure(&stock, 0, 2, STV_STOCK_SAMPLES_LPA_L, k) > 90.0);
        }
        assert_true(i ? n_drained == N_DRAWS : n_drained > 0 && n_drained < N_DRAWS);
        assert_int_equal(stock.n_full[2], 2 * n_drained > N_DRAWS ? 1 : 2);
        stv_stock_free(&stock);
        store_end(&scene.store);
    }
}

/* What is poured over stays in the house, but for the day's air. */
static void pouring_over_leaves_the_house_as_it_was(void **state)
{
    (void)state;
    struct scene scene;
    struct stv_stock stock;
    scene_new(&scene);
    struct stv_event over = event_new(day_of(2002, 10, 1), STV_EVENT_TRANSFER, 0, 0);
    over.other_idx = 3;
    add_event(&scene, over);
    stv_assert_ok(stv_stock_sum(&scene.request, &stock));
    for (size_t label = 0; label <= 2; label++)
        check_balance(&stock, label, 1e-3);
    for (size_t k = 0; k < N_DRAWS; k++) {
        double out_l = figure(&stock, 0, 1, STV_STOCK_MOVED_LPA_L, k);
        double in_l = figure(&stock, 1, 1, STV_STOCK_MOVED_LPA_L, k);
        assert_true(out_l < -90.0 && in_l > 90.0);
        assert_true(fabs(out_l + in_l) < 0.1);
        assert_true(figure(&stock, 2, 1, STV_STOCK_TAKEN_LPA_L, k) == 0.0);
    }
    /* The spirit's losses in its first cask are no losses of the second. */
    double before_l = stv_stock_range(&stock, 0, 1, STV_STOCK_LOST_LPA_L).p50;
    assert_true(stv_stock_range(&stock, 1, 1, STV_STOCK_LOST_LPA_L).p50 < 2.0 * before_l);
    stv_stock_free(&stock);
    store_end(&scene.store);
}

/* The range of a sum is not the sum of ranges: casks of a house do not go wrong together in full.
 */
static void sums_are_made_trial_by_trial(void **state)
{
    (void)state;
    struct scene scene;
    struct stv_stock stock;
    struct stv_outlook outlook;
    scene_new(&scene);
    stv_assert_ok(stv_stock_sum(&scene.request, &stock));
    outlook = run(&scene.ledger, &scene.store, N_DRAWS, scene.days_d, N_DAYS);
    stv_outlook_free(&outlook);
    scene.house.days_d = scene.days_d;
    scene.house.n_days = N_DAYS;
    stv_assert_ok(stv_outlook_run(&scene.house, &outlook));
    double narrow = 0.0, wide = 0.0;
    struct stv_range range = stv_stock_range(&stock, 2, 3, STV_STOCK_LPA_L);
    narrow = range.p95 - range.p05;
    for (size_t c = 0; c < 3; c++) {
        struct stv_range one = stv_outlook_range(&outlook, c, 3, STV_Q_LPA_L);
        wide += one.p95 - one.p05;
    }
    for (size_t k = 0; k < N_DRAWS; k++) {
        double sum_l = 0.0;
        for (size_t c = 0; c < 3; c++)
            sum_l += stv_outlook_draws(&outlook, c, 3, STV_Q_LPA_L)[k];
        stv_assert_close(figure(&stock, 2, 3, STV_STOCK_LPA_L, k), sum_l, 0.0, 1e-6);
    }
    assert_true(narrow < wide);
    stv_outlook_free(&outlook);
    stv_stock_free(&stock);
    store_end(&scene.store);
}

/* The yearly losses of a house compound to what it holds in the end. */
static void losses_compound(void **state)
{
    (void)state;
    stv_assert_close(stv_left_frac(0.10, 5.0), 0.59049, 1e-12, 0.0);
    stv_assert_close(stv_left_frac(0.0, 7.0), 1.0, 0.0, 0.0);
    assert_true(isnan(stv_left_frac(1.1, 1.0)) && isnan(stv_left_frac(0.1, -1.0)));
    struct scene scene;
    struct stv_stock stock;
    scene_new(&scene);
    scene.house.options.n_draws = 0;
    stv_assert_ok(stv_stock_sum(&scene.request, &stock));
    double left = 1.0;
    for (size_t d = 1; d < N_DAYS; d++)
        left *= 1.0 - stv_stock_lost_frac(&stock, 2, d).p50;
    stv_assert_close(figure(&stock, 2, N_DAYS - 1, STV_STOCK_LPA_L, 0) /
                         figure(&stock, 2, 0, STV_STOCK_LPA_L, 0),
                     left, 1e-6, 0.0);
    assert_true(isnan(stv_stock_lost_frac(&stock, 2, 0).p50));
    stv_stock_free(&stock);
    store_end(&scene.store);
}

static void what_cannot_be_summed_is_refused(void **state)
{
    (void)state;
    struct scene scene;
    struct stv_stock stock;
    scene_new(&scene);
    scene.labels[2] = 2;
    assert_int_equal(stv_stock_sum(&scene.request, &stock), STV_E_ARG);
    scene.labels[2] = 1;
    scene.days_d[1] = scene.days_d[0];
    assert_int_equal(stv_stock_sum(&scene.request, &stock), STV_E_ARG);
    scene.request.n_days = 0;
    assert_int_equal(stv_stock_sum(&scene.request, &stock), STV_E_ARG);
    assert_null(stock.values);
    store_end(&scene.store);
}

/* Every full cask is one of four things in every trial; a second label sums as a first one does. */
static void casks_are_ready_or_not(void **state)
{
    (void)state;
    static struct scene scene;
    struct stv_stock stock, strict;
    size_t kinds[N_CASKS] = {2, 3, 2, 3};
    scene_new(&scene);
    scene.request.kind_of_cask = kinds;
    scene.request.n_labels = 4;
    scene.rules.least_age_y = 2.0;
    stv_assert_ok(stv_stock_sum(&scene.request, &stock));
    for (size_t l = 0; l <= 4; l++)
        for (size_t d = 0; d < N_DAYS; d++)
            for (size_t k = 0; k < stock.n_draws; k++) {
                double casks = 0.0, lpa_l = 0.0;
                for (int s = 0; s < 4; s++) {
                    casks += figure(&stock, l, d,
                                    (enum stv_stock_figure)(STV_STOCK_YOUNG_CASKS_ND + s), k);
                    lpa_l +=
                        figure(&stock, l, d, (enum stv_stock_figure)(STV_STOCK_YOUNG_LPA_L + s), k);
                }
                stv_assert_close(casks, (double)stock.n_full[l * N_DAYS + d], 0.0, 0.0);
                stv_assert_close(lpa_l, figure(&stock, l, d, STV_STOCK_LPA_L, k), 0.0, 1e-8);
            }
    assert_int_equal(stock.n_full[2 * N_DAYS], 2);
    assert_int_equal(stock.n_full[3 * N_DAYS], 1);
    for (size_t k = 0; k < stock.n_draws; k++) /* filled in April 2001: two years old in 2003 */
        assert_true(figure(&stock, 4, 0, STV_STOCK_READY_CASKS_ND, k) <= 0.0);
    scene.rules.wood_most_nd = scene.rules.wood_least_nd = 0.01;
    stv_assert_ok(stv_stock_sum(&scene.request, &strict));
    for (size_t k = 0; k < strict.n_draws; k++)
        stv_assert_close(figure(&strict, 4, 0, STV_STOCK_OVER_CASKS_ND, k), 3.0, 0.0, 0.0);
    stv_stock_free(&strict);
    kinds[0] = 4;
    stv_assert_status(stv_stock_sum(&scene.request, &strict), STV_E_ARG);
    stv_stock_free(&stock);
    store_end(&scene.store);
}

/* One cask that stands for three counts three times, in its label and in the house. */
static void a_cask_counts_for_those_alike(void **state)
{
    (void)state;
    struct scene scene;
    struct stv_stock once, thrice;
    const size_t n_alike[N_CASKS] = {3, 1, 1, 1};
    scene_new(&scene);
    scene.labels[1] = 1;
    stv_assert_ok(stv_stock_sum(&scene.request, &once));
    scene.request.n_alike = n_alike;
    stv_assert_ok(stv_stock_sum(&scene.request, &thrice));
    for (size_t d = 0; d < N_DAYS; d++)
        for (size_t f = 0; f < STV_STOCK_N; f++)
            for (size_t k = 0; k < once.n_draws; k++) {
                double first = figure(&once, 0, d, (enum stv_stock_figure)f, k);
                double rest = figure(&once, 1, d, (enum stv_stock_figure)f, k);
                stv_assert_close(figure(&thrice, 0, d, (enum stv_stock_figure)f, k), 3.0 * first,
                                 1e-12, 1e-8);
                stv_assert_close(figure(&thrice, 2, d, (enum stv_stock_figure)f, k),
                                 3.0 * first + rest, 1e-12, 1e-8);
            }
    assert_int_equal(thrice.n_full[0], 3);
    assert_int_equal(thrice.n_full[2 * N_DAYS], 5);
    stv_stock_free(&once);
    stv_stock_free(&thrice);
    store_end(&scene.store);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_held_is_what_came_less_what_went),
        cmocka_unit_test(a_draining_sample_takes_what_there_was),
        cmocka_unit_test(pouring_over_leaves_the_house_as_it_was),
        cmocka_unit_test(sums_are_made_trial_by_trial),
        cmocka_unit_test(losses_compound),
        cmocka_unit_test(what_cannot_be_summed_is_refused),
        cmocka_unit_test(casks_are_ready_or_not),
        cmocka_unit_test(a_cask_counts_for_those_alike),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
