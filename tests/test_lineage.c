/* The two histories: parts, woods, age, water and whose spirit it is, from ledgers small enough to
 * work out by hand; then one large enough to show what it costs. */
#include "model/lineage.h"
#include "tests/check.h"
#include "tests/places.h"

#include <math.h>
#include <time.h>

#define MOST_EVENTS 16
static const int64_t day0 = 19723; /* 2024-01-01 */
enum { A, B, C, D, N_CASKS };

struct house {
    struct stv_cask casks[N_CASKS];
    struct stv_event events[MOST_EVENTS];
    struct stv_ledger ledger;
    struct stv_lineage *lineage;
    struct stv_spirit_history spirit;
    struct stv_lineage_parts parts;
};

static void house_new(struct house *house)
{
    *house = (struct house){.casks = {cask_new("A", 200.0), cask_new("B", 200.0),
                                      cask_new("C", 50.0), cask_new("D", 500.0)}};
    house->casks[B].history = STV_WOOD_HELD_FORTIFIED;
    house->ledger = (struct stv_ledger){house->casks, N_CASKS, house->events, 0};
}

static struct stv_event *add(struct house *house, int day, enum stv_event_kind kind, int cask)
{
    size_t row = house->ledger.n_events++;
    house->events[row] = event_new(day0 + day, kind, cask, row);
    return &house->events[row];
}

static struct stv_event *pour(struct house *house, int day, enum stv_event_kind kind, int cask,
                              double litres)
{
    struct stv_event *event = add(house, day, kind, cask);
    event->volume20_l = litres;
    event->abv20_frac = 0.6;
    return event;
}

static struct stv_event *move_to(struct house *house, int day, int from, int to, double litres)
{
    struct stv_event *event = add(house, day, STV_EVENT_TRANSFER, from);
    event->other_idx = to;
    event->volume20_l = litres;
    return event;
}

static void house_end(struct house *house)
{
    stv_lineage_parts_free(&house->parts);
    stv_lineage_free(house->lineage);
    house->lineage = NULL;
}

/* Looks at a cask on a day; the ledger must be one that can be true. */
static void look(struct house *house, int cask, int day)
{
    size_t n_faults;
    house_end(house);
    stv_assert_ok(stv_ledger_sort(&house->ledger));
    stv_assert_ok(stv_ledger_check(&house->ledger, NULL, 0, &n_faults));
    stv_assert_ok(stv_lineage_new(&house->ledger, day0 + day, &house->lineage));
    house->spirit = stv_lineage_spirit(house->lineage, cask);
    if (house->spirit.is_there)
        stv_assert_ok(stv_lineage_held(house->lineage, cask, house->spirit.use_idx, &house->parts));
}

static void is_stay(const struct house *house, size_t i, int cask, const int days[2],
                    double share_frac, double mean_d)
{
    assert_true(i < house->parts.n_stays);
    const struct stv_wood_stay *stay = &house->parts.stays[i];
    assert_int_equal(stay->cask_idx, cask);
    assert_int_equal(stay->from_day_d, day0 + days[0]);
    assert_int_equal(stay->to_day_d, day0 + days[1]);
    stv_assert_close(stay->share_frac, share_frac, 1e-12, 0.0);
    stv_assert_close(stay->mean_d, mean_d, 1e-12, 0.0);
}

static void an_empty_cask_has_no_spirit(void **state)
{
    (void)state;
    struct house house;
    struct stv_lineage_parts parts;
    house_new(&house);
    pour(&house, 5, STV_EVENT_FILL, A, 190.0);
    look(&house, A, 4);
    assert_false(house.spirit.is_there);
    stv_assert_status(stv_lineage_held(house.lineage, A, 0, &parts), STV_E_ARG);
    look(&house, A, 5);
    assert_true(house.spirit.is_there);
    house_end(&house);
}

static void everything_into_an_empty_cask_stays_single(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    pour(&house, 0, STV_EVENT_FILL, A, 190.0);
    add(&house, 50, STV_EVENT_ADD_WATER, A)->water_kg = 8.0;
    move_to(&house, 100, A, B, NAN);
    add(&house, 200, STV_EVENT_ADD_WATER, B)->water_kg = 3.0;
    look(&house, B, 300);
    assert_true(house.spirit.is_single);
    assert_true(house.spirit.had_water);
    assert_false(house.spirit.had_top_up);
    stv_assert_close(house.spirit.water_kg, 11.0, 1e-12, 0.0);
    stv_assert_close(house.spirit.lpa_l, 114.0, 1e-12, 0.0);
    assert_int_equal(house.spirit.youngest.from_day_d, day0);
    assert_int_equal(house.spirit.youngest.to_day_d, day0);
    assert_int_equal(house.parts.n_parts, 1);
    assert_int_equal(house.parts.parts[0].event_idx, 0);
    stv_assert_close(house.parts.parts[0].share_frac, 1.0, 0.0, 0.0);
    assert_int_equal(house.parts.n_stays, 2);
    is_stay(&house, 0, A, (int[]){0, 100}, 1.0, 100.0);
    is_stay(&house, 1, B, (int[]){100, 300}, 1.0, 200.0);
    assert_false(house.parts.stays[0].is_now);
    assert_true(house.parts.stays[1].is_now);
    assert_int_equal(house.parts.stays[0].held_before, STV_WOOD_NEW);
    assert_int_equal(house.parts.stays[1].held_before, STV_WOOD_HELD_FORTIFIED);
    house_end(&house);
}

/* 100 L of A and 50 L of B, with B's water, meet in B. */
static void a_part_brings_its_history_along(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    pour(&house, 0, STV_EVENT_FILL, A, 190.0);
    add(&house, 10, STV_EVENT_SAMPLE, A)->volume20_l = 10.0;
    pour(&house, 40, STV_EVENT_FILL, B, 100.0)->day_width_d = 15.0;
    move_to(&house, 100, A, B, 90.0);
    look(&house, B, 250);
    assert_false(house.spirit.is_single);
    assert_int_equal(house.spirit.youngest.from_day_d, day0 + 25);
    assert_int_equal(house.spirit.youngest.to_day_d, day0 + 55);
    assert_int_equal(stv_day_span_middle(house.spirit.youngest), day0 + 40);
    assert_int_equal(stv_day_span_width_d(house.spirit.youngest), 15);
    stv_assert_close(house.spirit.lpa_l, 114.0, 1e-12, 0.0);
    assert_int_equal(house.parts.n_parts, 2);
    stv_assert_close(house.parts.parts[0].share_frac, 54.0 / 114.0, 1e-12, 0.0);
    stv_assert_close(house.parts.parts[1].share_frac, 60.0 / 114.0, 1e-12, 0.0);
    assert_int_equal(house.parts.parts[1].born.to_day_d, day0 + 55);
    is_stay(&house, 0, A, (int[]){0, 100}, 54.0 / 114.0, 100.0);
    is_stay(&house, 1, B, (int[]){40, 250}, 1.0, 150.0 + 60.0 * 60.0 / 114.0);
    look(&house, A, 250); /* what was left behind is as it was */
    assert_true(house.spirit.is_single);
    stv_assert_close(house.spirit.lpa_l, 54.0, 1e-12, 0.0);
    house_end(&house);
}

/* Half of A goes by C, half by B, and both meet in D: one fill by two ways is one part. */
static void one_fill_by_two_ways_is_one_part(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    pour(&house, 0, STV_EVENT_FILL, A, 100.0);
    add(&house, 5, STV_EVENT_ADD_WATER, A)->water_kg = 0.0;
    move_to(&house, 10, A, C, 25.0);
    move_to(&house, 20, A, B, NAN);
    move_to(&house, 30, C, D, NAN);
    move_to(&house, 50, B, D, NAN)->is_marriage = 1;
    look(&house, D, 60);
    assert_int_equal(house.parts.n_parts, 1);
    stv_assert_close(house.parts.parts[0].share_frac, 1.0, 1e-12, 0.0);
    assert_false(house.spirit.is_single);
    assert_int_equal(house.parts.n_stays, 4);
    is_stay(&house, 0, A, (int[]){0, 20}, 1.0, 0.25 * 10.0 + 0.75 * 20.0);
    is_stay(&house, 1, C, (int[]){10, 30}, 0.25, 20.0);
    is_stay(&house, 2, B, (int[]){20, 50}, 0.75, 30.0);
    is_stay(&house, 3, D, (int[]){30, 60}, 1.0, 0.25 * 30.0 + 0.75 * 10.0);
    house_end(&house);
}

static void topping_spirit_makes_it_young(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    pour(&house, 0, STV_EVENT_FILL, A, 150.0);
    struct stv_event *top_up = pour(&house, 400, STV_EVENT_TOP_UP, A, 30.0);
    top_up->abv20_frac = 0.2;
    look(&house, A, 399);
    assert_true(isnan(house.spirit.topping_least_abv20_frac));
    look(&house, A, 500);
    assert_true(house.spirit.is_single);
    assert_true(house.spirit.had_top_up);
    assert_int_equal(house.spirit.youngest.to_day_d, day0 + 400);
    stv_assert_close(house.spirit.topping_least_abv20_frac, 0.2, 0.0, 0.0);
    assert_int_equal(house.parts.n_parts, 2);
    stv_assert_close(house.parts.parts[1].share_frac, 6.0 / 96.0, 1e-12, 0.0);
    is_stay(&house, 0, A, (int[]){0, 500}, 1.0, (90.0 * 500.0 + 6.0 * 100.0) / 96.0);

    top_up = &house.events[1]; /* its age is said: older than the cask's own */
    top_up->age_d = 1000;
    top_up->age_width_d = 15.5;
    look(&house, A, 500);
    assert_int_equal(house.spirit.youngest.to_day_d, day0);
    assert_int_equal(house.spirit.topping.from_day_d, day0 - 600 - 16);
    assert_int_equal(house.spirit.topping.to_day_d, day0 - 600 + 16);
    move_to(&house, 600, A, B, 20.0); /* and it goes where the litres go */
    look(&house, B, 600);
    assert_true(house.spirit.had_top_up);
    assert_int_equal(house.spirit.topping.from_day_d, day0 - 616);
    house_end(&house);
}

/* The younger of two vague days lies between the later first and the later last day. */
static void vague_days_make_a_vague_youngest(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    pour(&house, 100, STV_EVENT_FILL, A, 90.0)->day_width_d = 90.0;
    pour(&house, 120, STV_EVENT_FILL, B, 90.0)->day_width_d = 10.0;
    move_to(&house, 300, A, B, NAN)->is_marriage = 1;
    look(&house, B, 300);
    assert_int_equal(house.spirit.youngest.from_day_d, day0 + 110);
    assert_int_equal(house.spirit.youngest.to_day_d, day0 + 190);
    house_end(&house);
}

static void shares_without_litres_are_not_known(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    add(&house, 0, STV_EVENT_FILL, A);
    pour(&house, 0, STV_EVENT_FILL, B, 100.0);
    move_to(&house, 10, A, B, 50.0);
    look(&house, B, 20);
    assert_true(isnan(house.spirit.lpa_l));
    stv_assert_close(house.spirit.water_kg, 0.0, 0.0, 0.0);
    assert_int_equal(house.parts.n_parts, 2);
    assert_true(isnan(house.parts.parts[0].share_frac));
    assert_int_equal(house.parts.n_stays, 2);
    house_end(&house);
}

/* Water follows the litres, and none of it stays behind in an emptied cask. */
static void water_follows_the_litres(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    pour(&house, 0, STV_EVENT_FILL, A, 100.0);
    add(&house, 50, STV_EVENT_ADD_WATER, A)->water_kg = 5.0;
    move_to(&house, 60, A, C, 0.3 * (100.0 + 5.0 * 1.0019));
    pour(&house, 65, STV_EVENT_FILL, B, 100.0);
    move_to(&house, 70, C, B, 10.0);
    add(&house, 90, STV_EVENT_EMPTY, A);
    pour(&house, 95, STV_EVENT_FILL, A, 100.0);
    look(&house, A, 49);
    assert_false(house.spirit.had_water);
    look(&house, A, 60);
    stv_assert_close(house.spirit.water_kg, 3.5, 1e-12, 0.0);
    look(&house, C, 60);
    stv_assert_close(house.spirit.water_kg, 1.5, 1e-12, 0.0);
    look(&house, B, 69);
    assert_false(house.spirit.had_water);
    look(&house, B, 70);
    assert_true(house.spirit.had_water);
    look(&house, A, 95); /* new spirit in the old wood */
    assert_false(house.spirit.had_water);
    stv_assert_close(house.spirit.water_kg, 0.0, 0.0, 0.0);
    assert_int_equal(house.spirit.youngest.from_day_d, day0 + 95);
    house_end(&house);
}

static void the_wood_has_a_life_of_its_own(void **state)
{
    (void)state;
    struct house house;
    struct stv_wood_life life;
    house_new(&house);
    pour(&house, 0, STV_EVENT_FILL, A, 100.0);
    pour(&house, 3, STV_EVENT_FILL, B, 100.0);
    move_to(&house, 60, A, D, NAN);
    move_to(&house, 60, B, A, NAN);
    add(&house, 200, STV_EVENT_EMPTY, A);
    look(&house, A, 100);
    is_stay(&house, 1, A, (int[]){60, 100}, 1.0, 40.0);
    assert_int_equal(house.parts.stays[1].use_idx, 1);
    assert_int_equal(house.parts.stays[1].held_before, STV_WOOD_HELD_SPIRIT);
    stv_assert_ok(stv_lineage_wood(house.lineage, A, &life));
    assert_int_equal(life.n_uses, 2);
    assert_true(life.empty_since_day_d == INT64_MAX);
    stv_wood_life_free(&life);
    stv_lineage_advance(house.lineage, day0 + 300);
    stv_lineage_advance(house.lineage, day0 + 100); /* nothing goes back */
    assert_false(stv_lineage_spirit(house.lineage, A).is_there);
    stv_assert_ok(stv_lineage_wood(house.lineage, A, &life));
    assert_int_equal(life.empty_since_day_d, day0 + 200);
    assert_int_equal(life.uses[0].event_idx, 0);
    assert_int_equal(life.uses[0].to_day_d, day0 + 60);
    assert_int_equal(life.uses[1].event_idx, 3);
    stv_wood_life_free(&life);
    stv_lineage_parts_free(&house.parts); /* what a use held that is over */
    stv_assert_ok(stv_lineage_held(house.lineage, A, 1, &house.parts));
    assert_int_equal(house.parts.n_parts, 1);
    assert_int_equal(house.parts.parts[0].event_idx, 1);
    is_stay(&house, 0, B, (int[]){3, 60}, 1.0, 57.0);
    is_stay(&house, 1, A, (int[]){60, 200}, 1.0, 140.0);
    assert_false(house.parts.stays[1].is_now);
    stv_assert_ok(stv_lineage_wood(house.lineage, C, &life));
    assert_int_equal(life.n_uses, 0);
    assert_true(life.empty_since_day_d == INT64_MIN);
    stv_wood_life_free(&life);
    house_end(&house);
}

static void is_at(struct house *house, int cask, int day, int tier_idx)
{
    look(house, cask, day);
    struct stv_place place = stv_lineage_place(house->lineage, cask);
    assert_int_equal(place.warehouse_idx, tier_idx < 0 ? -1 : 0);
    assert_int_equal(place.tier_idx, tier_idx);
}

static void is_full(struct house *house, int cask, int day, int is_there)
{
    look(house, cask, 500);
    assert_int_equal(stv_ledger_is_full(&house->ledger, cask, day0 + day), is_there);
}

static void places_follow_the_cask(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    add(&house, 0, STV_EVENT_MOVE, A)->place = (struct stv_place){0, 3, -1, -1};
    pour(&house, 2, STV_EVENT_FILL, A, 195.0); /* no place said: where the empty cask stood */
    add(&house, 5, STV_EVENT_MOVE, A)->place = (struct stv_place){0, 4, -1, -1};
    move_to(&house, 9, A, B, NAN)->place = (struct stv_place){0, 1, -1, -1};
    pour(&house, 11, STV_EVENT_FILL, A, 190.0);
    is_at(&house, A, -1, -1);
    is_at(&house, A, 0, 3);
    is_at(&house, A, 2, 3);
    is_at(&house, A, 4, 3);
    is_at(&house, A, 5, 4);
    is_at(&house, B, 8, -1);
    is_at(&house, B, 9, 1);
    is_at(&house, A, 9, -1);
    is_at(&house, A, 11, -1);
    assert_int_equal(house.spirit.begin_idx, 4);
    is_full(&house, A, 1, 0);
    is_full(&house, A, 2, 1);
    is_full(&house, A, 8, 1);
    is_full(&house, A, 9, 0);
    is_full(&house, A, 10, 0);
    is_full(&house, A, 11, 1);
    is_full(&house, B, 8, 0);
    is_full(&house, B, 400, 1);
    is_full(&house, C, 400, 0);
    house_end(&house);
}

static void ages_are_whole_years_and_days(void **state)
{
    (void)state;
    static const struct {
        struct stv_date from, to;
        int years, days;
    } ages[] = {
        {{2021, 3, 14}, {2024, 3, 14}, 3, 0},  {{2021, 3, 14}, {2024, 3, 13}, 2, 365},
        {{2021, 3, 14}, {2024, 3, 26}, 3, 12}, {{2020, 2, 29}, {2023, 2, 28}, 2, 364},
        {{2020, 2, 29}, {2023, 3, 1}, 3, 0},   {{2020, 2, 29}, {2024, 2, 29}, 4, 0},
        {{2023, 12, 30}, {2024, 1, 2}, 0, 3},  {{2024, 1, 2}, {2024, 1, 2}, 0, 0},
        {{2024, 1, 2}, {2023, 1, 2}, 0, 0},
    };
    for (size_t i = 0; i < sizeof ages / sizeof *ages; i++) {
        struct stv_age age =
            stv_age_between(stv_day_from_date(ages[i].from), stv_day_from_date(ages[i].to));
        assert_int_equal(age.years, ages[i].years);
        assert_int_equal(age.days, ages[i].days);
    }
}

/* The same rows in another order of the file give the same history, as long as rows of one day
 * leave one order that can be. */
static void the_order_of_rows_does_not_matter(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    pour(&house, 0, STV_EVENT_FILL, A, 190.0);
    add(&house, 0, STV_EVENT_SAMPLE, A)->volume20_l = 1.0;
    pour(&house, 3, STV_EVENT_FILL, B, 180.0);
    move_to(&house, 60, A, D, NAN);
    move_to(&house, 60, B, A, NAN);
    move_to(&house, 90, A, D, NAN)->is_marriage = 1;
    pour(&house, 90, STV_EVENT_FILL, A, 195.0);
    add(&house, 120, STV_EVENT_ADD_WATER, D)->water_kg = 4.0;
    look(&house, D, 200);
    struct stv_spirit_history want = house.spirit;
    stv_assert_close(want.lpa_l, 0.6 * 369.0, 1e-12, 0.0);
    size_t n = house.ledger.n_events;
    unsigned chance = 1;
    for (int turn = 0; turn < 200; turn++) {
        for (size_t i = n - 1; i > 0; i--) {
            chance = chance * 1103515245u + 12345u;
            size_t k = (chance >> 16) % (i + 1);
            struct stv_event swapped = house.events[i];
            house.events[i] = house.events[k];
            house.events[k] = swapped;
        }
        for (size_t i = 0; i < n; i++)
            house.events[i].row = i + 2;
        look(&house, D, 200);
        stv_assert_close(house.spirit.lpa_l, want.lpa_l, 1e-12, 0.0);
        assert_int_equal(house.spirit.youngest.to_day_d, want.youngest.to_day_d);
        assert_int_equal(house.parts.n_parts, 2);
        is_stay(&house, 0, A, (int[]){0, 60}, 189.0 / 369.0, 60.0);
        is_stay(&house, 1, B, (int[]){3, 60}, 180.0 / 369.0, 57.0);
    }
    house_end(&house);
}

/* A house of 50 000 casks: each is filled, watered and topped up, or half of it goes into its
 * neighbour.  One walk and a look at every cask take a fraction of a second; were the cost to grow
 * with casks times events it would be hours. */
static void a_large_house_is_walked_once(void **state)
{
    (void)state;
    const size_t n_casks = 50000, n_events = 4 * n_casks;
    struct stv_ledger ledger = {calloc(n_casks, sizeof(struct stv_cask)), n_casks,
                                calloc(n_events, sizeof(struct stv_event)), n_events};
    assert_non_null(ledger.casks);
    assert_non_null(ledger.events);
    struct stv_cask cask = cask_new("x", 200.0);
    for (size_t c = 0; c < n_casks; c++) {
        struct stv_event *events = &ledger.events[4 * c];
        int idx = (int)c;
        ledger.casks[c] = cask;
        events[0] = fill_new(day0 + idx % 500, idx, 180.0, 0.6, 4 * c);
        events[0].place = (struct stv_place){0, idx % 10, idx / 10, 0};
        events[1] = event_new(day0 + 600, STV_EVENT_ADD_WATER, idx, 4 * c + 1);
        events[1].water_kg = 5.0;
        events[2] = event_new(day0 + 700 + idx % 50, STV_EVENT_TRANSFER, idx, 4 * c + 2);
        events[2].other_idx = idx % 2 ? idx - 1 : idx + 1;
        events[2].volume20_l = 60.0;
        events[3] = event_new(day0 + 800, STV_EVENT_TOP_UP, idx, 4 * c + 3);
        events[3].volume20_l = 10.0;
        events[3].abv20_frac = 0.6;
    }
    clock_t start = clock();
    size_t n_faults, n_parts = 0;
    struct stv_lineage *lineage;
    stv_assert_ok(stv_ledger_sort(&ledger));
    stv_assert_ok(stv_ledger_check(&ledger, NULL, 0, &n_faults));
    stv_assert_ok(stv_lineage_new(&ledger, day0 + 900, &lineage));
    for (size_t c = 0; c < n_casks; c++) {
        struct stv_lineage_parts parts;
        stv_assert_ok(stv_lineage_held(lineage, (int)c, 0, &parts));
        n_parts += parts.n_parts;
        stv_lineage_parts_free(&parts);
    }
    double took_s = (double)(clock() - start) / CLOCKS_PER_SEC;
    print_message("50000 casks, 200000 events: sorted, checked, walked, all parts told in %.2f s\n",
                  took_s);
    assert_int_equal(n_parts, 3 * n_casks);
    assert_true(took_s < 20.0); /* sanitizers and a busy machine included */
    stv_lineage_free(lineage);
    stv_ledger_free(&ledger);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_empty_cask_has_no_spirit),
        cmocka_unit_test(everything_into_an_empty_cask_stays_single),
        cmocka_unit_test(a_part_brings_its_history_along),
        cmocka_unit_test(one_fill_by_two_ways_is_one_part),
        cmocka_unit_test(topping_spirit_makes_it_young),
        cmocka_unit_test(vague_days_make_a_vague_youngest),
        cmocka_unit_test(shares_without_litres_are_not_known),
        cmocka_unit_test(water_follows_the_litres),
        cmocka_unit_test(the_wood_has_a_life_of_its_own),
        cmocka_unit_test(places_follow_the_cask),
        cmocka_unit_test(ages_are_whole_years_and_days),
        cmocka_unit_test(the_order_of_rows_does_not_matter),
        cmocka_unit_test(a_large_house_is_walked_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
