/* One logger file from bytes to hours: find the header behind the preamble, read the rows, set
 * faults aside, look at neighbours, average.  What it does not do: compare one logger with
 * another, or with the weather; fill gaps. */
#include "ingest/logger_file.h"

#include "ingest/logger_parts.h"
#include "ingest/whole_file.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WHY_MAX 200
#define FILE_MOST ((size_t)1 << 30)
#define PREAMBLE_LINES 200
/* Means of a whole logger file between which any store lies; judgement. */
#define BELIEVED_LEAST_C (-30.0)
#define BELIEVED_MOST_C 45.0
#define GAP_NOTED_S (3 * STV_HOUR_S)

static size_t length_of_line(const char *text, size_t n)
{
    size_t length = 0;
    while (length < n && text[length] != '\n' && text[length] != '\r')
        length++;
    return length;
}

static bool line_is_header(const char *line, size_t length)
{
    struct stv_csv csv;
    char why[WHY_MAX];
    bool is_header = stv_csv_parse(line, length, &csv, why, sizeof why) == STV_OK &&
                     csv.n_rows > 0 && stv__logger_is_header(&csv, 0);
    stv_csv_free(&csv);
    return is_header;
}

/* A preamble with other delimiters than the table misleads the reader of the whole file.  Then
 * each line is tried alone, and the table is read from the one that is a header. */
static enum stv_status read_behind_preamble(const char *path, struct stv_csv *out,
                                            size_t *out_line_shift)
{
    char *bytes = NULL;
    size_t n = 0;
    char why[WHY_MAX];
    enum stv_status status = stv__whole_file(path, FILE_MOST, &bytes, &n, why, sizeof why);
    if (status != STV_OK)
        return status;
    status = STV_E_PARSE;
    size_t at = 0;
    for (size_t line = 0; line < PREAMBLE_LINES && at < n; line++) {
        size_t length = length_of_line(bytes + at, n - at);
        if (length > 0 && line_is_header(bytes + at, length)) {
            *out_line_shift = line;
            status = stv_csv_parse(bytes + at, n - at, out, why, sizeof why);
            break;
        }
        at += length;
        at += at + 1 < n && bytes[at] == '\r' && bytes[at + 1] == '\n' ? 2 : 1;
    }
    free(bytes);
    return status;
}

static bool has_header(const struct stv_csv *csv)
{
    for (size_t row = 0; row < csv->n_rows && row < PREAMBLE_LINES; row++)
        if (stv__logger_is_header(csv, row))
            return true;
    return false;
}

static enum stv_status read_csv(const struct stv_logger_source *source, struct stv_csv *csv,
                                struct stv_machine *machine)
{
    char why[WHY_MAX];
    struct stv_csv other;
    enum stv_status status = stv_csv_read(source->path, csv, why, sizeof why);
    if (status != STV_OK) {
        stv_problem_add(machine->problems, STV_REFUSED, machine->file, 0, 0, NULL, "%s", why);
        return status;
    }
    if (has_header(csv))
        return STV_OK;
    status = read_behind_preamble(source->path, &other, &machine->line_shift);
    if (status == STV_OK) {
        stv_csv_free(csv);
        *csv = other;
    }
    /* Without a header anywhere the first reading stands, and stv__logger_header says so. */
    return status == STV_E_PARSE ? STV_OK : status;
}

static enum stv_status read_rows(struct stv_machine *machine)
{
    enum stv_status status = stv__logger_header(machine);
    if (status == STV_OK)
        status = stv__machine_scan(machine);
    if (status == STV_OK && machine->n_stamps > 0 && machine->n_with_time == 0) {
        stv_problem_add(machine->problems, STV_REFUSED, machine->file, 0, 0, NULL,
                        "the stamps have dates but no time of day: a logger's hours are needed");
        return STV_E_PARSE;
    }
    if (status == STV_OK)
        status = stv__machine_read(machine);
    return status;
}

static void fill_counts(const struct stv_machine *machine, struct stv_logger_report *report)
{
    report->n_rows = machine->n_rows;
    report->n_used = machine->n;
    report->n_set_aside = machine->n_set_aside;
    report->n_values_set_aside = machine->n_values_set_aside;
    report->n_outside = machine->n_outside;
}

static bool has_temperature(const struct stv_machine *machine)
{
    for (size_t k = 0; k < machine->n; k++)
        if (isfinite(stv__machine_values(machine, k)[0]))
            return true;
    return false;
}

/* A mean that no store has: the unit in the header is wrong. */
static bool is_beyond_belief(struct stv_machine *machine)
{
    double sum_c = 0.0;
    size_t n = 0;
    for (size_t k = 0; k < machine->n; k++) {
        double value_c = stv__machine_values(machine, k)[0];
        if (!isfinite(value_c))
            continue;
        sum_c += value_c;
        n++;
    }
    double mean_c = n ? sum_c / (double)n : 0.0;
    if (mean_c >= BELIEVED_LEAST_C && mean_c <= BELIEVED_MOST_C)
        return false;
    stv_problem_add(
        machine->problems, STV_REFUSED, machine->file, 0, 0, NULL,
        "the temperatures used have a mean of %.0f C, which no store has: is the unit in "
        "the header right, or is the file in Fahrenheit?",
        mean_c);
    return true;
}

static enum stv_status read_hours(struct stv_machine *machine, int32_t utc_offset_min,
                                  struct stv_logger_hours *out, struct stv_logger_report *report)
{
    enum stv_status status = read_rows(machine);
    if (status != STV_OK)
        return status;
    stv__machine_order(machine);
    stv__machine_drop_far_dates(machine);
    report->n_suspect = stv__logger_check(machine);
    fill_counts(machine, report);
    if (!has_temperature(machine)) {
        stv_problem_add(machine->problems, STV_REFUSED, machine->file, 0, 0, NULL,
                        "no row has a temperature that can be used");
        return STV_E_NO_DATA;
    }
    if (is_beyond_belief(machine))
        return STV_E_PARSE;
    stv__machine_note_gaps(machine, GAP_NOTED_S);
    return stv__logger_average(machine, utc_offset_min, out, report);
}

enum stv_status stv_logger_file_read(const struct stv_logger_source *source, int32_t utc_offset_min,
                                     struct stv_problems *problems, struct stv_logger_hours *out,
                                     struct stv_logger_report *out_report)
{
    struct stv_csv csv = {0};
    struct stv_machine machine = {.csv = &csv,
                                  .file = source->path,
                                  .problems = problems,
                                  .station_cell = STV_NO_CELL,
                                  .clock = source->clock,
                                  .from_s = source->from_s,
                                  .to_s = source->to_s};
    /* The header fills the columns in this order and keeps the corrections. */
    machine.columns[0].correction = source->temp_correction_k;
    machine.columns[1].correction = source->rh_correction_frac;
    *out = (struct stv_logger_hours){.place = source->place};
    *out_report = (struct stv_logger_report){0};
    enum stv_status status = read_csv(source, &csv, &machine);
    if (status == STV_OK)
        status = read_hours(&machine, utc_offset_min, out, out_report);
    if (status != STV_OK)
        stv_logger_hours_free(out);
    stv__machine_free(&machine);
    stv_csv_free(&csv);
    return status;
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
