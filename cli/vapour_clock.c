/* The answer of `vapour` cut down to what its clock shows. */
#include "cli/vapour_clock.h"

#include "cli/vapour.h"
#include "model/calendar.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void take(const struct stv_chain *chain, const struct stv_vapour_store *store,
                 struct stv_vapour_clock *clock)
{
    const struct stv_grid *grid = &chain->weather.grid;
    int32_t second_s;
    if (!store->has_clock || store->n_worst == 0)
        return;
    memcpy(clock->highest_ppm, store->clock_ppm, sizeof clock->highest_ppm);
    clock->n_casks = store->n_casks;
    clock->is_listed_alone = store->name && !store->is_stock_said;
    clock->worst_ppm = store->ranges.peak_ppm;
    clock->worst_day_d = stv_local_day(store->worst[0].time_s - 1, grid->utc_offset_min, &second_s);
    clock->worst_hour = (int)(second_s / (int32_t)STV_HOUR_S);
    clock->is_typical = grid->is_typical;
    clock->has_any = true;
}

enum stv_status stv_vapour_clocks(const struct stv_chain *chain, const struct stv_outlook *outlook,
                                  struct stv_vapour_clock **out)
{
    struct stv_outlook today = {0};
    struct stv_vapour_answer answer = {0};
    size_t n = chain->book.n_warehouses;
    struct stv_vapour_clock *clocks = calloc(n + 1, sizeof *clocks);
    *out = clocks;
    if (!clocks)
        return STV_E_MEMORY;
    for (size_t w = 0; w < n; w++) {
        clocks[w].name = chain->book.warehouses[w].name;
        clocks[w].caution = STV_VAPOUR_CAUTION_WITH("°");
    }
    enum stv_status status = stv_outlook_pick(outlook, &chain->as_of_day_d, 1, &today);
    if (status == STV_OK)
        status = stv_chain_vapour_of(chain, &today, (double)NAN, &answer);
    for (size_t w = 0; w < n && status == STV_OK; w++)
        take(chain, &answer.stores[w], &clocks[w]);
    stv_vapour_answer_free(&answer);
    stv_outlook_free(&today);
    return status == STV_E_NO_DATA && !chain->has_weather ? STV_OK : status;
}
