/* Marriages against a worked case and the US table of volumes, conservation, and ages. */
#include "tests/spirit_case.h"

#include "model/calendar.h"
#include "model/cask_room.h"
#include "model/draws.h"
#include "model/marry.h"
#include "model/reduce.h"
#include "model/spirit.h"
#include "model/units.h"

#include <string.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])
#define N_KEYED 200
#define SEED 20271212
#define PARTS_MAX 12
#define UNKNOWN ((double)NAN)

static double keyed_part(const char *name, size_t id, size_t k, double least, double most)
{
    return least + (most - least) * stv_draw_uniform_nd(SEED, stv_key_of(name), id, k);
}

static struct stv_marriage made_of(struct stv_marry_input input)
{
    struct stv_marriage made;
    stv_assert_ok(stv_marry_work(&input, &made));
    return made;
}

/* What parts make, unreduced and not bottled. */
static struct stv_marriage plain(const struct stv_marry_part *parts, size_t n)
{
    return made_of((struct stv_marry_input){
        .parts = parts, .n_parts = n, .to_abv20_frac = UNKNOWN, .bottle_l = UNKNOWN});
}

static void assert_same(const struct stv_marriage *got, const struct stv_marriage *want)
{
    stv_assert_close(got->mass_kg, want->mass_kg, 1e-12, 0.0);
    stv_assert_close(got->volume20_l, want->volume20_l, 1e-12, 0.0);
    stv_assert_close(got->abv20_frac, want->abv20_frac, 1e-12, 0.0);
    stv_assert_close(got->lpa_l, want->lpa_l, 1e-12, 0.0);
    stv_assert_close(got->sum_of_volumes20_l, want->sum_of_volumes20_l, 1e-12, 0.0);
    stv_assert_close(got->age_y, want->age_y, 0.0, 0.0);
    stv_assert_close(got->bottling20_l, want->bottling20_l, 1e-12, 0.0);
    stv_assert_close(got->bottling_abv20_frac, want->bottling_abv20_frac, 1e-12, 0.0);
}

static const struct stv_marry_part three[] = {
    {172.0, NAN, 0.613, 6.0}, {168.5, NAN, 0.589, 5.0 + 2.0 / 12.0}, {231.0, NAN, 0.552, 7.0}};

/* Worked on densities of OIML R 22: three casks give 571.45 L of 58.13 %vol and 332.19 L of pure
 * alcohol, 5 years old; 155.3 kg of water make 722.2 L of 46 %vol and 1031 bottles of 70 cl. */
static void three_casks(void **state)
{
    (void)state;
    struct stv_marriage made = made_of((struct stv_marry_input){
        .parts = three, .n_parts = 3, .to_abv20_frac = 0.46, .bottle_l = 0.70});
    stv_assert_close(made.volume20_l, 571.45, 0.0, 0.006);
    stv_assert_close(made.sum_of_volumes20_l, 571.5, 1e-12, 0.0);
    stv_assert_close(made.abv20_frac, 0.5813, 0.0, 6e-5);
    stv_assert_close(made.lpa_l, 332.19, 0.0, 0.006);
    stv_assert_close(floor(made.age_y), 5.0, 0.0, 0.0);
    stv_assert_close(made.water_kg, 155.3, 0.0, 0.06);
    stv_assert_close(made.bottling20_l, 722.2, 0.0, 0.06);
    stv_assert_close(made.bottling_abv20_frac, 0.46, 0.0, 0.0);
    stv_assert_close(made.bottles_nd, 1031.0, 0.0, 0.0);
}

/* 27 CFR 30.66, Table 6: volumes of alcohol, of specific gravity 0.79389 at 60/60 F, and of water
 * that make 100 at 60 F of a proof.  Printed to 0.01, on older densities than R 22. */
static void alcohol_and_water_of_the_us_table(void **state)
{
    (void)state;
    static const double rows[][3] = {{50, 25.0, 77.24},  {70, 35.0, 68.12},  {85, 42.5, 61.04},
                                     {100, 50.0, 53.73}, {114, 57.0, 46.75}, {125, 62.5, 41.16},
                                     {140, 70.0, 33.43}, {160, 80.0, 22.87}};
    double water_kg_l = 1.0 / stv_spirit_volume_l(1.0, 0.0, STV_60F_C);
    for (size_t i = 0; i < N_OF(rows); i++) {
        const struct stv_marry_part parts[] = {
            {UNKNOWN, 0.79389 * water_kg_l * rows[i][1], 1.0, UNKNOWN},
            {UNKNOWN, water_kg_l * rows[i][2], 0.0, UNKNOWN}};
        struct stv_marriage made = plain(parts, 2);
        double p = mass_frac_of_abv(made.abv20_frac);
        stv_assert_close(stv_us_proof_nd(p), rows[i][0], 0.0, 0.06);
        stv_assert_close(stv_spirit_volume_l(made.mass_kg, p, STV_60F_C), 100.0, 0.0, 0.02);
        /* The litres that are missing at 60 F, about the same as at 20 C. */
        stv_assert_close(made.sum_of_volumes20_l - made.volume20_l, rows[i][1] + rows[i][2] - 100.0,
                         0.0, 0.08);
    }
}

/* Up to PARTS_MAX parts, by litres and by mass in turns. */
static size_t keyed_parts(size_t k, struct stv_marry_part parts[PARTS_MAX])
{
    size_t n = 1 + (size_t)keyed_part("n", 0, k, 0.0, (double)PARTS_MAX);
    for (size_t i = 0; i < n; i++) {
        parts[i] =
            (struct stv_marry_part){UNKNOWN, UNKNOWN, keyed_part("strength", i, k, 0.05, 0.97),
                                    keyed_part("age", i, k, 0.0, 20.0)};
        if (keyed_part("by", i, k, 0.0, 1.0) > 0.5)
            parts[i].volume20_l = keyed_part("litres", i, k, 0.2, 700.0);
        else
            parts[i].mass_kg = keyed_part("kg", i, k, 0.2, 700.0);
    }
    return n;
}

static void nothing_is_lost_or_made(void **state)
{
    (void)state;
    for (size_t k = 0; k < N_KEYED; k++) {
        struct stv_marry_part parts[PARTS_MAX];
        size_t n = keyed_parts(k, parts);
        double ethanol_kg = 0.0, water_kg = 0.0, litres = 0.0;
        for (size_t i = 0; i < n; i++) {
            double p = mass_frac_of_abv(parts[i].abv20_frac), rho = stv_spirit_rho20_kg_m3(p);
            double kg =
                isnan(parts[i].mass_kg) ? parts[i].volume20_l * rho / 1000.0 : parts[i].mass_kg;
            ethanol_kg += kg * p;
            water_kg += kg * (1.0 - p);
            litres += 1000.0 * kg / rho;
        }
        struct stv_marriage made = plain(parts, n);
        struct stv_spirit_amount want = stv_spirit_amount(ethanol_kg, water_kg);
        stv_assert_close(made.mass_kg, ethanol_kg + water_kg, 1e-12, 0.0);
        stv_assert_close(made.lpa_l, want.lpa_l, 1e-12, 0.0);
        stv_assert_close(made.volume20_l, want.volume20_l, 1e-12, 0.0);
        stv_assert_close(made.abv20_frac, want.abv20_frac, 1e-12, 0.0);
        stv_assert_close(made.sum_of_volumes20_l, litres, 1e-12, 0.0);
        stv_assert_close(made.bottling20_l, made.volume20_l, 1e-10, 0.0);
        stv_assert_close(made.bottling_abv20_frac, made.abv20_frac, 0.0, 0.0);
        stv_assert_close(made.bottles_nd, UNKNOWN, 0.0, 0.0);
    }
}

static void order_does_not_matter(void **state)
{
    (void)state;
    for (size_t k = 0; k < N_KEYED; k++) {
        struct stv_marry_part parts[PARTS_MAX], turned[PARTS_MAX];
        size_t n = keyed_parts(k, parts);
        for (size_t i = 0; i < n; i++)
            turned[n - 1 - i] = parts[i];
        struct stv_marriage one = plain(parts, n), other = plain(turned, n);
        assert_same(&other, &one);
    }
}

static void with_itself_it_stays_what_it_is(void **state)
{
    (void)state;
    for (size_t k = 0; k < N_KEYED; k++) {
        struct stv_marry_part parts[PARTS_MAX], alike[7];
        (void)keyed_parts(k, parts);
        for (size_t i = 0; i < N_OF(alike); i++)
            alike[i] = parts[0];
        struct stv_marriage one = plain(parts, 1), many = plain(alike, N_OF(alike));
        stv_assert_close(many.abv20_frac, parts[0].abv20_frac, 1e-12, 0.0);
        stv_assert_close(many.volume20_l, 7.0 * one.volume20_l, 1e-12, 0.0);
        stv_assert_close(many.sum_of_volumes20_l, many.volume20_l, 1e-12, 0.0);
        stv_assert_close(many.age_y, parts[0].age_y, 0.0, 0.0);
    }
}

static void a_split_part_is_the_whole(void **state)
{
    (void)state;
    for (size_t k = 0; k < N_KEYED; k++) {
        struct stv_marry_part parts[PARTS_MAX + 1];
        size_t n = keyed_parts(k, parts);
        struct stv_marriage whole = plain(parts, n);
        double share = keyed_part("share", 0, k, 0.05, 0.95);
        parts[n] = parts[0];
        parts[n].volume20_l *= share;
        parts[n].mass_kg *= share;
        parts[0].volume20_l *= 1.0 - share;
        parts[0].mass_kg *= 1.0 - share;
        struct stv_marriage split = plain(parts, n + 1);
        assert_same(&split, &whole);
    }
}

/* Two marriages married are all of it at once. */
static void in_two_turns_or_in_one(void **state)
{
    (void)state;
    for (size_t k = 0; k < N_KEYED; k++) {
        struct stv_marry_part parts[PARTS_MAX], two[2];
        size_t n = keyed_parts(k, parts);
        if (n < 2)
            continue;
        struct stv_marriage halves[] = {plain(parts, n / 2), plain(parts + n / 2, n - n / 2)};
        for (size_t i = 0; i < 2; i++)
            two[i] = (struct stv_marry_part){UNKNOWN, halves[i].mass_kg, halves[i].abv20_frac,
                                             halves[i].age_y};
        struct stv_marriage at_once = plain(parts, n), again = plain(two, 2);
        stv_assert_close(again.volume20_l, at_once.volume20_l, 1e-11, 0.0);
        stv_assert_close(again.lpa_l, at_once.lpa_l, 1e-11, 0.0);
        stv_assert_close(again.age_y, at_once.age_y, 0.0, 0.0);
    }
}

static void litres_or_kilograms(void **state)
{
    (void)state;
    struct stv_marry_part by_mass[3];
    for (size_t i = 0; i < 3; i++) {
        by_mass[i] = three[i];
        by_mass[i].mass_kg = three[i].volume20_l *
                             stv_spirit_rho20_kg_m3(mass_frac_of_abv(three[i].abv20_frac)) / 1e3;
        by_mass[i].volume20_l = UNKNOWN;
    }
    struct stv_marriage litres = plain(three, 3), kilograms = plain(by_mass, 3);
    assert_same(&kilograms, &litres);
}

static void the_youngest_gives_the_age(void **state)
{
    (void)state;
    struct stv_marry_part parts[] = {
        {200.0, UNKNOWN, 0.60, 12.3}, {0.001, UNKNOWN, 0.60, 3.2}, {200.0, UNKNOWN, 0.60, 8.1}};
    stv_assert_close(plain(parts, 3).age_y, 3.2, 0.0, 0.0);
    stv_assert_close(plain(parts, 1).age_y, 12.3, 0.0, 0.0);
    parts[1].age_y = 0.0;
    stv_assert_close(plain(parts, 3).age_y, 0.0, 0.0, 0.0);
    for (size_t i = 0; i < 3; i++) { /* one that is not known, wherever it stands */
        struct stv_marry_part one_unknown[3];
        memcpy(one_unknown, parts, sizeof parts);
        one_unknown[i].age_y = UNKNOWN;
        stv_assert_close(plain(one_unknown, 3).age_y, UNKNOWN, 0.0, 0.0);
    }
}

/* What model/reduce.h makes of the same spirit. */
static void reduced_as_by_a_reduction(void **state)
{
    (void)state;
    for (int pct = 37; pct <= 58; pct += 3) {
        struct stv_marriage made = made_of((struct stv_marry_input){
            .parts = three, .n_parts = 3, .to_abv20_frac = pct / 100.0, .bottle_l = UNKNOWN});
        const struct stv_reduce_input input = {.volume_l = made.volume20_l,
                                               .temp_c = 20.0,
                                               .from_abv20_frac = made.abv20_frac,
                                               .to_abv20_frac = pct / 100.0,
                                               .n_steps = 1,
                                               .limit = {UNKNOWN, 20.0, 0.0}};
        struct stv_reduce_step step;
        stv_assert_ok(stv_reduce_work(&input, &step));
        stv_assert_close(made.water_kg, step.water_kg, 0.0, 1e-9);
        stv_assert_close(made.bottling20_l, step.volume20_l, 1e-11, 0.0);
        stv_assert_close(made.bottling20_l * pct / 100.0, made.lpa_l, 1e-12, 0.0);
    }
}

static double bottles_of(double loss_frac, double bottle_l)
{
    return made_of((struct stv_marry_input){three, 3, 0.46, loss_frac, bottle_l}).bottles_nd;
}

static void bottles_after_losses(void **state)
{
    (void)state;
    double bottling_l = made_of((struct stv_marry_input){three, 3, 0.46, 0.0, 0.7}).bottling20_l;
    stv_assert_close(bottles_of(0.02, 0.70), floor(0.98 * bottling_l / 0.70), 0.0, 0.0);
    stv_assert_close(bottles_of(0.5, 0.70), floor(0.5 * bottling_l / 0.70), 0.0, 0.0);
    stv_assert_close(bottles_of(0.02, 0.75), floor(0.98 * bottling_l / 0.75), 0.0, 0.0);
    stv_assert_close(bottles_of(0.0, 800.0), 0.0, 0.0, 0.0);
    assert_true(bottles_of(0.031, 0.7) < bottles_of(0.017, 0.7));
}

/* Water that rounding alone asks for is none. */
static void unreduced_takes_no_water(void **state)
{
    (void)state;
    for (int pct = 1; pct <= 97; pct++) {
        const struct stv_marry_part part = {172.0, UNKNOWN, pct / 100.0, 4.5};
        struct stv_marriage as_it_is = plain(&part, 1);
        stv_assert_close(as_it_is.water_kg, 0.0, 0.0, 0.0);
        struct stv_marriage to_itself = made_of((struct stv_marry_input){
            .parts = &part, .n_parts = 1, .to_abv20_frac = pct / 100.0, .bottle_l = 172.0});
        stv_assert_close(to_itself.water_kg, 0.0, 0.0, 0.0);
        stv_assert_close(to_itself.bottles_nd, 1.0, 0.0, 0.0);
    }
}

static void assert_refused(const struct stv_marry_input *input, enum stv_status want)
{
    struct stv_marriage made;
    stv_assert_status(stv_marry_work(input, &made), want);
    const double members[] = {
        made.mass_kg,    made.volume20_l,         made.abv20_frac, made.lpa_l,
        made.age_y,      made.sum_of_volumes20_l, made.water_kg,   made.bottling20_l,
        made.bottles_nd, made.bottling_abv20_frac};
    for (size_t i = 0; i < N_OF(members); i++)
        stv_assert_close(members[i], UNKNOWN, 0.0, 0.0);
}

/* Each at the end of a good marriage, so that nothing of the earlier parts is left. */
static void parts_that_cannot_be(void **state)
{
    (void)state;
    static const struct stv_marry_part bad[] = {
        {NAN, NAN, 0.6, 4.5},    {172.0, 158.0, 0.6, 4.5},  {0.0, NAN, 0.6, 4.5},
        {-1.2, NAN, 0.6, 4.5},   {INFINITY, NAN, 0.6, 4.5}, {NAN, 0.0, 0.6, 4.5},
        {NAN, -1.2, 0.6, 4.5},   {NAN, INFINITY, 0.6, 4.5}, {172.0, NAN, -0.01, 4.5},
        {172.0, NAN, 1.01, 4.5}, {172.0, NAN, NAN, 4.5},    {172.0, NAN, 0.6, -0.1},
    };
    for (size_t i = 0; i < N_OF(bad); i++) {
        const struct stv_marry_part parts[] = {three[0], three[1], bad[i]};
        assert_refused(&(struct stv_marry_input){parts, 3, 0.46, 0.02, 0.7}, STV_E_DOMAIN);
        assert_refused(&(struct stv_marry_input){&bad[i], 1, UNKNOWN, 0.0, UNKNOWN}, STV_E_DOMAIN);
    }
}

static void wishes_that_cannot_be(void **state)
{
    (void)state;
    static const struct {
        double to_abv20_frac, loss_frac, bottle_l;
        enum stv_status want;
    } bad[] = {{0.46, -0.01, 0.7, STV_E_DOMAIN},    {0.46, 0.5001, 0.7, STV_E_DOMAIN},
               {0.46, NAN, 0.7, STV_E_DOMAIN},      {0.46, 0.02, 0.0, STV_E_DOMAIN},
               {0.46, 0.02, -0.7, STV_E_DOMAIN},    {0.0, 0.02, 0.7, STV_E_DOMAIN},
               {-0.1, 0.02, 0.7, STV_E_DOMAIN},     {0.5814, 0.02, 0.7, STV_E_CONSISTENCY},
               {0.62, 0.02, 0.7, STV_E_CONSISTENCY}};
    for (size_t i = 0; i < N_OF(bad); i++) {
        const struct stv_marry_input input = {three, 3, bad[i].to_abv20_frac, bad[i].loss_frac,
                                              bad[i].bottle_l};
        assert_refused(&input, bad[i].want);
    }
    assert_refused(&(struct stv_marry_input){three, 0, 0.46, 0.02, 0.7}, STV_E_DOMAIN);
    struct stv_marriage made;
    const struct stv_marry_input good = {three, 3, 0.46, 0.02, 0.7}, none = {NULL, 3, 0.46, 0, 0.7};
    stv_assert_status(stv_marry_work(NULL, &made), STV_E_ARG);
    stv_assert_status(stv_marry_work(&none, &made), STV_E_ARG);
    stv_assert_status(stv_marry_work(&good, NULL), STV_E_ARG);
}

static int years(struct stv_date since, struct stv_date until)
{
    return stv_whole_years(stv_day_from_date(since), stv_day_from_date(until));
}

static void whole_years_about_anniversaries(void **state)
{
    (void)state;
    static const struct {
        struct stv_date since, until;
        int years;
    } rows[] = {
        {{2022, 5, 10}, {2022, 5, 10}, 0},   {{2022, 5, 10}, {2023, 5, 9}, 0},
        {{2022, 5, 10}, {2023, 5, 10}, 1},   {{2022, 5, 10}, {2023, 5, 11}, 1},
        {{2022, 5, 10}, {2027, 4, 30}, 4},   {{2022, 5, 10}, {2027, 6, 1}, 5},
        {{2022, 5, 10}, {2028, 5, 9}, 5},    {{2022, 5, 10}, {2022, 5, 9}, -1},
        {{2022, 5, 10}, {2021, 5, 10}, -1},  {{2022, 5, 10}, {2021, 5, 9}, -2},
        {{2022, 12, 31}, {2023, 1, 1}, 0},   {{2022, 12, 31}, {2025, 12, 30}, 2},
        {{2022, 12, 31}, {2025, 12, 31}, 3}, {{2022, 1, 1}, {2022, 12, 31}, 0},
        {{2024, 2, 29}, {2025, 2, 28}, 0},   {{2024, 2, 29}, {2025, 3, 1}, 1},
        {{2024, 2, 29}, {2028, 2, 28}, 3},   {{2024, 2, 29}, {2028, 2, 29}, 4},
        {{2024, 2, 28}, {2025, 2, 28}, 1},   {{2024, 3, 1}, {2025, 2, 28}, 0},
        {{2023, 3, 1}, {2024, 2, 29}, 0},    {{2023, 2, 28}, {2024, 2, 29}, 1},
        {{1999, 7, 4}, {2027, 7, 3}, 27},    {{1896, 2, 29}, {1900, 2, 28}, 3},
        {{1896, 2, 29}, {1900, 3, 1}, 4},
    };
    for (size_t i = 0; i < N_OF(rows); i++)
        assert_int_equal(years(rows[i].since, rows[i].until), rows[i].years);
}

/* From every day of four years on, each year fills on one day and not before. */
static void a_year_fills_once(void **state)
{
    (void)state;
    int64_t first_d = stv_day_from_date((struct stv_date){2023, 6, 15});
    for (int64_t since_d = first_d; since_d < first_d + 1461; since_d += 3) {
        int n_full = 0, last = 0;
        for (int64_t day_d = since_d; day_d <= since_d + 1461; day_d++) {
            int now = stv_whole_years(since_d, day_d);
            assert_true(now == last || now == last + 1);
            n_full += now > last;
            last = now;
        }
        assert_int_equal(n_full, 4);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(three_casks),
        cmocka_unit_test(alcohol_and_water_of_the_us_table),
        cmocka_unit_test(nothing_is_lost_or_made),
        cmocka_unit_test(order_does_not_matter),
        cmocka_unit_test(with_itself_it_stays_what_it_is),
        cmocka_unit_test(a_split_part_is_the_whole),
        cmocka_unit_test(in_two_turns_or_in_one),
        cmocka_unit_test(litres_or_kilograms),
        cmocka_unit_test(the_youngest_gives_the_age),
        cmocka_unit_test(reduced_as_by_a_reduction),
        cmocka_unit_test(bottles_after_losses),
        cmocka_unit_test(unreduced_takes_no_water),
        cmocka_unit_test(parts_that_cannot_be),
        cmocka_unit_test(wishes_that_cannot_be),
        cmocka_unit_test(whole_years_about_anniversaries),
        cmocka_unit_test(a_year_fills_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
