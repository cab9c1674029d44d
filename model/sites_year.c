/* One copy of the cask per position and year; each is emptied when its end has been read, for its
 * later life is not asked. */
#include "model/sites_year.h"

#include "model/calendar.h"
#include "model/sites.h"

#include <math.h>
#include <stdlib.h>

size_t stv__whole_years(const struct stv_grid *grid, int32_t *out_first)
{
    int64_t first_d = stv_grid_local_day(grid, 0, NULL);
    int64_t last_d = stv_grid_local_day(grid, grid->n - 1, NULL);
    struct stv_date first = stv_date_from_day(first_d);
    int32_t year = first.year + (first.month != 1 || first.day != 1);
    *out_first = year;
    size_t n = 0;
    /* A typical year is stored without 29 February and always counts as one. */
    while (stv_day_from_date((struct stv_date){year + (int32_t)n, 12, 31}) <= last_d)
        n++;
    return n;
}

double stv__fresh_fill_l(const struct stv_cask *cask)
{
    return STV_STUDY_FILL_FRAC * cask->geometry.capacity_l;
}

static void add_fill(const struct stv__fresh_fills *fills, size_t position, int64_t day_d,
                     struct stv_ledger *ledger)
{
    size_t cask = ledger->n_casks++;
    ledger->casks[cask] = *fills->cask;
    struct stv_event fill = {
        .day_d = day_d,
        .kind = STV_EVENT_FILL,
        .cask_idx = (int)cask,
        .other_idx = -1,
        .volume20_l = stv__fresh_fill_l(fills->cask),
        .abv20_frac = fills->fill_abv20_frac,
        .water_kg = NAN,
        .place = fills->set->positions[position].place,
        .is_soaked = 1,
        .row = 2 * cask,
    };
    struct stv_event empty = fill;
    empty.kind = STV_EVENT_EMPTY;
    empty.day_d += (int64_t)fills->follow_y * STV__FOLLOWED_D + 1;
    empty.row++;
    ledger->events[ledger->n_events++] = fill;
    ledger->events[ledger->n_events++] = empty;
}

static enum stv_status run_ledger(const struct stv__fresh_fills *fills, int32_t first_year,
                                  size_t n_years, struct stv_ledger *ledger,
                                  struct stv_outlook *out)
{
    int64_t *days_d = malloc(n_years * sizeof *days_d);
    if (!days_d)
        return STV_E_MEMORY;
    for (size_t y = 0; y < n_years; y++)
        days_d[y] = stv_day_from_date((struct stv_date){first_year + (int32_t)y, 1, 1});
    for (size_t p = 0; p < fills->set->n_positions; p++)
        for (size_t y = 0; y < n_years; y++)
            add_fill(fills, p, days_d[y], ledger);
    for (size_t y = 0; y < n_years; y++)
        days_d[y] += (int64_t)fills->follow_y * STV__FOLLOWED_D;
    enum stv_status status = stv_ledger_sort(ledger);
    struct stv_outlook_request ask = {.ledger = ledger,
                                      .set = fills->set,
                                      .rules = fills->rules,
                                      .base = fills->base,
                                      .options = fills->options,
                                      .days_d = days_d,
                                      .n_days = fills->rows ? 0 : n_years,
                                      .rows = fills->rows,
                                      .kept = fills->kept,
                                      .numbers = fills->numbers};
    if (status == STV_OK)
        status = stv_outlook_run(&ask, out);
    free(days_d);
    return status;
}

enum stv_status stv__fresh_fills_run(const struct stv__fresh_fills *fills, int32_t first_year,
                                     size_t n_years, struct stv_outlook *out)
{
    size_t n = fills->set->n_positions * n_years;
    struct stv_ledger ledger = {.casks = calloc(n + 1, sizeof *ledger.casks),
                                .events = calloc(2 * n + 1, sizeof *ledger.events)};
    enum stv_status status = ledger.casks && ledger.events ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK)
        status = run_ledger(fills, first_year, n_years, &ledger, out);
    stv_ledger_free(&ledger);
    return status;
}
