/* Slow reduction: a worked example without evaporation, and laws that hold whatever the air does.
 * The worked example is by mass balance at 20 C on [R22]: 185.0 L of 62.0 % to 46.0 % in six. */
#include "model/reduction.h"
#include "model/spirit.h"
#include "tests/places.h"

#include <gsl/gsl_errno.h>

#define DRAWS_MOST 9

/* A made-up future: a cask of litres and strength on the first day, of which each trial loses a
 * share of ethanol and of water every year, more ethanol in summer when asked. */
struct made_up {
    double volume20_l, abv20_frac;
    double ethanol_per_y[DRAWS_MOST], water_per_y[DRAWS_MOST];
    double summer_nd; /* 0: all year alike; 1: water goes in summer alone */
    double with_abv20_frac;
    size_t n_draws, n_asked;
    int64_t from_day_d, empty_day_d; /* emptied on a day; INT64_MAX */
    size_t n_stay;                   /* first trials, in which it is not */
};

static void lose(const struct made_up *made, size_t draw, int64_t day_d, double *ethanol_kg,
                 double *water_kg)
{
    int month = stv_date_from_day(day_d).month;
    double water = made->summer_nd > 0.0 ? (month >= 5 && month <= 8 ? 3.0 : 0.0) : 1.0;
    *ethanol_kg *= 1.0 - made->ethanol_per_y[draw] / 365.25;
    *water_kg *= 1.0 - water * made->water_per_y[draw] / 365.25;
}

static void live(const struct made_up *made, const struct stv_reduction_asked *asked, size_t draw)
{
    double ethanol_kg, water_kg, with_ethanol_kg, with_water_kg;
    size_t step = 0, row = 0;
    stv_assert_ok(stv_spirit_masses_kg(made->volume20_l, made->abv20_frac, &ethanol_kg, &water_kg));
    for (int64_t day_d = made->from_day_d; row < asked->n_days; day_d++) {
        for (; step < asked->n_steps && asked->steps[step].day_d == day_d; step++) {
            stv_assert_ok(stv_spirit_masses_kg(asked->steps[step].added20_l, made->with_abv20_frac,
                                               &with_ethanol_kg, &with_water_kg));
            ethanol_kg += with_ethanol_kg;
            water_kg += with_water_kg;
        }
        if (asked->days_d[row] == day_d) {
            struct stv_spirit_amount amount = stv_spirit_amount(ethanol_kg, water_kg);
            double *told = asked->values + row++ * STV_REDUCTION_TOLD_N * made->n_draws + draw;
            bool is_there = day_d < made->empty_day_d || draw < made->n_stay;
            double there = is_there ? 1.0 : (double)NAN;
            told[STV_REDUCTION_VOLUME20_L * made->n_draws] = there * amount.volume20_l;
            told[STV_REDUCTION_ABV20_FRAC * made->n_draws] = there * amount.abv20_frac;
            told[STV_REDUCTION_BOTTLES_ND * made->n_draws] = there * amount.lpa_l / 0.46 / 0.7;
            told[STV_REDUCTION_WOOD_ND * made->n_draws] = there;
        }
        lose(made, draw, day_d, &ethanol_kg, &water_kg);
    }
}

static enum stv_status tell(void *context, const struct stv_reduction_asked *asked, size_t n_asked)
{
    struct made_up *made = context;
    made->n_asked++;
    for (size_t i = 0; i < n_asked; i++)
        for (size_t draw = 0; draw < made->n_draws; draw++)
            live(made, &asked[i], draw);
    return STV_OK;
}

static struct made_up made_up_new(double volume20_l, double abv20_frac)
{
    return (struct made_up){.volume20_l = volume20_l,
                            .abv20_frac = abv20_frac,
                            .n_draws = 1,
                            .from_day_d = day_of(2027, 9, 10),
                            .empty_day_d = INT64_MAX};
}

/* Trials about a rate: from half of it to one and a half. */
static void spread(struct made_up *made, double ethanol_per_y, double water_per_y)
{
    made->n_draws = DRAWS_MOST;
    for (size_t d = 0; d < DRAWS_MOST; d++) {
        double share = 0.5 + (double)d / (DRAWS_MOST - 1);
        made->ethanol_per_y[d] = share * ethanol_per_y;
        made->water_per_y[d] = share * water_per_y;
    }
}

static struct stv_reduction_rules rules_new(double to_abv20_frac)
{
    return (struct stv_reduction_rules){
        .to_abv20_frac = to_abv20_frac,
        .least_abv20_frac = to_abv20_frac,
        .most_step_frac = 0.04,
        .least_step_frac = STV_REDUCTION_LEAST_STEP_FRAC,
        .month_holds = {1, 1, 1, 0, 0, 0, 0, 0, 0, 1, 1, 1},
        .over_d = INT64_MAX,
        .room_frac = 0.025,
    };
}

static struct stv_reduction_wish wish_new(const struct made_up *made, int64_t end_day_d)
{
    return (struct stv_reduction_wish){.from_day_d = made->from_day_d,
                                       .end_day_d = end_day_d,
                                       .capacity_l = 200.0,
                                       .hottest_c = 20.0};
}

static struct stv_reduction reduce(struct made_up *made, const struct stv_reduction_rules *rules,
                                   const struct stv_reduction_wish *wish)
{
    struct stv_reduction_future future = {made->n_draws, tell, made};
    struct stv_reduction reduction;
    made->with_abv20_frac = rules->with_abv20_frac;
    stv_assert_ok(stv_reduction_make(rules, wish, 1, &future, &reduction));
    assert_int_equal(reduction.n_plans, 1);
    return reduction;
}

static void six_equal_steps_without_evaporation(void **state)
{
    static const double kg[6] = {8.68, 9.46, 10.36, 11.39, 12.59, 13.99};
    static const double litres[6] = {193.3, 202.4, 212.4, 223.4, 235.7, 249.3};
    (void)state;
    struct made_up made = made_up_new(185.0, 0.62);
    struct stv_reduction_rules rules = rules_new(0.46);
    struct stv_reduction_wish wish = wish_new(&made, day_of(2028, 3, 31));
    struct stv_reduction reduction = reduce(&made, &rules, &wish);
    const struct stv_reduction_plan *plan = &reduction.plans[0];
    assert_int_equal(plan->kind, STV_REDUCTION_STEPS);
    assert_int_equal(plan->n_steps, 6);
    double all_kg = 0.0;
    for (size_t s = 0; s < 6; s++) {
        const struct stv_reduction_step *step = &plan->steps[s];
        stv_assert_close(step->added_kg, kg[s], 0.0, 0.005);
        stv_assert_close(step->after20_l.p50, litres[s], 0.0, 0.05);
        stv_assert_close(step->after_abv20_frac.p50, 0.62 - 0.16 * (double)(s + 1) / 6.0, 0.0,
                         1e-9);
        assert_int_equal(step->fits, s < 1);
        assert_int_equal(step->day_d,
                         day_of(s < 3 ? 2027 : 2028, s < 3 ? 10 + (int)s : (int)s - 2, 1));
        all_kg += step->added_kg;
    }
    stv_assert_close(all_kg, 66.47, 0.0, 0.01);
    assert_int_equal(plan->n_fitting, 1);
    assert_int_equal(reduction.n_days, 1);
    stv_assert_close(reduction.days[0].added_kg, 8.68, 0.0, 0.005);
    stv_assert_close(plan->end_abv20_frac.p50, 0.46, 0.0, 1e-9);
    stv_assert_close(plan->near_frac, 1.0, 0.0, 0.0);
    assert_false(plan->is_short);
    stv_reduction_free(&reduction);
}

/* The hottest decides the room: the same step fits at 20 C and not at 42. */
static void room_is_judged_at_the_hottest(void **state)
{
    (void)state;
    struct made_up made = made_up_new(183.0, 0.60);
    struct stv_reduction_rules rules = rules_new(0.57);
    struct stv_reduction_wish wish = wish_new(&made, day_of(2027, 11, 15));
    rules.month_holds[10] = 0;
    struct stv_reduction cool = reduce(&made, &rules, &wish);
    wish.hottest_c = 42.0;
    struct stv_reduction hot = reduce(&made, &rules, &wish);
    assert_int_equal(cool.plans[0].n_fitting, 1);
    assert_int_equal(hot.plans[0].n_fitting, 0);
    assert_int_equal(hot.n_days, 0);
    assert_true(hot.plans[0].steps[0].hot_l > cool.plans[0].steps[0].hot_l + 2.0);
    stv_reduction_free(&cool);
    stv_reduction_free(&hot);
}

/* Losses that raise the strength: the middle ends at the target, never under the least. */
static void what_evaporates_is_counted(void **state)
{
    (void)state;
    for (int falls = 0; falls < 2; falls++) {
        struct made_up made = made_up_new(185.0, 0.58);
        spread(&made, falls ? 0.05 : 0.01, falls ? 0.02 : 0.06);
        struct stv_reduction_rules rules = rules_new(0.52);
        struct stv_reduction_wish wish = wish_new(&made, day_of(2030, 9, 1));
        struct stv_reduction reduction = reduce(&made, &rules, &wish);
        const struct stv_reduction_plan *plan = &reduction.plans[0];
        assert_int_equal(plan->kind, STV_REDUCTION_STEPS);
        assert_true(falls ? plan->drift_frac.p95 < 0.0 : plan->drift_frac.p05 > 0.0);
        assert_true(plan->lowest_abv20_frac >= rules.least_abv20_frac - 2e-5);
        if (falls)
            stv_assert_close(plan->end_abv20_frac.p50, 0.52, 0.0, 1e-4);
        for (size_t s = 0; s < plan->n_steps; s++) {
            const struct stv_reduction_step *step = &plan->steps[s];
            assert_true(step->after_abv20_frac.p05 < step->before_abv20_frac.p05);
            assert_true(step->after_abv20_frac.p95 < step->before_abv20_frac.p95);
            assert_true(step->before_abv20_frac.p50 - step->after_abv20_frac.p50 <= 0.04 + 1e-9);
            assert_true(step->need_kg.p05 <= step->added_kg && step->need_kg.p95 >= step->added_kg);
        }
        stv_reduction_free(&reduction);
    }
}

/* Water in autumn, dry summers: with leave to go under, the last step does, and summer brings it
 * back; without, it stops at the least and ends above the target. */
static void summer_brings_it_back_where_it_may(void **state)
{
    (void)state;
    struct made_up made = made_up_new(180.0, 0.58);
    made.water_per_y[0] = 0.06;
    made.summer_nd = 1.0;
    struct stv_reduction_rules rules = rules_new(0.52);
    struct stv_reduction_wish wish = wish_new(&made, day_of(2029, 9, 15));
    rules.least_abv20_frac = 0.50;
    struct stv_reduction free_to = reduce(&made, &rules, &wish);
    rules.least_abv20_frac = 0.52;
    struct stv_reduction held = reduce(&made, &rules, &wish);
    const struct stv_reduction_plan *low = &free_to.plans[0], *high = &held.plans[0];
    assert_true(low->steps[low->n_steps - 1].aim_abv20_frac < 0.52 - 0.005);
    stv_assert_close(low->end_abv20_frac.p50, 0.52, 0.0, 1e-4);
    stv_assert_close(low->under_frac, 0.0, 0.0, 0.0);
    stv_assert_close(high->steps[high->n_steps - 1].aim_abv20_frac, 0.52, 0.0, 1e-9);
    assert_true(high->end_abv20_frac.p50 > 0.525);
    assert_true(high->is_short && high->is_held_by_least && !low->is_short);
    stv_reduction_free(&free_to);
    stv_reduction_free(&held);
}

/* The most points of a step hold, and a plan that they keep from the target says so. */
/* In a month under way the day itself will do, unless the next month's first is near enough to wait
 * for, or something came in too lately for the cask to be mixed. */
static void a_month_under_way_counts_from_the_day(void **state)
{
    (void)state;
    struct made_up made = made_up_new(150.0, 0.60);
    made.from_day_d = day_of(2028, 3, 12);
    const int64_t added_d[] = {day_of(2027, 10, 1), day_of(2028, 3, 1)};
    struct stv_reduction_rules rules = rules_new(0.56);
    const int march_and_october[STV_MONTHS] = {[2] = 1, [9] = 1};
    memcpy(rules.month_holds, march_and_october, sizeof rules.month_holds);
    struct stv_reduction_wish wish = wish_new(&made, day_of(2029, 1, 1));
    wish.added_d = added_d;
    wish.n_added = 1; /* long ago */
    struct stv_reduction reduction = reduce(&made, &rules, &wish);
    assert_int_equal(reduction.plans[0].n_steps, 2);
    assert_int_equal(reduction.plans[0].steps[0].day_d, day_of(2028, 3, 12));
    assert_int_equal(reduction.plans[0].steps[1].day_d, day_of(2028, 10, 1));
    stv_reduction_free(&reduction);
    wish.n_added = 2; /* eleven days ago, too */
    reduction = reduce(&made, &rules, &wish);
    assert_int_equal(reduction.plans[0].n_steps, 1);
    assert_int_equal(reduction.plans[0].steps[0].day_d, day_of(2028, 10, 1));
    stv_reduction_free(&reduction);
    wish.n_added = 0;
    rules.month_holds[3] = 1; /* 1 April is 20 days away */
    reduction = reduce(&made, &rules, &wish);
    assert_int_equal(reduction.plans[0].steps[0].day_d, day_of(2028, 4, 1));
    stv_reduction_free(&reduction);
}

static void a_plan_that_falls_short_says_so(void **state)
{
    (void)state;
    struct made_up made = made_up_new(150.0, 0.62);
    struct stv_reduction_rules rules = rules_new(0.46);
    struct stv_reduction_wish wish = wish_new(&made, day_of(2028, 3, 31));
    rules.most_step_frac = 0.02;
    struct stv_reduction reduction = reduce(&made, &rules, &wish);
    assert_true(reduction.plans[0].is_short);
    assert_false(reduction.plans[0].is_held_by_least);
    stv_assert_close(reduction.plans[0].end_abv20_frac.p50, 0.50, 0.0, 1e-6);
    stv_reduction_free(&reduction);
}

/* Steps that would be very small become fewer; what is less than one is left to the tank. */
static void small_steps_become_fewer(void **state)
{
    (void)state;
    struct made_up made = made_up_new(185.0, 0.535);
    struct stv_reduction_rules rules = rules_new(0.52);
    struct stv_reduction_wish wish = wish_new(&made, day_of(2029, 6, 1));
    struct stv_reduction reduction = reduce(&made, &rules, &wish);
    assert_int_equal(reduction.plans[0].n_steps, 3);
    assert_int_equal(reduction.plans[0].steps[2].day_d, day_of(2029, 3, 1));
    stv_reduction_free(&reduction);
    rules.most_steps = 2;
    reduction = reduce(&made, &rules, &wish);
    assert_int_equal(reduction.plans[0].n_steps, 2);
    stv_reduction_free(&reduction);
    made.abv20_frac = 0.523;
    reduction = reduce(&made, &rules, &wish);
    assert_int_equal(reduction.plans[0].kind, STV_REDUCTION_TANK);
    assert_int_equal(reduction.n_days, 0);
    double ethanol_kg, water_kg;
    stv_assert_ok(stv_spirit_masses_kg(185.0, 0.523, &ethanol_kg, &water_kg));
    water_kg += reduction.plans[0].tank_kg.p50; /* nothing evaporates here */
    stv_assert_close(stv_spirit_amount(ethanol_kg, water_kg).abv20_frac, 0.52, 0.0, 1e-9);
    stv_reduction_free(&reduction);
}

/* In one trial of nine it leaked away: the others are planned for. */
static void a_trial_that_is_empty_gets_nothing(void **state)
{
    (void)state;
    struct made_up made = made_up_new(185.0, 0.58);
    spread(&made, 0.02, 0.01);
    made.empty_day_d = day_of(2027, 12, 1);
    made.n_stay = DRAWS_MOST - 1;
    struct stv_reduction_rules rules = rules_new(0.52);
    struct stv_reduction_wish wish = wish_new(&made, day_of(2029, 6, 1));
    struct stv_reduction reduction = reduce(&made, &rules, &wish);
    const struct stv_reduction_plan *plan = &reduction.plans[0];
    assert_true(plan->n_steps > 1);
    for (size_t s = 0; s < plan->n_steps; s++) {
        assert_true(plan->steps[s].added_kg > 0.0);
        assert_true(isfinite(plan->steps[s].room_l));
        assert_true(isfinite(plan->steps[s].after20_l.p50));
    }
    stv_reduction_free(&reduction);
}

static enum stv_reduction_kind kind_of(struct made_up *made,
                                       const struct stv_reduction_rules *rules, int64_t end_day_d)
{
    struct stv_reduction_wish wish = wish_new(made, end_day_d);
    struct stv_reduction reduction = reduce(made, rules, &wish);
    enum stv_reduction_kind kind = reduction.plans[0].kind;
    assert_true(kind == STV_REDUCTION_STEPS || reduction.plans[0].n_steps == 0);
    stv_reduction_free(&reduction);
    return kind;
}

static void every_cask_is_told_why(void **state)
{
    (void)state;
    struct made_up made = made_up_new(185.0, 0.58);
    struct stv_reduction_rules rules = rules_new(0.52);
    int64_t end_d = day_of(2029, 9, 1);
    assert_int_equal(kind_of(&made, &rules, end_d), STV_REDUCTION_STEPS);
    assert_int_equal(kind_of(&made, &rules, made.from_day_d), STV_REDUCTION_PAST);
    assert_int_equal(kind_of(&made, &rules, day_of(2027, 10, 5)), STV_REDUCTION_MONTHS);
    rules.to_abv20_frac = rules.least_abv20_frac = 0.59;
    assert_int_equal(kind_of(&made, &rules, end_d), STV_REDUCTION_BELOW);
    rules.to_abv20_frac = rules.least_abv20_frac = 0.52;
    made.empty_day_d = day_of(2028, 5, 1);
    assert_int_equal(kind_of(&made, &rules, end_d), STV_REDUCTION_LEAVES);
    made.empty_day_d = INT64_MAX;
    /* It rises in summer alone, and in its only month it stands at the least. */
    made.abv20_frac = 0.52;
    made.water_per_y[0] = 0.06;
    made.summer_nd = 1.0;
    assert_int_equal(kind_of(&made, &rules, day_of(2028, 9, 1)), STV_REDUCTION_LEAST);
}

/* Reducing spirit takes more litres than water for the same points, and keeps more alcohol. */
static void reducing_spirit_brings_its_own(void **state)
{
    (void)state;
    struct made_up made = made_up_new(150.0, 0.58);
    struct stv_reduction_rules rules = rules_new(0.52);
    struct stv_reduction_wish wish = wish_new(&made, day_of(2028, 3, 31));
    struct stv_reduction water = reduce(&made, &rules, &wish);
    rules.with_abv20_frac = 0.20;
    struct stv_reduction weak = reduce(&made, &rules, &wish);
    assert_true(weak.plans[0].end20_l.p50 > water.plans[0].end20_l.p50 + 5.0);
    stv_assert_close(weak.plans[0].end_abv20_frac.p50, 0.52, 0.0, 1e-9);
    assert_true(weak.plans[0].bottles_nd.p50 > water.plans[0].bottles_nd.p50 + 5.0);
    stv_assert_close(weak.plans[0].gain_bottles_nd.p50, 0.0, 0.0, 1e-9);
    stv_assert_close(water.plans[0].gain_bottles_nd.p50, 0.0, 0.0, 1e-9);
    stv_reduction_free(&water);
    stv_reduction_free(&weak);
}

static void rules_that_cannot_be_are_refused(void **state)
{
    (void)state;
    struct made_up made = made_up_new(185.0, 0.58);
    struct stv_reduction_wish wish = wish_new(&made, day_of(2029, 9, 1));
    struct stv_reduction_future future = {1, tell, &made};
    struct stv_reduction reduction;
    struct stv_reduction_rules rules = rules_new(0.52);
    rules.least_abv20_frac = 0.53;
    assert_int_equal(stv_reduction_make(&rules, &wish, 1, &future, &reduction), STV_E_ARG);
    rules = rules_new(0.52);
    rules.with_abv20_frac = 0.52;
    assert_int_equal(stv_reduction_make(&rules, &wish, 1, &future, &reduction), STV_E_ARG);
    assert_null(reduction.plans);
    rules = rules_new(0.52);
    stv_assert_ok(stv_reduction_make(&rules, &wish, 0, &future, &reduction));
    assert_int_equal(reduction.n_plans, 0);
    stv_reduction_free(&reduction);
}

/* --- with the model's own casks ----------------------------------------------------------- */

struct store {
    struct stv_position place;
    double exposed_frac;
    struct stv_position_set set;
    struct stv_house_rules rules;
    struct stv_cask casks[2];
    struct stv_event events[3];
    struct stv_ledger ledger;
};

static void store_new(struct store *store, double rh_frac)
{
    const struct climate_of climate = {18.0, 10.0, 6.0, rh_frac, 0.1, 0.1, 0.0};
    *store = (struct store){.rules = stv_house_rules_default(), .exposed_frac = 1.0};
    store->place = place_new(2001, 8760, 0, &climate);
    store->place.error = (struct stv_climate_error){0.3, 0.03};
    store->set = (struct stv_position_set){&store->place, 1, &store->exposed_frac, 0, 0};
    for (int c = 0; c < 2; c++) {
        store->casks[c] = cask_new(c ? "b" : "a", c ? 225.0 : 200.0);
        store->events[c] = fill_new(day_of(2001, 3, 1), c, c ? 200.0 : 180.0, 0.60, (size_t)c);
        store->events[c].place = (struct stv_place){0, 0, c, 0};
    }
    store->ledger = (struct stv_ledger){store->casks, 2, store->events, 2};
}

static struct stv_outlook_request house_of(const struct store *store, size_t n_draws)
{
    return (struct stv_outlook_request){.ledger = &store->ledger,
                                        .set = &store->set,
                                        .rules = &store->rules,
                                        .options = {5, n_draws, 5.0, 0.0}};
}

/* The plan's water, put into the ledger by hand, gives the plan's end. */
static void the_outlook_bears_the_plan_out(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, 0.35);
    struct stv_outlook_request house = house_of(&store, 32);
    struct stv_reduction_rules rules = rules_new(0.55);
    rules.least_abv20_frac = 0.50;
    rules.most_steps = 2;
    rules.most_step_frac = 0.08;
    int64_t end_d = day_of(2005, 9, 1);
    struct stv_reduction_wish wishes[2];
    for (int c = 0; c < 2; c++) {
        wishes[c] = (struct stv_reduction_wish){.cask_idx = c,
                                                .from_day_d = day_of(2003, 6, 1),
                                                .end_day_d = end_d,
                                                .capacity_l = store.casks[c].geometry.capacity_l};
        stv_assert_ok(
            stv_reduction_hottest_c(&house, c, wishes[c].from_day_d, &wishes[c].hottest_c));
    }
    assert_true(wishes[0].hottest_c > 28.0 && wishes[0].hottest_c < 36.0);
    assert_true(wishes[1].hottest_c < wishes[0].hottest_c);
    struct stv_reduction reduction;
    stv_assert_ok(stv_reduction_of_house(&house, &rules, wishes, 2, &reduction));
    struct stv_event events[6];
    memcpy(events, store.events, 2 * sizeof *events);
    size_t n = 2;
    for (int c = 0; c < 2; c++) {
        assert_int_equal(reduction.plans[c].n_steps, 2);
        for (size_t s = 0; s < 2; s++) {
            events[n] = event_new(reduction.plans[c].steps[s].day_d, STV_EVENT_ADD_WATER, c, n);
            events[n++].water_kg = reduction.plans[c].steps[s].added_kg;
        }
    }
    store.ledger.events = events;
    store.ledger.n_events = n;
    stv_assert_ok(stv_ledger_sort(&store.ledger));
    struct stv_outlook outlook;
    house.days_d = &end_d;
    house.n_days = 1;
    stv_assert_ok(stv_outlook_run(&house, &outlook));
    for (size_t c = 0; c < 2; c++) {
        struct stv_range abv = stv_outlook_range(&outlook, c, 0, STV_Q_ABV20_FRAC);
        stv_assert_close(abv.p50, reduction.plans[c].end_abv20_frac.p50, 0.0, 2e-7);
        stv_assert_close(abv.p50, 0.55, 0.0, 1e-4);
        stv_assert_close(abv.p95, reduction.plans[c].end_abv20_frac.p95, 0.0, 2e-7);
        assert_true(reduction.plans[c].alone_abv20_frac.p50 > 0.60);
        /* Weaker spirit in the same wood loses less alcohol. */
        assert_true(reduction.plans[c].gain_bottles_nd.p05 > 0.0);
    }
    stv_outlook_free(&outlook);
    stv_reduction_free(&reduction);
    place_end(&store.place);
}

/* Six shares of 16 points begin with 8.68 kg: where that is not worth a walk, five larger ones do,
 * from the next month on; where no step is, the tank does it. */
static void steps_not_worth_a_walk_wait(void **state)
{
    (void)state;
    struct made_up made = made_up_new(185.0, 0.62);
    struct stv_reduction_rules rules = rules_new(0.46);
    struct stv_reduction_wish wish = wish_new(&made, day_of(2028, 3, 31));
    rules.least_step_kg = 9.0;
    struct stv_reduction reduction = reduce(&made, &rules, &wish);
    const struct stv_reduction_plan *plan = &reduction.plans[0];
    assert_int_equal(plan->n_put_off, 1);
    assert_int_equal(plan->n_steps, 5);
    assert_int_equal(plan->steps[0].day_d, day_of(2027, 11, 1));
    stv_assert_close(plan->steps[0].aim_abv20_frac, 0.62 - 0.16 / 5.0, 0.0, 1e-9);
    stv_assert_close(plan->end_abv20_frac.p50, 0.46, 0.0, 1e-6);
    for (size_t s = 0; s < plan->n_steps; s++)
        assert_true(plan->steps[s].added_kg >= 9.0);
    stv_reduction_free(&reduction);
    rules.least_step_kg = 200.0;
    reduction = reduce(&made, &rules, &wish);
    assert_int_equal(reduction.plans[0].n_steps, 0);
    assert_int_equal(reduction.plans[0].n_put_off, 6);
    assert_int_equal(reduction.plans[0].kind, STV_REDUCTION_TANK);
    stv_reduction_free(&reduction);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(six_equal_steps_without_evaporation),
        cmocka_unit_test(room_is_judged_at_the_hottest),
        cmocka_unit_test(what_evaporates_is_counted),
        cmocka_unit_test(summer_brings_it_back_where_it_may),
        cmocka_unit_test(a_month_under_way_counts_from_the_day),
        cmocka_unit_test(a_plan_that_falls_short_says_so),
        cmocka_unit_test(small_steps_become_fewer),
        cmocka_unit_test(a_trial_that_is_empty_gets_nothing),
        cmocka_unit_test(steps_not_worth_a_walk_wait),
        cmocka_unit_test(every_cask_is_told_why),
        cmocka_unit_test(reducing_spirit_brings_its_own),
        cmocka_unit_test(rules_that_cannot_be_are_refused),
        cmocka_unit_test(the_outlook_bears_the_plan_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
