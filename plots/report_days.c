/* Picks the days of an outlook that the report speaks of and adds casks up.  Sums and differences
 * are taken trial by trial and only then made into a range: middle values of single casks do not
 * add up to the middle of the house. */
#include "plots/report_parts.h"

#include "model/days.h"
#include "model/units.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define NEAR_D 20 /* months differ by less; a year's step never comes this far off */

size_t stv__report_day_near(const struct stv_outlook *outlook, int64_t day_d)
{
    size_t best = STV_REPORT_NO_DAY;
    int64_t best_gap_d = NEAR_D + 1;
    for (size_t d = 0; d < outlook->n_days; d++) {
        int64_t gap_d = llabs(outlook->days_d[d] - day_d);
        if (gap_d < best_gap_d) {
            best = d;
            best_gap_d = gap_d;
        }
    }
    return best;
}

size_t stv__report_day_now(const struct stv_report_input *input)
{
    const struct stv_outlook *outlook = input->outlook;
    if (outlook == NULL || outlook->n_days == 0)
        return STV_REPORT_NO_DAY;
    for (size_t d = 0; d < outlook->n_days; d++)
        if (outlook->days_d[d] >= input->as_of_day_d)
            return d;
    return outlook->n_days - 1;
}

size_t stv__report_day_next(const struct stv_report_input *input)
{
    size_t now = stv__report_day_now(input);
    if (now == STV_REPORT_NO_DAY)
        return now;
    return stv__report_day_near(input->outlook,
                                input->outlook->days_d[now] + (int64_t)llround(STV_YEAR_D));
}

bool stv__report_has_casks(const struct stv_report_input *input)
{
    return input->ledger != NULL && input->outlook != NULL && input->ledger->n_casks > 0 &&
           input->outlook->n_casks == input->ledger->n_casks && input->outlook->n_days > 0;
}

bool stv__report_has_windows(const struct stv_report_input *input)
{
    return input->ledger != NULL && input->months != NULL && input->bottling != NULL &&
           input->bottling->n_windows > 0 && input->months->n_days > 1;
}

bool stv__report_is_full(const struct stv_outlook *outlook, size_t cask_idx, size_t day_idx)
{
    struct stv_range range = stv_outlook_range(outlook, cask_idx, day_idx, STV_Q_VOLUME20_L);
    return isfinite(range.p50);
}

/* What begins or ends a fill: losses are counted since then. */
static bool breaks(const struct stv_event *event)
{
    return event->kind == STV_EVENT_FILL || event->kind == STV_EVENT_TRANSFER ||
           event->kind == STV_EVENT_EMPTY;
}

/* True when a cask is filled, poured or emptied after one day and on or before the other. */
static bool is_broken_between(const struct stv_report_input *input, size_t cask_idx, int64_t from_d,
                              int64_t to_d)
{
    const struct stv_ledger *ledger = input->ledger;
    for (size_t i = 0; i < ledger->n_events; i++) {
        const struct stv_event *event = &ledger->events[i];
        bool is_own = event->cask_idx == (int)cask_idx || event->other_idx == (int)cask_idx;
        if (is_own && breaks(event) && event->day_d > from_d && event->day_d <= to_d)
            return true;
    }
    return false;
}

/* A quantity on a day, or what is lost of it until a later one. */
struct sum {
    const struct stv_report_input *input;
    enum stv_quantity quantity;
    size_t day_idx, later_idx; /* later STV_REPORT_NO_DAY: the day alone */
};

#define LOST_N 4
/* Samples are drawn, not lost. */
static const enum stv_quantity lost_lpa[LOST_N] = {STV_Q_AIR_LPA_L, STV_Q_JOINT_LPA_L,
                                                   STV_Q_INDRINK_LPA_L, STV_Q_LEAK_LPA_L};
static const enum stv_quantity lost_litres[LOST_N] = {STV_Q_AIR_L, STV_Q_JOINT_L, STV_Q_INDRINK_L,
                                                      STV_Q_LEAK_L};

static const struct stv_outlook *trials_of(const struct stv_report_input *input)
{
    return input->trials != NULL ? input->trials : input->outlook;
}

/* Trials of a cask on a day of the outlook; NULL where that day has none. */
static const double *draws_of(const struct stv_report_input *input, size_t cask_idx, size_t day_idx,
                              enum stv_quantity quantity)
{
    const struct stv_outlook *trials = trials_of(input);
    size_t at = stv_days_find(trials->days_d, trials->n_days, input->outlook->days_d[day_idx]);
    return at < trials->n_days ? stv_outlook_draws(trials, cask_idx, at, quantity) : NULL;
}

static bool add_day(const struct sum *sum, size_t cask_idx, double *values)
{
    const double *draws = draws_of(sum->input, cask_idx, sum->day_idx, sum->quantity);
    for (size_t i = 0; draws != NULL && i < sum->input->outlook->n_draws; i++)
        values[i] += draws[i];
    return draws != NULL;
}

/* By what was lost, so that water and samples in between do not count. */
static bool add_loss(const struct sum *sum, size_t cask_idx, double *values)
{
    const struct stv_report_input *input = sum->input;
    const enum stv_quantity *lost = sum->quantity == STV_Q_VOLUME20_L ? lost_litres : lost_lpa;
    double factor_nd = 1.0;
    if (sum->quantity == STV_Q_BOTTLES_ND)
        factor_nd = input->rules ? stv_bottles_of_lpa_nd(input->rules, 1.0) : (double)NAN;
    for (size_t l = 0; l < LOST_N; l++) {
        const double *first = draws_of(input, cask_idx, sum->day_idx, lost[l]);
        const double *later = draws_of(input, cask_idx, sum->later_idx, lost[l]);
        if (first == NULL || later == NULL)
            return false;
        for (size_t i = 0; i < input->outlook->n_draws; i++)
            values[i] += factor_nd * (later[i] - first[i]);
    }
    return true;
}

bool stv__report_is_followed(const struct stv_report_input *input, size_t cask_idx, size_t day_idx,
                             size_t later_idx)
{
    const struct stv_outlook *outlook = input->outlook;
    return stv__report_is_full(outlook, cask_idx, day_idx) &&
           stv__report_is_full(outlook, cask_idx, later_idx) &&
           !is_broken_between(input, cask_idx, outlook->days_d[day_idx],
                              outlook->days_d[later_idx]);
}

/* Adds a cask's trials to `values`; casks that cannot be told add nothing. */
static bool add_cask(const struct sum *sum, size_t cask_idx, double *values)
{
    if (sum->later_idx == STV_REPORT_NO_DAY)
        return stv__report_is_full(sum->input->outlook, cask_idx, sum->day_idx) &&
               add_day(sum, cask_idx, values);
    return stv__report_is_followed(sum->input, cask_idx, sum->day_idx, sum->later_idx) &&
           add_loss(sum, cask_idx, values);
}

static enum stv_status sum_casks(const struct sum *sum, size_t from, size_t to,
                                 struct stv_range *out)
{
    *out = stv_range_point(NAN);
    size_t n_draws = sum->input->outlook->n_draws;
    double *values = calloc(n_draws > 0 ? n_draws : 1, sizeof *values);
    if (values == NULL)
        return STV_E_MEMORY;
    size_t n_told = 0;
    for (size_t c = from; c < to; c++)
        n_told += add_cask(sum, c, values);
    if (n_told > 0)
        *out = stv_range_of(values, n_draws);
    free(values);
    return STV_OK;
}

struct stv_range stv__report_drop(const struct stv_report_input *input, size_t cask_idx,
                                  enum stv_quantity quantity, size_t day_idx, size_t later_idx)
{
    struct stv_range range = stv_range_point(NAN);
    if (day_idx == STV_REPORT_NO_DAY || later_idx == STV_REPORT_NO_DAY)
        return range;
    const struct sum sum = {input, quantity, day_idx, later_idx};
    return sum_casks(&sum, cask_idx, cask_idx + 1, &range) == STV_OK ? range : stv_range_point(NAN);
}

enum stv_status stv__report_total(const struct stv_report_input *input, enum stv_quantity quantity,
                                  size_t day_idx, struct stv_range *out)
{
    const struct sum sum = {input, quantity, day_idx, STV_REPORT_NO_DAY};
    return sum_casks(&sum, 0, input->outlook->n_casks, out);
}

enum stv_status stv__report_total_drop(const struct stv_report_input *input,
                                       enum stv_quantity quantity, size_t day_idx, size_t later_idx,
                                       struct stv_range *out)
{
    const struct sum sum = {input, quantity, day_idx, later_idx};
    return sum_casks(&sum, 0, input->outlook->n_casks, out);
}

/* What was gauged and the range of nine in ten that was told, of litres or strength. */
struct gauged {
    int64_t day_d;
    bool is_litres;
    double value, low, high;
};

static void add_gauge_flag(const struct gauged *gauged, struct stv_text *out)
{
    double factor_nd = gauged->is_litres ? 1.0 : 100.0;
    stv_text_add(out, "The gauge of ");
    stv_text_add_day(out, gauged->day_d);
    stv_text_add(out, ", ");
    stv_text_add_number(out, factor_nd * gauged->value, 1);
    stv_text_add(out, gauged->is_litres ? " L" : " %vol");
    stv_text_add(out, ", lies outside the range of ");
    stv_text_add_number(out, factor_nd * gauged->low, 1);
    stv_text_add(out, " to ");
    stv_text_add_number(out, factor_nd * gauged->high, 1);
    stv_text_add(out, " by more than its own error. ");
}

/* Tells a figure whose own error does not reach the range of nine in ten on a day near it. */
static void add_if_outside(struct gauged gauged, struct stv_range range, double sd,
                           struct stv_text *out)
{
    double reach = isfinite(sd) ? STV_GAUGE_RANGE_SDS * sd : 0.0;
    gauged.low = range.p05;
    gauged.high = range.p95;
    if (gauged.value + reach < range.p05 || gauged.value - reach > range.p95)
        add_gauge_flag(&gauged, out);
}

static void add_near_flags(const struct stv_report_input *input,
                           const struct stv_report_gauge *gauge, struct stv_text *out)
{
    size_t day_idx = stv__report_day_near(input->outlook, gauge->day_d);
    size_t cask_idx = (size_t)gauge->cask_idx;
    if (day_idx == STV_REPORT_NO_DAY)
        return;
    add_if_outside((struct gauged){gauge->day_d, true, gauge->volume20_l, 0.0, 0.0},
                   stv_outlook_range(input->outlook, cask_idx, day_idx, STV_Q_VOLUME20_L),
                   gauge->volume_sd_l, out);
    add_if_outside((struct gauged){gauge->day_d, false, gauge->abv20_frac, 0.0, 0.0},
                   stv_outlook_range(input->outlook, cask_idx, day_idx, STV_Q_ABV20_FRAC),
                   gauge->abv_sd_frac, out);
}

/* First day from now on when the strength may lie under the least allowed. */
static size_t first_weak_day(const struct stv_report_input *input, size_t cask_idx)
{
    size_t d = stv__report_day_now(input);
    if (input->rules == NULL || d == STV_REPORT_NO_DAY)
        return STV_REPORT_NO_DAY;
    for (; d < input->outlook->n_days; d++) {
        struct stv_range abv = stv_outlook_range(input->outlook, cask_idx, d, STV_Q_ABV20_FRAC);
        if (abv.p05 < input->rules->least_abv20_frac)
            return d;
    }
    return STV_REPORT_NO_DAY;
}

/* Of a large house, whose outlook has no day near each gauge: by what was told for that day. */
static void add_told_flags(const struct stv_report_input *input, size_t cask_idx,
                           struct stv_text *out)
{
    const struct stv_told_figures *told = input->told_figures;
    for (size_t i = 0; told != NULL && i < told->n; i++) {
        const struct stv_told_figure *figure = &told->figures[i];
        if (strcmp(figure->cask_id, input->ledger->casks[cask_idx].id) == 0 && figure->is_miss)
            add_gauge_flag(&(struct gauged){figure->day_d, figure->what == STV_GAUGED_LITRES,
                                            figure->measured, figure->told_p05, figure->told_p95},
                           out);
    }
}

void stv__report_flag(const struct stv_report_input *input, size_t cask_idx, struct stv_text *out)
{
    for (size_t i = 0; input->kinds == NULL && i < input->n_gauges; i++) {
        const struct stv_report_gauge *gauge = &input->gauges[i];
        if (gauge->cask_idx == (int)cask_idx)
            add_near_flags(input, gauge, out);
    }
    if (input->kinds != NULL)
        add_told_flags(input, cask_idx, out);
    size_t weak = first_weak_day(input, cask_idx);
    if (weak == STV_REPORT_NO_DAY)
        return;
    stv_text_add(out, "Its strength may be under the least allowed from ");
    stv_text_add_month(out, input->outlook->days_d[weak]);
    stv_text_add(out, " on.");
}

struct stv_range stv__report_bottles_gone(const struct stv_report_input *input, size_t cask_idx,
                                          size_t day_idx)
{
    const struct stv_outlook *outlook = input->outlook;
    static const enum stv_quantity lost[] = {STV_Q_AIR_LPA_L, STV_Q_JOINT_LPA_L,
                                             STV_Q_INDRINK_LPA_L, STV_Q_SAMPLE_LPA_L,
                                             STV_Q_LEAK_LPA_L};
    double bottles_per_lpa_nd =
        input->rules ? stv_bottles_of_lpa_nd(input->rules, 1.0) : (double)NAN;
    double *values = calloc(outlook->n_draws > 0 ? outlook->n_draws : 1, sizeof *values);
    if (values == NULL)
        return stv_range_point(NAN);
    for (size_t l = 0; l < sizeof lost / sizeof *lost; l++) {
        const double *draws = draws_of(input, cask_idx, day_idx, lost[l]);
        for (size_t i = 0; i < outlook->n_draws; i++)
            values[i] += draws != NULL ? draws[i] * bottles_per_lpa_nd : (double)NAN;
    }
    struct stv_range range = stv_range_of(values, outlook->n_draws);
    free(values);
    return range;
}
