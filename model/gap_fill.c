/* One hole after the other, each series for itself.  A guide carries the weather of those hours;
 * what is particular to the place, and to its hour of the day, is taken from the fortnight around
 * the hole.  What this does not do: fill from before the first or beyond the last measured hour. */
#include "model/gap_fill.h"

#include "model/units.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#define WINDOW_H (14 * STV_DAY_H)
#define SHARED_LEAST_H 72
#define LONGEST_H 72.0

/* The series at hand, and where the guide's hours lie on its grid. */
struct filling {
    const struct stv_grid *grid;
    double *values;
    size_t n;
    bool is_share; /* a fraction, 0..1 */
};
struct view {
    const struct stv_grid *grid;
    const double *values;
};

/* Squares and number of what each method missed. */
struct tally {
    double square[STV_HOUR_ORIGINS];
    size_t n[STV_HOUR_ORIGINS];
};

struct hole {
    size_t from, to; /* first missing hour, first measured one behind it */
};

struct stv_gap_rules stv_gap_rules_default(void)
{
    return (struct stv_gap_rules){LONGEST_H, 1, 1};
}

static double guide_at(const struct filling *filling, const struct view *guide, size_t k)
{
    int64_t middle_s = stv_grid_start_s(filling->grid, k) + STV_HOUR_S / 2;
    size_t at = stv_grid_index(guide->grid, middle_s);
    return at < guide->grid->n ? guide->values[at] : (double)NAN;
}

static int hour_of_day(const struct filling *filling, size_t k)
{
    int hour;
    (void)stv_grid_local_day(filling->grid, k, &hour);
    return hour;
}

/* The next hole at or behind `from` with measured hours on both sides; false when there is none. */
static bool next_hole(const struct filling *filling, size_t from, struct hole *out)
{
    size_t k = from;
    while (k < filling->n && !isfinite(filling->values[k]))
        k++; /* the start, or the rest of a hole that was passed over */
    while (k < filling->n && isfinite(filling->values[k]))
        k++;
    out->from = k;
    while (k < filling->n && !isfinite(filling->values[k]))
        k++;
    out->to = k;
    return k < filling->n && out->from > 0;
}

static void fill_line(const struct filling *filling, struct hole hole)
{
    double *values = filling->values;
    double before = values[hole.from - 1], after = values[hole.to];
    double n = (double)(hole.to - hole.from + 1);
    for (size_t k = hole.from; k < hole.to; k++)
        values[k] = before + (after - before) * (double)(k - hole.from + 1) / n;
}

/* Adds what a line over as many hours would have missed, at every measured hour. */
static void tally_line(const struct filling *filling, size_t half, struct tally *tally)
{
    for (size_t k = half; k + half < filling->n; k++) {
        double missed =
            filling->values[k] - 0.5 * (filling->values[k - half] + filling->values[k + half]);
        if (!isfinite(missed))
            continue;
        tally->square[STV_HOUR_LINE] += missed * missed;
        tally->n[STV_HOUR_LINE]++;
    }
}

/* Mean difference from the guide at each hour of the day, around a hole. */
struct habit {
    double mean[STV_DAY_H], level;
    size_t n;
    double square; /* of what the means leave */
};

static bool find_habit(const struct filling *filling, const struct view *guide, struct hole hole,
                       struct habit *out)
{
    double sum[STV_DAY_H] = {0.0}, square = 0.0, total = 0.0;
    size_t count[STV_DAY_H] = {0}, n = 0;
    size_t from = hole.from > WINDOW_H ? hole.from - WINDOW_H : 0;
    size_t to = hole.to + WINDOW_H < filling->n ? hole.to + WINDOW_H : filling->n;
    for (size_t k = from; k < to; k++) {
        double difference = filling->values[k] - guide_at(filling, guide, k);
        if (!isfinite(difference))
            continue;
        int hour = hour_of_day(filling, k);
        sum[hour] += difference;
        count[hour]++;
        total += difference;
        square += difference * difference;
        n++;
    }
    if (n < SHARED_LEAST_H)
        return false;
    *out = (struct habit){.level = total / (double)n, .n = n, .square = square};
    for (int h = 0; h < STV_DAY_H; h++) {
        out->mean[h] = count[h] ? sum[h] / (double)count[h] : out->level;
        out->square -= (double)count[h] * out->mean[h] * out->mean[h];
    }
    return true;
}

static bool speaks_throughout(const struct filling *filling, const struct view *guide,
                              struct hole hole)
{
    for (size_t k = hole.from; k < hole.to; k++)
        if (!isfinite(guide_at(filling, guide, k)))
            return false;
    return true;
}

static void fill_from_guide(const struct filling *filling, const struct view *guide,
                            struct hole hole, const struct habit *habit)
{
    for (size_t k = hole.from; k < hole.to; k++) {
        double value = guide_at(filling, guide, k) + habit->mean[hour_of_day(filling, k)];
        if (filling->is_share)
            value = fmin(1.0, fmax(0.0, value));
        filling->values[k] = value;
    }
}

/* Fills one hole; returns its origin. */
static enum stv_hour_origin fill_hole(const struct filling *filling, struct hole hole,
                                      const struct stv_gap_guide *guides, size_t n_guides,
                                      struct tally *tally)
{
    size_t n_hours = hole.to - hole.from;
    struct habit habit;
    if (n_hours <= STV_GAP_LINE_MOST_H) {
        tally_line(filling, (n_hours + 1) / 2, tally);
        fill_line(filling, hole);
        return STV_HOUR_LINE;
    }
    for (size_t g = 0; g < n_guides; g++) {
        struct view guide = {guides[g].grid,
                             filling->is_share ? guides[g].rh_frac : guides[g].air_c};
        if (!guide.values || !speaks_throughout(filling, &guide, hole) ||
            !find_habit(filling, &guide, hole, &habit))
            continue;
        fill_from_guide(filling, &guide, hole, &habit);
        tally->square[guides[g].kind] += fmax(0.0, habit.square);
        tally->n[guides[g].kind] += habit.n - STV_DAY_H;
        return guides[g].kind;
    }
    return STV_HOUR_HOLE;
}

static void note_left(const struct filling *filling, struct hole hole, struct stv_gap_report *out)
{
    size_t n_hours = hole.to - hole.from;
    out->n_holes_left++;
    if (n_hours <= out->longest_left_h)
        return;
    out->longest_left_h = n_hours;
    out->longest_left_from_s = stv_grid_start_s(filling->grid, hole.from);
}

/* Fills a series; origin may be NULL. */
static void fill_series(const struct filling *filling, const struct stv_gap_guide *guides,
                        size_t n_guides, const struct stv_gap_rules *rules, uint8_t *origin,
                        struct tally *tally, struct stv_gap_report *out)
{
    struct hole hole;
    for (size_t from = 0; next_hole(filling, from, &hole); from = hole.to) {
        enum stv_hour_origin kind = STV_HOUR_HOLE;
        if ((double)(hole.to - hole.from) <= rules->longest_h)
            kind = fill_hole(filling, hole, guides, n_guides, tally);
        for (size_t k = hole.from; origin && k < hole.to; k++)
            origin[k] = (uint8_t)kind;
        if (kind == STV_HOUR_HOLE && origin)
            note_left(filling, hole, out);
    }
}

static bool is_well_formed(const struct stv_logger_hours *hours, const struct stv_gap_guide *guides,
                           size_t n_guides)
{
    if (!hours || !hours->air_c || hours->grid.step_s != STV_HOUR_S || (n_guides && !guides))
        return false;
    for (size_t g = 0; g < n_guides; g++)
        if (!guides[g].grid || !guides[g].air_c || guides[g].grid->step_s != STV_HOUR_S ||
            (guides[g].kind != STV_HOUR_NEIGHBOUR && guides[g].kind != STV_HOUR_WEATHER))
            return false;
    return true;
}

/* Guides that the rules allow, at the front. */
static size_t allowed(const struct stv_gap_guide *guides, size_t n_guides,
                      const struct stv_gap_rules *rules, struct stv_gap_guide *out)
{
    size_t n = 0;
    for (size_t g = 0; g < n_guides; g++)
        if (guides[g].kind == STV_HOUR_NEIGHBOUR ? rules->by_neighbour : rules->by_weather)
            out[n++] = guides[g];
    return n;
}

static void sum_up(const struct stv_logger_hours *hours, const struct tally *tally,
                   struct stv_gap_report *out)
{
    for (size_t k = 0; k < hours->grid.n; k++)
        out->n_hours[hours->origin[k]]++;
    for (int i = 0; i < STV_HOUR_ORIGINS; i++)
        out->error_k[i] = tally->n[i] ? sqrt(tally->square[i] / (double)tally->n[i]) : (double)NAN;
}

enum stv_status stv_gap_fill(struct stv_logger_hours *hours, const struct stv_gap_guide *guides,
                             size_t n_guides, const struct stv_gap_rules *rules,
                             struct stv_gap_report *out)
{
    if (!is_well_formed(hours, guides, n_guides) || !rules || !out)
        return STV_E_ARG;
    *out = (struct stv_gap_report){0};
    struct stv_gap_guide *usable = calloc(n_guides + 1, sizeof *usable);
    if (!hours->origin)
        hours->origin = calloc(hours->grid.n + 1, sizeof *hours->origin);
    if (!usable || !hours->origin) {
        free(usable);
        return STV_E_MEMORY;
    }
    for (size_t k = 0; k < hours->grid.n; k++)
        hours->origin[k] = isfinite(hours->air_c[k]) ? STV_HOUR_MEASURED : STV_HOUR_OUTSIDE;
    size_t n_usable = allowed(guides, n_guides, rules, usable);
    struct tally tally = {{0.0}, {0}}, unused = {{0.0}, {0}};
    struct filling air = {&hours->grid, hours->air_c, hours->grid.n, false};
    struct filling humidity = {&hours->grid, hours->rh_frac, hours->grid.n, true};
    fill_series(&air, usable, n_usable, rules, hours->origin, &tally, out);
    if (hours->rh_frac)
        fill_series(&humidity, usable, n_usable, rules, NULL, &unused, out);
    sum_up(hours, &tally, out);
    free(usable);
    return STV_OK;
}
