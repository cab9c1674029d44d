/* Figures of gauges and of what was told, in one form, from learned-casks.yaml or a forecast. */
#include "cli/told_gauges.h"

#include "cli/cask_lesson.h"

#include <math.h>
#include <stdlib.h>

static struct stv_told_figure figure_of(const struct stv_chain *chain, int cask_idx, int64_t day_d,
                                        enum stv_gauged what)
{
    const struct stv_cask *cask = &chain->book.ledger.casks[cask_idx];
    return (struct stv_told_figure){.cask_id = cask->id,
                                    .wood = cask->history,
                                    .capacity_l = cask->geometry.capacity_l,
                                    .what = what,
                                    .day_d = day_d};
}

/* Gauges of each cask, the last of the book first: head per cask, next per gauge; -1: no more. */
struct own_gauges {
    int *head, *next;
};

static enum stv_status list_gauges(const struct stv_book *book, struct own_gauges *out)
{
    size_t n = book->ledger.n_casks;
    out->head = malloc((n + 1) * sizeof *out->head);
    out->next = malloc((book->n_gauges + 1) * sizeof *out->next);
    if (!out->head || !out->next)
        return STV_E_MEMORY;
    for (size_t c = 0; c < n; c++)
        out->head[c] = -1;
    for (size_t i = 0; i < book->n_gauges; i++) {
        int *head = &out->head[book->gauges[i].cask_idx];
        out->next[i] = *head;
        *head = (int)i;
    }
    return STV_OK;
}

/* The gauge's own error of a figure of that day; NaN where the book has no such gauge any more. */
static double sd_of(const struct stv_book *book, const struct own_gauges *own,
                    const struct stv_learned_told *told)
{
    bool is_litres = told->kind == STV_FIT_VOLUME;
    for (int i = own->head[told->cask_idx]; i >= 0; i = own->next[i]) {
        const struct stv_gauge *gauge = &book->gauges[i];
        double value = is_litres ? gauge->volume20_l : gauge->abv20_frac;
        if (gauge->day_d == told->day_d && fabs(value - told->value) <= 1e-6 * fabs(value))
            return is_litres ? gauge->volume_sd_l : gauge->abv_sd_frac;
    }
    return (double)NAN;
}

static void take_learned(const struct stv_chain *chain, const struct own_gauges *own,
                         struct stv_told_figures *out)
{
    const struct stv_learned_casks *learned = &chain->learned_casks;
    for (size_t i = 0; i < learned->n_told; i++) {
        const struct stv_learned_told *told = &learned->told[i];
        bool is_amount = told->kind == STV_FIT_VOLUME || told->kind == STV_FIT_STRENGTH;
        if (!is_amount || told->day_d > chain->as_of_day_d)
            continue;
        double reach = STV_RANGE_ERRORS * told->then_error;
        struct stv_told_figure figure =
            figure_of(chain, told->cask_idx, told->day_d,
                      told->kind == STV_FIT_VOLUME ? STV_GAUGED_LITRES : STV_GAUGED_STRENGTH);
        figure.told = told->then_value;
        figure.told_p05 = told->then_value - reach;
        figure.told_p95 = told->then_value + reach;
        figure.measured = told->value;
        figure.measured_sd = sd_of(&chain->book, own, told);
        figure.is_miss = stv_told_is_miss(told);
        figure.is_left_out = told->is_left_out;
        out->figures[out->n++] = figure;
    }
}

/* A figure beside a range in which no gauge had a part: their errors go together in quadrature. */
static void add_figure(struct stv_told_figure figure, struct stv_range range, double measured,
                       double sd, struct stv_told_figures *out)
{
    if (!isfinite(measured) || !isfinite(range.p50))
        return;
    figure.told = range.p50;
    figure.told_p05 = range.p05;
    figure.told_p95 = range.p95;
    figure.measured = measured;
    figure.measured_sd = sd;
    double side = measured < range.p50 ? range.p50 - range.p05 : range.p95 - range.p50;
    figure.is_miss =
        fabs(measured - range.p50) > hypot(side, isfinite(sd) ? STV_RANGE_ERRORS * sd : 0.0);
    out->figures[out->n++] = figure;
}

static void take_forecast(const struct stv_chain *chain, const struct stv_forecast *forecast,
                          struct stv_told_figures *out)
{
    for (size_t i = 0; i < forecast->n_casks; i++) {
        const struct stv_forecast_cask *cask = &forecast->casks[i];
        if (cask->gauge_idx < 0)
            continue;
        const struct stv_gauge *gauge = &chain->book.gauges[cask->gauge_idx];
        if (gauge->is_suspect)
            continue;
        add_figure(figure_of(chain, cask->cask_idx, gauge->day_d, STV_GAUGED_LITRES),
                   cask->at_gauge.quantity[STV_Q_VOLUME20_L], gauge->volume20_l, gauge->volume_sd_l,
                   out);
        add_figure(figure_of(chain, cask->cask_idx, gauge->day_d, STV_GAUGED_STRENGTH),
                   cask->at_gauge.quantity[STV_Q_ABV20_FRAC], gauge->abv20_frac, gauge->abv_sd_frac,
                   out);
    }
}

enum stv_status stv_told_figures_find(const struct stv_chain *chain,
                                      const struct stv_forecast *forecast,
                                      struct stv_told_figures *out)
{
    size_t n_told = chain->learned_casks.n_told;
    size_t room = n_told > 0 ? n_told : STV_GAUGED_N * forecast->n_casks;
    *out = (struct stv_told_figures){calloc(room + 1, sizeof *out->figures), 0, n_told > 0};
    if (!out->figures)
        return STV_E_MEMORY;
    if (!out->is_then) {
        take_forecast(chain, forecast, out);
        return STV_OK;
    }
    struct own_gauges own = {0};
    enum stv_status status = list_gauges(&chain->book, &own);
    if (status == STV_OK)
        take_learned(chain, &own, out);
    free(own.head);
    free(own.next);
    return status;
}
