/* One line worked out, and the answer's frame: warnings first under the answer, then basis, market
 * and cautions, none of which is ever left out. */
#include "cli/bench.h"

#include "cli/csv.h"
#include "cli/exit_code.h"
#include "cli/json_document.h"
#include "cli/market.h"
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
    stv_json_set(document, "market", stv_market_json(worked->market));
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

static bool find_market(const struct stv_options *options, struct stv_named_market *named,
                        int *out_exit)
{
    char why[WHY_MAX] = "";
    struct stv_problems problems;
    stv_problems_init(&problems);
    enum stv_status status = stv_market_take(options, NULL, &problems, named, why, sizeof why);
    if (status != STV_OK) {
        stv_messages_problems(options, &problems);
        *out_exit = stv_refuse(options, &problems, status, why);
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
    struct stv_named_market named = {0};
    struct stv_rod rod = {0};
    struct stv_bench_shared shared = {0};
    int code;
    if (find_market(options, &named, &code) && find_rod(options, &rod, &code)) {
        shared.market = named.market;
        shared.rod = rod.n ? &rod : NULL;
        code = stv_options_has(options, STV_OPT_SHEET) ? stv_bench_sheet(options, sum, &shared)
                                                       : run_line(options, sum, &shared);
    }
    stv_rod_free(&rod);
    stv_named_market_free(&named);
    return code;
}
