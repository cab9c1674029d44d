/* One node of the time constant in one panel of composition: the hours of the record are averaged
 * step by step, then the years that were asked for are put together of them.
 *
 * The liquid is taken at its mean over the hour.  It moves within the hour, and the pressures bend:
 * half their second derivative times the variance of a straight move is added, taken once a step at
 * its mean, for it is small (1e-4 of a small cask's flux under a strong daily swing). */
#include "model/climate_cell.h"

#include "model/calendar.h"
#include "model/cask_heat.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_TAU_H 1.0
#define MOST_TAU_H 2000.0
#define BEND_STEP_K 3.0
#define LEAST_SWING_H 20    /* hours a day needs to have a swing */
#define LEAST_DAY_H 20      /* and to stand for itself */
#define STEP_HOURS_MOST 384 /* ten days and the odd ones of a last step */
#define SPIN_UP_TAUS 20.0
#define LEAST_SPIN_UP_H 360.0

/* Liquid temperatures of a stretch of the record. */
struct liquids {
    size_t from, to;          /* hours [from, to) */
    double *at_c[STV__LANES]; /* of the distinct lanes, from `from` on */
    double *room;
};

/* Fills the unbroken runs of hours one by one; holes are never read. */
static enum stv_status run_liquids(const struct stv__table_plan *plan,
                                   const double time_constant_h[STV__LANES], size_t n_lanes,
                                   struct liquids *liquids)
{
    const struct stv_position *position = plan->position;
    enum stv_status status = STV_OK;
    for (size_t from = liquids->from; from < liquids->to && status == STV_OK;) {
        size_t to = from;
        while (to < liquids->to && isfinite(position->air_c[to]) &&
               isfinite(position->radiant_c[to]))
            to++;
        const struct stv__surround around = {position->air_c + from, position->radiant_c + from,
                                             to - from, plan->convective_frac};
        for (size_t lane = 0; lane < n_lanes && to > from && status == STV_OK;
             lane += STV__PACKET) {
            double *out_c[STV__PACKET];
            size_t n = n_lanes - lane < STV__PACKET ? n_lanes - lane : STV__PACKET;
            for (size_t l = 0; l < n; l++)
                out_c[l] = liquids->at_c[lane + l] + (from - liquids->from);
            status = stv__cask_liquids_c(&around, time_constant_h + lane, n, out_c);
        }
        from = to + 1;
    }
    return status;
}

static enum stv_status liquids_new(const struct stv__cell *cell, size_t from, size_t to,
                                   struct liquids *out)
{
    const struct stv__table_plan *plan = &cell->table->plan;
    size_t n_lanes = stv__lane_rows_distinct(plan->rows);
    double time_constant_h[STV__LANES];
    *out = (struct liquids){.from = from, .to = to};
    out->room = malloc(n_lanes * (to - from) * sizeof *out->room);
    if (!out->room)
        return STV_E_MEMORY;
    for (size_t lane = 0; lane < STV__LANES; lane++) {
        double tau_h = stv__tau_of_node_h(cell->node) * plan->tau_factor_nd[lane];
        time_constant_h[lane] = fmin(MOST_TAU_H, fmax(LEAST_TAU_H, tau_h));
        out->at_c[lane] = out->room + (lane < n_lanes ? lane : 0) * (to - from);
    }
    return run_liquids(plan, time_constant_h, n_lanes, out);
}

/* Hours of one step, or of one of its days, as a lane feels them. */
struct gathered {
    double liquid_c[STEP_HOURS_MOST], rh_frac[STEP_HOURS_MOST], room_pa[STEP_HOURS_MOST];
    size_t n;
    double move_k2; /* sum of squares of the moves within the hours */
    double swing_k;
    size_t n_swings;
};

static void gather_run(const struct stv__cell *cell, const struct liquids *liquids, size_t lane,
                       const struct stv__run *run, double shift_k, struct gathered *out)
{
    const struct stv_climate_table *table = cell->table;
    const struct stv__table_plan *plan = &table->plan;
    const double *air_c = plan->position->air_c, *at_c = liquids->at_c[lane] - liquids->from;
    const float *rh_frac = table->rh_frac + lane * plan->position->grid.n;
    const float *room_pa = table->room_pa + lane * plan->position->grid.n;
    double offset_k = plan->members[lane].liquid_offset_k + shift_k;
    size_t from = run->from, to = from + run->n;
    /* Beyond the run the liquid goes on where its air is known; else it counts as still. */
    bool has_before = from > liquids->from && isfinite(air_c[from - 1]);
    bool has_after = to < liquids->to && isfinite(air_c[to]);
    double before_c = has_before ? at_c[from - 1] : at_c[from], least = INFINITY, most = -INFINITY;
    for (size_t k = from; k < to && out->n < STEP_HOURS_MOST; k++) {
        double here_c = at_c[k], after_c = k + 1 < to || has_after ? at_c[k + 1] : here_c;
        double move_k = 0.5 * (after_c - before_c);
        out->liquid_c[out->n] = here_c + offset_k;
        out->rh_frac[out->n] = (double)rh_frac[k];
        out->room_pa[out->n] = (double)room_pa[k];
        if (shift_k != 0.0)
            out->room_pa[out->n] =
                (double)rh_frac[k] * stv__lane_rows_psat_pa(plan->rows, air_c[k] + offset_k);
        out->n++;
        out->move_k2 += move_k * move_k;
        least = here_c < least ? here_c : least;
        most = here_c > most ? here_c : most;
        before_c = here_c;
    }
    if (run->n >= LEAST_SWING_H) {
        out->swing_k += most - least;
        out->n_swings++;
    }
}

static double mean_of(const double *values, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++)
        sum += values[i];
    return sum / (double)n;
}

/* What the move of the liquid within the hours adds to the means. */
static void add_bend(const struct stv__cell *cell, size_t lane, const struct gathered *hours,
                     double *sums)
{
    const struct stv__table_plan *plan = &cell->table->plan;
    double liquid_c = mean_of(hours->liquid_c, hours->n);
    double rh_frac = mean_of(hours->rh_frac, hours->n);
    double room_pa = mean_of(hours->room_pa, hours->n);
    double half_variance_k2 = 0.5 * hours->move_k2 / (double)hours->n / 12.0;
    for (int side = -1; side <= 1; side++) {
        double at[STV__COL_FACTORS + STV__FACTORS_MOST] = {0.0};
        double at_c = liquid_c + BEND_STEP_K * side;
        const struct stv__lane_hours hour = {1, &at_c, &rh_frac, &room_pa};
        stv__lane_rows_add(plan->rows, cell->panel_idx, lane, &hour, at);
        double weight = (side ? 1.0 : -2.0) * half_variance_k2 / (BEND_STEP_K * BEND_STEP_K);
        for (size_t c = 0; c < cell->n_columns; c++)
            sums[c] += weight * at[c];
    }
}

/* Means of a step of the record, or of one of its days (SIZE_MAX: all), at the panel's nodes. */
static size_t means_of(const struct stv__cell *cell, const struct liquids *liquids, size_t lane,
                       size_t data, size_t day_idx, double shift_k, double *out)
{
    const struct stv_climate_table *table = cell->table;
    struct gathered hours;
    hours.n = 0;
    hours.move_k2 = hours.swing_k = 0.0;
    hours.n_swings = 0;
    memset(out, 0, cell->n_columns * sizeof *out);
    for (uint32_t r = table->first_run[data]; r != STV__NO_RUN; r = table->runs[r].next)
        if (day_idx == SIZE_MAX || table->runs[r].day == day_idx)
            gather_run(cell, liquids, lane, &table->runs[r], shift_k, &hours);
    if (hours.n == 0)
        return 0;
    const struct stv__lane_hours all = {hours.n, hours.liquid_c, hours.rh_frac, hours.room_pa};
    stv__lane_rows_add(table->plan.rows, cell->panel_idx, lane, &all, out);
    for (size_t c = 0; c < cell->n_columns; c++)
        out[c] /= (double)hours.n;
    add_bend(cell, lane, &hours, out);
    out[STV__COL_SWING] = hours.n_swings ? hours.swing_k / (double)hours.n_swings : 0.0;
    return hours.n;
}

/* Means to what a step holds. */
static void put_columns(const struct stv__cell *cell, double *means, size_t lane, float *out)
{
    double powers[STV__NODES8];
    const struct stv__lane_rows *rows = cell->table->plan.rows;
    stv__lane_rows_polynomial(rows, means + STV__COL_ETHANOL, powers);
    memcpy(means + STV__COL_ETHANOL, powers, sizeof powers);
    stv__lane_rows_polynomial(rows, means + STV__COL_WATER, powers);
    memcpy(means + STV__COL_WATER, powers, sizeof powers);
    means[STV__COL_PRESSURE] /= cell->mean_pressure_pa[lane];
    for (size_t c = 0; c < cell->n_columns; c++)
        out[c * STV__LANES + lane] = (float)means[c];
}

/* Every step of the record as a lane feels it; the ethanol pressure over its mean over the year,
 * every day of which counts alike however many years have it. */
static void average_record(struct stv__cell *cell, const struct liquids *liquids, size_t lane,
                           float *record)
{
    const struct stv_climate_table *table = cell->table;
    size_t stride = cell->n_columns * STV__LANES, pressure = STV__COL_PRESSURE * STV__LANES + lane;
    double means[STV__COL_FACTORS + STV__FACTORS_MOST], mean_pa = 0.0;
    cell->mean_pressure_pa[lane] = 1.0;
    for (size_t s = 0; s < table->n_steps; s++) {
        double sum_pa = 0.0;
        size_t n_years = 0;
        for (size_t y = 0; y < table->n_record_years; y++) {
            size_t data = y * table->n_steps + s;
            if (table->n_data_hours[data] == 0)
                continue;
            means_of(cell, liquids, lane, data, SIZE_MAX, 0.0, means);
            sum_pa += means[STV__COL_PRESSURE];
            n_years++;
            put_columns(cell, means, lane, record + data * stride);
        }
        mean_pa +=
            sum_pa / (double)n_years * (double)stv__table_days_of(table, s) / STV__TABLE_YEAR_D;
    }
    cell->mean_pressure_pa[lane] = mean_pa;
    for (size_t data = 0; data < table->n_record_years * table->n_steps; data++)
        record[data * stride + pressure] /= (float)mean_pa;
}

/* The first lane's columns for all of them, where all are alike. */
static void spread_lanes(const struct stv__cell *cell, size_t n_columns, float *columns)
{
    if (stv__lane_rows_distinct(cell->table->plan.rows) > 1)
        return;
    for (size_t i = 0; i < n_columns; i++)
        for (size_t lane = 1; lane < STV__LANES; lane++)
            columns[i * STV__LANES + lane] = columns[i * STV__LANES];
}

/* A step of the years asked for, lane by lane from the record's. */
static void copy_step(const struct stv__cell *cell, const uint32_t *source, const float *record,
                      float *out)
{
    size_t stride = cell->n_columns * STV__LANES;
    size_t lane = 1;
    while (lane < STV__LANES && source[lane] == source[0])
        lane++;
    if (lane == STV__LANES) {
        memcpy(out, record + source[0] * stride, stride * sizeof *out);
        return;
    }
    for (size_t c = 0; c < cell->n_columns; c++)
        for (lane = 0; lane < STV__LANES; lane++)
            out[c * STV__LANES + lane] = record[source[lane] * stride + c * STV__LANES + lane];
}

static void put_years(struct stv__cell *cell, const struct liquids *liquids, const float *record)
{
    const struct stv_climate_table *table = cell->table;
    size_t n_lanes = stv__lane_rows_distinct(table->plan.rows);
    double means[STV__COL_FACTORS + STV__FACTORS_MOST];
    for (size_t i = 0; i < table->n_years * table->n_steps; i++) {
        const uint32_t *source = table->source + i * STV__LANES;
        float *out = cell->steps + i * cell->n_columns * STV__LANES;
        double warming_k = table->warming_k[i / table->n_steps];
        if (warming_k == 0.0)
            copy_step(cell, source, record, out);
        for (size_t lane = 0; warming_k != 0.0 && lane < n_lanes; lane++) {
            means_of(cell, liquids, lane, source[lane], SIZE_MAX, warming_k, means);
            put_columns(cell, means, lane, out);
        }
        if (warming_k != 0.0)
            spread_lanes(cell, cell->n_columns, out);
    }
}

static size_t count_held(const struct stv__cell *cell, const struct liquids *liquids, size_t lane)
{
    const struct stv__table_plan *plan = &cell->table->plan;
    size_t n_held = 0;
    for (size_t k = liquids->from; k < liquids->to; k++) {
        double at_c = liquids->at_c[lane][k] + plan->members[lane].liquid_offset_k;
        n_held += isfinite(plan->position->air_c[k]) && isfinite(plan->position->radiant_c[k]) &&
                  (at_c < STV_TABLE_LEAST_C || at_c > STV_TABLE_MOST_C);
    }
    return n_held;
}

static enum stv_status fill_cell(struct stv__cell *cell)
{
    const struct stv_climate_table *table = cell->table;
    size_t n_lanes = stv__lane_rows_distinct(table->plan.rows);
    size_t n_data = table->n_record_years * table->n_steps;
    struct liquids liquids;
    float *record = calloc(n_data * cell->n_columns * STV__LANES, sizeof *record);
    enum stv_status status = liquids_new(cell, 0, table->plan.position->grid.n, &liquids);
    if (!record)
        status = STV_E_MEMORY;
    for (size_t lane = 0; lane < n_lanes && status == STV_OK; lane++) {
        average_record(cell, &liquids, lane, record);
        cell->n_hours += table->plan.position->grid.n;
        cell->n_held += count_held(cell, &liquids, lane);
    }
    if (status == STV_OK) {
        spread_lanes(cell, n_data * cell->n_columns, record);
        put_years(cell, &liquids, record);
    }
    free(record);
    free(liquids.room);
    return status;
}

enum stv_status stv__cell_new(struct stv_climate_table *table, size_t panel_idx, size_t node,
                              struct stv__cell **out)
{
    enum stv_status status = stv__lane_rows_panel(table->plan.rows, panel_idx);
    *out = NULL;
    if (status != STV_OK)
        return status;
    struct stv__cell *cell = calloc(1, sizeof *cell);
    if (!cell)
        return STV_E_MEMORY;
    size_t n_steps = table->n_years * table->n_steps;
    cell->table = table;
    cell->panel_idx = panel_idx;
    cell->node = node;
    cell->n_columns = stv__lane_rows_columns(table->plan.rows)->n_columns;
    cell->steps = aligned_alloc(64, n_steps * cell->n_columns * STV__LANES * sizeof *cell->steps);
    cell->days = calloc(n_steps, sizeof *cell->days);
    status = cell->steps && cell->days ? fill_cell(cell) : STV_E_MEMORY;
    if (status != STV_OK) {
        stv__cell_free(cell);
        return status;
    }
    *out = cell;
    return STV_OK;
}

void stv__cell_free(struct stv__cell *cell)
{
    if (!cell)
        return;
    for (size_t i = 0; cell->days && i < cell->table->n_years * cell->table->n_steps; i++)
        free(cell->days[i]);
    free(cell->days);
    free(cell->steps);
    free(cell);
}

static size_t index_of(const struct stv__cell *cell, int32_t year, size_t step_idx)
{
    return (size_t)(year - cell->table->plan.first_year) * cell->table->n_steps + step_idx;
}

const float *stv__cell_step(const struct stv__cell *cell, int32_t year, size_t step_idx)
{
    return cell->steps + index_of(cell, year, step_idx) * cell->n_columns * STV__LANES;
}

/* The stretch of the record that a step of it needs, with time for the liquid to settle. */
static void stretch_of(const struct stv__cell *cell, size_t data, size_t *out_from, size_t *out_to)
{
    const struct stv_climate_table *table = cell->table;
    double longest_h = 0.0;
    for (size_t lane = 0; lane < STV__LANES; lane++)
        longest_h =
            fmax(longest_h, stv__tau_of_node_h(cell->node) * table->plan.tau_factor_nd[lane]);
    size_t spin_up_h = (size_t)fmax(LEAST_SPIN_UP_H, SPIN_UP_TAUS * longest_h);
    *out_from = SIZE_MAX;
    *out_to = 0;
    for (uint32_t r = table->first_run[data]; r != STV__NO_RUN; r = table->runs[r].next) {
        size_t from = table->runs[r].from, to = from + table->runs[r].n;
        *out_from = from < *out_from ? from : *out_from;
        *out_to = to > *out_to ? to : *out_to;
    }
    *out_from = *out_from > spin_up_h ? *out_from - spin_up_h : 0;
    *out_to = *out_to < table->plan.position->grid.n ? *out_to + 1 : *out_to;
}

/* One lane's days; a day that its year lacks, or has too few hours of, is told as the step. */
static void put_days(const struct stv__cell *cell, const struct liquids *liquids, size_t index,
                     size_t lane, float *out)
{
    const struct stv_climate_table *table = cell->table;
    size_t data = table->source[index * STV__LANES + lane];
    double warming_k = table->warming_k[index / table->n_steps];
    double means[STV__COL_FACTORS + STV__FACTORS_MOST];
    const float *step = cell->steps + index * cell->n_columns * STV__LANES;
    for (size_t day = 0; day <= table->plan.step_d; day++) {
        float *columns = out + day * cell->n_columns * STV__LANES;
        if (means_of(cell, liquids, lane, data, day, warming_k, means) >= LEAST_DAY_H)
            put_columns(cell, means, lane, columns);
        else
            for (size_t c = 0; c < cell->n_columns; c++)
                columns[c * STV__LANES + lane] = step[c * STV__LANES + lane];
    }
}

static enum stv_status fill_days(const struct stv__cell *cell, size_t index, float *out)
{
    const struct stv_climate_table *table = cell->table;
    struct liquids liquids = {0};
    size_t n_lanes = stv__lane_rows_distinct(table->plan.rows), have = SIZE_MAX;
    enum stv_status status = STV_OK;
    for (size_t lane = 0; lane < n_lanes && status == STV_OK; lane++) {
        size_t data = table->source[index * STV__LANES + lane], from, to;
        if (data != have) { /* lanes of one year share its stretch of the record */
            free(liquids.room);
            stretch_of(cell, data, &from, &to);
            status = liquids_new(cell, from, to, &liquids);
            have = data;
        }
        if (status == STV_OK)
            put_days(cell, &liquids, index, lane, out);
    }
    if (status == STV_OK)
        spread_lanes(cell, (table->plan.step_d + 1) * cell->n_columns, out);
    free(liquids.room);
    return status;
}

static enum stv_status days_new(const struct stv__cell *cell, size_t index, float **out)
{
    size_t n_days = cell->table->plan.step_d + 1; /* the last step may have a leap day more */
    *out = aligned_alloc(64, n_days * cell->n_columns * STV__LANES * sizeof **out);
    enum stv_status status = *out ? fill_days(cell, index, *out) : STV_E_MEMORY;
    if (status != STV_OK) {
        free(*out);
        *out = NULL;
    }
    return status;
}

enum stv_status stv__cell_day(const struct stv__cell *cell, int32_t year, size_t step_idx,
                              size_t day_idx, const float **out)
{
    size_t index = index_of(cell, year, step_idx);
    float *days = __atomic_load_n(&cell->days[index], __ATOMIC_ACQUIRE);
    enum stv_status status = STV_OK;
    if (!days) {
        omp_set_lock(&cell->table->locks[cell->panel_idx][cell->node]);
        days = cell->days[index];
        if (!days) {
            status = days_new(cell, index, &days);
            if (status == STV_OK)
                __atomic_store_n(&cell->days[index], days, __ATOMIC_RELEASE);
        }
        omp_unset_lock(&cell->table->locks[cell->panel_idx][cell->node]);
    }
    *out = status == STV_OK ? days + day_idx * cell->n_columns * STV__LANES : NULL;
    return status;
}
