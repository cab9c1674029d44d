/* The program that chooses casks and numbers of casks, against every choice there is. */
#include "model/bottling_parts.h"
#include "tests/check.h"

#define N_CASKS 8

static double dice(uint64_t *state)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return (double)(*state >> 11) / 9007199254740992.0;
}

/* The price of a choice, written down once more; the prices are those of the module. */
static double price_of(const struct stv__choice *choice, const size_t *taken)
{
    double price = 0.0;
    for (size_t w = 0; w < choice->n_wishes; w++) {
        double bottles = 0.0, n = 0.0;
        const struct stv__choice_wish *wish = &choice->wishes[w];
        for (size_t c = 0; c < choice->n_casks; c++) {
            const struct stv__choice_cask *cask = &choice->casks[w * choice->n_casks + c];
            double n_of = (double)taken[w * choice->n_casks + c];
            if (n_of == 0.0)
                continue;
            bottles += n_of * cask->bottles_nd;
            n += n_of;
            price += cask->may_serve ? n_of * cask->cost_nd : HUGE_VAL;
            if (wish->bottles_nd > 0.0)
                price += n_of * 0.10 * cask->bottles_nd / wish->bottles_nd;
        }
        if (wish->bottles_nd > 0.0)
            price += 1000.0 * fmax(0.0, wish->bottles_nd - bottles) / wish->bottles_nd;
        if (wish->n_casks > 0)
            price += n > (double)wish->n_casks
                         ? HUGE_VAL
                         : 1000.0 * ((double)wish->n_casks - n) / (double)wish->n_casks;
    }
    for (size_t lot = 0; lot < 2; lot++) {
        bool is_used = false;
        for (size_t c = 0; c < choice->n_casks; c++)
            is_used |= choice->lot_of_cask[c] == lot && taken[c] + taken[choice->n_casks + c] > 0;
        price += is_used ? 0.15 : 0.0;
    }
    return price;
}

/* All 3^8 ways to share eight casks between two bottlings of a series. */
static double least_price(const struct stv__choice *choice)
{
    double least = INFINITY;
    for (size_t way = 0; way < 6561; way++) {
        size_t taken[3 * N_CASKS] = {0}, rest = way;
        for (size_t c = 0; c < N_CASKS; c++, rest /= 3)
            taken[rest % 3 * N_CASKS + c] = 1;
        least = fmin(least, price_of(choice, taken));
    }
    return least;
}

static void no_choice_is_cheaper_by_a_thousandth(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        uint64_t at = seed;
        struct stv__choice_cask casks[2 * N_CASKS];
        size_t lots[N_CASKS], taken[2 * N_CASKS];
        for (size_t i = 0; i < sizeof casks / sizeof *casks; i++)
            casks[i] = (struct stv__choice_cask){.may_serve = dice(&at) < 0.8,
                                                 .bottles_nd = 60.0 + 300.0 * dice(&at),
                                                 .cost_nd = 0.02 + dice(&at)};
        for (size_t c = 0; c < N_CASKS; c++)
            lots[c] = c % 2;
        const struct stv__choice_wish wishes[2] = {
            {.bottles_nd = 300.0 + 700.0 * dice(&at), .is_in_series = 1},
            {.n_casks = 1 + (size_t)(3.0 * dice(&at)), .is_in_series = 1}};
        const struct stv__choice choice = {wishes, 2, N_CASKS, casks, NULL, lots};
        stv_assert_ok(stv__choose(&choice, taken));
        double least = least_price(&choice);
        assert_true(isfinite(least));
        stv_assert_close(price_of(&choice, taken), least, 0.0, 0.0011); /* its own gap */
    }
}

/* Four kinds of two casks each: numbers of kinds cost what the cheapest choice of eight casks does.
 */
static void kinds_are_chosen_as_their_casks_are(void **state)
{
    enum { N_KINDS = N_CASKS / 2 };
    const size_t two_each[N_KINDS] = {2, 2, 2, 2}, lots[N_KINDS] = {0, 0, 1, 1};
    size_t n_both = 0;
    (void)state;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        uint64_t at = seed;
        struct stv__choice_cask kinds[2 * N_KINDS], casks[2 * N_CASKS];
        size_t lot_of_cask[N_CASKS], taken[2 * N_KINDS];
        for (size_t i = 0; i < 2 * N_CASKS; i++) {
            if (i % 2 == 0)
                kinds[i / 2] = (struct stv__choice_cask){.may_serve = dice(&at) < 0.8,
                                                         .bottles_nd = 60.0 + 300.0 * dice(&at),
                                                         .cost_nd = 0.02 + dice(&at)};
            casks[i] = kinds[i / 2];
            lot_of_cask[i % N_CASKS] = lots[i % N_CASKS / 2];
        }
        const struct stv__choice_wish wishes[2] = {
            {.bottles_nd = 300.0 + 700.0 * dice(&at), .is_in_series = 1},
            {.n_casks = 1 + (size_t)(3.0 * dice(&at)), .is_in_series = 1}};
        const struct stv__choice choice = {wishes, 2, N_KINDS, kinds, two_each, lots};
        const struct stv__choice each = {wishes, 2, N_CASKS, casks, NULL, lot_of_cask};
        stv_assert_ok(stv__choose(&choice, taken));
        for (size_t i = 0; i < 2 * N_KINDS; i++)
            n_both += taken[i] == 2;
        stv_assert_close(price_of(&choice, taken), least_price(&each), 0.0, 0.0011);
    }
    assert_true(n_both > 20);
}

#define N_MANY 400
#define N_WANTED 6
#define BOTTLES_WANTED 1500

/* The least price of so many casks with whole bottles: by casks taken and bottles so far, of which
 * more than are wanted count as wanted but for their small price. */
static double least_of_many(const struct stv__choice *choice)
{
    static double least[N_WANTED + 1][BOTTLES_WANTED + 1];
    for (size_t n = 0; n <= N_WANTED; n++)
        for (size_t b = 0; b <= BOTTLES_WANTED; b++)
            least[n][b] = n + b == 0 ? 0.0 : (double)INFINITY;
    for (size_t c = 0; c < N_MANY; c++) {
        size_t bottles = (size_t)choice->casks[c].bottles_nd;
        double price = choice->casks[c].cost_nd + 0.10 * (double)bottles / BOTTLES_WANTED;
        for (size_t n = N_WANTED; n-- > 0 && choice->casks[c].may_serve;)
            for (size_t b = 0; b <= BOTTLES_WANTED; b++) {
                size_t sum = b + bottles < BOTTLES_WANTED ? b + bottles : BOTTLES_WANTED;
                least[n + 1][sum] = fmin(least[n + 1][sum], least[n][b] + price);
            }
    }
    double best = INFINITY;
    for (size_t n = 0; n <= N_WANTED; n++)
        for (size_t b = 0; b <= BOTTLES_WANTED; b++)
            best = fmin(best, least[n][b] + 1000.0 * (double)(BOTTLES_WANTED - b) / BOTTLES_WANTED +
                                  1000.0 * (double)(N_WANTED - n) / N_WANTED);
    return best;
}

/* Casks that are left out of the search for their price would have made no choice cheaper. */
static void the_cheapest_of_many_is_found(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 20; seed++) {
        uint64_t at = seed;
        struct stv__choice_cask casks[N_MANY];
        size_t lots[N_MANY], taken[N_MANY];
        double price = 0.0, bottles = 0.0, n = 0.0;
        for (size_t c = 0; c < N_MANY; c++) {
            casks[c] = (struct stv__choice_cask){.may_serve = dice(&at) < 0.8,
                                                 .bottles_nd = floor(60.0 + 300.0 * dice(&at)),
                                                 .cost_nd = 0.02 + dice(&at)};
            lots[c] = SIZE_MAX;
        }
        const struct stv__choice_wish wish = {.bottles_nd = BOTTLES_WANTED, .n_casks = N_WANTED};
        const struct stv__choice choice = {&wish, 1, N_MANY, casks, NULL, lots};
        stv_assert_ok(stv__choose(&choice, taken));
        for (size_t c = 0; c < N_MANY; c++) {
            assert_true(taken[c] <= (size_t)casks[c].may_serve);
            n += (double)taken[c];
            bottles += (double)taken[c] * casks[c].bottles_nd;
            price +=
                (double)taken[c] * (casks[c].cost_nd + 0.10 * casks[c].bottles_nd / BOTTLES_WANTED);
        }
        assert_true(n <= N_WANTED);
        price += 1000.0 * fmax(0.0, BOTTLES_WANTED - bottles) / BOTTLES_WANTED +
                 1000.0 * (N_WANTED - n) / N_WANTED;
        stv_assert_close(price, least_of_many(&choice), 0.0, 0.0011);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_choice_is_cheaper_by_a_thousandth),
        cmocka_unit_test(kinds_are_chosen_as_their_casks_are),
        cmocka_unit_test(the_cheapest_of_many_is_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
