/* Each cask is told on the days asked for and about each day on which something was poured; its
 * spans are added to its label's sums as soon as it was run, so that memory does not grow with
 * casks. */
#include "model/stock.h"

#include "model/bottling_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PARTS_PER_L 1e9 /* sums in whole numbers do not depend on the order of the casks */
#define LOSSES_N 5

static const enum stv_quantity loss_quantities[LOSSES_N] = {
    STV_Q_AIR_LPA_L, STV_Q_JOINT_LPA_L, STV_Q_INDRINK_LPA_L, STV_Q_SAMPLE_LPA_L, STV_Q_LEAK_LPA_L};

/* One cask's days, and what the ledger says of it. */
struct days {
    int64_t *days_d; /* ascending, each once */
    size_t n;
    const struct stv_event *const *events; /* in the ledger's order */
    size_t n_events;
};

struct sum {
    const struct stv_stock_request *request;
    struct days *days;       /* per cask */
    const int64_t **days_of; /* the same, as the outlook takes them */
    size_t *n_days_of;
    const struct stv_event **events; /* of all casks, one cask after another */
    int64_t *parts;                  /* as values of the stock */
    int64_t *old_enough_d;           /* [cask * n_days + day] */
    struct stv_stock *out;
};

static bool is_poured(const struct stv_event *event, int cask_idx)
{
    bool is_own = event->cask_idx == cask_idx;
    if (event->kind == STV_EVENT_TRANSFER)
        return is_own || event->other_idx == cask_idx;
    return is_own && (event->kind == STV_EVENT_FILL || event->kind == STV_EVENT_EMPTY);
}

/* Whether anything was poured into or out of a cask on a day. */
static bool has_pouring(const struct days *days, int cask_idx, int64_t day_d)
{
    for (size_t e = 0; e < days->n_events; e++)
        if (days->events[e]->day_d == day_d && is_poured(days->events[e], cask_idx))
            return true;
    return false;
}

static int compare_days(const void *a, const void *b)
{
    const int64_t *x = a, *y = b;
    return (*x > *y) - (*x < *y);
}

/* A sample may drain a cask, in some trials or in all. */
static bool is_drawn(const struct stv_event *event, int cask_idx)
{
    return event->kind == STV_EVENT_SAMPLE && event->cask_idx == cask_idx;
}

/* The days asked for, and those before and on which something was poured or drawn between them. */
static enum stv_status list_days(const struct stv_stock_request *request, int cask_idx,
                                 struct days *out)
{
    int64_t first_d = request->days_d[0], last_d = request->days_d[request->n_days - 1];
    size_t n = request->n_days, n_once = 0;
    out->days_d = malloc((n + 2 * out->n_events) * sizeof *out->days_d);
    if (!out->days_d)
        return STV_E_MEMORY;
    memcpy(out->days_d, request->days_d, n * sizeof *out->days_d);
    for (size_t e = 0; e < out->n_events; e++) {
        const struct stv_event *event = out->events[e];
        if (event->day_d <= first_d || event->day_d > last_d ||
            !(is_poured(event, cask_idx) || is_drawn(event, cask_idx)))
            continue;
        out->days_d[n++] = event->day_d - 1;
        out->days_d[n++] = event->day_d;
    }
    qsort(out->days_d, n, sizeof *out->days_d, compare_days);
    for (size_t i = 0; i < n; i++)
        if (n_once == 0 || out->days_d[n_once - 1] != out->days_d[i])
            out->days_d[n_once++] = out->days_d[i];
    out->n = n_once;
    return STV_OK;
}

/* --- one cask ------------------------------------------------------------------------------ */

static int64_t *parts_of(const struct sum *sum, size_t label_idx, size_t day_idx,
                         enum stv_stock_figure figure)
{
    return sum->parts +
           ((label_idx * sum->request->n_days + day_idx) * STV_STOCK_N + (size_t)figure) *
               sum->out->n_draws;
}

static size_t n_alike_of(const struct stv_stock_request *request, size_t cask_idx)
{
    return request->n_alike ? request->n_alike[cask_idx] : 1;
}

/* What is not there counts nothing. */
static int64_t parts_in(double amount)
{
    return isfinite(amount) ? (int64_t)llround(PARTS_PER_L * amount) : 0;
}

/* The labels a cask is summed under, the house last. */
static size_t labels_of(const struct stv_stock_request *request, size_t cask_idx, size_t out[3])
{
    size_t n = 0;
    out[n++] = request->label_of_cask[cask_idx];
    if (request->kind_of_cask)
        out[n++] = request->kind_of_cask[cask_idx];
    out[n++] = request->n_labels;
    return n;
}

static void add_draw(const struct sum *sum, size_t cask_idx, size_t day_idx,
                     enum stv_stock_figure figure, size_t draw, double amount)
{
    int64_t parts = parts_in(amount) * (int64_t)n_alike_of(sum->request, cask_idx);
    size_t labels[3], n = labels_of(sum->request, cask_idx, labels);
    for (size_t i = 0; i < n; i++)
        parts_of(sum, labels[i], day_idx, figure)[draw] += parts;
}

/* Values of one cask on its days. */
struct told {
    const double *values;
    size_t n_draws;
};

static double at(const struct told *told, size_t day, enum stv_quantity quantity, size_t draw)
{
    return told->values[(day * STV_Q_N + (size_t)quantity) * told->n_draws + draw];
}

static double held_l(const struct told *told, size_t day, size_t draw)
{
    double lpa_l = at(told, day, STV_Q_LPA_L, draw);
    return isfinite(lpa_l) ? lpa_l : 0.0;
}

/* Alcohol that came in on a day by the ledger; what left with the cask's emptying is all there was.
 */
static void pourings_of(const struct days *days, int cask_idx, int64_t day_d, double *out_filled_l,
                        bool *out_is_emptied, bool *out_is_moved)
{
    *out_filled_l = 0.0;
    *out_is_emptied = *out_is_moved = false;
    for (size_t e = 0; e < days->n_events; e++) {
        const struct stv_event *event = days->events[e];
        if (event->day_d != day_d)
            continue;
        bool is_own = event->cask_idx == cask_idx;
        if (is_own && (event->kind == STV_EVENT_FILL || event->kind == STV_EVENT_TOP_UP))
            *out_filled_l += event->volume20_l * event->abv20_frac;
        *out_is_emptied |= is_own && event->kind == STV_EVENT_EMPTY;
        *out_is_moved |= event->kind == STV_EVENT_TRANSFER && is_poured(event, cask_idx);
    }
}

/* Top-ups of a span; of a cask that is told in it. */
static double topped_l(const struct days *days, int cask_idx, int64_t from_d, int64_t to_d)
{
    double sum_l = 0.0;
    for (size_t e = 0; e < days->n_events; e++) {
        const struct stv_event *event = days->events[e];
        if (event->kind == STV_EVENT_TOP_UP && event->cask_idx == cask_idx &&
            event->day_d > from_d && event->day_d <= to_d)
            sum_l += event->volume20_l * event->abv20_frac;
    }
    return sum_l;
}

static void add_quiet_span(const struct sum *sum, size_t cask_idx, size_t day_idx,
                           const struct told *told, size_t to)
{
    const struct days *days = &sum->days[cask_idx];
    double filled_l = topped_l(days, (int)cask_idx, days->days_d[to - 1], days->days_d[to]);
    for (size_t k = 0; k < told->n_draws; k++) {
        double all_l = 0.0, angels_l = 0.0;
        bool is_told =
            isfinite(at(told, to, STV_Q_LPA_L, k)) && isfinite(at(told, to - 1, STV_Q_LPA_L, k));
        if (!is_told) { /* a sample took all there was: nothing more is told of it */
            all_l = held_l(told, to - 1, k) + filled_l - held_l(told, to, k);
            add_draw(sum, cask_idx, day_idx, STV_STOCK_SAMPLES_LPA_L, k, all_l);
        }
        for (size_t l = 0; is_told && l < LOSSES_N; l++) {
            double lost_l =
                at(told, to, loss_quantities[l], k) - at(told, to - 1, loss_quantities[l], k);
            add_draw(sum, cask_idx, day_idx,
                     (enum stv_stock_figure)((size_t)STV_STOCK_WOOD_AIR_LPA_L + l), k, lost_l);
            all_l += lost_l;
            angels_l += l < 2 ? lost_l : 0.0;
        }
        add_draw(sum, cask_idx, day_idx, STV_STOCK_LOST_LPA_L, k, all_l);
        add_draw(sum, cask_idx, day_idx, STV_STOCK_ANGELS_LPA_L, k, angels_l);
        add_draw(sum, cask_idx, day_idx, STV_STOCK_FILLED_LPA_L, k, filled_l);
    }
}

static void add_poured_day(const struct sum *sum, size_t cask_idx, size_t day_idx,
                           const struct told *told, size_t to)
{
    double filled_l;
    bool is_emptied, is_moved;
    const struct days *days = &sum->days[cask_idx];
    pourings_of(days, (int)cask_idx, days->days_d[to], &filled_l, &is_emptied, &is_moved);
    for (size_t k = 0; k < told->n_draws; k++) {
        double before_l = held_l(told, to - 1, k), after_l = held_l(told, to, k);
        add_draw(sum, cask_idx, day_idx, STV_STOCK_FILLED_LPA_L, k, filled_l);
        if (is_emptied)
            add_draw(sum, cask_idx, day_idx, STV_STOCK_TAKEN_LPA_L, k, before_l);
        double rest_l = filled_l + before_l - after_l - (is_emptied ? before_l : 0.0);
        if (is_moved) {
            add_draw(sum, cask_idx, day_idx, STV_STOCK_MOVED_LPA_L, k, -rest_l);
            continue;
        }
        /* A sample of the very day of a fill. */
        add_draw(sum, cask_idx, day_idx, STV_STOCK_SAMPLES_LPA_L, k, rest_l);
        add_draw(sum, cask_idx, day_idx, STV_STOCK_LOST_LPA_L, k, rest_l);
    }
}

/* Whether a full cask is ready on a day, as the figure of its alcohol; more wood than is allowed
 * comes first, for no waiting mends it. */
static enum stv_stock_figure readiness(const struct sum *sum, bool is_old, const struct told *told,
                                       size_t day, size_t draw)
{
    const struct stv_house_rules *rules = sum->request->house->rules;
    double wood_nd = at(told, day, STV_Q_WOOD_INDEX_ND, draw);
    if (wood_nd > rules->wood_most_nd)
        return STV_STOCK_OVER_LPA_L;
    if (!is_old || !(wood_nd >= rules->wood_least_nd))
        return STV_STOCK_YOUNG_LPA_L;
    double least_frac = fmax(rules->least_abv20_frac, rules->bottling_abv20_frac);
    return at(told, day, STV_Q_ABV20_FRAC, draw) >= least_frac ? STV_STOCK_READY_LPA_L
                                                               : STV_STOCK_WEAK_LPA_L;
}

static void add_held(const struct sum *sum, size_t cask_idx, size_t day_idx,
                     const struct told *told, size_t day)
{
    static const enum stv_quantity held[3] = {STV_Q_LPA_L, STV_Q_VOLUME20_L, STV_Q_BOTTLES_ND};
    size_t n_days = sum->request->n_days, labels[3];
    size_t n_full = 0;
    bool is_old = sum->request->days_d[day_idx] >= sum->old_enough_d[cask_idx * n_days + day_idx];
    for (size_t k = 0; k < told->n_draws; k++) {
        for (size_t q = 0; q < 3; q++)
            add_draw(sum, cask_idx, day_idx, (enum stv_stock_figure)q, k,
                     at(told, day, held[q], k));
        double lpa_l = at(told, day, STV_Q_LPA_L, k);
        if (!isfinite(lpa_l))
            continue;
        n_full++;
        enum stv_stock_figure as = readiness(sum, is_old, told, day, k);
        size_t casks = (size_t)as + STV_STOCK_YOUNG_CASKS_ND - STV_STOCK_YOUNG_LPA_L;
        add_draw(sum, cask_idx, day_idx, as, k, lpa_l);
        add_draw(sum, cask_idx, day_idx, (enum stv_stock_figure)casks, k, 1.0);
    }
    for (size_t i = 0, n = labels_of(sum->request, cask_idx, labels); i < n; i++)
        if (n_full > 0 && 2 * n_full >= told->n_draws)
            sum->out->n_full[labels[i] * n_days + day_idx] += n_alike_of(sum->request, cask_idx);
}

static void add_cask(const struct sum *sum, size_t cask_idx, const double *values)
{
    const struct days *days = &sum->days[cask_idx];
    const struct told told = {values, sum->out->n_draws};
    for (size_t d = 0, asked = 0; d < days->n; d++) {
        bool is_asked = days->days_d[d] == sum->request->days_d[asked];
        if (d > 0 && days->days_d[d] == days->days_d[d - 1] + 1 &&
            has_pouring(days, (int)cask_idx, days->days_d[d]))
            add_poured_day(sum, cask_idx, asked, &told, d);
        else if (d > 0)
            add_quiet_span(sum, cask_idx, asked, &told, d);
        if (is_asked)
            add_held(sum, cask_idx, asked++, &told, d);
    }
}

static enum stv_status take_cask(void *context, size_t cask_idx, const double *values)
{
    const struct sum *sum = context;
#pragma omp critical
    add_cask(sum, cask_idx, values);
    return STV_OK;
}

/* --- the house ----------------------------------------------------------------------------- */

/* Hands each cask its events. */
static void share_events(struct sum *sum)
{
    const struct stv_ledger *ledger = sum->request->house->ledger;
    size_t first = 0;
    for (size_t e = 0; e < ledger->n_events; e++) {
        const struct stv_event *event = &ledger->events[e];
        sum->days[event->cask_idx].n_events++;
        if (event->other_idx >= 0)
            sum->days[event->other_idx].n_events++;
    }
    for (size_t c = 0; c < ledger->n_casks; c++) {
        sum->days[c].events = sum->events + first;
        first += sum->days[c].n_events;
        sum->days[c].n_events = 0;
    }
    for (size_t e = 0; e < ledger->n_events; e++) {
        const int cask_idx[2] = {ledger->events[e].cask_idx, ledger->events[e].other_idx};
        for (size_t i = 0; i < 2 && cask_idx[i] >= 0; i++) {
            struct days *days = &sum->days[cask_idx[i]];
            sum->events[(size_t)(days->events - sum->events) + days->n_events++] =
                &ledger->events[e];
        }
    }
}

/* The day on which what a cask holds on each day asked for is old enough; the past when it is
 * empty.
 */
static enum stv_status find_ages(struct sum *sum)
{
    const struct stv_stock_request *request = sum->request;
    const struct stv_ledger *ledger = request->house->ledger;
    struct stv_lineage *lineage = NULL;
    sum->old_enough_d = calloc(ledger->n_casks * request->n_days + 1, sizeof *sum->old_enough_d);
    if (!sum->old_enough_d)
        return STV_E_MEMORY;
    enum stv_status status = stv_lineage_new(ledger, request->days_d[0], &lineage);
    for (size_t d = 0; d < request->n_days && status == STV_OK; d++) {
        stv_lineage_advance(lineage, request->days_d[d]);
        for (size_t c = 0; c < ledger->n_casks; c++) {
            struct stv_spirit_history spirit = stv_lineage_spirit(lineage, (int)c);
            sum->old_enough_d[c * request->n_days + d] =
                spirit.is_there
                    ? stv__old_enough_day(request->house->rules, spirit.youngest.to_day_d)
                    : INT64_MIN;
        }
    }
    stv_lineage_free(lineage);
    return status;
}

static enum stv_status make_room(struct sum *sum)
{
    const struct stv_stock_request *request = sum->request;
    struct stv_stock *out = sum->out;
    size_t n_casks = request->house->ledger->n_casks;
    size_t n = (request->n_labels + 1) * request->n_days * STV_STOCK_N * out->n_draws;
    sum->days = calloc(n_casks + 1, sizeof *sum->days);
    sum->days_of = calloc(n_casks + 1, sizeof *sum->days_of);
    sum->n_days_of = calloc(n_casks + 1, sizeof *sum->n_days_of);
    sum->parts = calloc(n, sizeof *sum->parts);
    sum->events = calloc(2 * request->house->ledger->n_events + 1, sizeof *sum->events);
    out->values = calloc(n, sizeof *out->values);
    out->n_full = calloc((request->n_labels + 1) * request->n_days, sizeof *out->n_full);
    bool has_all = sum->days && sum->days_of && sum->n_days_of && sum->parts && sum->events &&
                   out->values && out->n_full;
    enum stv_status status = has_all ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK)
        status = find_ages(sum);
    if (status == STV_OK)
        share_events(sum);
    for (size_t c = 0; c < n_casks && status == STV_OK; c++) {
        status = list_days(request, (int)c, &sum->days[c]);
        sum->days_of[c] = sum->days[c].days_d;
        sum->n_days_of[c] = sum->days[c].n;
    }
    return status;
}

static enum stv_status run_house(struct sum *sum)
{
    struct stv_outlook_request house = *sum->request->house;
    const struct stv_outlook_rows rows = {sum->days_of, sum->n_days_of, take_cask, sum};
    struct stv_outlook outlook;
    house.days_d = sum->request->days_d;
    house.n_days = house.n_sums = 0;
    house.sums = NULL;
    house.keeps_ranges_only = 1;
    house.rows = &rows;
    enum stv_status status = stv_outlook_run(&house, &outlook);
    if (status == STV_OK)
        stv_outlook_free(&outlook);
    return status;
}

static bool is_sound(const struct stv_stock_request *request)
{
    for (size_t d = 1; d < request->n_days; d++)
        if (request->days_d[d] <= request->days_d[d - 1])
            return false;
    for (size_t c = 0; c < request->house->ledger->n_casks; c++)
        if (request->label_of_cask[c] >= request->n_labels ||
            (request->kind_of_cask && request->kind_of_cask[c] >= request->n_labels))
            return false;
    return request->n_days > 0;
}

enum stv_status stv_stock_sum(const struct stv_stock_request *request, struct stv_stock *out)
{
    *out = (struct stv_stock){0};
    if (!is_sound(request))
        return STV_E_ARG;
    *out = (struct stv_stock){
        .n_days = request->n_days,
        .n_labels = request->n_labels,
        .n_draws = request->house->options.n_draws ? request->house->options.n_draws : 1};
    struct sum sum = {.request = request, .out = out};
    enum stv_status status = make_room(&sum);
    if (status == STV_OK)
        status = run_house(&sum);
    size_t n = (out->n_labels + 1) * out->n_days * STV_STOCK_N * out->n_draws;
    for (size_t i = 0; i < n && status == STV_OK; i++)
        out->values[i] = (double)sum.parts[i] / PARTS_PER_L;
    for (size_t c = 0; sum.days && c < request->house->ledger->n_casks; c++)
        free(sum.days[c].days_d);
    free(sum.days);
    free(sum.days_of);
    free(sum.n_days_of);
    free(sum.events);
    free(sum.parts);
    free(sum.old_enough_d);
    if (status != STV_OK)
        stv_stock_free(out);
    return status;
}

void stv_stock_free(struct stv_stock *stock)
{
    free(stock->values);
    free(stock->n_full);
    *stock = (struct stv_stock){0};
}

const double *stv_stock_draws_nd(const struct stv_stock *stock, size_t label_idx, size_t day_idx,
                                 enum stv_stock_figure figure)
{
    return stock->values +
           ((label_idx * stock->n_days + day_idx) * STV_STOCK_N + (size_t)figure) * stock->n_draws;
}

struct stv_range stv_stock_range(const struct stv_stock *stock, size_t label_idx, size_t day_idx,
                                 enum stv_stock_figure figure)
{
    struct stv_range range = stv_range_point((double)NAN);
    double *copy = malloc(stock->n_draws * sizeof *copy);
    if (!copy)
        return range;
    memcpy(copy, stv_stock_draws_nd(stock, label_idx, day_idx, figure),
           stock->n_draws * sizeof *copy);
    range = stv_range_of(copy, stock->n_draws);
    free(copy);
    return range;
}

struct stv_range stv_stock_lost_frac(const struct stv_stock *stock, size_t label_idx,
                                     size_t day_idx)
{
    struct stv_range range = stv_range_point((double)NAN);
    double *fracs = day_idx ? malloc(stock->n_draws * sizeof *fracs) : NULL;
    if (!fracs)
        return range;
    const double *lost = stv_stock_draws_nd(stock, label_idx, day_idx, STV_STOCK_LOST_LPA_L);
    const double *held = stv_stock_draws_nd(stock, label_idx, day_idx - 1, STV_STOCK_LPA_L);
    for (size_t k = 0; k < stock->n_draws; k++)
        fracs[k] = held[k] > 0.0 ? lost[k] / held[k] : (double)NAN;
    range = stv_range_of(fracs, stock->n_draws);
    free(fracs);
    return range;
}

double stv_left_frac(double loss_per_y, double years_y)
{
    if (!(loss_per_y >= 0.0 && loss_per_y <= 1.0 && years_y >= 0.0))
        return (double)NAN;
    return pow(1.0 - loss_per_y, years_y);
}
