/* One logger file from bytes to hours: find the header behind the preamble, read the rows, set
 * faults aside, look at neighbouring rows, average.  What it does not do: compare one logger with
 * another, or with the weather; fill gaps. */
#include "ingest/logger_file.h"

#include "ingest/logger_parts.h"
#include "ingest/quality.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WHY_MAX 200
/* Means of a whole logger file between which any store lies; judgement. */
#define BELIEVED_LEAST_C (-30.0)
#define BELIEVED_MOST_C 45.0
#define GAP_NOTED_S (3 * STV_HOUR_S)
/* Without a unit: what looks like F, and what can be C. */
#define LOOKS_F_LEAST 20.0
#define LOOKS_F_MOST 45.0
#define ASSUMED_LEAST_C (-30.0)
#define ASSUMED_MOST_C 50.0
#define TENTHS 10.0
#define FUTURE_FRAC 0.01

static enum stv_status refuse(struct stv_machine *machine, enum stv_status status, const char *what)
{
    stv_problem_add(machine->problems, STV_REFUSED, machine->file, 0, 0, NULL, "%s", what);
    return status;
}

static enum stv_status read_rows(struct stv_machine *machine,
                                 const struct stv_logger_source *source,
                                 struct stv_logger_report *report)
{
    enum stv_status status = stv__logger_header(machine, source->sensor, report);
    if (status == STV_OK)
        status = stv__machine_scan(machine);
    if (status == STV_OK && !machine->has_times && machine->has_one_time)
        return refuse(machine, STV_E_PARSE,
                      "the stamps have dates but no time of day: a logger's hours are needed");
    if (status == STV_OK)
        status = stv__machine_read(machine);
    return status;
}

struct span {
    double least_c, most_c, mean_c;
    size_t n;
};

static struct span span_of(const struct stv_samples *samples)
{
    struct span span = {HUGE_VAL, -HUGE_VAL, 0.0, 0};
    const double *values = samples->values[STV_WQ_TEMP_C];
    for (size_t k = 0; k < samples->n; k++) {
        if (!isfinite(values[k]))
            continue;
        span.least_c = fmin(span.least_c, values[k]);
        span.most_c = fmax(span.most_c, values[k]);
        span.mean_c += values[k];
        span.n++;
    }
    span.mean_c /= span.n ? (double)span.n : 1.0;
    return span;
}

/* A unit that nobody wrote is taken for C only where no value could be anything else. */
static enum stv_status judge_unit(struct stv_machine *machine, const struct stv_samples *samples,
                                  const struct stv_logger_report *report)
{
    struct span span = span_of(samples);
    if (!report->is_unit_assumed || span.n == 0)
        return STV_OK;
    if (span.least_c > LOOKS_F_LEAST && span.most_c > LOOKS_F_MOST)
        return refuse(machine, STV_E_PARSE,
                      "the temperature has no unit, and looks like F; write it in the header, such "
                      "as \"Temperature [F]\", or under unit in loggers.csv");
    if (span.least_c < ASSUMED_LEAST_C || span.most_c > ASSUMED_MOST_C)
        return refuse(machine, STV_E_PARSE,
                      "the temperature has no unit; write it in the header, such as "
                      "\"Temperature [C]\", or under unit in loggers.csv");
    struct stv_finding finding = {.severity = STV_NOTED, .rule = "unit", .file = machine->file};
    stv_finding_add(
        machine->problems, &finding,
        "the temperature has no unit; all of it, %.1f to %.1f, can be C and is taken for "
        "C",
        span.least_c, span.most_c);
    return STV_OK;
}

/* Nothing left of the temperatures: why, where it can be told. */
static enum stv_status judge_nothing(struct stv_machine *machine)
{
    const struct stv_samples *samples = &machine->samples;
    double least = HUGE_VAL, most = -HUGE_VAL, number;
    size_t n_whole = 0, n = 0;
    for (size_t row = machine->header_row + 1; row < machine->head.n_rows; row++) {
        const char *text = stv_csv_text(&machine->head, row, machine->columns[0].cell_idx);
        if (!stv_reading_number(text, &number, NULL))
            continue;
        n++;
        n_whole += number == nearbyint(number);
        least = fmin(least, number);
        most = fmax(most, number);
    }
    if (n > 1 && n_whole == n && least > -ASSUMED_MOST_C * TENTHS &&
        most <= ASSUMED_MOST_C * TENTHS && most > ASSUMED_MOST_C)
        return refuse(machine, STV_E_PARSE,
                      "every temperature is a whole number far beyond a sensor's range: tenths of "
                      "a degree without their point? divide them by 10 and export again");
    (void)samples;
    return refuse(machine, STV_E_NO_DATA, "no row has a temperature that can be used");
}

/* A mean that no store has: the unit in the header is wrong, or the columns are exchanged. */
static enum stv_status judge_mean(struct stv_machine *machine)
{
    struct span span = span_of(&machine->samples);
    const double *humidity = machine->samples.values[STV_WQ_RH_FRAC];
    double most_frac = 0.0;
    for (size_t k = 0; humidity && k < machine->samples.n; k++)
        most_frac = fmax(most_frac, isfinite(humidity[k]) ? humidity[k] : 0.0);
    if (humidity && span.least_c > BELIEVED_MOST_C && most_frac > 0.0 && most_frac < 0.4)
        return refuse(machine, STV_E_PARSE,
                      "every temperature is above 45 and every humidity below 40: are the columns "
                      "of temperature and humidity exchanged?");
    if (span.mean_c >= BELIEVED_LEAST_C && span.mean_c <= BELIEVED_MOST_C)
        return STV_OK;
    stv_problem_add(
        machine->problems, STV_REFUSED, machine->file, 0, 0, NULL,
        "the temperatures used have a mean of %.0f C, which no store has: is the unit in "
        "the header right, or is the file in Fahrenheit? Or humidity under its name?",
        span.mean_c);
    return STV_E_PARSE;
}

/* Hours that come twice stand in the file once: the machine may not change its clock. */
static void note_no_shift(const struct stv_machine *machine)
{
    if (!machine->clock.has_summer || machine->n_double[0] == 0 || machine->n_double[1] > 0)
        return;
    struct stv_finding finding = {.severity = STV_NOTED, .rule = "clock", .file = machine->file};
    stv_finding_add(machine->problems, &finding,
                    "the hour that comes twice in autumn stands here once: this machine does not "
                    "shift its clock, it seems; if so, say a fixed clock such as UTC-06:00");
}

static void describe(const struct stv_machine *machine, const struct stv_text_file *text,
                     struct stv_logger_report *report)
{
    static const char *const orders[] = {"year first", "day first", "month first"};
    snprintf(report->dates, sizeof report->dates, "%s: %s", orders[machine->order],
             machine->order_why ? machine->order_why : "");
    int32_t offset_min = machine->clock.standard_offset_min;
    snprintf(report->clock, sizeof report->clock, "UTC%c%02d:%02d%s", offset_min < 0 ? '-' : '+',
             abs(offset_min) / 60, abs(offset_min) % 60,
             machine->clock.has_summer ? ", an hour ahead in summer" : "");
    snprintf(report->encoding, sizeof report->encoding, "%s%s",
             text->was_utf16       ? "UTF-16"
             : text->bad_utf8_line ? "Latin-1"
                                   : "UTF-8",
             text->was_packed ? ", packed" : "");
    report->n_rows = machine->n_rows;
    report->n_used = machine->n_rows - machine->n_set_aside;
    report->n_set_aside = machine->n_set_aside;
    report->n_values_set_aside = machine->n_values_set_aside;
    report->n_outside = machine->n_outside;
}

/* Looks at rows side by side; marks belongs to the caller. */
static enum stv_status check_rows(struct stv_machine *machine, uint8_t **marks,
                                  struct stv_logger_report *report)
{
    struct stv_quality_rows rows = {.file = machine->file,
                                    .text = machine->text->text,
                                    .samples = &machine->samples,
                                    .n_beyond = machine->n_temp_beyond,
                                    .clock = &machine->clock,
                                    .problems = machine->problems};
    size_t n = machine->samples.n + 1;
    for (size_t j = 0; j < machine->n_columns; j++) {
        enum stv_weather_quantity quantity = machine->columns[j].quantity;
        marks[quantity] = calloc(n, sizeof *marks[quantity]);
        rows.marks[quantity] = marks[quantity];
        if (!marks[quantity])
            return STV_E_MEMORY;
        rows.correction[quantity] = machine->columns[j].correction;
    }
    enum stv_status status = stv_quality_check_rows(&rows);
    for (int j = 0; j < STV_WQ_N; j++)
        for (size_t k = 0; marks[j] && k < machine->samples.n; k++) {
            report->n_suspect += marks[j][k] == STV_MARK_SUSPECT;
            machine->n_values_set_aside += marks[j][k] == STV_MARK_ASIDE;
            machine->n_set_aside += marks[j][k] == STV_MARK_DEAD;
        }
    return status;
}

static enum stv_status read_hours(struct stv_machine *machine,
                                  const struct stv_logger_source *source, int32_t utc_offset_min,
                                  struct stv_logger_hours *out, struct stv_logger_report *report)
{
    uint8_t *marks[STV_WQ_N] = {NULL};
    size_t n_before = machine->problems->n;
    enum stv_status status = read_rows(machine, source, report);
    if (status == STV_OK) {
        status = judge_unit(machine, &machine->samples, report);
        if (status == STV_E_PARSE)
            stv_problems_keep_refusals(machine->problems, n_before);
    }
    if (status == STV_OK)
        status = stv__machine_order(machine);
    if (status == STV_OK)
        status = stv__machine_drop_far_dates(machine);
    if (status == STV_OK)
        status = check_rows(machine, marks, report);
    describe(machine, machine->text, report);
    bool is_dead = machine->n_rows > 0 && machine->n_set_aside == machine->n_rows;
    bool is_bare = span_of(&machine->samples).n == 0;
    if (status == STV_OK && is_bare && !(is_dead && machine->samples.n > 0))
        status = judge_nothing(machine);
    if (status == STV_OK && !is_bare)
        status = judge_mean(machine);
    if (status == STV_OK) {
        note_no_shift(machine);
        stv__machine_note_gaps(machine, GAP_NOTED_S);
        status = stv__logger_average(machine, marks[STV_WQ_TEMP_C], utc_offset_min, out, report);
    }
    for (int j = 0; j < STV_WQ_N; j++)
        free(marks[j]);
    return status;
}

enum stv_status stv_logger_file_read(const struct stv_logger_source *source, int32_t utc_offset_min,
                                     struct stv_problems *problems, struct stv_logger_hours *out,
                                     struct stv_logger_report *out_report)
{
    struct stv_text_file text;
    char why[WHY_MAX];
    struct stv_machine machine = {.text = &text,
                                  .file = source->path,
                                  .problems = problems,
                                  .station_cell = STV_NO_CELL,
                                  .clock = source->clock,
                                  .has_order = source->has_order,
                                  .order = source->order,
                                  .from_s = source->from_s,
                                  .to_s = source->to_s,
                                  .latest_s = source->latest_s ? source->latest_s : INT64_MAX};
    /* The header fills the columns in this order and keeps the corrections. */
    memcpy(machine.unit, source->unit, sizeof machine.unit);
    machine.columns[0].correction = source->temp_correction_k;
    machine.columns[1].correction = source->rh_correction_frac;
    *out = (struct stv_logger_hours){.place = source->place};
    *out_report = (struct stv_logger_report){0};
    enum stv_status status = stv_text_file_read(source->path, &text, why, sizeof why);
    if (status == STV_OK)
        stv_text_file_end_lines(&text);
    if (status != STV_OK)
        (void)refuse(&machine, status, why);
    else
        status = read_hours(&machine, source, utc_offset_min, out, out_report);
    if (status != STV_OK) {
        stv_logger_hours_free(out);
        stv_logger_report_free(out_report);
    }
    stv__machine_free(&machine);
    stv_text_file_free(&text);
    return status;
}

void stv_logger_report_free(struct stv_logger_report *report)
{
    if (!report)
        return;
    free(report->marks);
    report->marks = NULL;
}

void stv_logger_hours_free(struct stv_logger_hours *hours)
{
    if (!hours)
        return;
    free(hours->air_c);
    free(hours->rh_frac);
    free(hours->origin);
    hours->origin = NULL;
    hours->air_c = NULL;
    hours->rh_frac = NULL;
}
