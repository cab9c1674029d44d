/* Ethanol in the air, told without a word that could be read as a clearance. */
#include "cli/vapour.h"

#include "cli/csv.h"
#include "cli/format.h"
#include "cli/json.h"
#include "cli/prose.h"
#include "model/units.h"
#include "model/vapour.h"

#include <math.h>

#define YEAR_H (STV_YEAR_D * STV_DAY_H)

static struct stv_formatted number(double value, int decimals)
{
    return stv_format_number(value, decimals);
}

/* Small rates keep their figures. */
static struct stv_formatted rate(double kg_h)
{
    return kg_h < 0.1 ? stv_format("%s g", number(1000.0 * kg_h, kg_h < 0.001 ? 2 : 0).text)
                      : stv_format("%s kg", number(kg_h, 2).text);
}

static void add_release(struct stv_text *text, const struct stv_vapour_store *store)
{
    double year_kg = store->mean_kg_h * YEAR_H;
    if (store->n_casks <= 0.0) {
        stv_prose_wrap(text, 0, "%s: no cask holds spirit there.", store->name);
        return;
    }
    stv_prose_wrap(text, 0,
                   "%s%s%s casks give off %s of ethanol an hour on average and %s in the hour that "
                   "gives off most; %s kg a year, for whoever needs an air permit.",
                   store->name ? store->name : "", store->name ? ": " : "",
                   number(store->n_casks, 0).text, rate(store->mean_kg_h).text,
                   rate(store->peak_kg_h).text, number(year_kg, year_kg < 10.0 ? 1 : 0).text);
    if (!(store->air_mean_m3_h > 0.0)) {
        stv_prose_wrap(text, 0,
                       "No air passes through it as it is described: the vapour gathers without "
                       "end, and no concentration is told.");
        return;
    }
    stv_prose_wrap(
        text, 0,
        "Mixed with the air that passes, %s m3 an hour%s (%s changes of its %s m3), that is %s "
        "ppm on average and %s ppm in the worst hour.",
        number(store->air_mean_m3_h, 0).text, store->is_air_said ? " as said" : " on average",
        number(store->air_mean_m3_h / store->volume_m3, 2).text, number(store->volume_m3, 0).text,
        number(store->mean_ppm, 0).text, number(store->peak_ppm, 0).text);
    if (store->over_day_h_per_y >= 0.5)
        stv_prose_wrap(text, 0, "Above %s ppm, the limit of a working day, in %s hours a year.",
                       number(STV_VAPOUR_DAY_PPM, 0).text, number(store->over_day_h_per_y, 0).text);
}

static void add_worst(struct stv_text *text, const struct stv_vapour_store *store,
                      const struct stv_grid *grid)
{
    if (store->n_worst == 0)
        return;
    stv_prose_add(text, "\n");
    stv_prose_heading(text, "%-19s%7s%15s%12s%11s%12s", "Worst hours, from", "ppm", "ethanol g/h",
                      "changes/h", "inside C", "outdoors C");
    for (size_t i = 0; i < store->n_worst; i++) {
        const struct stv_vapour_hour *hour = &store->worst[i];
        int64_t local_s = hour->time_s - STV_HOUR_S + (int64_t)grid->utc_offset_min * 60;
        struct stv_formatted stamp = stv_format_iso_time(local_s);
        struct stv_formatted day =
            grid->is_typical ? stv_format("%.5s", stamp.text + 5) : stv_format("%.10s", stamp.text);
        stv_prose_add(text, "%-11s%-8.5s%7s%15s%12s%11s%12s\n", day.text, stamp.text + 11,
                      number(hour->ppm, 0).text, number(1000.0 * hour->release_kg_h, 0).text,
                      number(hour->air_m3_h / store->volume_m3, 2).text,
                      number(hour->air_c, 1).text, number(hour->outdoor_c, 1).text);
    }
    stv_prose_wrap(text, 0,
                   "One hour a day, in standard time. Worst is a calm one in which the air "
                   "outdoors is as warm as inside, or warmer, while the casks are warm.");
}

static void add_needs(struct stv_text *text, const struct stv_vapour_store *store, double mixing_nd)
{
    if (!(store->peak_vapour_m3_h > 0.0))
        return;
    stv_prose_add(text, "\n");
    stv_prose_heading(text, "Fresh air wanted when they give off most, mixing factor %s",
                      number(mixing_nd, 1).text);
    for (size_t i = 0; i < STV_VAPOUR_LIMITS; i++) {
        const struct stv_vapour_limit *limit = &stv_vapour_limits[i];
        double need_m3_h = stv_vapour_air_m3_h(store->peak_vapour_m3_h, limit->ppm, mixing_nd);
        stv_prose_wrap(text, 2, "%s m3/h (%s changes an hour) for %s ppm: %s (%s).",
                       number(need_m3_h, 0).text, number(need_m3_h / store->volume_m3, 1).text,
                       number(limit->ppm, 0).text, limit->words, limit->source);
    }
}

static void add_bounds(struct stv_text *text, const struct stv_vapour_store *store)
{
    stv_prose_wrap(
        text, 0,
        "%s kg of ethanol in the air of the whole store reach the lower explosive limit, "
        "3.3 %%; near the floor under a spill a few litres do.",
        number(store->spill_kg, 0).text);
    if (store->slowing_frac > 0.0)
        stv_prose_wrap(
            text, 0,
            "Not counted: this vapour slows the casks' own loss, by at most %s %% in any "
            "hour.",
            number(100.0 * store->slowing_frac, 1).text);
}

/* Common practice, no published source: air first, rated equipment, no flame, local codes decide.
 * That spirit warmer than 20 C can burn: tables of flash points give 20 to 22 C at cask strength
 * (seen). */
static void add_cautions(struct stv_text *text)
{
    stv_prose_add(text, "\n");
    stv_prose_wrap(
        text, 0,
        "Steady evaporation only: spills, filling, transfers and leaks are not covered, "
        "and inside a cask that is warmer than 20 C the vapour can burn. No figure here "
        "clears anybody to enter: air first, measure with a calibrated gas meter, then "
        "enter. Fans, lamps, trucks and loggers must be rated for where they stand; keep "
        "flames and unrated lamps away. Vents, exhaust from the floor and the changes an "
        "hour that are asked for are a matter of local codes and licensed practice.");
}

void stv_words_vapour(struct stv_text *text, const struct stv_vapour_answer *answer)
{
    for (size_t i = 0; i < answer->n; i++) {
        const struct stv_vapour_store *store = &answer->stores[i];
        if (i > 0)
            stv_prose_add(text, "\n");
        add_release(text, store);
        if (answer->chain)
            add_worst(text, store, &answer->chain->weather.grid);
        if (store->n_casks <= 0.0)
            continue;
        add_needs(text, store, answer->mixing_nd);
        stv_prose_add(text, "\n");
        add_bounds(text, store);
    }
    if (answer->chain && answer->chain->weather.grid.is_typical)
        stv_prose_wrap(text, 0,
                       "The weather is a typical year: no single heat wave is in it, so a worst "
                       "hour can be worse.");
    add_cautions(text);
}

static json_t *needs_array(const struct stv_vapour_store *store, double mixing_nd)
{
    json_t *array = json_array();
    for (size_t i = 0; i < STV_VAPOUR_LIMITS; i++) {
        const struct stv_vapour_limit *limit = &stv_vapour_limits[i];
        json_t *object = json_object();
        double need_m3_h = stv_vapour_air_m3_h(store->peak_vapour_m3_h, limit->ppm, mixing_nd);
        stv_json_set(object, "limit_ppm", stv_json_number(limit->ppm));
        stv_json_set(object, "limit", stv_json_text(limit->words));
        stv_json_set(object, "source", stv_json_text(limit->source));
        stv_json_set(object, "air_m3_h", stv_json_number(need_m3_h));
        stv_json_set(object, "air_change_per_h", stv_json_number(need_m3_h / store->volume_m3));
        stv_json_append(array, object);
    }
    return array;
}

static json_t *worst_array(const struct stv_vapour_store *store)
{
    json_t *array = json_array();
    for (size_t i = 0; i < store->n_worst; i++) {
        const struct stv_vapour_hour *hour = &store->worst[i];
        json_t *object = json_object();
        stv_json_set(object, "hour_to_utc", stv_json_text(stv_format_iso_time(hour->time_s).text));
        stv_json_set(object, "ppm", stv_json_number(hour->ppm));
        stv_json_set(object, "ethanol_kg_h", stv_json_number(hour->release_kg_h));
        stv_json_set(object, "air_m3_h", stv_json_number(hour->air_m3_h));
        stv_json_set(object, "air_c", stv_json_number(hour->air_c));
        stv_json_set(object, "outdoor_c", stv_json_number(hour->outdoor_c));
        stv_json_append(array, object);
    }
    return array;
}

void stv_json_vapour(json_t *document, const struct stv_vapour_answer *answer)
{
    json_t *stores = json_array();
    for (size_t i = 0; i < answer->n; i++) {
        const struct stv_vapour_store *store = &answer->stores[i];
        json_t *object = json_object();
        stv_json_set(object, "warehouse", store->name ? stv_json_text(store->name) : json_null());
        stv_json_set(object, "casks", stv_json_number(store->n_casks));
        stv_json_set(object, "ethanol_mean_kg_h", stv_json_number(store->mean_kg_h));
        stv_json_set(object, "ethanol_peak_kg_h", stv_json_number(store->peak_kg_h));
        stv_json_set(object, "ethanol_kg_per_y", stv_json_number(store->mean_kg_h * YEAR_H));
        stv_json_set(object, "volume_m3", stv_json_number(store->volume_m3));
        stv_json_set(object, "air_mean_m3_h", stv_json_number(store->air_mean_m3_h));
        stv_json_set(object, "mean_ppm", stv_json_number(store->mean_ppm));
        stv_json_set(object, "peak_ppm", stv_json_number(store->peak_ppm));
        stv_json_set(object, "over_1000_ppm_h_per_y", stv_json_number(store->over_day_h_per_y));
        stv_json_set(object, "slowing_most_pct", stv_json_number(100.0 * store->slowing_frac));
        stv_json_set(object, "spill_to_lel_kg", stv_json_number(store->spill_kg));
        stv_json_set(object, "fresh_air", needs_array(store, answer->mixing_nd));
        stv_json_set(object, "worst_hours", worst_array(store));
        stv_json_append(stores, object);
    }
    stv_json_set(document, "mixing_factor", stv_json_number(answer->mixing_nd));
    stv_json_set(document, "stores", stores);
    stv_json_warn(document,
                  "Steady evaporation only: spills, filling and leaks are not covered. No "
                  "figure clears anybody to enter; local codes decide.");
}

void stv_csv_vapour(struct stv_sheet *table, const struct stv_vapour_answer *answer)
{
    stv_csv_heads(table, "warehouse,casks,ethanol_mean_kg_h,ethanol_peak_kg_h,ethanol_kg_per_y,"
                         "volume_m3,air_mean_m3_h,mean_ppm,peak_ppm,over_1000_ppm_h_per_y,"
                         "air_for_1000_ppm_m3_h,air_for_3300_ppm_m3_h,air_for_8250_ppm_m3_h");
    for (size_t i = 0; i < answer->n; i++) {
        const struct stv_vapour_store *store = &answer->stores[i];
        const double values[] = {store->n_casks,         store->mean_kg_h,
                                 store->peak_kg_h,       store->mean_kg_h * YEAR_H,
                                 store->volume_m3,       store->air_mean_m3_h,
                                 store->mean_ppm,        store->peak_ppm,
                                 store->over_day_h_per_y};
        stv_sheet_add_text(table, store->name ? store->name : "");
        for (size_t k = 0; k < sizeof values / sizeof values[0]; k++)
            stv_csv_number(table, values[k]);
        for (size_t k = 0; k < STV_VAPOUR_LIMITS; k++)
            stv_csv_number(table, stv_vapour_air_m3_h(store->peak_vapour_m3_h,
                                                      stv_vapour_limits[k].ppm, answer->mixing_nd));
    }
}
