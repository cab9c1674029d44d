/* Shared inside model/: one place's climate boiled down to what casks feel there in each step of
 * the years that are asked for, for each of STV__LANES climate members: driving pressures as
 * polynomials of composition and mean Arrhenius factors, at nodes of the liquid's time constant.
 * All casks and trials that stand there share it. */
#ifndef STV_MODEL_CLIMATE_TABLE_H
#define STV_MODEL_CLIMATE_TABLE_H

#include "model/draws.h"
#include "model/lane_rows.h"
#include "model/position.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct stv_climate_table;

/* Nodes of the time constant stand evenly in its eighth root, from 0.6 to 270 h: a seventh apart
 * for a 200 L cask, and hardly wider for the last litres, whose liquid follows every day. */
enum { STV__TAU_NODES = 36, STV__TAU_WINDOW = 4 };
#define STV__TAU_FIRST_ROOT 0.93 /* eighth root of hours, of node 0 */
#define STV__TAU_ROOT_STEP 0.031
#define STV__TAU_LEAST_PLACE 1.000001 /* a whole number may be rounded down to the node before */
/* Place of a time constant (hours, of a cask that sees air all round, without its draws) among the
 * nodes, 1..STV__TAU_NODES - 3: beyond them it counts as that end. */
double stv__tau_place_nd(double time_constant_h);
double stv__tau_of_node_h(size_t node);

/* What a table is made of.  All that it points to must outlive it. */
struct stv__table_plan {
    const struct stv_position *position;
    struct stv__lane_rows *rows;
    struct stv_climate_member members[STV__LANES]; /* how far off temperature and humidity are */
    double tau_factor_nd[STV__LANES]; /* on the time constant; over the exposed share */
    size_t step_d;                    /* whole days of a step, 1..10 */
    int32_t first_year, last_year;    /* calendar years that will be asked for */
    uint64_t seed;
    bool is_central;        /* years after the record repeat in order, else drawn by member */
    double convective_frac; /* of the film outside the casks */
    double warming_k_per_y; /* of years after the record, counted from its last whole year */
};

/* Makes an empty table; rows are made when they are asked for.
 *
 * Hours that are NaN are left out; a step needs 85 % of its hours, and the last of a year takes the
 * odd days.  All hours of a typical year are one year.  Years beyond the record, and steps that it
 * lacks, are those of a whole year of it drawn by seed, member and year.
 *
 * Errors:  STV_E_NO_DATA  some step of the year is covered in no year
 *          STV_E_DOMAIN   step outside, an empty grid, years the wrong way round
 *          STV_E_MEMORY
 * Memory:  free with stv_climate_table_free, which accepts NULL */
STV_MUST_CHECK enum stv_status stv_climate_table_new(const struct stv__table_plan *plan,
                                                     struct stv_climate_table **out);
void stv_climate_table_free(struct stv_climate_table *table);

/* Whether a table serves a plan, its years apart.  The plan's parts must be the very same. */
bool stv_climate_table_serves(const struct stv_climate_table *table,
                              const struct stv__table_plan *plan);
/* Asks for other years; nobody may read meanwhile.  Errors: STV_E_MEMORY, the table is as before */
STV_MUST_CHECK enum stv_status stv_climate_table_ask(struct stv_climate_table *table,
                                                     int32_t first_year, int32_t last_year);

/* Share of hours whose liquid lay outside -15..50 C and was held at that end, 0..1, of the nodes
 * asked for so far. */
double stv_table_held_frac(const struct stv_climate_table *table);

/* What its rows take up, some of it perhaps for rows to come.  Nobody may read meanwhile. */
size_t stv_table_bytes(const struct stv_climate_table *table);

/* Steps of a year; the day of the year (0-based) at which one starts. */
size_t stv_table_steps(const struct stv_climate_table *table);
size_t stv_table_step_start_d(const struct stv_climate_table *table, size_t step_idx);

/* Whole years of the record (every step known), ascending; *out_n of them. */
const int32_t *stv_table_whole_years(const struct stv_climate_table *table, size_t *out_n);

/* What is asked of a table: one lane's rows at STV__TAU_WINDOW nodes from the first on. */
struct stv__table_window {
    size_t panel_idx, first_node, lane;
    int32_t year;             /* within the plan's */
    size_t step_idx, day_idx; /* day of the step from 0; SIZE_MAX: the mean of the step */
};

/* Rows of columns, n_padded floats each (stv__factor_columns).  They are made when they are first
 * asked for and stay good; safe from several threads, and the same whoever asks first.
 *
 * Errors:  STV_E_MEMORY; STV_E_DOMAIN  of stv__lane_rows_panel
 * Accuracy: of a row, as tested: 2e-6 of the mean flux over its hours */
STV_MUST_CHECK enum stv_status stv__table_rows(struct stv_climate_table *table,
                                               const struct stv__table_window *window,
                                               const float *out[STV__TAU_WINDOW]);

#endif
