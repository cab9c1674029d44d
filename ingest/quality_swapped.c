/* Two loggers that were taken for each other after a download: from one day on each reads what the
 * other one used to.
 *
 * Seen by the differences of a pair over the ten days before and behind each midnight: of their
 * means, and of the logarithms of their swings.  A change of weather turns the one or the other
 * about, slowly or not by the same amount; a swap turns both at once, and back to the same size. */
#include "ingest/neighbours_parts.h"

#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>

#define WINDOW_DAYS 10
#define VALID_LEAST 7
#define MEAN_LEAST_K 0.5
#define SWING_LEAST_LN 0.25
#define SWING_ALIKE_LN 0.15
#define SWING_FLOOR_K 0.1 /* a day that stands still has no logarithm */
#define TURN_FRAC 0.4     /* how much the size may change */
#define SIGMAS 4.0

/* Sums up to each day, so that a window is two differences. */
struct sums {
    double n, mean, mean_sq, swing, swing_sq;
};

struct side {
    double n, mean_k, mean_sd_k, swing_ln, swing_sd_ln;
};

static void sum_days(const struct stv__neighbours *all, size_t i, size_t j, struct sums *out)
{
    out[0] = (struct sums){0};
    for (size_t d = 0; d < all->n_days; d++) {
        size_t a = i * all->n_days + d, b = j * all->n_days + d;
        double mean_k = all->mean_c[a] - all->mean_c[b];
        double swing_ln =
            log(fmax(all->swing_k[a], SWING_FLOOR_K)) - log(fmax(all->swing_k[b], SWING_FLOOR_K));
        out[d + 1] = out[d];
        if (!isfinite(mean_k))
            continue;
        out[d + 1].n += 1.0;
        out[d + 1].mean += mean_k;
        out[d + 1].mean_sq += mean_k * mean_k;
        out[d + 1].swing += swing_ln;
        out[d + 1].swing_sq += swing_ln * swing_ln;
    }
}

static double spread(double sum, double sum_sq, double n)
{
    return sqrt(fmax(sum_sq / n - sum / n * (sum / n), 0.0));
}

static struct side side_of(const struct sums *from, const struct sums *to)
{
    double n = to->n - from->n, mean = to->mean - from->mean, swing = to->swing - from->swing;
    if (n < VALID_LEAST)
        return (struct side){.n = 0.0};
    return (struct side){n, mean / n, spread(mean, to->mean_sq - from->mean_sq, n), swing / n,
                         spread(swing, to->swing_sq - from->swing_sq, n)};
}

/* Whether a difference of that least size turned about to the same size. */
static bool has_turned(double before, double behind, double sd_before, double sd_behind,
                       double least)
{
    return before * behind < 0.0 && fabs(before) >= least && fabs(behind) >= least &&
           fabs(before + behind) <= TURN_FRAC * fmin(fabs(before), fabs(behind)) &&
           fabs(before - behind) >= SIGMAS * hypot(sd_before, sd_behind);
}

/* How clearly the pair changed places between two sides, in standard deviations; 0 for not. */
static double clearness(const struct side *before, const struct side *behind)
{
    bool has_mean = has_turned(before->mean_k, behind->mean_k, before->mean_sd_k, behind->mean_sd_k,
                               MEAN_LEAST_K);
    bool has_swing = has_turned(before->swing_ln, behind->swing_ln, before->swing_sd_ln,
                                behind->swing_sd_ln, SWING_LEAST_LN);
    bool is_swing_alike =
        fabs(before->swing_ln) <= SWING_ALIKE_LN && fabs(behind->swing_ln) <= SWING_ALIKE_LN;
    bool is_mean_alike =
        fabs(before->mean_k) <= MEAN_LEAST_K && fabs(behind->mean_k) <= MEAN_LEAST_K;
    if (!(has_mean && (has_swing || is_swing_alike)) && !(has_swing && is_mean_alike))
        return 0.0;
    double sd_k = hypot(before->mean_sd_k, behind->mean_sd_k);
    double sd_ln = hypot(before->swing_sd_ln, behind->swing_sd_ln);
    return fabs(before->mean_k - behind->mean_k) / fmax(sd_k, 0.01) +
           fabs(before->swing_ln - behind->swing_ln) / fmax(sd_ln, 0.01);
}

/* A pair and the midnight at which it looks swapped. */
struct swap {
    size_t i, j, day_idx;
    double clearness;
    struct side before, behind;
};
struct swaps {
    struct swap *items;
    size_t n, capacity;
};

static void say_swap(const struct stv__neighbours *all, const struct swap *swap)
{
    struct stv_date date = stv_date_from_day(all->first_day_d + (int64_t)swap->day_idx);
    char name[STV__NAME_MAX];
    double before_k = swap->before.mean_k, behind_k = swap->behind.mean_k;
    stv__neighbour_say(all, swap->i, STV_SUSPECT, "swapped",
                       "it and %s look swapped from %04d-%02d-%02d on: the one was %.1f K %s the "
                       "other, and is %.1f K %s it now. Look at both sensors; if so, list their "
                       "files with from and to in loggers.csv. Used as they are",
                       stv__neighbour_name(all, swap->j, name), (int)date.year, (int)date.month,
                       (int)date.day, fabs(before_k), before_k > 0.0 ? "above" : "below",
                       fabs(behind_k), behind_k > 0.0 ? "above" : "below");
    stv__neighbour_doubt(all, swap->i, swap->day_idx);
    stv__neighbour_doubt(all, swap->j, swap->day_idx);
}

static bool add_swap(struct swaps *swaps, const struct swap *swap)
{
    if (swaps->n == swaps->capacity) {
        size_t capacity = 2 * swaps->capacity + 16;
        struct swap *items = realloc(swaps->items, capacity * sizeof *items);
        if (!items)
            return false;
        swaps->items = items;
        swaps->capacity = capacity;
    }
    swaps->items[swaps->n++] = *swap;
    return true;
}

/* The clearest midnight of a pair, and then the next one that is a window away. */
static bool look_at_pair(const struct stv__neighbours *all, size_t i, size_t j,
                         const struct sums *sums, struct swaps *swaps)
{
    struct swap best = {.clearness = 0.0};
    bool is_good = true;
    for (size_t d = WINDOW_DAYS; is_good && d + WINDOW_DAYS <= all->n_days; d++) {
        struct swap now = {i,
                           j,
                           d,
                           0.0,
                           side_of(&sums[d - WINDOW_DAYS], &sums[d]),
                           side_of(&sums[d], &sums[d + WINDOW_DAYS])};
        if (now.before.n > 0.0 && now.behind.n > 0.0)
            now.clearness = clearness(&now.before, &now.behind);
        if (now.clearness > best.clearness)
            best = now;
        if (best.clearness > 0.0 && d >= best.day_idx + WINDOW_DAYS) {
            is_good = add_swap(swaps, &best);
            best.clearness = 0.0;
        }
    }
    return is_good && (best.clearness == 0.0 || add_swap(swaps, &best));
}

/* How far the pair moved, a swing by a factor of e counted as a kelvin. */
static double size_of(const struct swap *swap)
{
    return fabs(swap->before.mean_k - swap->behind.mean_k) +
           fabs(swap->before.swing_ln - swap->behind.swing_ln);
}

static int by_size(const void *a, const void *b)
{
    double left = size_of(a), right = size_of(b);
    return (left < right) - (left > right);
}

/* A logger that changed places also turned about against those that stood between: none of these
 * moved as far as the two did against each other. */
static bool is_echo(const struct swaps *swaps, size_t at)
{
    const struct swap *one = &swaps->items[at];
    for (size_t k = 0; k < at; k++) {
        const struct swap *other = &swaps->items[k];
        bool share =
            one->i == other->i || one->i == other->j || one->j == other->i || one->j == other->j;
        size_t apart = one->day_idx > other->day_idx ? one->day_idx - other->day_idx
                                                     : other->day_idx - one->day_idx;
        if (share && apart < WINDOW_DAYS)
            return true;
    }
    return false;
}

static void say_swaps(const struct stv__neighbours *all, struct swaps *swaps, bool *doubtful)
{
    if (swaps->n > 0)
        qsort(swaps->items, swaps->n, sizeof *swaps->items, by_size);
    for (size_t k = 0; k < swaps->n; k++) {
        if (is_echo(swaps, k))
            continue;
        say_swap(all, &swaps->items[k]);
        doubtful[swaps->items[k].i] = doubtful[swaps->items[k].j] = true;
    }
}

enum stv_status stv__neighbours_swapped(const struct stv__neighbours *all, bool *doubtful)
{
    struct swaps swaps = {NULL, 0, 0};
    struct sums *sums = malloc((all->n_days + 1) * sizeof *sums);
    bool is_good = sums != NULL;
    for (size_t i = 0; is_good && i < all->n_loggers; i++)
        for (size_t j = i + 1; is_good && j < all->n_loggers; j++) {
            if (!stv__neighbour_is_near(all, i, j))
                continue;
            sum_days(all, i, j, sums);
            is_good = look_at_pair(all, i, j, sums, &swaps);
        }
    if (is_good)
        say_swaps(all, &swaps, doubtful);
    free(sums);
    free(swaps.items);
    return is_good ? STV_OK : STV_E_MEMORY;
}
