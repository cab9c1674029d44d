#include "cli/own_days.h"

#include <stdlib.h>
#include <string.h>

enum stv_status stv__own_days_new(size_t n_casks, struct stv__own_days *out)
{
    *out = (struct stv__own_days){
        .n_casks = n_casks,
        .lists = calloc(n_casks + 1, sizeof *out->lists),
        .days_d = calloc(n_casks + 1, sizeof *out->days_d),
        .n_days = calloc(n_casks + 1, sizeof *out->n_days),
    };
    return out->lists && out->days_d && out->n_days ? STV_OK : STV_E_MEMORY;
}

void stv__own_days_free(struct stv__own_days *own)
{
    for (size_t c = 0; own->lists && c < own->n_casks; c++)
        free(own->lists[c].days_d);
    free(own->lists);
    free(own->days_d);
    free(own->n_days);
    *own = (struct stv__own_days){0};
}

static enum stv_status add_event(struct stv__day_list *list, int64_t day_d)
{
    enum stv_status status = stv__day_add(list, day_d - 1);
    return status == STV_OK ? stv__day_add(list, day_d) : status;
}

enum stv_status stv__own_days_add_events(const struct stv_ledger *ledger, int64_t end_d,
                                         struct stv__own_days *own)
{
    enum stv_status status = STV_OK;
    for (size_t i = 0; i < ledger->n_events && status == STV_OK; i++) {
        const struct stv_event *event = &ledger->events[i];
        if (event->day_d > end_d)
            continue;
        status = add_event(&own->lists[event->cask_idx], event->day_d);
        if (status == STV_OK && event->other_idx >= 0)
            status = add_event(&own->lists[event->other_idx], event->day_d);
    }
    return status;
}

void stv__own_days_seal(struct stv__own_days *own)
{
    for (size_t c = 0; c < own->n_casks; c++) {
        stv__day_seal(&own->lists[c]);
        own->days_d[c] = own->lists[c].days_d;
        own->n_days[c] = own->lists[c].n;
    }
}

static struct stv_range range_of(const double *values, size_t n_draws, double *room)
{
    memcpy(room, values, n_draws * sizeof *room);
    return stv_range_of(room, n_draws);
}

enum stv_status stv__own_days_told(const struct stv__own_days *own, size_t cask_idx,
                                   const double *values, size_t n_draws, struct stv_fan_days *out)
{
    size_t n = own->n_days[cask_idx];
    double *room = malloc((n_draws + 1) * sizeof *room);
    *out = (struct stv_fan_days){malloc((n + 1) * sizeof *out->days), n};
    if (!room || !out->days) {
        free(room);
        return STV_E_MEMORY;
    }
    for (size_t d = 0; d < n; d++) {
        const double *of_day = values + d * STV_Q_N * n_draws;
        out->days[d] = (struct stv_fan_day){
            own->days_d[cask_idx][d], range_of(of_day + STV_Q_ABV20_FRAC * n_draws, n_draws, room),
            range_of(of_day + STV_Q_VOLUME20_L * n_draws, n_draws, room)};
    }
    free(room);
    return STV_OK;
}
