/* The record is walked once, eight members side by side; what is kept is where the liquid stands
 * when each day's hours begin, so that any day can be walked again when it is asked for. */
#include "model/climate_liquid.h"

#include "model/units.h"

#include <math.h>
#include <stdlib.h>

#define LEAST_TAU_H 1.0
#define MOST_TAU_H 2000.0

/* The walk of half of the lanes over the record. */
struct record_walk {
    const struct stv_climate_table *table;
    struct stv__table_liquid *liquid;
    size_t first_lane;
    stv__v8 *at_c;    /* hourly means, NaN where nothing is known */
    stv__v8 *move_k;  /* within the hour */
    stv__v8 offset_k; /* by which the members' liquids are warmer than the place's */
    stv__v8 n_held;   /* hours outside the rows' temperatures */
    size_t next_run;
};

static void keep_states(struct record_walk *walk, size_t hour_idx, const stv__v8 *state_c)
{
    const struct stv_climate_table *table = walk->table;
    while (walk->next_run < table->n_runs && table->runs[walk->next_run].from == hour_idx) {
        float *start_c = walk->liquid->start_c + walk->next_run * STV__LANES + walk->first_lane;
        for (size_t l = 0; l < STV__PACKET; l++)
            start_c[l] = (float)(*state_c)[l];
        walk->next_run++;
    }
}

/* An unbroken stretch of known hours [from, to). */
STV__WIDE static void walk_stretch(struct record_walk *walk, const double *time_constant_h,
                                   size_t from, size_t to)
{
    const struct stv_position *position = walk->table->plan.position;
    const struct stv__surround around = {position->air_c + from, position->radiant_c + from,
                                         to - from, walk->table->plan.convective_frac};
    const double *outside_c = walk->table->outside_c;
    struct stv__liquid_walk *liquid = &walk->liquid->walks[walk->first_lane / STV__PACKET];
    stv__liquid_walk_start(&around, time_constant_h, liquid);
    stv__v8 here_c = stv__all(outside_c[from]), before_c = here_c, offset_k = walk->offset_k;
    const stv__v8 zero = stv__all(0.0), one = stv__all(1.0);
    stv__v8 n_held = zero;
    for (size_t k = from; k < to; k++) {
        stv__v8 after_c = k + 1 < to ? stv__all(outside_c[k + 1]) : here_c;
        stv__v8 start_c = liquid->state_c;
        keep_states(walk, k, &start_c);
        stv__v8 at_c = stv__liquid_hour_c(liquid, before_c, here_c, after_c);
        walk->at_c[k] = at_c;
        walk->move_k[k] = liquid->state_c - start_c;
        at_c += offset_k;
        n_held += stv__pick(at_c < STV_TABLE_LEAST_C, one, zero);
        n_held += stv__pick(at_c > STV_TABLE_MOST_C, one, zero);
        before_c = here_c;
        here_c = after_c;
    }
    walk->n_held += n_held;
}

static void walk_record(struct record_walk *walk, const double *time_constant_h)
{
    const double *outside_c = walk->table->outside_c;
    size_t n = walk->table->plan.position->grid.n;
    for (size_t from = 0; from < n;) {
        size_t to = from;
        while (to < n && isfinite(outside_c[to]))
            to++;
        if (to > from)
            walk_stretch(walk, time_constant_h, from, to);
        if (to < n)
            walk->at_c[to] = stv__all(NAN);
        from = to + 1;
    }
}

/* Adds the mean of ethanol's pressure over a step of the record, as the cells' means are taken. */
static void add_step_pressure(const struct record_walk *walk, size_t data, stv__v8 *sum)
{
    const struct stv_climate_table *table = walk->table;
    stv__v8 step_pa = stv__all(0.0), run_pa;
    size_t n = 0;
    for (uint32_t r = table->first_run[data]; r != STV__NO_RUN; r = table->runs[r].next) {
        const struct stv__run *run = &table->runs[r];
        stv__lane_rows_ethanol_pa(table->plan.rows, walk->at_c + run->from,
                                  walk->move_k + run->from, run->n, &walk->offset_k, &run_pa);
        step_pa += run_pa;
        n += run->n;
    }
    *sum += step_pa / (double)n;
}

/* Over the year, every day of which counts alike however many years have it. */
static void year_pressure(const struct record_walk *walk, stv__v8 *out)
{
    const struct stv_climate_table *table = walk->table;
    *out = stv__all(0.0);
    for (size_t s = 0; s < table->n_steps; s++) {
        stv__v8 sum_pa = stv__all(0.0);
        size_t n_years = 0;
        for (size_t y = 0; y < table->n_record_years; y++) {
            size_t data = y * table->n_steps + s;
            if (table->n_data_hours[data] == 0)
                continue;
            add_step_pressure(walk, data, &sum_pa);
            n_years++;
        }
        *out +=
            sum_pa * ((double)stv__table_days_of(table, s) / STV__TABLE_YEAR_D) / (double)n_years;
    }
}

double stv__table_lane_tau_h(const struct stv_climate_table *table, size_t node, size_t lane)
{
    double own_h = stv__tau_of_node_h(node) * table->plan.tau_factor_nd[lane];
    return fmin(MOST_TAU_H, fmax(LEAST_TAU_H, own_h));
}

static void fill_half(struct record_walk *walk, size_t node, size_t n_lanes)
{
    double time_constant_h[STV__PACKET];
    stv__v8 pressure_pa;
    for (size_t l = 0; l < STV__PACKET; l++) {
        time_constant_h[l] = stv__table_lane_tau_h(walk->table, node, walk->first_lane + l);
        walk->offset_k[l] = walk->table->plan.members[walk->first_lane + l].liquid_offset_k;
    }
    walk_record(walk, time_constant_h);
    year_pressure(walk, &pressure_pa);
    for (size_t l = 0; l < n_lanes; l++) {
        walk->liquid->mean_pressure_pa[walk->first_lane + l] = pressure_pa[l];
        walk->liquid->n_held += (size_t)walk->n_held[l];
    }
    walk->liquid->n_hours += n_lanes * walk->table->plan.position->grid.n;
}

enum stv_status stv__table_liquid_new(struct stv__table_liquid **out)
{
    *out = aligned_alloc(64, sizeof **out);
    if (!*out)
        return STV_E_MEMORY;
    memset(*out, 0, sizeof **out);
    return STV_OK;
}

enum stv_status stv__table_liquid_walk(const struct stv_climate_table *table, size_t node,
                                       struct stv__table_liquid *liquid)
{
    size_t n_lanes = stv__lane_rows_distinct(table->plan.rows);
    size_t n = table->plan.position->grid.n;
    stv__v8 *at_c = aligned_alloc(64, n * sizeof *at_c);
    stv__v8 *move_k = aligned_alloc(64, n * sizeof *move_k);
    liquid->start_c = malloc((table->n_runs + 1) * STV__LANES * sizeof *liquid->start_c);
    if (!at_c || !move_k || !liquid->start_c) {
        free(liquid->start_c);
        liquid->start_c = NULL;
        free(at_c);
        free(move_k);
        return STV_E_MEMORY;
    }
    liquid->n_hours = liquid->n_held = 0;
    for (size_t lane = 0; lane < n_lanes; lane += STV__PACKET) {
        struct record_walk walk = {table, liquid, lane, at_c, move_k, {0}, {0}, 0};
        fill_half(&walk, node, n_lanes < STV__PACKET ? n_lanes : STV__PACKET);
    }
    free(at_c);
    free(move_k);
    liquid->is_walked = true;
    return STV_OK;
}

void stv__table_liquid_free(struct stv__table_liquid *liquid)
{
    if (liquid)
        free(liquid->start_c);
    free(liquid);
}

STV__WIDE void stv__table_liquid_runs(const struct stv_climate_table *table,
                                      const struct stv__table_liquid *liquid, size_t lane,
                                      const uint32_t *runs, size_t n_runs,
                                      struct stv__liquid_hours *out)
{
    const struct stv__liquid_walk *of = &liquid->walks[lane / STV__PACKET];
    const double *outside_c = table->outside_c;
    size_t l = lane % STV__PACKET, n = table->plan.position->grid.n, first[STV__PACKET],
           longest = 0;
    struct stv__liquid_walk walk = {stv__all(of->of_state_nd[l]), stv__all(of->of_start_nd[l]),
                                    stv__all(of->of_end_nd[l]), stv__all(of->inverse_x_nd[l]),
                                    stv__all(0.0)};
    stv__v8 before_c = stv__all(0.0), here_c = before_c, after_c = before_c;
    for (size_t r = 0; r < STV__PACKET; r++) {
        uint32_t own = runs[r < n_runs ? r : 0];
        const struct stv__run *run = &table->runs[own];
        first[r] = run->from;
        longest = run->n > longest ? run->n : longest;
        walk.state_c[r] = (double)liquid->start_c[own * STV__LANES + lane];
        here_c[r] = outside_c[first[r]];
        before_c[r] =
            first[r] > 0 && isfinite(outside_c[first[r] - 1]) ? outside_c[first[r] - 1] : here_c[r];
    }
    for (size_t i = 0; i < longest; i++) {
        for (size_t r = 0; r < STV__PACKET; r++) {
            size_t next = first[r] + i + 1;
            after_c[r] = next < n && isfinite(outside_c[next]) ? outside_c[next] : here_c[r];
        }
        stv__v8 start_c = walk.state_c;
        out->at_c[i] = stv__liquid_hour_c(&walk, before_c, here_c, after_c);
        out->move_k[i] = walk.state_c - start_c;
        before_c = here_c;
        here_c = after_c;
    }
}
