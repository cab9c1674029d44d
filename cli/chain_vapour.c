/* From casks to the air of their warehouse.  Every cask counts with its own size, content and
 * strength; the building's own air, hour by hour, carries away what they give off.
 * Computed after the casks: the room's vapour does not slow them, and the bound of what it could
 * take off is told. */
#include "cli/vapour.h"

#include "model/calendar.h"
#include "model/draws.h"
#include "model/spirit.h"
#include "model/units.h"
#include "model/vapour.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#define YEAR_H (STV_YEAR_D * STV_DAY_H)
#define LOWER_EXPLOSIVE_PPM (10.0 * STV_VAPOUR_TENTH_LEL_PPM)

const struct stv_vapour_limit stv_vapour_limits[STV_VAPOUR_LIMITS] = {
    {STV_VAPOUR_DAY_PPM, "the limit of a working day", "NIOSH REL and OSHA PEL"},
    {STV_VAPOUR_TENTH_LEL_PPM, "a tenth of the lower explosive limit, dangerous to life",
     "NIOSH IDLH"},
    {STV_VAPOUR_QUARTER_LEL_PPM, "a quarter of the lower explosive limit", "NIOSH, LEL 3.3 %"},
};

/* The casks that lie in a warehouse with spirit in them. */
struct crowd {
    struct stv_vapour_cask *casks;
    size_t n;
};

static bool lies_here(const struct stv_chain *chain, size_t cask_idx, size_t warehouse_idx,
                      struct stv_place *out_place)
{
    *out_place = stv_lineage_place(chain->lineage, (int)cask_idx);
    return out_place->warehouse_idx == (int)warehouse_idx ||
           (out_place->warehouse_idx < 0 && chain->book.n_warehouses == 1);
}

static enum stv_status find_crowd(const struct stv_chain *chain, const struct stv_outlook *outlook,
                                  size_t warehouse_idx, struct crowd *out)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    *out = (struct crowd){calloc(ledger->n_casks + 1, sizeof *out->casks), 0};
    if (!out->casks)
        return STV_E_MEMORY;
    for (size_t c = 0; c < ledger->n_casks; c++) {
        struct stv_place place;
        double litres = stv_outlook_range(outlook, c, 0, STV_Q_VOLUME20_L).p50;
        if (!(litres > 0.0) || !lies_here(chain, c, warehouse_idx, &place))
            continue;
        out->casks[out->n++] = (struct stv_vapour_cask){
            .cask = &ledger->casks[c],
            .position_idx = stv_position_of_place(&chain->set, &place),
            .volume20_l = stv_outlook_draws(outlook, c, 0, STV_Q_VOLUME20_L),
            .abv20_frac = stv_outlook_draws(outlook, c, 0, STV_Q_ABV20_FRAC),
            .middle_volume20_l = litres,
            .middle_abv20_frac = stv_outlook_range(outlook, c, 0, STV_Q_ABV20_FRAC).p50};
    }
    return STV_OK;
}

#define APART_S (18 * STV_HOUR_S) /* so that a night has one */

/* Hours that may be the worst: the highest by the default numbers, a night's or a day's first. */
static void find_candidates(const struct stv_chain *chain,
                            const struct stv_building_climate *climate, const double *ppm,
                            const double *release_kg_h, struct stv_vapour_request *request,
                            struct stv_vapour_store *store)
{
    const struct stv_grid *grid = &climate->grid;
    for (store->n_worst = 0; store->n_worst < STV_VAPOUR_WATCH; store->n_worst++) {
        size_t best = SIZE_MAX;
        for (size_t k = 0; k < grid->n; k++) {
            bool is_new = isfinite(ppm[k]) && (best == SIZE_MAX || ppm[k] > ppm[best]);
            int64_t time_s = stv_grid_start_s(grid, k + 1);
            for (size_t w = 0; is_new && w < store->n_worst; w++)
                is_new = llabs(store->worst[w].time_s - time_s) >= APART_S;
            best = is_new ? k : best;
        }
        if (best == SIZE_MAX)
            return;
        request->watch_idx[request->n_watch++] = best;
        store->worst[store->n_worst] =
            (struct stv_vapour_hour){.time_s = stv_grid_start_s(grid, best + 1),
                                     .ppm = ppm[best],
                                     .release_kg_h = release_kg_h[best],
                                     .air_m3_h = request->air_m3_h[best],
                                     .air_c = climate->air_c[best],
                                     .outdoor_c = chain->weather.columns[STV_WC_TEMP_C][best]};
    }
}

static void take_default(const struct stv_vapour_trial *trial, struct stv_vapour_store *store)
{
    store->mean_kg_h = trial->mean_kg_h;
    store->peak_kg_h = trial->peak_kg_h;
    store->peak_vapour_m3_h = trial->peak_vapour_m3_h;
    store->air_mean_m3_h = trial->air_mean_m3_h;
    store->mean_ppm = trial->mean_ppm;
    store->peak_ppm = trial->peak_ppm;
    store->over_day_h_per_y = trial->over_day_frac * YEAR_H;
}

/* Range of one figure of all trials, times a factor. */
static struct stv_range range_of(const struct stv_vapour_trial *trials, size_t n, size_t offset,
                                 double factor_nd, double *room)
{
    for (size_t i = 0; i < n; i++)
        memcpy(&room[i], (const char *)&trials[i] + offset, sizeof *room);
    return stv_range_scaled(stv_range_of(room, n), factor_nd);
}

/* Highest upper end first; alike, the earlier one. */
static int compare_hours(const void *left, const void *right)
{
    const struct stv_vapour_hour *a = left, *b = right;
    if (a->ppm_range.p95 != b->ppm_range.p95)
        return a->ppm_range.p95 > b->ppm_range.p95 ? -1 : 1;
    return (a->time_s > b->time_s) - (a->time_s < b->time_s);
}

/* Of the candidates those whose upper end is highest. */
static void choose_worst(struct stv_vapour_store *store)
{
    qsort(store->worst, store->n_worst, sizeof store->worst[0], compare_hours);
    if (store->n_worst > STV_VAPOUR_WORST)
        store->n_worst = STV_VAPOUR_WORST;
}

/* One number for one figure: the middle of the trials, which is the default's own without any. */
static void take_middles(struct stv_vapour_store *store)
{
    const struct stv_vapour_ranges *ranges = &store->ranges;
    store->mean_kg_h = ranges->mean_kg_h.p50;
    store->peak_kg_h = ranges->peak_kg_h.p50;
    store->peak_vapour_m3_h = ranges->peak_vapour_m3_h.p50;
    store->air_mean_m3_h = ranges->air_mean_m3_h.p50;
    store->mean_ppm = ranges->mean_ppm.p50;
    store->peak_ppm = ranges->peak_ppm.p50;
    store->over_day_h_per_y = ranges->over_day_h_per_y.p50;
}

#define RANGE_OF(field, factor) \
    range_of(trials, n, offsetof(struct stv_vapour_trial, field), factor, room)

static void take_ranges(const struct stv_vapour_trial *trials, size_t n, double *room,
                        struct stv_vapour_store *store)
{
    store->has_ranges = true;
    store->ranges = (struct stv_vapour_ranges){
        .mean_kg_h = RANGE_OF(mean_kg_h, 1.0),
        .peak_kg_h = RANGE_OF(peak_kg_h, 1.0),
        .air_mean_m3_h = RANGE_OF(air_mean_m3_h, 1.0),
        .mean_ppm = RANGE_OF(mean_ppm, 1.0),
        .peak_ppm = RANGE_OF(peak_ppm, 1.0),
        .peak_vapour_m3_h = RANGE_OF(peak_vapour_m3_h, 1.0),
        .over_day_h_per_y = RANGE_OF(over_day_frac, YEAR_H),
    };
    for (size_t w = 0; w < store->n_worst; w++) {
        store->worst[w].ppm_range = RANGE_OF(watch_ppm[w], 1.0);
        store->worst[w].ppm = store->worst[w].ppm_range.p50;
        store->worst[w].release_kg_h = RANGE_OF(watch_kg_h[w], 1.0).p50;
    }
    take_middles(store);
    choose_worst(store);
    struct stv_range *clock_ppm = &store->clock_ppm[0][0];
    for (size_t i = 0; i < STV_MONTHS * STV_DAY_H; i++) {
        size_t offset = offsetof(struct stv_vapour_trial, clock_ppm) + i * sizeof(double);
        clock_ppm[i] = range_of(trials, n, offset, 1.0, room);
        store->has_clock |= isfinite(clock_ppm[i].p50);
    }
}

/* All trials; without any, the default numbers stand for them. */
static enum stv_status run_trials(const struct stv_vapour_request *request,
                                  struct stv_vapour_trial *middle, struct stv_vapour_store *store)
{
    size_t n = request->n_draws > 0 ? request->n_draws : 1;
    struct stv_vapour_trial *trials = calloc(n, sizeof *trials);
    double *room = malloc(n * sizeof *room);
    enum stv_status status = trials && room ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK && request->n_draws > 0)
        status = stv_vapour_trials(request, trials);
    for (size_t w = 0; w < store->n_worst; w++) {
        middle->watch_ppm[w] = store->worst[w].ppm;
        middle->watch_kg_h[w] = store->worst[w].release_kg_h;
    }
    if (status == STV_OK && request->n_draws == 0)
        trials[0] = *middle;
    if (status == STV_OK)
        take_ranges(trials, n, room, store);
    free(room);
    free(trials);
    return status;
}

/* Most that the room's vapour slows a spirit in any hour of one position. */
static enum stv_status slowing_there(const struct stv_chain *chain, size_t position_idx,
                                     double mole_frac, const double *ppm, double pressure_pa,
                                     double *inout_most_frac)
{
    const struct stv_position *position = &chain->set.positions[position_idx];
    double *liquid_c = malloc((position->grid.n + 1) * sizeof *liquid_c);
    if (!liquid_c)
        return STV_E_MEMORY;
    enum stv_status status = stv_position_liquid_c(position, chain->set.exposed_frac[position_idx],
                                                   &chain->book.numbers, liquid_c);
    double most_frac = *inout_most_frac;
    size_t n = status == STV_OK ? position->grid.n : 0;
#pragma omp parallel for reduction(max : most_frac)
    for (size_t k = 0; k < n; k++)
        if (isfinite(ppm[k]) && isfinite(liquid_c[k]))
            most_frac = fmax(most_frac,
                             stv_vapour_slowing_frac(ppm[k], pressure_pa, mole_frac, liquid_c[k]));
    *inout_most_frac = most_frac;
    free(liquid_c);
    return status;
}

/* The same over the store, for the weakest spirit in it, which is slowed the most. */
static enum stv_status slowing_of(const struct stv_chain *chain, const struct crowd *crowd,
                                  const double *ppm, double pressure_pa, double *out_frac)
{
    double weakest_frac = 1.0, ethanol_kg, water_kg;
    *out_frac = 0.0;
    for (size_t c = 0; c < crowd->n; c++)
        weakest_frac = fmin(weakest_frac, crowd->casks[c].middle_abv20_frac);
    enum stv_status status = stv_spirit_masses_kg(1.0, weakest_frac, &ethanol_kg, &water_kg);
    double mole_frac = stv_mole_frac_from_mass_frac(ethanol_kg / (ethanol_kg + water_kg));
    for (size_t p = 0; p < chain->set.n_positions && status == STV_OK; p++) {
        bool is_used = false;
        for (size_t c = 0; c < crowd->n && !is_used; c++)
            is_used = crowd->casks[c].position_idx == p;
        if (is_used)
            status = slowing_there(chain, p, mole_frac, ppm, pressure_pa, out_frac);
    }
    return status;
}

bool stv_vapour_can_burn(const struct stv_vapour_store *store)
{
    double most_ppm =
        store->has_ranges ? fmax(store->peak_ppm, store->ranges.peak_ppm.p95) : store->peak_ppm;
    return most_ppm >= LOWER_EXPLOSIVE_PPM;
}

/* kg of ethanol that, all in the air of the store, reach the lower explosive limit. */
static double spill_kg(double volume_m3, double air_c, double pressure_pa)
{
    return volume_m3 * LOWER_EXPLOSIVE_PPM / 1e6 / stv_vapour_m3_h(1.0, air_c, pressure_pa);
}

/* Where no air passes at all the vapour gathers for as long as anybody cares to count: no figure.
 */
static void forget_air(struct stv_vapour_store *store)
{
    store->mean_ppm = store->peak_ppm = (double)NAN;
    store->over_day_h_per_y = store->slowing_frac = (double)NAN;
    store->ranges.mean_ppm = store->ranges.peak_ppm = store->ranges.over_day_h_per_y =
        stv_range_point((double)NAN);
    store->n_worst = 0;
    store->has_clock = false;
}

static enum stv_status run_store(const struct stv_chain *chain, size_t warehouse_idx,
                                 const struct crowd *crowd, struct stv_vapour_request *request,
                                 struct stv_vapour_store *store)
{
    const struct stv_building_climate *climate = &chain->warehouses[warehouse_idx].climate;
    size_t n = climate->grid.n;
    struct stv_vapour_trial middle;
    double *release_kg_h = malloc(2 * (n + 1) * sizeof *release_kg_h), *ppm = release_kg_h + n;
    if (!release_kg_h)
        return STV_E_MEMORY;
    enum stv_status status = stv_vapour_default(request, release_kg_h, ppm, &middle);
    if (status == STV_OK) {
        take_default(&middle, store);
        if (crowd->n > 0)
            find_candidates(chain, climate, ppm, release_kg_h, request, store);
        status = run_trials(request, &middle, store);
    }
    if (status == STV_OK)
        status = slowing_of(chain, crowd, ppm, request->pressure_pa, &store->slowing_frac);
    if (status == STV_OK) {
        store->spill_kg =
            spill_kg(climate->volume_m3, stv_mean_nd(climate->air_c, n), request->pressure_pa);
        if (store->air_mean_m3_h <= 0.0)
            forget_air(store);
    }
    free(release_kg_h);
    return status;
}

static struct stv_vapour_request request_of(const struct stv_chain *chain, size_t warehouse_idx,
                                            const struct crowd *crowd, const double *air_m3_h)
{
    const struct stv_building_climate *climate = &chain->warehouses[warehouse_idx].climate;
    return (struct stv_vapour_request){
        .casks = crowd->casks,
        .n_casks = crowd->n,
        .crowd_nd = 1.0,
        .set = &chain->set,
        .base = &chain->book.params,
        .numbers = &chain->book.numbers,
        .learned = stv_chain_request(chain).learned,
        .seed = chain->run.seed,
        .store_key = stv_key_of(chain->book.warehouses[warehouse_idx].name),
        .n_draws = chain->run.n_draws,
        .air_m3_h = air_m3_h,
        .air_c = climate->air_c,
        .n_hours = climate->grid.n,
        .volume_m3 = climate->volume_m3,
        .pressure_pa = stv_mean_nd(chain->weather.columns[STV_WC_PRESSURE_PA], climate->grid.n),
    };
}

/* Casks that stand there, as the book says it, and those of them that casks.csv lists.  A number
 * that only the kind of building gave stands for nothing. */
static void count_casks(const struct stv_warehouse *warehouse, size_t n_listed,
                        struct stv_vapour_store *store)
{
    store->n_listed = store->n_casks = (double)n_listed;
    store->is_stock_said = strstr(warehouse->filled_in, "casks stored") == NULL;
    if (!store->is_stock_said)
        return;
    store->n_stored = warehouse->building.n_casks;
    if (n_listed > 0)
        store->n_casks = fmax(store->n_listed, store->n_stored);
}

static enum stv_status run_warehouse(const struct stv_chain *chain, size_t warehouse_idx,
                                     const struct stv_outlook *outlook, double air_change_per_h,
                                     struct stv_vapour_store *store)
{
    const struct stv_building_climate *climate = &chain->warehouses[warehouse_idx].climate;
    struct crowd crowd;
    *store = (struct stv_vapour_store){.name = chain->book.warehouses[warehouse_idx].name,
                                       .volume_m3 = climate->volume_m3,
                                       .is_air_said = isfinite(air_change_per_h)};
    double *air_m3_h = malloc((climate->grid.n + 1) * sizeof *air_m3_h);
    enum stv_status status = find_crowd(chain, outlook, warehouse_idx, &crowd);
    if (status == STV_OK && !air_m3_h)
        status = STV_E_MEMORY;
    if (status == STV_OK) {
        for (size_t k = 0; k < climate->grid.n; k++)
            air_m3_h[k] = store->is_air_said ? air_change_per_h * climate->volume_m3
                                             : climate->outdoor_m3_h[k];
        struct stv_vapour_request request = request_of(chain, warehouse_idx, &crowd, air_m3_h);
        request.is_air_said = store->is_air_said;
        count_casks(&chain->book.warehouses[warehouse_idx], crowd.n, store);
        if (crowd.n > 0)
            request.crowd_nd = store->n_casks / store->n_listed;
        status = run_store(chain, warehouse_idx, &crowd, &request, store);
    }
    free(air_m3_h);
    free(crowd.casks);
    return status;
}

enum stv_status stv_chain_vapour_of(const struct stv_chain *chain,
                                    const struct stv_outlook *outlook, double air_change_per_h,
                                    struct stv_vapour_answer *out)
{
    *out = (struct stv_vapour_answer){.chain = chain, .n = chain->book.n_warehouses};
    if (!chain->has_weather)
        return STV_E_NO_DATA;
    out->stores = calloc(out->n + 1, sizeof *out->stores);
    enum stv_status status = out->stores ? STV_OK : STV_E_MEMORY;
    for (size_t w = 0; w < out->n && status == STV_OK; w++)
        status = run_warehouse(chain, w, outlook, air_change_per_h, &out->stores[w]);
    if (status != STV_OK)
        stv_vapour_answer_free(out);
    return status;
}

enum stv_status stv_chain_vapour(const struct stv_chain *chain, double air_change_per_h,
                                 struct stv_vapour_answer *out)
{
    struct stv_outlook outlook = {0};
    enum stv_status status = STV_OK;
    *out = (struct stv_vapour_answer){.chain = chain};
    if (chain->has_weather && chain->book.ledger.n_casks > 0)
        status = stv_chain_outlook(chain, &chain->as_of_day_d, 1, NULL, &outlook);
    if (status == STV_OK)
        status = stv_chain_vapour_of(chain, &outlook, air_change_per_h, out);
    stv_outlook_free(&outlook);
    return status;
}

void stv_vapour_answer_free(struct stv_vapour_answer *answer)
{
    free(answer->stores);
    *answer = (struct stv_vapour_answer){.n = 0};
}

void stv_vapour_sum_up(const struct stv_vapour_sum *sum, struct stv_vapour_store *out)
{
    double air_m3_h = sum->air_change_per_h * sum->volume_m3;
    double mean_kg_h = sum->n_casks * sum->cask_kg_h;
    double mean_m3_h = stv_vapour_m3_h(mean_kg_h, sum->air_c, STV_STANDARD_PRESSURE_PA);
    *out = (struct stv_vapour_store){
        .n_casks = sum->n_casks,
        .mean_kg_h = mean_kg_h,
        .peak_kg_h = sum->peak_nd * mean_kg_h,
        .volume_m3 = sum->volume_m3,
        .air_mean_m3_h = air_m3_h,
        .mean_ppm = stv_vapour_ppm(mean_m3_h, air_m3_h),
        .peak_ppm = stv_vapour_ppm(sum->peak_nd * mean_m3_h, air_m3_h),
        .peak_vapour_m3_h = sum->peak_nd * mean_m3_h,
        .over_day_h_per_y = (double)NAN,
        .slowing_frac = (double)NAN,
        .spill_kg = spill_kg(sum->volume_m3, sum->air_c, STV_STANDARD_PRESSURE_PA),
        .is_air_said = true,
    };
}
