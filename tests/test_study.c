/* sites.yaml: a study is read as written, with its defaults, and refused with places. */
#include "tests/check.h"
#include "tests/scratch.h"

#include "ingest/study.h"

#include <string.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])

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

static void study_print(const struct opened *one)
{
    for (size_t i = 0; i < one->problems.n; i++) {
        char text[700];
        stv_problem_text(&one->problems.items[i], text, sizeof text);
        print_error("  %s\n", text);
    }
}

static void study_close(struct opened *one)
{
    stv_problems_free(&one->problems);
    stv_scratch_close(&one->scratch);
}

static void whole_study(void **state)
{
    (void)state;
    struct opened one;
    study_open(&one, "study: Where would Quill Basin's casks do best\n"
                     "building: {kind: racked shed, tiers: 5, bays: 12, depth: 2}\n"
                     "tier: 2\n"
                     "cask: {size: 250 L, held: port, strength: 63.5 %vol}\n"
                     "margin: {litres: 0.5 %, strength: 0.2 %vol, wood: 0.1}\n"
                     "sites:\n"
                     "  - {name: North, weather: {file: sky.csv, station: New York}}\n"
                     "  - {name: South, weather: {file: sky.csv}}\n");
    study_print(&one);
    stv_assert_ok(one.status);
    const struct stv_study *study = &one.study;
    assert_string_equal(study->name, "Where would Quill Basin's casks do best");
    assert_int_equal(study->building.n_tiers, 5);
    assert_int_equal(study->tier_idx, 1);
    stv_assert_close(study->cask.geometry.capacity_l, 250.0, 1e-12, 0.0);
    assert_int_equal(study->cask.history, STV_WOOD_HELD_FORTIFIED);
    assert_string_equal(study->cask.kind_name, "first-fill port 250 L");
    stv_assert_close(study->fill_abv20_frac, 0.635, 1e-12, 0.0);
    stv_assert_close(study->margin[STV_SITE_VOLUME_LOSS_FRAC], 0.005, 1e-12, 0.0);
    stv_assert_close(study->margin[STV_SITE_LPA_LOSS_FRAC], 0.003, 1e-12, 0.0);
    stv_assert_close(study->margin[STV_SITE_DRIFT_FRAC], 0.002, 1e-12, 0.0);
    stv_assert_close(study->margin[STV_SITE_WOOD_ND], 0.1, 1e-12, 0.0);
    assert_int_equal(study->n_sites, 2);
    assert_string_equal(study->sites[0].weather.station, "New York");
    assert_non_null(strstr(study->sites[1].weather.path, "/sky.csv"));
    study_close(&one);
}

static void defaults(void **state)
{
    (void)state;
    struct opened one;
    study_open(&one, "study: x\nbuilding: {kind: rick house, tiers: 5}\n"
                     "sites: [{name: A, weather: {file: sky.csv}}]\n");
    stv_assert_ok(one.status);
    assert_int_equal(one.study.tier_idx, 2);
    assert_string_equal(one.study.cask.kind_name, "new oak 200 L");
    assert_int_equal(one.study.cask.history, STV_WOOD_NEW);
    stv_assert_close(one.study.fill_abv20_frac, 0.60, 1e-12, 0.0);
    stv_assert_close(one.study.margin[STV_SITE_FRUIT_ND], 0.05, 1e-12, 0.0);
    study_close(&one);
}

struct slip {
    const char *text;
    size_t row, column;
    const char *phrase;
};

#define TAIL "sites: [{name: A, weather: {file: sky.csv}}]\n"
#define SHED "study: x\nbuilding: {kind: dunnage, tiers: 3}\n"

static const struct slip slips[] = {
    {"building: {kind: dunnage}\n" TAIL, 1, 1, "needs study"},
    {"study: x\n" TAIL, 1, 1, "needs a building"},
    {"study: x\nbuilding: {tiers: 4}\n" TAIL, 2, 11, "needs a kind"},
    {SHED "tier: 4\n" TAIL, 3, 7, "outside 1 to 3"},
    {SHED "cask: {strength: 60 kg}\n" TAIL, 3, 18, "unit of mass"},
    {SHED "cask: {held: shery}\n" TAIL, 3, 14, "sherry"},
    {SHED "cask: {stave: 5 mm}\n" TAIL, 3, 15, "outside 0.01 to 0.06 m"},
    {SHED "margin: {litre: 1 %}\n" TAIL, 3, 10, "litres"},
    {SHED, 1, 1, "needs sites"},
    {SHED "sites: []\n", 3, 8, "lists 0 sites"},
    {SHED "sites: [North]\n", 3, 9, "a site is written"},
    {SHED "sites: [{name: A}]\n", 3, 9, "weather is missing"},
    {SHED "sites: [{name: A, weather: {file: rain.csv}}]\n", 3, 35, "no such file"},
    {SHED "sites: [{name: A, weather: {file: sky.csv, stattion: x}}]\n", 3, 44, "station"},
    {SHED "sites: [{name: A, weather: {file: sky.csv}}, {name: A, weather: {file: sky.csv}}]\n", 3,
     53, "earlier site"},
    {SHED "site: []\n" TAIL, 3, 1, "did you mean \"sites\""},
    {"", 1, 1, "empty"},
};

static void slips_are_refused_at_their_place(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_OF(slips); i++) {
        struct opened one;
        study_open(&one, slips[i].text);
        const struct stv_problem *problem = one.problems.items;
        bool is_said = one.status == STV_E_PARSE && one.problems.n_total == 1 &&
                       problem->row == slips[i].row && problem->column == slips[i].column &&
                       strstr(problem->message, slips[i].phrase);
        if (!is_said) {
            print_error("wanted %zu:%zu %s; said\n", slips[i].row, slips[i].column,
                        slips[i].phrase);
            study_print(&one);
        }
        study_close(&one);
        assert_true(is_said);
    }
}

static void too_many_sites(void **state)
{
    (void)state;
    size_t size = 8192, used = 0;
    char *text = malloc(size);
    assert_non_null(text);
    used += (size_t)snprintf(text, size, SHED "sites:\n");
    for (int i = 0; i <= STV_STUDY_SITES_MAX; i++)
        used += (size_t)snprintf(text + used, size - used,
                                 "  - {name: S%d, weather: {file: sky.csv}}\n", i);
    struct opened one;
    study_open(&one, text);
    stv_assert_status(one.status, STV_E_PARSE);
    assert_non_null(strstr(one.problems.items[0].message, "lists 65 sites"));
    study_close(&one);
    free(text);
}

static void absent_file(void **state)
{
    (void)state;
    struct stv_problems problems;
    struct stv_study study;
    stv_problems_init(&problems);
    stv_assert_status(stv_study_read("/absent/sites.yaml", &problems, &study), STV_E_IO);
    assert_int_equal(problems.n_total, 1);
    stv_problems_free(&problems);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(whole_study),
        cmocka_unit_test(defaults),
        cmocka_unit_test(slips_are_refused_at_their_place),
        cmocka_unit_test(too_many_sites),
        cmocka_unit_test(absent_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
