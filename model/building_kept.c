/* A building's air as bytes: the head, then its four arrays. */
#include "model/building.h"

#include "model/units.h"

#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#define LAYOUT UINT64_C(0x5354564C45420001) /* one more when anything here changes */
#define KEY_RUNS (4 + STV_WC_N)
#define N_MEANS 6

struct head {
    uint64_t sum, n_tiers, n_hours;
    double means[N_MEANS];
};

/* Everything that the air is made of.  The building is taken without the gaps behind its two words,
 * which may hold anything. */
struct key {
    uint64_t counts[7];
    struct stv_byte_run runs[KEY_RUNS];
};
_Static_assert(offsetof(struct stv_building, length_m) <= 8 &&
                   offsetof(struct stv_building, floor_wetness_frac) -
                           offsetof(struct stv_building, floor) <=
                       8,
               "kind and floor stand alone before a number of eight bytes");

static void fill_key(const struct stv_building *building, const struct stv_weather *weather,
                     struct key *out)
{
    const struct stv_grid *grid = &weather->grid;
    const unsigned char *bytes = (const unsigned char *)building;
    size_t first = offsetof(struct stv_building, length_m),
           floor = offsetof(struct stv_building, floor),
           second = offsetof(struct stv_building, floor_wetness_frac);
    *out = (struct key){.counts = {LAYOUT, building->kind, building->floor, grid->n,
                                   (uint64_t)grid->t0_s, (uint64_t)grid->utc_offset_min,
                                   grid->is_typical}};
    out->runs[0] = (struct stv_byte_run){out->counts, sizeof out->counts};
    out->runs[1] = (struct stv_byte_run){bytes + first, floor - first};
    out->runs[2] = (struct stv_byte_run){bytes + second, sizeof *building - second};
    out->runs[3] = (struct stv_byte_run){&weather->site, sizeof weather->site};
    for (size_t c = 0; c < STV_WC_N; c++)
        out->runs[4 + c] = (struct stv_byte_run){weather->columns[c], grid->n * sizeof(double)};
}

/* Where the parts of a climate go to or come from, in the order of the bytes. */
static void list_parts(struct stv_building_climate *climate, double *means[N_MEANS],
                       double **arrays[4])
{
    means[0] = &climate->volume_m3;
    means[1] = &climate->air_change_mean_per_h;
    means[2] = &climate->mist_kg_per_y;
    means[3] = &climate->roof_water_kg_per_y;
    means[4] = &climate->energy_residual_frac;
    means[5] = &climate->moisture_residual_frac;
    arrays[0] = &climate->air_c;
    arrays[1] = &climate->rh_frac;
    arrays[2] = &climate->radiant_c;
    arrays[3] = &climate->outdoor_m3_h;
}

static size_t array_bytes(const struct stv_building_climate *climate, size_t array_idx)
{
    return (array_idx < 3 ? climate->n_tiers : 1) * climate->grid.n * sizeof(double);
}

static size_t all_bytes(const struct stv_building_climate *climate)
{
    size_t n = sizeof(struct head);
    for (size_t a = 0; a < 4; a++)
        n += array_bytes(climate, a);
    return n;
}

static uint64_t sum_of(const unsigned char *bytes, size_t n)
{
    const struct stv_byte_run all = {bytes + sizeof(uint64_t), n - sizeof(uint64_t)};
    return stv__word_sum(&all, 1);
}

/* False when the bytes are not whole, or not of this shape. */
static bool take(const unsigned char *bytes, size_t n, struct stv_building_climate *out)
{
    struct head head;
    double *means[N_MEANS], **arrays[4];
    bool is_whole = n == all_bytes(out);
    if (is_whole)
        memcpy(&head, bytes, sizeof head);
    if (!is_whole || head.n_tiers != out->n_tiers || head.n_hours != out->grid.n ||
        head.sum != sum_of(bytes, n))
        return false;
    list_parts(out, means, arrays);
    for (size_t m = 0; m < N_MEANS; m++)
        *means[m] = head.means[m];
    bytes += sizeof head;
    for (size_t a = 0; a < 4; a++) {
        *arrays[a] = malloc(array_bytes(out, a));
        if (!*arrays[a])
            return false;
        memcpy(*arrays[a], bytes, array_bytes(out, a));
        bytes += array_bytes(out, a);
    }
    return true;
}

static void keep(const struct stv_byte_store *store, const struct key *key,
                 struct stv_building_climate *climate)
{
    double *means[N_MEANS], **arrays[4];
    struct head head = {0, climate->n_tiers, climate->grid.n, {0.0}};
    /* The sum, what it is of: the rest of the head, the arrays. */
    const unsigned char *rest = (const unsigned char *)&head + sizeof head.sum;
    struct stv_byte_run runs[6] = {{&head, sizeof head.sum}, {rest, sizeof head - sizeof head.sum}};
    list_parts(climate, means, arrays);
    for (size_t m = 0; m < N_MEANS; m++)
        head.means[m] = *means[m];
    for (size_t a = 0; a < 4; a++)
        runs[2 + a] = (struct stv_byte_run){*arrays[a], array_bytes(climate, a)};
    head.sum = stv__word_sum(runs + 1, 5);
    store->keep(store->context, key->runs, KEY_RUNS, runs, 6);
}

enum stv_status stv_building_climate_of(const struct stv_building *building,
                                        const struct stv_weather *weather,
                                        const struct stv_byte_store *store,
                                        struct stv_building_climate *out)
{
    struct key key;
    size_t n;
    bool is_whole = building && weather && out;
    for (size_t c = 0; c < STV_WC_N && is_whole; c++)
        is_whole = weather->columns[c] != NULL;
    if (!store || !is_whole)
        return stv_building_simulate(building, weather, STV_HOUR_S, out);
    fill_key(building, weather, &key);
    void *bytes = store->find(store->context, key.runs, KEY_RUNS, &n);
    *out = (struct stv_building_climate){.grid = weather->grid, .n_tiers = building->n_tiers};
    bool is_taken = bytes && take(bytes, n, out);
    free(bytes);
    if (is_taken)
        return STV_OK;
    stv_building_climate_free(out);
    enum stv_status status = stv_building_simulate(building, weather, STV_HOUR_S, out);
    if (status == STV_OK)
        keep(store, &key, out);
    return status;
}
