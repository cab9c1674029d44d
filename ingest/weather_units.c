/* A wrong unit passes every limit of single values, but not those of the whole record. */
#include "ingest/weather_units.h"

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

struct summary {
    size_t n;
    double mean, most;
    int64_t known_s;
};

static struct summary summarise(const struct stv_weather_record *record,
                                enum stv_weather_quantity quantity)
{
    struct summary summary = {.most = -HUGE_VAL};
    const double *column = record->columns[quantity];
    for (size_t i = 0; column && i < record->grid.n; i++) {
        if (!isfinite(column[i]))
            continue;
        summary.n++;
        summary.mean += column[i];
        summary.most = fmax(summary.most, column[i]);
    }
    summary.mean /= (double)(summary.n ? summary.n : 1);
    summary.known_s = (int64_t)summary.n * record->grid.step_s;
    return summary;
}

static enum stv_status refuse(const struct stv_machine *machine, size_t from,
                              enum stv_weather_quantity quantity, const char *what)
{
    const char *name = stv_reading_name(quantity);
    for (size_t j = 0; j < machine->n_columns; j++)
        if (machine->columns[j].quantity == quantity)
            name = machine->columns[j].name;
    stv_problems_keep_refusals(machine->problems, from);
    stv_problem_add(machine->problems, STV_REFUSED, machine->file, 0, 0, name, "%s", what);
    return STV_E_PARSE;
}

static enum stv_status judge_humidity(const struct stv_machine *machine,
                                      const struct stv_weather_record *record, size_t from)
{
    char what[WHY_MAX];
    struct summary rh = summarise(record, STV_WQ_RH_FRAC);
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
    struct summary temp = summarise(record, STV_WQ_TEMP_C);
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

enum stv_status stv__weather_units(const struct stv_machine *machine,
                                   const struct stv_weather_record *record, size_t from)
{
    enum stv_status status = judge_temperature(machine, record, from);
    return status == STV_OK ? judge_humidity(machine, record, from) : status;
}
