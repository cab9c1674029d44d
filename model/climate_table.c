/* A year is cut into steps of whole days; in each the hour's driving pressures and factors are
 * averaged.  The wood factor depends on the hour's humidity and on composition together, so fluxes
 * are averaged, never their parts.  Calendar years of the record are kept apart; a year after it is
 * put together lane by lane, for each climate member has years of its own to come. */
#include "model/climate_table.h"

#include "model/calendar.h"
#include "model/climate_cell.h"
#include "model/climate_liquid.h"
#include "model/table_bytes.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CACHE_LINE_FLOATS 16
#define LEAST_COVER_FRAC 0.85 /* a record cut at UTC may lack 14 h of its first or last 5 days */

double stv__tau_place_nd(double time_constant_h)
{
    double place = (sqrt(sqrt(sqrt(time_constant_h))) - STV__TAU_FIRST_ROOT) / STV__TAU_ROOT_STEP;
    return fmin(STV__TAU_NODES - 3.0, fmax(STV__TAU_LEAST_PLACE, place));
}

double stv__tau_of_node_h(size_t node)
{
    double root = STV__TAU_FIRST_ROOT + STV__TAU_ROOT_STEP * (double)node;
    double square = root * root;
    return square * square * square * square;
}

size_t stv_table_steps(const struct stv_climate_table *table)
{
    return table->n_steps;
}

size_t stv_table_step_start_d(const struct stv_climate_table *table, size_t step_idx)
{
    return step_idx * table->plan.step_d;
}

size_t stv__table_days_of(const struct stv_climate_table *table, size_t step_idx)
{
    size_t start_d = stv_table_step_start_d(table, step_idx);
    return step_idx + 1 < table->n_steps ? table->plan.step_d : STV__TABLE_YEAR_D - start_d;
}

size_t stv__table_day_rows(const struct stv_climate_table *table, size_t entry)
{
    size_t step_idx = entry % table->n_steps;
    return stv__table_days_of(table, step_idx) + (step_idx + 1 == table->n_steps);
}

double stv_table_held_frac(const struct stv_climate_table *table)
{
    size_t n_hours = 0, n_held = 0;
    for (size_t node = 0; node < STV__TAU_NODES; node++) {
        const struct stv__table_liquid *liquid = table->liquids[node];
        n_hours += liquid ? liquid->n_hours : 0;
        n_held += liquid ? liquid->n_held : 0;
    }
    return n_hours ? (double)n_held / (double)n_hours : 0.0;
}

size_t stv_table_bytes(const struct stv_climate_table *table)
{
    size_t n_cells = 0, n_rows = stv__lane_rows_distinct(table->plan.rows) * table->n_entries;
    for (size_t p = 0; p < STV__PANELS; p++)
        for (size_t node = 0; node < STV__TAU_NODES; node++)
            n_cells += table->cells[p][node] != NULL;
    return stv__row_pool_bytes(&table->room) + stv__taken_bytes_n(table->taken) +
           n_cells * n_rows * 2 * sizeof(float *);
}

const int32_t *stv_table_whole_years(const struct stv_climate_table *table, size_t *out_n)
{
    *out_n = table->n_whole;
    return table->whole_years;
}

/* Step of the record that an hour belongs to, and its day within the step; the last step of a year
 * takes the odd days.  All hours of a typical year are one year's, also those that the clock moves
 * over its end. */
static size_t data_of_hour(const struct stv_climate_table *table, const struct stv_grid *grid,
                           size_t k, uint32_t *out_day)
{
    int hour;
    int64_t day_d = stv_grid_local_day(grid, k, &hour);
    int32_t year = grid->is_typical ? table->record_year : stv_date_from_day(day_d).year;
    size_t day = (size_t)stv_day_of_year(day_d) - 1;
    size_t step = day / table->plan.step_d;
    if (step > table->n_steps - 1)
        step = table->n_steps - 1;
    *out_day = (uint32_t)(day - step * table->plan.step_d);
    return (size_t)(year - table->record_year) * table->n_steps + step;
}

static bool is_known(const struct stv_position *position, size_t k)
{
    return isfinite(position->air_c[k]) && isfinite(position->rh_frac[k]) &&
           isfinite(position->radiant_c[k]);
}

/* Unbroken runs of known hours of one day of one step, listed by step. */
static enum stv_status find_runs(struct stv_climate_table *table)
{
    const struct stv_position *position = table->plan.position;
    size_t n_data = table->n_record_years * table->n_steps;
    table->runs = malloc((position->grid.n + 1) * sizeof *table->runs);
    table->first_run = malloc((n_data + 1) * sizeof *table->first_run);
    table->n_data_hours = calloc(n_data + 1, sizeof *table->n_data_hours);
    uint32_t *last_run = malloc((n_data + 1) * sizeof *last_run);
    size_t n = 0;
    if (!table->runs || !table->first_run || !table->n_data_hours || !last_run) {
        free(last_run);
        return STV_E_MEMORY;
    }
    for (size_t d = 0; d < n_data; d++)
        table->first_run[d] = STV__NO_RUN;
    size_t before = SIZE_MAX;
    uint32_t day_before = 0;
    for (size_t k = 0; k < position->grid.n; k++) {
        uint32_t day;
        if (!is_known(position, k)) {
            before = SIZE_MAX;
            continue;
        }
        size_t data = data_of_hour(table, &position->grid, k, &day);
        if (data == before && day == day_before && table->runs[n - 1].n < STV__RUN_MOST) {
            table->runs[n - 1].n++;
        } else {
            if (table->first_run[data] == STV__NO_RUN)
                table->first_run[data] = (uint32_t)n;
            else
                table->runs[last_run[data]].next = (uint32_t)n;
            last_run[data] = (uint32_t)n;
            table->runs[n++] = (struct stv__run){(uint32_t)k, 1, STV__NO_RUN, day};
        }
        table->n_data_hours[data]++;
        before = data;
        day_before = day;
    }
    table->n_runs = n;
    free(last_run);
    return STV_OK;
}

/* Steps that too few hours cover are emptied; whole years are those without any. */
static enum stv_status judge_cover(struct stv_climate_table *table)
{
    for (size_t y = 0; y < table->n_record_years; y++) {
        size_t n_known = 0;
        for (size_t s = 0; s < table->n_steps; s++) {
            size_t data = y * table->n_steps + s;
            double days_d = (double)stv__table_days_of(table, s);
            if ((double)table->n_data_hours[data] < LEAST_COVER_FRAC * days_d * STV_DAY_H)
                table->n_data_hours[data] = 0;
            n_known += table->n_data_hours[data] > 0;
        }
        if (n_known == table->n_steps)
            table->whole_years[table->n_whole++] = table->record_year + (int32_t)y;
    }
    for (size_t s = 0; s < table->n_steps; s++) {
        size_t n_years = 0;
        for (size_t y = 0; y < table->n_record_years; y++)
            n_years += table->n_data_hours[y * table->n_steps + s] > 0;
        if (n_years == 0)
            return STV_E_NO_DATA;
    }
    return STV_OK;
}

/* The same step in any year that has it: the n-th of them, counted round. */
static size_t find_any(const struct stv_climate_table *table, size_t n_th, size_t step_idx)
{
    size_t n_found = 0;
    for (size_t y = 0; y < table->n_record_years; y++)
        n_found += table->n_data_hours[y * table->n_steps + step_idx] > 0;
    size_t wanted = n_th % n_found;
    for (size_t y = 0;; y++) {
        size_t data = y * table->n_steps + step_idx;
        if (table->n_data_hours[data] > 0 && wanted-- == 0)
            return data;
    }
}

/* The record's own step of a year, else the same step of a year drawn for it. */
static size_t source_of(const struct stv_climate_table *table, int32_t year, size_t step_idx,
                        size_t lane)
{
    int64_t own = (int64_t)year - table->record_year;
    if (own >= 0 && (size_t)own < table->n_record_years &&
        table->n_data_hours[(size_t)own * table->n_steps + step_idx] > 0)
        return (size_t)own * table->n_steps + step_idx;
    size_t most = table->n_whole ? table->n_whole : (size_t)INT16_MAX;
    double u = stv_draw_uniform_nd(table->plan.seed, stv_key_of("weather year"), lane,
                                   (uint64_t)(int64_t)year);
    size_t pick = (size_t)(u * (double)most);
    if (table->plan.is_central) {
        int64_t period = (int64_t)most;
        int64_t turn = ((int64_t)year - (table->n_whole ? table->whole_years[0] : 0)) % period;
        pick = (size_t)(turn < 0 ? turn + period : turn);
    }
    if (table->n_whole == 0)
        return find_any(table, pick, step_idx);
    return (size_t)(table->whole_years[pick] - table->record_year) * table->n_steps + step_idx;
}

static void map_years(struct stv_climate_table *table)
{
    const struct stv__table_plan *plan = &table->plan;
    int32_t last_known = table->n_whole ? table->whole_years[table->n_whole - 1]
                                        : table->record_year + (int32_t)table->n_record_years - 1;
    for (size_t y = 0; y < table->n_years; y++) {
        int32_t year = plan->first_year + (int32_t)y;
        table->warming_k[y] =
            year > last_known ? plan->warming_k_per_y * (double)(year - last_known) : 0.0;
        for (size_t s = 0; s < table->n_steps; s++)
            for (size_t lane = 0; lane < STV__LANES; lane++)
                table->source[(y * table->n_steps + s) * STV__LANES + lane] =
                    (uint32_t)source_of(table, year, s, lane);
    }
}

enum stv_status stv_climate_table_ask(struct stv_climate_table *table, int32_t first_year,
                                      int32_t last_year)
{
    size_t n_years = (size_t)(last_year - first_year) + 1;
    double *warming_k = calloc(n_years, sizeof *warming_k);
    uint32_t *source = malloc(n_years * table->n_steps * STV__LANES * sizeof *source);
    if (!warming_k || !source) {
        free(warming_k);
        free(source);
        return STV_E_MEMORY;
    }
    free(table->warming_k);
    free(table->source);
    table->warming_k = warming_k;
    table->source = source;
    table->n_years = n_years;
    table->plan.first_year = first_year;
    table->plan.last_year = last_year;
    map_years(table);
    return STV_OK;
}

bool stv_climate_table_serves(const struct stv_climate_table *table,
                              const struct stv__table_plan *plan)
{
    const struct stv__table_plan *own = &table->plan;
    bool is_same = own->position == plan->position && own->rows == plan->rows &&
                   own->step_d == plan->step_d && own->seed == plan->seed &&
                   own->is_central == plan->is_central &&
                   own->convective_frac == plan->convective_frac && own->warming_k_per_y == 0.0 &&
                   plan->warming_k_per_y == 0.0; /* a warmed year has rows of its own */
    for (size_t lane = 0; lane < STV__LANES && is_same; lane++)
        is_same =
            own->tau_factor_nd[lane] == plan->tau_factor_nd[lane] &&
            own->members[lane].liquid_offset_k == plan->members[lane].liquid_offset_k &&
            own->members[lane].humidity_offset_frac == plan->members[lane].humidity_offset_frac;
    return is_same;
}

/* What surrounds the casks, hour by hour. */
static enum stv_status fill_outside(struct stv_climate_table *table)
{
    const struct stv_position *position = table->plan.position;
    const struct stv__surround around = {position->air_c, position->radiant_c, position->grid.n,
                                         table->plan.convective_frac};
    table->outside_c = malloc(around.n * sizeof *table->outside_c);
    if (!table->outside_c)
        return STV_E_MEMORY;
    for (size_t k = 0; k < around.n; k++)
        table->outside_c[k] = isfinite(position->air_c[k]) && isfinite(position->radiant_c[k])
                                  ? stv__outside_c(&around, k)
                                  : (double)NAN;
    return STV_OK;
}

/* The room of every hour in every distinct lane. */
static enum stv_status fill_rooms(struct stv_climate_table *table)
{
    const struct stv__table_plan *plan = &table->plan;
    size_t n = plan->position->grid.n, n_lanes = stv__lane_rows_distinct(plan->rows);
    table->rh_frac = malloc(n_lanes * n * sizeof *table->rh_frac);
    table->room_pa = malloc(n_lanes * n * sizeof *table->room_pa);
    if (!table->rh_frac || !table->room_pa) {
        free(table->rh_frac);
        free(table->room_pa);
        table->rh_frac = table->room_pa = NULL;
        return STV_E_MEMORY;
    }
    for (size_t lane = 0; lane < n_lanes; lane++) {
        const struct stv_climate_member *member = &plan->members[lane];
        for (size_t k = 0; k < n; k++) {
            double rh_frac = plan->position->rh_frac[k] + member->humidity_offset_frac;
            double air_c = plan->position->air_c[k] + member->liquid_offset_k;
            rh_frac = fmin(1.0, fmax(0.0, rh_frac)); /* a hole becomes dry air and is never read */
            table->rh_frac[lane * n + k] = (float)rh_frac;
            table->room_pa[lane * n + k] =
                (float)(isfinite(air_c) ? rh_frac * stv__lane_rows_psat_pa(plan->rows, air_c)
                                        : 0.0);
        }
    }
    return STV_OK;
}

static enum stv_status fill_table(struct stv_climate_table *table)
{
    const struct stv_grid *grid = &table->plan.position->grid;
    int32_t last_year = stv_date_from_day(stv_grid_local_day(grid, grid->n - 1, NULL)).year;
    table->record_year = stv_date_from_day(stv_grid_local_day(grid, 0, NULL)).year;
    table->n_steps = (STV__TABLE_YEAR_D + table->plan.step_d - 1) / table->plan.step_d;
    table->n_record_years = grid->is_typical ? 1 : (size_t)(last_year - table->record_year) + 1;
    table->n_years = (size_t)(table->plan.last_year - table->plan.first_year) + 1;
    table->whole_years = calloc(table->n_record_years, sizeof *table->whole_years);
    table->warming_k = calloc(table->n_years, sizeof *table->warming_k);
    table->source = malloc(table->n_years * table->n_steps * STV__LANES * sizeof *table->source);
    if (!table->whole_years || !table->warming_k || !table->source)
        return STV_E_MEMORY;
    table->row_floats = stv__lane_rows_columns(table->plan.rows)->n_padded;
    table->n_entries = table->n_record_years * table->n_steps +
                       (table->plan.warming_k_per_y != 0.0 ? table->n_years * table->n_steps : 0);
    enum stv_status status = find_runs(table);
    if (status == STV_OK)
        status = judge_cover(table);
    if (status == STV_OK)
        map_years(table);
    return status;
}

enum stv_status stv_climate_table_new(const struct stv__table_plan *plan,
                                      struct stv_climate_table **out)
{
    *out = NULL;
    if (plan->step_d < 1 || plan->step_d > 10 || plan->position->grid.n == 0 ||
        plan->last_year < plan->first_year)
        return STV_E_DOMAIN;
    struct stv_climate_table *table = calloc(1, sizeof *table);
    if (!table)
        return STV_E_MEMORY;
    table->plan = *plan;
    omp_init_lock(&table->lock);
    stv__row_pool_open(&table->room);
    enum stv_status status = fill_table(table);
    if (status != STV_OK) {
        stv_climate_table_free(table);
        return status;
    }
    *out = table;
    return STV_OK;
}

void stv_climate_table_free(struct stv_climate_table *table)
{
    if (!table)
        return;
    for (size_t p = 0; p < STV__PANELS; p++)
        for (size_t node = 0; node < STV__TAU_NODES; node++)
            stv__cell_free(table->cells[p][node]);
    for (size_t node = 0; node < STV__TAU_NODES; node++)
        stv__table_liquid_free(table->liquids[node]);
    omp_destroy_lock(&table->lock);
    stv__row_pool_close(&table->room);
    stv__taken_bytes_free(table->taken);
    free(table->outside_c);
    free(table->runs);
    free(table->first_run);
    free(table->n_data_hours);
    free(table->whole_years);
    free(table->warming_k);
    free(table->source);
    free(table->rh_frac);
    free(table->room_pa);
    free(table);
}

enum stv_status stv__table_prepare(struct stv__cell *cell)
{
    struct stv_climate_table *table = cell->table;
    enum stv_status status = STV_OK;
    if (__atomic_load_n(&cell->can_make, __ATOMIC_ACQUIRE))
        return STV_OK;
    omp_set_lock(&table->lock);
    if (!table->outside_c)
        status = fill_outside(table);
    if (status == STV_OK && !table->room_pa)
        status = fill_rooms(table);
    if (status == STV_OK)
        status = stv__lane_rows_panel(table->plan.rows, cell->panel_idx);
    if (status == STV_OK && !cell->liquid->is_walked)
        status = stv__table_liquid_walk(table, cell->node, cell->liquid);
    if (status == STV_OK)
        __atomic_store_n(&cell->can_make, true, __ATOMIC_RELEASE);
    omp_unset_lock(&table->lock);
    return status;
}

/* With the table's lock held. */
static enum stv_status make_cell(struct stv_climate_table *table, size_t panel_idx, size_t node)
{
    struct stv__cell *cell = NULL;
    enum stv_status status = STV_OK;
    if (table->cells[panel_idx][node])
        return STV_OK;
    if (!table->liquids[node]) {
        status = stv__table_liquid_new(&table->liquids[node]);
        if (status == STV_OK)
            stv__table_tell_liquid(table, node, table->liquids[node]);
    }
    if (status == STV_OK)
        status = stv__cell_new(table, panel_idx, node, &cell);
    if (status != STV_OK)
        return status;
    stv__table_tell_cell(table, cell);
    __atomic_store_n(&table->cells[panel_idx][node], cell, __ATOMIC_RELEASE);
    return status;
}

static enum stv_status find_cell(struct stv_climate_table *table, size_t panel_idx, size_t node,
                                 struct stv__cell **out)
{
    *out = __atomic_load_n(&table->cells[panel_idx][node], __ATOMIC_ACQUIRE);
    if (*out)
        return STV_OK;
    omp_set_lock(&table->lock);
    enum stv_status status = make_cell(table, panel_idx, node);
    *out = table->cells[panel_idx][node];
    omp_unset_lock(&table->lock);
    return status;
}

static enum stv_status find_row(struct stv__cell *cell, const struct stv__row_source *source,
                                size_t day_idx, const float **out)
{
    size_t index = source->lane * cell->table->n_entries + source->entry;
    enum stv_status status = STV_OK;
    if (day_idx == SIZE_MAX) {
        const float *row = __atomic_load_n(&cell->rows[index], __ATOMIC_ACQUIRE);
        if (!row) {
            status = stv__cell_make_row(cell, source);
            row = cell->rows[index];
        }
        if (status != STV_OK)
            return status;
        *out = row;
        /* The step after it is asked for next, though not at once. */
        for (size_t f = 0; f < cell->table->row_floats; f += CACHE_LINE_FLOATS)
            __builtin_prefetch(*out + cell->table->row_floats + f, 0, 2);
        return status;
    }
    const float *days = __atomic_load_n(&cell->days[index], __ATOMIC_ACQUIRE);
    if (!days) {
        status = stv__cell_make_days(cell, source);
        days = cell->days[index];
    }
    if (status == STV_OK)
        *out = days + day_idx * cell->table->row_floats;
    return status;
}

enum stv_status stv__table_rows(struct stv_climate_table *table,
                                const struct stv__table_window *window,
                                const float *out[STV__TAU_WINDOW])
{
    size_t year = (size_t)(window->year - table->plan.first_year);
    size_t step = year * table->n_steps + window->step_idx;
    struct stv__row_source source = {
        .lane = stv__lane_rows_distinct(table->plan.rows) > 1 ? window->lane : 0,
        .warming_k = table->warming_k[year]};
    source.data = source.entry = table->source[step * STV__LANES + source.lane];
    if (source.warming_k != 0.0)
        source.entry = table->n_record_years * table->n_steps + step;
    enum stv_status status = STV_OK;
    for (size_t w = 0; w < STV__TAU_WINDOW && status == STV_OK; w++) {
        struct stv__cell *cell;
        status = find_cell(table, window->panel_idx, window->first_node + w, &cell);
        if (status == STV_OK)
            status = find_row(cell, &source, window->day_idx, &out[w]);
    }
    return status;
}
