/* What each tier is like, in the order a distiller asks: how different are they in the warm
 * season, how different in the cold, and what does that do to wood, alcohol and fruit. */
#include "cli/words.h"

#include "cli/bars.h"
#include "cli/prose.h"
#include "model/calendar.h"
#include "model/spirit.h"

#include <math.h>
#include <string.h>

#define BAR_COLUMNS 70 /* beside the tier */

/* Differences under these are told as none: half a degree is what two loggers of the usual kind
 * differ by (common practice), 3 in 100 lies far inside the trials of any cask. */
#define NOTHING_K 0.5
#define NOTHING_FRAC 0.03

/* What the rate columns stand for: a 200 L cask, 97 % full (model/climate_metrics.h). */
#define TABLE_CASK_L 194.0
/* Fewer have no order worth a word. */
#define NEWEST_LEAST_YEARS 3

#define ETHANOL_KG_L (STV_ETHANOL_RHO20_KG_M3 / 1000.0)

/* Columns behind the tier, 78 with it. */
#define CLIMATE_ROW "%6s%8s%6s%6s%5s%5s%8s%8s%6s%8s%7s\n"
#define LOSS_ROW "%15s%16s%9s%10s%12s%10s\n"

static const struct stv_season_metrics *season(const struct stv_position_metrics *position,
                                               enum stv_season which)
{
    return &position->seasons[which];
}

/* False when a logger missed more of the season than a mean may leave out. */
static bool is_whole(const struct stv_season_metrics *metrics)
{
    return metrics->hole_frac <= STV_HOLE_MOST_FRAC;
}

static struct stv_formatted span_words(const struct stv_season_span *span)
{
    return stv_format_doy_span(span->from_doy, span->to_doy);
}

static void add_difference(struct stv_text *text, const struct stv_warehouse_climate *warehouse,
                           enum stv_season which)
{
    const struct stv_position_metrics *floor = &warehouse->tiers[0];
    const struct stv_position_metrics *top = &warehouse->tiers[warehouse->n_tiers - 1];
    double floor_c = season(floor, which)->liquid_mean_c;
    double top_c = season(top, which)->liquid_mean_c;
    double difference_k = top_c - floor_c;
    struct stv_formatted span = span_words(&warehouse->seasons[which]);
    if (which == STV_SEASON_COLD &&
        (!is_whole(season(floor, which)) || !is_whole(season(top, which)))) {
        stv_prose_wrap(text, 0,
                       "From %s floor and top are not compared: a logger missed more than a tenth "
                       "of it.",
                       span.text);
        return;
    }
    if (fabs(difference_k) < NOTHING_K)
        stv_prose_wrap(
            text, 0,
            "From %s there is next to nothing in it: %s " STV_PROSE_DEGREE "C in the cask on the "
            "floor, %s " STV_PROSE_DEGREE "C at the top.",
            span.text, stv_format_number(floor_c, 1).text, stv_format_number(top_c, 1).text);
    else
        stv_prose_wrap(text, 0,
                       "From %s the top tier is %s " STV_PROSE_DEGREE
                       "C %s in the cask than the floor (%s "
                       "against %s " STV_PROSE_DEGREE "C).",
                       span.text, stv_format_number(fabs(difference_k), 1).text,
                       difference_k > 0.0 ? "hotter" : "cooler", stv_format_number(top_c, 1).text,
                       stv_format_number(floor_c, 1).text);
}

/* Why the warm season is not ranked, or nothing. */
static bool add_refusal(struct stv_text *text, const struct stv_warehouse_climate *warehouse,
                        bool despite_holes)
{
    if (warehouse->warm_hole_tier_idx < 0)
        return false;
    const struct stv_position_metrics *tier = &warehouse->tiers[warehouse->warm_hole_tier_idx];
    struct stv_formatted missing =
        stv_format_number(100.0 * season(tier, STV_SEASON_WARM)->hole_frac, 0);
    if (despite_holes)
        stv_prose_wrap(text, 0,
                       "Asked for all the same: the logger of tier %d missed %s %% of the warm "
                       "season, and nothing filled it.",
                       tier->place.tier_idx + 1, missing.text);
    else
        stv_prose_wrap(text, 0,
                       "The tiers are not ranked for the warm season: the logger of tier %d missed "
                       "%s %% of it, more than a tenth, and nothing filled it (holes: in book.yaml "
                       "sets how long a hole may be filled). --despite-holes ranks them all the "
                       "same.",
                       tier->place.tier_idx + 1, missing.text);
    return !despite_holes;
}

void stv_words_climate_answer(struct stv_text *text, const struct stv_warehouse_climate *warehouse,
                              bool despite_holes)
{
    bool is_refused = add_refusal(text, warehouse, despite_holes);
    if (warehouse->n_tiers > 1) {
        if (!is_refused)
            add_difference(text, warehouse, STV_SEASON_WARM);
        add_difference(text, warehouse, STV_SEASON_COLD);
        return;
    }
    const struct stv_position_metrics *only = &warehouse->tiers[0];
    stv_prose_wrap(text, 0,
                   "In the cask it is %s " STV_PROSE_DEGREE
                   "C on average from %s, and %s " STV_PROSE_DEGREE "C from %s.",
                   stv_format_number(season(only, STV_SEASON_WARM)->liquid_mean_c, 1).text,
                   span_words(&warehouse->seasons[STV_SEASON_WARM]).text,
                   stv_format_number(season(only, STV_SEASON_COLD)->liquid_mean_c, 1).text,
                   span_words(&warehouse->seasons[STV_SEASON_COLD]).text);
}

/* A figure to a tenth, or what stands for it where too much of the season is missing. */
static struct stv_formatted if_known(bool is_known, double value, const char *otherwise)
{
    return is_known ? stv_format_number(value, 1) : stv_format("%s", otherwise);
}

static struct stv_formatted whole_if_known(bool is_known, double value)
{
    return is_known ? stv_format_number(value, 0) : stv_format("-");
}

static struct stv_formatted per_cent_of(bool is_known, double value, double reference)
{
    return whole_if_known(is_known, 100.0 * value / reference);
}

static void add_row(struct stv_text *text, const struct stv_position_metrics *row,
                    const struct stv_position_metrics *reference, const char *name)
{
    const struct stv_season_metrics *warm = season(row, STV_SEASON_WARM);
    const struct stv_season_metrics *cold = season(row, STV_SEASON_COLD);
    const struct stv_season_metrics *year = season(row, STV_SEASON_YEAR);
    const struct stv_season_metrics *base = season(reference, STV_SEASON_YEAR);
    bool has_warm = is_whole(warm), has_cold = is_whole(cold);
    bool has_year = is_whole(year);
    stv_prose_cell(text, name, 5);
    stv_prose_add(
        text, CLIMATE_ROW, if_known(has_warm, warm->liquid_mean_c, "holes").text,
        if_known(has_warm, row->warmest_month_c, "-").text,
        if_known(has_cold, cold->liquid_mean_c, "holes").text,
        whole_if_known(has_year, year->cool_hours_h / 24.0).text,
        whole_if_known(has_warm, 100.0 * warm->rh_mean_frac).text,
        whole_if_known(has_cold, 100.0 * cold->rh_mean_frac).text,
        stv_format_doy(row->waking_doy).text, stv_format_doy(row->quiet_doy).text,
        per_cent_of(has_year, year->extraction_rel_nd, base->extraction_rel_nd).text,
        per_cent_of(has_year, year->ethanol_lost_kg_per_y, base->ethanol_lost_kg_per_y).text,
        per_cent_of(has_year, year->fruit_fading_per_y, base->fruit_fading_per_y).text);
}

static void add_temperature_table(struct stv_text *text,
                                  const struct stv_warehouse_climate *warehouse,
                                  const struct stv_cask_numbers *numbers)
{
    size_t middle = (warehouse->n_tiers - 1) / 2;
    const struct stv_position_metrics *reference = &warehouse->tiers[middle];
    stv_prose_add(text, "\n     %15s    %7s%11s%7s%8s  %s\n", "in the cask, C", "days",
                  "humidity %", "wakes", "quiet",
                  stv_format("a year, tier %zu = 100", middle + 1).text);
    stv_prose_add(text, "%-5s" CLIMATE_ROW, "tier", "warm", "hottest", "cold",
                  stv_format("<%g C", numbers->cool_below_c).text, "warm", "cold",
                  stv_format("(%g C)", numbers->waking_c).text, "again", "wood", "alcohol",
                  "fruit");
    stv_prose_add(text, "%-5s" CLIMATE_ROW, "", "", "month", "", "", "", "", "", "", "", "lost",
                  "fading");
    for (size_t i = warehouse->n_tiers; i-- > 0;)
        add_row(text, &warehouse->tiers[i], reference, stv_format("%zu", i + 1).text);
    for (size_t i = 0; i < warehouse->n_bays; i++) {
        const struct stv_place *place = &warehouse->bays[i].place;
        add_row(text, &warehouse->bays[i], reference,
                stv_format("%d/%d", place->tier_idx + 1, place->bay_idx + 1).text);
    }
    if (warehouse->n_bays)
        stv_prose_add(text, "(tier/bay: a place with a logger of its own)\n");
}

static void add_loss_table(struct stv_text *text, const struct stv_warehouse_climate *warehouse,
                           const struct stv_house_rules *rules)
{
    stv_prose_add(text, "\nA 200 L cask of 60 %% spirit loses to air and joints in a year:\n");
    stv_prose_add(text, "%-5s" LOSS_ROW, "tier", "bottles", "pure alcohol", "litres", "water",
                  "strength", "swing");
    stv_prose_add(text, "%-5s" LOSS_ROW, "",
                  stv_format("at %s %%", stv_words_percent(rules->bottling_abv20_frac).text).text,
                  "L", "L", "kg", "%vol", "K a day");
    for (size_t i = warehouse->n_tiers; i-- > 0;) {
        const struct stv_season_metrics *year = season(&warehouse->tiers[i], STV_SEASON_YEAR);
        double lpa_l = year->ethanol_lost_kg_per_y / ETHANOL_KG_L;
        stv_prose_add(text, "%-5zu" LOSS_ROW, i + 1,
                      stv_format_number(stv_bottles_of_lpa_nd(rules, lpa_l), 1).text,
                      stv_format_number(lpa_l, 2).text,
                      stv_format_number(year->evaporation_frac_per_y * TABLE_CASK_L, 1).text,
                      stv_format_number(year->water_lost_kg_per_y, 1).text,
                      stv_format_signed(year->abv20_drift_frac_per_y * 100.0, 2).text,
                      stv_format_number(year->liquid_swing_k, 1).text);
    }
}

/* "26 % faster", "as fast": a ratio in words. */
static struct stv_formatted ratio_words(double ratio, const char *more, const char *less,
                                        const char *same)
{
    if (!(fabs(ratio - 1.0) >= NOTHING_FRAC))
        return stv_format("%s", same);
    return stv_format("%.0f %% %s", 100.0 * fabs(ratio - 1.0), ratio > 1.0 ? more : less);
}

enum { COLD_BAR, WARM_BAR, SEASON_BARS };

static void season_bars(const struct stv_position_metrics *tier, struct stv_bar out[SEASON_BARS])
{
    const struct stv_season_metrics *cold = &tier->seasons[STV_SEASON_COLD];
    const struct stv_season_metrics *warm = &tier->seasons[STV_SEASON_WARM];
    out[COLD_BAR] =
        (struct stv_bar){cold->liquid_p05_c, cold->liquid_mean_c, cold->liquid_p95_c, '-', 'c'};
    out[WARM_BAR] =
        (struct stv_bar){warm->liquid_p05_c, warm->liquid_mean_c, warm->liquid_p95_c, '=', 'W'};
}

/* Where the two seasons lie on each tier, for a terminal. */
static void add_bars(struct stv_text *text, const struct stv_warehouse_climate *warehouse)
{
    struct stv_bar_scale scale = {NAN, NAN, BAR_COLUMNS};
    struct stv_bar bars[SEASON_BARS];
    for (size_t t = 0; t < warehouse->n_tiers; t++) {
        season_bars(&warehouse->tiers[t], bars);
        for (size_t b = 0; b < SEASON_BARS; b++)
            stv_bar_scale_hold(&scale, &bars[b]);
    }
    stv_prose_drawing(text);
    stv_text_add(text, "\n");
    stv_prose_drawing(text);
    stv_text_add(text, "In the cask: cold season --c--, warm season ==W==; nine hours in ten\n");
    stv_prose_drawing(text);
    stv_prose_add(text, "%-6s", "tier");
    stv_bar_scale_add(text, &scale, 0, "C");
    stv_text_add(text, "\n");
    for (size_t t = warehouse->n_tiers; t-- > 0;) {
        season_bars(&warehouse->tiers[t], bars);
        stv_prose_drawing(text);
        stv_prose_add(text, "%-6zu", t + 1);
        stv_bars_add(text, &scale, bars, SEASON_BARS);
        stv_text_add(text, "\n");
    }
}

static void add_in_words(struct stv_text *text, const struct stv_warehouse_climate *warehouse)
{
    if (warehouse->n_tiers < 2)
        return;
    const struct stv_season_metrics *floor = season(&warehouse->tiers[0], STV_SEASON_YEAR);
    const struct stv_season_metrics *top =
        season(&warehouse->tiers[warehouse->n_tiers - 1], STV_SEASON_YEAR);
    double wood = top->extraction_rel_nd / floor->extraction_rel_nd;
    double alcohol = top->ethanol_lost_kg_per_y / floor->ethanol_lost_kg_per_y;
    double fruit = top->fruit_fading_per_y / floor->fruit_fading_per_y;
    if (fabs(wood - 1.0) < NOTHING_FRAC && fabs(alcohol - 1.0) < NOTHING_FRAC &&
        fabs(fruit - 1.0) < NOTHING_FRAC) {
        stv_prose_wrap(text, 0, "In words: over the year the tier does not matter here.");
        return;
    }
    stv_prose_wrap(text, 0,
                   "In words: from the floor to tier %zu wood comes %s, alcohol lost is %s, "
                   "and the still's fruit fades %s. Strength moves %s %%vol a year on the floor, "
                   "%s at the top.",
                   warehouse->n_tiers, ratio_words(wood, "faster", "slower", "just as fast").text,
                   ratio_words(alcohol, "more", "less", "the same").text,
                   ratio_words(fruit, "faster", "slower", "just as fast").text,
                   stv_format_signed(100.0 * floor->abv20_drift_frac_per_y, 2).text,
                   stv_format_signed(100.0 * top->abv20_drift_frac_per_y, 2).text);
    if (alcohol < 1.0 - NOTHING_FRAC && top->liquid_mean_c > floor->liquid_mean_c &&
        top->evaporation_frac_per_y > floor->evaporation_frac_per_y)
        stv_prose_wrap(text, 0,
                       "More litres go at the top, but less alcohol: the air is drier there, so it "
                       "takes water, and dry wood lets less alcohol through. That the wood does so "
                       "is the model's assumption; few in the trade expect it.");
}

static void add_not_learned(struct stv_text *text, const struct stv_chain *chain)
{
    if (chain->learned_casks.posterior.n_casks > 0)
        stv_prose_wrap(text, 0,
                       "That is a cask of wood as assumed. What `learn` found of yours is in "
                       "`forecast`, `place` and the others, and can turn a small difference "
                       "round.");
}

static void add_seasons(struct stv_text *text, const struct stv_chain *chain,
                        const struct stv_warehouse_climate *warehouse)
{
    stv_prose_wrap(text, 0,
                   "Warm season: %s, cold season: %s (%s). Each metre up the "
                   "air changes by %s C in the warm season, %s in the cold.",
                   span_words(&warehouse->seasons[STV_SEASON_WARM]).text,
                   span_words(&warehouse->seasons[STV_SEASON_COLD]).text,
                   chain->book.warm_months.is_said ? "the months your book names"
                                                   : "this store's own warmest and coldest weeks",
                   stv_format_signed(warehouse->gradient_k_m[STV_SEASON_WARM], 2).text,
                   stv_format_signed(warehouse->gradient_k_m[STV_SEASON_COLD], 2).text);
    if (warehouse->n_years == 1)
        stv_prose_wrap(text, 0,
                       "One whole year stands behind these figures: another year may "
                       "differ by a degree or two.");
    else
        stv_prose_wrap(text, 0,
                       "Means of the last %zu whole years of the record, which ends in %d.",
                       warehouse->n_years, (int)warehouse->last_year);
}

/* What filling holes did to the degree-days, for each tier where hours were filled. */
static void add_filled(struct stv_text *text, const struct stv_warehouse_climate *warehouse)
{
    for (size_t t = 0; t < warehouse->n_tiers; t++) {
        const struct stv_season_metrics *warm = season(&warehouse->tiers[t], STV_SEASON_WARM);
        const struct stv_season_metrics *year = season(&warehouse->tiers[t], STV_SEASON_YEAR);
        if (!(year->filled_frac > 0.0))
            continue;
        stv_prose_wrap(text, 0,
                       "Tier %zu, degree-days with the filled hours and without: %s and %s in the "
                       "warm season, %s and %s in the year.",
                       t + 1, stv_format_number(warm->degree_days_k_d, 0).text,
                       stv_format_number(warm->unfilled_degree_days_k_d, 0).text,
                       stv_format_number(year->degree_days_k_d, 0).text,
                       stv_format_number(year->unfilled_degree_days_k_d, 0).text);
    }
}

/* A warehouse of a bare weather file is called by its kind, which is then said once. */
static void add_title(struct stv_text *text, const struct stv_warehouse_climate *warehouse)
{
    const char *kind = stv_building_kind_name(warehouse->building.kind);
    struct stv_formatted tiers = stv_format_count(warehouse->n_tiers, "tier", "tiers");
    if (strcmp(warehouse->name, kind) == 0)
        stv_prose_heading(text, "A %s of %s", kind, tiers.text);
    else
        stv_prose_heading(text, "%s: %s, %s", warehouse->name, kind, tiers.text);
}

/* "1st", "2nd", "11th" */
static struct stv_formatted ordinal(size_t n)
{
    static const char *const ends[] = {"th", "st", "nd", "rd"};
    bool is_teen = n % 100 > 10 && n % 100 < 14;
    return stv_format("%zu%s", n, is_teen || n % 10 > 3 ? "th" : ends[n % 10]);
}

/* How the newest year stands among the whole ones, day for day. */
static void add_newest_year(struct stv_text *text, const struct stv_chain_years *by_year)
{
    const struct stv_degree_years *years = &by_year->years;
    const struct stv_degree_year *newest = years->n ? &years->years[years->n - 1] : NULL;
    size_t n = 1, rank = 1;
    for (size_t y = 0; y + 1 < years->n; y++) {
        const struct stv_degree_year *year = &years->years[y];
        if (!year->is_whole)
            continue;
        n++;
        rank += year->sum_k_d[newest->n_days - 1] > newest->sum_k_d[newest->n_days - 1];
    }
    if (n < NEWEST_LEAST_YEARS || by_year->days.is_typical)
        return;
    int first_doy =
        stv_season_day(stv_day_from_date((struct stv_date){2001, years->first_month, 1}));
    int last_doy = (first_doy + (int)newest->n_days - 1) % STV_DEGREE_YEAR_D;
    stv_prose_wrap(text, 0,
                   "The newest year, %d from %s, is %s: %s hottest of %zu by these days' "
                   "degree-days in the cask on tier %d.",
                   (int)newest->year, stv_format_doy_span(first_doy, last_doy).text,
                   3 * rank <= n        ? "a hot one"
                   : 3 * (n - rank) < n ? "a cool one"
                                        : "a middling one",
                   ordinal(rank).text, n, by_year->days.place.tier_idx + 1);
}

void stv_words_climate(struct stv_text *text, const struct stv_chain *chain,
                       const struct stv_climate_result *result, const struct stv_chain_years *years)
{
    for (size_t i = 0; i < result->n_warehouses; i++) {
        const struct stv_warehouse_climate *warehouse = &result->warehouses[i];
        if (warehouse->n_tiers == 0)
            continue;
        add_title(text, warehouse);
        stv_words_climate_answer(text, warehouse, chain->despite_holes);
        add_newest_year(text, &years[i]);
        add_temperature_table(text, warehouse, &chain->book.numbers);
        add_loss_table(text, warehouse, &chain->book.rules);
        add_bars(text, warehouse);
        stv_text_add(text, "\n");
        if (warehouse->warm_hole_tier_idx < 0 || chain->despite_holes) {
            add_in_words(text, warehouse);
            add_not_learned(text, chain);
        }
        add_seasons(text, chain, warehouse);
        add_filled(text, warehouse);
        stv_words_season_figures(text, warehouse, &chain->book.numbers);
        stv_text_add(text, "\n");
    }
    stv_words_water_used(text, chain);
    stv_words_rests_on(text, chain, false);
    stv_words_would_change(text, chain);
    stv_prose_heading(text, "Cautions");
    stv_words_caution_planning(text);
    stv_words_caution_room(text);
    stv_words_caution_vapour(text);
    stv_words_caution_stores(text, chain);
}
