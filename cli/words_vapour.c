/* Ethanol in the air, told without a word that could be read as a clearance. */
#include "cli/vapour.h"

#include "cli/csv.h"
#include "cli/format.h"
#include "cli/json.h"
#include "cli/prose.h"
#include "cli/words.h"
#include "model/units.h"
#include "model/vapour.h"

#include <math.h>
#include <stdbool.h>

#define YEAR_H (STV_YEAR_D * STV_DAY_H)

static struct stv_formatted number(double value, int decimals)
{
    return stv_format_number(value, decimals);
}

/* A figure as said, or its middle and range over the trials. */
static struct stv_formatted figure(const struct stv_vapour_store *store, double said,
                                   struct stv_range range, int decimals)
{
    return store->has_ranges ? stv_format_range(range, decimals) : number(said, decimals);
}

/* Small rates keep their figures. */
static struct stv_formatted rate(const struct stv_vapour_store *store, double kg_h,
                                 struct stv_range range)
{
    if (store->has_ranges)
        kg_h = range.p50;
    bool is_small = kg_h < 0.1;
    double factor = is_small ? 1000.0 : 1.0;
    int decimals = !is_small ? 2 : kg_h < 0.001 ? 2 : 0;
    return stv_format(is_small ? "%s g" : "%s kg",
                      figure(store, factor * kg_h, stv_range_scaled(range, factor), decimals).text);
}

static bool is_spread(const struct stv_vapour_store *store)
{
    return store->has_ranges && store->ranges.mean_kg_h.p95 > store->ranges.mean_kg_h.p05;
}

static void add_mixture(struct stv_text *text, const struct stv_vapour_store *store)
{
    const struct stv_vapour_ranges *ranges = &store->ranges;
    double air_m3_h = store->has_ranges ? ranges->air_mean_m3_h.p50 : store->air_mean_m3_h;
    stv_prose_wrap(text, 0,
                   "Mixed with the air that passes, %s m3 an hour%s (%s changes of its %s m3), "
                   "that is %s ppm on average and %s ppm in %s.",
                   figure(store, store->air_mean_m3_h, ranges->air_mean_m3_h, 0).text,
                   store->is_air_said ? " as said" : " on average",
                   number(air_m3_h / store->volume_m3, 2).text, number(store->volume_m3, 0).text,
                   figure(store, store->mean_ppm, ranges->mean_ppm, 0).text,
                   figure(store, store->peak_ppm, ranges->peak_ppm, 0).text,
                   is_spread(store) ? "each trial's own worst hour" : "the worst hour");
    double most_h = store->has_ranges ? ranges->over_day_h_per_y.p95 : store->over_day_h_per_y;
    if (most_h >= 0.5)
        stv_prose_wrap(text, 0, "Above %s ppm, the limit of a working day, in %s hours a year.",
                       number(STV_VAPOUR_DAY_PPM, 0).text,
                       figure(store, store->over_day_h_per_y, ranges->over_day_h_per_y, 0).text);
}

static void add_release(struct stv_text *text, const struct stv_vapour_store *store)
{
    const struct stv_vapour_ranges *ranges = &store->ranges;
    double year_kg = store->mean_kg_h * YEAR_H;
    if (store->n_casks <= 0.0) {
        stv_prose_wrap(text, 0, "%s: no cask holds spirit there.%s", store->name,
                       store->n_stored > 0.0
                           ? " The casks that casks_stored counts are not in casks.csv, so that "
                             "nothing is known of them and nothing is told: list one of them, or "
                             "use --casks."
                           : "");
        return;
    }
    if (stv_vapour_can_burn(store))
        stv_prose_wrap(text, 0,
                       "ABOVE WHAT CAN BURN: in its worst hour %s air would hold more than the "
                       "lower explosive limit of 33,000 ppm, so that a spark could set it off%s. "
                       "Nobody goes in. Either the figures are wrong or the store needs air now.",
                       store->name ? "this store's" : "the",
                       store->peak_ppm > 1e6 ? " (more than all the air there is: look at the "
                                               "figures given)"
                                             : "");
    stv_prose_wrap(
        text, 0,
        "%s%s%s casks give off %s of ethanol an hour on average and %s in the hour that "
        "gives off most; %s kg a year, for whoever needs an air permit%s.",
        store->name ? store->name : "", store->name ? ": " : "", number(store->n_casks, 0).text,
        rate(store, store->mean_kg_h, ranges->mean_kg_h).text,
        rate(store, store->peak_kg_h, ranges->peak_kg_h).text,
        figure(store, year_kg, stv_range_scaled(ranges->mean_kg_h, YEAR_H), year_kg < 10.0 ? 1 : 0)
            .text,
        is_spread(store) ? ", who should count on the upper end" : "");
    if (store->n_casks > store->n_listed && store->n_listed > 0.0)
        stv_prose_wrap(text, 0,
                       "casks.csv lists %s of them; the others that casks_stored counts are taken "
                       "to give off as much each.",
                       number(store->n_listed, 0).text);
    else if (store->name && !store->is_stock_said)
        stv_prose_wrap(text, 0,
                       "Only casks of casks.csv are counted: casks_stored is not said for this "
                       "store.");
    if (!(store->air_mean_m3_h > 0.0)) {
        stv_prose_wrap(text, 0,
                       "No air passes through it as it is described: the vapour gathers without "
                       "end, and no concentration is told.");
        return;
    }
    add_mixture(text, store);
}

/* What the hours listed share. */
static void add_worst_words(struct stv_text *text, const struct stv_vapour_store *store)
{
    double air_m3_h = store->has_ranges ? store->ranges.air_mean_m3_h.p50 : store->air_mean_m3_h;
    double least_m3_h = INFINITY, most_m3_h = 0.0, least_k = INFINITY, most_k = -INFINITY;
    for (size_t i = 0; i < store->n_worst; i++) {
        double warmer_k = store->worst[i].air_c - store->worst[i].outdoor_c;
        least_k = fmin(least_k, warmer_k);
        most_k = fmax(most_k, warmer_k);
        least_m3_h = fmin(least_m3_h, store->worst[i].air_m3_h);
        most_m3_h = fmax(most_m3_h, store->worst[i].air_m3_h);
    }
    stv_prose_wrap(text, 0,
                   "In these hours %s to %s changes pass, on average %s; inside less outdoors is "
                   "%s to %s C: the less the two differ and the calmer it is, the less air passes.",
                   number(least_m3_h / store->volume_m3, 2).text,
                   number(most_m3_h / store->volume_m3, 2).text,
                   number(air_m3_h / store->volume_m3, 2).text, stv_format_signed(least_k, 1).text,
                   stv_format_signed(most_k, 1).text);
}

static void add_worst(struct stv_text *text, const struct stv_vapour_store *store,
                      const struct stv_grid *grid)
{
    if (store->n_worst == 0)
        return;
    stv_prose_add(text, "\n");
    stv_prose_heading(text, "%-17s%18s%12s%11s%10s%11s", "Worst hours, from", "ppm", "ethanol g/h",
                      "changes/h", "inside C", "outside C");
    for (size_t i = 0; i < store->n_worst; i++) {
        const struct stv_vapour_hour *hour = &store->worst[i];
        int64_t local_s = hour->time_s - STV_HOUR_S + (int64_t)grid->utc_offset_min * 60;
        struct stv_formatted stamp = stv_format_iso_time(local_s);
        struct stv_formatted day =
            grid->is_typical ? stv_format("%.5s", stamp.text + 5) : stv_format("%.10s", stamp.text);
        stv_prose_add(text, "%-11s%-6.5s%18s%12s%11s%10s%11s\n", day.text, stamp.text + 11,
                      figure(store, hour->ppm, hour->ppm_range, 0).text,
                      number(1000.0 * hour->release_kg_h, 0).text,
                      number(hour->air_m3_h / store->volume_m3, 2).text,
                      number(hour->air_c, 1).text, number(hour->outdoor_c, 1).text);
    }
    stv_prose_wrap(text, 0, "The worst at least 18 hours apart, in standard time%s.",
                   is_spread(store)
                       ? ", the highest upper end first; ppm of that hour over all trials, "
                         "so that each trial's own worst hour can be higher"
                       : "");
    add_worst_words(text, store);
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
        double per_vapour_nd = stv_vapour_air_m3_h(1.0, limit->ppm, mixing_nd);
        struct stv_range need_m3_h =
            stv_range_scaled(store->ranges.peak_vapour_m3_h, per_vapour_nd);
        double most_m3_h =
            store->has_ranges ? need_m3_h.p95 : store->peak_vapour_m3_h * per_vapour_nd;
        stv_prose_wrap(text, 2, "%s m3/h (%s changes an hour%s) for %s ppm: %s (%s).",
                       figure(store, store->peak_vapour_m3_h * per_vapour_nd, need_m3_h, 0).text,
                       number(most_m3_h / store->volume_m3, 1).text,
                       is_spread(store) ? " at the upper end" : "", number(limit->ppm, 0).text,
                       limit->words, limit->source);
    }
    if (is_spread(store))
        stv_prose_wrap(text, 2,
                       "Ask for the upper end at least: one trial in twenty still lies above it.");
}

static void add_trials(struct stv_text *text, const struct stv_vapour_answer *answer)
{
    const struct stv_chain *chain = answer->chain;
    size_t n_draws = chain->run.n_draws;
    bool is_learned = stv_chain_request(chain).learned != NULL;
    if (n_draws == 0) {
        stv_prose_wrap(text, 0, "One run with the default numbers: no ranges (--draws 0).%s",
                       is_learned ? " What gauges taught is left out." : "");
        return;
    }
    stv_prose_wrap(
        text, 0,
        "%zu trials; the number in front is the middle one, 9 in 10 lie within the brackets. "
        "What wood and joints give off is drawn by the house, whose part is common to all "
        "casks and does not average out, and by the cask%s; %s.",
        n_draws, is_learned ? ", as the gauges taught" : "",
        answer->n > 0 && answer->stores[0].is_air_said
            ? "the air that passes is taken as said"
            : "the air that passes is right within a factor of two, 9 times in 10 (judgement)");
    stv_prose_wrap(text, 0,
                   "A few casks in a hundred leak in the trials%s: what seeps out is counted as if "
                   "all of it became vapour, and forecast tells it apart from wood and joints.",
                   is_learned ? ", and those that the gauges show" : "");
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
    stv_prose_wrap(
        text, 0,
        STV_VAPOUR_CAUTION
        " Fans, lamps, trucks and loggers must be rated for where they stand; keep "
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
    if (answer->chain && answer->chain->book.ledger.n_casks > 0) {
        stv_prose_add(text, "\n");
        add_trials(text, answer);
    }
    if (answer->chain && answer->chain->weather.grid.is_typical)
        stv_prose_wrap(text, 0,
                       "The weather is a typical year: no single heat wave is in it, so a worst "
                       "hour can be worse.");
    if (answer->chain && answer->chain->weather.is_made_up) {
        stv_words_made_up_days(text, answer->chain, 0);
        stv_prose_wrap(text, 0, "A mean holds no heat wave, so a worst hour can be worse.");
    }
    stv_prose_add(text, "\n");
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
        if (store->has_ranges)
            stv_json_set(object, "air_m3_h_range",
                         stv_json_range(store->ranges.peak_vapour_m3_h,
                                        stv_vapour_air_m3_h(1.0, limit->ppm, mixing_nd)));
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
        stv_json_set(object, "ppm_range", stv_json_range(hour->ppm_range, 1.0));
        stv_json_set(object, "ethanol_kg_h", stv_json_number(hour->release_kg_h));
        stv_json_set(object, "air_m3_h", stv_json_number(hour->air_m3_h));
        stv_json_set(object, "air_c", stv_json_number(hour->air_c));
        stv_json_set(object, "outdoor_c", stv_json_number(hour->outdoor_c));
        stv_json_append(array, object);
    }
    return array;
}

/* Month 1 to 12 and the hour that begins, local standard time. */
static json_t *clock_array(const struct stv_vapour_store *store)
{
    json_t *array = json_array();
    for (int m = 0; m < STV_MONTHS; m++)
        for (int h = 0; h < STV_DAY_H; h++) {
            json_t *object = json_object();
            stv_json_set(object, "month", json_integer(m + 1));
            stv_json_set(object, "hour", json_integer(h));
            stv_json_set(object, "highest_ppm", stv_json_range(store->clock_ppm[m][h], 1.0));
            stv_json_append(array, object);
        }
    return array;
}

static json_t *ranges_object(const struct stv_vapour_ranges *ranges)
{
    json_t *object = json_object();
    stv_json_set(object, "ethanol_mean_kg_h", stv_json_range(ranges->mean_kg_h, 1.0));
    stv_json_set(object, "ethanol_peak_kg_h", stv_json_range(ranges->peak_kg_h, 1.0));
    stv_json_set(object, "ethanol_kg_per_y", stv_json_range(ranges->mean_kg_h, YEAR_H));
    stv_json_set(object, "air_mean_m3_h", stv_json_range(ranges->air_mean_m3_h, 1.0));
    stv_json_set(object, "mean_ppm", stv_json_range(ranges->mean_ppm, 1.0));
    stv_json_set(object, "peak_ppm", stv_json_range(ranges->peak_ppm, 1.0));
    stv_json_set(object, "over_1000_ppm_h_per_y", stv_json_range(ranges->over_day_h_per_y, 1.0));
    return object;
}

void stv_json_vapour(json_t *document, const struct stv_vapour_answer *answer)
{
    json_t *stores = json_array();
    for (size_t i = 0; i < answer->n; i++) {
        const struct stv_vapour_store *store = &answer->stores[i];
        json_t *object = json_object();
        stv_json_set(object, "warehouse", store->name ? stv_json_text(store->name) : json_null());
        stv_json_set(object, "casks", stv_json_number(store->n_casks));
        stv_json_set(object, "casks_listed", stv_json_number(store->n_listed));
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
        if (store->has_ranges)
            stv_json_set(object, "ranges", ranges_object(&store->ranges));
        stv_json_set(object, "fresh_air", needs_array(store, answer->mixing_nd));
        stv_json_set(object, "worst_hours", worst_array(store));
        if (store->has_clock)
            stv_json_set(object, "by_month_and_hour", clock_array(store));
        stv_json_append(stores, object);
    }
    stv_json_set(document, "mixing_factor", stv_json_number(answer->mixing_nd));
    stv_json_set(document, "stores", stores);
    struct stv_text text = {0};
    add_cautions(&text);
    stv_json_caution_text(document, &text);
}

void stv_csv_vapour(struct stv_sheet *table, const struct stv_vapour_answer *answer)
{
    stv_csv_heads(table, "warehouse,casks,ethanol_mean_kg_h,ethanol_peak_kg_h,ethanol_kg_per_y,"
                         "volume_m3,air_mean_m3_h,mean_ppm,peak_ppm,over_1000_ppm_h_per_y,"
                         "air_for_1000_ppm_m3_h,air_for_3300_ppm_m3_h,air_for_8250_ppm_m3_h,"
                         "ethanol_kg_per_y_range*,mean_ppm_range*,peak_ppm_range*,"
                         "air_for_1000_ppm_m3_h_range*");
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
        const struct stv_range ranges[] = {store->ranges.mean_kg_h, store->ranges.mean_ppm,
                                           store->ranges.peak_ppm, store->ranges.peak_vapour_m3_h};
        const double factors[] = {YEAR_H, 1.0, 1.0,
                                  stv_vapour_air_m3_h(1.0, STV_VAPOUR_DAY_PPM, answer->mixing_nd)};
        for (size_t k = 0; k < sizeof ranges / sizeof ranges[0]; k++)
            stv_csv_range(table, store->has_ranges ? ranges[k] : stv_range_point((double)NAN),
                          factors[k]);
    }
}
