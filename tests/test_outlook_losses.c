/* Losses between two days in kilograms: they add up to what the path took off, through water that
 * was added and samples that were drawn, and by group to the mean of its casks. */
#include "model/draws.h"
#include "model/outlook_losses.h"
#include "tests/two_tiers.h"

#define CASKS 3

/* Three casks: one on each tier, and one that gets water and is sampled between the days. */
static struct stv_ledger three_casks(struct stv_cask casks[CASKS], struct stv_event events[5])
{
    int64_t filled_d = day_of(2001, 2, 1);
    for (int c = 0; c < CASKS; c++) {
        char id[8];
        snprintf(id, sizeof id, "%d", c + 1);
        casks[c] = cask_new(id, 200.0);
        events[c] = fill_new(filled_d, c, 195.0, 0.60, c == 1);
    }
    events[3] = event_new(day_of(2002, 7, 1), STV_EVENT_ADD_WATER, 2, 3);
    events[3].water_kg = 20.0;
    events[4] = event_new(day_of(2002, 7, 10), STV_EVENT_SAMPLE, 2, 4);
    events[4].volume20_l = 1.0;
    return (struct stv_ledger){casks, CASKS, events, 5};
}

struct house {
    struct store store;
    struct stv_cask casks[CASKS];
    struct stv_event events[5];
    struct stv_ledger ledger;
    struct stv_outlook outlook;
};

static void house_new(struct house *house, size_t n_draws)
{
    const int64_t days_d[] = {day_of(2002, 5, 31), day_of(2002, 8, 31)};
    store_new(&house->store, 2);
    house->ledger = three_casks(house->casks, house->events);
    house->outlook = run(&house->ledger, &house->store, n_draws, days_d, 2);
}

static void house_end(struct house *house)
{
    stv_outlook_free(&house->outlook);
    store_end(&house->store);
}

static double drop(const struct stv_outlook *outlook, size_t cask, enum stv_quantity quantity)
{
    return drawn(outlook, cask, 1, quantity) - drawn(outlook, cask, 0, quantity);
}

/* Water and ethanol through wood and joints are told in kilograms elsewhere. */
static void masses_are_those_of_the_path(void **state)
{
    (void)state;
    struct house house;
    house_new(&house, 0);
    const size_t labels[CASKS] = {0, 1, 2};
    struct stv_group_losses out[CASKS];
    stv_assert_ok(stv_outlook_losses(&house.outlook, 0, 1, labels, CASKS, out));
    for (size_t c = 0; c < CASKS; c++) {
        const struct stv_range *kg = out[c].part_kg;
        double gone_kg = drop(&house.outlook, c, STV_Q_WATER_LOST_KG) +
                         drop(&house.outlook, c, STV_Q_ETHANOL_LOST_KG);
        assert_int_equal(out[c].n_casks, 1);
        stv_assert_close(kg[STV_PART_AIR_WATER].p50 + kg[STV_PART_AIR_ETHANOL].p50 +
                             kg[STV_PART_JOINTS].p50,
                         gone_kg, 1e-7, 0.0);
        stv_assert_close(kg[STV_PART_AIR_ETHANOL].p50,
                         drop(&house.outlook, c, STV_Q_AIR_LPA_L) * 0.78924, 1e-9, 0.0);
        double sum_kg = 0.0;
        for (int p = 0; p < STV_PART_ALL; p++)
            sum_kg += kg[p].p50;
        stv_assert_close(kg[STV_PART_ALL].p50, sum_kg, 1e-12, 0.0);
        assert_true(kg[STV_PART_AIR_WATER].p50 > 0.2);
    }
    /* A litre of some 55 % weighs 0.91 to 0.93 kg; nobody sampled the others. */
    stv_assert_close(out[2].part_kg[STV_PART_SAMPLES].p50, 0.92, 0.0, 0.01);
    stv_assert_close(out[0].part_kg[STV_PART_SAMPLES].p50, 0.0, 0.0, 1e-9);
    house_end(&house);
}

/* The mean of a group, trial by trial, and casks that are not asked for. */
static void groups_are_means_of_their_casks(void **state)
{
    (void)state;
    struct house house;
    house_new(&house, 32);
    const size_t one_by_one[CASKS] = {0, 1, SIZE_MAX}, together[CASKS] = {1, 1, SIZE_MAX};
    struct stv_group_losses one[2], mean[2];
    stv_assert_ok(stv_outlook_losses(&house.outlook, 0, 1, one_by_one, 2, one));
    stv_assert_ok(stv_outlook_losses(&house.outlook, 0, 1, together, 2, mean));
    assert_int_equal(mean[0].n_casks, 0);
    assert_true(isnan(mean[0].part_kg[STV_PART_ALL].p50));
    assert_int_equal(mean[1].n_casks, 2);
    struct stv_range all = mean[1].part_kg[STV_PART_ALL];
    assert_true(all.p05 < all.p50 && all.p50 < all.p95);
    double low = fmin(one[0].part_kg[STV_PART_ALL].p05, one[1].part_kg[STV_PART_ALL].p05);
    double high = fmax(one[0].part_kg[STV_PART_ALL].p95, one[1].part_kg[STV_PART_ALL].p95);
    assert_true(all.p05 > low && all.p95 < high);
    house_end(&house);
}

static void days_and_empty_casks(void **state)
{
    (void)state;
    struct house house;
    house_new(&house, 0);
    const size_t labels[CASKS] = {0, 0, 0};
    struct stv_group_losses out;
    stv_assert_status(stv_outlook_losses(&house.outlook, 0, 2, labels, 1, &out), STV_E_ARG);
    double *kept = house.outlook.values;
    house.outlook.values = NULL;
    stv_assert_status(stv_outlook_losses(&house.outlook, 0, 1, labels, 1, &out), STV_E_ARG);
    house.outlook.values = kept;
    for (size_t q = 0; q < STV_Q_N; q++)
        house.outlook.values[q] = NAN; /* the first cask, the first day */
    stv_assert_ok(stv_outlook_losses(&house.outlook, 0, 1, labels, 1, &out));
    assert_int_equal(out.n_casks, 2);
    house_end(&house);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(masses_are_those_of_the_path),
        cmocka_unit_test(groups_are_means_of_their_casks),
        cmocka_unit_test(days_and_empty_casks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
