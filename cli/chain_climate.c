/* Second part of the chain: weather completed, buildings run, positions joined, seasons judged. */
#include "cli/chain.h"
#include "cli/chain_gaps.h"
#include "cli/chain_learned.h"

#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define YEAR_D 365
#define KNOWN_HOURS 20 /* of a day; a step of the year needs as good a share */

/* Loggers of one tier (bay -1) or of one bay; those of a bay speak for their tier too. */
size_t stv_chain_loggers_of(const struct stv_chain *chain, const struct stv_place *place,
                            const struct stv_logger_hours **out)
{
    size_t n = 0;
    for (size_t i = 0; i < chain->book.n_loggers; i++) {
        const struct stv_logger_hours *logger = &chain->loggers[i];
        if (chain->logger_reports[i].n_used == 0 ||
            logger->place.warehouse_idx != place->warehouse_idx ||
            logger->place.tier_idx != place->tier_idx)
            continue;
        if (place->bay_idx < 0 || (logger->place.bay_idx == place->bay_idx &&
                                   logger->place.depth_idx == place->depth_idx))
            out[n++] = logger;
    }
    return n;
}

/* Without weather, a tier without a logger borrows the nearest tier's. */
static size_t borrowed_loggers(const struct stv_chain *chain, struct stv_place place,
                               size_t n_tiers, const struct stv_logger_hours **out)
{
    int own_tier = place.tier_idx;
    for (int away = 1; away < (int)n_tiers; away++) {
        for (int side = -1; side <= 1; side += 2) {
            place.tier_idx = own_tier + side * away;
            size_t n = stv_chain_loggers_of(chain, &place, out);
            if (n > 0)
                return n;
        }
    }
    return 0;
}

static enum stv_status join_place(const struct stv_chain *chain, size_t warehouse_idx,
                                  struct stv_place place, const struct stv_logger_hours **room,
                                  struct stv_position *out)
{
    const struct stv_building_climate *climate = &chain->warehouses[warehouse_idx].climate;
    size_t n = stv_chain_loggers_of(chain, &place, room);
    bool is_borrowed = n == 0 && climate->n_tiers == 0;
    if (is_borrowed)
        n = borrowed_loggers(chain, place, chain->book.warehouses[warehouse_idx].building.n_tiers,
                             room);
    struct stv_air_hours told;
    bool is_told = stv_chain_told(chain, &place, &told);
    enum stv_status status = stv_position_join(place, climate->n_tiers ? climate : NULL,
                                               is_told ? &told : NULL, room, n, out);
    if (status == STV_OK && is_borrowed) {
        out->source = STV_SOURCE_BORROWED;
        out->measured_frac = 0.0;
    }
    return status;
}

/* Bays that have a logger of their own beside another one in the same tier. */
static bool has_own_climate(const struct stv_chain *chain, size_t logger_idx,
                            const struct stv_logger_hours **room)
{
    struct stv_place place = chain->loggers[logger_idx].place;
    if (place.warehouse_idx < 0 || place.bay_idx < 0 ||
        chain->logger_reports[logger_idx].n_used == 0)
        return false;
    for (size_t i = 0; i < logger_idx; i++) {
        struct stv_place other = chain->loggers[i].place;
        if (memcmp(&other, &place, sizeof place) == 0)
            return false; /* the earlier logger already made this position */
    }
    place.bay_idx = place.depth_idx = -1;
    return stv_chain_loggers_of(chain, &place, room) > 1;
}

/* Whether a tier's own loggers say enough for its other hours, and for its neighbours'. */
static bool is_settled(const struct stv_position *tier, enum stv_follow what)
{
    if (what == STV_FOLLOW_VAPOUR)
        return tier->is_vapour_settled;
    return tier->rest == STV_REST_MOVED || tier->rest == STV_REST_LEARNED;
}

/* The nearest tiers with what a tier lacks. */
static struct stv_neighbours neighbours_of(const struct stv_chain *chain, size_t warehouse_idx,
                                           size_t tier, enum stv_follow what)
{
    const struct stv_chain_warehouse *warehouse = &chain->warehouses[warehouse_idx];
    struct stv_neighbours found = {NULL, NULL};
    for (size_t t = tier; t-- > 0 && !found.below;)
        if (is_settled(&warehouse->positions[t], what))
            found.below = &warehouse->positions[t];
    for (size_t t = tier + 1; t < warehouse->n_tiers && !found.above; t++)
        if (is_settled(&warehouse->positions[t], what))
            found.above = &warehouse->positions[t];
    return found;
}

/* Tiers that lack a kind of logger follow those that have it. */
static enum stv_status follow_neighbours(struct stv_chain *chain, size_t warehouse_idx,
                                         enum stv_follow what)
{
    struct stv_chain_warehouse *warehouse = &chain->warehouses[warehouse_idx];
    if (warehouse->climate.n_tiers == 0)
        return STV_OK;
    for (size_t t = 0; t < warehouse->n_tiers; t++) {
        if (is_settled(&warehouse->positions[t], what))
            continue;
        struct stv_neighbours neighbours = neighbours_of(chain, warehouse_idx, t, what);
        if (!neighbours.below && !neighbours.above)
            return STV_OK;
        enum stv_status status =
            stv_position_follow(&warehouse->positions[t], &warehouse->climate, &neighbours, what);
        if (status != STV_OK)
            return status;
    }
    return STV_OK;
}

/* A tier that follows others is known no better than they are. */
static void judge_errors(struct stv_chain *chain, size_t warehouse_idx)
{
    struct stv_chain_warehouse *warehouse = &chain->warehouses[warehouse_idx];
    for (size_t p = 0; p < warehouse->n_positions; p++)
        warehouse->positions[p].error = stv_chain_own_error(chain, &warehouse->positions[p]);
    for (size_t t = 0; t < warehouse->n_tiers && warehouse->climate.n_tiers > 0; t++) {
        struct stv_position *tier = &warehouse->positions[t];
        struct stv_neighbours air = neighbours_of(chain, warehouse_idx, t, STV_FOLLOW_AIR);
        struct stv_neighbours vapour = neighbours_of(chain, warehouse_idx, t, STV_FOLLOW_VAPOUR);
        if (tier->source == STV_SOURCE_MEASURED)
            continue;
        if (!is_settled(tier, STV_FOLLOW_AIR) && (air.below || air.above))
            tier->error.liquid_k = stv_chain_following_error(chain, warehouse_idx, &air).liquid_k;
        if (!is_settled(tier, STV_FOLLOW_VAPOUR) && (vapour.below || vapour.above))
            tier->error.rh_frac = stv_chain_following_error(chain, warehouse_idx, &vapour).rh_frac;
    }
}

static enum stv_status join_positions(struct stv_chain *chain, size_t warehouse_idx)
{
    struct stv_chain_warehouse *warehouse = &chain->warehouses[warehouse_idx];
    size_t n_tiers = chain->book.warehouses[warehouse_idx].building.n_tiers;
    const struct stv_logger_hours **room = malloc((chain->book.n_loggers + 1) * sizeof *room);
    warehouse->positions = calloc(n_tiers + chain->book.n_loggers, sizeof *warehouse->positions);
    enum stv_status status = room && warehouse->positions ? STV_OK : STV_E_MEMORY;
    warehouse->n_tiers = n_tiers;
    for (size_t t = 0; t < n_tiers && status == STV_OK; t++) {
        struct stv_place place = {(int)warehouse_idx, (int)t, -1, -1};
        status = join_place(chain, warehouse_idx, place, room,
                            &warehouse->positions[warehouse->n_positions++]);
    }
    for (size_t i = 0; i < chain->book.n_loggers && status == STV_OK; i++)
        if (chain->loggers[i].place.warehouse_idx == (int)warehouse_idx &&
            has_own_climate(chain, i, room))
            status = join_place(chain, warehouse_idx, chain->loggers[i].place, room,
                                &warehouse->positions[warehouse->n_positions++]);
    free(room);
    if (status == STV_OK)
        status = follow_neighbours(chain, warehouse_idx, STV_FOLLOW_AIR);
    if (status == STV_OK)
        status = follow_neighbours(chain, warehouse_idx, STV_FOLLOW_VAPOUR);
    if (status == STV_OK)
        judge_errors(chain, warehouse_idx);
    return status;
}

static enum stv_status run_warehouses(struct stv_chain *chain)
{
    chain->warehouses = calloc(chain->book.n_warehouses + 1, sizeof *chain->warehouses);
    if (!chain->warehouses)
        return STV_E_MEMORY;
    for (size_t w = 0; w < chain->book.n_warehouses; w++) {
        enum stv_status status = STV_OK;
        if (chain->has_weather)
            status = stv_building_climate_of(&chain->book.warehouses[w].building, &chain->weather,
                                             chain->cache.path[0] ? &chain->cache.store : NULL,
                                             &chain->warehouses[w].climate);
        if (status == STV_OK)
            status = stv_chain_tell(chain, w);
        if (status == STV_OK)
            status = stv_chain_fill_gaps(chain, w);
        if (status == STV_OK)
            status = join_positions(chain, w);
        if (status != STV_OK)
            return status;
    }
    return STV_OK;
}

static enum stv_status flatten(struct stv_chain *chain)
{
    size_t n = 0;
    for (size_t w = 0; w < chain->book.n_warehouses; w++)
        n += chain->warehouses[w].n_positions;
    chain->flat_positions = malloc((n + 1) * sizeof *chain->flat_positions);
    chain->flat_exposed_frac = malloc((n + 1) * sizeof *chain->flat_exposed_frac);
    if (!chain->flat_positions || !chain->flat_exposed_frac)
        return STV_E_MEMORY;
    size_t at = 0;
    for (size_t w = 0; w < chain->book.n_warehouses; w++) {
        for (size_t p = 0; p < chain->warehouses[w].n_positions; p++) {
            chain->flat_positions[at] = chain->warehouses[w].positions[p];
            chain->flat_exposed_frac[at++] = chain->book.warehouses[w].building.exposed_frac;
        }
    }
    chain->set = (struct stv_position_set){
        .positions = chain->flat_positions,
        .n_positions = n,
        .exposed_frac = chain->flat_exposed_frac,
        .reference_idx = n ? (chain->warehouses[0].n_tiers - 1) / 2 : 0,
    };
    return n ? STV_OK : STV_E_NO_DATA;
}

/* A hole in the temperature that nothing of the record can stand in for. */
static bool note_weather_hole(struct stv_chain *chain)
{
    const struct stv_grid *grid = &chain->record.grid;
    struct stv_weather_hole hole = {0};
    while (stv_weather_next_hole(&chain->record, &hole)) {
        if (hole.is_covered)
            continue;
        struct stv_date first = stv_date_from_day(stv_grid_local_day(grid, hole.from, NULL));
        struct stv_date last =
            stv_date_from_day(stv_grid_local_day(grid, hole.from + hole.n - 1, NULL));
        snprintf(chain->lacking, sizeof chain->lacking,
                 "The weather has no temperature from %d-%02d-%02d to %d-%02d-%02d, %.0f days, and "
                 "no other year of it has them all: a hole of up to %d days is filled from the "
                 "days beside it, a longer one from the same days of other years. Add rows for "
                 "those days, or keep only the rows on one side of the hole.",
                 first.year, first.month, first.day, last.year, last.month, last.day,
                 (double)hole.n * (double)grid->step_s / STV_DAY_S, STV_WEATHER_GAP_D);
        return true;
    }
    return false;
}

/* What a record of weather that stops every answer holds, and what is wanted. */
static void note_weather_lacks(struct stv_chain *chain)
{
    const struct stv_weather_record *record = &chain->record;
    const struct stv_grid *grid = &record->grid;
    if (grid->n == 0)
        return;
    const double *temp_c = record->columns[STV_WQ_TEMP_C] ? record->columns[STV_WQ_TEMP_C]
                                                          : record->columns[STV_WQ_TEMP_MIN_C];
    if (note_weather_hole(chain))
        return;
    size_t n_known = 0;
    for (size_t k = 0; temp_c && k < grid->n; k++)
        n_known += isfinite(temp_c[k]);
    struct stv_date first = stv_date_from_day(stv_grid_first_day(grid));
    struct stv_date last = stv_date_from_day(stv_grid_local_day(grid, grid->n - 1, NULL));
    snprintf(chain->lacking, sizeof chain->lacking,
             "The weather file has a temperature for %zu of the %zu %s from %d-%02d-%02d to "
             "%d-%02d-%02d: every part of the year is wanted at least once, without long holes.",
             n_known, grid->n, grid->step_s < STV_DAY_S ? "hours" : "days", first.year, first.month,
             first.day, last.year, last.month, last.day);
}

/* Days of the year that the middle position does not know, and the first of them. */
static int count_unknown_days(const struct stv_chain *chain, int *out_first_doy)
{
    const struct stv_position *middle = &chain->set.positions[chain->set.reference_idx];
    int n_hours[YEAR_D] = {0};
    int n_unknown = 0;
    for (size_t k = 0; k < middle->grid.n; k++)
        if (isfinite(middle->air_c[k]) && isfinite(middle->rh_frac[k]))
            n_hours[stv_season_day(stv_grid_local_day(&middle->grid, k, NULL))]++;
    for (int d = YEAR_D - 1; d >= 0; d--)
        if (n_hours[d] < KNOWN_HOURS) {
            n_unknown++;
            *out_first_doy = d;
        }
    return n_unknown;
}

/* Days of the year that nothing covers stop every answer: say so. */
static void note_unknown_days(struct stv_chain *chain)
{
    int first_doy = 0;
    int n_unknown = count_unknown_days(chain, &first_doy);
    if (n_unknown == 0)
        return;
    if (chain->has_weather) {
        note_weather_lacks(chain);
        return;
    }
    struct stv_date first =
        stv_date_from_day(stv_day_from_date((struct stv_date){2001, 1, 1}) + first_doy);
    snprintf(chain->lacking, sizeof chain->lacking,
             "The loggers leave %d %s of the year unknown or in part, from %d-%02d (month-day) on: "
             "name a weather file in book.yaml, or a logger that covers them, or fill their holes "
             "(holes: in book.yaml).",
             n_unknown, n_unknown == 1 ? "day" : "days", first.month, first.day);
}

enum stv_status stv_chain_climate(struct stv_chain *chain)
{
    enum stv_status status = STV_OK;
    if (chain->has_weather)
        status = stv_weather_complete(&chain->record, &chain->weather);
    if (status == STV_OK)
        status = run_warehouses(chain);
    if (status == STV_OK)
        status = flatten(chain);
    if (status == STV_OK)
        note_unknown_days(chain);
    else if (status == STV_E_NO_DATA)
        note_weather_lacks(chain);
    if (status == STV_OK && chain->as_of_day_d == INT64_MIN) {
        const struct stv_grid *grid = &chain->set.positions[chain->set.reference_idx].grid;
        chain->as_of_day_d = stv_grid_local_day(grid, grid->n - 1, NULL);
        chain->as_of_table = chain->has_weather ? "the weather file" : "the loggers";
    }
    return status;
}

static void months_to_ints(const struct stv_months *months, int out[STV_MONTHS])
{
    for (size_t m = 0; m < STV_MONTHS; m++)
        out[m] = months->holds[m];
}

void stv_chain_named_seasons(const struct stv_months *warm, const struct stv_months *cold,
                             struct stv_season_span out[STV_SEASON_N])
{
    int holds[STV_MONTHS];
    if (warm->is_said) {
        months_to_ints(warm, holds);
        out[STV_SEASON_WARM] = stv_season_of_months(holds);
    }
    if (cold->is_said) {
        months_to_ints(cold, holds);
        out[STV_SEASON_COLD] = stv_season_of_months(holds);
    }
}

/* The tier that stands for a warehouse. */
static const struct stv_position *middle_tier(const struct stv_chain_warehouse *warehouse)
{
    return &warehouse->positions[(warehouse->n_tiers - 1) / 2];
}

enum stv_status stv_chain_seasons(const struct stv_chain *chain, size_t warehouse_idx,
                                  struct stv_season_span out[STV_SEASON_N])
{
    const struct stv_position *middle = middle_tier(&chain->warehouses[warehouse_idx]);
    enum stv_status status = stv_seasons_find(&middle->grid, middle->air_c, out);
    if (status != STV_OK)
        return status;
    stv_chain_named_seasons(&chain->book.warm_months, &chain->book.cold_months, out);
    return STV_OK;
}

static enum stv_status metrics_of(const struct stv_book *book,
                                  const struct stv_chain_warehouse *warehouse,
                                  const struct stv_building *building,
                                  struct stv_warehouse_climate *out)
{
    struct stv_metric_options options = {book->params, book->numbers};
    enum stv_status *status = calloc(warehouse->n_positions + 1, sizeof *status);
    if (!status)
        return STV_E_MEMORY;
#pragma omp parallel for schedule(dynamic)
    for (size_t p = 0; p < warehouse->n_positions; p++) {
        struct stv_position_metrics *to =
            p < out->n_tiers ? &out->tiers[p] : &out->bays[p - out->n_tiers];
        status[p] = stv_position_metrics(&warehouse->positions[p], out->seasons, &options,
                                         building->exposed_frac, to);
    }
    enum stv_status worst = STV_OK;
    for (size_t p = 0; p < warehouse->n_positions && worst == STV_OK; p++)
        worst = status[p];
    free(status);
    return worst;
}

/* The tier whose logger misses the most of the warm season, when it is too much to rank by. */
static int warm_hole_tier(const struct stv_warehouse_climate *warehouse)
{
    int worst = -1;
    double worst_frac = STV_HOLE_MOST_FRAC;
    for (size_t t = 0; t < warehouse->n_tiers; t++) {
        double frac = warehouse->tiers[t].seasons[STV_SEASON_WARM].hole_frac;
        if (frac > worst_frac) {
            worst = (int)t;
            worst_frac = frac;
        }
    }
    return worst;
}

static enum stv_status warehouse_climate(const struct stv_chain *chain, size_t warehouse_idx,
                                         struct stv_warehouse_climate *out)
{
    const struct stv_chain_warehouse *warehouse = &chain->warehouses[warehouse_idx];
    const struct stv_warehouse *described = &chain->book.warehouses[warehouse_idx];
    memcpy(out->name, described->name, sizeof out->name);
    out->building = described->building;
    out->n_tiers = warehouse->n_tiers;
    out->n_bays = warehouse->n_positions - warehouse->n_tiers;
    out->air_change_mean_per_h = warehouse->climate.air_change_mean_per_h;
    out->tiers = calloc(out->n_tiers + 1, sizeof *out->tiers);
    out->bays = calloc(out->n_bays + 1, sizeof *out->bays);
    if (!out->tiers || !out->bays)
        return STV_E_MEMORY;
    enum stv_status status = stv_chain_seasons(chain, warehouse_idx, out->seasons);
    if (status == STV_OK)
        status = metrics_of(&chain->book, warehouse, &described->building, out);
    if (status != STV_OK)
        return status;
    out->warm_hole_tier_idx = warm_hole_tier(out);
    const struct stv_grid *grid = &warehouse->positions[0].grid;
    out->n_years = out->tiers[0].n_years;
    out->first_year = stv_date_from_day(stv_grid_first_day(grid)).year;
    out->last_year = stv_date_from_day(stv_grid_local_day(grid, grid->n - 1, NULL)).year;
    for (size_t s = 0; s < STV_SEASON_N; s++) {
        double means_c[STV_TIERS_MAX];
        for (size_t t = 0; t < out->n_tiers; t++)
            means_c[t] = out->tiers[t].seasons[s].air_mean_c;
        out->gradient_k_m[s] =
            stv_tier_gradient_k_m(means_c, out->n_tiers, out->building.tier_height_m);
    }
    return STV_OK;
}

enum stv_status stv_chain_climate_result(const struct stv_chain *chain,
                                         struct stv_climate_result *out)
{
    *out = (struct stv_climate_result){.n_warehouses = chain->book.n_warehouses};
    out->warehouses = calloc(out->n_warehouses + 1, sizeof *out->warehouses);
    enum stv_status status = out->warehouses ? STV_OK : STV_E_MEMORY;
    for (size_t w = 0; w < out->n_warehouses && status == STV_OK; w++)
        status = warehouse_climate(chain, w, &out->warehouses[w]);
    if (status != STV_OK)
        stv_climate_result_free(out);
    return status;
}

enum stv_status stv_chain_days(const struct stv_chain *chain, size_t warehouse_idx,
                               struct stv_climate_days *out)
{
    const struct stv_chain_warehouse *warehouse = &chain->warehouses[warehouse_idx];
    const struct stv_metric_options options = {chain->book.params, chain->book.numbers};
    return stv_climate_days_make(middle_tier(warehouse), &options,
                                 chain->book.warehouses[warehouse_idx].building.exposed_frac,
                                 &chain->weather, out);
}
