/* Shared inside model/: what one hour does to spirit, tabulated over the temperature of the liquid,
 * for each climate member's own wood energies and error of activity. */
#ifndef STV_MODEL_LANE_ROWS_H
#define STV_MODEL_LANE_ROWS_H

#include "model/byte_store.h"
#include "model/extraction.h"
#include "model/lanes.h"
#include "model/panel_fit.h"
#include "model/params.h"
#include "model/status.h"

#include <stdbool.h>

/* Range of ethanol mole fraction that the tables know: about 12 to 92 % vol. */
#define STV_TABLE_LEAST_MOLE_FRAC 0.04
#define STV_TABLE_MOST_MOLE_FRAC 0.75
/* Temperatures of the liquid that the activities are known for. */
#define STV_TABLE_LEAST_C (-15.0)
#define STV_TABLE_MOST_C 50.0

/* Columns of one step of a cell: polynomials of the two driving pressures in a panel's -1..1;
 * means; curves of the cask's own wave; means of factors, and how they lag one another.
 *
 * A cask's strength swings within the step as its pressures do.  Its rise at an hour is the sum
 * until then of x times water's pressure less (1 - x)/ratio times ethanol's (Pa h; x the mole
 * fraction), told from the half of its rise over the step.  COL_*_WAVE is the mean of that times a
 * pressure's slope over the panel, COL_ESTERS_RISE the mean where an hour counts by the esters'
 * rate.
 *
 * What has gone runs ahead of a steady loss and behind it.  At another strength than the panel's
 * middle the pressures swing as there, but for more or less of what swings as ethanol's.  So both
 * are told for the middle: ethanol's over its mean (h), and water's (Pa h).  COL_AHEAD is the mean
 * of that, from the half of the step's loss, COL_JOINTS_AHEAD the same where an hour counts by pure
 * ethanol's pressure, and COL_ESTERS_AHEAD_H that of ethanol where it counts by the esters' rate.
 *
 * A row's liquid has one time constant, tau, but a cask that empties has less and less.  Where that
 * differs by d from the row's, its liquid is warmer by P, P' = (-P - d T')/tau with T the row's
 * liquid.  P is told for five d: none but P is 1 K as the step begins, and -1 h, the hours since
 * the middle, and what has gone ahead of a steady loss of either.  COL_WARM is what each adds to
 * water's pressure in the mean, COL_LEFT what is left of P in the end, COL_SLOPE the mean of what a
 * kelvin adds, and COL_START_C where the row's liquid begins.
 *
 * After the factors comes, for each, by how many hours the middle of what it comes to in the step
 * lies before the step's, for what comes first finds less; then by how much the mean square of the
 * hours between the esters' making and the step's middle is more than that of steady making (h^2).
 */
enum { STV__AHEAD_ETHANOL, STV__AHEAD_WATER, STV__AHEAD_N };
enum {
    STV__LAG_BEGUN,
    STV__LAG_SHORT,
    STV__LAG_FALLING,
    STV__LAG_AHEAD, /* STV__AHEAD_N of them */
    STV__LAG_N = STV__LAG_AHEAD + STV__AHEAD_N
};
enum {
    STV__COL_ETHANOL = 0,
    STV__COL_WATER = STV__NODES8,
    STV__COL_AHEAD = 2 * STV__NODES8,
    STV__COL_JOINTS_AHEAD = STV__COL_AHEAD + STV__AHEAD_N,
    STV__COL_ESTERS_AHEAD_H = STV__COL_JOINTS_AHEAD + STV__AHEAD_N,
    STV__COL_START_C,
    STV__COL_SLOPE,                                 /* Pa/K, of water's pressure in the middle */
    STV__COL_WARM,                                  /* STV__LAG_N of them: Pa/K, Pa/h and so on */
    STV__COL_LEFT = STV__COL_WARM + STV__LAG_N,     /* K/K, K/h and so on */
    STV__COL_PRESSURE = STV__COL_LEFT + STV__LAG_N, /* ethanol's, over the record's mean */
    STV__COL_SWING,                                 /* of the liquid in a day, K */
    STV__COL_ETHANOL_WAVE,
    STV__COL_WATER_WAVE = STV__COL_ETHANOL_WAVE + STV__LINE_TERMS,
    STV__COL_ESTERS_RISE = STV__COL_WATER_WAVE + STV__LINE_TERMS,
    STV__COL_FACTORS = STV__COL_ESTERS_RISE + STV__LINE_TERMS, /* Arrhenius, relative to 20 C */
    STV__FACTORS_MOST = 3 * STV_OAK_N + 2,
    STV__EARLY_MOST = STV__FACTORS_MOST + 1,
    STV__ROW_MOST = (STV__COL_FACTORS + STV__FACTORS_MOST + STV__EARLY_MOST + 7) / 8 * 8
};

/* Which column holds whose factor; kinds of one energy share a column.  SIZE_MAX: the kind does not
 * decay. */
struct stv__factor_columns {
    size_t n_columns; /* of a step, all told */
    size_t n_padded;  /* the same in whole vectors of eight */
    size_t n_factors;
    size_t fast[STV_OAK_N], slow[STV_OAK_N], decay[STV_OAK_N];
    size_t ester, oxidation;
    size_t ester_apart; /* the column of this */
};

/* What a kelvin adds to the wood's factor, over it; tests/test_wood.c holds it against the local
 * factor where casks mostly are. */
#define STV__WOOD_PER_K (-0.0065)

struct stv__lane_rows;

/* Prepares the rows of STV__LANES members; each panel's are made when they are first asked for.
 *
 * lanes       of each member: the energies of permeance, extraction and esters and the error of the
 *             water activity count
 * numbers     the oak's energies and limits
 * n_distinct  1 when all lanes are alike (the first then stands for all), else STV__LANES
 * Errors:  STV_E_MEMORY
 * Memory:  some 0.6 MB for a lane and panel; free with stv__lane_rows_free, which accepts NULL */
STV_MUST_CHECK enum stv_status stv__lane_rows_new(const struct stv_params lanes[STV__LANES],
                                                  const struct stv_cask_numbers *numbers,
                                                  size_t n_distinct, struct stv__lane_rows **out);
void stv__lane_rows_free(struct stv__lane_rows *rows);

/* Whether rows were made of these very lanes and numbers. */
bool stv__lane_rows_serve(const struct stv__lane_rows *rows,
                          const struct stv_params lanes[STV__LANES],
                          const struct stv_cask_numbers *numbers, size_t n_distinct);

/* What they were made of: lanes and numbers. */
void stv__lane_rows_key(const struct stv__lane_rows *rows, struct stv_byte_run out[2]);

const struct stv__factor_columns *stv__lane_rows_columns(const struct stv__lane_rows *rows);
size_t stv__lane_rows_distinct(const struct stv__lane_rows *rows);

/* Makes a panel's rows unless they are there; safe from several threads.
 * Errors: STV_E_MEMORY; STV_E_DOMAIN activities that the energies' errors take out of 0..1 */
STV_MUST_CHECK enum stv_status stv__lane_rows_panel(struct stv__lane_rows *rows, size_t panel_idx);

/* Saturation pressure of water by straight lines 0.05 K apart, 6e-7 off. */
double stv__lane_rows_psat_pa(const struct stv__lane_rows *rows, double temp_c);

/* Sums of pure ethanol's pressure over n hours of eight liquids, which are all offset by so much:
 * at the hour's mean, and what a straight move bends it by. */
void stv__lane_rows_ethanol_pa(const struct stv__lane_rows *rows, const stv__v8 *liquid_c,
                               const stv__v8 *move_k, size_t n, const stv__v8 *offset_k,
                               stv__v8 *out);

/* Some hours of one place as one lane feels them. */
struct stv__lane_hours {
    size_t n;
    const double *liquid_c, *move_k; /* n values each: the mean, and the move to the hour's end */
    const double *rh_frac, *room_pa; /* humidity 0..1 */
    double start_c, time_constant_h; /* of the liquid */
};

/* Sums over the hours, which follow on one another: 2 x 8 driving pressures at the nodes of the
 * panel, then the columns in their order (no swing, its place is left alone).
 *
 * What bends in an hour is taken at the two points that integrate a straight move, 1/sqrt(12) of it
 * before and after the mean.
 *
 * The panel must have been made; out holds n_columns values, which need not be set.  Liquids
 * outside -15..50 C are held at that end. Accuracy: straight lines between rows 0.05 K apart: 1e-6;
 * the wood's integral 1e-8 */
void stv__lane_rows_sum(const struct stv__lane_rows *rows, size_t panel_idx, size_t lane_idx,
                        const struct stv__lane_hours *hours, double *out);

/* The curves that a panel's columns are. */
const struct stv__panel_fit *stv__lane_rows_fit(const struct stv__lane_rows *rows);

#endif
