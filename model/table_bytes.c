/* Layout, in the machine's own numbers: the head; of each node of the time constant that was asked
 * for what is told of its liquid; of each cell its rows, by index [lane * steps of the record +
 * step], then the rows of days, likewise.  Every part fills whole vectors of eight floats, so that
 * rows are read where they lie.  A sum over all stands in the head, so that a damaged
 * file is not believed, and every count is held against the bytes that are there. */
#include "model/table_bytes.h"

#include "model/climate_liquid.h"

#include <stdlib.h>
#include <string.h>

/* One more when anything here changes, or a column of a row. */
#define LAYOUT UINT64_C(0x5354564C4553000C)

struct head {
    uint64_t layout, sum, n_bytes;
    /* The table's shape; days of a step, and of the last of a year. */
    uint64_t n_lanes, n_record, n_steps, row_floats, n_days, n_last_days;
    uint64_t n_liquids, n_cells, none;
};

struct told_liquid {
    uint64_t node, n_hours, n_held;
    double mean_pressure_pa[STV__LANES], none;
};

/* Followed by the indices of rows and of days, and by their floats. */
struct told_cell {
    uint64_t panel_idx, node, n_rows, n_days;
};

#define VECTOR (STV__PACKET * sizeof(float))
_Static_assert(sizeof(struct head) % VECTOR == 0 && sizeof(struct told_liquid) % VECTOR == 0 &&
                   sizeof(struct told_cell) % VECTOR == 0,
               "parts fill whole vectors");

struct stv__taken_bytes {
    void *bytes;
    size_t n;
    const unsigned char *liquids[STV__TAU_NODES], *cells[STV__PANELS][STV__TAU_NODES];
};

void stv__table_key_of(const struct stv__table_plan *plan, struct stv__table_key *out)
{
    const struct stv_position *place = plan->position;
    const struct stv_grid *grid = &place->grid;
    size_t n = grid->n * sizeof(double);
    *out = (struct stv__table_key){.counts = {LAYOUT, plan->step_d,
                                              stv__lane_rows_distinct(plan->rows), grid->n,
                                              (uint64_t)grid->t0_s, (uint64_t)grid->step_s,
                                              (uint64_t)grid->utc_offset_min, grid->is_typical}};
    for (size_t lane = 0; lane < STV__LANES; lane++) {
        out->members_nd[lane][0] = plan->members[lane].liquid_offset_k;
        out->members_nd[lane][1] = plan->members[lane].humidity_offset_frac;
        out->members_nd[lane][2] = plan->tau_factor_nd[lane];
    }
    out->convective_frac = plan->convective_frac;
    out->runs[0] = (struct stv_byte_run){out, offsetof(struct stv__table_key, runs)};
    stv__lane_rows_key(plan->rows, &out->runs[1]);
    out->runs[3] = (struct stv_byte_run){place->air_c, n};
    out->runs[4] = (struct stv_byte_run){place->rh_frac, n};
    out->runs[5] = (struct stv_byte_run){place->radiant_c, n};
}

/* What comes before is not in the sum, which is the last of it. */
#define SUMMED offsetof(struct head, n_bytes)

static uint64_t sum_of_table(const unsigned char *bytes, size_t n)
{
    const struct stv_byte_run summed = {bytes + SUMMED, n - SUMMED};
    return stv__word_sum(&summed, 1);
}

static struct head shape_of(const struct stv_climate_table *table)
{
    return (struct head){.layout = LAYOUT,
                         .n_lanes = stv__lane_rows_distinct(table->plan.rows),
                         .n_record = table->n_record_years * table->n_steps,
                         .n_steps = table->n_steps,
                         .row_floats = table->row_floats,
                         .n_days = table->plan.step_d,
                         .n_last_days = stv__table_day_rows(table, table->n_steps - 1)};
}

static size_t index_bytes(const struct told_cell *told)
{
    return (told->n_rows + told->n_days + STV__PACKET - 1) / STV__PACKET * STV__PACKET *
           sizeof(uint32_t);
}

/* Days that are told of an entry. */
static size_t days_of(const struct head *shape, uint32_t index)
{
    return index % shape->n_steps + 1 < shape->n_steps ? shape->n_days : shape->n_last_days;
}

static size_t row_bytes(const struct head *shape)
{
    return shape->row_floats * sizeof(float);
}

/* Indices of rows, then of days. */
static size_t cell_bytes(const struct head *shape, const struct told_cell *told,
                         const uint32_t *indices)
{
    size_t n_rows = told->n_rows;
    for (size_t i = 0; i < told->n_days; i++)
        n_rows += days_of(shape, indices[told->n_rows + i]);
    return sizeof *told + index_bytes(told) + n_rows * row_bytes(shape);
}

static bool are_ascending(const uint32_t *indices, size_t n, uint64_t limit)
{
    for (size_t i = 0; i < n; i++)
        if (indices[i] >= limit || (i > 0 && indices[i] <= indices[i - 1]))
            return false;
    return true;
}

static const uint32_t *indices_at(const unsigned char *cell)
{
    return (const uint32_t *)(const void *)(cell + sizeof(struct told_cell));
}

/* Notes where a cell stands; its bytes, 0 when it cannot be. */
static size_t note_cell(const struct head *shape, const unsigned char *at, size_t n_left,
                        struct stv__taken_bytes *out)
{
    struct told_cell told;
    uint64_t most = shape->n_lanes * shape->n_record;
    if (n_left < sizeof told)
        return 0;
    memcpy(&told, at, sizeof told);
    if (told.panel_idx >= STV__PANELS || told.node >= STV__TAU_NODES || told.n_rows > most ||
        told.n_days > most || sizeof told + index_bytes(&told) > n_left ||
        !out->liquids[told.node] || out->cells[told.panel_idx][told.node])
        return 0;
    const uint32_t *indices = indices_at(at);
    if (!are_ascending(indices, told.n_rows, most) ||
        !are_ascending(indices + told.n_rows, told.n_days, most))
        return 0;
    size_t n = cell_bytes(shape, &told, indices);
    if (n > n_left)
        return 0;
    out->cells[told.panel_idx][told.node] = at;
    return n;
}

static bool note_all(const struct head *shape, const struct head *head,
                     struct stv__taken_bytes *out)
{
    const unsigned char *at = (const unsigned char *)out->bytes + sizeof *head,
                        *end = (const unsigned char *)out->bytes + head->n_bytes;
    for (uint64_t i = 0; i < head->n_liquids; i++, at += sizeof(struct told_liquid)) {
        uint64_t node;
        if ((size_t)(end - at) < sizeof(struct told_liquid))
            return false;
        memcpy(&node, at, sizeof node);
        if (node >= STV__TAU_NODES || out->liquids[node])
            return false;
        out->liquids[node] = at;
    }
    for (uint64_t i = 0; i < head->n_cells; i++) {
        size_t n = note_cell(shape, at, (size_t)(end - at), out);
        if (n == 0)
            return false;
        at += n;
    }
    return at == end;
}

bool stv__table_take_bytes(struct stv_climate_table *table, void *bytes, size_t n)
{
    const struct head shape = shape_of(table);
    struct head head;
    if (n < sizeof head || n % sizeof(uint64_t) != 0)
        return false;
    memcpy(&head, bytes, sizeof head);
    if (head.layout != shape.layout || head.n_bytes != n || head.n_lanes != shape.n_lanes ||
        head.n_record != shape.n_record || head.n_steps != shape.n_steps ||
        head.row_floats != shape.row_floats || head.n_days != shape.n_days ||
        head.n_last_days != shape.n_last_days || head.sum != sum_of_table(bytes, n))
        return false;
    struct stv__taken_bytes *taken = calloc(1, sizeof *taken);
    if (!taken)
        return false;
    taken->bytes = bytes;
    taken->n = n;
    if (!note_all(&shape, &head, taken)) {
        free(taken);
        return false;
    }
    table->taken = taken;
    return true;
}

void stv__taken_bytes_free(struct stv__taken_bytes *taken)
{
    if (taken)
        free(taken->bytes);
    free(taken);
}

size_t stv__taken_bytes_n(const struct stv__taken_bytes *taken)
{
    return taken ? taken->n : 0;
}

void stv__table_tell_liquid(const struct stv_climate_table *table, size_t node,
                            struct stv__table_liquid *out)
{
    struct told_liquid told;
    if (!table->taken || !table->taken->liquids[node])
        return;
    memcpy(&told, table->taken->liquids[node], sizeof told);
    out->n_hours = told.n_hours;
    out->n_held = told.n_held;
    memcpy(out->mean_pressure_pa, told.mean_pressure_pa, sizeof told.mean_pressure_pa);
}

/* A cell's index of one that was told: its lanes may have entries of warmed years between. */
static size_t own_index(const struct stv_climate_table *table, const struct head *shape,
                        uint32_t index)
{
    return index / shape->n_record * table->n_entries + index % shape->n_record;
}

void stv__table_tell_cell(const struct stv_climate_table *table, struct stv__cell *cell)
{
    const struct head shape = shape_of(table);
    const unsigned char *at =
        table->taken ? table->taken->cells[cell->panel_idx][cell->node] : NULL;
    struct told_cell told;
    if (!at)
        return;
    memcpy(&told, at, sizeof told);
    const uint32_t *indices = indices_at(at);
    const float *row = (const float *)(const void *)(at + sizeof told + index_bytes(&told));
    for (size_t i = 0; i < told.n_rows; i++, row += shape.row_floats)
        cell->rows[own_index(table, &shape, indices[i])] = row;
    indices += told.n_rows;
    for (size_t i = 0; i < told.n_days; i++) {
        cell->days[own_index(table, &shape, indices[i])] = row;
        row += days_of(&shape, indices[i]) * shape.row_floats;
    }
}

bool stv__table_has_grown(const struct stv_climate_table *table)
{
    return table->n_new_rows > 0;
}

/* What a cell of the table would be told as. */
static struct told_cell count_cell(const struct stv__cell *cell, const struct head *shape)
{
    struct told_cell told = {cell->panel_idx, cell->node, 0, 0};
    for (uint32_t i = 0; i < shape->n_lanes * shape->n_record; i++) {
        size_t index = own_index(cell->table, shape, i);
        told.n_rows += cell->rows[index] != NULL;
        told.n_days += cell->days[index] != NULL;
    }
    return told;
}

/* Bytes of a cell that was taken up and never asked for; 0 where there is none. */
static size_t sleeping_bytes(const struct stv_climate_table *table, const struct head *shape,
                             size_t panel_idx, size_t node)
{
    struct told_cell told;
    const unsigned char *at = table->taken ? table->taken->cells[panel_idx][node] : NULL;
    if (!at)
        return 0;
    memcpy(&told, at, sizeof told);
    return cell_bytes(shape, &told, indices_at(at));
}

/* What is told so far. */
struct teller {
    const struct stv_climate_table *table;
    struct head head;
    struct stv__table_told *told;
    size_t n_own; /* bytes that were put */
};

/* Joined to the run before where it follows on it. */
static void add_run(struct teller *to, const void *bytes, size_t n)
{
    struct stv_byte_run *last = &to->told->runs[to->told->n_runs - 1];
    if ((const unsigned char *)last->bytes + last->n == bytes)
        last->n += n;
    else
        to->told->runs[to->told->n_runs++] = (struct stv_byte_run){bytes, n};
    to->head.n_bytes += n;
}

static void put(struct teller *to, const void *bytes, size_t n)
{
    unsigned char *at = to->told->own + to->n_own;
    memcpy(at, bytes, n);
    to->n_own += n;
    add_run(to, at, n);
}

static void put_liquid(struct teller *to, size_t node)
{
    const struct stv_climate_table *table = to->table;
    const struct stv__table_liquid *liquid = table->liquids[node];
    struct told_liquid told = {.node = node};
    if (liquid) {
        told.n_hours = liquid->n_hours;
        told.n_held = liquid->n_held;
        memcpy(told.mean_pressure_pa, liquid->mean_pressure_pa, sizeof told.mean_pressure_pa);
        put(to, &told, sizeof told);
    } else if (table->taken && table->taken->liquids[node]) {
        add_run(to, table->taken->liquids[node], sizeof told);
    } else {
        return;
    }
    to->head.n_liquids++;
}

/* Indices of the rows that are there, then of the days; the last vector is filled up. */
static void put_indices(struct teller *to, const struct stv__cell *cell,
                        const struct told_cell *told)
{
    uint32_t n_all = (uint32_t)(to->head.n_lanes * to->head.n_record);
    const uint32_t none = 0;
    size_t end = to->n_own + index_bytes(told);
    for (uint32_t i = 0; i < n_all; i++)
        if (cell->rows[own_index(cell->table, &to->head, i)])
            put(to, &i, sizeof i);
    for (uint32_t i = 0; i < n_all; i++)
        if (cell->days[own_index(cell->table, &to->head, i)])
            put(to, &i, sizeof i);
    while (to->n_own < end)
        put(to, &none, sizeof none);
}

static void put_cell(struct teller *to, const struct stv__cell *cell)
{
    struct told_cell told = count_cell(cell, &to->head);
    uint32_t n_all = (uint32_t)(to->head.n_lanes * to->head.n_record);
    put(to, &told, sizeof told);
    put_indices(to, cell, &told);
    for (uint32_t i = 0; i < n_all; i++) {
        const float *row = cell->rows[own_index(cell->table, &to->head, i)];
        if (row)
            add_run(to, row, row_bytes(&to->head));
    }
    for (uint32_t i = 0; i < n_all; i++) {
        const float *days = cell->days[own_index(cell->table, &to->head, i)];
        if (days)
            add_run(to, days, days_of(&to->head, i) * row_bytes(&to->head));
    }
}

static void put_cells(struct teller *to)
{
    const struct stv_climate_table *table = to->table;
    for (size_t p = 0; p < STV__PANELS; p++)
        for (size_t node = 0; node < STV__TAU_NODES; node++) {
            const struct stv__cell *cell = table->cells[p][node];
            size_t n = cell ? 0 : sleeping_bytes(table, &to->head, p, node);
            if (cell)
                put_cell(to, cell);
            else if (n > 0)
                add_run(to, table->taken->cells[p][node], n);
            to->head.n_cells += cell || n > 0;
        }
}

/* Room for as many runs and bytes of its own as there can be. */
static enum stv_status make_room(const struct stv_climate_table *table, const struct head *shape,
                                 struct stv__table_told *out)
{
    size_t n_runs = 2 + 2 * STV__TAU_NODES + 2 * STV__PANELS * STV__TAU_NODES;
    size_t n_own = sizeof(struct head) + STV__TAU_NODES * sizeof(struct told_liquid);
    for (size_t p = 0; p < STV__PANELS; p++)
        for (size_t node = 0; node < STV__TAU_NODES; node++) {
            if (!table->cells[p][node])
                continue;
            struct told_cell told = count_cell(table->cells[p][node], shape);
            n_runs += told.n_rows + told.n_days;
            n_own += sizeof told + index_bytes(&told);
        }
    *out = (struct stv__table_told){malloc(n_runs * sizeof *out->runs), 0, malloc(n_own)};
    if (out->runs && out->own)
        return STV_OK;
    stv__table_told_free(out);
    return STV_E_MEMORY;
}

enum stv_status stv__table_tell(const struct stv_climate_table *table, struct stv__table_told *out)
{
    struct teller to = {table, shape_of(table), out, 0};
    enum stv_status status = make_room(table, &to.head, out);
    if (status != STV_OK)
        return status;
    /* The head in two runs, that the sum may begin with the second. */
    out->runs[out->n_runs++] = (struct stv_byte_run){out->own, SUMMED};
    out->runs[out->n_runs++] =
        (struct stv_byte_run){out->own + SUMMED, sizeof(struct head) - SUMMED};
    to.n_own = to.head.n_bytes = sizeof(struct head);
    for (size_t node = 0; node < STV__TAU_NODES; node++)
        put_liquid(&to, node);
    put_cells(&to);
    memcpy(out->own, &to.head, sizeof to.head);
    to.head.sum = stv__word_sum(out->runs + 1, out->n_runs - 1);
    memcpy(out->own, &to.head, sizeof to.head);
    return STV_OK;
}

void stv__table_told_free(struct stv__table_told *told)
{
    free(told->runs);
    free(told->own);
    *told = (struct stv__table_told){0};
}
