/* What the loggers showed and what the building would have shown, made into one record.
 *
 * Where both speak, d = air measured - air modelled and r = ln(vapour measured / vapour modelled).
 * Each is taken as a constant, or as c + a cos wt + b sin wt with w = 2 pi a year, and moves the
 * modelled hours that no logger covers.  Vapour pressure is joined, not humidity, because damp is
 * carried by vapour while humidity follows temperature.  Nothing here knows the weather of the
 * hour: a logger's difference in a heat wave is not told from that of a mild day. */
#include "model/position.h"

#include "model/air.h"
#include "model/calendar.h"
#include "model/units.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define OFFSET_LEAST_D 30 /* shorter, the weather of the month would pass for the place */
#define WAVE_LEAST_D 300  /* shorter, the wave would be guessed in the season not seen */
#define MEASURED_LEAST_FRAC 0.95
#define DAYS_OF_YEAR 366
#define TWO_PI 6.28318530717958647693
enum { TERM_LEVEL, TERM_COS, TERM_SIN, N_TERMS };

/* level + cosine + sine of the time of the year. */
struct wave {
    double term[N_TERMS];
};

/* Measured hours on the result's grid; NaN where none. */
struct measured {
    double *air_c, *vapour_pa;
};

static void wave_basis(const struct stv_grid *grid, size_t k, double basis[N_TERMS])
{
    double time_d = (double)(stv_grid_start_s(grid, k) + grid->step_s / 2) / STV_DAY_S;
    double angle_rad = TWO_PI * fmod(time_d / STV_YEAR_D, 1.0);
    basis[TERM_LEVEL] = 1.0;
    basis[TERM_COS] = cos(angle_rad);
    basis[TERM_SIN] = sin(angle_rad);
}

static double wave_at(const struct wave *wave, const struct stv_grid *grid, size_t k)
{
    double basis[N_TERMS];
    wave_basis(grid, k, basis);
    return wave->term[TERM_LEVEL] + wave->term[TERM_COS] * basis[TERM_COS] +
           wave->term[TERM_SIN] * basis[TERM_SIN];
}

/* Days of the year on which there is at least one difference. */
static size_t days_of_year_seen(const double *difference, const struct stv_grid *grid)
{
    bool is_seen[DAYS_OF_YEAR] = {false};
    size_t count = 0;
    for (size_t k = 0; k < grid->n; k++) {
        if (!isfinite(difference[k]))
            continue;
        bool *day = &is_seen[stv_day_of_year(stv_grid_local_day(grid, k, NULL)) - 1];
        count += !*day;
        *day = true;
    }
    return count;
}

/* Least squares for level and yearly wave, by the normal equations: three well separated terms. */
static enum stv_status fit_yearly_wave(const double *difference, const struct stv_grid *grid,
                                       struct wave *out)
{
    double normal[N_TERMS * N_TERMS] = {0.0};
    double right[N_TERMS] = {0.0};
    for (size_t k = 0; k < grid->n; k++) {
        if (!isfinite(difference[k]))
            continue;
        double basis[N_TERMS];
        wave_basis(grid, k, basis);
        for (size_t i = 0; i < N_TERMS; i++) {
            right[i] += basis[i] * difference[k];
            for (size_t j = 0; j < N_TERMS; j++)
                normal[i * N_TERMS + j] += basis[i] * basis[j];
        }
    }
    gsl_matrix_view matrix = gsl_matrix_view_array(normal, N_TERMS, N_TERMS);
    gsl_vector_view terms = gsl_vector_view_array(right, N_TERMS);
    if (gsl_linalg_cholesky_decomp1(&matrix.matrix) != GSL_SUCCESS ||
        gsl_linalg_cholesky_svx(&matrix.matrix, &terms.vector) != GSL_SUCCESS)
        return STV_E_NO_CONVERGENCE;
    memcpy(out->term, right, sizeof out->term);
    return STV_OK;
}

enum offset { OFFSET_NONE, OFFSET_LEVEL, OFFSET_WAVE };

/* How far to move hours without a logger; all zero when too few hours were shared. */
static enum offset offset_of(const double *difference, const struct stv_grid *grid,
                             struct wave *out)
{
    *out = (struct wave){{0.0}};
    size_t n_shared = 0;
    for (size_t k = 0; k < grid->n; k++)
        n_shared += isfinite(difference[k]) != 0;
    if (n_shared < (size_t)OFFSET_LEAST_D * STV_DAY_H)
        return OFFSET_NONE;
    if (n_shared >= (size_t)WAVE_LEAST_D * STV_DAY_H &&
        days_of_year_seen(difference, grid) >= WAVE_LEAST_D &&
        fit_yearly_wave(difference, grid, out) == STV_OK)
        return OFFSET_WAVE;
    *out = (struct wave){{[TERM_LEVEL] = stv_mean_nd(difference, grid->n)}};
    return OFFSET_LEVEL;
}

/* Whether an hour of a logger was filled and not measured. */
static bool is_filled(const struct stv_logger_hours *logger, size_t k)
{
    return logger->origin && logger->origin[k] != STV_HOUR_MEASURED;
}

/* Adds one logger's measured hours to running sums on the result's grid; or its filled ones, where
 * no logger measured. */
static void add_logger(const struct stv_logger_hours *logger, bool wants_filled,
                       const struct stv_grid *grid, const struct measured *sums, uint32_t *counts)
{
    uint32_t *n_air = counts, *n_vapour = counts + grid->n;
    for (size_t k = 0; k < logger->grid.n; k++) {
        int64_t middle_s = stv_grid_start_s(&logger->grid, k) + STV_HOUR_S / 2;
        size_t at = stv_grid_index(grid, middle_s);
        if (at == grid->n || !isfinite(logger->air_c[k]) || is_filled(logger, k) != wants_filled ||
            (wants_filled && n_air[at] > 0))
            continue;
        sums->air_c[at] += logger->air_c[k];
        n_air[at]++;
        if (!logger->rh_frac || !isfinite(logger->rh_frac[k]))
            continue;
        sums->vapour_pa[at] += logger->rh_frac[k] * stv_water_psat_pa(logger->air_c[k]);
        n_vapour[at]++;
    }
}

/* Turns sums into means; NaN where nothing was counted. */
static void divide(double *sums, const uint32_t *counts, size_t n)
{
    for (size_t k = 0; k < n; k++) {
        if (counts[k])
            sums[k] /= counts[k];
        else
            sums[k] = NAN;
    }
}

/* Mean of the loggers, hour by hour, into two arrays that hold zeros. */
static enum stv_status average_loggers(const struct stv_logger_hours *const *loggers,
                                       size_t n_loggers, const struct stv_grid *grid,
                                       const struct measured *out)
{
    uint32_t *counts = calloc(2 * grid->n, sizeof *counts);
    if (!counts)
        return STV_E_MEMORY;
    for (int wants_filled = 0; wants_filled < 2; wants_filled++)
        for (size_t i = 0; i < n_loggers; i++)
            add_logger(loggers[i], wants_filled != 0, grid, out, counts);
    divide(out->air_c, counts, grid->n);
    divide(out->vapour_pa, counts + grid->n, grid->n);
    free(counts);
    return STV_OK;
}

static double humidity_frac(double vapour_pa, double air_c)
{
    double frac = vapour_pa / stv_water_psat_pa(air_c);
    return frac > 1.0 ? 1.0 : frac;
}

/* An hour is what the best of its loggers is: measured, else filled, else a hole. */
static void mark_origins(const struct stv_logger_hours *logger, struct stv_position *out)
{
    static const uint8_t worth[STV_HOUR_ORIGINS] = {[STV_HOUR_MEASURED] = 5,
                                                    [STV_HOUR_LINE] = 4,
                                                    [STV_HOUR_NEIGHBOUR] = 3,
                                                    [STV_HOUR_WEATHER] = 2,
                                                    [STV_HOUR_HOLE] = 1};
    for (size_t k = 0; k < logger->grid.n; k++) {
        int64_t middle_s = stv_grid_start_s(&logger->grid, k) + STV_HOUR_S / 2;
        size_t at = stv_grid_index(&out->grid, middle_s);
        uint8_t origin = isfinite(logger->air_c[k]) ? STV_HOUR_MEASURED : STV_HOUR_HOLE;
        if (logger->origin)
            origin = logger->origin[k];
        if (at < out->grid.n && worth[origin] > worth[out->origin[at]])
            out->origin[at] = origin;
    }
}

static void judge_source(struct stv_position *out)
{
    size_t n_measured = 0;
    for (size_t k = 0; k < out->grid.n; k++)
        n_measured += out->origin[k] == STV_HOUR_MEASURED;
    out->measured_frac = (double)n_measured / (double)out->grid.n;
    out->source = n_measured == 0 ? STV_SOURCE_MODELLED : STV_SOURCE_MIXED;
    if (out->measured_frac >= MEASURED_LEAST_FRAC)
        out->source = STV_SOURCE_MEASURED;
}

/* Differences where both speak; NaN elsewhere. */
struct differences {
    double *air_k, *vapour_ln, *rh_frac;
};

static void compare(const struct measured *measured, const double *model_air_c,
                    const double *model_rh_frac, size_t n, const struct differences *out)
{
    for (size_t k = 0; k < n; k++) {
        double vapour_pa = measured->vapour_pa[k];
        double modelled_pa = model_rh_frac[k] * stv_water_psat_pa(model_air_c[k]);
        out->air_k[k] = measured->air_c[k] - model_air_c[k];
        out->rh_frac[k] = humidity_frac(vapour_pa, measured->air_c[k]) - model_rh_frac[k];
        out->vapour_ln[k] = NAN; /* no logarithm of perfectly dry air */
        if (vapour_pa > 0.0 && modelled_pa > 0.0)
            out->vapour_ln[k] = log(vapour_pa / modelled_pa);
    }
}

/* What hours without a logger take: the model and how far it is moved, or what was learned. */
struct told {
    const double *air_c, *rh_frac;
    struct wave air, vapour;
    struct stv_air_hours learned;
};

static double told_air_c(const struct told *told, const struct stv_grid *grid, size_t k)
{
    if (told->learned.air_c)
        return told->learned.air_c[k];
    return told->air_c[k] + wave_at(&told->air, grid, k);
}

static double told_vapour_pa(const struct told *told, const struct stv_grid *grid, size_t k)
{
    const struct stv_air_hours *learned = &told->learned;
    if (learned->rh_frac && isfinite(learned->rh_frac[k]))
        return learned->rh_frac[k] * stv_water_psat_pa(learned->air_c[k]);
    return told->rh_frac[k] * stv_water_psat_pa(told->air_c[k]) *
           exp(wave_at(&told->vapour, grid, k));
}

static bool has_any(const double *values, size_t n)
{
    for (size_t k = 0; k < n; k++)
        if (isfinite(values[k]))
            return true;
    return false;
}

/* Fills the result from measured hours and what stands in for the others. */
static enum stv_status join_with_model(const struct stv_building_climate *modelled,
                                       const struct stv_air_hours *learned,
                                       const struct measured *measured, struct stv_position *out)
{
    size_t n = out->grid.n;
    size_t first = (size_t)out->place.tier_idx * n;
    const double *air_c = modelled->air_c + first;
    const double *rh_frac = modelled->rh_frac + first;
    const double *radiant_c = modelled->radiant_c + first;
    double *room = malloc(3 * n * sizeof *room);
    if (!room)
        return STV_E_MEMORY;
    struct differences differences = {room, room + n, room + 2 * n};
    compare(measured, air_c, rh_frac, n, &differences);
    out->offset_k = stv_mean_nd(differences.air_k, n);
    out->offset_rh_frac = stv_mean_nd(differences.rh_frac, n);
    struct told told = {.air_c = air_c, .rh_frac = rh_frac};
    enum offset air = offset_of(differences.air_k, &out->grid, &told.air);
    enum offset vapour = offset_of(differences.vapour_ln, &out->grid, &told.vapour);
    out->rest = air == OFFSET_NONE ? STV_REST_MODELLED : STV_REST_MOVED;
    out->is_moved_all_year = air == OFFSET_WAVE;
    out->is_vapour_settled = vapour != OFFSET_NONE || (learned && learned->rh_frac);
    out->has_measured_vapour = has_any(measured->vapour_pa, n);
    free(room);
    if (learned) {
        told.learned = *learned;
        out->rest = STV_REST_LEARNED;
    }
    for (size_t k = 0; k < n; k++) {
        double vapour_pa = measured->vapour_pa[k];
        out->air_c[k] = measured->air_c[k];
        if (!isfinite(out->air_c[k]))
            out->air_c[k] = told_air_c(&told, &out->grid, k);
        if (!isfinite(vapour_pa))
            vapour_pa = told_vapour_pa(&told, &out->grid, k);
        out->rh_frac[k] = humidity_frac(vapour_pa, out->air_c[k]);
        out->radiant_c[k] = out->air_c[k] + (radiant_c[k] - air_c[k]);
    }
    return STV_OK;
}

/* Fills the result from the loggers alone. */
static enum stv_status join_alone(const struct measured *measured, struct stv_position *out)
{
    size_t n = out->grid.n;
    if (!has_any(measured->air_c, n) || !has_any(measured->vapour_pa, n))
        return STV_E_NO_DATA;
    for (size_t k = 0; k < n; k++) {
        out->air_c[k] = measured->air_c[k];
        out->rh_frac[k] = humidity_frac(measured->vapour_pa[k], measured->air_c[k]);
        out->radiant_c[k] = measured->air_c[k];
    }
    return STV_OK;
}

/* From the first logger's first hour to the last one's last. */
static struct stv_grid span_of_loggers(const struct stv_logger_hours *const *loggers,
                                       size_t n_loggers)
{
    struct stv_grid grid = loggers[0]->grid;
    int64_t end_s = stv_grid_start_s(&grid, grid.n);
    for (size_t i = 1; i < n_loggers; i++) {
        const struct stv_grid *other = &loggers[i]->grid;
        int64_t other_end_s = stv_grid_start_s(other, other->n);
        if (other->t0_s < grid.t0_s)
            grid.t0_s = other->t0_s;
        if (other_end_s > end_s)
            end_s = other_end_s;
    }
    grid.n = (size_t)((end_s - grid.t0_s + STV_HOUR_S - 1) / STV_HOUR_S);
    return grid;
}

static bool is_well_formed(struct stv_place place, const struct stv_building_climate *modelled,
                           const struct stv_logger_hours *const *loggers, size_t n_loggers)
{
    if (n_loggers > 0 && !loggers)
        return false;
    for (size_t i = 0; i < n_loggers; i++)
        if (!loggers[i] || !loggers[i]->air_c || loggers[i]->grid.step_s != STV_HOUR_S)
            return false;
    if (!modelled)
        return true;
    return modelled->air_c && modelled->rh_frac && modelled->radiant_c &&
           modelled->grid.step_s == STV_HOUR_S && place.tier_idx >= 0 &&
           (size_t)place.tier_idx < modelled->n_tiers;
}

static enum stv_status allocate(struct stv_position *out, struct measured *measured)
{
    size_t n = out->grid.n;
    out->air_c = malloc(n * sizeof(double));
    out->rh_frac = malloc(n * sizeof(double));
    out->radiant_c = malloc(n * sizeof(double));
    out->origin = calloc(n, sizeof *out->origin);
    measured->air_c = calloc(n, sizeof(double));
    measured->vapour_pa = calloc(n, sizeof(double));
    bool has_all = out->air_c && out->rh_frac && out->radiant_c && out->origin && measured->air_c &&
                   measured->vapour_pa;
    return has_all ? STV_OK : STV_E_MEMORY;
}

enum stv_status stv_position_join(struct stv_place place,
                                  const struct stv_building_climate *modelled,
                                  const struct stv_air_hours *learned,
                                  const struct stv_logger_hours *const *loggers, size_t n_loggers,
                                  struct stv_position *out)
{
    if (!out)
        return STV_E_ARG;
    const struct stv_cask_numbers usual = stv_cask_numbers_default();
    *out = (struct stv_position){.place = place,
                                 .offset_k = NAN,
                                 .offset_rh_frac = NAN,
                                 .error = n_loggers ? stv_climate_error_logger(&usual)
                                                    : stv_climate_error_weather(&usual)};
    if (!is_well_formed(place, modelled, loggers, n_loggers))
        return STV_E_ARG;
    if (!modelled && n_loggers == 0)
        return STV_E_NO_DATA;
    out->grid = modelled ? modelled->grid : span_of_loggers(loggers, n_loggers);
    if (out->grid.n == 0)
        return STV_E_NO_DATA;
    size_t n_dated = modelled && modelled->grid.is_typical ? 0 : n_loggers;
    struct measured measured = {NULL, NULL};
    enum stv_status status = allocate(out, &measured);
    if (status == STV_OK)
        status = average_loggers(loggers, n_dated, &out->grid, &measured);
    if (status == STV_OK) {
        for (size_t i = 0; i < n_dated; i++)
            mark_origins(loggers[i], out);
        judge_source(out);
        status = modelled ? join_with_model(modelled, learned, &measured, out)
                          : join_alone(&measured, out);
    }
    free(measured.air_c);
    free(measured.vapour_pa);
    if (status != STV_OK)
        stv_position_free(out);
    return status;
}

enum stv_status stv_position_measured(const struct stv_logger_hours *const *loggers,
                                      size_t n_loggers, const struct stv_grid *grid,
                                      double *out_air_c, double *out_rh_frac)
{
    const struct measured sums = {out_air_c, out_rh_frac};
    uint32_t *counts = calloc(2 * grid->n + 1, sizeof *counts);
    if (!counts)
        return STV_E_MEMORY;
    memset(out_air_c, 0, grid->n * sizeof *out_air_c);
    memset(out_rh_frac, 0, grid->n * sizeof *out_rh_frac);
    for (size_t i = 0; i < n_loggers; i++)
        add_logger(loggers[i], false, grid, &sums, counts);
    divide(out_air_c, counts, grid->n);
    divide(out_rh_frac, counts + grid->n, grid->n);
    free(counts);
    for (size_t k = 0; k < grid->n; k++) /* it held vapour pressure so far */
        out_rh_frac[k] = humidity_frac(out_rh_frac[k], out_air_c[k]);
    return STV_OK;
}

/* One neighbour, its own modelled tier, and how much of its difference counts. */
struct leaned_on {
    const struct stv_position *position;
    const double *model_c, *model_rh_frac;
    double weight_nd;
};

/* Both neighbours by height, or the one there is. */
static size_t lean_on(const struct stv_position *position,
                      const struct stv_building_climate *modelled,
                      const struct stv_neighbours *neighbours, struct leaned_on out[2])
{
    const struct stv_position *both[2] = {neighbours->below, neighbours->above};
    size_t n = 0;
    for (size_t i = 0; i < 2; i++) {
        if (!both[i])
            continue;
        size_t first = (size_t)both[i]->place.tier_idx * modelled->grid.n;
        double weight_nd = 1.0;
        if (both[1 - i])
            weight_nd = fabs((double)(both[1 - i]->place.tier_idx - position->place.tier_idx)) /
                        (double)(both[1]->place.tier_idx - both[0]->place.tier_idx);
        out[n++] = (struct leaned_on){both[i], modelled->air_c + first, modelled->rh_frac + first,
                                      weight_nd};
    }
    return n;
}

static double move_at_k(const struct leaned_on *leaned, size_t n, size_t k)
{
    double move_k = 0.0;
    for (size_t i = 0; i < n; i++)
        move_k += leaned[i].weight_nd * (leaned[i].position->air_c[k] - leaned[i].model_c[k]);
    return move_k;
}

/* Logarithm of the ratio; 0 where there is no vapour to compare. */
static double move_at_ln(const struct leaned_on *leaned, size_t n, size_t k)
{
    double move_ln = 0.0;
    for (size_t i = 0; i < n; i++) {
        const struct stv_position *other = leaned[i].position;
        double there_pa = other->rh_frac[k] * stv_water_psat_pa(other->air_c[k]);
        double model_pa = leaned[i].model_rh_frac[k] * stv_water_psat_pa(leaned[i].model_c[k]);
        if (there_pa > 0.0 && model_pa > 0.0)
            move_ln += leaned[i].weight_nd * log(there_pa / model_pa);
    }
    return move_ln;
}

enum stv_status stv_position_follow(struct stv_position *position,
                                    const struct stv_building_climate *modelled,
                                    const struct stv_neighbours *neighbours, enum stv_follow what)
{
    struct leaned_on leaned[2];
    if (!position || !modelled || !neighbours || position->grid.n != modelled->grid.n ||
        (neighbours->below && neighbours->below->grid.n != modelled->grid.n) ||
        (neighbours->above && neighbours->above->grid.n != modelled->grid.n))
        return STV_E_ARG;
    size_t n = position->grid.n, n_leaned = lean_on(position, modelled, neighbours, leaned);
    if (n_leaned == 0)
        return STV_E_ARG;
    const double *own_c = modelled->air_c + (size_t)position->place.tier_idx * n;
    const double *own_rh_frac = modelled->rh_frac + (size_t)position->place.tier_idx * n;
    bool keeps = what == STV_FOLLOW_AIR || position->has_measured_vapour;
    double moved_k = 0.0;
    for (size_t k = 0; k < n; k++) {
        bool is_open =
            position->origin[k] == STV_HOUR_OUTSIDE || position->origin[k] == STV_HOUR_HOLE;
        if (keeps && !is_open)
            continue;
        double vapour_pa = position->rh_frac[k] * stv_water_psat_pa(position->air_c[k]);
        if (what == STV_FOLLOW_AIR) {
            double move_k = own_c[k] + move_at_k(leaned, n_leaned, k) - position->air_c[k];
            position->air_c[k] += move_k;
            position->radiant_c[k] += move_k;
            moved_k += move_k;
        } else {
            vapour_pa =
                own_rh_frac[k] * stv_water_psat_pa(own_c[k]) * exp(move_at_ln(leaned, n_leaned, k));
        }
        position->rh_frac[k] = humidity_frac(vapour_pa, position->air_c[k]);
    }
    if (what == STV_FOLLOW_AIR) {
        position->offset_k = moved_k / (double)n;
        position->rest = STV_REST_FOLLOWED;
    }
    return STV_OK;
}

void stv_position_free(struct stv_position *position)
{
    if (!position)
        return;
    free(position->air_c);
    free(position->rh_frac);
    free(position->radiant_c);
    free(position->origin);
    *position = (struct stv_position){0};
}
