/* Every contradiction by name, and what the ledger alone knows of a cask. */
#include "model/ledger.h"
#include "tests/places.h"

#define MAX_FAULTS 8

static const int64_t day0 = 19723; /* 2024-01-01 */

/* Three casks: A and B of 200 L, C of 50 L. */
struct house {
    struct stv_cask casks[3];
    struct stv_event events[16];
    struct stv_ledger ledger;
    struct stv_ledger_fault faults[MAX_FAULTS];
    size_t n_faults;
};

static void house_new(struct house *house)
{
    *house =
        (struct house){.casks = {cask_new("A", 200.0), cask_new("B", 200.0), cask_new("C", 50.0)}};
    house->ledger = (struct stv_ledger){house->casks, 3, house->events, 0};
}

static struct stv_event *add(struct house *house, int day, enum stv_event_kind kind, int cask)
{
    size_t row = house->ledger.n_events++;
    house->events[row] = event_new(day0 + day, kind, cask, row);
    return &house->events[row];
}

static struct stv_event *add_fill(struct house *house, int day, int cask, double litres)
{
    struct stv_event *fill = add(house, day, STV_EVENT_FILL, cask);
    fill->volume20_l = litres;
    fill->abv20_frac = 0.61;
    return fill;
}

static struct stv_event *add_transfer(struct house *house, int day, int from, int to, double litres)
{
    struct stv_event *transfer = add(house, day, STV_EVENT_TRANSFER, from);
    transfer->other_idx = to;
    transfer->volume20_l = litres;
    return transfer;
}

static enum stv_status check(struct house *house)
{
    return stv_ledger_check(&house->ledger, house->faults, MAX_FAULTS, &house->n_faults);
}

/* One fault, at an event, that says so. */
static void one_fault(struct house *house, size_t event_idx, const char *says)
{
    stv_assert_status(check(house), STV_E_CONSISTENCY);
    assert_int_equal(house->n_faults, 1);
    assert_int_equal(house->faults[0].event_idx, event_idx);
    assert_non_null(strstr(house->faults[0].why, says));
}

static void a_true_history(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    stv_assert_ok(check(&house)); /* empty */
    add_fill(&house, 0, 0, 195.0);
    add(&house, 30, STV_EVENT_SAMPLE, 0)->volume20_l = 0.35;
    add(&house, 60, STV_EVENT_ADD_WATER, 0)->water_kg = 10.0;
    add_transfer(&house, 90, 0, 2, 48.0);
    add_transfer(&house, 120, 0, 1, NAN);
    add(&house, 125, STV_EVENT_REJUVENATE, 0);
    add_fill(&house, 130, 0, 198.0);
    add(&house, 140, STV_EVENT_LEAK_STOPPED, 0);
    add(&house, 150, STV_EVENT_TOP_UP, 1)->volume20_l = 20.0;
    add(&house, 160, STV_EVENT_EMPTY, 2);
    stv_assert_ok(check(&house));
    assert_int_equal(house.n_faults, 0);
}

static void fill_of_a_full_cask(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    add_fill(&house, 0, 0, 195.0);
    add_fill(&house, 9, 0, 195.0);
    one_fault(&house, 1, "cask A is already full");
}

static void more_than_the_cask_holds(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    add_fill(&house, 0, 2, 50.1);
    one_fault(&house, 0, "50.1 L do not go into cask C of 50 L");

    house_new(&house);
    add_fill(&house, 0, 0, 195.0);
    add_transfer(&house, 5, 0, 2, 51.0);
    one_fault(&house, 1, "51 L do not go into cask C of 50 L");

    house_new(&house);
    add_fill(&house, 0, 2, 40.0);
    add(&house, 5, STV_EVENT_TOP_UP, 2)->volume20_l = 60.0;
    one_fault(&house, 1, "60 L do not go into cask C of 50 L");

    house_new(&house);
    add_fill(&house, 0, 2, 40.0);
    add(&house, 5, STV_EVENT_ADD_WATER, 2)->water_kg = 61.0;
    one_fault(&house, 1, "61 kg of water do not go into cask C of 50 L");
}

static void out_of_an_empty_cask(void **state)
{
    (void)state;
    static const enum stv_event_kind kinds[] = {STV_EVENT_ADD_WATER, STV_EVENT_TOP_UP,
                                                STV_EVENT_SAMPLE, STV_EVENT_LEAK_STOPPED,
                                                STV_EVENT_EMPTY};
    struct house house;
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        house_new(&house);
        struct stv_event *event = add(&house, 3, kinds[i], 1);
        event->volume20_l = 1.0;
        event->water_kg = 1.0;
        one_fault(&house, 0, "cask B is empty on that day");
        assert_non_null(strstr(house.faults[0].why, stv_event_kind_name(kinds[i])));
    }
    house_new(&house);
    add_transfer(&house, 3, 1, 0, NAN);
    one_fault(&house, 0,
              "cask B is empty on that day, never filled in this book; nothing to transfer");

    house_new(&house); /* before its first fill */
    add(&house, 3, STV_EVENT_SAMPLE, 1)->volume20_l = 0.5;
    add_fill(&house, 31, 1, 190.0);
    one_fault(&house, 0, "is empty on that day, first filled on 2024-02-01; nothing to sample");

    house_new(&house); /* emptied before */
    add_fill(&house, 0, 1, 190.0);
    add_transfer(&house, 3, 1, 0, NAN);
    add(&house, 4, STV_EVENT_SAMPLE, 1)->volume20_l = 0.5;
    one_fault(&house, 2, "cask B is empty on that day");
}

static void more_than_was_ever_there(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    add_fill(&house, 0, 0, 120.0);
    add_transfer(&house, 3, 0, 1, 121.0);
    one_fault(&house, 1, "cask A never held 121 L");

    house_new(&house);
    add_fill(&house, 0, 0, 120.0);
    add(&house, 3, STV_EVENT_SAMPLE, 0)->volume20_l = 140.0;
    one_fault(&house, 1, "cask A never held 140 L");
    house_new(&house); /* and what comes after is not blamed for it */
    add_fill(&house, 0, 0, 120.0);
    add(&house, 3, STV_EVENT_SAMPLE, 0)->volume20_l = 140.0;
    add(&house, 4, STV_EVENT_SAMPLE, 0)->volume20_l = 0.5;
    one_fault(&house, 1, "cask A never held 140 L");

    house_new(&house); /* with the water it did */
    add_fill(&house, 0, 0, 120.0);
    add(&house, 2, STV_EVENT_ADD_WATER, 0)->water_kg = 25.0;
    add_transfer(&house, 3, 0, 1, 143.0);
    stv_assert_ok(check(&house));
    house.events[2].volume20_l = 145.2;
    one_fault(&house, 2, "cask A never held 145.2 L");
}

static void transfers_that_cannot_be(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    add_fill(&house, 0, 0, 120.0);
    add_transfer(&house, 3, 0, 0, 10.0);
    one_fault(&house, 1, "cask A cannot be transferred into itself");

    house_new(&house);
    add_fill(&house, 0, 0, 120.0);
    add_fill(&house, 0, 1, 120.0);
    add_transfer(&house, 3, 0, 1, NAN);
    one_fault(&house, 2, "cask B is already full; say how many litres go in");
    house.events[2].volume20_l = 60.0; /* said */
    stv_assert_ok(check(&house));
}

static void marriages_need_two_spirits(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    add_fill(&house, 0, 0, 90.0);
    add_fill(&house, 0, 1, 90.0);
    add_transfer(&house, 3, 0, 1, NAN)->is_marriage = 1;
    stv_assert_ok(check(&house));
    assert_false(stv_ledger_is_full(&house.ledger, 0, day0 + 3));
    assert_true(stv_ledger_is_full(&house.ledger, 1, day0 + 3));
    house.events[2].volume20_l = 91.0;
    one_fault(&house, 2, "cask A never held 91 L");
    house.events[2].volume20_l = 20.0; /* a part */
    stv_assert_ok(check(&house));
    house.events[2].other_idx = 2;
    one_fault(&house, 2, "cask C is empty on that day: a transfer fills it");

    house_new(&house);
    add_fill(&house, 0, 1, 90.0);
    add_transfer(&house, 3, 0, 1, NAN)->is_marriage = 1;
    one_fault(&house, 1, "nothing to marry");
}

/* On one day nothing can have evaporated; a year later nobody knows. */
static void more_than_goes_in_on_one_day(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    add_fill(&house, 0, 0, 195.0);
    add_fill(&house, 0, 1, 195.0);
    add_transfer(&house, 0, 0, 1, 50.0);
    one_fault(&house, 2, "195 L went into cask B that day before; 50 L more do not go into its");
    house.events[2].volume20_l = NAN;
    house.events[2].is_marriage = 1;
    one_fault(&house, 2, "195 L more do not go into its 200 L");
    house.events[2].volume20_l = 5.0;
    stv_assert_ok(check(&house));
    house.events[2].volume20_l = 50.0;
    house.events[2].day_d++;
    stv_assert_ok(check(&house));

    house_new(&house); /* taken out before */
    add_fill(&house, 0, 0, 195.0);
    add_fill(&house, 0, 1, 195.0);
    add_transfer(&house, 0, 1, 2, 48.0);
    add_transfer(&house, 0, 0, 1, 50.0);
    stv_assert_ok(check(&house));
    house.events[2].day_width_d = 15.0; /* perhaps before */
    stv_assert_ok(check(&house));
    house.events[2].volume20_l = 8.0;
    house.events[2].day_width_d = 0.0;
    one_fault(&house, 3, "187 L went into cask B that day before");

    house_new(&house); /* emptied and filled again; water and strong spirit shrink */
    add_fill(&house, 0, 0, 195.0);
    add(&house, 0, STV_EVENT_EMPTY, 0);
    add_fill(&house, 0, 0, 150.0);
    add(&house, 0, STV_EVENT_ADD_WATER, 0)->water_kg = 56.0;
    stv_assert_ok(check(&house));
    house.events[3].water_kg = 60.0;
    one_fault(&house, 3, "150 L went into cask A that day before; 60 L more");
}

static void moves_of_a_cask_never_filled(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    add_fill(&house, 9, 0, 195.0);
    add(&house, 3, STV_EVENT_MOVE, 0);
    add(&house, 4, STV_EVENT_MOVE, 1);
    stv_assert_ok(stv_ledger_sort(&house.ledger));
    one_fault(&house, 1, "cask B is never filled: write its fill, or leave the move out");
}

/* Among many casks too, each fault names the one that lies there. */
static void places_of_a_large_house(void **state)
{
    (void)state;
    enum { N = 4000 };
    struct stv_cask *casks = calloc(N, sizeof *casks);
    struct stv_event *events = calloc(N, sizeof *events);
    assert_non_null(casks);
    assert_non_null(events);
    struct stv_ledger ledger = {casks, N, events, N};
    for (int c = 0; c < N; c++) {
        casks[c] = cask_new("", 200.0);
        snprintf(casks[c].id, sizeof casks[c].id, "%d", c);
        events[c] = fill_new(day0, c, 195.0, 0.6, (size_t)c);
        events[c].place = (struct stv_place){c % 3, c % 7, c / 21, (c / 3) % 7};
    }
    struct stv_ledger_fault faults[MAX_FAULTS];
    size_t n_faults;
    stv_assert_ok(stv_ledger_check(&ledger, faults, MAX_FAULTS, &n_faults));
    events[2345].place = events[17].place;
    stv_assert_status(stv_ledger_check(&ledger, faults, MAX_FAULTS, &n_faults), STV_E_CONSISTENCY);
    assert_int_equal(n_faults, 2); /* all on one day, so each of the two is in the other's way */
    assert_non_null(strstr(faults[0].why, "cask 2345 lies there already"));
    assert_non_null(strstr(faults[1].why, "cask 17 lies there already"));
    stv_ledger_free(&ledger);
}

static void two_casks_in_one_place(void **state)
{
    (void)state;
    const struct stv_place here = {0, 2, 4, 1}, there = {0, 2, 4, 0}, floor = {0, 2, -1, -1};
    struct house house;
    house_new(&house);
    add_fill(&house, 0, 0, 195.0)->place = here;
    add_fill(&house, 3, 1, 195.0)->place = here;
    one_fault(&house, 1, "cask A lies there already; two casks in one place");

    house.events[1].place = there; /* one behind the other */
    stv_assert_ok(check(&house));
    house.events[0].place = house.events[1].place = floor; /* no bay said */
    stv_assert_ok(check(&house));

    house_new(&house); /* a move, and a transfer that brings the receiver there */
    add_fill(&house, 0, 0, 195.0)->place = here;
    add_fill(&house, 0, 1, 195.0)->place = there;
    add(&house, 8, STV_EVENT_MOVE, 1)->place = here;
    one_fault(&house, 2, "cask A lies there already");
    house_new(&house);
    add_fill(&house, 0, 0, 195.0)->place = here;
    add_fill(&house, 0, 1, 45.0)->place = there;
    add_transfer(&house, 8, 1, 2, NAN)->place = here;
    one_fault(&house, 2, "cask A lies there already");
    house.events[2].place = there; /* the emptied cask made room */
    stv_assert_ok(check(&house));
}

static void places_exchanged_within_a_day(void **state)
{
    (void)state;
    const struct stv_place here = {0, 2, 4, 1}, there = {0, 2, 4, 0};
    struct house house;
    house_new(&house);
    add_fill(&house, 0, 0, 195.0)->place = here;
    add_fill(&house, 0, 1, 195.0)->place = there;
    add(&house, 50, STV_EVENT_MOVE, 0)->place = there;
    add(&house, 50, STV_EVENT_MOVE, 1)->place = here;
    stv_assert_ok(check(&house));
    house.events[3].day_d++; /* a night in one place */
    one_fault(&house, 2, "cask B lies there already");
}

static void all_faults_are_counted(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    for (int i = 0; i < 12; i++)
        add(&house, i, STV_EVENT_EMPTY, 0);
    stv_assert_status(check(&house), STV_E_CONSISTENCY);
    assert_int_equal(house.n_faults, 12);
    assert_int_equal(house.faults[MAX_FAULTS - 1].event_idx, MAX_FAULTS - 1);
    stv_assert_status(stv_ledger_check(&house.ledger, NULL, 0, &house.n_faults), STV_E_CONSISTENCY);
    assert_int_equal(house.n_faults, 12);
}

static void sorted_by_day_then_row(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    add(&house, 9, STV_EVENT_SAMPLE, 0);
    add(&house, 3, STV_EVENT_MOVE, 0);
    add(&house, 3, STV_EVENT_TOP_UP, 0);
    add(&house, 0, STV_EVENT_FILL, 0);
    stv_assert_ok(stv_ledger_sort(&house.ledger));
    static const enum stv_event_kind want[] = {STV_EVENT_FILL, STV_EVENT_MOVE, STV_EVENT_TOP_UP,
                                               STV_EVENT_SAMPLE};
    for (int i = 0; i < 4; i++)
        assert_int_equal(house.events[i].kind, want[i]);
    assert_string_equal(stv_event_kind_name(STV_EVENT_ADD_WATER), "add water");
    assert_string_equal(stv_event_kind_name(STV_EVENT_N), "unknown event");
}

static void one_day_in_an_order_that_can_be(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    add_fill(&house, 0, 0, 190.0);
    /* Newest first: the new fill of A, the transfer that made room for it, a sample after both. */
    add(&house, 5, STV_EVENT_SAMPLE, 1)->volume20_l = 0.5;
    add_fill(&house, 5, 0, 195.0);
    add_transfer(&house, 5, 0, 1, NAN);
    stv_assert_ok(stv_ledger_sort(&house.ledger));
    static const enum stv_event_kind want[] = {STV_EVENT_FILL, STV_EVENT_TRANSFER, STV_EVENT_SAMPLE,
                                               STV_EVENT_FILL};
    for (int i = 0; i < 4; i++)
        assert_int_equal(house.events[i].kind, want[i]);
    stv_assert_ok(check(&house));
    house_new(&house); /* where both orders can be the file's is kept */
    add_fill(&house, 0, 0, 190.0);
    add(&house, 5, STV_EVENT_ADD_WATER, 0)->water_kg = 4.0;
    add(&house, 5, STV_EVENT_SAMPLE, 0)->volume20_l = 0.5;
    stv_assert_ok(stv_ledger_sort(&house.ledger));
    assert_int_equal(house.events[1].kind, STV_EVENT_ADD_WATER);
}

/* A cask is moved before its fill, on its day, after it, and once it was emptied. */
static void moves_of_empty_casks_are_found(void **state)
{
    (void)state;
    struct house house;
    size_t found[16], n;
    house_new(&house);
    add(&house, 0, STV_EVENT_MOVE, 0);
    add(&house, 5, STV_EVENT_MOVE, 0);
    add_fill(&house, 5, 0, 195.0);
    add(&house, 6, STV_EVENT_MOVE, 0);
    add(&house, 6, STV_EVENT_MOVE, 1);
    add(&house, 9, STV_EVENT_EMPTY, 0);
    add(&house, 20, STV_EVENT_MOVE, 0);
    stv_assert_ok(stv_ledger_empty_moves(&house.ledger, found, &n));
    assert_int_equal(n, 3);
    assert_int_equal(found[0], 0);
    assert_int_equal(found[1], 4);
    assert_int_equal(found[2], 6);
}

/* A part holds what its casks exchange spirit with, whichever way it went, and nothing else. */
static void parts_hold_what_they_depend_on(void **state)
{
    (void)state;
    struct house house;
    house_new(&house);
    add_fill(&house, 0, 0, 190.0);
    add_fill(&house, 0, 1, 190.0);
    add_fill(&house, 0, 2, 190.0);
    add_transfer(&house, 10, 0, 2, 5.0);
    struct stv_ledger part;
    int idx_of[16];
    const int wanted = 2;
    assert_true(house.ledger.n_casks <= 16);
    stv_assert_ok(stv_ledger_sort(&house.ledger));
    stv_assert_ok(stv_ledger_part(&house.ledger, &wanted, 1, &part, idx_of));
    assert_int_equal(part.n_casks, 2);
    assert_int_equal(part.n_events, 3);
    assert_int_equal(idx_of[0], 0);
    assert_int_equal(idx_of[1], -1);
    assert_int_equal(idx_of[2], 1);
    assert_int_equal(part.events[2].cask_idx, 0);
    assert_int_equal(part.events[2].other_idx, 1);
    stv_ledger_free(&part);
    stv_assert_ok(stv_ledger_part(&house.ledger, &wanted, 0, &part, idx_of));
    assert_int_equal(part.n_casks, 0);
    stv_ledger_free(&part);
}

static void freed_ledgers_are_empty(void **state)
{
    (void)state;
    struct stv_ledger ledger = {calloc(1, sizeof(struct stv_cask)), 1,
                                calloc(1, sizeof(struct stv_event)), 1};
    stv_ledger_free(&ledger);
    assert_null(ledger.casks);
    assert_int_equal(ledger.n_events, 0);
    stv_assert_ok(stv_ledger_sort(&ledger));
    stv_ledger_free(&ledger);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_true_history),
        cmocka_unit_test(fill_of_a_full_cask),
        cmocka_unit_test(more_than_the_cask_holds),
        cmocka_unit_test(out_of_an_empty_cask),
        cmocka_unit_test(more_than_was_ever_there),
        cmocka_unit_test(transfers_that_cannot_be),
        cmocka_unit_test(marriages_need_two_spirits),
        cmocka_unit_test(more_than_goes_in_on_one_day),
        cmocka_unit_test(moves_of_a_cask_never_filled),
        cmocka_unit_test(places_of_a_large_house),
        cmocka_unit_test(one_day_in_an_order_that_can_be),
        cmocka_unit_test(two_casks_in_one_place),
        cmocka_unit_test(places_exchanged_within_a_day),
        cmocka_unit_test(all_faults_are_counted),
        cmocka_unit_test(sorted_by_day_then_row),
        cmocka_unit_test(moves_of_empty_casks_are_found),
        cmocka_unit_test(parts_hold_what_they_depend_on),
        cmocka_unit_test(freed_ledgers_are_empty),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
