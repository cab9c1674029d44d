/* Casks chosen for planned bottlings in made-up draws: against every choice there is, and against
 * figures worked out by hand. */
#include "model/bottling_parts.h"
#include "model/bottling_plan.h"
#include "tests/places.h"

#define N_CASKS 8
#define N_DRAWS 20
#define N_DAYS 4

struct book {
    struct stv_outlook outlook;
    struct stv_cask casks[N_CASKS];
    struct stv_event events[N_CASKS + 2];
    struct stv_ledger ledger;
    struct stv_house_rules rules;
    size_t lots[N_CASKS];
    struct stv_planned_bottling wishes[3];
    struct stv_bottling_plan_request request;
};

static double *cell(struct book *book, size_t cask, size_t day, enum stv_quantity quantity)
{
    return book->outlook.values + ((cask * N_DAYS + day) * STV_Q_N + quantity) * N_DRAWS;
}

/* A cask from a day on, in one draw. */
static void set_from(struct book *book, size_t cask, size_t day, size_t draw, const double told[3])
{
    for (size_t i = day; i < N_DAYS; i++) {
        cell(book, cask, i, STV_Q_VOLUME20_L)[draw] = told[0];
        cell(book, cask, i, STV_Q_ABV20_FRAC)[draw] = told[1];
        cell(book, cask, i, STV_Q_LPA_L)[draw] = told[0] * told[1];
        cell(book, cask, i, STV_Q_WOOD_INDEX_ND)[draw] = told[2];
    }
}

static void set_all(struct book *book, size_t cask, double volume, double abv, double wood)
{
    const double told[3] = {volume, abv, wood};
    for (size_t d = 0; d < N_DRAWS; d++)
        set_from(book, cask, 0, d, told);
}

/* Days: today, a year on, two, three.  Casks are alike and good; one wish: two single casks. */
static void book_new(struct book *book)
{
    *book = (struct book){.rules = stv_house_rules_default()};
    book->outlook = (struct stv_outlook){.n_casks = N_CASKS, .n_days = N_DAYS, .n_draws = N_DRAWS};
    book->outlook.days_d = calloc(N_DAYS, sizeof(int64_t));
    book->outlook.values = room_for((size_t)N_CASKS * N_DAYS * STV_Q_N * N_DRAWS);
    assert_non_null(book->outlook.days_d);
    for (int d = 0; d < N_DAYS; d++)
        book->outlook.days_d[d] = day_of(2027 + d, 11, 1);
    for (int c = 0; c < N_CASKS; c++) {
        char id[8];
        snprintf(id, sizeof id, "%d", c + 1);
        book->casks[c] = cask_new(id, 200.0);
        book->events[c] = fill_new(day_of(2022, 11, 1), c, 190.0, 0.60, (size_t)c);
        book->lots[c] = SIZE_MAX;
        set_all(book, (size_t)c, 140.0, 0.55, 1.0);
    }
    book->ledger = (struct stv_ledger){book->casks, N_CASKS, book->events, N_CASKS};
    book->wishes[0] = (struct stv_planned_bottling){.day_d = book->outlook.days_d[1],
                                                    .n_casks = 2,
                                                    .least_abv20_frac = 0.49,
                                                    .most_abv20_frac = 0.52};
    book->request = (struct stv_bottling_plan_request){.outlook = &book->outlook,
                                                       .ledger = &book->ledger,
                                                       .rules = &book->rules,
                                                       .wishes = book->wishes,
                                                       .n_wishes = 1,
                                                       .least_bottles_nd = 60.0,
                                                       .lot_of_cask = book->lots};
}

static void book_end(struct book *book)
{
    stv_outlook_free(&book->outlook);
}

static struct stv_bottling_plan plan_of(const struct book *book)
{
    struct stv_bottling_plan plan;
    stv_assert_ok(stv_bottling_plan(&book->request, &plan));
    assert_int_equal(plan.n, book->request.n_wishes);
    return plan;
}

/* 140 L at 55 % are 77 L of alcohol: 207.31 bottles of 70 cl at 52 % after 2 %. */
static void bottles_by_hand(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    book.wishes[0].kept_back_nd = 6.0;
    struct stv_bottling_plan plan = plan_of(&book);
    const struct stv_bottling_outcome *outcome = &plan.outcomes[0];
    assert_int_equal(outcome->n_casks, 2);
    stv_assert_close(outcome->casks[0].bottles_nd.p50, 77.0 * 0.98 / (0.52 * 0.70), 1e-12, 0.0);
    stv_assert_close(outcome->bottles_nd.p50, 402.0, 0.0, 0.0); /* twice 207 less 6, whole */
    stv_assert_close(outcome->kept_back_nd, 12.0, 0.0, 0.0);
    stv_assert_close(outcome->lost_bottles_nd, 2.0 * 77.0 * 0.02 / (0.52 * 0.70), 1e-9, 0.0);
    stv_assert_close(outcome->all_frac, 1.0, 1e-12, 0.0);
    assert_int_equal(outcome->n_could_serve, 8);
    assert_int_equal(outcome->n_left, 6);
    stv_assert_close(outcome->house_bottles_nd, 8.0 * 77.0 * 0.98 / (0.52 * 0.70), 1e-12, 0.0);
    assert_int_equal(outcome->youngest_age_y, 6);
    assert_true(outcome->gets_water && !outcome->had_water && outcome->may_say_single);
    assert_true(outcome->casks[0].is_tie); /* all are alike */
    stv_assert_close(outcome->casks[0].substitute_bottles_nd, 0.0, 0.0, 1e-12);
    stv_bottling_plan_free(&plan);
    book.wishes[0].is_married = 1; /* 154 L of alcohol, 6 kept back once: 408.6 */
    plan = plan_of(&book);
    stv_assert_close(plan.outcomes[0].bottles_nd.p50, 408.0, 0.0, 0.0);
    stv_assert_close(plan.outcomes[0].kept_back_nd, 6.0, 0.0, 0.0);
    assert_false(plan.outcomes[0].may_say_single);
    stv_bottling_plan_free(&plan);
    assert_null(plan.outcomes);
    book_end(&book);
}

/* As drawn, 55 % is over 52 %: no cask will do, and two are missing. */
static void what_cannot_be_met_is_missing(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    book.wishes[0].is_as_drawn = 1;
    struct stv_bottling_plan plan = plan_of(&book);
    assert_int_equal(plan.outcomes[0].n_casks, 0);
    assert_int_equal(plan.outcomes[0].n_missing_casks, 2);
    assert_int_equal(plan.outcomes[0].n_unfit[STV_UNFIT_STRENGTH], N_CASKS);
    stv_assert_close(plan.outcomes[0].all_frac, 0.0, 0.0, 0.0);
    stv_bottling_plan_free(&plan);
    book.wishes[0].is_as_drawn = 0;
    book.wishes[0].n_casks = 0;
    book.wishes[0].bottles_nd = 1658.0; /* eight casks are 1658.5, of each of which 207 are whole */
    plan = plan_of(&book);
    assert_false(plan.outcomes[0].is_impossible);
    assert_int_equal(plan.outcomes[0].n_casks, 8);
    stv_assert_close(plan.outcomes[0].missing_bottles_nd, 2.0, 0.0, 0.0);
    stv_assert_close(plan.outcomes[0].bottles_frac, 0.0, 0.0, 0.0);
    stv_bottling_plan_free(&plan);
    book_end(&book);
}

/* More than all casks give takes none from the others, which keep casks and substitutes. */
static void what_is_impossible_takes_no_cask(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    struct stv_bottling_plan alone = plan_of(&book);
    book.request.n_wishes = 2;
    book.wishes[1] = book.wishes[0];
    book.wishes[1].series_idx = 1;
    for (int by_casks = 0; by_casks < 2; by_casks++) {
        book.wishes[1].n_casks = by_casks ? N_CASKS + 1 : 0;
        book.wishes[1].bottles_nd = by_casks ? 0.0 : 2000.0; /* eight casks are 1658 */
        struct stv_bottling_plan plan = plan_of(&book);
        assert_false(plan.outcomes[0].is_impossible);
        assert_true(plan.outcomes[1].is_impossible);
        assert_int_equal(plan.outcomes[1].n_casks, 0);
        assert_int_equal(plan.outcomes[0].n_casks, 2);
        assert_int_equal(plan.outcomes[0].n_left, alone.outcomes[0].n_left);
        for (size_t i = 0; i < 2; i++) {
            assert_int_equal(plan.outcomes[0].casks[i].cask_idx,
                             alone.outcomes[0].casks[i].cask_idx);
            assert_int_equal(plan.outcomes[0].casks[i].substitute_idx,
                             alone.outcomes[0].casks[i].substitute_idx);
            assert_true(plan.outcomes[0].casks[i].substitute_idx >= 0);
        }
        stv_assert_close(plan.outcomes[1].house_bottles_nd, N_CASKS * 77.0 * 0.98 / (0.52 * 0.70),
                         1e-12, 0.0);
        stv_bottling_plan_free(&plan);
    }
    stv_bottling_plan_free(&alone);
    book_end(&book);
}

/* In one draw of ten every cask has a tenth less: six casks are 1242 in the middle, and the seventh
 * is taken so that 1240 are there 19 times in 20. */
static void takes_more_until_nineteen_in_twenty(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    for (size_t c = 0; c < N_CASKS; c++)
        for (size_t d = 0; d < 2; d++)
            set_from(&book, c, 0, d, (const double[3]){126.0, 0.55, 1.0});
    book.wishes[0].n_casks = 0;
    book.wishes[0].bottles_nd = 1240.0;
    struct stv_bottling_plan plan = plan_of(&book);
    assert_int_equal(plan.outcomes[0].n_casks, 7);
    assert_true(plan.n_rounds > 1);
    assert_true(plan.outcomes[0].bottles_nd.p05 >= 1240.0);
    stv_assert_close(plan.outcomes[0].missing_bottles_nd, 0.0, 0.0, 0.0);
    stv_assert_close(plan.outcomes[0].bottles_frac, 1.0, 1e-12, 0.0);
    stv_bottling_plan_free(&plan);
    book_end(&book);
}

/* Two casks of 207 bottles have 378 in two draws of twenty, where 380 are wanted: larger ones of
 * lower odds are taken, for which the solver must be asked for more than the 414 in the middle. */
static void asks_for_more_than_there_is(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    for (size_t c = 0; c < N_CASKS; c++) {
        set_all(&book, c, c < 4 ? 140.0 : 150.0, 0.55, 1.0);
        for (size_t d = 0; d < 2; d++)
            set_from(&book, c, 0, d,
                     (const double[3]){c < 4 ? 128.0 : 150.0, 0.55, c < 4 ? 1.0 : 1.4});
    }
    book.wishes[0].bottles_nd = 380.0;
    struct stv_bottling_plan plan = plan_of(&book);
    assert_true(plan.outcomes[0].casks[1].cask_idx >= 4);
    assert_true(plan.outcomes[0].bottles_nd.p05 >= 189.0 + 222.0);
    stv_assert_close(plan.outcomes[0].missing_bottles_nd, 0.0, 0.0, 0.0);
    stv_bottling_plan_free(&plan);
    book_end(&book);
}

/* Odds are joint: two casks that fail in the same two draws fail together, in different draws
 * apart. */
static void odds_are_joint(void **state)
{
    (void)state;
    const double over[3] = {140.0, 0.55, 1.4};
    struct book book;
    for (size_t shift = 0; shift <= 2; shift += 2) {
        book_new(&book);
        for (size_t c = 0; c < N_CASKS; c++) {
            set_all(&book, c, 140.0, 0.55, c < 2 ? 1.0 : 1.4); /* only two would serve */
            for (size_t d = 0; d < 2; d++)
                set_from(&book, c, 0, d + (c == 1 ? shift : 0), over);
        }
        struct stv_bottling_plan plan = plan_of(&book);
        const struct stv_bottling_outcome *outcome = &plan.outcomes[0];
        assert_int_equal(outcome->n_casks, 2);
        stv_assert_close(outcome->casks[0].ok_frac, 0.9, 1e-12, 0.0);
        stv_assert_close(outcome->casks[1].ok_frac, 0.9, 1e-12, 0.0);
        stv_assert_close(outcome->all_frac, shift ? 0.8 : 0.9, 1e-12, 0.0);
        stv_assert_close(outcome->wood_frac, shift ? 0.8 : 0.9, 1e-12, 0.0);
        assert_int_equal(outcome->casks[0].substitute_idx, -1);
        stv_bottling_plan_free(&plan);
        book_end(&book);
    }
}

/* The surer cask first; of two equally sure the one that would not wait a year; and never one that
 * is over what is allowed, whatever it would give. */
static void surest_first_then_the_hasty(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    for (size_t c = 0; c < N_CASKS; c++)
        for (size_t d = 0; d < 4; d++) /* four draws of twenty over, of cask 4 other ones */
            set_from(&book, c, 0, d + (c == 3 ? 0 : 4),
                     (const double[3]){140.0, 0.55, c == 5 ? 1.0 : 1.4});
    for (size_t d = 4; d < N_DRAWS; d++) /* cask 4 goes over in a year */
        set_from(&book, 3, 2, d, (const double[3]){140.0, 0.55, 1.4});
    set_all(&book, 6, 190.0, 0.60, 1.35);
    struct stv_bottling_plan plan = plan_of(&book);
    const struct stv_bottling_outcome *outcome = &plan.outcomes[0];
    assert_int_equal(outcome->casks[0].cask_idx, 3);
    assert_int_equal(outcome->casks[1].cask_idx, 5);
    stv_assert_close(outcome->casks[0].wait_over_frac, 1.0, 1e-12, 0.0);
    stv_assert_close(outcome->wait_over_frac, 1.0, 1e-12, 0.0);
    assert_true(outcome->casks[1].substitute_idx != 6);
    assert_false(outcome->casks[1].is_tie); /* a fifth less sure */
    stv_bottling_plan_free(&plan);
    book_end(&book);
}

/* A year's wait by hand: 130 L left of 140 L. */
static void waiting_costs_what_is_lost(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    for (size_t c = 0; c < N_CASKS; c++)
        for (size_t d = 0; d < N_DRAWS; d++)
            set_from(&book, c, 2, d, (const double[3]){130.0, 0.55, 1.0});
    struct stv_bottling_plan plan = plan_of(&book);
    /* 207 and 192 whole bottles of each */
    stv_assert_close(plan.outcomes[0].wait_cost_bottles_nd, 30.0, 0.0, 0.0);
    stv_assert_close(plan.outcomes[0].casks[0].wait_cost_bottles_nd,
                     10.0 * 0.55 * 0.98 / (0.52 * 0.70), 1e-9, 0.0);
    stv_assert_close(plan.outcomes[0].wait_over_frac, 0.0, 0.0, 0.0);
    stv_bottling_plan_free(&plan);
    book_end(&book);
}

/* A cask under the strength wanted is of no use by itself, and carried in a marriage. */
static void marriages_are_held_by_the_whole(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    for (size_t c = 4; c < N_CASKS; c++)
        set_all(&book, c, 160.0, 0.45, 0.65); /* weak, and short of wood */
    book.wishes[0].n_casks = 0;
    book.wishes[0].bottles_nd = 1000.0;
    struct stv_bottling_plan plan = plan_of(&book);
    assert_int_equal(plan.outcomes[0].n_casks, 4); /* the good ones: 828 */
    stv_assert_close(plan.outcomes[0].missing_bottles_nd, 172.0, 0.0, 0.0);
    stv_bottling_plan_free(&plan);
    book.wishes[0].is_married = 1;
    plan = plan_of(&book);
    assert_true(plan.outcomes[0].n_casks > 4);
    stv_assert_close(plan.outcomes[0].missing_bottles_nd, 0.0, 0.0, 0.0);
    stv_assert_close(plan.outcomes[0].all_frac, 1.0, 1e-12, 0.0);
    assert_true(plan.outcomes[0].abv20_frac.p05 >= 0.49);
    assert_true(plan.outcomes[0].wood_nd.p05 >= book.rules.wood_least_nd);
    stv_bottling_plan_free(&plan);
    book_end(&book);
}

/* A cask that is over and some that are short, none of use by itself, make up for one another in a
 * marriage; where all are over no two of them do. */
static void what_is_over_is_married_to_what_is_short(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    for (size_t c = 0; c < N_CASKS; c++)
        set_all(&book, c, 140.0, 0.55, c == 0 ? 1.4 : 0.6);
    struct stv_bottling_plan plan = plan_of(&book);
    assert_int_equal(plan.outcomes[0].n_casks, 0);
    assert_int_equal(plan.outcomes[0].n_unfit[STV_UNFIT_WOOD], N_CASKS);
    stv_bottling_plan_free(&plan);
    book.wishes[0].is_married = 1;
    plan = plan_of(&book);
    assert_int_equal(plan.outcomes[0].n_casks, 2);
    assert_int_equal(plan.outcomes[0].casks[0].cask_idx, 0);
    stv_assert_close(plan.outcomes[0].casks[0].over_frac, 1.0, 1e-12, 0.0);
    stv_assert_close(plan.outcomes[0].wood_nd.p50, 1.0, 1e-12, 0.0); /* like litres of alcohol */
    stv_assert_close(plan.outcomes[0].all_frac, 1.0, 1e-12, 0.0);
    assert_int_equal(plan.outcomes[0].n_left, N_CASKS - 2);
    stv_bottling_plan_free(&plan);
    for (size_t c = 0; c < N_CASKS; c++)
        set_all(&book, c, 140.0, 0.55, 1.4);
    plan = plan_of(&book);
    assert_int_equal(plan.outcomes[0].n_casks, 0);
    assert_int_equal(plan.outcomes[0].n_missing_casks, 2);
    assert_int_equal(plan.outcomes[0].n_left, N_CASKS); /* each in a mean that is inside */
    stv_bottling_plan_free(&plan);
    book_end(&book);
}

/* Two lots of four, each cask of the first a little surer: a series keeps to one lot all the same
 * and leaves its sisters for the later release; two separate bottlings need not. */
static void a_series_keeps_its_sisters(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    for (size_t c = 0; c < N_CASKS; c++)
        book.lots[c] = c % 2;
    book.wishes[1] = book.wishes[0];
    book.wishes[1].day_d = book.outlook.days_d[3];
    book.request.n_wishes = 2;
    struct stv_bottling_plan plan = plan_of(&book);
    for (size_t w = 0; w < 2; w++) {
        assert_int_equal(plan.outcomes[w].n_casks, 2);
        for (size_t i = 0; i < 2; i++)
            assert_int_equal(plan.outcomes[w].casks[i].cask_idx % 2,
                             plan.outcomes[0].casks[0].cask_idx % 2);
        assert_int_equal(plan.outcomes[w].n_left, 4);
        assert_int_equal(plan.outcomes[w].n_elsewhere, 2);
    }
    stv_bottling_plan_free(&plan);
    book_end(&book);
}

/* One cask stands for eight: the plan of numbers takes them as often as it wants, what is left
 * counts them all, and a plan of casks takes the one that was run. */
static void one_stands_for_its_kind(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    const size_t n_alike[N_CASKS] = {8, 1, 1, 1, 1, 1, 1, 1};
    size_t n_most[N_CASKS];
    for (size_t c = 1; c < N_CASKS; c++)
        set_all(&book, c, 140.0, 0.55, 1.4); /* over the wood allowed */
    book.wishes[0].n_casks = 3;
    book.request.n_alike = n_alike;
    stv_assert_ok(stv_bottling_plan_numbers(&book.request, n_most));
    assert_int_equal(n_most[0], 3);
    for (size_t c = 1; c < N_CASKS; c++)
        assert_int_equal(n_most[c], 0);
    struct stv_bottling_plan plan = plan_of(&book);
    assert_int_equal(plan.outcomes[0].n_casks, 1);
    assert_int_equal(plan.outcomes[0].n_missing_casks, 2);
    assert_int_equal(plan.outcomes[0].n_left, 7);
    assert_int_equal(plan.outcomes[0].n_could_serve, 8);
    assert_int_equal(plan.outcomes[0].n_unfit[STV_UNFIT_WOOD], 7);
    stv_assert_close(plan.outcomes[0].house_bottles_nd, 15.0 * 77.0 * 0.98 / (0.52 * 0.70), 1e-12,
                     0.0);
    stv_bottling_plan_free(&plan);
    book_end(&book);
}

static enum stv_status draws_of_casks(void *context, const int *casks, size_t n,
                                      struct stv_outlook *out, int *out_at)
{
    assert_true(n <= 4); /* two chosen, and one in the stead of each */
    return outlook_of_casks(context, casks, n, out, out_at);
}

/* Chosen by one set of draws and told by another: the odds, bottles and ties are the others'. */
static void odds_come_from_draws_that_chose_nothing(void **state)
{
    (void)state;
    struct book chosen, told;
    book_new(&chosen);
    book_new(&told);
    for (size_t d = 0; d < 10; d++) /* all but two casks look bad in the draws that choose ... */
        for (size_t c = 2; c < N_CASKS; c++)
            set_from(&chosen, c, 0, d, (const double[3]){140.0, 0.55, 1.4});
    for (size_t d = 0; d < 5; d++) /* ... and one of those two in a quarter of the others */
        set_from(&told, 1, 0, d, (const double[3]){140.0, 0.55, 1.4});
    struct stv_bottling_plan plan = plan_of(&chosen);
    stv_assert_close(plan.outcomes[0].all_frac, 1.0, 1e-12, 0.0);
    stv_bottling_plan_free(&plan);
    chosen.request.run_told = draws_of_casks;
    chosen.request.told_context = &told.outlook;
    plan = plan_of(&chosen);
    assert_int_equal(plan.outcomes[0].casks[0].cask_idx, 0);
    assert_int_equal(plan.outcomes[0].casks[1].cask_idx, 1);
    stv_assert_close(plan.outcomes[0].all_frac, 0.75, 1e-12, 0.0);
    stv_assert_close(plan.outcomes[0].casks[1].ok_frac, 0.75, 1e-12, 0.0);
    assert_int_equal(plan.outcomes[0].n_could_serve, 8);
    stv_bottling_plan_free(&plan);
    for (size_t d = 0; d < N_DRAWS; d++) /* one that would not have been taken by these draws */
        set_from(&told, 1, 0, d, (const double[3]){140.0, 0.55, 1.4});
    plan = plan_of(&chosen);
    assert_int_equal(plan.outcomes[0].casks[1].substitute_idx, 2); /* by the draws that chose */
    stv_assert_close(plan.outcomes[0].casks[1].substitute_all_frac, 1.0, 1e-12, 0.0);
    assert_true(plan.outcomes[0].casks[1].is_substitute_better); /* and that is said */
    assert_false(plan.outcomes[0].casks[1].has_like_odds);
    assert_false(plan.outcomes[0].casks[0].is_substitute_better);
    assert_int_equal(plan.outcomes[0].n_casks, 2);
    assert_int_equal(plan.outcomes[0].n_could_serve, 8);
    assert_int_equal(plan.outcomes[0].n_left, 6);
    stv_assert_close(plan.outcomes[0].all_frac, 0.0, 0.0, 0.0);
    stv_bottling_plan_free(&plan);
    told.outlook.n_draws--;
    stv_assert_status(stv_bottling_plan(&chosen.request, &plan), STV_E_ARG);
    told.outlook.n_draws++;
    book_end(&chosen);
    book_end(&told);
}

/* Odds by themselves do not tell which casks fail together: 1 and 2, which would not wait a year,
 * fail in different halves of the draws; 3 fails with 2, and goes in the stead of 1. */
static void casks_that_fail_together_are_found(void **state)
{
    (void)state;
    const double over[3] = {140.0, 0.55, 1.4};
    struct book book;
    book_new(&book);
    for (size_t c = 0; c < N_CASKS; c++) {
        set_all(&book, c, 140.0, 0.55, c < 3 ? 1.0 : 1.4);
        for (size_t d = 0; d < N_DRAWS; d++) {
            if ((d < N_DRAWS / 2) == (c == 0))
                set_from(&book, c, 0, d, over);
            else if (c < 2)
                set_from(&book, c, 2, d, over);
        }
    }
    struct stv_bottling_plan plan = plan_of(&book);
    const struct stv_bottling_outcome *outcome = &plan.outcomes[0];
    assert_int_equal(outcome->n_casks, 2);
    assert_int_equal(outcome->casks[0].cask_idx, 1);
    assert_int_equal(outcome->casks[1].cask_idx, 2);
    stv_assert_close(outcome->all_frac, 0.5, 1e-12, 0.0);
    assert_int_equal(outcome->casks[0].substitute_idx, 0); /* with it none is met */
    stv_assert_close(outcome->casks[0].substitute_all_frac, 0.0, 0.0, 0.0);
    assert_false(outcome->casks[0].is_substitute_better || outcome->casks[0].has_like_odds);
    stv_bottling_plan_free(&plan);
    book_end(&book);
}

/* 0.47 in three draws of twenty, and as drawn 0.55 where 0.52 is the most. */
static void strength_that_is_missing_is_told(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    struct stv_bottling_plan plan = plan_of(&book);
    stv_assert_close(plan.outcomes[0].missing_abv20_frac, 0.0, 0.0, 0.0);
    stv_bottling_plan_free(&plan);
    for (size_t c = 0; c < N_CASKS; c++)
        for (size_t d = 0; d < 3; d++)
            set_from(&book, c, 0, d, (const double[3]){140.0, 0.47, 1.0});
    plan = plan_of(&book);
    stv_assert_close(plan.outcomes[0].missing_abv20_frac, 0.02, 1e-9, 0.0);
    stv_assert_close(plan.outcomes[0].strength_frac, 0.85, 1e-9, 0.0);
    stv_bottling_plan_free(&plan);
    book.wishes[0].is_as_drawn = 1;
    book.wishes[0].is_married = 1;
    for (size_t c = 0; c < N_CASKS; c++) { /* 0.51 in the middle, 0.55 in three of twenty */
        set_all(&book, c, 140.0, 0.51, 1.0);
        for (size_t d = 0; d < 3; d++)
            set_from(&book, c, 0, d, (const double[3]){140.0, 0.55, 1.0});
    }
    plan = plan_of(&book);
    stv_assert_close(plan.outcomes[0].missing_abv20_frac, 0.03, 1e-9, 0.0);
    stv_bottling_plan_free(&plan);
    book_end(&book);
}

static void edges(void **state)
{
    (void)state;
    struct book book;
    struct stv_bottling_plan plan;
    book_new(&book);
    book.wishes[0].day_d++;
    stv_assert_status(stv_bottling_plan(&book.request, &plan), STV_E_NO_DATA);
    assert_null(plan.outcomes);
    book.wishes[0].day_d--;
    book.wishes[0].least_abv20_frac = 0.53; /* over the most */
    stv_assert_status(stv_bottling_plan(&book.request, &plan), STV_E_DOMAIN);
    book.wishes[0].least_abv20_frac = 0.49;
    book.wishes[0].n_casks = 0; /* nothing is wanted */
    stv_assert_status(stv_bottling_plan(&book.request, &plan), STV_E_DOMAIN);
    book.request.n_wishes = 0;
    plan = plan_of(&book);
    stv_bottling_plan_free(&plan);
    book.request.n_wishes = 1;
    book.wishes[0].n_casks = 2;
    book.rules.least_age_y = 7.0; /* filled November 2022: six by then */
    plan = plan_of(&book);
    assert_int_equal(plan.outcomes[0].n_casks, 0);
    assert_int_equal(plan.outcomes[0].n_unfit[STV_UNFIT_AGE], N_CASKS);
    stv_bottling_plan_free(&plan);
    book.wishes[0].day_d = book.outlook.days_d[3]; /* old enough, and no day a year later */
    plan = plan_of(&book);
    assert_int_equal(plan.outcomes[0].n_casks, 2);
    stv_assert_close(plan.outcomes[0].wait_cost_bottles_nd, NAN, 0.0, 0.0);
    stv_bottling_plan_free(&plan);
    book_end(&book);
}

/* What is barred is not taken, though it is the best. */
static void barred_casks_are_left(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    const char is_barred[N_CASKS] = {1, 1, 0, 1};
    for (size_t c = 4; c < N_CASKS; c++)
        set_all(&book, c, 140.0, 0.55, 1.4); /* over the wood allowed */
    book.request.is_barred = is_barred;
    struct stv_bottling_plan plan = plan_of(&book);
    assert_int_equal(plan.outcomes[0].n_casks, 1);
    assert_int_equal(plan.outcomes[0].casks[0].cask_idx, 2);
    assert_int_equal(plan.outcomes[0].casks[0].substitute_idx, -1);
    assert_int_equal(plan.outcomes[0].n_missing_casks, 1);
    assert_int_equal(plan.outcomes[0].n_unfit[STV_UNFIT_MARKET], 3);
    assert_int_equal(plan.outcomes[0].n_unfit[STV_UNFIT_WOOD], 4);
    stv_bottling_plan_free(&plan);
    book_end(&book);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bottles_by_hand),
        cmocka_unit_test(what_cannot_be_met_is_missing),
        cmocka_unit_test(what_is_impossible_takes_no_cask),
        cmocka_unit_test(takes_more_until_nineteen_in_twenty),
        cmocka_unit_test(asks_for_more_than_there_is),
        cmocka_unit_test(odds_are_joint),
        cmocka_unit_test(surest_first_then_the_hasty),
        cmocka_unit_test(waiting_costs_what_is_lost),
        cmocka_unit_test(marriages_are_held_by_the_whole),
        cmocka_unit_test(what_is_over_is_married_to_what_is_short),
        cmocka_unit_test(a_series_keeps_its_sisters),
        cmocka_unit_test(one_stands_for_its_kind),
        cmocka_unit_test(odds_come_from_draws_that_chose_nothing),
        cmocka_unit_test(casks_that_fail_together_are_found),
        cmocka_unit_test(strength_that_is_missing_is_told),
        cmocka_unit_test(barred_casks_are_left),
        cmocka_unit_test(edges),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
