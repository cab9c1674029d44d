/* A wrong unit passes every limit of single values, but not those of the whole record. */
#include "ingest/weather_units.h"

#include "ingest/weather_summary.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define WEEK_S (7 * STV_DAY_S)
#define YEAR_LEAST_S ((int64_t)360 * STV_DAY_S)
#define FRACTION_MOST 0.015 /* % as a part of 1: outdoor air is never that dry for a week */
#define BEYOND_PART 10      /* of the rows */
#define WHY_MAX 200

/* Assumed, set wide.  Of a record of any length, the mean; of a year, the mean, for the hottest
 * place known has 34.6 C (from memory), and the warmest sample, for where it stays below 10 C
 * there is ice all summer and no warehouse. */
#define MEAN_LEAST_C (-25.0)
#define MEAN_MOST_C 45.0
#define YEAR_MEAN_MOST_C 36.0
#define YEAR_HIGHEST_LEAST_C 10.0

/* Of part of a year, by the months that it holds (the south's are half a year later): warmer hours
 * and cooler means than these are seen wherever casks lie.  Assumed, set wide: in the 2nd winter
 * row a month of frost is weather, so that only heat is a doubt. */
static const struct part_of_year {
    const char *months, *words; /* a sign for each month, # for those of the part */
    double latitude_from_deg, latitude_to_deg;
    int least_d;
    double highest_least_c, mean_most_c;
} parts_of_year[] = {
    {"-----###----", "summer", 0.0, 70.0, 7, 10.0, MEAN_MOST_C},
    {"---##---##--", "spring and autumn", 0.0, 60.0, 30, 5.0, YEAR_MEAN_MOST_C},
    {"###-------##", "the cold months", 0.0, 35.0, 30, 5.0, YEAR_MEAN_MOST_C},
    {"###-------##", "the cold months", 35.0, 70.0, 30, -HUGE_VAL, 25.0},
};

/* The column as the header names it. */
static const char *column_name(const struct stv_machine *machine,
                               enum stv_weather_quantity quantity)
{
    for (size_t j = 0; j < machine->n_columns; j++)
        if (machine->columns[j].quantity == quantity)
            return machine->columns[j].name;
    return stv_reading_name(quantity);
}

static enum stv_status refuse(const struct stv_machine *machine, size_t from,
                              enum stv_weather_quantity quantity, const char *what)
{
    stv_problems_keep_refusals(machine->problems, from);
    stv_problem_add(machine->problems, STV_REFUSED, machine->file, 0, 0,
                    column_name(machine, quantity), "%s", what);
    return STV_E_PARSE;
}

static enum stv_status judge_humidity(const struct stv_machine *machine,
                                      const struct stv_weather_record *record, size_t from)
{
    char what[WHY_MAX];
    struct stv_weather_summary rh = stv_weather_summary_of(record, STV_WQ_RH_FRAC);
    if (rh.known_s < WEEK_S || rh.most > FRACTION_MOST)
        return STV_OK;
    snprintf(what, sizeof what,
             "its humidity is never above %.2f %%: it looks like a fraction of 1; write its unit "
             "as [fraction] in the header, or unit: fraction in the description",
             100.0 * rh.most);
    return refuse(machine, from, STV_WQ_RH_FRAC, what);
}

static enum stv_status judge_temperature(const struct stv_machine *machine,
                                         const struct stv_weather_record *record, size_t from)
{
    char what[WHY_MAX] = "";
    struct stv_weather_summary temp = stv_weather_summary_of(record, STV_WQ_TEMP_C);
    bool is_year = temp.known_s >= YEAR_LEAST_S;
    if (machine->n_temp_beyond > machine->n_rows / BEYOND_PART && temp.known_s > 0)
        snprintf(what, sizeof what,
                 "%zu of its %zu temperatures cannot be in the unit named: they may be F, or K",
                 machine->n_temp_beyond, machine->n_rows);
    else if (temp.n > 0 && temp.mean > (is_year ? YEAR_MEAN_MOST_C : MEAN_MOST_C))
        snprintf(what, sizeof what,
                 "its temperatures have a mean of %.1f C, hotter than any place: they may be F",
                 temp.mean);
    else if (temp.n > 0 && temp.mean < MEAN_LEAST_C)
        snprintf(what, sizeof what,
                 "its temperatures have a mean of %.1f C, colder than where casks lie: they may be "
                 "C under another unit",
                 temp.mean);
    else if (is_year && temp.most < YEAR_HIGHEST_LEAST_C)
        snprintf(what, sizeof what,
                 "its temperatures are never above %.1f C in a year: they may be C, read as F",
                 temp.most);
    else
        return STV_OK;
    size_t used = strlen(what);
    snprintf(what + used, sizeof what - used, "; write their unit as [F] or [C] in the header");
    return refuse(machine, from, STV_WQ_TEMP_C, what);
}

/* Temperatures of the months that a part of the year holds; of days without a temperature of their
 * own the mean and the highest of lowest and highest. */
static struct stv_weather_summary summarise_part(const struct stv_weather_record *record,
                                                 double latitude_deg,
                                                 const struct part_of_year *part)
{
    const double *own = record->columns[STV_WQ_TEMP_C];
    const double *low = own ? own : record->columns[STV_WQ_TEMP_MIN_C];
    const double *high = own ? own : record->columns[STV_WQ_TEMP_MAX_C];
    struct stv_weather_summary summary = {.most = -HUGE_VAL};
    for (size_t i = 0; low && high && i < record->grid.n; i++) {
        int month = stv_date_from_day(stv_grid_local_day(&record->grid, i, NULL)).month - 1;
        size_t at = (size_t)(latitude_deg < 0.0 ? month + STV_MONTHS / 2 : month) % STV_MONTHS;
        if (part->months[at] != '#' || !isfinite(low[i] + high[i]))
            continue;
        summary.n++;
        summary.mean += (low[i] + high[i]) / 2.0;
        summary.most = fmax(summary.most, high[i]);
    }
    summary.mean /= (double)(summary.n ? summary.n : 1);
    summary.known_s = (int64_t)summary.n * record->grid.step_s;
    return summary;
}

/* What no refusal is sure of, said and used: part of a year that no climate with casks shows. */
static void doubt_season(const struct stv_machine *machine, const struct stv_weather_record *record,
                         double latitude_deg)
{
    double pole_ward_deg = fabs(latitude_deg);
    bool has_own = record->columns[STV_WQ_TEMP_C];
    const char *column = column_name(machine, has_own ? STV_WQ_TEMP_C : STV_WQ_TEMP_MAX_C);
    for (size_t p = 0; p < sizeof parts_of_year / sizeof parts_of_year[0]; p++) {
        const struct part_of_year *part = &parts_of_year[p];
        if (pole_ward_deg < part->latitude_from_deg || pole_ward_deg >= part->latitude_to_deg)
            continue;
        struct stv_weather_summary temp = summarise_part(record, latitude_deg, part);
        bool is_cold = temp.most < part->highest_least_c;
        bool is_hot = temp.mean > part->mean_most_c;
        if (temp.known_s < part->least_d * STV_DAY_S || !(is_cold || is_hot))
            continue;
        stv_finding_add(
            machine->problems,
            &(struct stv_finding){
                .severity = STV_SUSPECT, .rule = "unit", .file = machine->file, .found = column},
            "its %.0f days of %s %s %.1f C, at latitude %.0f: used, but no place "
            "where casks lie is known to be so %s; %s: look at the file, and write "
            "the unit as [F] or [C] in the header",
            (double)temp.known_s / (double)STV_DAY_S, part->words,
            is_cold ? "are never above" : "have a mean of", is_cold ? temp.most : temp.mean,
            latitude_deg, is_cold ? "cold" : "hot",
            is_cold ? "they may be C, read as F" : "they may be F, read as C");
        return;
    }
}

enum stv_status stv__weather_units(const struct stv_machine *machine,
                                   const struct stv_weather_record *record, double latitude_deg,
                                   size_t from)
{
    enum stv_status status = judge_temperature(machine, record, from);
    if (status == STV_OK)
        status = judge_humidity(machine, record, from);
    if (status == STV_OK)
        doubt_season(machine, record, latitude_deg);
    return status;
}
