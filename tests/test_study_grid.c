/* A grid in sites.yaml, what identifies its parts, and cells that are kept. */
#include "ingest/cell_file.h"
#include "ingest/study.h"
#include "tests/check.h"
#include "tests/scratch.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct opened {
    struct stv_scratch scratch;
    struct stv_problems problems;
    struct stv_study study;
    enum stv_status status;
};

static void study_open(struct opened *one, const char *text)
{
    stv_scratch_open(&one->scratch);
    stv_problems_init(&one->problems);
    stv_scratch_text(&one->scratch, "sky.csv", "date,temp_max,temp_min\n");
    const char *path = stv_scratch_text(&one->scratch, "sites.yaml", text);
    one->status = stv_study_read(path, &one->problems, &one->study);
}

static void study_close(struct opened *one)
{
    stv_problems_free(&one->problems);
    stv_scratch_close(&one->scratch);
}

#define SITES "sites: [{name: A, weather: {file: sky.csv}}]\n"
#define SHED "building: {kind: racked shed, tiers: 5}\n"

static void a_grid(void **state)
{
    (void)state;
    static struct opened one;
    study_open(&one, "study: x\n" SHED "buildings:\n  - {name: as it is}\n"
                     "  - {name: white, checked: \"logger of 2024\", roof: {absorptance: 25 %}}\n"
                     "casks:\n  - {name: new, size: 200 L, count: 40}\n"
                     "  - {name: old, size: 250 L, uses: 2, strength: 58 %vol, count: 7}\n"
                     "tiers: [1, 4]\nfollow_years: 3\n"
                     "margin: {bottles: 2, window: 3, hot_hours: 80, alcohol: 0.5 %}\n" SITES);
    stv_assert_ok(one.status);
    const struct stv_study *study = &one.study;
    assert_true(study->is_grid);
    assert_int_equal(study->n_buildings, 2);
    assert_string_equal(study->buildings[0].checked, "");
    assert_string_equal(study->buildings[1].checked, "logger of 2024");
    assert_true(study->buildings[1].building.roof.absorptance_frac <
                study->buildings[0].building.roof.absorptance_frac);
    assert_int_equal(study->buildings[1].building.n_tiers, 5);
    assert_int_equal(study->n_casks, 2);
    assert_int_equal(study->casks[0].n_alike, 40);
    assert_int_equal(study->casks[1].n_alike, 7);
    stv_assert_close(study->casks[0].fill_abv20_frac, 0.60, 1e-12, 0.0);
    stv_assert_close(study->casks[1].fill_abv20_frac, 0.58, 1e-12, 0.0);
    stv_assert_close(study->casks[1].cask.geometry.capacity_l, 250.0, 1e-12, 0.0);
    assert_int_equal(study->n_tiers, 2);
    assert_int_equal(study->tiers_idx[1], 3);
    assert_int_equal(study->follow_y, 3);
    stv_assert_close(study->cell_margin[STV_CELL_BOTTLES_ND], 2.0, 0.0, 0.0);
    stv_assert_close(study->cell_margin[STV_CELL_WINDOW_MONTHS], 3.0, 0.0, 0.0);
    stv_assert_close(study->cell_margin[STV_CELL_HOT_H], 80.0, 0.0, 0.0);
    stv_assert_close(study->cell_margin[STV_CELL_LPA_LOSS_FRAC], 0.005, 1e-12, 0.0);
    stv_assert_close(study->cell_margin[STV_CELL_CYCLES_ND], 5.0, 0.0, 0.0);
    study_close(&one);
}

static void a_plain_study_is_the_smallest_grid(void **state)
{
    (void)state;
    static struct opened one;
    study_open(&one, "study: x\n" SHED "cask: {size: 125 L}\n" SITES);
    stv_assert_ok(one.status);
    assert_false(one.study.is_grid);
    assert_int_equal(one.study.n_buildings, 1);
    assert_int_equal(one.study.n_casks, 1);
    assert_int_equal(one.study.casks[0].n_alike, 1);
    assert_int_equal(one.study.n_tiers, 1);
    assert_int_equal(one.study.tiers_idx[0], 2);
    assert_int_equal(one.study.follow_y, 1);
    assert_string_equal(one.study.buildings[0].name, "racked shed");
    stv_assert_close(one.study.casks[0].cask.geometry.capacity_l, 125.0, 1e-12, 0.0);
    study_close(&one);
}

/* Names and the order of other parts change nothing; what is said of the part does. */
static void parts_are_known_by_what_they_say(void **state)
{
    (void)state;
    static struct opened a, b, c;
    study_open(&a, "study: x\n" SHED "casks: [{name: new, size: 200 L}]\n" SITES);
    study_open(&b, "study: y\nmargin: {wood: 0.2}\n" SHED
                   "casks: [{name: small, size: 50 L, count: 3},\n"
                   "        {name: big, size: 200 L, count: 9}]\n" SITES);
    study_open(&c, "study: x\nbuilding: {kind: racked shed, tiers: 6}\n"
                   "casks: [{name: new, size: 201 L}]\n"
                   "sites: [{name: A, weather: {file: sky.csv, clock: UTC}}]\n");
    stv_assert_ok(a.status);
    stv_assert_ok(b.status);
    stv_assert_ok(c.status);
    assert_string_equal(a.study.buildings[0].said_sha256, b.study.buildings[0].said_sha256);
    assert_string_equal(a.study.casks[0].said_sha256, b.study.casks[1].said_sha256);
    assert_string_equal(a.study.sites[0].said_sha256, b.study.sites[0].said_sha256);
    assert_string_not_equal(a.study.buildings[0].said_sha256, c.study.buildings[0].said_sha256);
    assert_string_not_equal(a.study.casks[0].said_sha256, c.study.casks[0].said_sha256);
    assert_string_not_equal(a.study.sites[0].said_sha256, c.study.sites[0].said_sha256);
    assert_int_equal(strlen(a.study.sites[0].said_sha256), 64);
    study_close(&a);
    study_close(&b);
    study_close(&c);
}

static void refused_with_its_place(void **state)
{
    (void)state;
    static const struct {
        const char *text, *says;
        size_t line;
    } cases[] = {
        {"study: x\n" SHED "tiers: [1, 9]\n" SITES, "9", 3},
        {"study: x\n" SHED "tiers: [4, 2]\n" SITES, "2", 3},
        {"study: x\n" SHED "tier: 2\ntiers: [1]\n" SITES, "twice", 4},
        {"study: x\n" SHED "follow_years: 0\n" SITES, "0", 3},
        {"study: x\n" SHED "cask: {size: 200 L}\ncasks: [{name: a}]\n" SITES, "twice", 4},
        {"study: x\n" SHED "casks: [{name: a}, {name: a}]\n" SITES, "earlier", 3},
        {"study: x\n" SHED "casks: [{name: a, sise: 20 L}]\n" SITES, "sise", 3},
        {"study: x\n" SHED "casks: [{size: 20 L}]\n" SITES, "name", 3},
        {"study: x\n" SHED "casks: [{name: a, count: 4}, {name: b}]\n" SITES, "or of none", 3},
        {"study: x\n" SHED "casks: [{name: a, count: 0}]\n" SITES, "0", 3},
        {"study: x\n" SHED "cask: {size: 200 L, count: 4}\n" SITES, "count", 3},
        {"study: x\n" SHED "buildings: []\n" SITES, "1 to 8", 3},
        {"study: x\nbuildings: [{name: a}]\n" SITES, "kind", 2},
        {"study: x\n" SHED "casks: [{name: a}]\nchanges: [{name: b, tiers: 5}]\n" SITES,
         "one building", 4},
        {"study: x\n" SHED "margin: {window: -1}\n" SITES, "-1", 3},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        static struct opened one;
        study_open(&one, cases[i].text);
        stv_assert_status(one.status, STV_E_PARSE);
        bool is_said = false;
        for (size_t p = 0; p < one.problems.n; p++) {
            char text[700];
            stv_problem_text(&one.problems.items[p], text, sizeof text);
            is_said = is_said ||
                      (strstr(text, cases[i].says) && one.problems.items[p].row == cases[i].line);
            if (p + 1 == one.problems.n && !is_said)
                print_error("%zu: %s\n", i, text);
        }
        assert_true(is_said);
        study_close(&one);
    }
}

static void cells_come_back_to_the_bit(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    stv_scratch_open(&scratch);
    char key[STV_SHA256_TEXT], other[STV_SHA256_TEXT], why[300];
    stv_bytes_sha256("a", 1, key);
    stv_bytes_sha256("b", 1, other);
    struct stv_study_cell cell = {.n_tiers = 2, .n_years = 3, .n_draws = 4, .follow_y = 2}, back;
    stv_assert_ok(stv_cell_allocate(&cell));
    for (size_t i = 0; i < stv_cell_n_values(&cell); i++)
        cell.values[i] = 1.0 / (double)(i + 3);
    for (size_t i = 0; i < stv_cell_n_month_values(&cell); i++)
        cell.month_oak_mg[i] = cell.month_abv20_frac[i] = 1e-7 * (double)i;
    cell.years[2] = 2003;
    cell.reference_oak_mg[3] = 0.1;
    const char *path = stv_scratch_text(&scratch, "one.cell", "");
    stv_assert_status(stv_cell_file_read(path, key, &back), STV_E_PARSE);
    stv_assert_ok(stv_cell_file_write(path, key, &cell, why, sizeof why));
    stv_assert_ok(stv_cell_file_read(path, key, &back));
    assert_memory_equal(cell.values, back.values, stv_cell_n_values(&cell) * sizeof(double));
    assert_memory_equal(cell.month_oak_mg, back.month_oak_mg,
                        stv_cell_n_month_values(&cell) * sizeof(double));
    assert_int_equal(back.years[2], 2003);
    stv_assert_close(back.reference_oak_mg[3], 0.1, 0.0, 0.0);
    stv_cell_free(&back);
    stv_assert_status(stv_cell_file_read(path, other, &back), STV_E_PARSE);
    assert_null(back.values);
    /* One changed byte, and a file cut short. */
    FILE *file = fopen(path, "r+b");
    assert_non_null(file);
    assert_int_equal(fseek(file, -5, SEEK_END), 0);
    assert_int_equal(fputc(0x55, file), 0x55);
    assert_int_equal(fclose(file), 0);
    stv_assert_status(stv_cell_file_read(path, key, &back), STV_E_PARSE);
    path = stv_scratch_text(&scratch, "cut.cell", "stavecast cell 1 ");
    stv_assert_status(stv_cell_file_read(path, key, &back), STV_E_PARSE);
    stv_assert_status(stv_cell_file_read("/no/such.cell", key, &back), STV_E_NO_DATA);
    stv_cell_free(&cell);
    stv_scratch_close(&scratch);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_grid),
        cmocka_unit_test(a_plain_study_is_the_smallest_grid),
        cmocka_unit_test(parts_are_known_by_what_they_say),
        cmocka_unit_test(refused_with_its_place),
        cmocka_unit_test(cells_come_back_to_the_bit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
