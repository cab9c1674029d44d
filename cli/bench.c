/* One line worked out, and the answer's frame: warnings first under the answer, then basis, market
 * and cautions, none of which is ever left out. */
#include "cli/bench.h"

#include "cli/csv.h"
#include "cli/exit_code.h"
#include "cli/json_document.h"
#include "cli/messages.h"
#include "cli/output.h"
#include "cli/prose.h"
#include "cli/session.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define WHY_MAX 512
#define NAMES_MAX 2048

const char stv_bench_duty[] =
    "Not a duty account: official tables and approved instruments decide for duty and labels.";

void stv_bench_note(struct stv_bench_notes *notes, bool needs_attention, const char *format, ...)
{
    notes->needs_attention = notes->needs_attention || needs_attention;
    size_t at = notes->n < STV_BENCH_NOTES_MAX ? notes->n++ : STV_BENCH_NOTES_MAX - 1;
    va_list args;
    va_start(args, format);
    vsnprintf(notes->items[at], sizeof notes->items[at], format, args);
    va_end(args);
}

void stv_bench_join(const struct stv_bench_notes *notes, struct stv_text *out)
{
    for (size_t i = 0; i < notes->n; i++)
        stv_text_format(out, "%s%s", i ? " | " : "", notes->items[i]);
}

/* Everything worked out for one answer. */
struct worked {
    const struct stv_bench_sum *sum;
    const void *sum_case;
    const struct stv_bench_reader *reader;
    const struct stv_bench_notes *notes;
    const struct stv_market *market;
};

static void set_inputs(json_t *document, const struct worked *worked)
{
    json_t *inputs = json_object();
    for (size_t i = 0; i < worked->reader->n_words; i++) {
        const struct stv_bench_word *word = &worked->reader->words[i];
        const struct stv_option_info *info = &stv_option_table()[word->option];
        if (!info->is_repeatable) {
            stv_json_set(inputs, info->name, stv_json_text(word->text));
            continue;
        }
        if (!json_object_get(inputs, info->name))
            stv_json_set(inputs, info->name, json_array());
        stv_json_append(json_object_get(inputs, info->name), stv_json_text(word->text));
    }
    if (worked->market)
        stv_json_set(inputs, "market", stv_json_text(worked->market->name));
    stv_json_set(document, "inputs", inputs);
}

static json_t *rule_object(const struct stv_rule *rule)
{
    if (!rule->text[0])
        return json_null();
    json_t *object = json_object();
    stv_json_set(object, "value", stv_json_text(rule->text));
    stv_json_set(object, "source", stv_json_text(rule->source));
    stv_json_set(object, "seen", stv_json_text(rule->seen));
    stv_json_set(object, "date", stv_json_text(rule->date));
    return object;
}

/* The rules that the answer was held against; null when no market was named. */
static json_t *market_object(const struct stv_market *market)
{
    if (!market)
        return json_null();
    json_t *object = json_object();
    stv_json_set(object, "name", stv_json_text(market->name));
    stv_json_set(object, "label", stv_json_text(market->label));
    stv_json_set(object, "bottled_least", rule_object(&market->bottled_least_abv20_frac));
    stv_json_set(object, "entry_most", rule_object(&market->entry_most_abv20_frac));
    stv_json_set(object, "age_least", rule_object(&market->age_least_y));
    stv_json_set(object, "label_tolerance", rule_object(&market->label_tolerance_abv20_frac));
    stv_json_set(object, "age_clock", rule_object(&market->age_clock_rule));
    stv_json_set(object, "duty_rounding", rule_object(&market->duty_rounding));
    return object;
}

static json_t *cautions_array(const struct stv_bench_sum *sum)
{
    json_t *array = json_array();
    stv_json_append(array, stv_json_text(stv_bench_duty));
    for (size_t i = 0; sum->cautions[i]; i++)
        stv_json_append(array, stv_json_text(sum->cautions[i]));
    return array;
}

static enum stv_status write_json(const struct stv_options *options, const struct worked *worked)
{
    json_t *document = stv_json_document(options, NULL, NULL);
    set_inputs(document, worked);
    worked->sum->add_json(document, worked->sum_case);
    for (size_t i = 0; i < worked->notes->n; i++)
        stv_json_warn(document, "%s", worked->notes->items[i]);
    stv_json_set(document, "market", market_object(worked->market));
    stv_json_set(document, "basis", stv_json_text(worked->sum->basis));
    stv_json_set(document, "cautions", cautions_array(worked->sum));
    return stv_json_write(options, document);
}

static enum stv_status write_csv(const struct stv_options *options, const struct worked *worked)
{
    struct stv_sheet table = {0};
    double numbers[STV_BENCH_RESULTS_MAX];
    char names[NAMES_MAX];
    struct stv_text warnings = {0};
    snprintf(names, sizeof names, "%s,warning", worked->sum->result_names);
    stv_csv_heads(&table, names);
    worked->sum->results(worked->sum_case, numbers);
    for (size_t i = 0; i + 1 < table.n_columns; i++)
        stv_csv_number(&table, numbers[i]);
    stv_bench_join(worked->notes, &warnings);
    stv_sheet_add_text(&table, stv_text_string(&warnings));
    stv_text_free(&warnings);
    return stv_csv_write(options, &table);
}

static enum stv_status write_text(const struct stv_options *options, const struct worked *worked)
{
    struct stv_text text = {0};
    worked->sum->add_answer(&text, worked->sum_case);
    if (worked->notes->n) {
        stv_prose_heading(&text, worked->notes->needs_attention ? "Look at this" : "Note");
        for (size_t i = 0; i < worked->notes->n; i++)
            stv_prose_wrap(&text, 2, "%s", worked->notes->items[i]);
    }
    stv_text_add(&text, "\n");
    worked->sum->add_rest(&text, worked->sum_case);
    stv_prose_heading(&text, "Basis");
    stv_prose_wrap(&text, 0, "%s", worked->sum->basis);
    if (worked->market)
        stv_prose_wrap(&text, 0, "Held against the rules of %s (%s).", worked->market->name,
                       worked->market->label);
    if (worked->market && worked->market->duty_rounding.text[0])
        stv_prose_wrap(&text, 0, "Rounding for duty there: %s (%s, %s); not done here.",
                       worked->market->duty_rounding.text, worked->market->duty_rounding.source,
                       worked->market->duty_rounding.seen);
    stv_prose_heading(&text, "Cautions");
    stv_prose_wrap(&text, 0, "%s", stv_bench_duty);
    for (size_t i = 0; worked->sum->cautions[i]; i++)
        stv_prose_wrap(&text, 0, "%s", worked->sum->cautions[i]);
    enum stv_status status = stv_output_write(options, &text);
    stv_text_free(&text);
    return status;
}

static int run_line(const struct stv_options *options, const struct stv_bench_sum *sum,
                    const struct stv_bench_shared *shared)
{
    static struct stv_bench_reader reader;
    static struct stv_bench_notes notes;
    stv_bench_take_options(&reader, options);
    const void *sum_case = sum->work(&reader, shared, &notes);
    if (reader.status != STV_OK) /* what was typed cannot be, or was not asked for rightly */
        return stv_refuse(options, NULL,
                          reader.status == STV_E_USAGE ? STV_E_USAGE : STV_E_CONSISTENCY,
                          reader.why);
    const struct worked worked = {sum, sum_case, &reader, &notes, shared->market};
    enum stv_status status;
    if (stv_options_has(options, STV_OPT_JSON))
        status = write_json(options, &worked);
    else if (stv_options_has(options, STV_OPT_CSV))
        status = write_csv(options, &worked);
    else
        status = write_text(options, &worked);
    if (status != STV_OK)
        return (int)stv_exit_code(status);
    return notes.needs_attention ? STV_EXIT_ATTENTION : STV_EXIT_DONE;
}

/* What each market asks, for whoever named one that there is not. */
static void show_markets(const struct stv_markets *markets)
{
    stv_messages_error("%-24s %-14s %-14s %-9s %-8s", "market", "least bottled", "most in cask",
                       "least age", "cask");
    for (size_t i = 0; i < markets->n; i++) {
        const struct stv_market *market = &markets->items[i];
        stv_messages_error(
            "%-24s %-14s %-14s %-9s %-8s", market->name, market->bottled_least_abv20_frac.text,
            market->entry_most_abv20_frac.text, market->age_least_y.text, market->cask_most_l.text);
    }
    stv_messages_error("(empty: not known; sources: stavecast help --markets)");
}

bool stv_bench_market(const struct stv_options *options, struct stv_markets *markets,
                      const struct stv_market **out, int *out_exit)
{
    *out = NULL;
    const char *name =
        stv_options_has(options, STV_OPT_MARKET) ? stv_options_text(options, STV_OPT_MARKET) : NULL;
    const char *rules =
        stv_options_has(options, STV_OPT_RULES) ? stv_options_text(options, STV_OPT_RULES) : NULL;
    if (rules && !name)
        *out_exit = stv_refuse(options, NULL, STV_E_USAGE,
                               "--rules does nothing without --market: name one of its markets.");
    if (!name)
        return !rules;
    struct stv_problems problems;
    stv_problems_init(&problems);
    enum stv_status status = stv_markets_read(rules, &problems, markets);
    if (status != STV_OK) {
        stv_messages_problems(options, &problems);
        *out_exit = stv_refuse(options, &problems, status, "The market rules cannot be used.");
    } else if (!(*out = stv_markets_find(markets, name))) {
        char why[WHY_MAX], advice[WHY_MAX / 2];
        stv_markets_advice(markets, name, advice, sizeof advice);
        snprintf(why, sizeof why, "--market \"%.60s\" %s%s None was applied.", name, advice,
                 advice[0] && advice[strlen(advice) - 1] == '?' ? "" : ".");
        show_markets(markets);
        *out_exit = stv_refuse(options, NULL, STV_E_USAGE, why);
        status = STV_E_USAGE;
    }
    stv_problems_free(&problems);
    return status == STV_OK;
}

static bool find_rod(const struct stv_options *options, struct stv_rod *rod, int *out_exit)
{
    if (!stv_options_has(options, STV_OPT_ROD))
        return true;
    struct stv_problems problems;
    stv_problems_init(&problems);
    enum stv_status status = stv_rod_read(stv_options_text(options, STV_OPT_ROD), &problems, rod);
    if (status != STV_OK) {
        stv_messages_problems(options, &problems);
        *out_exit = stv_refuse(options, &problems, status, "The rod's table cannot be used.");
    }
    stv_problems_free(&problems);
    return status == STV_OK;
}

int stv_bench_run(const struct stv_options *options, const struct stv_bench_sum *sum)
{
    struct stv_markets markets = {0};
    struct stv_rod rod = {0};
    struct stv_bench_shared shared = {0};
    int code;
    if (stv_bench_market(options, &markets, &shared.market, &code) &&
        find_rod(options, &rod, &code)) {
        shared.rod = rod.n ? &rod : NULL;
        code = stv_options_has(options, STV_OPT_SHEET) ? stv_bench_sheet(options, sum, &shared)
                                                       : run_line(options, sum, &shared);
    }
    stv_rod_free(&rod);
    stv_markets_free(&markets);
    return code;
}
