/* `climate`: each tier and logged bay in the warm season, the cold season and the year. */
#include "cli/commands.h"

#include "cli/answer.h"
#include "cli/csv.h"
#include "cli/format.h"
#include "cli/hourly.h"
#include "cli/session.h"
#include "cli/words.h"

#include <stdlib.h>

struct result {
    const struct stv_chain *chain;
    const struct stv_climate_result *climate;
    const struct stv_chain_years *by_year; /* of each warehouse */
};

static const char *const season_names[STV_SEASON_N] = {"warm", "cold", "year"};

/* One figure of a season, as JSON and CSV name it. */
struct figure {
    const char *key;
    double value;
};

#define FIGURES_N 27

/* Fills the figures of a season in the order in which they are written. */
static void figures_of(const struct stv_season_metrics *s, struct figure out[FIGURES_N])
{
    const struct figure figures[FIGURES_N] = {
        {"air_mean_c", s->air_mean_c},
        {"liquid_mean_c", s->liquid_mean_c},
        {"liquid_p05_c", s->liquid_p05_c},
        {"liquid_p95_c", s->liquid_p95_c},
        {"air_swing_k", s->air_swing_k},
        {"liquid_swing_k", s->liquid_swing_k},
        {"cycles", s->cycles_nd},
        {"degree_days_k_d", s->degree_days_k_d},
        {"cool_hours_h", s->cool_hours_h},
        {"kinetic_mean_c", s->kinetic_mean_c},
        {"rh_mean_frac", s->rh_mean_frac},
        {"evaporation_pct_per_year", 100.0 * s->evaporation_frac_per_y},
        {"water_lost_kg_per_year", s->water_lost_kg_per_y},
        {"ethanol_lost_kg_per_year", s->ethanol_lost_kg_per_y},
        {"abv20_drift_pct_per_year", 100.0 * s->abv20_drift_frac_per_y},
        {"extraction_rel", s->extraction_rel_nd},
        {"air_p05_c", s->air_p05_c},
        {"air_p95_c", s->air_p95_c},
        {"air_min_c", s->air_min_c},
        {"air_max_c", s->air_max_c},
        {"liquid_min_c", s->liquid_min_c},
        {"liquid_max_c", s->liquid_max_c},
        {"rh_weighted_frac", s->rh_weighted_frac},
        {"fruit_fading_per_year", s->fruit_fading_per_y},
        {"degree_days_without_filled_hours_k_d", s->unfilled_degree_days_k_d},
        {"filled_frac", s->filled_frac},
        {"hole_frac", s->hole_frac},
    };
    for (int i = 0; i < FIGURES_N; i++)
        out[i] = figures[i];
}

static const char *source_text(const struct stv_position_metrics *position)
{
    bool is_learned = position->rest == STV_REST_LEARNED;
    switch (position->source) {
    case STV_SOURCE_MEASURED:
        return "measured";
    case STV_SOURCE_MIXED:
        return is_learned ? "measured and learned" : "measured and modelled";
    case STV_SOURCE_MODELLED:
        return is_learned ? "learned" : "modelled";
    case STV_SOURCE_BORROWED:
        return "borrowed from the nearest logged tier";
    }
    return "unknown";
}

static const char *rest_text(enum stv_position_rest rest)
{
    static const char *const words[] = {
        [STV_REST_NONE] = "nothing",
        [STV_REST_MODELLED] = "building model",
        [STV_REST_MOVED] = "building model moved by its loggers",
        [STV_REST_FOLLOWED] = "building model moved as the tiers beside it",
        [STV_REST_LEARNED] = "learned",
    };
    return words[rest];
}

static json_t *dates_object(const struct stv_season_span *span)
{
    json_t *object = json_object();
    stv_json_set(object, "from", stv_json_text(stv_format_iso_doy(span->from_doy).text));
    stv_json_set(object, "to", stv_json_text(stv_format_iso_doy(span->to_doy).text));
    return object;
}

static json_t *by_year_object(const struct stv_chain_years *by_year)
{
    const struct stv_degree_years *years = &by_year->years;
    const size_t last = STV_DEGREE_YEAR_D - 1;
    if (years->n == 0)
        return json_null();
    json_t *object = json_object();
    json_t *list = json_array();
    for (size_t y = 0; y < years->n; y++) {
        const struct stv_degree_year *year = &years->years[y];
        json_t *one = json_object();
        stv_json_set(one, "year",
                     by_year->days.is_typical ? json_null() : json_integer(year->year));
        stv_json_set(one, "is_whole", json_boolean(year->is_whole));
        stv_json_set(one, "days", json_integer((json_int_t)year->n_days));
        stv_json_set(one, "degree_days_k_d", stv_json_number(year->sum_k_d[year->n_days - 1]));
        stv_json_append(list, one);
    }
    stv_json_set(object, "tier", stv_json_place(by_year->days.place.tier_idx));
    stv_json_set(object, "degree_days_above_c", stv_json_number(by_year->days.base_c));
    stv_json_set(object, "from_month", json_integer(years->first_month));
    stv_json_set(object, "years", list);
    stv_json_set(object, "years_left_out", json_integer((json_int_t)years->n_left_out));
    stv_json_set(object, "degree_days_p10_k_d", stv_json_number(years->p10_k_d[last]));
    stv_json_set(object, "degree_days_p50_k_d", stv_json_number(years->middle_k_d[last]));
    stv_json_set(object, "degree_days_p90_k_d", stv_json_number(years->p90_k_d[last]));
    return object;
}

static json_t *warehouse_object(const struct stv_warehouse_climate *warehouse,
                                const struct stv_building_climate *modelled,
                                const struct stv_chain_years *by_year)
{
    json_t *object = json_object();
    json_t *dates = json_object();
    json_t *gradient = json_object();
    stv_json_set(object, "warehouse", stv_json_text(warehouse->name));
    stv_json_set(object, "kind", stv_json_text(stv_building_kind_name(warehouse->building.kind)));
    stv_json_set(object, "tiers", json_integer((json_int_t)warehouse->n_tiers));
    for (int s = STV_SEASON_WARM; s <= STV_SEASON_COLD; s++)
        stv_json_set(dates, season_names[s], dates_object(&warehouse->seasons[s]));
    stv_json_set(object, "season_dates", dates);
    for (int s = 0; s < STV_SEASON_N; s++)
        stv_json_set(gradient, season_names[s], stv_json_number(warehouse->gradient_k_m[s]));
    stv_json_set(object, "gradient_k_m", gradient);
    stv_json_set(object, "air_change_mean_per_h",
                 stv_json_number(warehouse->air_change_mean_per_h));
    bool is_modelled = modelled->n_tiers > 0; /* else loggers alone */
    stv_json_set(object, "mist_kg_per_y",
                 is_modelled ? stv_json_number(modelled->mist_kg_per_y) : json_null());
    stv_json_set(object, "roof_water_kg_per_y",
                 is_modelled ? stv_json_number(modelled->roof_water_kg_per_y) : json_null());
    stv_json_set(object, "warm_season_unranked_for_tier",
                 warehouse->warm_hole_tier_idx < 0
                     ? json_null()
                     : json_integer((json_int_t)warehouse->warm_hole_tier_idx + 1));
    stv_json_set(object, "whole_years", json_integer((json_int_t)warehouse->n_years));
    stv_json_set(object, "first_year", json_integer(warehouse->first_year));
    stv_json_set(object, "last_year", json_integer(warehouse->last_year));
    stv_json_set(object, "by_year", by_year_object(by_year));
    return object;
}

/* Shares of the season's hours by the temperature in the cask; bins without an hour are left out.
 */
static json_t *hours_at(const double *histogram_frac)
{
    json_t *bins = json_array();
    for (size_t b = 0; b < STV_HISTOGRAM_BINS; b++) {
        if (!(histogram_frac[b] > 0.0))
            continue;
        json_t *bin = json_object();
        double from_c = STV_HISTOGRAM_FROM_C + STV_HISTOGRAM_STEP_K * (double)b;
        stv_json_set(bin, "from_c", stv_json_number(from_c));
        stv_json_set(bin, "to_c", stv_json_number(from_c + STV_HISTOGRAM_STEP_K));
        stv_json_set(bin, "hours_pct", stv_json_number(100.0 * histogram_frac[b]));
        stv_json_append(bins, bin);
    }
    return bins;
}

static json_t *position_object(const char *warehouse, const struct stv_position_metrics *position)
{
    json_t *object = json_object();
    stv_json_set(object, "warehouse", stv_json_text(warehouse));
    stv_json_set(object, "tier", stv_json_place(position->place.tier_idx));
    stv_json_set(object, "bay", stv_json_place(position->place.bay_idx));
    stv_json_set(object, "depth", stv_json_place(position->place.depth_idx));
    stv_json_set(object, "source", stv_json_text(source_text(position)));
    stv_json_set(object, "where_not_measured", stv_json_text(rest_text(position->rest)));
    stv_json_set(object, "error_month_k", stv_json_number(position->error.liquid_k));
    stv_json_set(object, "error_month_rh_frac", stv_json_number(position->error.rh_frac));
    stv_json_set(object, "measured_frac", stv_json_number(position->measured_frac));
    stv_json_set(object, "offset_k", stv_json_number(position->offset_k));
    stv_json_set(object, "offset_rh_frac", stv_json_number(position->offset_rh_frac));
    stv_json_set(object, "warmest_month_c", stv_json_number(position->warmest_month_c));
    stv_json_set(object, "wakes", stv_json_text(stv_format_iso_doy(position->waking_doy).text));
    stv_json_set(object, "quiet_again",
                 stv_json_text(stv_format_iso_doy(position->quiet_doy).text));
    stv_json_set(object, "whole_years", json_integer((json_int_t)position->n_years));
    json_t *seasons = json_object();
    for (int s = 0; s < STV_SEASON_N; s++) {
        struct figure figures[FIGURES_N];
        figures_of(&position->seasons[s], figures);
        json_t *season = json_object();
        stv_json_set(season, "hours_at", hours_at(position->liquid_histogram_frac[s]));
        for (int i = 0; i < FIGURES_N; i++)
            stv_json_set(season, figures[i].key, stv_json_number(figures[i].value));
        stv_json_set(seasons, season_names[s], season);
    }
    stv_json_set(object, "seasons", seasons);
    return object;
}

static void add_json(json_t *document, const void *result)
{
    const struct stv_climate_result *climate = ((const struct result *)result)->climate;
    const struct stv_chain *chain = ((const struct result *)result)->chain;
    json_t *warehouses = json_array();
    json_t *positions = json_array();
    for (size_t i = 0; i < climate->n_warehouses; i++) {
        const struct stv_warehouse_climate *warehouse = &climate->warehouses[i];
        stv_json_append(warehouses, warehouse_object(warehouse, &chain->warehouses[i].climate,
                                                     &((const struct result *)result)->by_year[i]));
        for (size_t k = 0; k < warehouse->n_tiers; k++)
            stv_json_append(positions, position_object(warehouse->name, &warehouse->tiers[k]));
        for (size_t k = 0; k < warehouse->n_bays; k++)
            stv_json_append(positions, position_object(warehouse->name, &warehouse->bays[k]));
    }
    stv_json_set(document, "warehouses", warehouses);
    stv_json_set(document, "positions", positions);
    stv_json_caution_by(document, stv_words_caution_planning);
    stv_json_caution_by(document, stv_words_caution_room);
    stv_json_caution_by(document, stv_words_caution_vapour);
    struct stv_text stores = {0};
    stv_words_caution_stores(&stores, chain);
    stv_json_caution_text(document, &stores);
}

static void add_csv_position(struct stv_sheet *table, const char *warehouse,
                             const struct stv_position_metrics *position)
{
    for (int s = 0; s < STV_SEASON_N; s++) {
        struct figure figures[FIGURES_N];
        figures_of(&position->seasons[s], figures);
        stv_sheet_add_text(table, warehouse);
        stv_csv_place(table, position->place.tier_idx);
        stv_csv_place(table, position->place.bay_idx);
        stv_csv_place(table, position->place.depth_idx);
        stv_sheet_add_text(table, season_names[s]);
        for (int i = 0; i < FIGURES_N; i++)
            stv_csv_number(table, figures[i].value);
    }
}

static void add_csv(struct stv_sheet *table, const void *result)
{
    const struct stv_climate_result *climate = ((const struct result *)result)->climate;
    const struct stv_season_metrics none = {0};
    struct figure figures[FIGURES_N];
    struct stv_text names = {0};
    figures_of(&none, figures);
    stv_text_add(&names, "warehouse,tier,bay,depth,season");
    for (int i = 0; i < FIGURES_N; i++)
        stv_text_format(&names, ",%s", figures[i].key);
    stv_csv_heads(table, stv_text_string(&names));
    table->has_failed = table->has_failed || names.has_failed;
    stv_text_free(&names);
    for (size_t i = 0; i < climate->n_warehouses; i++) {
        const struct stv_warehouse_climate *warehouse = &climate->warehouses[i];
        for (size_t k = 0; k < warehouse->n_tiers; k++)
            add_csv_position(table, warehouse->name, &warehouse->tiers[k]);
        for (size_t k = 0; k < warehouse->n_bays; k++)
            add_csv_position(table, warehouse->name, &warehouse->bays[k]);
    }
}

static void add_text(struct stv_text *text, const void *result)
{
    const struct result *both = result;
    stv_words_climate(text, both->chain, both->climate, both->by_year);
}

/* Years of all warehouses; caller frees with by_year_free, also after a failure. */
static enum stv_status make_years(const struct stv_chain *chain,
                                  const struct stv_climate_result *climate,
                                  struct stv_chain_years **out)
{
    size_t n = climate->n_warehouses;
    *out = calloc(n + 1, sizeof **out);
    enum stv_status status = *out ? STV_OK : STV_E_MEMORY;
    for (size_t w = 0; w < n && status == STV_OK; w++) {
        struct stv_chain_years *by_year = &(*out)[w];
        status = stv_chain_days(chain, w, &by_year->days);
        if (status == STV_OK)
            status = stv_degree_years_make(
                &by_year->days,
                stv_climate_year_month(&climate->warehouses[w].seasons[STV_SEASON_WARM]),
                &by_year->years);
        status = status == STV_E_NO_DATA ? STV_OK : status;
    }
    return status;
}

static void by_year_free(struct stv_chain_years *by_year, size_t n)
{
    for (size_t w = 0; by_year && w < n; w++) {
        stv_climate_days_free(&by_year[w].days);
        stv_degree_years_free(&by_year[w].years);
    }
    free(by_year);
}

/* Writes the answer of a climate that is made. */
static enum stv_status write_answer(const struct stv_options *options, struct stv_session *session,
                                    const struct stv_climate_result *climate)
{
    struct stv_chain_years *by_year = NULL;
    enum stv_status status = make_years(&session->chain, climate, &by_year);
    const struct result result = {&session->chain, climate, by_year};
    const struct stv_answer answer = {&result, add_text, add_json, add_csv};
    if (status == STV_OK)
        status = stv_answer_write(options, &session->chain, &session->chain.problems, &answer);
    by_year_free(by_year, climate->n_warehouses);
    return status;
}

int stv_cmd_climate(const struct stv_options *options)
{
    struct stv_session session;
    int code;
    if (!stv_session_open(&session, options, STV_SESSION_CLIMATE, &code))
        return code;
    struct stv_climate_result climate = {0};
    const char *hourly = stv_options_text(options, STV_OPT_HOURLY);
    enum stv_status status = STV_OK;
    if (hourly) /* hours are known where seasons are not: of half a year */
        status = stv_hourly_write(options, &session.chain, hourly);
    if (status != STV_OK)
        return stv_session_close(&session, status);
    status = stv_chain_climate_result(&session.chain, &climate);
    if (status != STV_OK)
        return stv_session_fail(&session, status, "The seasons could not be made out: %s.%s",
                                stv_status_text(status), hourly ? " The hours are written." : "");
    for (size_t w = 0; w < climate.n_warehouses; w++)
        session.chain.needs_attention |= climate.warehouses[w].warm_hole_tier_idx >= 0;
    status = write_answer(options, &session, &climate);
    stv_climate_result_free(&climate);
    return stv_session_close(&session, status);
}
