/* A row is a lane's means over the hours of a step, at one node of the time constant and in one
 * panel of composition.  Rows are made when they are first asked for: trials that stray far from
 * the others ask for few.
 *
 * The liquid moves within the hours, and so does the strength within the step: see lane_rows.h. */
#include "model/climate_cell.h"

#include "model/climate_liquid.h"
#include "model/units.h"

#include <stdlib.h>
#include <string.h>

#define LEAST_SWING_H 20    /* hours a day needs to have a swing */
#define LEAST_DAY_H 20      /* and to stand for itself */
#define STEP_HOURS_MOST 384 /* ten days and the odd ones of a last step */

/* Hours of one step, or of one of its days, as a lane feels them. */
struct gathered {
    double liquid_c[STEP_HOURS_MOST], move_k[STEP_HOURS_MOST];
    double rh_frac[STEP_HOURS_MOST], room_pa[STEP_HOURS_MOST];
    size_t n;
    double start_c; /* of the liquid */
    double swing_k;
    size_t n_swings;
};

/* Hours of one run, which is the r-th of those that were walked. */
static void gather_run(const struct stv__cell *cell, const struct stv__row_source *source,
                       const struct stv__run *run, const struct stv__liquid_hours *liquid, size_t r,
                       struct gathered *out)
{
    const struct stv_climate_table *table = cell->table;
    const struct stv__table_plan *plan = &table->plan;
    const double *air_c = plan->position->air_c;
    const float *rh_frac = table->rh_frac + source->lane * plan->position->grid.n;
    const float *room_pa = table->room_pa + source->lane * plan->position->grid.n;
    double offset_k = plan->members[source->lane].liquid_offset_k + source->warming_k;
    double least = INFINITY, most = -INFINITY;
    for (size_t i = 0; i < run->n && out->n < STEP_HOURS_MOST; i++) {
        size_t k = run->from + i;
        double here_c = liquid->at_c[i][r];
        out->liquid_c[out->n] = here_c + offset_k;
        out->move_k[out->n] = liquid->move_k[i][r];
        out->rh_frac[out->n] = (double)rh_frac[k];
        out->room_pa[out->n] = (double)room_pa[k];
        if (source->warming_k != 0.0)
            out->room_pa[out->n] =
                (double)rh_frac[k] * stv__lane_rows_psat_pa(plan->rows, air_c[k] + offset_k);
        out->n++;
        least = here_c < least ? here_c : least;
        most = here_c > most ? here_c : most;
    }
    if (run->n >= LEAST_SWING_H) {
        out->swing_k += most - least;
        out->n_swings++;
    }
}

/* The hours of a step, or of one of its days (SIZE_MAX: all). */
static void gather(const struct stv__cell *cell, const struct stv__row_source *source,
                   size_t day_idx, struct gathered *out)
{
    const struct stv_climate_table *table = cell->table;
    struct stv__liquid_hours liquid;
    uint32_t runs[STV__PACKET];
    size_t n = 0;
    out->n = out->n_swings = 0;
    out->swing_k = out->start_c = 0.0;
    for (uint32_t r = table->first_run[source->data]; r != STV__NO_RUN || n > 0;) {
        if (r != STV__NO_RUN && (day_idx == SIZE_MAX || table->runs[r].day == day_idx))
            runs[n++] = r;
        if (r != STV__NO_RUN)
            r = table->runs[r].next;
        if (n < STV__PACKET && r != STV__NO_RUN)
            continue;
        if (n > 0)
            stv__table_liquid_runs(table, cell->liquid, source->lane, runs, n, &liquid);
        if (n > 0 && out->n == 0)
            out->start_c = (double)cell->liquid->start_c[runs[0] * STV__LANES + source->lane] +
                           table->plan.members[source->lane].liquid_offset_k + source->warming_k;
        for (size_t i = 0; i < n; i++)
            gather_run(cell, source, &table->runs[runs[i]], &liquid, i, out);
        n = 0;
    }
}

/* Means of a step of the record, or of one of its days (SIZE_MAX: all), at the panel's nodes;
 * returns over how many hours. */
static size_t means_of(const struct stv__cell *cell, const struct stv__row_source *source,
                       size_t day_idx, double *out)
{
    const struct stv__lane_rows *rows = cell->table->plan.rows;
    size_t n_columns = stv__lane_rows_columns(rows)->n_columns;
    struct gathered hours;
    gather(cell, source, day_idx, &hours);
    memset(out, 0, STV__ROW_MOST * sizeof *out);
    if (hours.n == 0)
        return 0;
    const struct stv__lane_hours all = {
        hours.n,
        hours.liquid_c,
        hours.move_k,
        hours.rh_frac,
        hours.room_pa,
        hours.start_c,
        stv__table_lane_tau_h(cell->table, cell->node, source->lane)};
    stv__lane_rows_sum(rows, cell->panel_idx, source->lane, &all, out);
    for (size_t c = 0; c < n_columns; c++)
        out[c] /= (double)hours.n;
    /* An hour of a node's time constant is as many more of the lane's. */
    for (int i = STV__LAG_SHORT; i < STV__LAG_N; i++) {
        out[STV__COL_WARM + i] *= cell->table->plan.tau_factor_nd[source->lane];
        out[STV__COL_LEFT + i] *= cell->table->plan.tau_factor_nd[source->lane];
    }
    out[STV__COL_SWING] = hours.n_swings ? hours.swing_k / (double)hours.n_swings : 0.0;
    return hours.n;
}

/* Means to what a row holds. */
static void put_row(const struct stv__cell *cell, size_t lane, double *means, float *out)
{
    double powers[STV__NODES8];
    const struct stv__lane_rows *rows = cell->table->plan.rows;
    const struct stv__panel_fit *fit = stv__lane_rows_fit(rows);
    stv__panel_fit_polynomial(fit, means + STV__COL_ETHANOL, powers);
    memcpy(means + STV__COL_ETHANOL, powers, sizeof powers);
    stv__panel_fit_polynomial(fit, means + STV__COL_WATER, powers);
    memcpy(means + STV__COL_WATER, powers, sizeof powers);
    means[STV__COL_PRESSURE] /= cell->liquid->mean_pressure_pa[lane];
    for (size_t c = 0; c < stv__lane_rows_columns(rows)->n_padded; c++)
        out[c] = (float)means[c];
}

/* Index of a source's row among the cell's. */
static size_t index_of(const struct stv__cell *cell, const struct stv__row_source *source)
{
    return source->lane * cell->table->n_entries + source->entry;
}

static void make_row(struct stv__cell *cell, const struct stv__row_source *source, float *row)
{
    double means[STV__ROW_MOST];
    means_of(cell, source, SIZE_MAX, means);
    put_row(cell, source->lane, means, row);
    __atomic_store_n(&cell->rows[index_of(cell, source)], row, __ATOMIC_RELEASE);
}

/* A lane that comes back will ask for the steps after it, too, and they want the same part of its
 * tables: every time twice as many are made, within the year of the record. */
static size_t rows_at_once(struct stv__cell *cell, const struct stv__row_source *source)
{
    if (source->entry != source->data)
        return 1;
    size_t n_left = cell->table->n_steps - source->data % cell->table->n_steps;
    size_t n = (size_t)1 << cell->n_asked[source->lane];
    if (n >= n_left)
        return n_left;
    cell->n_asked[source->lane]++;
    return n;
}

/* Rows of warmed years are not for another run. */
static void count_new(struct stv_climate_table *table, const struct stv__row_source *source)
{
    if (source->entry == source->data)
        __atomic_fetch_add(&table->n_new_rows, 1, __ATOMIC_RELAXED);
}

/* Makes n rows from a source on, of those that are not there and have hours: they follow on one
 * another. */
static enum stv_status make_rows(struct stv__cell *cell, const struct stv__row_source *source,
                                 size_t n)
{
    struct stv_climate_table *table = cell->table;
    struct stv__row_source missing[STV__TABLE_YEAR_D];
    size_t n_missing = 0;
    for (size_t i = 0; i < n; i++) {
        struct stv__row_source next = *source;
        next.data += i;
        next.entry += i;
        if (!cell->rows[index_of(cell, &next)] && table->n_data_hours[next.data] > 0)
            missing[n_missing++] = next;
    }
    float *row = stv__row_pool_take(&table->room, n_missing * table->row_floats);
    if (!row)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n_missing; i++, row += table->row_floats) {
        make_row(cell, &missing[i], row);
        count_new(table, source);
    }
    return STV_OK;
}

enum stv_status stv__cell_make_row(struct stv__cell *cell, const struct stv__row_source *source)
{
    enum stv_status status = stv__table_prepare(cell);
    if (status != STV_OK)
        return status;
    omp_set_lock(&cell->locks[source->lane]);
    if (!cell->rows[index_of(cell, source)])
        status = make_rows(cell, source, rows_at_once(cell, source));
    omp_unset_lock(&cell->locks[source->lane]);
    return status;
}

/* A day that its year lacks, or has too few hours of, is told as the step; so is the day more that
 * the last step of a leap year has, in other years. */
static const float *days_new(const struct stv__cell *cell, const struct stv__row_source *source)
{
    struct stv_climate_table *table = cell->table;
    size_t n_days = stv__table_day_rows(table, source->entry);
    double step[STV__ROW_MOST], means[STV__ROW_MOST];
    float *days = stv__row_pool_take(&table->room, n_days * table->row_floats);
    bool has_step = false;
    for (size_t day = 0; days && day < n_days; day++) {
        bool is_own = means_of(cell, source, day, means) >= LEAST_DAY_H;
        if (!is_own && !has_step)
            has_step = means_of(cell, source, SIZE_MAX, step) > 0;
        if (!is_own)
            memcpy(means, step, sizeof means);
        put_row(cell, source->lane, means, days + day * table->row_floats);
    }
    return days;
}

enum stv_status stv__cell_make_days(struct stv__cell *cell, const struct stv__row_source *source)
{
    size_t index = index_of(cell, source);
    enum stv_status status = stv__table_prepare(cell);
    if (status != STV_OK)
        return status;
    omp_set_lock(&cell->locks[source->lane]);
    if (!cell->days[index]) {
        const float *days = days_new(cell, source);
        __atomic_store_n(&cell->days[index], days, __ATOMIC_RELEASE);
        count_new(cell->table, source);
    }
    status = cell->days[index] ? STV_OK : STV_E_MEMORY;
    omp_unset_lock(&cell->locks[source->lane]);
    return status;
}

enum stv_status stv__cell_new(struct stv_climate_table *table, size_t panel_idx, size_t node,
                              struct stv__cell **out)
{
    *out = NULL;
    struct stv__cell *cell = calloc(1, sizeof *cell);
    if (!cell)
        return STV_E_MEMORY;
    size_t n_rows = stv__lane_rows_distinct(table->plan.rows) * table->n_entries;
    cell->table = table;
    cell->liquid = table->liquids[node];
    cell->panel_idx = panel_idx;
    cell->node = node;
    for (size_t lane = 0; lane < STV__LANES; lane++)
        omp_init_lock(&cell->locks[lane]);
    cell->rows = calloc(n_rows, sizeof *cell->rows);
    cell->days = calloc(n_rows, sizeof *cell->days);
    if (!cell->rows || !cell->days) {
        stv__cell_free(cell);
        return STV_E_MEMORY;
    }
    *out = cell;
    return STV_OK;
}

void stv__cell_free(struct stv__cell *cell)
{
    if (!cell)
        return;
    for (size_t lane = 0; lane < STV__LANES; lane++)
        omp_destroy_lock(&cell->locks[lane]);
    free(cell->days);
    free(cell->rows);
    free(cell);
}
