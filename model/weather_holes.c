/* Holes too long to be filled from the days beside them: the record's other years stand in.
 *
 * A missing step takes the mean of the same hour of the same date in all years that have it.  A
 * date that no year has stays missing; where few days are left so, they are a gap like any other.
 * The mean keeps the season and the shape of the day, and loses the weather: what is filled so says
 * nothing of how its own year differed. */
#include "model/weather_parts.h"

#include "model/calendar.h"

#include <math.h>
#include <stdlib.h>

/* A leap year's days meet those of the others by date. */
#define YEAR_SLOTS ((size_t)365 * STV_DAY_H)

/* Hour of the common year, of any year. */
static size_t slot_of(const struct stv_grid *grid, size_t k)
{
    int hour;
    int64_t day_d = stv_grid_local_day(grid, k, &hour);
    return (size_t)stv_day_of_common_year(day_d) * STV_DAY_H + (size_t)hour;
}

size_t stv__weather_gap_steps(const struct stv_grid *grid)
{
    return grid->step_s == STV_DAY_S ? STV_WEATHER_GAP_D : STV_WEATHER_GAP_D * STV_DAY_H;
}

static void fill_from_years(const struct stv_grid *grid, double *values, const double *sums,
                            const size_t *counts, size_t *n_filled)
{
    for (size_t from = 0, to; from < grid->n; from = to + 1) {
        for (to = from; to < grid->n && isnan(values[to]); to++)
            ;
        for (size_t k = from; to - from > stv__weather_gap_steps(grid) && k < to; k++) {
            size_t slot = slot_of(grid, k);
            if (counts[slot] == 0)
                continue;
            values[k] = sums[slot] / (double)counts[slot];
            (*n_filled)++;
        }
    }
}

enum stv_status stv__weather_fill_holes(const struct stv_grid *grid, double *values,
                                        size_t *n_filled)
{
    if (stv__weather_longest_gap(values, grid->n) <= stv__weather_gap_steps(grid))
        return STV_OK;
    double *sums = calloc(YEAR_SLOTS, sizeof *sums);
    size_t *counts = calloc(YEAR_SLOTS, sizeof *counts);
    enum stv_status status = sums && counts ? STV_OK : STV_E_MEMORY;
    for (size_t k = 0; status == STV_OK && k < grid->n; k++) {
        if (isnan(values[k]))
            continue;
        size_t slot = slot_of(grid, k);
        sums[slot] += values[k];
        counts[slot]++;
    }
    if (status == STV_OK)
        fill_from_years(grid, values, sums, counts, n_filled);
    free(sums);
    free(counts);
    return status;
}

/* --- which they are --------------------------------------------------------------------------- */

/* The columns that a temperature is made of; the number of them. */
static size_t temperatures(const struct stv_weather_record *record,
                           enum stv_weather_quantity out[2])
{
    bool is_daily = record->grid.step_s == STV_DAY_S;
    out[0] = is_daily ? STV_WQ_TEMP_MIN_C : STV_WQ_TEMP_C;
    out[1] = STV_WQ_TEMP_MAX_C;
    return is_daily ? 2 : 1;
}

static bool is_missing(const struct stv_weather_record *record, enum stv_weather_quantity column,
                       size_t k)
{
    const double *min_c = record->columns[STV_WQ_TEMP_MIN_C];
    const double *max_c = record->columns[STV_WQ_TEMP_MAX_C];
    bool contradicts = column != STV_WQ_TEMP_C && min_c && max_c && min_c[k] > max_c[k];
    return !isfinite(record->columns[column][k]) || contradicts;
}

/* Whether what no year has of a hole is short enough to be filled as other gaps are. */
static bool is_covered(const struct stv_weather_record *record, enum stv_weather_quantity column,
                       const struct stv_weather_hole *hole)
{
    const struct stv_grid *grid = &record->grid;
    bool is_known[YEAR_SLOTS] = {false};
    size_t run = 0;
    for (size_t k = 0; k < grid->n; k++)
        if (!is_missing(record, column, k))
            is_known[slot_of(grid, k)] = true;
    for (size_t k = hole->from; k < hole->from + hole->n; k++) {
        run = is_known[slot_of(grid, k)] ? 0 : run + 1;
        if (run > stv__weather_gap_steps(grid))
            return false;
    }
    return true;
}

/* The next hole of one column; n 0: there is none. */
static struct stv_weather_hole next_of(const struct stv_weather_record *record,
                                       enum stv_weather_quantity column, size_t from)
{
    const struct stv_grid *grid = &record->grid;
    for (size_t to; record->columns[column] && from < grid->n; from = to + 1) {
        for (to = from; to < grid->n && is_missing(record, column, to); to++)
            ;
        if (to - from > stv__weather_gap_steps(grid) && to - from < grid->n) {
            struct stv_weather_hole hole = {.from = from, .n = to - from};
            hole.is_covered = is_covered(record, column, &hole);
            return hole;
        }
    }
    return (struct stv_weather_hole){.from = grid->n};
}

bool stv_weather_next_hole(const struct stv_weather_record *record, struct stv_weather_hole *hole)
{
    enum stv_weather_quantity columns[2];
    struct stv_weather_hole found[2] = {{0}};
    size_t n = temperatures(record, columns);
    for (size_t i = 0; i < n; i++)
        found[i] = next_of(record, columns[i], hole->from + hole->n);
    struct stv_weather_hole first = found[n > 1 && found[1].from < found[0].from];
    for (size_t i = 0; i < n; i++) { /* lows and highs of the same days are one hole */
        size_t end = found[i].from + found[i].n;
        if (found[i].n == 0 || found[i].from > first.from + first.n)
            continue;
        first.n = end > first.from + first.n ? end - first.from : first.n;
        first.is_covered = first.is_covered && found[i].is_covered;
    }
    if (first.n > 0)
        *hole = first;
    return first.n > 0;
}
