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
#define LAYOUT UINT64_C(0x5354564C45530009)

struct head {
    uint64_t layout, sum, n_bytes;
    uint64_t n_lanes, n_record, row_floats, n_days; /* the table's shape */
    uint64_t n_liquids, n_cells, none[3];
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

/* Sum of the bytes of a whole table, its own place apart. */
static uint64_t sum_of_table(const unsigned char *bytes, size_t n)
{
    size_t from = offsetof(struct head, n_bytes);
    return stv__word_sum(bytes + from, (n - from) / sizeof(uint64_t));
}

static struct head shape_of(const struct stv_climate_table *table)
{
    return (struct head){.layout = LAYOUT,
                         .n_lanes = stv__lane_rows_distinct(table->plan.rows),
                         .n_record = table->n_record_years * table->n_steps,
                         .row_floats = table->row_floats,
                         .n_days = table->plan.step_d + 1};
}

static size_t index_bytes(const struct told_cell *told)
{
    return (told->n_rows + told->n_days + STV__PACKET - 1) / STV__PACKET * STV__PACKET *
           sizeof(uint32_t);
}

static size_t cell_bytes(const struct head *shape, const struct told_cell *told)
{
    return sizeof *told + index_bytes(told) +
           (told->n_rows + told->n_days * shape->n_days) * shape->row_floats * sizeof(float);
}

static bool are_ascending(const uint32_t *indices, size_t n, uint64_t limit)
{
    for (size_t i = 0; i < n; i++)
        if (indices[i] >= limit || (i > 0 && indices[i] <= indices[i - 1]))
            return false;
    return true;
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
        told.n_days > most || cell_bytes(shape, &told) > n_left || !out->liquids[told.node] ||
        out->cells[told.panel_idx][told.node])
        return 0;
    const uint32_t *indices = (const uint32_t *)(const void *)(at + sizeof told);
    if (!are_ascending(indices, told.n_rows, most) ||
        !are_ascending(indices + told.n_rows, told.n_days, most))
        return 0;
    out->cells[told.panel_idx][told.node] = at;
    return cell_bytes(shape, &told);
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
        head.n_record != shape.n_record || head.row_floats != shape.row_floats ||
        head.n_days != shape.n_days || head.sum != sum_of_table(bytes, n))
        return false;
    struct stv__taken_bytes *taken = calloc(1, sizeof *taken);
    if (!taken)
        return false;
    taken->bytes = bytes;
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
    const uint32_t *indices = (const uint32_t *)(const void *)(at + sizeof told);
    const float *row = (const float *)(const void *)(at + sizeof told + index_bytes(&told));
    for (size_t i = 0; i < told.n_rows; i++, row += shape.row_floats)
        cell->rows[own_index(table, &shape, indices[i])] = row;
    indices += told.n_rows;
    for (size_t i = 0; i < told.n_days; i++, row += shape.n_days * shape.row_floats)
        cell->days[own_index(table, &shape, indices[i])] = row;
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

static unsigned char *put(unsigned char *at, const void *bytes, size_t n)
{
    memcpy(at, bytes, n);
    return at + n;
}

static unsigned char *put_cell(const struct stv__cell *cell, const struct head *shape,
                               unsigned char *at)
{
    struct told_cell told = count_cell(cell, shape);
    size_t row = shape->row_floats * sizeof(float);
    unsigned char *indices = put(at, &told, sizeof told);
    unsigned char *day_indices = indices + told.n_rows * sizeof(uint32_t);
    unsigned char *rows = indices + index_bytes(&told), *days = rows + told.n_rows * row;
    memset(rows - VECTOR, 0, index_bytes(&told) > 0 ? VECTOR : 0); /* what no index fills */
    for (uint32_t i = 0; i < shape->n_lanes * shape->n_record; i++) {
        size_t index = own_index(cell->table, shape, i);
        if (cell->rows[index]) {
            indices = put(indices, &i, sizeof i);
            rows = put(rows, cell->rows[index], row);
        }
        if (cell->days[index]) {
            day_indices = put(day_indices, &i, sizeof i);
            days = put(days, cell->days[index], shape->n_days * row);
        }
    }
    return days;
}

/* Bytes of a cell that was taken up and never asked for; 0 where there is none. */
static size_t sleeping_bytes(const struct stv_climate_table *table, const struct head *shape,
                             size_t panel_idx, size_t node)
{
    struct told_cell told;
    if (!table->taken || !table->taken->cells[panel_idx][node])
        return 0;
    memcpy(&told, table->taken->cells[panel_idx][node], sizeof told);
    return cell_bytes(shape, &told);
}

static void count_all(const struct stv_climate_table *table, struct head *head)
{
    for (size_t node = 0; node < STV__TAU_NODES; node++)
        head->n_liquids += table->liquids[node] || (table->taken && table->taken->liquids[node]);
    head->n_bytes = sizeof *head + head->n_liquids * sizeof(struct told_liquid);
    for (size_t p = 0; p < STV__PANELS; p++)
        for (size_t node = 0; node < STV__TAU_NODES; node++) {
            const struct stv__cell *cell = table->cells[p][node];
            size_t n = sleeping_bytes(table, head, p, node);
            if (cell) {
                struct told_cell told = count_cell(cell, head);
                n = cell_bytes(head, &told);
            }
            head->n_cells += n > 0;
            head->n_bytes += n;
        }
}

static unsigned char *put_liquid(const struct stv_climate_table *table, size_t node,
                                 unsigned char *at)
{
    const struct stv__table_liquid *liquid = table->liquids[node];
    if (!liquid && table->taken && table->taken->liquids[node])
        return put(at, table->taken->liquids[node], sizeof(struct told_liquid));
    if (!liquid)
        return at;
    struct told_liquid told = {.node = node, .n_hours = liquid->n_hours, .n_held = liquid->n_held};
    memcpy(told.mean_pressure_pa, liquid->mean_pressure_pa, sizeof told.mean_pressure_pa);
    return put(at, &told, sizeof told);
}

enum stv_status stv__table_bytes(const struct stv_climate_table *table, void **out_bytes,
                                 size_t *out_n)
{
    struct head head = shape_of(table);
    count_all(table, &head);
    unsigned char *bytes = malloc(head.n_bytes), *at = bytes + sizeof head;
    *out_bytes = bytes;
    *out_n = head.n_bytes;
    if (!bytes)
        return STV_E_MEMORY;
    for (size_t node = 0; node < STV__TAU_NODES; node++)
        at = put_liquid(table, node, at);
    for (size_t p = 0; p < STV__PANELS; p++)
        for (size_t node = 0; node < STV__TAU_NODES; node++) {
            const struct stv__cell *cell = table->cells[p][node];
            size_t n = sleeping_bytes(table, &head, p, node);
            if (cell)
                at = put_cell(cell, &head, at);
            else if (n > 0)
                at = put(at, table->taken->cells[p][node], n);
        }
    memcpy(bytes, &head, sizeof head);
    head.sum = sum_of_table(bytes, head.n_bytes);
    memcpy(bytes, &head, sizeof head);
    return STV_OK;
}
