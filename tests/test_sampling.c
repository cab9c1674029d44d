/* The sampling list: its laws, its limits, and that it narrows more than chance does when the
 * houses are learned anew with what was then found. */
#include "tests/fit_house.h"

#include "model/sampling.h"

#include <stdio.h>

#define CASKS 20
#define VISIT 1 /* moments of the house: gauged before, visited, asked about */
#define TARGET 2

/* A house of which some was learned, and what could be visited in it. */
struct scene {
    struct house house;
    struct stv_fit_problem problem;
    struct stv_fit fit;
    struct stv_fit_moment moments[CASKS][2];
    struct stv_sampling_target targets[CASKS];
    struct stv_sampling_offer offers[2 * CASKS];
    struct stv_sampling_request request;
};

static void look_ahead(struct scene *scene)
{
    for (size_t c = 0; c < CASKS; c++) {
        const double *own = scene->fit.block_nd + c * scene->fit.n_block;
        house_moment(&scene->house, c, house_years_y[VISIT], scene->fit.shared_nd, own,
                     &scene->moments[c][0]);
        house_moment(&scene->house, c, house_years_y[TARGET], scene->fit.shared_nd, own,
                     &scene->moments[c][1]);
        scene->targets[c] =
            (struct stv_sampling_target){c, &scene->moments[c][0], &scene->moments[c][1]};
        scene->offers[2 * c] =
            (struct stv_sampling_offer){c, STV_SAMPLING_GAUGE, STV_SAMPLING_GAUGE_L, 180.0};
        scene->offers[2 * c + 1] =
            (struct stv_sampling_offer){c, STV_SAMPLING_NOSE, STV_SAMPLING_NOSE_L, 180.0};
    }
    scene->request = (struct stv_sampling_request){
        .offers = scene->offers,
        .n_offers = 2 * CASKS,
        .targets = scene->targets,
        .n_targets = CASKS,
        .limits = {6, 10.0, STV_SAMPLING_MOST_SHARE_FRAC},
    };
}

/* As houses go: some casks were never opened, some weighed once, and the easy ones gauged and nosed
 * each time. */
static void scene_new(uint64_t seed, struct scene *scene)
{
    struct house_truth truth = house_truth(seed);
    scene->house = house_new(CASKS);
    for (size_t c = 0; c < CASKS; c++) {
        for (size_t m = 0; m <= VISIT && c % 3 == 2; m++) {
            house_measure(&scene->house, &truth, STV_FIT_LIQUID, c, m);
            house_measure(&scene->house, &truth, STV_FIT_VERDICT, c, m);
        }
        if (c % 3 == 1)
            house_measure(&scene->house, &truth, STV_FIT_GROSS, c, 0);
    }
    scene->problem = house_problem(&scene->house);
    stv_assert_ok(stv_fit_learn(&scene->problem, &scene->fit));
    look_ahead(scene);
}

static double house_left(const struct stv_sampling_error *after,
                         const struct stv_sampling_error *before)
{
    return 0.5 * pow(after->volume20_l / before->volume20_l, 2.0) +
           0.5 * pow(after->wood_ln_nd / before->wood_ln_nd, 2.0);
}

static struct stv_fit_worth worth_of(const struct scene *scene, enum stv_fit_kind kind,
                                     size_t cask_idx, int quantity)
{
    struct stv_fit_worth worth;
    const struct stv_fit_wish wish = {
        .observation = {.cask_idx = cask_idx,
                        .kind = kind,
                        .error = kind == STV_FIT_VERDICT ? STV_FIT_NOSE_ERROR_LN
                                                         : STV_CASK_WEIGHING_ERROR_KG},
        .moment = &scene->moments[cask_idx][0],
        .target_cask_idx = cask_idx,
        .target_by_top_nd = scene->moments[cask_idx][1].by_top_nd[quantity],
        .target_by_own_nd = scene->moments[cask_idx][1].by_own_nd[quantity],
    };
    stv_assert_ok(stv_fit_worth_of(&scene->problem, &scene->fit, &wish, &worth));
    return worth;
}

static void what_picks_narrow_adds_up_to_what_is_left(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 4; seed++) {
        struct scene scene;
        struct stv_sampling_list list;
        double narrowed = 0.0;
        scene_new(seed, &scene);
        stv_assert_ok(stv_sampling_choose(&scene.problem, &scene.fit, &scene.request, &list));
        assert_true(list.n_picks >= 6);
        for (size_t p = 0; p < list.n_picks; p++)
            narrowed += list.picks[p].narrowed_frac;
        stv_assert_close(house_left(&list.house_after, &list.house_before), 1.0 - narrowed, 1e-9,
                         0.0);
        for (size_t c = 0; c < CASKS; c++) {
            stv_assert_close(list.before[c].volume20_l,
                             worth_of(&scene, STV_FIT_LIQUID, c, STV_FIT_VOLUME20_L).before_nd,
                             1e-9, 0.0);
            assert_true(list.after[c].volume20_l <= list.before[c].volume20_l * (1.0 + 1e-12));
            assert_true(list.after[c].wood_ln_nd <= list.before[c].wood_ln_nd * (1.0 + 1e-12));
        }
        stv_sampling_free(&list);
        stv_fit_free(&scene.fit);
    }
}

static void one_nosing_narrows_what_its_verdicts_do(void **state)
{
    (void)state;
    struct scene scene;
    struct stv_sampling_list list;
    scene_new(5, &scene);
    scene.request.offers = &scene.offers[7];
    scene.request.n_offers = 1;
    stv_assert_ok(stv_sampling_choose(&scene.problem, &scene.fit, &scene.request, &list));
    assert_int_equal(list.n_picks, 1);
    stv_assert_close(list.after[3].wood_ln_nd,
                     worth_of(&scene, STV_FIT_VERDICT, 3, STV_FIT_LN_WOOD).after_nd, 1e-9, 0.0);
    assert_true(list.after[3].wood_ln_nd < list.before[3].wood_ln_nd);
    stv_sampling_free(&list);
    stv_fit_free(&scene.fit);
}

/* The same cask offered twice: the second time much of it is known. */
static void what_earlier_picks_tell_is_counted(void **state)
{
    (void)state;
    struct scene scene;
    struct stv_sampling_list list;
    scene_new(6, &scene);
    const struct stv_sampling_offer twice[2] = {scene.offers[0], scene.offers[0]};
    scene.request.offers = twice;
    scene.request.n_offers = 2;
    scene.request.limits.most_share_frac = 1.0;
    stv_assert_ok(stv_sampling_choose(&scene.problem, &scene.fit, &scene.request, &list));
    assert_true(list.n_picks >= 1);
    if (list.n_picks == 2)
        assert_true(list.picks[1].narrowed_frac < 0.5 * list.picks[0].narrowed_frac);
    stv_sampling_free(&list);
    stv_fit_free(&scene.fit);
}

static void limits_hold_and_small_casks_are_spared(void **state)
{
    (void)state;
    struct scene scene;
    struct stv_sampling_list list;
    scene_new(7, &scene);
    for (size_t o = 0; o < 8; o++) /* four casks of 20 L: a jar of 200 ml is one per cent of each */
        scene.offers[o].holds_l = 20.0;
    scene.request.limits = (struct stv_sampling_limits){5, 0.7, STV_SAMPLING_MOST_SHARE_FRAC};
    stv_assert_ok(stv_sampling_choose(&scene.problem, &scene.fit, &scene.request, &list));
    assert_true(list.n_casks <= 5);
    assert_true(list.samples_l <= 0.7 + 1e-9);
    assert_int_equal(list.n_spared, 4);
    double drawn_l = 0.0;
    for (size_t p = 0; p < list.n_picks; p++) {
        const struct stv_sampling_offer *offer = &scene.offers[list.picks[p].offer_idx];
        drawn_l += offer->sample_l;
        assert_false(offer->holds_l < 100.0 && offer->way == STV_SAMPLING_GAUGE);
    }
    stv_assert_close(drawn_l, list.samples_l, 1e-12, 0.0);
    stv_sampling_free(&list);
    scene.request.limits.most_casks = 0;
    stv_assert_ok(stv_sampling_choose(&scene.problem, &scene.fit, &scene.request, &list));
    assert_int_equal(list.n_picks, 0);
    stv_assert_close(house_left(&list.house_after, &list.house_before), 1.0, 1e-12, 0.0);
    stv_sampling_free(&list);
    stv_fit_free(&scene.fit);
}

/* Casks of which nothing is known are all alike: any of their kind would do. */
static void ties_are_counted(void **state)
{
    (void)state;
    struct scene scene = {.house = house_new(CASKS)};
    struct stv_sampling_list list;
    for (size_t c = 0; c < CASKS; c++)
        scene.house.tares[c] = stv_fit_tare_of(STV_FIT_TARE_WET, 45.0);
    scene.problem = house_problem(&scene.house);
    stv_assert_ok(stv_fit_learn(&scene.problem, &scene.fit));
    look_ahead(&scene);
    scene.request.limits.most_casks = 1;
    stv_assert_ok(stv_sampling_choose(&scene.problem, &scene.fit, &scene.request, &list));
    assert_true(list.n_picks >= 1);
    assert_int_equal(list.picks[0].n_as_good, CASKS - 1);
    assert_int_equal(scene.offers[list.picks[0].offer_idx].cask_idx, 0);
    stv_sampling_free(&list);
    scene.offers[3].cask_idx = CASKS;
    assert_int_equal(stv_sampling_choose(&scene.problem, &scene.fit, &scene.request, &list),
                     STV_E_ARG);
    assert_null(list.picks);
    stv_fit_free(&scene.fit);
}

/* Learns the house anew with what the visits find; mean squared errors of what is asked about. */
static void learn_anew(const struct scene *scene, const struct house_truth *truth,
                       const size_t *offers, size_t n, double out_squares[2])
{
    struct scene after = *scene;
    for (size_t i = 0; i < n; i++) {
        const struct stv_sampling_offer *offer = &scene->offers[offers[i]];
        if (offer->way == STV_SAMPLING_NOSE) {
            house_measure(&after.house, truth, STV_FIT_VERDICT, offer->cask_idx, VISIT);
            continue;
        }
        house_measure(&after.house, truth, STV_FIT_LIQUID, offer->cask_idx, VISIT);
        house_measure(&after.house, truth, STV_FIT_STRENGTH, offer->cask_idx, VISIT);
    }
    after.problem = house_problem(&after.house);
    stv_assert_ok(stv_fit_learn(&after.problem, &after.fit));
    look_ahead(&after);
    out_squares[0] = out_squares[1] = 0.0;
    for (size_t c = 0; c < CASKS; c++) {
        double litres = worth_of(&after, STV_FIT_LIQUID, c, STV_FIT_VOLUME20_L).before_nd;
        double wood = worth_of(&after, STV_FIT_VERDICT, c, STV_FIT_LN_WOOD).before_nd;
        out_squares[0] += litres * litres / CASKS;
        out_squares[1] += wood * wood / CASKS;
    }
    stv_fit_free(&after.fit);
}

/* Of the mean squared error, litres and wood half each. */
static double learned_left(const struct scene *scene, const struct house_truth *truth,
                           const size_t *offers, size_t n, const double first[2])
{
    double squares[2];
    learn_anew(scene, truth, offers, n, squares);
    return 0.5 * squares[0] / first[0] + 0.5 * squares[1] / first[1];
}

/* As many casks and visits as the list has, drawn from a hat. */
static size_t draw_list(uint64_t seed, const struct stv_sampling_list *list, size_t *out)
{
    size_t casks[CASKS], n = 0;
    for (size_t c = 0; c < CASKS; c++)
        casks[c] = c;
    for (size_t c = 0; c < list->n_casks; c++) {
        size_t at = c + (size_t)(stv_draw_uniform_nd(seed, 77, c, 0) * (double)(CASKS - c));
        size_t swapped = casks[c];
        casks[c] = casks[at];
        casks[at] = swapped;
    }
    for (size_t way = 0; way < 2; way++)
        for (size_t c = 0; c < list->n_casks && n < list->n_picks; c++)
            out[n++] = 2 * casks[c] + way;
    return n;
}

static void the_list_beats_chance(void **state)
{
    (void)state;
    const size_t n_houses = 30, n_hats = 3;
    double left = 0.0, left_chance = 0.0, promised = 0.0, square = 0.0;
    size_t n_beaten = 0;
    for (uint64_t seed = 100; seed < 100 + n_houses; seed++) {
        struct house_truth truth = house_truth(seed);
        struct scene scene;
        struct stv_sampling_list list;
        size_t offers[2 * CASKS];
        double first[2], by_chance = 0.0;
        scene_new(seed, &scene);
        stv_assert_ok(stv_sampling_choose(&scene.problem, &scene.fit, &scene.request, &list));
        for (size_t p = 0; p < list.n_picks; p++)
            offers[p] = list.picks[p].offer_idx;
        learn_anew(&scene, &truth, NULL, 0, first);
        double by_list = learned_left(&scene, &truth, offers, list.n_picks, first);
        promised += house_left(&list.house_after, &list.house_before) / (double)n_houses;
        for (size_t h = 0; h < n_hats; h++) {
            size_t n = draw_list(1000 * seed + h, &list, offers);
            double one = learned_left(&scene, &truth, offers, n, first);
            by_chance += one / (double)n_hats;
            n_beaten += by_list < one;
        }
        left += by_list / (double)n_houses;
        left_chance += by_chance / (double)n_houses;
        square += pow(by_chance - by_list, 2.0) / (double)n_houses;
        stv_sampling_free(&list);
        stv_fit_free(&scene.fit);
    }
    double better = left_chance - left;
    double error = sqrt((square - better * better) / (double)n_houses);
    printf("sampling list, 6 of %d casks, %zu houses: mean squared error left %.3f (promised "
           "%.3f), by chance %.3f, difference %.3f +- %.3f; better in %zu of %zu lists\n",
           CASKS, n_houses, left, promised, left_chance, better, error, n_beaten,
           n_houses * n_hats);
    assert_true(better > 4.0 * error);
    assert_true(fabs(left - promised) < 0.1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_picks_narrow_adds_up_to_what_is_left),
        cmocka_unit_test(one_nosing_narrows_what_its_verdicts_do),
        cmocka_unit_test(what_earlier_picks_tell_is_counted),
        cmocka_unit_test(limits_hold_and_small_casks_are_spared),
        cmocka_unit_test(ties_are_counted),
        cmocka_unit_test(the_list_beats_chance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
