/* From casks to the air of their warehouse.  The casks of one position and size count as so many of
 * their mean content; the building's own air, hour by hour, carries away what they give off.
 * Computed after the casks: the room's vapour does not slow them, and the bound of what it could
 * take off is told. */
#include "cli/vapour.h"

#include "model/calendar.h"
#include "model/spirit.h"
#include "model/units.h"
#include "model/vapour.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define YEAR_H (STV_YEAR_D * STV_DAY_H)
#define SAME_SIZE_L 1.0
#define LOWER_EXPLOSIVE_PPM (10.0 * STV_VAPOUR_TENTH_LEL_PPM)

const struct stv_vapour_limit stv_vapour_limits[STV_VAPOUR_LIMITS] = {
    {STV_VAPOUR_DAY_PPM, "the limit of a working day", "NIOSH REL and OSHA PEL"},
    {STV_VAPOUR_TENTH_LEL_PPM, "a tenth of the lower explosive limit, dangerous to life",
     "NIOSH IDLH"},
    {STV_VAPOUR_QUARTER_LEL_PPM, "a quarter of the lower explosive limit", "NIOSH, LEL 3.3 %"},
};

/* The casks of a warehouse, and the hours they see. */
struct crowd {
    struct stv_vapour_group *groups;
    size_t *position_idx; /* of each group */
    double **liquid_c;    /* of each position of the set; NULL where no cask lies */
    size_t n;
};

static void free_crowd(struct crowd *crowd, size_t n_positions)
{
    for (size_t p = 0; crowd->liquid_c && p < n_positions; p++)
        free(crowd->liquid_c[p]);
    free(crowd->liquid_c);
    free(crowd->position_idx);
    free(crowd->groups);
}

static enum stv_status make_crowd(const struct stv_chain *chain, struct crowd *out)
{
    size_t n = chain->book.ledger.n_casks + 1;
    *out = (struct crowd){calloc(n, sizeof *out->groups), calloc(n, sizeof *out->position_idx),
                          calloc(chain->set.n_positions + 1, sizeof *out->liquid_c), 0};
    return out->groups && out->position_idx && out->liquid_c ? STV_OK : STV_E_MEMORY;
}

/* Hours of the spirit's temperature in a position, worked out once. */
static enum stv_status need_liquid(const struct stv_chain *chain, struct crowd *crowd,
                                   size_t position_idx)
{
    const struct stv_position *position = &chain->set.positions[position_idx];
    double **liquid_c = &crowd->liquid_c[position_idx];
    if (*liquid_c)
        return STV_OK;
    *liquid_c = malloc(position->grid.n * sizeof **liquid_c);
    if (!*liquid_c)
        return STV_E_MEMORY;
    return stv_position_liquid_c(position, chain->set.exposed_frac[position_idx], *liquid_c);
}

/* The group of a position and size, made when there is none yet. */
static enum stv_status group_of(const struct stv_chain *chain, struct crowd *crowd,
                                size_t position_idx, const struct stv_cask *cask,
                                struct stv_vapour_group **out)
{
    for (size_t g = 0; g < crowd->n; g++)
        if (crowd->position_idx[g] == position_idx &&
            fabs(crowd->groups[g].cask.capacity_l - cask->geometry.capacity_l) < SAME_SIZE_L) {
            *out = &crowd->groups[g];
            return STV_OK;
        }
    const struct stv_position *position = &chain->set.positions[position_idx];
    enum stv_status status = need_liquid(chain, crowd, position_idx);
    *out = &crowd->groups[crowd->n];
    **out = (struct stv_vapour_group){.cask = cask->geometry,
                                      .liquid_c = crowd->liquid_c[position_idx],
                                      .air_c = position->air_c,
                                      .rh_frac = position->rh_frac};
    crowd->position_idx[crowd->n++] = position_idx;
    return status;
}

/* Adds a cask that holds spirit to its group; the masses are sums until finish_crowd. */
static enum stv_status add_cask(const struct stv_chain *chain, const struct stv_outlook *outlook,
                                size_t cask_idx, const struct stv_place *place, struct crowd *crowd)
{
    double ethanol_kg, water_kg;
    double volume20_l = stv_outlook_range(outlook, cask_idx, 0, STV_Q_VOLUME20_L).p50;
    double abv20_frac = stv_outlook_range(outlook, cask_idx, 0, STV_Q_ABV20_FRAC).p50;
    if (!(volume20_l > 0.0))
        return STV_OK;
    enum stv_status status = stv_spirit_masses_kg(volume20_l, abv20_frac, &ethanol_kg, &water_kg);
    struct stv_vapour_group *group = NULL;
    if (status == STV_OK)
        status = group_of(chain, crowd, stv_position_of_place(&chain->set, place),
                          &chain->book.ledger.casks[cask_idx], &group);
    if (status != STV_OK)
        return status;
    group->n_casks += 1.0;
    group->ethanol_kg += ethanol_kg;
    group->water_kg += water_kg;
    return STV_OK;
}

static void finish_crowd(struct crowd *crowd, struct stv_vapour_store *store)
{
    for (size_t g = 0; g < crowd->n; g++) {
        crowd->groups[g].ethanol_kg /= crowd->groups[g].n_casks;
        crowd->groups[g].water_kg /= crowd->groups[g].n_casks;
        store->n_casks += crowd->groups[g].n_casks;
    }
}

/* The hours of the highest concentration, each of another day. */
static void find_worst(const struct stv_chain *chain, const struct stv_building_climate *climate,
                       const double *ppm, const double *release_kg_h, const double *air_m3_h,
                       struct stv_vapour_store *store)
{
    const struct stv_grid *grid = &climate->grid;
    for (store->n_worst = 0; store->n_worst < STV_VAPOUR_WORST; store->n_worst++) {
        size_t best = SIZE_MAX;
        for (size_t k = 0; k < grid->n; k++) {
            bool is_new = isfinite(ppm[k]) && (best == SIZE_MAX || ppm[k] > ppm[best]);
            int64_t day_d = stv_grid_local_day(grid, k, NULL);
            for (size_t w = 0; is_new && w < store->n_worst; w++)
                is_new =
                    stv_local_day(store->worst[w].time_s - 1, grid->utc_offset_min, NULL) != day_d;
            best = is_new ? k : best;
        }
        if (best == SIZE_MAX)
            return;
        store->worst[store->n_worst] =
            (struct stv_vapour_hour){stv_grid_start_s(grid, best + 1),
                                     ppm[best],
                                     release_kg_h[best],
                                     air_m3_h[best],
                                     climate->air_c[best],
                                     chain->weather.columns[STV_WC_TEMP_C][best]};
    }
}

/* Means and the worst of what the hours gave; the release is set, the rest is filled in. */
static void sum_hours(const struct stv_building_climate *climate, const double *ppm,
                      const double *release_kg_h, const double *air_m3_h, double pressure_pa,
                      struct stv_vapour_store *store)
{
    size_t n_known = 0, n_over = 0;
    for (size_t k = 0; k < climate->grid.n; k++) {
        if (!isfinite(ppm[k]))
            continue;
        n_known++;
        n_over += ppm[k] > STV_VAPOUR_DAY_PPM;
        store->mean_kg_h += release_kg_h[k];
        store->mean_ppm += ppm[k];
        store->air_mean_m3_h += air_m3_h[k];
        store->peak_ppm = fmax(store->peak_ppm, ppm[k]);
        if (release_kg_h[k] > store->peak_kg_h) {
            store->peak_kg_h = release_kg_h[k];
            store->peak_vapour_m3_h =
                stv_vapour_m3_h(release_kg_h[k], climate->air_c[k], pressure_pa);
        }
    }
    double n = n_known ? (double)n_known : 1.0;
    store->mean_kg_h /= n;
    store->mean_ppm /= n;
    store->air_mean_m3_h /= n;
    store->over_day_h_per_y = (double)n_over / n * YEAR_H;
}

static double slowing_of(const struct crowd *crowd, const struct stv_building_climate *climate,
                         const double *ppm, double pressure_pa)
{
    double most = 0.0;
    for (size_t g = 0; g < crowd->n; g++) {
        const struct stv_vapour_group *group = &crowd->groups[g];
        double mole_frac =
            stv_mole_frac_from_mass_frac(group->ethanol_kg / (group->ethanol_kg + group->water_kg));
        for (size_t k = 0; k < climate->grid.n; k++)
            if (isfinite(ppm[k]) && isfinite(group->liquid_c[k]))
                most = fmax(most, stv_vapour_slowing_frac(ppm[k], pressure_pa, mole_frac,
                                                          group->liquid_c[k]));
    }
    return most;
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
    store->n_worst = 0;
}

static enum stv_status run_store(const struct stv_chain *chain, size_t warehouse_idx,
                                 const struct crowd *crowd, double air_change_per_h,
                                 struct stv_vapour_store *store)
{
    const struct stv_building_climate *climate = &chain->warehouses[warehouse_idx].climate;
    size_t n = climate->grid.n;
    double pressure_pa = stv_mean_nd(chain->weather.columns[STV_WC_PRESSURE_PA], n);
    double *hours = malloc(3 * (n + 1) * sizeof *hours);
    if (!hours)
        return STV_E_MEMORY;
    double *release_kg_h = hours, *ppm = hours + n, *air_m3_h = hours + 2 * n;
    store->is_air_said = isfinite(air_change_per_h);
    for (size_t k = 0; k < n; k++)
        air_m3_h[k] =
            store->is_air_said ? air_change_per_h * climate->volume_m3 : climate->outdoor_m3_h[k];
    enum stv_status status =
        stv_vapour_release(crowd->groups, crowd->n, n, &chain->book.params, release_kg_h);
    if (status == STV_OK)
        status = stv_vapour_room(release_kg_h, air_m3_h, climate->air_c, n, climate->volume_m3,
                                 pressure_pa, ppm);
    if (status == STV_OK) {
        store->volume_m3 = climate->volume_m3;
        sum_hours(climate, ppm, release_kg_h, air_m3_h, pressure_pa, store);
        if (crowd->n > 0)
            find_worst(chain, climate, ppm, release_kg_h, air_m3_h, store);
        store->slowing_frac = slowing_of(crowd, climate, ppm, pressure_pa);
        if (store->air_mean_m3_h <= 0.0)
            forget_air(store);
        store->spill_kg = spill_kg(climate->volume_m3, stv_mean_nd(climate->air_c, n), pressure_pa);
    }
    free(hours);
    return status;
}

static enum stv_status run_warehouse(const struct stv_chain *chain, size_t warehouse_idx,
                                     const struct stv_outlook *outlook, double air_change_per_h,
                                     struct stv_vapour_store *store)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    struct crowd crowd;
    *store = (struct stv_vapour_store){.name = chain->book.warehouses[warehouse_idx].name};
    enum stv_status status = make_crowd(chain, &crowd);
    for (size_t c = 0; c < ledger->n_casks && status == STV_OK; c++) {
        struct stv_place place = stv_ledger_place(ledger, (int)c, chain->as_of_day_d);
        bool is_here = place.warehouse_idx == (int)warehouse_idx ||
                       (place.warehouse_idx < 0 && chain->book.n_warehouses == 1);
        if (is_here)
            status = add_cask(chain, outlook, c, &place, &crowd);
    }
    if (status == STV_OK) {
        finish_crowd(&crowd, store);
        status = run_store(chain, warehouse_idx, &crowd, air_change_per_h, store);
    }
    free_crowd(&crowd, chain->set.n_positions);
    return status;
}

enum stv_status stv_chain_vapour(const struct stv_chain *chain, double air_change_per_h,
                                 struct stv_vapour_answer *out)
{
    struct stv_outlook outlook = {0};
    *out = (struct stv_vapour_answer){.chain = chain, .n = chain->book.n_warehouses};
    if (!chain->has_weather)
        return STV_E_NO_DATA;
    out->stores = calloc(out->n + 1, sizeof *out->stores);
    enum stv_status status = out->stores ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK && chain->book.ledger.n_casks > 0)
        status = stv_chain_outlook(chain, &chain->as_of_day_d, 1, &outlook);
    for (size_t w = 0; w < out->n && status == STV_OK; w++)
        status = run_warehouse(chain, w, &outlook, air_change_per_h, &out->stores[w]);
    stv_outlook_free(&outlook);
    if (status != STV_OK)
        stv_vapour_answer_free(out);
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
