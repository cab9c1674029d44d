/* A logger whose day comes at another hour than before, or earlier than outdoors.
 *
 * Every fifteen days the daily wave of a logger is laid over a reference, and the lag
 * that fits best is noted.  The reference is the air outdoors where the waves are alike,
 * else the mean of the other loggers of the warehouse; then one clock moves the lags of all the
 * others a little the other way, and the largest step counts.  A building's own lag creeps with the
 * season; a clock jumps by whole hours and stays.  No rack is warmed long before the air outdoors
 * is. */
#include "ingest/neighbours_parts.h"

#include "model/calendar.h"
#include "model/quantiles.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DAY_HOURS 24
#define WINDOW_DAYS 15
#define WINDOW_HOURS (WINDOW_DAYS * DAY_HOURS)
#define LAG_MOST_H 14
#define SPAN_HOURS (WINDOW_HOURS + 2 * LAG_MOST_H + 1)
#define PAIRS_LEAST 240 /* hours of a window that both have */
#define SD_LEAST_K 0.1
#define DAILY_LEAST 0.3
/* A rack that swings further than the air outdoors follows the sun on its roof, whose lag changes
 * with the season. */
#define SWING_MOST_NEXT_TO_OUTDOORS 1.05
/* One that hardly swings answers sun and air as the season mixes them, hours apart.  Judgement. */
#define SWING_LEAST_NEXT_TO_OUTDOORS 0.2
#define FIT_LEAST 0.75
#define STEP_LEAST_H 0.8
#define STEADY_H 0.4
#define STEADY_WINDOWS 2
#define LEVEL_WINDOWS 6 /* on either side of a jump */
#define LEVEL_PART 5    /* all but one in five keep the level */
#define LEAD_H 2.0
#define APART_H 5.0
#define WINDOWS_LEAST 3

enum reference { OUTDOORS, OTHERS };

struct jump {
    size_t i, window;
    double step_h;
    enum reference kind;
};
struct jumps {
    struct jump *items; /* one at most for each logger */
    size_t n;
};

/* Hours of one series around a window; [0] is LAG_MOST_H before its start. */
typedef double span_hours[SPAN_HOURS];

static double outdoor_at(const struct stv__neighbours *all, int64_t time_s)
{
    size_t k = stv_grid_index(all->outdoor_grid, time_s);
    return k < all->outdoor_grid->n ? all->outdoor_c[k] : (double)NAN;
}

/* Takes the mean of the day around each hour away; NaN where most of it is missing. */
static void take_wave(const double *hours, size_t n, double *out)
{
    double sum = 0.0;
    size_t count = 0;
    for (size_t k = 0; k < n + DAY_HOURS / 2; k++) {
        if (k < n && isfinite(hours[k])) {
            sum += hours[k];
            count++;
        }
        if (k >= DAY_HOURS && isfinite(hours[k - DAY_HOURS])) {
            sum -= hours[k - DAY_HOURS];
            count--;
        }
        if (k >= DAY_HOURS / 2)
            out[k - DAY_HOURS / 2] = count >= DAY_HOURS / 2
                                         ? hours[k - DAY_HOURS / 2] - sum / (double)count
                                         : (double)NAN;
    }
}

static void wave_of(const struct stv__neighbours *all, size_t i, int64_t from_s, double *out)
{
    span_hours hours;
    for (size_t k = 0; k < SPAN_HOURS; k++)
        hours[k] = stv__neighbour_c(all->loggers[i].hours,
                                    from_s + ((int64_t)k - LAG_MOST_H) * STV_HOUR_S);
    take_wave(hours, SPAN_HOURS, out);
}

static void reference_wave(const struct stv__neighbours *all, size_t i, enum reference kind,
                           int64_t from_s, double *out)
{
    span_hours hours;
    for (size_t k = 0; k < SPAN_HOURS; k++) {
        int64_t time_s = from_s + ((int64_t)k - LAG_MOST_H) * STV_HOUR_S;
        double sum = 0.0, n = 0.0;
        for (size_t j = 0; kind != OUTDOORS && j < all->n_loggers; j++) {
            double c = stv__neighbour_is_near(all, i, j)
                           ? stv__neighbour_c(all->loggers[j].hours, time_s)
                           : (double)NAN;
            sum += isfinite(c) ? c : 0.0;
            n += isfinite(c);
        }
        hours[k] = kind == OUTDOORS ? outdoor_at(all, time_s) : sum / n;
    }
    take_wave(hours, SPAN_HOURS, out);
}

/* Correlation of a wave with the reference so many hours earlier; 0 with too few hours. */
static double fit_at(const double *wave, const double *reference, int back_h)
{
    double sum_xx = 0.0, sum_yy = 0.0, sum_xy = 0.0, n = 0.0;
    for (int k = LAG_MOST_H; k < LAG_MOST_H + WINDOW_HOURS; k++) {
        double x = wave[k], y = reference[k - back_h];
        if (!isfinite(x) || !isfinite(y))
            continue;
        sum_xx += x * x;
        sum_yy += y * y;
        sum_xy += x * y;
        n += 1.0;
    }
    if (n < PAIRS_LEAST || sum_xx < n * SD_LEAST_K * SD_LEAST_K ||
        sum_yy < n * SD_LEAST_K * SD_LEAST_K)
        return 0.0;
    return sum_xy / sqrt(sum_xx * sum_yy);
}

/* How far a wave swings, over the window. */
static double swing_k(const double *wave)
{
    double sum = 0.0, n = 0.0;
    for (int k = LAG_MOST_H; k < LAG_MOST_H + WINDOW_HOURS; k++) {
        sum += isfinite(wave[k]) ? wave[k] * wave[k] : 0.0;
        n += isfinite(wave[k]) != 0;
    }
    return n > 0.0 ? sqrt(sum / n) : 0.0;
}

/* Whether a wave comes back day after day: correlation of the hours with those of the day before.
 * In dull winters what passes is weather, and how far a rack lags behind that is no clock's. */
static bool is_daily(const double *wave)
{
    double sum_xx = 0.0, sum_yy = 0.0, sum_xy = 0.0;
    for (int k = LAG_MOST_H + DAY_HOURS; k < LAG_MOST_H + WINDOW_HOURS; k++) {
        double x = wave[k], y = wave[k - DAY_HOURS];
        if (!isfinite(x) || !isfinite(y))
            continue;
        sum_xx += x * x;
        sum_yy += y * y;
        sum_xy += x * y;
    }
    return sum_xy > DAILY_LEAST * sqrt(sum_xx * sum_yy);
}

/* Hours by which the logger comes behind the reference: the top of a parabola through the best lag
 * and its neighbours; NaN when no lag fits. */
static double lag_h(const double *wave, const double *reference)
{
    double fits[2 * LAG_MOST_H + 1], *fit = &fits[LAG_MOST_H];
    int best = 1 - LAG_MOST_H;
    for (int back_h = -LAG_MOST_H; back_h <= LAG_MOST_H; back_h++)
        fit[back_h] = fit_at(wave, reference, back_h);
    for (int back_h = 1 - LAG_MOST_H; back_h < LAG_MOST_H; back_h++)
        if (fit[back_h] > fit[best])
            best = back_h;
    double bend = fit[best - 1] - 2.0 * fit[best] + fit[best + 1];
    if (fit[best] < FIT_LEAST || !(bend < 0.0))
        return (double)NAN;
    return best + 0.5 * (fit[best - 1] - fit[best + 1]) / bend;
}

/* The level of up to six windows; NaN when they do not keep it.  A building's own lag creeps. */
static double level_h(const double *lags_h, size_t from, size_t to)
{
    double sorted[LEVEL_WINDOWS];
    size_t n = to - from, n_near = 0;
    if (n < STEADY_WINDOWS || n > LEVEL_WINDOWS)
        return (double)NAN;
    memcpy(sorted, &lags_h[from], n * sizeof *sorted);
    double level = stv_range_of(sorted, n).p50;
    for (size_t w = from; w < to; w++)
        n_near += fabs(lags_h[w] - level) <= STEADY_H;
    return LEVEL_PART * n_near >= (LEVEL_PART - 1) * n ? level : (double)NAN;
}

/* The largest jump between two steady stretches; step_h 0 when there is none. */
static struct jump find_jump(size_t i, enum reference kind, const double *lags_h, size_t n)
{
    struct jump best = {i, 0, 0.0, kind};
    for (size_t w = STEADY_WINDOWS; w + STEADY_WINDOWS <= n; w++) {
        double before_h = level_h(lags_h, w > LEVEL_WINDOWS ? w - LEVEL_WINDOWS : 0, w);
        /* The window in which it happens may be a mix of both. */
        for (size_t next = w; next <= w + 1 && next + STEADY_WINDOWS <= n; next++) {
            size_t to = next + LEVEL_WINDOWS < n ? next + LEVEL_WINDOWS : n;
            double step_h = level_h(lags_h, next, to) - before_h;
            if (fabs(step_h) >= STEP_LEAST_H && fabs(step_h) > fabs(best.step_h))
                best = (struct jump){i, w, step_h, kind};
        }
    }
    return best;
}

static int by_size(const void *a, const void *b)
{
    double left = fabs(((const struct jump *)a)->step_h);
    double right = fabs(((const struct jump *)b)->step_h);
    return (left < right) - (left > right);
}

/* Against the mean of the others a moved clock moves every other logger the other way. */
static bool is_echo(const struct stv__neighbours *all, const struct jumps *jumps, size_t at)
{
    const struct jump *one = &jumps->items[at];
    for (size_t k = 0; k < at; k++) {
        const struct jump *other = &jumps->items[k];
        size_t apart =
            one->window > other->window ? one->window - other->window : other->window - one->window;
        if (one->kind == OTHERS && one->step_h * other->step_h < 0.0 && apart <= 1 &&
            stv__neighbour_is_near(all, one->i, other->i))
            return true;
    }
    return false;
}

static void say_jumps(const struct stv__neighbours *all, struct jumps *jumps, bool *doubtful)
{
    if (jumps->n > 0)
        qsort(jumps->items, jumps->n, sizeof *jumps->items, by_size);
    for (size_t k = 0; k < jumps->n; k++) {
        const struct jump *jump = &jumps->items[k];
        if (is_echo(all, jumps, k))
            continue;
        doubtful[jump->i] = true;
        struct stv_date date =
            stv_date_from_day(all->first_day_d + (int64_t)(jump->window * WINDOW_DAYS));
        stv__neighbour_say(all, jump->i, STV_SUSPECT, "shifted",
                           "looks shifted by %.1f h against %s from about %04d-%02d-%02d on: its "
                           "days come %s than before. Its clock, or the zone of the computer that "
                           "read it out? Give clock for that file in loggers.csv; used as it is",
                           fabs(jump->step_h),
                           jump->kind == OUTDOORS ? "the air outdoors"
                                                  : "the other loggers of its warehouse",
                           (int)date.year, (int)date.month, (int)date.day,
                           jump->step_h > 0.0 ? "later" : "earlier");
        stv__neighbour_doubt(all, jump->i, jump->window * WINDOW_DAYS);
    }
}

/* A rack that is warmed hours before the air outdoors, or at quite another hour than the others;
 * sorts the lags. */
static void say_lag(const struct stv__neighbours *all, size_t i, enum reference kind,
                    double *lags_h, size_t n)
{
    double middle_h = stv_range_of(lags_h, n).p50;
    if (kind == OUTDOORS && middle_h <= -LEAD_H) {
        stv__neighbour_doubt(all, i, 0);
        stv__neighbour_say(all, i, STV_SUSPECT, "shifted",
                           "its days come %.1f h before those of the air outdoors, which no rack's "
                           "do: its clock, the zone in loggers.csv, or that of the weather file? "
                           "Used as it is",
                           -middle_h);
    }
    if (kind == OTHERS && fabs(middle_h) >= APART_H)
        stv__neighbour_say(all, i, STV_NOTED, "shifted",
                           "its days come %.1f h %s those of the other loggers of its warehouse: "
                           "a heavy floor can lag so far; else its clock, or the zone in "
                           "loggers.csv? Used as it is",
                           fabs(middle_h), middle_h < 0.0 ? "before" : "behind");
}

/* Lags of all windows; returns how many are known. */
static size_t find_lags(const struct stv__neighbours *all, size_t i, enum reference kind,
                        double *lags_h, size_t n)
{
    size_t n_known = 0;
    for (size_t w = 0; w < n; w++) {
        span_hours wave, reference;
        int64_t from_s = stv__neighbour_day_s(all, w * WINDOW_DAYS);
        wave_of(all, i, from_s, wave);
        reference_wave(all, i, kind, from_s, reference);
        double swing_nd = swing_k(wave) / swing_k(reference);
        bool follows_air = kind != OUTDOORS || (swing_nd <= SWING_MOST_NEXT_TO_OUTDOORS &&
                                                swing_nd >= SWING_LEAST_NEXT_TO_OUTDOORS);
        bool tells = follows_air && is_daily(reference);
        lags_h[w] = tells ? lag_h(wave, reference) : (double)NAN;
        n_known += isfinite(lags_h[w]);
    }
    return n_known;
}

static void look_at(const struct stv__neighbours *all, size_t i, double *lags_h, size_t n,
                    struct jumps *jumps)
{
    enum reference kind = OUTDOORS;
    size_t n_known = all->outdoor_grid ? find_lags(all, i, OUTDOORS, lags_h, n) : 0;
    if (n_known < WINDOWS_LEAST) {
        kind = OTHERS;
        n_known = find_lags(all, i, OTHERS, lags_h, n);
    }
    if (n_known < WINDOWS_LEAST)
        return;
    struct jump jump = find_jump(i, kind, lags_h, n);
    if (jump.step_h != 0.0)
        jumps->items[jumps->n++] = jump;
    else
        say_lag(all, i, kind, lags_h, n);
}

enum stv_status stv__neighbours_shifted(const struct stv__neighbours *all, bool *doubtful)
{
    size_t n = all->n_days / WINDOW_DAYS;
    double *lags_h = malloc((n + 1) * sizeof *lags_h);
    struct jumps jumps = {malloc(all->n_loggers * sizeof *jumps.items), 0};
    bool is_good = lags_h && jumps.items;
    for (size_t i = 0; is_good && i < all->n_loggers; i++)
        if (!doubtful[i])
            look_at(all, i, lags_h, n, &jumps);
    if (is_good)
        say_jumps(all, &jumps, doubtful);
    free(lags_h);
    free(jumps.items);
    return is_good ? STV_OK : STV_E_MEMORY;
}
