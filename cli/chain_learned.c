/* Racks learned and told.  A tier comes before its bays, and a tier that leans on another after it;
 * the order of the book's loggers does not matter. */
#include "cli/chain_learned.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Calendar months that a tier must have seen fewer than another to lean on it. */
#define LEAN_MONTHS 2

const struct stv_rack *stv_learned_rack(const struct stv_learned *learned,
                                        const struct stv_place *place)
{
    for (size_t i = 0; i < learned->n_racks; i++)
        if (memcmp(&learned->racks[i].place, place, sizeof *place) == 0)
            return &learned->racks[i];
    return NULL;
}

static struct stv_place tier_of(struct stv_place place, int tier_idx)
{
    return (struct stv_place){place.warehouse_idx, tier_idx, -1, -1};
}

/* Weather, its sun and the building model's tier. */
static struct stv_rack_request request_of(const struct stv_chain *chain,
                                          const struct stv_rack_sun *sun,
                                          const struct stv_place *place)
{
    const struct stv_building_climate *climate = &chain->warehouses[place->warehouse_idx].climate;
    size_t first = (size_t)place->tier_idx * climate->grid.n;
    return (struct stv_rack_request){.weather = &chain->weather,
                                     .sun = sun,
                                     .store_air_c = climate->air_c + first,
                                     .store_rh_frac = climate->rh_frac + first};
}

/* --- learning --------------------------------------------------------------------------------- */

/* One rack on its way: what was measured and what is said of it unseen; all on the weather's grid,
 * in one piece of memory. */
struct pupil {
    struct stv_rack rack;
    double *room;
    double *air_c, *rh_frac, *unseen_air_c, *unseen_rh_frac;
    enum stv_status status;
};

struct school {
    const struct stv_chain *chain;
    struct stv_rack_sun sun;
    struct pupil *pupils;
    size_t n_pupils;
    const struct stv_logger_hours **loggers;
};

static void school_free(struct school *school)
{
    for (size_t i = 0; school->pupils && i < school->n_pupils; i++)
        free(school->pupils[i].room);
    free(school->pupils);
    free(school->loggers);
    stv_rack_sun_free(&school->sun);
}

/* Gathers a rack's measured hours; a place without any is no pupil. */
static enum stv_status enrol(struct school *school, struct stv_place place)
{
    const struct stv_chain *chain = school->chain;
    const struct stv_grid *grid = &chain->weather.grid;
    size_t n_loggers = stv_chain_loggers_of(chain, &place, school->loggers);
    if (n_loggers == 0)
        return STV_OK;
    struct pupil *pupil = &school->pupils[school->n_pupils];
    *pupil = (struct pupil){
        .rack = {.place = place,
                 .from_tier_idx = -1,
                 .n_casks = chain->book.warehouses[place.warehouse_idx].building.n_casks},
        .room = malloc((4 * grid->n + 1) * sizeof(double)),
        .status = STV_E_NO_DATA};
    if (!pupil->room)
        return STV_E_MEMORY;
    pupil->air_c = pupil->room;
    pupil->rh_frac = pupil->room + grid->n;
    pupil->unseen_air_c = pupil->room + 2 * grid->n;
    pupil->unseen_rh_frac = pupil->room + 3 * grid->n;
    school->n_pupils++;
    enum stv_status status =
        stv_position_measured(school->loggers, n_loggers, grid, pupil->air_c, pupil->rh_frac);
    const uint8_t *is_made_up = chain->weather.is_made_up;
    for (size_t k = 0; status == STV_OK && is_made_up && k < grid->n; k++)
        if (is_made_up[k]) /* weather of other years teaches nothing */
            pupil->air_c[k] = pupil->rh_frac[k] = (double)NAN;
    return status;
}

static enum stv_status enrol_all(struct school *school)
{
    const struct stv_chain *chain = school->chain;
    enum stv_status status = STV_OK;
    size_t n_most = chain->book.n_loggers;
    for (size_t w = 0; w < chain->book.n_warehouses; w++)
        n_most += chain->warehouses[w].n_tiers;
    school->pupils = calloc(n_most + 1, sizeof *school->pupils);
    school->loggers = malloc((chain->book.n_loggers + 1) * sizeof *school->loggers);
    if (!school->pupils || !school->loggers)
        return STV_E_MEMORY;
    for (size_t w = 0; w < chain->book.n_warehouses; w++)
        for (size_t p = 0; p < chain->warehouses[w].n_positions && status == STV_OK; p++)
            status = enrol(school, chain->warehouses[w].positions[p].place);
    return status;
}

static bool has_humidity(const struct pupil *pupil, size_t n)
{
    for (size_t k = 0; k < n; k++)
        if (isfinite(pupil->rh_frac[k]))
            return true;
    return false;
}

/* Teaches one rack, leaning on another when there is one. */
static void teach(const struct school *school, struct pupil *pupil, const struct pupil *from)
{
    size_t n = school->chain->weather.grid.n;
    struct stv_rack_request request = request_of(school->chain, &school->sun, &pupil->rack.place);
    request.measured =
        (struct stv_air_hours){pupil->air_c, has_humidity(pupil, n) ? pupil->rh_frac : NULL};
    if (from) {
        bool has_rh = from->rack.sum[STV_RACK_VAPOUR].is_learned;
        request.from =
            (struct stv_air_hours){from->unseen_air_c, has_rh ? from->unseen_rh_frac : NULL};
        for (size_t t = 0; t < STV_RACK_TARGETS; t++)
            if (stv_rack_is_covered(&from->rack.lived[t], &school->chain->weather,
                                    &request.from_is_covered[t]) != STV_OK)
                request.from_is_covered[t] = false;
    }
    pupil->status =
        stv_rack_learn(&request, pupil->unseen_air_c, pupil->unseen_rh_frac, &pupil->rack);
    if (pupil->status == STV_OK && !stv_learned_can_hold(&pupil->rack))
        pupil->status = STV_E_NO_DATA;
    bool leans = false;
    for (size_t t = 0; t < STV_RACK_TARGETS; t++)
        leans =
            leans || (pupil->rack.sum[t].is_learned && pupil->rack.sum[t].start == STV_START_TIER);
    pupil->rack.from_tier_idx = leans ? from->rack.place.tier_idx : -1;
}

/* The tier that has seen the most of the year, the nearest of several; NULL when none has seen two
 * months more. */
static const struct pupil *best_tier(const struct school *school, const struct pupil *pupil)
{
    const struct pupil *best = NULL;
    size_t own_months = pupil->rack.skill.n_months;
    if (pupil->status != STV_OK)
        return NULL;
    for (size_t i = 0; i < school->n_pupils; i++) {
        const struct pupil *other = &school->pupils[i];
        if (other == pupil || other->status != STV_OK || other->rack.place.bay_idx >= 0 ||
            other->rack.from_tier_idx >= 0 ||
            other->rack.place.warehouse_idx != pupil->rack.place.warehouse_idx ||
            other->rack.skill.n_months < own_months + LEAN_MONTHS)
            continue;
        int own = pupil->rack.place.tier_idx;
        if (!best || other->rack.skill.n_months > best->rack.skill.n_months ||
            (other->rack.skill.n_months == best->rack.skill.n_months &&
             abs(other->rack.place.tier_idx - own) < abs(best->rack.place.tier_idx - own)))
            best = other;
    }
    return best;
}

static const struct pupil *own_tier(const struct school *school, const struct pupil *pupil)
{
    struct stv_place place = tier_of(pupil->rack.place, pupil->rack.place.tier_idx);
    for (size_t i = 0; i < school->n_pupils; i++)
        if (school->pupils[i].status == STV_OK &&
            memcmp(&school->pupils[i].rack.place, &place, sizeof place) == 0)
            return &school->pupils[i];
    return NULL;
}

static void teach_all(struct school *school)
{
#pragma omp parallel for schedule(dynamic)
    for (size_t i = 0; i < school->n_pupils; i++)
        if (school->pupils[i].rack.place.bay_idx < 0)
            teach(school, &school->pupils[i], NULL);
    for (size_t i = 0; i < school->n_pupils; i++) {
        struct pupil *pupil = &school->pupils[i];
        const struct pupil *from = pupil->rack.place.bay_idx < 0 ? best_tier(school, pupil) : NULL;
        if (from)
            teach(school, pupil, from);
    }
#pragma omp parallel for schedule(dynamic)
    for (size_t i = 0; i < school->n_pupils; i++)
        if (school->pupils[i].rack.place.bay_idx >= 0)
            teach(school, &school->pupils[i], own_tier(school, &school->pupils[i]));
}

/* --- tiers without a logger ------------------------------------------------------------------- */

/* Sums over the tiers that were hidden in turn. */
struct hidden {
    double hour, month, rh_month;
    size_t n, n_rh;
};

/* A measured place as a position that others can follow: the model where nothing was measured. */
static struct stv_position stand_in(const struct stv_chain *chain, const struct pupil *pupil)
{
    const struct stv_chain_warehouse *house = &chain->warehouses[pupil->rack.place.warehouse_idx];
    struct stv_position position = house->positions[pupil->rack.place.tier_idx];
    position.air_c = pupil->air_c;
    position.rh_frac = pupil->rh_frac;
    return position;
}

static const struct pupil *next_tier(const struct school *school, const struct pupil *hidden,
                                     int direction)
{
    const struct pupil *found = NULL;
    for (size_t i = 0; i < school->n_pupils; i++) {
        const struct pupil *other = &school->pupils[i];
        int away = direction * (other->rack.place.tier_idx - hidden->rack.place.tier_idx);
        if (other->rack.place.warehouse_idx != hidden->rack.place.warehouse_idx ||
            other->rack.place.bay_idx >= 0 || other->status != STV_OK || away <= 0)
            continue;
        if (!found || away < direction * (found->rack.place.tier_idx - hidden->rack.place.tier_idx))
            found = other;
    }
    return found;
}

/* Tells a tier from the others' loggers in the hours that all measured, as a tier without a logger
 * is told. */
static enum stv_status tell_hidden(const struct school *school, const struct pupil *pupil,
                                   double *room, struct hidden *sums)
{
    const struct stv_chain *chain = school->chain;
    const struct stv_chain_warehouse *house = &chain->warehouses[pupil->rack.place.warehouse_idx];
    size_t n = house->climate.grid.n, first = (size_t)pupil->rack.place.tier_idx * n;
    const struct pupil *below = next_tier(school, pupil, -1), *above = next_tier(school, pupil, 1);
    if (!below && !above)
        return STV_OK;
    struct stv_position ends[2], told = house->positions[pupil->rack.place.tier_idx];
    if (below)
        ends[0] = stand_in(chain, below);
    if (above)
        ends[1] = stand_in(chain, above);
    struct stv_neighbours neighbours = {below ? &ends[0] : NULL, above ? &ends[1] : NULL};
    told.air_c = room;
    told.rh_frac = room + n;
    told.radiant_c = room + 2 * n;
    memcpy(told.air_c, house->climate.air_c + first, n * sizeof *room);
    memcpy(told.rh_frac, house->climate.rh_frac + first, n * sizeof *room);
    memcpy(told.radiant_c, told.air_c, n * sizeof *room);
    struct stv_rack_miss air, rh;
    enum stv_status status =
        stv_position_follow(&told, &house->climate, &neighbours, STV_FOLLOW_AIR);
    if (status == STV_OK)
        status = stv_position_follow(&told, &house->climate, &neighbours, STV_FOLLOW_VAPOUR);
    if (status == STV_OK)
        status = stv_rack_miss_of(&house->climate.grid, told.air_c, pupil->air_c, &air);
    if (status == STV_OK)
        status = stv_rack_miss_of(&house->climate.grid, told.rh_frac, pupil->rh_frac, &rh);
    if (status != STV_OK || !isfinite(air.month_nd))
        return status;
    sums->n++;
    sums->hour += air.hour_nd * air.hour_nd;
    sums->month += air.month_nd * air.month_nd;
    if (isfinite(rh.month_nd)) {
        sums->n_rh++;
        sums->rh_month += rh.month_nd * rh.month_nd;
    }
    return STV_OK;
}

static enum stv_status judge_between(const struct school *school, struct stv_learned *learned)
{
    const struct stv_chain *chain = school->chain;
    learned->between = calloc(chain->book.n_warehouses + 1, sizeof *learned->between);
    double *room = malloc((3 * chain->weather.grid.n + 1) * sizeof *room);
    enum stv_status status = learned->between && room ? STV_OK : STV_E_MEMORY;
    for (size_t w = 0; w < chain->book.n_warehouses && status == STV_OK; w++) {
        struct hidden sums = {0};
        for (size_t i = 0; i < school->n_pupils && status == STV_OK; i++)
            if (school->pupils[i].rack.place.warehouse_idx == (int)w &&
                school->pupils[i].rack.place.bay_idx < 0)
                status = tell_hidden(school, &school->pupils[i], room, &sums);
        if (sums.n < 2)
            continue;
        learned->between[learned->n_between++] = (struct stv_learned_between){
            .warehouse_idx = (int)w,
            .n_tiers = sums.n,
            .hour_k = sqrt(sums.hour / (double)sums.n),
            .month_k = sqrt(sums.month / (double)sums.n),
            .rh_month_frac = sums.n_rh ? sqrt(sums.rh_month / (double)sums.n_rh) : (double)NAN};
    }
    free(room);
    return status;
}

/* --- the result ------------------------------------------------------------------------------- */

static size_t hours_of(const struct pupil *pupil, size_t n)
{
    size_t n_hours = 0;
    for (size_t k = 0; k < n; k++)
        n_hours += isfinite(pupil->air_c[k]) != 0;
    return n_hours;
}

static enum stv_status gather(const struct school *school, struct stv_learning *out)
{
    size_t n = school->n_pupils;
    out->learned.racks = calloc(n + 1, sizeof *out->learned.racks);
    out->unlearned = calloc(n + 1, sizeof *out->unlearned);
    out->unseen_frac = calloc(n + 1, sizeof *out->unseen_frac);
    if (!out->learned.racks || !out->unlearned || !out->unseen_frac)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n; i++) {
        const struct pupil *pupil = &school->pupils[i];
        if (pupil->status != STV_OK) {
            out->unlearned[out->n_unlearned++] = (struct stv_unlearned){
                pupil->rack.place, hours_of(pupil, school->chain->weather.grid.n), pupil->status};
            continue;
        }
        size_t at = out->learned.n_racks++;
        out->learned.racks[at] = pupil->rack;
        enum stv_status status = stv_rack_unseen_months(
            &pupil->rack.lived[STV_RACK_AIR], &school->chain->weather, out->unseen_frac[at]);
        if (status != STV_OK)
            return status;
    }
    return STV_OK;
}

enum stv_status stv_chain_learn(const struct stv_chain *chain, struct stv_learning *out)
{
    *out = (struct stv_learning){0};
    if (!chain->has_weather || chain->weather.grid.is_typical)
        return STV_E_NO_DATA;
    struct school school = {.chain = chain};
    enum stv_status status = stv_rack_sun_new(&chain->weather, &school.sun);
    if (status == STV_OK)
        status = enrol_all(&school);
    if (status == STV_OK && school.n_pupils == 0)
        status = STV_E_NO_DATA;
    if (status == STV_OK) {
        teach_all(&school);
        status = gather(&school, out);
    }
    for (size_t i = 0; i < school.n_pupils && status == STV_OK; i++)
        if (school.pupils[i].status != STV_OK && school.pupils[i].status != STV_E_NO_DATA)
            status = school.pupils[i].status;
    if (status == STV_OK)
        status = judge_between(&school, &out->learned);
    if (status == STV_OK)
        status = stv_learned_inputs(&chain->book, &out->learned.inputs, &out->learned.n_inputs);
    school_free(&school);
    if (status != STV_OK)
        stv_learning_free(out);
    return status;
}

void stv_learning_free(struct stv_learning *learning)
{
    stv_learned_free(&learning->learned);
    free(learning->unlearned);
    free(learning->unseen_frac);
    *learning = (struct stv_learning){0};
}

/* --- telling ---------------------------------------------------------------------------------- */

bool stv_chain_told(const struct stv_chain *chain, const struct stv_place *place,
                    struct stv_air_hours *out)
{
    const struct stv_rack *rack = stv_learned_rack(&chain->learned, place);
    const struct stv_told *told =
        rack && chain->told ? &chain->told[rack - chain->learned.racks] : NULL;
    if (!told || !told->air_c)
        return false;
    *out = (struct stv_air_hours){told->air_c,
                                  rack->sum[STV_RACK_VAPOUR].is_learned ? told->rh_frac : NULL};
    return true;
}

static bool leans(const struct stv_rack *rack)
{
    return rack->from_tier_idx >= 0;
}

static enum stv_status tell_rack(struct stv_chain *chain, size_t at)
{
    const struct stv_rack *rack = &chain->learned.racks[at];
    struct stv_rack_request request = request_of(chain, &chain->sun, &rack->place);
    if (leans(rack)) {
        struct stv_place from = tier_of(rack->place, rack->from_tier_idx);
        if (!stv_chain_told(chain, &from, &request.from))
            return STV_E_NO_DATA;
    }
    size_t n = chain->weather.grid.n;
    struct stv_told told = {malloc((n + 1) * sizeof(double)), malloc((n + 1) * sizeof(double))};
    enum stv_status status = told.air_c && told.rh_frac ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK)
        status = stv_rack_tell(rack, &request, told.air_c, told.rh_frac);
    if (status == STV_OK) {
        chain->told[at] = told;
    } else {
        free(told.air_c);
        free(told.rh_frac);
    }
    return status;
}

/* Tiers on their own, tiers that lean, bays: each needs those before it. */
static int pass_of(const struct stv_rack *rack)
{
    if (rack->place.bay_idx >= 0)
        return 2;
    return leans(rack) ? 1 : 0;
}

enum stv_status stv_chain_tell(struct stv_chain *chain, size_t warehouse_idx)
{
    if (!chain->has_weather || chain->learned.n_racks == 0)
        return STV_OK;
    if (!chain->told)
        chain->told = calloc(chain->learned.n_racks + 1, sizeof *chain->told);
    if (!chain->told)
        return STV_E_MEMORY;
    enum stv_status worst = STV_OK;
    if (!chain->sun.north_w_m2)
        worst = stv_rack_sun_new(&chain->weather, &chain->sun);
    if (worst != STV_OK)
        return worst;
    for (int pass = 0; pass < 3; pass++) {
#pragma omp parallel for schedule(dynamic)
        for (size_t i = 0; i < chain->learned.n_racks; i++) {
            const struct stv_rack *rack = &chain->learned.racks[i];
            if (rack->place.warehouse_idx != (int)warehouse_idx || pass_of(rack) != pass)
                continue;
            enum stv_status status = tell_rack(chain, i);
#pragma omp critical
            worst = status != STV_OK ? status : worst;
        }
        if (worst != STV_OK)
            return worst;
    }
    return STV_OK;
}

static double or_weather(double learned, double weather)
{
    return isfinite(learned) ? learned : weather;
}

/* What a rack missed unseen, and in the months beyond what its loggers lived through no better than
 * from the weather. */
static double error_of(const struct stv_chain *chain, const struct stv_rack_span *lived,
                       double missed, double logger, double weather)
{
    double frac[STV_RACK_FOLDS], unseen_frac = 0.0, n = 0.0;
    if (stv_rack_unseen_months(lived, &chain->weather, frac) != STV_OK)
        return weather;
    for (size_t m = 0; m < STV_RACK_FOLDS; m++) {
        unseen_frac += isfinite(frac[m]) ? frac[m] : 0.0;
        n += isfinite(frac[m]) != 0;
    }
    unseen_frac = n > 0.0 ? unseen_frac / n : 1.0;
    double seen = hypot(logger, or_weather(missed, weather));
    double beyond = fmax(seen, weather);
    return sqrt((1.0 - unseen_frac) * seen * seen + unseen_frac * beyond * beyond);
}

struct stv_climate_error stv_chain_own_error(const struct stv_chain *chain,
                                             const struct stv_position *position)
{
    const struct stv_cask_numbers *numbers = &chain->book.numbers;
    const struct stv_climate_error logger = stv_climate_error_logger(numbers);
    const struct stv_climate_error weather = stv_climate_error_weather(numbers);
    const struct stv_rack *rack = stv_learned_rack(&chain->learned, &position->place);
    struct stv_climate_error error = weather;
    if (position->source == STV_SOURCE_MEASURED || position->rest == STV_REST_NONE)
        return logger;
    if (position->rest == STV_REST_LEARNED && rack) {
        error.liquid_k = error_of(chain, &rack->lived[STV_RACK_AIR], rack->skill.air_k.month_nd,
                                  logger.liquid_k, weather.liquid_k);
        if (rack->sum[STV_RACK_VAPOUR].is_learned)
            error.rh_frac = error_of(chain, &rack->lived[STV_RACK_VAPOUR],
                                     rack->skill.rh_frac.month_nd, logger.rh_frac, weather.rh_frac);
    } else if (position->rest == STV_REST_MOVED && position->is_moved_all_year) {
        error.liquid_k = logger.liquid_k;
        error.rh_frac = position->is_vapour_settled ? logger.rh_frac : weather.rh_frac;
    }
    return error;
}

struct stv_climate_error stv_chain_following_error(const struct stv_chain *chain,
                                                   size_t warehouse_idx,
                                                   const struct stv_neighbours *neighbours)
{
    const struct stv_climate_error weather = stv_climate_error_weather(&chain->book.numbers);
    struct stv_climate_error worst = {0.0, 0.0};
    const struct stv_position *both[2] = {neighbours->below, neighbours->above};
    for (size_t i = 0; i < 2; i++) {
        if (!both[i])
            continue;
        worst.liquid_k = fmax(worst.liquid_k, both[i]->error.liquid_k);
        worst.rh_frac = fmax(worst.rh_frac, both[i]->error.rh_frac);
    }
    for (size_t i = 0; i < chain->learned.n_between; i++) {
        const struct stv_learned_between *between = &chain->learned.between[i];
        if (between->warehouse_idx == (int)warehouse_idx)
            return (struct stv_climate_error){
                hypot(worst.liquid_k, or_weather(between->month_k, weather.liquid_k)),
                hypot(worst.rh_frac, or_weather(between->rh_month_frac, weather.rh_frac))};
    }
    return (struct stv_climate_error){fmax(worst.liquid_k, weather.liquid_k),
                                      fmax(worst.rh_frac, weather.rh_frac)};
}
