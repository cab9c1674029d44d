/* The sampling list on the engine's own casks: what it promises is what learning anew leaves, when
 * the visits find what was to be expected. */
#include "model/cask_learning.h"
#include "model/sampling.h"
#include "model/spirit.h"
#include "tests/places.h"

#define N_CASKS 6
#define N_MOST (2 + 2 * N_CASKS + 3 * N_CASKS)

struct scene {
    struct stv_position place;
    double exposed_frac;
    struct stv_position_set set;
    struct stv_house_rules rules;
    struct stv_cask casks[N_CASKS];
    struct stv_event fills[N_CASKS];
    struct stv_ledger ledger;
    struct stv_cask_observation seen[N_MOST];
    struct stv_fit_tare tares[N_CASKS];
    struct stv_cask_learning_request request;
    struct stv_cask_wish wishes[N_CASKS];
};

static void gauge(struct scene *scene, size_t cask_idx, int64_t day_d, enum stv_fit_kind kind,
                  const double value_and_error[2])
{
    size_t n = scene->request.n_observations++;
    assert_true(n < N_MOST);
    scene->seen[n] = (struct stv_cask_observation){.cask_idx = cask_idx,
                                                   .day_d = day_d,
                                                   .kind = kind,
                                                   .value = value_and_error[0],
                                                   .error = value_and_error[1],
                                                   .gauge_idx = n};
}

/* Two kinds; half of the casks were weighed once. */
static void scene_new(struct scene *scene)
{
    *scene = (struct scene){.place = place_new(2001, 3 * 8760, 0, &mild_climate),
                            .exposed_frac = 1.0,
                            .rules = stv_house_rules_default()};
    scene->set = (struct stv_position_set){&scene->place, 1, &scene->exposed_frac, 0, 0};
    for (size_t c = 0; c < N_CASKS; c++) {
        char id[2] = {(char)('a' + c), 0};
        scene->casks[c] = cask_new(id, c == 5 ? 30.0 : 200.0);
        snprintf(scene->casks[c].kind_name, STV_ID_MAX, "kind %zu", c % 2);
        scene->fills[c] = fill_new(day_of(2001, 3, 1), (int)c, c == 5 ? 29.0 : 195.0, 0.60, c);
        scene->fills[c].place = (struct stv_place){0, 0, (int)c, 0};
        scene->tares[c] = stv_fit_tare_of(STV_FIT_TARE_WET, 45.0);
        scene->wishes[c] = (struct stv_cask_wish){c, day_of(2003, 3, 1), day_of(2006, 3, 1)};
    }
    scene->ledger = (struct stv_ledger){scene->casks, N_CASKS, scene->fills, N_CASKS};
    scene->request = (struct stv_cask_learning_request){
        .house = {.ledger = &scene->ledger,
                  .set = &scene->set,
                  .rules = &scene->rules,
                  .options = {1, 0, 5.0, 0.0}},
        .observations = scene->seen,
        .tares = scene->tares,
        .ready = {{-0.66, -0.36, 0.26}, 0.3},
    };
    for (size_t c = 0; c < 3; c++)
        gauge(scene, c, day_of(2002, 3, 1), STV_FIT_VOLUME, (const double[2]){187.0, 1.0});
}

static struct stv_cask_learning learn(struct scene *scene)
{
    struct stv_cask_learning learning;
    stv_assert_ok(stv_cask_learn(&scene->request, &learning));
    return learning;
}

/* Puts what the picks are most likely to find into the gauges. */
static void find_the_likely(struct scene *scene, const struct stv_cask_learning *learning,
                            const struct stv_sampling_list *list)
{
    struct stv_outlook_request house = scene->request.house;
    struct stv_outlook outlook;
    house.days_d = &scene->wishes[0].gauge_day_d;
    house.n_days = 1;
    house.learned = &learning->posterior;
    stv_assert_ok(stv_outlook_run(&house, &outlook));
    for (size_t p = 0; p < list->n_picks; p++) {
        size_t cask = list->picks[p].offer_idx / 2;
        int64_t day_d = scene->wishes[cask].gauge_day_d;
        double ethanol_kg, water_kg;
        double volume_l = drawn(&outlook, cask, 0, STV_Q_VOLUME20_L);
        double abv_frac = drawn(&outlook, cask, 0, STV_Q_ABV20_FRAC);
        if (list->picks[p].offer_idx % 2 == STV_SAMPLING_NOSE) {
            gauge(scene, cask, day_d, STV_FIT_VERDICT,
                  (const double[2]){1.0, STV_FIT_NOSE_ERROR_LN});
            continue;
        }
        stv_assert_ok(stv_spirit_masses_kg(volume_l, abv_frac, &ethanol_kg, &water_kg));
        gauge(scene, cask, day_d, STV_FIT_LIQUID,
              (const double[2]){ethanol_kg + water_kg, STV_CASK_WEIGHING_ERROR_KG});
        gauge(scene, cask, day_d, STV_FIT_STRENGTH,
              (const double[2]){abv_frac, STV_SAMPLING_STRENGTH_ERROR_FRAC});
    }
    stv_outlook_free(&outlook);
}

/* A posterior, as learned-casks.yaml keeps it, chooses what the learning itself does. */
static void what_was_kept_chooses_alike(void **state)
{
    (void)state;
    struct scene scene;
    struct stv_sampling_list list, again;
    struct stv_cask_learning kept = {0};
    const struct stv_sampling_limits limits = {3, 0.6, STV_SAMPLING_MOST_SHARE_FRAC};
    scene_new(&scene);
    struct stv_cask_learning learning = learn(&scene);
    stv_assert_ok(stv_cask_fit_of_posterior(&scene.request, &learning.posterior, &kept.fit));
    stv_assert_ok(
        stv_sampling_of_casks(&scene.request, &learning, scene.wishes, N_CASKS, limits, &list));
    stv_assert_ok(
        stv_sampling_of_casks(&scene.request, &kept, scene.wishes, N_CASKS, limits, &again));
    assert_int_equal(list.n_picks, again.n_picks);
    for (size_t p = 0; p < list.n_picks; p++) {
        assert_int_equal(list.picks[p].offer_idx, again.picks[p].offer_idx);
        stv_assert_close(list.picks[p].narrowed_frac, again.picks[p].narrowed_frac, 1e-9, 0.0);
    }
    for (size_t c = 0; c < N_CASKS; c++)
        stv_assert_close(list.after[c].wood_ln_nd, again.after[c].wood_ln_nd, 1e-9, 0.0);
    struct stv_fit wrong;
    scene.request.n_scales = 1; /* somebody nosed by points since */
    stv_assert_status(stv_cask_fit_of_posterior(&scene.request, &learning.posterior, &wrong),
                      STV_E_ARG);
    stv_sampling_free(&list);
    stv_sampling_free(&again);
    stv_fit_free(&kept.fit);
    stv_cask_learning_free(&learning);
    place_end(&scene.place);
}

static void what_is_promised_is_what_learning_leaves(void **state)
{
    (void)state;
    struct scene scene;
    struct stv_sampling_list list;
    struct stv_cask_worth worths[N_CASKS];
    const struct stv_sampling_limits limits = {3, 0.6, STV_SAMPLING_MOST_SHARE_FRAC};
    double worst = 0.0;
    scene_new(&scene);
    struct stv_cask_learning learning = learn(&scene);
    stv_assert_ok(
        stv_sampling_of_casks(&scene.request, &learning, scene.wishes, N_CASKS, limits, &list));
    stv_assert_ok(stv_cask_worth_of(&scene.request, &learning, scene.wishes, N_CASKS, worths));
    for (size_t c = 0; c < N_CASKS; c++) {
        stv_assert_close(list.before[c].volume20_l, worths[c].volume20_l.before_nd, 1e-9, 0.0);
        stv_assert_close(list.before[c].wood_ln_nd, worths[c].wood_by_nose.before_nd, 1e-9, 0.0);
    }
    assert_true(list.n_picks >= 2 && list.n_casks <= 3);
    assert_int_equal(list.n_spared, 1); /* a jar of a cask of 30 L */
    find_the_likely(&scene, &learning, &list);
    stv_cask_learning_free(&learning);
    learning = learn(&scene);
    stv_assert_ok(stv_cask_worth_of(&scene.request, &learning, scene.wishes, N_CASKS, worths));
    for (size_t c = 0; c < N_CASKS; c++)
        worst = fmax(worst, fabs(log(worths[c].volume20_l.before_nd / list.after[c].volume20_l)));
    printf(
        "litres: promised and left, worst of %d casks %.1f %% apart; %.2f L before, %.2f after\n",
        N_CASKS, 100.0 * worst, list.house_before.volume20_l, list.house_after.volume20_l);
    assert_true(worst < 0.15);
    assert_true(list.house_after.volume20_l < 0.9 * list.house_before.volume20_l);
    stv_sampling_free(&list);
    stv_cask_learning_free(&learning);
    place_end(&scene.place);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_promised_is_what_learning_leaves),
        cmocka_unit_test(what_was_kept_chooses_alike),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
