/* learned-casks.yaml: what is written comes back, a hand in it is found at its line, and a house of
 * thousands of casks stays quick. */
#include "ingest/learned_casks_file.h"
#include "model/calendar.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#define N_KINDS 2
#define N_SHARED ((size_t)(STV_SCORE_N + N_KINDS * STV_KIND_SCORE_N + STV_FIT_THRESHOLDS + 2))
#define SECONDS_MOST 60.0 /* far above what it takes, for machines under load and sanitizers */

static const char *const kind_names[N_KINDS] = {"refill 200 L", "new \"oak\" 200 L"};

/* A house in a folder of its own, and what it learned. */
struct house {
    struct stv_book book;
    struct stv_learned_casks learned;
};

static double number(size_t i)
{
    return stv_draw_normal_nd(1, 2, 3, i);
}

static int compare_keys(const void *a, const void *b)
{
    uint64_t x = *(const uint64_t *)a, y = *(const uint64_t *)b;
    return (x > y) - (x < y);
}

static int compare_casks(const void *a, const void *b)
{
    const struct stv_posterior_cask *x = a, *y = b;
    return (x->key > y->key) - (x->key < y->key);
}

static void fill_triangle(double *chol_nd, size_t n, size_t seed)
{
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j <= i; j++)
            chol_nd[i * n + j] = i == j ? fabs(number(seed + i)) : 0.1 * number(seed + i * n + j);
}

static void fill_leak(size_t cask, struct stv_posterior_leak *leak)
{
    *leak = stv_posterior_leak_none();
    if (cask % 3 > 0)
        return;
    *leak = (struct stv_posterior_leak){.chance_frac = 0.25,
                                        .per_y = 0.05,
                                        .from_d = 19000,
                                        .to_d = cask % 2 ? 19500 : INT64_MAX,
                                        .again_d = cask % 4 == 1 ? 19900 : INT64_MAX,
                                        .found_d = 20300,
                                        .found_l = 120.5,
                                        .found_sd_l = 1.25,
                                        .leaking_y = 3.5,
                                        .gone_frac = 0.5};
}

static void fill_posterior(struct house *house, struct stv_posterior *out)
{
    size_t n_casks = house->book.ledger.n_casks;
    out->n_kinds = N_KINDS;
    out->n_shared = N_SHARED;
    out->n_casks = n_casks;
    out->kind_keys = calloc(N_KINDS, sizeof *out->kind_keys);
    out->mean_nd = calloc(N_SHARED, sizeof *out->mean_nd);
    out->chol_nd = calloc(N_SHARED * N_SHARED, sizeof *out->chol_nd);
    out->casks = calloc(n_casks, sizeof *out->casks);
    out->by_shared_nd = calloc(n_casks * STV_OWN_SCORE_N * N_SHARED, sizeof *out->by_shared_nd);
    out->last_by_shared_nd =
        calloc(n_casks * STV_LAST_N * N_SHARED, sizeof *out->last_by_shared_nd);
    for (size_t k = 0; k < N_KINDS; k++)
        out->kind_keys[k] = stv_key_of(kind_names[k]);
    qsort(out->kind_keys, N_KINDS, sizeof *out->kind_keys, compare_keys);
    for (size_t i = 0; i < N_SHARED; i++)
        out->mean_nd[i] = number(i);
    fill_triangle(out->chol_nd, N_SHARED, 1000);
    for (size_t c = 0; c < n_casks; c++) {
        struct stv_posterior_cask *cask = &out->casks[c];
        cask->key = stv_key_of(house->book.ledger.casks[c].id);
        for (size_t i = 0; i < STV_OWN_SCORE_N; i++)
            cask->mean_nd[i] = number(10 * c + i);
        fill_triangle(cask->chol_nd[0], STV_OWN_SCORE_N, 10 * c);
        for (size_t k = 0; k < STV_LAST_N; k++) {
            struct stv_posterior_last *last = &cask->last[k];
            last->day_d = c % 4 > k ? 20300 + (int64_t)k : INT64_MIN;
            last->from_d = INT64_MIN;
            if (last->day_d == INT64_MIN)
                continue;
            last->value = k == STV_LAST_VOLUME20_L ? 180.5 : 0.605;
            if (k == STV_LAST_VOLUME20_L && c % 4 == 3) { /* a leak was stopped */
                last->from_d = 20100;
                last->value = -11.5;
            }
            for (size_t i = 0; i < STV_OWN_SCORE_N; i++)
                last->by_own_nd[i] = number((3 + k) * c + i);
        }
        fill_leak(c, &cask->leak);
    }
    qsort(out->casks, n_casks, sizeof *out->casks, compare_casks);
    /* As a fit leaves it: the other kind's scores say nothing. */
    for (size_t i = 0; i < n_casks * STV_OWN_SCORE_N * N_SHARED; i++)
        if (i % N_SHARED < STV_SCORE_N + STV_KIND_SCORE_N)
            out->by_shared_nd[i] = number(7 + i);
    for (size_t row = 0; row < n_casks * STV_LAST_N; row++)
        for (size_t i = 0; i < N_SHARED; i++)
            if (out->casks[row / STV_LAST_N].last[row % STV_LAST_N].day_d != INT64_MIN)
                out->last_by_shared_nd[row * N_SHARED + i] = number(9 + row + i);
}

static void fill_lists(struct stv_learned_casks *learned, size_t n_casks, size_t n_gauges)
{
    learned->told = calloc(n_casks * n_gauges * 2, sizeof *learned->told);
    learned->verdicts = calloc(n_casks * n_gauges, sizeof *learned->verdicts);
    for (size_t c = 0; c < n_casks; c++)
        for (size_t g = 0; g < n_gauges; g++) {
            int64_t day_d = 18000 + 365 * (int64_t)g;
            for (size_t f = 0; f < 2; f++)
                learned->told[learned->n_told++] =
                    (struct stv_learned_told){(int)c, day_d, f ? STV_FIT_STRENGTH : STV_FIT_VOLUME,
                                              180.25, 1.5,   181.0 - (double)g,
                                              g == 2};
            learned->verdicts[learned->n_verdicts++] = (struct stv_learned_verdict){
                (int)c, day_d - 365, day_d, 0.9, 0.06,
                0.04,   1.25,        2.0,   NAN, g ? (double)NAN : 169.5,
                NAN,    g == 1};
        }
}

static struct house house_new(size_t n_casks, size_t n_gauges)
{
    struct house house = {.book.ledger.n_casks = n_casks};
    char folder[] = "/tmp/stavecast-test-XXXXXX";
    assert_non_null(mkdtemp(folder));
    snprintf(house.book.folder, sizeof house.book.folder, "%s", folder);
    house.book.ledger.casks = calloc(n_casks, sizeof *house.book.ledger.casks);
    for (size_t c = 0; c < n_casks; c++) {
        snprintf(house.book.ledger.casks[c].id, STV_ID_MAX, "cask %zu", c);
        snprintf(house.book.ledger.casks[c].kind_name, STV_ID_MAX, "%s", kind_names[c % N_KINDS]);
    }
    fill_posterior(&house, &house.learned.posterior);
    fill_lists(&house.learned, n_casks, n_gauges);
    house.learned.ready_ln_nd[0] = -0.35;
    house.learned.ready_ln_nd[1] = 0.25;
    house.learned.ready_error_ln_nd[0] = house.learned.ready_error_ln_nd[1] = 0.125;
    house.learned.n_gauges = n_casks * n_gauges;
    house.learned.n_verdicts_of_noses = 31;
    house.learned.as_of_day_d = 20000;
    house.learned.inputs = calloc(1, sizeof *house.learned.inputs);
    house.learned.n_inputs = 1;
    snprintf(house.learned.inputs[0].file, sizeof house.learned.inputs[0].file, "gauges.csv");
    memset(house.learned.inputs[0].sha256, 'a', sizeof house.learned.inputs[0].sha256 - 1);
    return house;
}

static void path_of(const struct house *house, char out[600])
{
    snprintf(out, 600, "%s/%s", house->book.folder, STV_LEARNED_CASKS_FILE);
}

static void house_free(struct house *house)
{
    char path[600];
    path_of(house, path);
    unlink(path);
    rmdir(house->book.folder);
    stv_learned_casks_free(&house->learned);
    free(house->book.ledger.casks);
}

static void write_house(const struct house *house)
{
    char why[200] = "";
    assert_int_equal(stv_learned_casks_write(&house->book, &house->learned, why, sizeof why),
                     STV_OK);
}

static void assert_near(const double *a, const double *b, size_t n, double digits)
{
    for (size_t i = 0; i < n; i++)
        assert_true(a[i] == b[i] || fabs(a[i] - b[i]) <= digits * fabs(b[i]));
}

static void what_is_written_comes_back(void **state)
{
    (void)state;
    struct house house = house_new(7, 3);
    struct stv_problems problems;
    struct stv_learned_casks back;
    stv_problems_init(&problems);
    write_house(&house);
    assert_int_equal(stv_learned_casks_read(&house.book, &problems, &back), STV_OK);
    assert_int_equal(problems.n_total, 0);
    const struct stv_posterior *was = &house.learned.posterior, *is = &back.posterior;
    assert_int_equal(is->n_casks, 7);
    assert_int_equal(is->n_shared, N_SHARED);
    assert_memory_equal(is->kind_keys, was->kind_keys, sizeof(uint64_t) * N_KINDS);
    assert_near(is->mean_nd, was->mean_nd, N_SHARED, 1e-8);
    assert_near(is->chol_nd, was->chol_nd, N_SHARED * N_SHARED, 1e-8);
    assert_near(is->by_shared_nd, was->by_shared_nd, 7 * STV_OWN_SCORE_N * N_SHARED, 1e-6);
    assert_near(is->last_by_shared_nd, was->last_by_shared_nd, (size_t)7 * STV_LAST_N * N_SHARED,
                1e-6);
    for (size_t c = 0; c < 7; c++) {
        assert_true(is->casks[c].key == was->casks[c].key);
        assert_near(is->casks[c].mean_nd, was->casks[c].mean_nd, STV_OWN_SCORE_N, 1e-8);
        assert_near(is->casks[c].chol_nd[0], was->casks[c].chol_nd[0],
                    (size_t)STV_OWN_SCORE_N * STV_OWN_SCORE_N, 1e-8);
        for (size_t k = 0; k < STV_LAST_N; k++) {
            const struct stv_posterior_last *now = &is->casks[c].last[k];
            const struct stv_posterior_last *then = &was->casks[c].last[k];
            assert_true(now->day_d == then->day_d);
            assert_true(now->from_d == then->from_d);
            assert_near(&now->value, &then->value, 1, 1e-8);
            assert_near(now->by_own_nd, then->by_own_nd, STV_OWN_SCORE_N, 1e-6);
        }
        assert_memory_equal(&is->casks[c].leak, &was->casks[c].leak, sizeof is->casks[c].leak);
    }
    assert_int_equal(back.n_told, house.learned.n_told);
    assert_int_equal(back.n_verdicts, house.learned.n_verdicts);
    for (size_t i = 0; i < back.n_told; i++) {
        assert_int_equal(back.told[i].cask_idx, house.learned.told[i].cask_idx);
        assert_int_equal(back.told[i].kind, house.learned.told[i].kind);
        assert_true(back.told[i].day_d == house.learned.told[i].day_d);
        assert_true(back.told[i].value == house.learned.told[i].value);
        assert_int_equal(back.told[i].is_left_out, house.learned.told[i].is_left_out);
    }
    assert_true(isnan(back.verdicts[0].rise_abv20_frac));
    assert_true(back.verdicts[1].agrees && !back.verdicts[0].agrees);
    assert_true(back.verdicts[0].meant_litres_nd == 169.5);
    assert_true(isnan(back.verdicts[1].meant_litres_nd));
    assert_true(back.ready_ln_nd[1] == 0.25);
    assert_int_equal(back.n_verdicts_of_noses, 31);
    assert_true(back.as_of_day_d == 20000);
    assert_int_equal(back.n_inputs, 1);
    assert_string_equal(back.inputs[0].file, "gauges.csv");
    stv_learned_casks_free(&back);
    stv_problems_free(&problems);
    house_free(&house);
}

/* What the book no longer has is noted and left out; the rest is as it was. */
static void casks_and_kinds_that_went(void **state)
{
    (void)state;
    struct house house = house_new(6, 2);
    struct stv_problems problems;
    struct stv_learned_casks back;
    stv_problems_init(&problems);
    write_house(&house);
    house.book.ledger.n_casks = 5;
    for (size_t c = 0; c < 5; c++)
        snprintf(house.book.ledger.casks[c].kind_name, STV_ID_MAX, "%s", kind_names[0]);
    assert_int_equal(stv_learned_casks_read(&house.book, &problems, &back), STV_OK);
    assert_int_equal(problems.n_by_severity[STV_NOTED], 2);
    assert_int_equal(problems.n_total, 2);
    assert_int_equal(back.posterior.n_casks, 5);
    assert_int_equal(back.n_told, 5 * 2 * 2);
    assert_null(stv_posterior_find(&back.posterior, stv_key_of("cask 5")));
    assert_non_null(stv_posterior_find(&back.posterior, stv_key_of("cask 4")));
    stv_learned_casks_free(&back);
    stv_problems_free(&problems);
    house_free(&house);
}

/* The file with the first `old` made `new`; the line on which it stood. */
static size_t meddle(const struct house *house, const char *old, const char *new)
{
    char path[600];
    path_of(house, path);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    char *bytes = calloc(1, 1 << 20);
    size_t n = fread(bytes, 1, (1 << 20) - 1, file), line = 1;
    fclose(file);
    char *at = strstr(bytes, old);
    assert_non_null(at);
    for (const char *c = bytes; c < at; c++)
        line += *c == '\n';
    file = fopen(path, "wb");
    assert_non_null(file);
    fwrite(bytes, 1, (size_t)(at - bytes), file);
    fputs(new, file);
    fwrite(at + strlen(old), 1, n - (size_t)(at - bytes) - strlen(old), file);
    fclose(file);
    free(bytes);
    return line;
}

static void a_hand_is_found_at_its_line(void **state)
{
    (void)state;
    static const struct {
        const char *old, *new, *says;
    } hands[] = {
        {"learned_casks: 3", "learned_casks: 2", "another version"},
        {"  - cask: \"cask 1\"", "  - cask: \"cask 0\"", "twice"},
        {" litres 180.25", " gallons 180.25", "no figure of a gauge"},
        {"litres 180.25 1.5 ", "litres 180.25 1.5x ", "no number"},
        {"\"0.25 0.05 2022-01-08 ", "\"1.25 0.05 2022-01-08 ", "no chance"},
        {" 120.5 1.25 3.5 0.5\"", " 120.5 1.25 0 0.5\"", "no chance"},
        {" 120.5 1.25 3.5 0.5\"", " 120.5 1.25\"", "no number"},
        {" 120.5 1.25 3.5 0.5\"", " 120.5 1.25 3.5 0.5 today\"", "no date"},
        {"2022-01-08", "2022-02-30", "no date"},
        {"    mean: \"", "    mean: \"1 ", "instead of 6"},
        {"    leak:", "    leaks:", "leak"},
        {"  scores: ", "  scores: 9", "scores"},
        {"ready_ln: \"-0.35", "ready_ln: \"0.35", "ready comes before over"},
    };
    for (size_t i = 0; i < sizeof hands / sizeof hands[0]; i++) {

        struct house house = house_new(4, 2);
        struct stv_problems problems;
        struct stv_learned_casks back;
        stv_problems_init(&problems);
        write_house(&house);
        size_t line = meddle(&house, hands[i].old, hands[i].new);
        assert_int_equal(stv_learned_casks_read(&house.book, &problems, &back), STV_E_PARSE);
        assert_true(problems.n_by_severity[STV_REFUSED] > 0);
        bool is_at_line = false, is_said = false;
        for (size_t p = 0; p < problems.n; p++) {
            is_at_line = is_at_line || problems.items[p].row == line;
            is_said = is_said || strstr(problems.items[p].message, hands[i].says);
        }
        if (!is_said)
            print_error("%s: %s\n", hands[i].new, problems.items[0].message);
        assert_true(is_said);
        /* A list's fault stands at the list, the others at the very line. */
        assert_true(is_at_line || strstr(hands[i].says, "twice"));
        assert_null(back.posterior.casks);
        stv_problems_free(&problems);
        house_free(&house);
    }
}

static void without_a_file_nothing_was_learned(void **state)
{
    (void)state;
    struct house house = house_new(1, 1);
    struct stv_problems problems;
    struct stv_learned_casks back;
    stv_problems_init(&problems);
    assert_int_equal(stv_learned_casks_read(&house.book, &problems, &back), STV_OK);
    assert_int_equal(back.posterior.n_casks, 0);
    assert_int_equal(problems.n_total, 0);
    stv_problems_free(&problems);
    house_free(&house);
}

static double seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void five_thousand_casks(void **state)
{
    (void)state;
    struct house house = house_new(5000, 4);
    struct stv_problems problems;
    struct stv_learned_casks back;
    struct stat file;
    char path[600];
    stv_problems_init(&problems);
    double start = seconds();
    write_house(&house);
    double written = seconds();
    assert_int_equal(stv_learned_casks_read(&house.book, &problems, &back), STV_OK);
    double read = seconds();
    path_of(&house, path);
    assert_int_equal(stat(path, &file), 0);
    print_message("5 000 casks, 20 000 gauges: %.1f MB, written in %.2f s, read in %.2f s\n",
                  1e-6 * (double)file.st_size, written - start, read - written);
    assert_int_equal(back.posterior.n_casks, 5000);
    assert_true(file.st_size < 20000000);
    assert_true(read - written < SECONDS_MOST);
    stv_learned_casks_free(&back);
    stv_problems_free(&problems);
    house_free(&house);
}

/* A kind's scores as learned are the same whatever kinds stand beside it. */
static void kinds_beside_change_nothing(void **state)
{
    (void)state;
    enum { N_DRAWS = 5 };
    struct house house = house_new(3, 1);
    struct stv_posterior posterior = {0};
    struct stv_house_draws all, one;
    fill_posterior(&house, &posterior);
    const uint64_t *keys = posterior.kind_keys;
    assert_int_equal(stv_house_draws_new(3, N_DRAWS, keys, N_KINDS, &all), STV_OK);
    assert_int_equal(stv_house_draws_new(3, N_DRAWS, keys + N_KINDS - 1, 1, &one), STV_OK);
    assert_int_equal(stv_posterior_move_house(&posterior, keys, &all), STV_OK);
    assert_int_equal(stv_posterior_move_house(&posterior, keys + N_KINDS - 1, &one), STV_OK);
    for (size_t d = 0; d < N_DRAWS; d++) {
        assert_memory_equal(all.scores_nd + d * STV_SCORE_N, one.scores_nd + d * STV_SCORE_N,
                            STV_SCORE_N * sizeof *all.scores_nd);
        assert_memory_equal(all.kinds_nd + (d * N_KINDS + N_KINDS - 1) * STV_KIND_SCORE_N,
                            one.kinds_nd + d * STV_KIND_SCORE_N,
                            STV_KIND_SCORE_N * sizeof *all.kinds_nd);
    }
    stv_house_draws_free(&all);
    stv_house_draws_free(&one);
    stv_posterior_free(&posterior);
    house_free(&house);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_written_comes_back),
        cmocka_unit_test(casks_and_kinds_that_went),
        cmocka_unit_test(a_hand_is_found_at_its_line),
        cmocka_unit_test(without_a_file_nothing_was_learned),
        cmocka_unit_test(five_thousand_casks),
        cmocka_unit_test(kinds_beside_change_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
