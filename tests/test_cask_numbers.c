/* Every number of the cask model, one by one: a book sets it, and what it is for moves.  Ranges
 * that a book may not leave are tried at both ends. */
#include "model/climate_metrics.h"
#include "model/draws.h"
#include "tests/book_case.h"
#include "tests/places.h"

#include <gsl/gsl_errno.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])
#define YEARS_H (2 * 8760)
#define N_DAYS 4
#define N_DRAWS 4
#define RESULTS_MAX 8000
#define YAML_MAX 512

/* All sizes and histories of wood, a thin stave, spirit above 60 % by mass, dry and soaked wood,
 * wood emptied for less and for more than it stays wet. */
static const char casks_csv[] = "cask,size,held,uses,stave,filled,litres,strength,soaked\n"
                                "1,50 L,new,0,,2001-01-01,48 L,63 %vol,no\n"
                                "2,100 L,new,0,,2001-01-01,96 L,63 %vol,no\n"
                                "3,200 L,new,0,,2001-01-01,150 L,60 %vol,no\n"
                                "4,225 L,bourbon,0,,2001-01-01,215 L,60 %vol,yes\n"
                                "5,250 L,sherry,0,,2001-01-01,240 L,60 %vol,no\n"
                                "6,500 L,new,0,,2001-01-01,480 L,80 %vol,no\n"
                                "7,200 L,new,0,10 mm,2001-01-01,195 L,60 %vol,no\n";
static const char history_csv[] = "date,what,cask,litres,strength,soaked\n"
                                  "2001-06-01,empty,4,,,\n"
                                  "2001-06-01,rejuvenate,4,,,\n"
                                  "2001-06-02,fill,4,215 L,60 %vol,yes\n"
                                  "2001-06-01,empty,3,,,\n"
                                  "2001-08-10,fill,3,190 L,60 %vol,no\n";

/* What a number moves. */
enum part {
    FORECAST, /* a forecast without trials */
    TRIALS,   /* one with trials */
    OAK,      /* what the wood gave */
    FIGURES,  /* figures of a place */
    AIR,      /* air that passes a store */
    NOTHING
};

/* Numbers that neither a forecast nor, as spreads, a trial of it shows by itself. */
static const struct exception {
    const char *start; /* of the name */
    enum part part;
    const char *beside; /* also said by the book, or NULL */
} exceptions[] = {
    {"cycling_gain_per_k", NOTHING, NULL}, /* listed ahead of what will read it */
    /* No forecast tells these four kinds of extract yet, nor the line that is theirs alone. */
    {"oak_lactone_", OAK, NULL},
    {"oak_aldehydes_", OAK, NULL},
    {"oak_tannins_", OAK, NULL},
    {"oak_sugars_decay_ea_j_mol", OAK, "oak_sugars_decay_per_y: 0.5"},
    {"oak_sugars_", OAK, NULL},
    {"oak_strength_line_least_nd", OAK, "oak_strength_line_slope_nd: 0.1"},
    {"oak_strength_line_most_nd", OAK, "oak_strength_line_slope_nd: -0.1"},
    {"oak_strength_line_", OAK, NULL},
    /* By default nothing of these kinds decays. */
    {"oak_phenolics_decay_ea_j_mol", FORECAST, "oak_phenolics_decay_per_y: 0.5"},
    {"oak_acids_decay_ea_j_mol", FORECAST, "oak_acids_decay_per_y: 0.5"},
    /* No default of a forecast's wood lies near the limits. */
    {"oak_ea_least_j_mol", FORECAST, "extraction_ea_offset_j_mol: -20000"},
    {"oak_ea_most_j_mol", FORECAST, "extraction_ea_offset_j_mol: 40000"},
    {"degree_day_base_c", FIGURES, NULL},
    {"cool_below_c", FIGURES, NULL},
    {"waking_c", FIGURES, NULL},
    {"kinetic_mean_ea_j_mol", FIGURES, NULL},
    {"vapour_air_factor_nd", AIR, NULL},
    {"spread_air_change_ln_nd", AIR, NULL},
    /* Four trials of seven casks hold no score as far out as 3.5. */
    {"spread_limit_nd", TRIALS, "spread_limit_nd: 0.5"},
    {"spread_", TRIALS, NULL},
};

static struct exception treatment_of(const char *name)
{
    for (size_t i = 0; i < N_OF(exceptions); i++)
        if (strncmp(name, exceptions[i].start, strlen(exceptions[i].start)) == 0)
            return exceptions[i];
    return (struct exception){name, FORECAST, NULL};
}

/* One row of the two tables. */
struct row {
    const char *name;
    double usual_nd, least_nd, most_nd;
};

static struct row row_at(size_t i)
{
    size_t n_drawn, n_fixed;
    const struct stv_param_info *drawn = stv_param_table(&n_drawn);
    const struct stv_cask_number_info *fixed = stv_cask_number_table(&n_fixed);
    assert_true(i < n_drawn + n_fixed);
    if (i < n_drawn)
        return (struct row){drawn[i].name, drawn[i].default_nd, drawn[i].least_nd,
                            drawn[i].most_nd};
    fixed += i - n_drawn;
    return (struct row){fixed->name, fixed->default_nd, fixed->least_nd, fixed->most_nd};
}

static size_t n_rows(void)
{
    size_t n_drawn, n_fixed;
    stv_param_table(&n_drawn);
    stv_cask_number_table(&n_fixed);
    return n_drawn + n_fixed;
}

/* Another value inside the range, a quarter more where there is room. */
static double other_value(const struct row *row)
{
    if (row->usual_nd == 0.0)
        return row->least_nd + 0.25 * (row->most_nd - row->least_nd);
    double more_nd = 1.25 * row->usual_nd;
    return more_nd > row->least_nd && more_nd < row->most_nd ? more_nd : 0.8 * row->usual_nd;
}

struct results {
    double values[RESULTS_MAX];
    size_t n;
};

static void add_result(struct results *results, double value)
{
    assert_true(results->n < RESULTS_MAX);
    results->values[results->n++] = value;
}

static bool differ(const struct results *a, const struct results *b)
{
    assert_int_equal(a->n, b->n);
    for (size_t i = 0; i < a->n; i++)
        if (a->values[i] != b->values[i] && !(isnan(a->values[i]) && isnan(b->values[i])))
            return true;
    return false;
}

/* A store whose air and walls differ, with days and seasons. */
static struct stv_position store(void)
{
    const struct climate_of climate = {.mean_c = 16.0,
                                       .year_k = 9.0,
                                       .day_k = 6.0,
                                       .rh_frac = 0.65,
                                       .rh_year_frac = 0.1,
                                       .rh_day_frac = 0.1,
                                       .radiant_more_k = 2.0};
    return place_new(2001, YEARS_H, 0, &climate);
}

static void run_casks(const struct stv_book *book, struct stv_climate_error error, size_t n_draws,
                      struct results *results)
{
    const int64_t days_d[N_DAYS] = {day_of(2001, 1, 2), day_of(2001, 9, 10), day_of(2001, 12, 1),
                                    day_of(2002, 12, 20)};
    struct stv_position place = store();
    place.error = error;
    double exposed_frac = 0.8;
    struct stv_position_set set = {&place, 1, &exposed_frac, 0, 0};
    struct stv_outlook_request request = {.ledger = &book->ledger,
                                          .set = &set,
                                          .rules = &book->rules,
                                          .base = &book->params,
                                          .options = {.seed = 3, .n_draws = n_draws, .step_d = 5.0},
                                          .days_d = days_d,
                                          .n_days = N_DAYS,
                                          .numbers = &book->numbers};
    struct stv_outlook outlook;
    stv_assert_ok(stv_outlook_run(&request, &outlook));
    for (size_t c = 0; c < outlook.n_casks; c++)
        for (size_t d = 0; d < N_DAYS; d++)
            for (size_t q = 0; q < STV_Q_N; q++)
                for (size_t i = 0; i < outlook.n_draws; i++)
                    add_result(results, stv_outlook_draws(&outlook, c, d, (enum stv_quantity)q)[i]);
    stv_outlook_free(&outlook);
    place_end(&place);
}

/* A year of each kind of extract, weak and strong, at 25 C. */
static void run_oak(const struct stv_book *book, struct results *results)
{
    for (size_t s = 0; s < 2; s++) {
        struct stv_oak_step step = {.step_d = 90.0,
                                    .wetted_m2 = 1.6,
                                    .wall_m2 = 1.8,
                                    .volume20_l = 190.0,
                                    .abv20_frac = s ? 0.70 : 0.40};
        struct stv_oak_pools pools = stv_oak_pools_of(STV_WOOD_NEW, &book->params, &book->numbers);
        double content_mg[STV_OAK_N] = {0.0};
        for (size_t k = 0; k < STV_OAK_N; k++) {
            struct stv_oak_constants oak =
                stv_oak_constants_of(&book->numbers, (enum stv_oak_kind)k);
            step.fast_nd[k] = stv_arrhenius20_nd(oak.fast_ea_j_mol, 25.0);
            step.slow_nd[k] = stv_arrhenius20_nd(oak.slow_ea_j_mol, 25.0);
            step.decay_nd[k] = stv_arrhenius20_nd(oak.decay_ea_j_mol, 25.0);
        }
        for (int i = 0; i < 4; i++)
            stv_oak_advance(&step, &book->numbers, &pools, content_mg);
        for (size_t k = 0; k < STV_OAK_N; k++)
            add_result(results, content_mg[k]);
    }
}

static void run_figures(const struct stv_book *book, struct results *results)
{
    struct stv_position place = store();
    const struct stv_metric_options options = {book->params, book->numbers};
    struct stv_season_span seasons[STV_SEASON_N];
    struct stv_position_metrics out;
    stv_assert_ok(stv_seasons_find(&place.grid, place.air_c, seasons));
    stv_assert_ok(stv_position_metrics(&place, seasons, &options, 0.8, &out));
    const struct stv_season_metrics *year = &out.seasons[STV_SEASON_YEAR];
    add_result(results, year->degree_days_k_d);
    add_result(results, year->cool_hours_h);
    add_result(results, year->kinetic_mean_c);
    add_result(results, (double)out.waking_doy);
    add_result(results, year->evaporation_frac_per_y);
    add_result(results, year->liquid_swing_k);
    add_result(results, year->extraction_rel_nd);
    place_end(&place);
}

static void run_part(const struct stv_book *book, enum part part, struct results *results)
{
    results->n = 0;
    switch (part) {
    case FORECAST:
        run_casks(book, (struct stv_climate_error){0.0, 0.0}, 0, results);
        break;
    case TRIALS:
        run_casks(book, stv_climate_error_weather(&book->numbers), N_DRAWS, results);
        run_casks(book, stv_climate_error_logger(&book->numbers), N_DRAWS, results);
        break;
    case OAK:
        run_oak(book, results);
        break;
    case FIGURES:
        run_figures(book, results);
        break;
    case AIR:
        for (size_t d = 0; d < N_DRAWS; d++)
            add_result(results, stv_air_factor_drawn_nd(&book->numbers, 3, 5, d));
        break;
    case NOTHING:
        break;
    }
}

/* Reads the casks under a book that says this below `parameters:`. */
static enum stv_status read_with(struct stv_book_case *one, const char *parameters)
{
    char yaml[YAML_MAX];
    snprintf(yaml, sizeof yaml, "name: Quill Basin\nparameters: {%s}\n", parameters);
    case_open(one);
    for (size_t k = 3; k < N_OF(case_files); k++)
        case_write(one, case_files[k], NULL);
    case_write(one, "book.yaml", yaml);
    case_write(one, "casks.csv", casks_csv);
    case_write(one, "history.csv", history_csv);
    return case_read(one, false);
}

static void results_with(const char *parameters, enum part part, struct results *results)
{
    struct stv_book_case one;
    enum stv_status status = read_with(&one, parameters);
    if (status != STV_OK) {
        print_error("{%s} was refused:\n", parameters);
        case_print(&one);
    }
    stv_assert_ok(status);
    run_part(&one.book, part, results);
    case_close(&one);
}

/* Of a book that says nothing, made once. */
static const struct results *usual_results(enum part part)
{
    static struct results kept[NOTHING + 1];
    static bool is_kept[NOTHING + 1];
    if (!is_kept[part])
        results_with("", part, &kept[part]);
    is_kept[part] = true;
    return &kept[part];
}

/* The number alone, or beside what makes it felt; a number that stands beside itself replaces it.
 */
static bool is_felt(const struct row *row)
{
    static struct results with_beside, after;
    const struct results *before = &with_beside;
    struct exception how = treatment_of(row->name);
    const char *beside = how.beside ? how.beside : "";
    char said[YAML_MAX];
    snprintf(said, sizeof said, "%s: %.17g", row->name, other_value(row));
    bool replaces = strncmp(beside, row->name, strlen(row->name)) == 0;
    if (!replaces && how.beside)
        snprintf(said, sizeof said, "%s: %.17g, %s", row->name, other_value(row), beside);
    if (replaces || !how.beside)
        before = usual_results(how.part);
    else
        results_with(beside, how.part, &with_beside);
    results_with(replaces ? beside : said, how.part, &after);
    return differ(before, &after) == (how.part != NOTHING);
}

static void every_number_moves_what_it_is_for(void **state)
{
    (void)state;
    size_t n_unfelt = 0;
    for (size_t i = 0; i < n_rows(); i++) {
        struct row row = row_at(i);
        if (is_felt(&row))
            continue;
        print_error("%s = %.9g is not felt\n", row.name, other_value(&row));
        n_unfelt++;
    }
    assert_int_equal(n_unfelt, 0);
}

/* Both ends are taken; beyond them the value is refused where it stands. */
static void every_range_has_ends(void **state)
{
    (void)state;
    for (size_t i = 0; i < n_rows(); i++) {
        struct row row = row_at(i);
        double beyond_nd = 0.01 * (row.most_nd - row.least_nd);
        const double values[2] = {row.least_nd - beyond_nd, row.most_nd + beyond_nd};
        assert_true(row.usual_nd >= row.least_nd && row.usual_nd <= row.most_nd);
        for (size_t k = 0; k < 2; k++) {
            struct stv_book_case one;
            char said[YAML_MAX], found[64];
            snprintf(found, sizeof found, "%.9g", values[k]);
            snprintf(said, sizeof said, "%s: %s", row.name, found);
            const struct stv_slip slip = {"book.yaml",           said,  2,
                                          16 + strlen(row.name), found, "outside"};
            stv_assert_status(read_with(&one, said), STV_E_PARSE);
            if (!case_says(&one, &slip))
                case_print(&one);
            assert_true(case_says(&one, &slip));
            case_close(&one);
        }
    }
}

static void numbers_that_cross_are_refused(void **state)
{
    (void)state;
    const struct stv_slip slips[] = {
        {"book.yaml", "oak_ea_least_j_mol: 7e4", 2, 34, "7e4", "above oak_ea_most_j_mol"},
        {"book.yaml", "oak_strength_line_most_nd: 0.2", 2, 41, "0.2",
         "below oak_strength_line_least_nd"},
        {"book.yaml", "spread_oxidation_least_nd: 2", 2, 41, "2", "spread_oxidation_most_nd"},
        {"book.yaml", "oak_phenolics_fast_rate_per_y: 0.02", 2, 14, "oak_phenolics_fast_rate_per_y",
         "oak_phenolics_fast_rate_per_d"},
    };
    for (size_t i = 0; i < N_OF(slips); i++) {
        struct stv_book_case one;
        stv_assert_status(read_with(&one, slips[i].text), STV_E_PARSE);
        if (!case_says(&one, &slips[i]))
            case_print(&one);
        assert_true(case_says(&one, &slips[i]));
        case_close(&one);
    }
}

/* All names at once: the list of what the book sets has room for them. */
static void a_book_may_set_them_all(void **state)
{
    (void)state;
    struct stv_book_case one;
    static char yaml[4 * STV_OVERRIDDEN_MAX];
    size_t used = (size_t)snprintf(yaml, sizeof yaml, "name: All\nparameters:\n");
    case_open(&one);
    for (size_t i = 0; i < n_rows(); i++) {
        struct row row = row_at(i);
        used += (size_t)snprintf(yaml + used, sizeof yaml - used, "  %s: %.17g\n", row.name,
                                 row.usual_nd);
        assert_true(used < sizeof yaml);
    }
    for (size_t k = 1; k < N_OF(case_files); k++)
        case_write(&one, case_files[k], NULL);
    case_write(&one, "book.yaml", yaml);
    stv_assert_ok(case_read(&one, false));
    const char *at = one.book.overridden;
    for (size_t i = 0; i < n_rows(); i++) {
        struct row row = row_at(i);
        size_t n = strlen(row.name);
        assert_memory_equal(at, row.name, n);
        at += n + 1;
    }
    assert_memory_equal(&one.book.numbers, &usual, sizeof usual);
    case_close(&one);
}

static void the_table_is_the_struct(void **state)
{
    (void)state;
    size_t n;
    const struct stv_cask_number_info *table = stv_cask_number_table(&n);
    struct stv_cask_numbers numbers = stv_cask_numbers_default();
    assert_int_equal(n * sizeof(double), sizeof numbers);
    for (size_t i = 0; i < n; i++) {
        stv_assert_close(*stv_cask_number_nd(&numbers, i), table[i].default_nd, 0.0, 0.0);
        assert_true(table[i].unit[0] && table[i].source[0]);
    }
    /* Parameter sheet, sections 2 to 4. */
    stv_assert_close(stv_oak_constants_of(&numbers, STV_OAK_TANNINS).decay_per_y, 1.2, 0.0, 0.0);
    stv_assert_close(stv_oak_constants_of(&numbers, STV_OAK_SUGARS).slow_pool_mg_m2, 20000.0, 0.0,
                     0.0);
    stv_assert_close(stv_cask_convective_frac(&numbers), 0.375, 0.0, 0.0);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_table_is_the_struct),
        cmocka_unit_test(every_number_moves_what_it_is_for),
        cmocka_unit_test(every_range_has_ends),
        cmocka_unit_test(numbers_that_cross_are_refused),
        cmocka_unit_test(a_book_may_set_them_all),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
