/* Loggers beside each other: which of them holds what another one holds, reads above all the others
 * at night, or moves more than the air outdoors.  Differences of a warehouse are no faults, so that
 * each rule asks for what no rack does; nothing is changed. */
#include "ingest/neighbours_parts.h"

#include "model/calendar.h"
#include "model/quantiles.h"
#include "model/units.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DAY_HOURS 24
#define HOURS_LEAST 20 /* of a day that counts */
#define NIGHT_FROM_H 2
#define NIGHT_TO_H 5
#define DAYS_LEAST 14
#define COPY_HOURS 48
#define COPY_FRAC 0.99
#define SAME_K 1e-9
#define OFFSET_K 1.25 /* above or below every other one */
#define ALIKE_K 0.75  /* of the others, at night */
#define OTHERS_MAX 64 /* of which more tell no more */
#define SWING_OUT_K 2.0
#define RACK_RATIO \
    1.15 /* a tin roof's top tier comes near 1; common practice, no published source */
#define YARD_RATIO 1.3
#define MESSAGE_MAX 400

double stv__neighbour_c(const struct stv_logger_hours *hours, int64_t time_s)
{
    size_t k = stv_grid_index(&hours->grid, time_s);
    return k < hours->grid.n ? hours->air_c[k] : (double)NAN;
}

int64_t stv__neighbour_day_s(const struct stv__neighbours *all, size_t day_idx)
{
    int64_t offset_s = (int64_t)all->loggers[0].hours->grid.utc_offset_min * 60;
    return (all->first_day_d + (int64_t)day_idx) * STV_DAY_S - offset_s;
}

bool stv__neighbour_is_near(const struct stv__neighbours *all, size_t i, size_t j)
{
    return i != j && all->loggers[i].hours->place.warehouse_idx >= 0 &&
           all->loggers[i].hours->place.warehouse_idx == all->loggers[j].hours->place.warehouse_idx;
}

const char *stv__neighbour_name(const struct stv__neighbours *all, size_t i,
                                char out[STV__NAME_MAX])
{
    const struct stv_quality_logger *logger = &all->loggers[i];
    snprintf(out, STV__NAME_MAX, "%.180s%s%.40s", logger->file,
             logger->sensor[0] ? ", sensor " : "", logger->sensor);
    return out;
}

void stv__neighbour_doubt(const struct stv__neighbours *all, size_t i, size_t from_day_idx)
{
    const struct stv_grid *grid = &all->loggers[i].hours->grid;
    uint8_t *marks = all->loggers[i].marks;
    int64_t from_s = stv__neighbour_day_s(all, from_day_idx);
    for (size_t k = 0; marks && k < grid->n; k++)
        if (marks[k] == STV_MARK_USED && stv_grid_start_s(grid, k) >= from_s)
            marks[k] = STV_MARK_SUSPECT;
}

void stv__neighbour_say(const struct stv__neighbours *all, size_t i, enum stv_severity severity,
                        const char *rule, const char *format, ...)
{
    char message[MESSAGE_MAX];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(message, sizeof message, format, arguments);
    va_end(arguments);
    struct stv_finding finding = {.severity = severity, .rule = rule, .file = all->loggers[i].file};
    const char *sensor = all->loggers[i].sensor;
    stv_finding_add(all->problems, &finding, "%s%s%s%s", sensor[0] ? "sensor " : "", sensor,
                    sensor[0] ? ": " : "", message);
}

/* Mean, range and small hours of each day. */
static void fill_days(struct stv__neighbours *all, size_t i)
{
    for (size_t d = 0; d < all->n_days; d++) {
        double low = HUGE_VAL, high = -HUGE_VAL, sum = 0.0, night = 0.0;
        int n = 0, n_night = 0;
        for (int h = 0; h < DAY_HOURS; h++) {
            double c = stv__neighbour_c(all->loggers[i].hours,
                                        stv__neighbour_day_s(all, d) + (int64_t)h * STV_HOUR_S);
            if (!isfinite(c))
                continue;
            low = fmin(low, c);
            high = fmax(high, c);
            sum += c;
            n++;
            if (h >= NIGHT_FROM_H && h < NIGHT_TO_H) {
                night += c;
                n_night++;
            }
        }
        size_t at = i * all->n_days + d;
        all->mean_c[at] = n >= HOURS_LEAST ? sum / n : (double)NAN;
        all->swing_k[at] = n >= HOURS_LEAST ? high - low : (double)NAN;
        all->night_c[at] = n_night == NIGHT_TO_H - NIGHT_FROM_H ? night / n_night : (double)NAN;
    }
}

static void find_days(struct stv__neighbours *all)
{
    int64_t first_d = INT64_MAX, last_d = INT64_MIN;
    for (size_t i = 0; i < all->n_loggers; i++) {
        const struct stv_grid *grid = &all->loggers[i].hours->grid;
        if (grid->n == 0)
            continue;
        int64_t from_d = stv_grid_local_day(grid, 0, NULL);
        int64_t to_d = stv_grid_local_day(grid, grid->n - 1, NULL);
        first_d = from_d < first_d ? from_d : first_d;
        last_d = to_d > last_d ? to_d : last_d;
    }
    all->first_day_d = first_d;
    all->n_days = last_d >= first_d ? (size_t)(last_d - first_d + 1) : 0;
}

/* How many hours two loggers share, and in how many they read the same to the last digit; the
 * longest of both gives up early. */
static bool is_copy(const struct stv_logger_hours *a, const struct stv_logger_hours *b,
                    size_t *out_n)
{
    size_t n = 0, n_other = 0, most_other = (size_t)((1.0 - COPY_FRAC) * (double)a->grid.n) + 1;
    double low = HUGE_VAL, high = -HUGE_VAL;
    for (size_t k = 0; k < a->grid.n && n_other <= most_other; k++) {
        double left = a->air_c[k], right = stv__neighbour_c(b, stv_grid_start_s(&a->grid, k));
        if (!isfinite(left) || !isfinite(right))
            continue;
        n++;
        n_other += fabs(left - right) > SAME_K;
        low = fmin(low, left);
        high = fmax(high, left);
    }
    *out_n = n;
    return n >= COPY_HOURS && high > low && (double)n_other <= (1.0 - COPY_FRAC) * (double)n;
}

static void say_copies(const struct stv__neighbours *all)
{
    for (size_t i = 0; i < all->n_loggers; i++)
        for (size_t j = 0; j < i; j++) {
            size_t n;
            char name[STV__NAME_MAX];
            bool is_one_file = strcmp(all->loggers[i].file, all->loggers[j].file) == 0;
            if (!is_copy(all->loggers[i].hours, all->loggers[j].hours, &n))
                continue;
            stv__neighbour_say(all, i, is_one_file ? STV_NOTED : STV_SUSPECT, "copied",
                               "%zu hours are the same to the last digit as those of %s: one "
                               "sensor's file under two names? Both are used",
                               n, stv__neighbour_name(all, j, name));
            if (!is_one_file)
                stv__neighbour_doubt(all, i, 0);
            break;
        }
}

/* How far logger i was above the others on one night; NaN unless at least two others agree. */
static double above_others_k(const struct stv__neighbours *all, size_t i, size_t day_idx)
{
    double others[OTHERS_MAX], own = all->night_c[i * all->n_days + day_idx];
    size_t n = 0;
    for (size_t j = 0; j < all->n_loggers && n < OTHERS_MAX; j++) {
        double c = all->night_c[j * all->n_days + day_idx];
        if (stv__neighbour_is_near(all, i, j) && isfinite(c))
            others[n++] = c;
    }
    struct stv_range range = stv_range_of(others, n);
    bool do_agree = n >= 2 && others[n - 1] - others[0] <= ALIKE_K;
    return do_agree ? own - range.p50 : (double)NAN;
}

static double middle_of(double *values, size_t n)
{
    return stv_range_of(values, n).p50;
}

static void say_offset(const struct stv__neighbours *all, size_t i, double *work)
{
    size_t n = 0;
    for (size_t d = 0; d < all->n_days; d++) {
        double above_k = above_others_k(all, i, d);
        if (isfinite(above_k))
            work[n++] = above_k;
    }
    double above_k = n >= DAYS_LEAST ? middle_of(work, n) : 0.0;
    if (fabs(above_k) >= OFFSET_K)
        stv__neighbour_say(all, i, STV_NOTED, "offset",
                           "in %zu nights, when the others agree within %.2g K, it reads %.1f K %s "
                           "them: calibration? Check it in one place with another; then give "
                           "temp_correction in loggers.csv. Nothing is corrected",
                           n, ALIKE_K, fabs(above_k), above_k > 0.0 ? "above" : "below");
}

/* Range of the outdoor day; NaN when it has too few hours or hardly moved. */
static double outdoor_swing_k(const struct stv__neighbours *all, size_t day_idx)
{
    double low = HUGE_VAL, high = -HUGE_VAL;
    int n = 0;
    for (int h = 0; h < DAY_HOURS; h++) {
        size_t k = stv_grid_index(all->outdoor_grid,
                                  stv__neighbour_day_s(all, day_idx) + (int64_t)h * STV_HOUR_S);
        if (k >= all->outdoor_grid->n || !isfinite(all->outdoor_c[k]))
            continue;
        low = fmin(low, all->outdoor_c[k]);
        high = fmax(high, all->outdoor_c[k]);
        n++;
    }
    return n >= HOURS_LEAST && high - low >= SWING_OUT_K ? high - low : (double)NAN;
}

static void say_swing(const struct stv__neighbours *all, size_t i, double *work)
{
    size_t n = 0;
    bool is_yard = all->loggers[i].hours->place.warehouse_idx < 0;
    for (size_t d = 0; all->outdoor_grid && d < all->n_days; d++) {
        double own_k = all->swing_k[i * all->n_days + d];
        if (!isfinite(own_k))
            continue;
        double ratio = own_k / outdoor_swing_k(all, d);
        if (isfinite(ratio))
            work[n++] = ratio;
    }
    double ratio = n >= DAYS_LEAST ? middle_of(work, n) : 0.0;
    if (ratio > (is_yard ? YARD_RATIO : RACK_RATIO))
        stv__neighbour_say(
            all, i, STV_NOTED, "sun",
            "its days swing %.2f times as far as the air outdoors (%zu days): in the "
            "sun, at a lamp or right under the roof? It is used as it is",
            ratio, n);
}

/* What one fault explains is not said again as another. */
static enum stv_status run_rules(struct stv__neighbours *all)
{
    double *work = malloc((all->n_days + 1) * sizeof *work);
    bool *doubtful = calloc(all->n_loggers, sizeof *doubtful);
    enum stv_status status = work && doubtful ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK) {
        say_copies(all);
        status = stv__neighbours_swapped(all, doubtful);
    }
    if (status == STV_OK)
        status = stv__neighbours_shifted(all, doubtful);
    for (size_t i = 0; status == STV_OK && i < all->n_loggers; i++) {
        if (!doubtful[i])
            say_offset(all, i, work);
        say_swing(all, i, work);
    }
    free(work);
    free(doubtful);
    return status;
}

enum stv_status stv_quality_check_neighbours(const struct stv_quality_logger *loggers,
                                             size_t n_loggers, const struct stv_grid *outdoor_grid,
                                             const double *outdoor_c, struct stv_problems *problems)
{
    struct stv__neighbours all = {.loggers = loggers,
                                  .n_loggers = n_loggers,
                                  .outdoor_grid = outdoor_c ? outdoor_grid : NULL,
                                  .outdoor_c = outdoor_c,
                                  .problems = problems};
    if (n_loggers == 0)
        return STV_OK;
    find_days(&all);
    size_t n = n_loggers * all.n_days + 1;
    all.mean_c = malloc(n * sizeof *all.mean_c);
    all.swing_k = malloc(n * sizeof *all.swing_k);
    all.night_c = malloc(n * sizeof *all.night_c);
    enum stv_status status = STV_E_MEMORY;
    if (all.mean_c && all.swing_k && all.night_c) {
        for (size_t i = 0; i < n_loggers; i++)
            fill_days(&all, i);
        status = run_rules(&all);
    }
    free(all.mean_c);
    free(all.swing_k);
    free(all.night_c);
    return status;
}
