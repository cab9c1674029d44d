/* sites.yaml: a study is read as written, with its defaults, its book and its changes, and refused
 * with places. */
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

#define SKY "sites: [{name: A, weather: {file: sky.csv}}]\n"

/* A change replaces what it says and keeps the rest; what the kind fills in is filled in anew. */
static void changes_are_put_over_the_building(void **state)
{
    (void)state;
    struct opened one;
    study_open(&one,
               "study: x\n"
               "building:\n"
               "  kind: dunnage\n"
               "  roof: {construction: bare steel sheet, absorptance: 85 %, emittance: 30 %}\n"
               "  floor: {kind: earth, wetness: 40 %}\n"
               "  leak_area: 0.5 m2\n"
               "  night_air: {air_change: 3 1/h, from: 18:00, to: 7:00}\n"
               "margin: {temperature: 1 K, humidity: 5 %, bottles: 2}\n" SKY "changes:\n"
               "  - {name: white roof, roof: {absorptance: 25 %}}\n"
               "  - name: panels and a slab\n"
               "    roof: {layers: [{material: softwood, thickness: 50 mm}]}\n"
               "    floor: {kind: slab}\n"
               "  - {name: stronger fan, night_air: {air_change: 9 1/h}}\n"
               "  - {name: longer, length: 80 m}\n");
    study_print(&one);
    stv_assert_ok(one.status);
    const struct stv_study *study = &one.study;
    assert_int_equal(study->n_changes, 4);
    assert_string_equal(study->changes[0].name, "white roof");
    const struct stv_building *white = &study->changes[0].building;
    struct stv_building as_is = study->building;
    stv_assert_close(white->roof.absorptance_frac, 0.25, 1e-12, 0.0);
    as_is.roof.absorptance_frac = white->roof.absorptance_frac;
    assert_memory_equal(&as_is, white, sizeof as_is);
    const struct stv_building *panels = &study->changes[1].building;
    assert_int_equal(panels->roof.n_layers, 1);
    stv_assert_close(panels->roof.layers[0].thickness_m, 0.050, 1e-12, 0.0);
    stv_assert_close(panels->roof.absorptance_frac, 0.85, 1e-12, 0.0);
    stv_assert_close(panels->roof.emittance_frac, 0.30, 1e-12, 0.0);
    assert_int_equal(panels->floor, STV_FLOOR_SLAB);
    const struct stv_building *fan = &study->changes[2].building;
    stv_assert_close(fan->night_air_change_per_h, 9.0, 1e-12, 0.0);
    stv_assert_close(fan->night_from_h, 18.0, 1e-12, 0.0);
    const struct stv_building *longer = &study->changes[3].building;
    stv_assert_close(longer->leak_area_m2, 0.5, 1e-12, 0.0);
    assert_true(longer->vent_low_m2 > study->building.vent_low_m2);
    stv_assert_close(study->margin_liquid_k, 1.0, 1e-12, 0.0);
    stv_assert_close(study->margin_rh_frac, 0.05, 1e-12, 0.0);
    stv_assert_close(study->margin_bottles_nd, 2.0, 1e-12, 0.0);
    study_close(&one);
}

#define BOOK                                                                      \
    "name: House\nsite: {latitude: 35.2, longitude: -101.7, elevation: 1100 m}\n" \
    "units: {length: m}\nweather: {file: sky.csv}\n"                              \
    "reference_cask: {size: 250 L, strength: 63 %vol}\n"                          \
    "targets: {bottling_strength: 50 %vol}\n"                                     \
    "seasons: {warm: [Jun, Jul], cold: [Dec, Jan]}\nwarehouses:\n"                \
    "  - {name: Old, kind: dunnage, reach: {by_hand: 1}}\n"                       \
    "  - {name: New, kind: racked shed, tiers: 4, length: 30, reach: {by_hand: 2}}\n"

static void study_open_with_book(struct opened *one, const char *text)
{
    stv_scratch_open(&one->scratch);
    stv_problems_init(&one->problems);
    stv_scratch_text(&one->scratch, "sky.csv", "date,temp_max,temp_min\n");
    stv_scratch_text(&one->scratch, "book.yaml", BOOK);
    const char *path = stv_scratch_text(&one->scratch, "sites.yaml", text);
    one->status = stv_study_read(path, &one->problems, &one->study);
}

static void a_book_describes_the_building(void **state)
{
    (void)state;
    struct opened one;
    study_open_with_book(&one, "study: x\nbook: .\nwarehouse: New\n"
                               "changes: [{name: wider, width: 14, roof: {absorptance: 25 %}}]\n");
    study_print(&one);
    stv_assert_ok(one.status);
    const struct stv_study *study = &one.study;
    assert_string_equal(study->house, "House");
    assert_string_equal(study->warehouse, "New");
    assert_int_equal(study->building.n_tiers, 4);
    stv_assert_close(study->building.length_m, 30.0, 1e-12, 0.0);
    stv_assert_close(study->changes[0].building.width_m, 14.0, 1e-12, 0.0); /* the book's unit */
    stv_assert_close(study->changes[0].building.length_m, 30.0, 1e-12, 0.0);
    stv_assert_close(study->cask.geometry.capacity_l, 250.0, 1e-12, 0.0);
    stv_assert_close(study->fill_abv20_frac, 0.63, 1e-12, 0.0);
    stv_assert_close(study->rules.bottling_abv20_frac, 0.50, 1e-12, 0.0);
    assert_true(study->warm_months.is_said && study->warm_months.holds[5]);
    assert_int_equal(study->n_sites, 1);
    assert_string_equal(study->sites[0].name, "House");
    assert_true(study->sites[0].weather.has_fallback_site);
    assert_non_null(strstr(study->sites[0].weather.path, "sky.csv"));
    study_close(&one);

    study_open_with_book(&one, "study: x\nbook: .\nwarehouse: Old\n" SKY);
    stv_assert_ok(one.status);
    assert_int_equal(one.study.n_changes, 0);
    assert_string_equal(one.study.sites[0].name, "A");
    assert_int_equal(one.study.building.kind, STV_BUILDING_DUNNAGE);
    study_close(&one);
}

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
    {SHED TAIL "changes: []\n", 4, 10, "lists 0 changes"},
    {SHED TAIL "changes: [white roof]\n", 4, 11, "a change is written"},
    {SHED TAIL "changes: [{roof: {absorptance: 0.25}}]\n", 4, 11, "needs a name"},
    {SHED TAIL "changes: [{name: white roof}]\n", 4, 11, "changes nothing"},
    {SHED TAIL "changes: [{name: a, rof: {absorptance: 0.25}}]\n", 4, 21, "roof"},
    {SHED TAIL "changes: [{name: a, roof: {absorbtance: 0.25}}]\n", 4, 28, "absorptance"},
    {SHED TAIL "changes: [{name: a, roof: {absorptance: 2.5}}]\n", 4, 41, "is above 1"},
    {SHED TAIL "changes: [{name: a, floor: {kind: slab, wetness: 50 %}}]\n", 4, 50, "earth floor"},
    {SHED TAIL "changes: [{name: a, tiers: 2}]\n", 4, 11, "keeps them"},
    {SHED TAIL "changes: [{name: a, tier_height: 9 m}]\n", 4, 11, "do not fit under eaves"},
    {SHED TAIL "changes: [{name: a, reach: {by_hand: 1}}]\n", 4, 28, "nothing to the air"},
    {SHED TAIL "changes: [{name: a, length: 30 m}, {name: a, width: 9 m}]\n", 4, 43,
     "earlier change"},
    {SHED "book: .\n" TAIL, 3, 7, "says the building twice"},
    {SHED "warehouse: New\n" TAIL, 3, 12, "belongs to a book"},
    {"study: x\nbook: elsewhere\n", 2, 7, "there is no"},
};

static const struct slip book_slips[] = {
    {"study: x\nbook: .\n", 2, 7, "has 2 warehouses"},
    {"study: x\nbook: .\nwarehouse: Nwe\n", 3, 12, "New"},
    {"study: x\nbook: .\nwarehouse: Old\nchanges: [{name: a, floor: {kind: slap}}]\n", 4, 35,
     "slab"},
};

static void slips_are_refused_at_their_place(void **state)
{
    (void)state;
    size_t n_plain = N_OF(slips);
    for (size_t i = 0; i < n_plain + N_OF(book_slips); i++) {
        struct opened one;
        const struct slip *slip = i < n_plain ? &slips[i] : &book_slips[i - n_plain];
        if (i < n_plain)
            study_open(&one, slip->text);
        else
            study_open_with_book(&one, slip->text);
        const struct stv_problem *problem = one.problems.items;
        bool is_said = one.status == STV_E_PARSE && one.problems.n_total == 1 &&
                       problem->row == slip->row && problem->column == slip->column &&
                       strstr(problem->message, slip->phrase);
        if (!is_said) {
            print_error("wanted %zu:%zu %s; said\n", slip->row, slip->column, slip->phrase);
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
        cmocka_unit_test(changes_are_put_over_the_building),
        cmocka_unit_test(a_book_describes_the_building),
        cmocka_unit_test(slips_are_refused_at_their_place),
        cmocka_unit_test(too_many_sites),
        cmocka_unit_test(absent_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
