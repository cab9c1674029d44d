/* `check`: everything that is wrong with a book, where, and what was done about it; then what
 * each logger gave. */
#include "cli/commands.h"

#include "cli/csv.h"
#include "cli/exit_code.h"
#include "cli/format.h"
#include "cli/json_document.h"
#include "cli/messages.h"
#include "cli/output.h"
#include "cli/prose.h"
#include "cli/session.h"
#include "cli/strips.h"
#include "cli/words_check.h"
#include "cli/words_weather.h"

#include "model/calendar.h"
#include "model/units.h"

#include <stdint.h>

#define YEAR_D 365
#define KNOWN_LEAST_H 20    /* of a day; a step of the year needs as good a share */
#define CLIMATE_LEAST_D 360 /* as stv_position_metrics asks */
#define ALIKE_LISTED 10     /* findings of one kind in one file, before the rest is counted */

static json_t *loggers_array(const struct stv_chain *chain)
{
    json_t *array = json_array();
    for (size_t i = 0; chain->logger_reports && i < chain->book.n_loggers; i++) {
        const struct stv_logger_report *report = &chain->logger_reports[i];
        const struct stv_place *place = &chain->book.loggers[i].place;
        json_t *object = json_object();
        stv_json_set(object, "file", stv_json_text(chain->book.loggers[i].label));
        stv_json_set(object, "tier", stv_json_place(place->tier_idx));
        stv_json_set(object, "bay", stv_json_place(place->bay_idx));
        stv_json_set(object, "depth", stv_json_place(place->depth_idx));
        stv_json_set(object, "rows", json_integer((json_int_t)report->n_rows));
        stv_json_set(object, "rows_used", json_integer((json_int_t)report->n_used));
        stv_json_set(object, "rows_set_aside", json_integer((json_int_t)report->n_set_aside));
        stv_json_set(object, "values_set_aside",
                     json_integer((json_int_t)report->n_values_set_aside));
        stv_json_set(object, "rows_suspect", json_integer((json_int_t)report->n_suspect));
        stv_json_set(object, "hours", json_integer((json_int_t)report->n_hours));
        stv_json_set(object, "hours_missing", json_integer((json_int_t)report->n_hours_missing));
        stv_json_set(object, "coverage_pct", stv_json_number(100.0 * report->coverage_frac));
        stv_json_set(object, "unit", stv_json_text(report->unit));
        stv_json_set(object, "unit_is_assumed", json_boolean(report->is_unit_assumed));
        stv_json_set(object, "has_humidity", json_boolean(report->has_humidity));
        stv_json_set(object, "columns_not_read", stv_json_text(report->unread));
        stv_json_set(object, "dates", stv_json_text(report->dates));
        stv_json_set(object, "clock", stv_json_text(report->clock));
        stv_json_set(object, "intervals", stv_json_text(report->intervals));
        stv_json_set(object, "encoding", stv_json_text(report->encoding));
        stv_json_append(array, object);
    }
    return array;
}

static enum stv_status print_csv(const struct stv_options *options,
                                 const struct stv_problems *problems)
{
    struct stv_sheet table = {0};
    stv_csv_heads(&table, "file,row,last_row,column,count,rule,what_was_done,found,message");
    for (size_t i = 0; i < problems->n; i++) {
        const struct stv_problem *problem = &problems->items[i];
        stv_sheet_add_text(&table, problem->file);
        stv_csv_number(&table, (double)problem->row);
        stv_csv_number(&table, (double)problem->last_row);
        stv_csv_number(&table, (double)problem->column);
        stv_csv_number(&table, (double)problem->count);
        stv_sheet_add_text(&table, problem->rule);
        stv_sheet_add_text(&table, stv_severity_text(problem->severity));
        stv_sheet_add_text(&table, problem->found);
        stv_sheet_add_text(&table, problem->message);
    }
    return stv_csv_write(options, &table);
}

static enum stv_status print_json(const struct stv_session *session, enum stv_status outcome)
{
    const struct stv_chain *chain = &session->chain;
    const struct stv_problems *problems = &chain->problems;
    json_t *document =
        stv_json_document(session->options, outcome == STV_OK ? chain : NULL, problems);
    stv_json_set(document, "findings", stv_json_problems(problems));
    stv_json_set(document, "refused",
                 json_integer((json_int_t)problems->n_by_severity[STV_REFUSED]));
    stv_json_set(document, "set_aside",
                 json_integer((json_int_t)problems->n_by_severity[STV_SET_ASIDE]));
    stv_json_set(document, "suspect",
                 json_integer((json_int_t)problems->n_by_severity[STV_SUSPECT]));
    stv_json_set(document, "noted", json_integer((json_int_t)problems->n_by_severity[STV_NOTED]));
    if (outcome == STV_OK) {
        stv_json_set(document, "loggers", loggers_array(chain));
        stv_json_set(document, "weather_columns", stv_json_weather_columns(chain));
    } else {
        stv_json_set(document, "error", stv_json_text(stv_status_text(outcome)));
        stv_json_set(document, "exit_code", json_integer((json_int_t)stv_exit_code(outcome)));
    }
    return stv_json_write(session->options, document);
}

static enum stv_status print_text(const struct stv_session *session, enum stv_status outcome)
{
    const struct stv_chain *chain = &session->chain;
    const struct stv_options *options = session->options;
    struct stv_text text = {0};
    bool wants_loggers = stv_options_has(options, STV_OPT_LOGGERS);
    if (stv_options_has(options, STV_OPT_WEATHER) && outcome == STV_OK)
        stv_words_weather(&text, chain);
    if (chain->problems.n_total == 0) {
        if (outcome == STV_OK)
            stv_prose_add(&text, "no findings\n");
        else
            stv_prose_add(&text, "The book %s.\n", stv_status_text(outcome));
    } else {
        if (outcome == STV_OK && !stv_options_has(options, STV_OPT_WEATHER))
            stv_prose_wrap(
                &text, 0, "%s: %s, %s, %s, %s, %s.", chain->book.name,
                stv_format_count(chain->book.n_warehouses, "warehouse", "warehouses").text,
                stv_format_count(chain->book.ledger.n_casks, "cask", "casks").text,
                stv_format_count(chain->book.ledger.n_events, "event", "events").text,
                stv_format_count(chain->book.n_gauges, "gauge", "gauges").text,
                stv_format_count(chain->book.n_loggers, "logger", "loggers").text);
        stv_words_findings(&text, &chain->problems,
                           stv_options_has(options, STV_OPT_VERBOSE) ? SIZE_MAX : ALIKE_LISTED);
    }
    if (outcome == STV_OK && (wants_loggers || chain->problems.n_total > 0))
        stv_words_loggers(&text, chain);
    if (outcome == STV_OK && (wants_loggers || chain->problems.n_total > 0))
        stv_words_strips(&text, chain);
    if (outcome == STV_OK)
        stv_words_market(&text, chain);
    enum stv_status status = stv_output_write(options, &text);
    stv_text_free(&text);
    return status;
}

/* Hours that the weather holds of each day of the year, of any year; its gaps inside are filled, or
 * told as holes. */
static void count_hours(const struct stv_grid *sky, int out_h[YEAR_D])
{
    for (size_t k = 0; k < sky->n; k++)
        out_h[stv_season_day(stv_grid_local_day(sky, k, NULL))] += sky->step_s / STV_HOUR_S;
}

static struct stv_formatted day_and_month(int doy)
{
    static const int64_t common_year_d = 11323; /* 1 January 2001 */
    struct stv_date date = stv_date_from_day(common_year_d + doy % YEAR_D);
    return stv_format("%02d-%02d", date.month, date.day);
}

/* A record that leaves days of the year out in every year stops each answer that follows a cask
 * through them: said here, and not first by each command. */
static void note_short_year(struct stv_chain *chain)
{
    int known_h[YEAR_D] = {0}, n_unknown = 0, run = 0, longest = 0, longest_end = 0;
    count_hours(&chain->record.grid, known_h);
    for (int d = 0; d < 2 * YEAR_D; d++) { /* twice round: a run may pass New Year */
        bool is_known = known_h[d % YEAR_D] >= KNOWN_LEAST_H;
        n_unknown += d < YEAR_D && !is_known;
        run = is_known ? 0 : run + 1;
        if (run > longest && run <= YEAR_D) {
            longest = run;
            longest_end = d;
        }
    }
    if (n_unknown == 0)
        return;
    stv_problem_add(
        &chain->problems, STV_NOTED, chain->book.weather.path, 0, 0, NULL,
        "the record has no hours for %d of the 365 days of the year, %s from %s to %s (month-day): "
        "%sforecast, place, transfer, bottling, water, stock, vapour, month and report will refuse "
        "until each day is covered in some year: add the missing days (`stavecast help fetch`)",
        n_unknown, longest == n_unknown ? "all" : "the longest run",
        day_and_month(longest_end + YEAR_D + 1 - longest).text, day_and_month(longest_end).text,
        n_unknown > YEAR_D - CLIMATE_LEAST_D ? "climate, " : "");
    chain->needs_attention = true;
}

/* Holes that no other year covers stop every answer, wherever they lie. */
static void note_open_holes(struct stv_chain *chain)
{
    struct stv_weather_hole hole = {0};
    size_t n_open = 0;
    while (stv_weather_next_hole(&chain->record, &hole))
        n_open += !hole.is_covered;
    if (n_open == 0)
        return;
    stv_problem_add(&chain->problems, STV_NOTED, chain->book.weather.path, 0, 0, NULL,
                    "%s in the temperature that no other year covers: climate, forecast, place, "
                    "transfer, bottling, water, stock, vapour, month, learn and report will refuse "
                    "until the days are there: add them (`stavecast help fetch`), or keep only the "
                    "rows on one side",
                    n_open == 1 ? "a hole" : stv_format("%zu holes", n_open).text);
    chain->needs_attention = true;
}

/* Sound files may still lack what every answer about casks needs, or leave its day open. */
static void note_lack(struct stv_chain *chain)
{
    if (chain->as_of_table)
        stv_problem_add(&chain->problems, STV_NOTED, "book.yaml", 0, 0, NULL,
                        "today is taken as %s, the latest row of %s: `as_of:` or --date names "
                        "another",
                        stv_format_day(chain->as_of_day_d).text, chain->as_of_table);
    if (!chain->book.has_weather && chain->book.n_loggers == 0)
        stv_problem_add(&chain->problems, STV_NOTED, "book.yaml", 0, 0, NULL,
                        "nothing is known of the air yet: name a weather file under `weather:`, or "
                        "a logger in loggers.csv; without one no cask can be told of");
}

int stv_cmd_check(const struct stv_options *options)
{
    struct stv_session session;
    enum stv_status outcome;
    int code;
    if (!stv_session_open_for_check(&session, options, &outcome, &code))
        return code;
    if (outcome == STV_OK && session.chain.has_weather && session.chain.book.ledger.n_casks > 0 &&
        !stv_options_has(options, STV_OPT_WEATHER))
        note_short_year(&session.chain);
    if (outcome == STV_OK && session.chain.has_weather &&
        !stv_options_has(options, STV_OPT_WEATHER))
        note_open_holes(&session.chain);
    if (outcome == STV_OK)
        note_lack(&session.chain);
    enum stv_status status = STV_OK;
    const char *hourly = stv_options_text(options, STV_OPT_HOURLY);
    if (hourly && outcome == STV_OK)
        status = stv_weather_hours_write(options, &session.chain, hourly);
    const char *picture = stv_options_text(options, STV_OPT_PICTURE);
    if (picture && outcome == STV_OK && status == STV_OK)
        status = stv_strips_draw(options, &session.chain, picture);
    if (status != STV_OK)
        return stv_session_close(&session, status);
    if (stv_options_has(options, STV_OPT_JSON))
        status = print_json(&session, outcome);
    else if (stv_options_has(options, STV_OPT_CSV))
        status = print_csv(options, &session.chain.problems);
    else
        status = print_text(&session, outcome);
    return stv_session_close(&session, status == STV_OK ? outcome : status);
}
