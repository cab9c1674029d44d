/* The same cask in two places through the years: more loss and more wood where it is hot, never
 * less with age, and the numbers of an outlook of the same cask. */
#include "model/placement_paths.h"
#include "tests/two_tiers.h"

static const double ages_y[] = {1.0, 2.0, 3.0, 5.0};
enum { AGES = 4, PLACES = 2 };

static const struct stv_place places[PLACES] = {{0, 0, -1, -1}, {0, 1, -1, -1}};

/* A new cask, a house of two places, and what is asked of them. */
struct asked {
    struct store store;
    struct stv_cask cask;
    struct stv_house_rules rules;
    struct stv_outlook_request house;
    struct stv_path_wish wish;
};

static void ask(struct asked *asked)
{
    store_new(&asked->store, 2);
    asked->cask = cask_new("new cask", 200.0);
    asked->rules = stv_house_rules_default();
    asked->house =
        (struct stv_outlook_request){.set = &asked->store.set,
                                     .rules = &asked->rules,
                                     .options = {.seed = 77, .n_draws = 24, .step_d = 5.0}};
    asked->wish = (struct stv_path_wish){.cask = &asked->cask,
                                         .volume20_l = 195.0,
                                         .abv20_frac = 0.60,
                                         .from_day_d = day_of(2003, 5, 2),
                                         .places = places,
                                         .n_places = PLACES,
                                         .ages_y = ages_y,
                                         .n_ages = AGES};
}

static void hot_places_give_and_take_more(void **state)
{
    (void)state;
    struct asked asked;
    struct stv_path_age out[PLACES * AGES];
    ask(&asked);
    stv_assert_ok(stv_placement_paths(&asked.house, &asked.wish, out));
    for (int a = 0; a < AGES; a++) {
        assert_true(out[AGES + a].lost_frac.p50 > out[a].lost_frac.p50);
        assert_true(out[AGES + a].wood_nd.p50 > out[a].wood_nd.p50);
        assert_true(out[a].lost_frac.p05 < out[a].lost_frac.p50 &&
                    out[a].lost_frac.p50 < out[a].lost_frac.p95);
        if (a > 0)
            assert_true(out[a].lost_frac.p50 > out[a - 1].lost_frac.p50 &&
                        out[a].wood_nd.p50 > out[a - 1].wood_nd.p50);
    }
    assert_true(out[0].lost_frac.p50 > 0.0 && out[AGES - 1].lost_frac.p50 < 0.5);
    store_end(&asked.store);
}

/* The second place alone, as a ledger of its own. */
static void numbers_are_those_of_an_outlook(void **state)
{
    (void)state;
    struct asked asked;
    struct stv_path_age out[PLACES * AGES];
    ask(&asked);
    stv_assert_ok(stv_placement_paths(&asked.house, &asked.wish, out));
    struct stv_event fill = fill_new(asked.wish.from_day_d, 0, 195.0, 0.60, 0);
    fill.place = places[1];
    struct stv_ledger ledger = {&asked.cask, 1, &fill, 1};
    int64_t day_d = asked.wish.from_day_d + 1096; /* three years of 365.25 days */
    struct stv_outlook outlook = run(&ledger, &asked.store, 24, &day_d, 1);
    struct stv_range lpa_l = stv_outlook_range(&outlook, 0, 0, STV_Q_LPA_L);
    struct stv_range wood = stv_outlook_range(&outlook, 0, 0, STV_Q_WOOD_INDEX_ND);
    stv_assert_close(out[AGES + 2].lost_frac.p95, 1.0 - lpa_l.p05 / 117.0, 2e-4, 0.0);
    stv_assert_close(out[AGES + 2].wood_nd.p50, wood.p50, 2e-4, 0.0);
    stv_outlook_free(&outlook);
    store_end(&asked.store);
}

static void what_cannot_be_asked(void **state)
{
    (void)state;
    struct asked asked;
    const double twice_y[] = {1.0, 1.0};
    struct stv_path_age out[PLACES * AGES];
    ask(&asked);
    asked.wish.n_places = 0;
    stv_assert_status(stv_placement_paths(&asked.house, &asked.wish, out), STV_E_ARG);
    asked.wish.n_places = PLACES;
    asked.wish.ages_y = twice_y;
    asked.wish.n_ages = 2;
    stv_assert_status(stv_placement_paths(&asked.house, &asked.wish, out), STV_E_ARG);
    store_end(&asked.store);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hot_places_give_and_take_more),
        cmocka_unit_test(numbers_are_those_of_an_outlook),
        cmocka_unit_test(what_cannot_be_asked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
