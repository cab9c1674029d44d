/* The numbers beside the charts of a report are those of the answers with the same trials:
 *
 *     charts_equal FOLDER
 *
 * holds charts/NAME.csv of the report in FOLDER against climate.json, forecast.json, bottling.json,
 * vapour.json, sites.json and the report's own report.json there.  What is the very same sum must
 * agree in all nine digits. Casks of the report are walked over other days than those of one
 * answer; a step that a day cuts in two moves the sixth digit, so they must agree in five. */
#include "tests/check.h"
#include "tests/csv_cells.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>

#define PATH_ROOM 4096
#define SAME 1e-8
#define CASKS_SAME 1e-5
#define LEAST_SIZE 0.1 /* a change of strength of nearly nothing has no digits of its own */
#define KEY_ROOM 64

static const char *folder;

static struct csv_cells chart(const char *name)
{
    char path[PATH_ROOM];
    snprintf(path, sizeof path, "%s/charts/%s.csv", folder, name);
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        print_error("%s is missing\n", path);
    assert_non_null(file);
    assert_int_equal(fseek(file, 0, SEEK_END), 0);
    long size = ftell(file);
    assert_true(size > 0);
    rewind(file);
    char *text = calloc((size_t)size + 1, 1);
    assert_non_null(text);
    assert_int_equal(fread(text, 1, (size_t)size, file), size);
    fclose(file);
    struct csv_cells cells = csv_cells_of(text);
    free(text);
    assert_true(cells.n > cells.n_columns);
    return cells;
}

static size_t n_rows(const struct csv_cells *cells)
{
    return cells->n / cells->n_columns - 1;
}

static json_t *answer(const char *name)
{
    char path[PATH_ROOM];
    json_error_t error;
    snprintf(path, sizeof path, "%s/%s.json", folder, name);
    json_t *document = json_load_file(path, JSON_REJECT_DUPLICATES, &error);
    if (document == NULL)
        print_error("%s: %s\n", path, error.text);
    assert_non_null(document);
    return document;
}

/* The member of an array whose key has this text; NULL when there is none. */
static const json_t *member(const json_t *array, const char *key, const char *text)
{
    for (size_t i = 0; i < json_array_size(array); i++) {
        const json_t *one = json_array_get(array, i);
        const char *found = json_string_value(json_object_get(one, key));
        if (found != NULL && strcmp(found, text) == 0)
            return one;
    }
    return NULL;
}

/* A cell is a number of the answer; an empty cell is null. */
static void expect(const struct csv_cells *cells, size_t row, const char *head, const json_t *want,
                   double tolerance)
{
    const char *cell = csv_text(cells, row, head);
    if (!json_is_number(want) && cell[0] != '\0')
        print_error("row %zu, %s: the chart has %s, the answer nothing\n", row, head, cell);
    assert_int_equal(json_is_number(want), cell[0] != '\0');
    if (cell[0] == '\0')
        return;
    double got = atof(cell), is = json_number_value(want);
    double room = tolerance * fmax(fabs(is), LEAST_SIZE);
    if (!(fabs(got - is) <= room))
        print_error("row %zu, %s: the chart has %s, the answer %.9g\n", row, head, cell, is);
    assert_true(fabs(got - is) <= room);
}

static const char *const percentiles[] = {"p05", "p25", "p50", "p75", "p95"};

/* Five columns FRONT_p05_BACK ... are the range of an answer. */
static void expect_range(const struct csv_cells *cells, size_t row, const char *const around[2],
                         const json_t *range, double tolerance)
{
    for (size_t i = 0; i < 5; i++) {
        char head[KEY_ROOM];
        snprintf(head, sizeof head, "%s%s%s", around[0], percentiles[i], around[1]);
        expect(cells, row, head, json_object_get(range, percentiles[i]), tolerance);
    }
}

/* The position of a tier as a whole. */
static const json_t *tier_of(const json_t *climate, int tier)
{
    const json_t *positions = json_object_get(climate, "positions");
    for (size_t i = 0; i < json_array_size(positions); i++) {
        const json_t *position = json_array_get(positions, i);
        if (json_integer_value(json_object_get(position, "tier")) == tier &&
            json_is_null(json_object_get(position, "bay")))
            return position;
    }
    return NULL;
}

static void test_racks(void **state)
{
    (void)state;
    static const char *const charts[][3] = {
        {"rack-1-temperature", "liquid_mean_c", "liquid_mean_c"},
        {"rack-1-evaporation", "evaporation_pct_per_y", "evaporation_pct_per_year"},
        {"rack-1-extraction", "extraction_rel_nd", "extraction_rel"}};
    json_t *climate = answer("climate");
    for (size_t i = 0; i < 3; i++) {
        struct csv_cells cells = chart(charts[i][0]);
        assert_int_equal(n_rows(&cells), 12); /* six tiers, two seasons */
        for (size_t row = 0; row < n_rows(&cells); row++) {
            const json_t *tier = tier_of(climate, atoi(csv_text(&cells, row, "tier")));
            const json_t *season =
                json_object_get(json_object_get(tier, "seasons"), csv_text(&cells, row, "season"));
            expect(&cells, row, charts[i][1], json_object_get(season, charts[i][2]), SAME);
        }
        csv_cells_free(&cells);
    }
    json_decref(climate);
}

/* Every bin with an hour in it, in the order of both. */
static void test_ridges(void **state)
{
    (void)state;
    json_t *climate = answer("climate");
    struct csv_cells cells = chart("ridges-1");
    size_t row = 0;
    for (int tier = 1; tier <= 6; tier++)
        for (int s = 0; s < 2; s++) {
            const char *name = s == 0 ? "warm" : "cold";
            const json_t *season =
                json_object_get(json_object_get(tier_of(climate, tier), "seasons"), name);
            const json_t *bins = json_object_get(season, "hours_at");
            assert_true(json_array_size(bins) > 10);
            for (size_t b = 0; b < json_array_size(bins); b++, row++) {
                const json_t *bin = json_array_get(bins, b);
                assert_true(row < n_rows(&cells));
                assert_int_equal(atoi(csv_text(&cells, row, "tier")), tier);
                assert_string_equal(csv_text(&cells, row, "season"), name);
                expect(&cells, row, "from_c", json_object_get(bin, "from_c"), SAME);
                expect(&cells, row, "to_c", json_object_get(bin, "to_c"), SAME);
                expect(&cells, row, "hours_pct", json_object_get(bin, "hours_pct"), SAME);
            }
        }
    assert_int_equal(row, n_rows(&cells));
    csv_cells_free(&cells);
    json_decref(climate);
}

/* The answer's word for a loss of the chart. */
static const char *loss_of(const char *word)
{
    static const char *const words[][2] = {{"water, through wood", "wood_water_kg"},
                                           {"alcohol, through wood", "wood_ethanol_kg"},
                                           {"both, at joints", "joints_kg"},
                                           {"soaked into staves", "indrink_kg"},
                                           {"samples", "samples_kg"},
                                           {"leaks", "leak_kg"},
                                           {"all", "all_kg"}};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(word, words[i][0]) == 0)
            return words[i][1];
    print_error("no such loss: %s\n", word);
    return "";
}

static void test_losses(void **state)
{
    (void)state;
    json_t *report = answer("report");
    const json_t *store = json_array_get(json_object_get(report, "season_losses"), 0);
    struct csv_cells cells = chart("losses-1");
    assert_int_equal(n_rows(&cells), 2 * 6 * 7); /* seasons, tiers, losses */
    for (size_t row = 0; row < n_rows(&cells); row++) {
        const json_t *season =
            json_object_get(json_object_get(store, "seasons"), csv_text(&cells, row, "season"));
        size_t tier_idx = (size_t)atoi(csv_text(&cells, row, "tier")) - 1;
        const json_t *tier = json_array_get(json_object_get(season, "tiers"), tier_idx);
        const json_t *kg = json_object_get(tier, loss_of(csv_text(&cells, row, "loss")));
        assert_true(json_is_object(kg));
        expect(&cells, row, "casks", json_object_get(tier, "casks"), 0.0);
        expect_range(&cells, row, (const char *const[]){"", "_kg"}, kg, SAME);
        assert_string_equal(csv_text(&cells, row, "from"),
                            json_string_value(json_object_get(season, "from")));
        assert_string_equal(csv_text(&cells, row, "to"),
                            json_string_value(json_object_get(season, "to")));
    }
    csv_cells_free(&cells);
    json_decref(report);
}

static void test_paths(void **state)
{
    (void)state;
    json_t *report = answer("report");
    const json_t *store = json_array_get(json_object_get(report, "tier_paths"), 0);
    const json_t *tiers = json_object_get(store, "tiers");
    struct csv_cells cells = chart("paths-1");
    size_t row = 0;
    assert_int_equal(json_array_size(tiers), 6);
    for (size_t t = 0; t < 6; t++) {
        const json_t *ages = json_object_get(json_array_get(tiers, t), "ages");
        for (size_t a = 0; a < json_array_size(ages); a++, row++) {
            const json_t *age = json_array_get(ages, a);
            assert_true(row < n_rows(&cells));
            assert_int_equal(atoi(csv_text(&cells, row, "tier")), t + 1);
            expect(&cells, row, "age_y", json_object_get(age, "age_y"), SAME);
            for (size_t p = 0; p < 5; p += 2) { /* the chart has the ends and the middle */
                char head[KEY_ROOM];
                snprintf(head, sizeof head, "lost_%s_pct", percentiles[p]);
                expect(&cells, row, head,
                       json_object_get(json_object_get(age, "lost_pct"), percentiles[p]), SAME);
                snprintf(head, sizeof head, "wood_%s_nd", percentiles[p]);
                expect(&cells, row, head,
                       json_object_get(json_object_get(age, "wood_index"), percentiles[p]), SAME);
            }
        }
    }
    assert_int_equal(row, n_rows(&cells));
    assert_true(row > 6);
    csv_cells_free(&cells);
    json_decref(report);
}

/* Row of the fan on a day; fails when there is none. */
static size_t fan_row(const struct csv_cells *cells, const json_t *day)
{
    size_t row = 0;
    assert_true(json_is_string(day));
    while (row < n_rows(cells) &&
           (strcmp(csv_text(cells, row, "date"), json_string_value(day)) != 0 ||
            strcmp(csv_text(cells, row, "kind"), "outlook") != 0))
        row++;
    assert_true(row < n_rows(cells));
    return row;
}

/* Now, and on the day of the last gauge. */
static void test_fans(void **state)
{
    (void)state;
    static const char *const litres[] = {"volume20_", "_l"}, *const strength[] = {"abv20_", "_pct"};
    json_t *forecast = answer("forecast");
    const json_t *casks = json_object_get(forecast, "casks");
    size_t n_casks = 0, n_gauges = 0;
    for (size_t c = 0; c < json_array_size(casks); c++) {
        const json_t *cask = json_array_get(casks, c), *now = json_object_get(cask, "now");
        const json_t *gauge = json_object_get(cask, "last_gauge");
        const char *id = json_string_value(json_object_get(cask, "cask"));
        char name[KEY_ROOM];
        snprintf(name, sizeof name, "cask-%03d", atoi(id)); /* casks are numbered in the demo */
        struct csv_cells cells = chart(name);
        assert_string_equal(csv_text(&cells, 0, "cask"), id);
        size_t row = fan_row(&cells, json_object_get(now, "date"));
        expect_range(&cells, row, litres, json_object_get(now, "volume20_l"), CASKS_SAME);
        expect_range(&cells, row, strength, json_object_get(now, "abv20_pct"), CASKS_SAME);
        n_casks++;
        if (json_is_object(gauge)) {
            row = fan_row(&cells, json_object_get(gauge, "date"));
            expect_range(&cells, row, litres, json_object_get(gauge, "expected_volume20_l"),
                         CASKS_SAME);
            n_gauges++;
        }
        csv_cells_free(&cells);
    }
    assert_int_equal(n_casks, 58);
    assert_true(n_gauges >= 40);
    json_decref(forecast);
}

static void expect_day(const struct csv_cells *cells, size_t row, const char *head,
                       const json_t *want)
{
    const char *day = json_is_string(want) ? json_string_value(want) : "";
    assert_string_equal(csv_text(cells, row, head), day);
}

static void test_windows(void **state)
{
    (void)state;
    json_t *bottling = answer("bottling");
    const json_t *casks = json_object_get(bottling, "casks");
    size_t n_seen = 0, n_windows = 0, n_unclear = 0;
    for (size_t number = 1; n_seen < json_array_size(casks); number++) {
        char name[KEY_ROOM];
        snprintf(name, sizeof name, "windows-%zu", number);
        struct csv_cells cells = chart(name);
        for (size_t row = 0; row < n_rows(&cells); row++, n_seen++) {
            const json_t *cask = member(casks, "cask", csv_text(&cells, row, "cask"));
            assert_non_null(cask);
            expect(&cells, row, "surest_pct", json_object_get(cask, "surest_pct"), SAME);
            if (!json_is_true(json_object_get(cask, "has_window"))) {
                assert_string_equal(csv_text(&cells, row, "opens"), "");
                continue;
            }
            expect_day(&cells, row, "opens", json_object_get(cask, "opens"));
            expect_day(&cells, row, "surest", json_object_get(cask, "surest"));
            assert_string_equal(csv_text(&cells, row, "still_open"),
                                json_is_null(json_object_get(cask, "closes")) ? "yes" : "no");
            static const char *const clear[] = {"opens_clear", "surest_clear", "closes_clear"};
            for (size_t i = 0; i < sizeof clear / sizeof clear[0]; i++) {
                const json_t *flag = json_object_get(cask, clear[i]);
                assert_true(json_is_boolean(flag));
                assert_string_equal(csv_text(&cells, row, clear[i]),
                                    json_is_true(flag) ? "yes" : "no");
                n_unclear += !json_is_true(flag);
            }
            n_windows++;
        }
        csv_cells_free(&cells);
    }
    assert_int_equal(n_seen, json_array_size(casks));
    assert_true(n_windows > 10);
    assert_true(n_unclear > 10 && n_unclear < 3 * n_windows); /* both are seen */
    json_decref(bottling);
}

static void test_vapour(void **state)
{
    (void)state;
    json_t *vapour = answer("vapour");
    const json_t *store = json_array_get(json_object_get(vapour, "stores"), 0);
    const json_t *hours = json_object_get(store, "by_month_and_hour");
    struct csv_cells cells = chart("vapour-1");
    assert_int_equal(n_rows(&cells), 288); /* 12 months of 24 hours */
    assert_int_equal(json_array_size(hours), 288);
    for (size_t row = 0; row < 288; row++) {
        const json_t *hour = json_array_get(hours, row);
        expect(&cells, row, "month", json_object_get(hour, "month"), 0.0);
        expect(&cells, row, "hour", json_object_get(hour, "hour"), 0.0);
        expect_range(&cells, row, (const char *const[]){"", "_ppm"},
                     json_object_get(hour, "highest_ppm"), CASKS_SAME);
    }
    csv_cells_free(&cells);
    json_decref(vapour);
}

/* What was told of the last gauge of each cask. */
static void test_gauges(void **state)
{
    (void)state;
    json_t *forecast = answer("forecast");
    const json_t *casks = json_object_get(forecast, "casks");
    struct csv_cells cells = chart("gauges-1");
    size_t n_seen = 0;
    for (size_t row = 0; row < n_rows(&cells); row++) {
        const json_t *cask = member(casks, "cask", csv_text(&cells, row, "cask"));
        const json_t *gauge = json_object_get(cask, "last_gauge");
        const char *date = json_string_value(json_object_get(gauge, "date"));
        if (strcmp(csv_text(&cells, row, "figure"), "litres") != 0 || date == NULL ||
            strcmp(csv_text(&cells, row, "day"), date) != 0)
            continue;
        const json_t *told = json_object_get(gauge, "expected_volume20_l");
        expect(&cells, row, "told", json_object_get(told, "p50"), CASKS_SAME);
        expect(&cells, row, "told_p05", json_object_get(told, "p05"), CASKS_SAME);
        expect(&cells, row, "told_p95", json_object_get(told, "p95"), CASKS_SAME);
        expect(&cells, row, "measured", json_object_get(gauge, "volume20_l"), SAME);
        n_seen++;
    }
    assert_true(n_seen >= 40);
    csv_cells_free(&cells);
    json_decref(forecast);
}

/* The word of the answer for a metric of the chart. */
static const char *metric_of(const char *word)
{
    static const char *const words[][2] = {{"abv20_change_pct", "abv20_drift_pct"},
                                           {"wood_nd", "wood_rel"},
                                           {"still_fruit_nd", "still_fruit_index"}};
    for (size_t i = 0; i < 3; i++)
        if (strcmp(word, words[i][0]) == 0)
            return words[i][1];
    return word;
}

static void test_sites(void **state)
{
    (void)state;
    json_t *document = answer("sites");
    const json_t *sites = json_object_get(document, "sites");
    struct csv_cells cells = chart("sites-1");
    size_t n_ranges = 0, n_years = 0;
    for (size_t row = 0; row < n_rows(&cells); row++) {
        const json_t *site = member(sites, "site", csv_text(&cells, row, "site"));
        const char *metric = metric_of(csv_text(&cells, row, "metric"));
        int year = atoi(csv_text(&cells, row, "year"));
        const json_t *years = json_object_get(site, "by_year");
        if (year == 0) {
            expect_range(&cells, row, (const char *const[]){"", ""}, json_object_get(site, metric),
                         CASKS_SAME);
            n_ranges++;
        }
        for (size_t y = 0; y < json_array_size(years); y++) {
            const json_t *one = json_array_get(years, y);
            if (json_integer_value(json_object_get(one, "year")) != year)
                continue;
            expect(&cells, row, "p50", json_object_get(one, metric), CASKS_SAME);
            n_years++;
        }
    }
    assert_int_equal(n_ranges, 5 * json_array_size(sites));
    assert_int_equal(n_ranges + n_years, n_rows(&cells));
    csv_cells_free(&cells);
    json_decref(document);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_racks),   cmocka_unit_test(test_fans),
        cmocka_unit_test(test_windows), cmocka_unit_test(test_vapour),
        cmocka_unit_test(test_gauges),  cmocka_unit_test(test_sites),
        cmocka_unit_test(test_ridges),  cmocka_unit_test(test_losses),
        cmocka_unit_test(test_paths)};
    if (argc != 2) {
        fprintf(stderr, "usage: charts_equal FOLDER\n");
        return 2;
    }
    folder = argv[1];
    return cmocka_run_group_tests(tests, NULL, NULL);
}
