#include "model/rack.h"

#include "model/air.h"
#include "model/calendar.h"
#include "model/rack_parts.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define STORE_BONUS 0.99 /* the building model wins within 1 %: it knows what columns do not */
#define OUTSIDE_K 2.0
/* What a sum of columns is charged with where it has to tell colder or warmer months than any it
 * has seen, which the building model and a constant are not: K, and a share of vapour.
 * Source: judgement */
static const double astray_error[STV_RACK_TARGETS] = {1.0, 0.1};
#define END_LEAST_H (10.0 * STV_DAY_H)
#define GROUP_BIT(group) (1u << (group))
/* A difference between racks is small and slow: few columns may tell it. */
#define DIFFERENCE_GROUPS \
    (GROUP_BIT(STV_RACK_OUTDOOR) | GROUP_BIT(STV_RACK_SUN) | GROUP_BIT(STV_RACK_ROOM))

/* One quantity on its way: the measured hours lie in [first, first + n). */
struct lesson {
    const struct stv_rack_request *request;
    struct stv_rack_drive drive;
    enum stv_rack_target target;
    bool is_covered; /* the loggers saw all the warmth and cold of the weather */
    size_t first, n;
    double *measured; /* n: the target's unit; NaN: not measured */
    uint8_t *folds;
    double *columns; /* n_columns x n */
    const double *at[STV_RACK_COLUMNS_MAX];
    uint8_t groups[STV_RACK_COLUMNS_MAX];
    size_t ids[STV_RACK_COLUMNS_MAX]; /* of the columns there are */
    size_t n_columns;
};

/* Perfectly dry air has no logarithm: a pascal stands in.  NaN stays NaN. */
static double log_vapour(double rh_frac, double air_c)
{
    double vapour_pa = rh_frac * stv_water_psat_pa(air_c);
    return log(vapour_pa < 1.0 ? 1.0 : vapour_pa);
}

static double humidity_frac(double log_vapour_nd, double air_c)
{
    double frac = exp(log_vapour_nd) / stv_water_psat_pa(air_c);
    return frac > 1.0 ? 1.0 : frac;
}

static struct stv_rack_drive drive_of(const struct stv_rack_request *request, const double *room_c)
{
    return (struct stv_rack_drive){.weather = request->weather,
                                   .sun = request->sun,
                                   .store_air_c = request->store_air_c,
                                   .store_rh_frac = request->store_rh_frac,
                                   .room_c = room_c};
}

/* What a start says of an hour, in the target's unit; NaN: there is no such start. */
static double start_at(const struct stv_rack_request *request, enum stv_rack_target target,
                       enum stv_rack_start start, size_t k)
{
    if (start == STV_START_OUTDOOR)
        return 0.0;
    const double *air_c = start == STV_START_STORE ? request->store_air_c : request->from.air_c;
    const double *rh_frac =
        start == STV_START_STORE ? request->store_rh_frac : request->from.rh_frac;
    if (!air_c || (target == STV_RACK_VAPOUR && !rh_frac))
        return NAN;
    return target == STV_RACK_AIR ? air_c[k] : log_vapour(rh_frac[k], air_c[k]);
}

static double measured_at(const struct stv_rack_request *request, enum stv_rack_target target,
                          size_t k)
{
    const struct stv_air_hours *hours = &request->measured;
    if (target == STV_RACK_AIR)
        return hours->air_c[k];
    return hours->rh_frac ? log_vapour(hours->rh_frac[k], hours->air_c[k]) : (double)NAN;
}

/* First and one past the last measured hour; an empty span when there is none. */
static void find_span(struct lesson *lesson)
{
    size_t n = lesson->request->weather->grid.n, last = 0;
    lesson->first = n;
    for (size_t k = 0; k < n; k++) {
        if (!isfinite(measured_at(lesson->request, lesson->target, k)))
            continue;
        lesson->first = lesson->first < k ? lesson->first : k;
        last = k + 1;
    }
    lesson->n = last > lesson->first ? last - lesson->first : 0;
}

static void fill_hours(struct lesson *lesson)
{
    const struct stv_grid *grid = &lesson->request->weather->grid;
    for (size_t k = 0; k < lesson->n; k++) {
        size_t at = lesson->first + k;
        lesson->measured[k] = measured_at(lesson->request, lesson->target, at);
        lesson->folds[k] =
            (uint8_t)(stv_date_from_day(stv_grid_local_day(grid, at, NULL)).month - 1);
    }
}

/* The columns that the request can give, over the measured span. */
static enum stv_status fill_columns(struct lesson *lesson)
{
    double *whole = malloc((lesson->request->weather->grid.n + 1) * sizeof *whole);
    enum stv_status status = whole ? STV_OK : STV_E_MEMORY;
    for (size_t c = 0; c < stv_rack_n_columns(lesson->target) && status == STV_OK; c++) {
        double *to = lesson->columns + lesson->n_columns * lesson->n;
        status = stv_rack_column(&lesson->drive, lesson->target, c, whole);
        if (status == STV_E_NO_DATA) {
            status = STV_OK;
            continue;
        }
        if (status != STV_OK)
            break;
        memcpy(to, whole + lesson->first, lesson->n * sizeof *to);
        lesson->at[lesson->n_columns] = to;
        lesson->groups[lesson->n_columns] = (uint8_t)stv_rack_column_group(lesson->target, c);
        lesson->ids[lesson->n_columns++] = c;
    }
    free(whole);
    return status;
}

static void lesson_free(struct lesson *lesson)
{
    free(lesson->measured);
    free(lesson->folds);
    free(lesson->columns);
}

static enum stv_status lesson_open(struct lesson *lesson)
{
    find_span(lesson);
    if (lesson->n == 0)
        return STV_E_NO_DATA;
    size_t n_columns = stv_rack_n_columns(lesson->target);
    lesson->measured = malloc(lesson->n * sizeof *lesson->measured);
    lesson->folds = malloc(lesson->n * sizeof *lesson->folds);
    lesson->columns = malloc(n_columns * lesson->n * sizeof *lesson->columns);
    if (!lesson->measured || !lesson->folds || !lesson->columns)
        return STV_E_MEMORY;
    fill_hours(lesson);
    return fill_columns(lesson);
}

/* One way to tell a quantity: a start, and the columns that may be added to it. */
struct way {
    enum stv_rack_start start;
    uint32_t allowed_groups, kept_groups;
    bool is_same_all_year; /* nothing in it but a constant can carry a season astray */
};
static const struct way ways[] = {
    {STV_START_TIER, DIFFERENCE_GROUPS, 0, false},
    {STV_START_STORE, GROUP_BIT(STV_RACK_DAILY), 0, true},
    {STV_START_STORE, ~GROUP_BIT(STV_RACK_DAILY), 0, false},
    {STV_START_OUTDOOR, ~GROUP_BIT(STV_RACK_DAILY), GROUP_BIT(STV_RACK_OUTDOOR), false},
};
#define N_WAYS (sizeof ways / sizeof ways[0])

/* Fits what is left of the measured hours.  unseen and target: room of n values. */
static enum stv_status try_way(const struct lesson *lesson, const struct way *way, double *target,
                               double *unseen, struct stv_rack_fit *out)
{
    const struct stv_rack_problem problem = {.n = lesson->n,
                                             .columns = lesson->at,
                                             .groups = lesson->groups,
                                             .n_columns = lesson->n_columns,
                                             .allowed_groups = way->allowed_groups,
                                             .kept_groups = way->kept_groups,
                                             .target_nd = target,
                                             .folds = lesson->folds};
    for (size_t k = 0; k < lesson->n; k++)
        target[k] = lesson->measured[k] -
                    start_at(lesson->request, lesson->target, way->start, lesson->first + k);
    enum stv_status status = stv_rack_fit(&problem, unseen, out);
    for (size_t k = 0; k < lesson->n && status == STV_OK; k++)
        unseen[k] += start_at(lesson->request, lesson->target, way->start, lesson->first + k);
    return status;
}

/* The calendar months that were the coldest and the warmest outdoors while it was measured. */
static void find_ends(const struct lesson *lesson, size_t ends[2])
{
    const double *outdoor_c = lesson->request->weather->columns[STV_WC_TEMP_C] + lesson->first;
    double sum_c[STV_RACK_FOLDS] = {0.0}, n[STV_RACK_FOLDS] = {0.0};
    double least_c = HUGE_VAL, most_c = -HUGE_VAL;
    for (size_t k = 0; k < lesson->n; k++) {
        if (!isfinite(lesson->measured[k]))
            continue;
        sum_c[lesson->folds[k]] += outdoor_c[k];
        n[lesson->folds[k]] += 1.0;
    }
    for (size_t m = 0; m < STV_RACK_FOLDS; m++) {
        if (n[m] < END_LEAST_H)
            continue;
        if (sum_c[m] / n[m] < least_c) {
            least_c = sum_c[m] / n[m];
            ends[0] = m;
        }
        if (sum_c[m] / n[m] > most_c) {
            most_c = sum_c[m] / n[m];
            ends[1] = m;
        }
    }
}

/* Root mean square of the hours in those two months, each told without it. */
static double end_error(const struct lesson *lesson, const double *unseen)
{
    size_t ends[2] = {0, 0};
    double square = 0.0, n = 0.0;
    find_ends(lesson, ends);
    for (size_t k = 0; k < lesson->n; k++) {
        double miss = unseen[k] - lesson->measured[k];
        if (!isfinite(miss) || (lesson->folds[k] != ends[0] && lesson->folds[k] != ends[1]))
            continue;
        square += miss * miss;
        n += 1.0;
    }
    return sqrt(square / n);
}

/* What a way is judged by: its error, and where the weather goes beyond what was seen, its error at
 * the ends of that, more of it where columns could carry it astray. */
static double score_of(const struct lesson *lesson, const struct way *way, double error,
                       const double *unseen)
{
    if (lesson->is_covered)
        return way->start == STV_START_STORE ? STORE_BONUS * error : error;
    bool is_led = way->is_same_all_year || (way->start == STV_START_TIER &&
                                            lesson->request->from_is_covered[lesson->target]);
    return hypot(end_error(lesson, unseen), is_led ? 0.0 : astray_error[lesson->target]);
}

static void keep(const struct lesson *lesson, const struct way *way, const struct stv_rack_fit *fit,
                 struct stv_rack_sum *out)
{
    *out = (struct stv_rack_sum){.is_learned = true,
                                 .start = way->start,
                                 .groups = fit->groups,
                                 .intercept_nd = fit->intercept_nd};
    for (size_t c = 0; c < lesson->n_columns; c++)
        out->coef_nd[lesson->ids[c]] = fit->coef_nd[c];
}

/* The best of the ways; out_unseen gets its span's hours. */
static enum stv_status choose_way(const struct lesson *lesson, double *out_unseen,
                                  struct stv_rack_sum *out)
{
    double least = HUGE_VAL;
    double *room = malloc((2 * lesson->n + 1) * sizeof *room);
    if (!room)
        return STV_E_MEMORY;
    enum stv_status status = STV_E_NO_DATA;
    for (size_t w = 0; w < N_WAYS; w++) {
        struct stv_rack_fit fit;
        double *unseen = room + lesson->n;
        double first = start_at(lesson->request, lesson->target, ways[w].start, lesson->first);
        if (!isfinite(first) || (lesson->is_covered && ways[w].is_same_all_year))
            continue;
        enum stv_status tried = try_way(lesson, &ways[w], room, unseen, &fit);
        if (tried != STV_OK) {
            status = status == STV_OK ? STV_OK : tried;
            continue;
        }
        status = STV_OK;
        double score = score_of(lesson, &ways[w], fit.error_nd, unseen);
        if (score >= least)
            continue;
        least = score;
        keep(lesson, &ways[w], &fit, out);
        memcpy(out_unseen + lesson->first, unseen, lesson->n * sizeof *unseen);
    }
    free(room);
    return status;
}

/* What a quantity says of every hour. */
static enum stv_status tell_quantity(const struct stv_rack_sum *quantity,
                                     const struct stv_rack_request *request,
                                     enum stv_rack_target target, const double *room_c, double *out)
{
    const struct stv_weather *weather = request->weather;
    struct stv_rack_drive drive = drive_of(request, room_c);
    double *column = malloc((weather->grid.n + 1) * sizeof *column);
    if (!column)
        return STV_E_MEMORY;
    for (size_t k = 0; k < weather->grid.n; k++)
        out[k] = quantity->intercept_nd + start_at(request, target, quantity->start, k);
    enum stv_status status = weather->grid.n > 0 && !isfinite(out[0]) ? STV_E_NO_DATA : STV_OK;
    for (size_t c = 0; c < stv_rack_n_columns(target) && status == STV_OK; c++) {
        if (quantity->coef_nd[c] == 0.0)
            continue;
        status = stv_rack_column(&drive, target, c, column);
        for (size_t k = 0; k < weather->grid.n && status == STV_OK; k++)
            out[k] += quantity->coef_nd[c] * column[k];
    }
    free(column);
    return status;
}

enum stv_status stv_rack_tell(const struct stv_rack *rack, const struct stv_rack_request *request,
                              double *out_air_c, double *out_rh_frac)
{
    if (!rack || !request || !request->weather || !out_air_c || !out_rh_frac ||
        !rack->sum[STV_RACK_AIR].is_learned || request->weather->grid.step_s != STV_HOUR_S)
        return STV_E_ARG;
    size_t n = request->weather->grid.n;
    enum stv_status status =
        tell_quantity(&rack->sum[STV_RACK_AIR], request, STV_RACK_AIR, NULL, out_air_c);
    for (size_t k = 0; k < n; k++)
        out_rh_frac[k] = NAN;
    if (status != STV_OK || !rack->sum[STV_RACK_VAPOUR].is_learned)
        return status;
    status = tell_quantity(&rack->sum[STV_RACK_VAPOUR], request, STV_RACK_VAPOUR, out_air_c,
                           out_rh_frac);
    for (size_t k = 0; k < n && status == STV_OK; k++)
        out_rh_frac[k] = humidity_frac(out_rh_frac[k], out_air_c[k]);
    return status;
}

/* Learns one quantity: room_c NULL for air, the told temperature for vapour.  out_unseen holds what
 * the final fit says outside the measured span. */
static enum stv_status learn_quantity(const struct stv_rack_request *request,
                                      enum stv_rack_target target, const double *room_c,
                                      const struct stv_rack *range, double *out_unseen,
                                      struct stv_rack_sum *out)
{
    struct lesson lesson = {
        .request = request, .drive = drive_of(request, room_c), .target = target};
    enum stv_status status =
        stv_rack_is_covered(&range->lived[target], request->weather, &lesson.is_covered);
    double *unseen = malloc((request->weather->grid.n + 1) * sizeof *unseen);
    if (status == STV_OK && !unseen)
        status = STV_E_MEMORY;
    if (status == STV_OK)
        status = lesson_open(&lesson);
    if (status == STV_OK)
        status = choose_way(&lesson, unseen, out);
    if (status == STV_OK)
        status = tell_quantity(out, request, target, room_c, out_unseen);
    if (status == STV_OK)
        memcpy(out_unseen + lesson.first, unseen + lesson.first, lesson.n * sizeof *unseen);
    free(unseen);
    lesson_free(&lesson);
    return status;
}

/* The outdoor means of 30 days that the measured hours of a target lived through. */
static struct stv_rack_span span_of(const struct stv_rack_request *request,
                                    enum stv_rack_target target, const double *mean_c)
{
    struct stv_rack_span span = {HUGE_VAL, -HUGE_VAL};
    for (size_t k = 0; k < request->weather->grid.n; k++) {
        if (!isfinite(measured_at(request, target, k)) || !isfinite(mean_c[k]))
            continue;
        span.least_c = fmin(span.least_c, mean_c[k]);
        span.most_c = fmax(span.most_c, mean_c[k]);
    }
    return span;
}

/* What the measured hours lived through, and their first and last day. */
static enum stv_status find_range(const struct stv_rack_request *request, struct stv_rack *out)
{
    const struct stv_grid *grid = &request->weather->grid;
    double *mean_c = malloc((grid->n + 1) * sizeof *mean_c);
    if (!mean_c)
        return STV_E_MEMORY;
    stv__rack_mean_30d(request->weather, mean_c);
    for (size_t t = 0; t < STV_RACK_TARGETS; t++)
        out->lived[t] = span_of(request, t, mean_c);
    free(mean_c);
    bool has_any = false;
    for (size_t k = 0; k < grid->n; k++) {
        if (!isfinite(request->measured.air_c[k]))
            continue;
        int64_t day_d = stv_grid_local_day(grid, k, NULL);
        out->first_day_d = has_any ? out->first_day_d : day_d;
        out->last_day_d = day_d;
        has_any = true;
    }
    return has_any ? STV_OK : STV_E_NO_DATA;
}

enum stv_status stv_rack_unseen_months(const struct stv_rack_span *lived,
                                       const struct stv_weather *weather,
                                       double out_frac[STV_RACK_FOLDS])
{
    size_t n_hours[STV_RACK_FOLDS] = {0}, n_outside[STV_RACK_FOLDS] = {0};
    double *mean_c = malloc((weather->grid.n + 1) * sizeof *mean_c);
    if (!mean_c)
        return STV_E_MEMORY;
    stv__rack_mean_30d(weather, mean_c);
    for (size_t k = 0; k < weather->grid.n; k++) {
        if (!isfinite(mean_c[k]))
            continue;
        int month = stv_date_from_day(stv_grid_local_day(&weather->grid, k, NULL)).month - 1;
        n_hours[month]++;
        n_outside[month] +=
            mean_c[k] < lived->least_c - OUTSIDE_K || mean_c[k] > lived->most_c + OUTSIDE_K;
    }
    for (size_t m = 0; m < STV_RACK_FOLDS; m++)
        out_frac[m] = n_hours[m] ? (double)n_outside[m] / (double)n_hours[m] : (double)NAN;
    free(mean_c);
    return STV_OK;
}

enum stv_status stv_rack_is_covered(const struct stv_rack_span *lived,
                                    const struct stv_weather *weather, bool *out_is_covered)
{
    double frac[STV_RACK_FOLDS];
    enum stv_status status = stv_rack_unseen_months(lived, weather, frac);
    if (status != STV_OK)
        return status;
    *out_is_covered = true;
    for (size_t m = 0; m < STV_RACK_FOLDS; m++)
        *out_is_covered = *out_is_covered && !(frac[m] > STV_RACK_UNSEEN_FRAC);
    return STV_OK;
}

/* Humidity as far as it was measured; a rack without it, or with too little, has none. */
static enum stv_status learn_humidity(const struct stv_rack_request *request, const double *air_c,
                                      double *out_rh_frac, struct stv_rack *out)
{
    size_t n = request->weather->grid.n;
    enum stv_status status = STV_E_NO_DATA;
    if (request->measured.rh_frac)
        status = learn_quantity(request, STV_RACK_VAPOUR, air_c, out, out_rh_frac,
                                &out->sum[STV_RACK_VAPOUR]);
    for (size_t k = 0; k < n; k++)
        out_rh_frac[k] = status == STV_OK ? humidity_frac(out_rh_frac[k], air_c[k]) : (double)NAN;
    return status == STV_E_NO_DATA ? STV_OK : status;
}

enum stv_status stv_rack_learn(const struct stv_rack_request *request, double *out_unseen_air_c,
                               double *out_unseen_rh_frac, struct stv_rack *out)
{
    if (!request || !request->weather || !request->measured.air_c || !out ||
        request->weather->grid.is_typical || request->weather->grid.step_s != STV_HOUR_S)
        return STV_E_ARG;
    size_t n = request->weather->grid.n;
    struct stv_rack rack = *out;
    memset(rack.sum, 0, sizeof rack.sum);
    double *room = malloc((2 * n + 1) * sizeof *room);
    if (!room)
        return STV_E_MEMORY;
    double *air_c = room, *rh_frac = room + n;
    enum stv_status status = find_range(request, &rack);
    if (status == STV_OK)
        status = learn_quantity(request, STV_RACK_AIR, NULL, &rack, air_c, &rack.sum[STV_RACK_AIR]);
    if (status == STV_OK)
        status = learn_humidity(request, air_c, rh_frac, &rack);
    struct stv_air_hours told = {air_c, rh_frac};
    if (status == STV_OK)
        status = stv__rack_judge(request, &told, &rack.skill);
    if (status == STV_OK && !isfinite(rack.skill.air_k.month_nd))
        status = STV_E_NO_DATA; /* days scattered over years: no month can be judged */
    if (status == STV_OK) {
        if (out_unseen_air_c)
            memcpy(out_unseen_air_c, air_c, n * sizeof *air_c);
        if (out_unseen_rh_frac)
            memcpy(out_unseen_rh_frac, rh_frac, n * sizeof *rh_frac);
        *out = rack;
    }
    free(room);
    return status;
}
