/* The same cask in two places through the years: more loss and more wood where it is hot, never
 * less with age, and the numbers of an outlook of the same cask. */
#include "model/placement_paths.h"
#include "tests/two_tiers.h"

static const double ages_y[] = {1.0, 2.0, 3.0, 5.0};
enum { AGES = 4, PLACES = 2 };

static struct stv_outlook_request house_of(const struct store *store,
                                           const struct stv_house_rules *rules)
{
    return (struct stv_outlook_request){
        .set = &store->set, .rules = rules, .options = {.seed = 77, .n_draws = 24, .step_d = 5.0}};
}

static struct stv_path_wish wish_of(const struct stv_cask *cask, const struct stv_place *places)
{
    return (struct stv_path_wish){.cask = cask,
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
    struct store store;
    store_new(&store, 2);
    const struct stv_place places[PLACES] = {{0, 0, -1, -1}, {0, 1, -1, -1}};
    struct stv_cask cask = cask_new("new cask", 200.0);
    struct stv_house_rules rules = stv_house_rules_default();
    struct stv_outlook_request house = house_of(&store, &rules);
    struct stv_path_wish wish = wish_of(&cask, places);
    struct stv_path_age out[PLACES * AGES];
    stv_assert_ok(stv_placement_paths(&house, &wish, out));
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
    store_end(&store);
}

/* The second place alone, as a ledger of its own. */
static void numbers_are_those_of_an_outlook(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, 2);
    const struct stv_place places[PLACES] = {{0, 0, -1, -1}, {0, 1, -1, -1}};
    struct stv_cask cask = cask_new("new cask", 200.0);
    struct stv_house_rules rules = stv_house_rules_default();
    struct stv_outlook_request house = house_of(&store, &rules);
    struct stv_path_wish wish = wish_of(&cask, places);
    struct stv_path_age out[PLACES * AGES];
    stv_assert_ok(stv_placement_paths(&house, &wish, out));
    struct stv_event fill = fill_new(wish.from_day_d, 0, 195.0, 0.60, 0);
    fill.place = places[1];
    struct stv_ledger ledger = {&cask, 1, &fill, 1};
    int64_t day_d = wish.from_day_d + 1096; /* three years of 365.25 days */
    struct stv_outlook outlook = run(&ledger, &store, 24, &day_d, 1);
    struct stv_range lpa_l = stv_outlook_range(&outlook, 0, 0, STV_Q_LPA_L);
    struct stv_range wood = stv_outlook_range(&outlook, 0, 0, STV_Q_WOOD_INDEX_ND);
    stv_assert_close(out[AGES + 2].lost_frac.p95, 1.0 - lpa_l.p05 / 117.0, 2e-4, 0.0);
    stv_assert_close(out[AGES + 2].wood_nd.p50, wood.p50, 2e-4, 0.0);
    stv_outlook_free(&outlook);
    store_end(&store);
}

static void what_cannot_be_asked(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, 2);
    const struct stv_place places[PLACES] = {{0, 0, -1, -1}, {0, 1, -1, -1}};
    const double twice_y[] = {1.0, 1.0};
    struct stv_cask cask = cask_new("new cask", 200.0);
    struct stv_house_rules rules = stv_house_rules_default();
    struct stv_outlook_request house = house_of(&store, &rules);
    struct stv_path_wish wish = wish_of(&cask, places);
    struct stv_path_age out[PLACES * AGES];
    wish.n_places = 0;
    stv_assert_status(stv_placement_paths(&house, &wish, out), STV_E_ARG);
    wish.n_places = PLACES;
    wish.ages_y = twice_y;
    wish.n_ages = 2;
    stv_assert_status(stv_placement_paths(&house, &wish, out), STV_E_ARG);
    store_end(&store);
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
