/* What changes of the building are worth: the one that keeps most first, then what it does to the
 * top and the floor, then what does nothing, then tables tier by tier. */
#include "cli/words.h"

#include "cli/change_figures.h"
#include "cli/prose.h"

#include <math.h>
#include <string.h>

/* Tables tier by tier are printed for so many changes, those of all sites together. */
#define TABLES_MOST 8

/* "1.9 (0.9 to 3.8)" of a figure that is kept or lost, without its sign: is_less turns it. */
static struct stv_formatted amount(struct stv_range range, double factor_nd, int decimals)
{
    bool is_less = range.p50 * factor_nd < 0.0;
    return stv_format_range(stv_range_scaled(range, is_less ? -factor_nd : factor_nd), decimals);
}

/* "-4.6 (-5.9 to -3.3)". */
static struct stv_formatted signed_range(struct stv_range range, double factor_nd, int decimals)
{
    return stv_format_signed_range(stv_range_scaled(range, factor_nd), decimals);
}

/* Kelvin in a table: a wide range goes without its tenths. */
static struct stv_formatted kelvin(struct stv_range range)
{
    return signed_range(range, 1.0, fmax(fabs(range.p05), fabs(range.p95)) < 9.95 ? 1 : 0);
}

static enum stv_verdict verdict_of(const struct stv_changes_result *result,
                                   const struct stv_change_row *row, enum stv_change_figure figure)
{
    return stv_verdict_of(&row->figure[figure], result->margin[figure]);
}

static const struct stv_change_row *top_of(const struct stv_changes_result *result,
                                           const struct stv_change_effect *effect)
{
    return &effect->tiers[result->n_tiers - 1];
}

/* Figures by which a change can matter to the spirit or the casks. */
static const enum stv_change_figure telling[] = {
    STV_CHANGE_WARM_LIQUID_C, STV_CHANGE_COLD_LIQUID_C, STV_CHANGE_WARM_RH_FRAC,
    STV_CHANGE_COLD_RH_FRAC,  STV_CHANGE_LPA_L,         STV_CHANGE_VOLUME20_L,
    STV_CHANGE_ABV20_FRAC,    STV_CHANGE_WOOD_ND,       STV_CHANGE_FRUIT_ND,
};

/* True when all figures of all tiers lie inside the margins. */
static bool does_nothing(const struct stv_changes_result *result,
                         const struct stv_change_effect *effect)
{
    for (size_t t = 0; t < result->n_tiers; t++)
        for (size_t i = 0; i < sizeof telling / sizeof telling[0]; i++)
            if (verdict_of(result, &effect->tiers[t], telling[i]) != STV_VERDICT_SAME)
                return false;
    return true;
}

/* "4.6 (3.3 to 5.9) K cooler", "no different (-0.1 to +0.2 K)". */
static struct stv_formatted warmth(const struct stv_changes_result *result,
                                   const struct stv_change_row *row, enum stv_change_figure figure)
{
    struct stv_range range = row->figure[figure];
    if (verdict_of(result, row, figure) == STV_VERDICT_SAME)
        return stv_format("much as it is (%s K)", signed_range(range, 1.0, 1).text);
    return stv_format("%s K %s", amount(range, 1.0, 1).text, range.p50 < 0.0 ? "cooler" : "warmer");
}

/* Names of the changes beside the best that are sure to keep more than the building as it is: those
 * told apart from the best, or those that are not; how many. */
static size_t name_keepers(struct stv_text *names, const struct stv_changes_result *result,
                           bool are_apart)
{
    size_t n = 0;
    for (size_t c = 0; c < result->n_effects; c++) {
        bool is_apart = stv_verdict_of(&result->effects[c].behind_lpa_l,
                                       result->margin[STV_CHANGE_LPA_L]) == STV_VERDICT_MORE;
        if (c == result->best_idx || is_apart != are_apart ||
            verdict_of(result, &result->effects[c].mean, STV_CHANGE_LPA_L) != STV_VERDICT_MORE)
            continue;
        stv_prose_add(names, "%s%s", n++ ? ", " : "", result->effects[c].name);
    }
    return n;
}

static bool costs_alcohol(const struct stv_changes_result *result,
                          const struct stv_change_effect *effect)
{
    return verdict_of(result, &effect->mean, STV_CHANGE_LPA_L) == STV_VERDICT_LESS;
}

/* Whether every change is sure to cost alcohol. */
static bool is_costly(const struct stv_changes_result *result)
{
    bool is_costly = true;
    for (size_t c = 0; c < result->n_effects; c++)
        is_costly = is_costly && costs_alcohol(result, &result->effects[c]);
    return is_costly;
}

/* All figures are exactly none: the change says what the building is. */
static bool changes_nothing(const struct stv_changes_result *result,
                            const struct stv_change_effect *effect)
{
    (void)result;
    for (size_t f = 0; f < STV_CHANGE_FIGURES; f++)
        if (effect->mean.figure[f].p05 != 0.0 || effect->mean.figure[f].p95 != 0.0)
            return false;
    return true;
}

static void add_best(struct stv_text *text, const struct stv_changes_result *result)
{
    const struct stv_change_effect *best = &result->effects[result->best_idx];
    const struct stv_range *mean = best->mean.figure;
    struct stv_text ties = {0}, behind = {0};
    bool is_sure = verdict_of(result, &best->mean, STV_CHANGE_LPA_L) == STV_VERDICT_MORE;
    const char *what = "Keeps most";
    if (is_costly(result)) {
        stv_prose_wrap(text, 0, "No change asked for keeps alcohol.");
        return;
    }
    if (result->n_effects == 1)
        what = is_sure ? "Keeps alcohol" : "Not sure to keep alcohol that counts";
    else if (!is_sure)
        what = "No change is sure to keep alcohol that counts. First comes";
    stv_prose_wrap(text, 0, "%s: %s, %s bottles of each cask in its first year.", what, best->name,
                   signed_range(mean[STV_CHANGE_BOTTLES_ND], 1.0, 1).text);
    if (best->n_casks > 0.0)
        stv_prose_wrap(text, 2,
                       "In the house, %s casks: %s bottles a year, %s litres of pure alcohol.",
                       stv_format_number(best->n_casks, 0).text,
                       signed_range(mean[STV_CHANGE_BOTTLES_ND], best->n_casks, 0).text,
                       signed_range(mean[STV_CHANGE_LPA_L], best->n_casks, 0).text);
    if (is_sure && name_keepers(&ties, result, false) > 0)
        stv_prose_wrap(text, 2, "Keeping about as much, not told apart from it: %s.",
                       stv_text_string(&ties));
    if (is_sure && name_keepers(&behind, result, true) > 0)
        stv_prose_wrap(text, 2, "Keeping less than it, more than the building as it is: %s.",
                       stv_text_string(&behind));
    if (is_sure && mean[STV_CHANGE_VOLUME20_L].p50 < 0.0)
        stv_prose_wrap(
            text, 2,
            "It does so by drying the air: %s litres more of water and spirit together "
            "are lost, and the cask ends %s %%vol stronger. That dry wood lets less alcohol "
            "through is this model's word.",
            stv_format_number(-mean[STV_CHANGE_VOLUME20_L].p50, 1).text,
            stv_format_number(100.0 * mean[STV_CHANGE_ABV20_FRAC].p50, 2).text);
    text->has_failed = text->has_failed || ties.has_failed || behind.has_failed;
    stv_text_free(&ties);
    stv_text_free(&behind);
}

/* Litres of water and spirit together, where another change keeps most of those. */
static void add_most_litres(struct stv_text *text, const struct stv_changes_result *result)
{
    size_t most = 0;
    for (size_t c = 1; c < result->n_effects; c++)
        if (result->effects[c].mean.figure[STV_CHANGE_VOLUME20_L].p50 >
            result->effects[most].mean.figure[STV_CHANGE_VOLUME20_L].p50)
            most = c;
    const struct stv_change_row *mean = &result->effects[most].mean;
    if (most == result->best_idx ||
        verdict_of(result, mean, STV_CHANGE_VOLUME20_L) != STV_VERDICT_MORE)
        return;
    stv_prose_wrap(text, 2, "Keeps most litres, water and spirit together: %s, %s of each cask.",
                   result->effects[most].name,
                   signed_range(mean->figure[STV_CHANGE_VOLUME20_L], 1.0, 1).text);
}

/* The change that cools the top tier most in the warm season, and what else it does. */
static void add_coolest(struct stv_text *text, const struct stv_changes_result *result)
{
    size_t coolest = 0;
    for (size_t c = 1; c < result->n_effects; c++)
        if (top_of(result, &result->effects[c])->figure[STV_CHANGE_WARM_LIQUID_C].p50 <
            top_of(result, &result->effects[coolest])->figure[STV_CHANGE_WARM_LIQUID_C].p50)
            coolest = c;
    const struct stv_change_effect *effect = &result->effects[coolest];
    const struct stv_change_row *top = top_of(result, effect);
    if (verdict_of(result, top, STV_CHANGE_WARM_LIQUID_C) != STV_VERDICT_LESS) {
        stv_prose_wrap(text, 0,
                       "No change is sure to cool the spirit of the top tier in the warm "
                       "season.");
        return;
    }
    stv_prose_wrap(text, 0,
                   "Cools the top tier%s: %s, its spirit %s in the warm season; on the floor %s.",
                   result->n_effects > 1 ? " most" : "", effect->name,
                   warmth(result, top, STV_CHANGE_WARM_LIQUID_C).text,
                   warmth(result, &effect->tiers[0], STV_CHANGE_WARM_LIQUID_C).text);
    stv_prose_wrap(text, 2,
                   "Cooler casks are slower ones: wood %s %% in that year, still fruit left %s.",
                   signed_range(effect->mean.figure[STV_CHANGE_WOOD_ND], 100.0, 1).text,
                   signed_range(effect->mean.figure[STV_CHANGE_FRUIT_ND], 1.0, 2).text);
}

/* Names joined by commas of the changes that a test picks; how many. */
static size_t name_those(struct stv_text *names, const struct stv_changes_result *result,
                         bool (*is_one)(const struct stv_changes_result *,
                                        const struct stv_change_effect *))
{
    size_t n = 0;
    for (size_t c = 0; c < result->n_effects; c++)
        if (is_one(result, &result->effects[c]))
            stv_prose_add(names, "%s%s", n++ ? ", " : "", result->effects[c].name);
    return n;
}

static bool keeps_the_same(const struct stv_changes_result *result,
                           const struct stv_change_effect *effect)
{
    return verdict_of(result, &effect->mean, STV_CHANGE_LPA_L) == STV_VERDICT_SAME &&
           !does_nothing(result, effect);
}

static bool is_unsure(const struct stv_changes_result *result,
                      const struct stv_change_effect *effect)
{
    return verdict_of(result, &effect->mean, STV_CHANGE_LPA_L) == STV_VERDICT_UNSURE;
}

static void
add_those(struct stv_text *text, const struct stv_changes_result *result, const char *what,
          bool (*is_one)(const struct stv_changes_result *, const struct stv_change_effect *))
{
    struct stv_text names = {0};
    if (name_those(&names, result, is_one) > 0)
        stv_prose_wrap(text, 0, "%s: %s.", what, stv_text_string(&names));
    text->has_failed = text->has_failed || names.has_failed;
    stv_text_free(&names);
}

static bool is_all_idle(const struct stv_changes_result *result)
{
    bool is_idle = true;
    for (size_t c = 0; c < result->n_effects; c++)
        is_idle = is_idle && does_nothing(result, &result->effects[c]);
    return is_idle;
}

void stv_words_changes_answer(struct stv_text *text, const struct stv_study *study, size_t site_idx,
                              const struct stv_changes_result *result)
{
    if (study->n_sites > 1)
        stv_prose_heading(text, "%s", study->sites[site_idx].name);
    if (is_all_idle(result)) {
        add_those(text, result, "Does not matter at all", does_nothing);
        add_those(text, result, "Already so: nothing in the building is changed by it",
                  changes_nothing);
        return;
    }
    add_best(text, result);
    add_most_litres(text, result);
    add_coolest(text, result);
    add_those(text, result, "Costs alcohol", costs_alcohol);
    add_those(text, result, "Cannot be told apart from the building as it is in alcohol kept",
              is_unsure);
    add_those(text, result, "Does not matter to the alcohol kept, but is felt in the racks",
              keeps_the_same);
    add_those(text, result, "Does not matter at all", does_nothing);
    add_those(text, result, "Already so: nothing in the building is changed by it",
              changes_nothing);
}

static void add_overview(struct stv_text *text, const struct stv_changes_result *result)
{
    stv_prose_add(text, "\n%-18s%22s%8s%9s%9s%7s%7s\n", "", "bottles kept a year,", "litres",
                  "top K", "floor K", "wood", "fruit");
    stv_prose_add(text, "%-18s%22s%8s%9s%9s%7s%7s\n", "against as it is", "a cask", "a cask",
                  "warm", "warm", "%", "left");
    for (size_t c = 0; c < result->n_effects; c++) {
        const struct stv_change_effect *effect = &result->effects[c];
        const struct stv_range *mean = effect->mean.figure;
        stv_prose_cell(text, effect->name, 18);
        stv_prose_add(
            text, "%22s%8s%9s%9s%7s%7s\n", signed_range(mean[STV_CHANGE_BOTTLES_ND], 1.0, 1).text,
            stv_format_signed(mean[STV_CHANGE_VOLUME20_L].p50, 1).text,
            stv_format_signed(top_of(result, effect)->figure[STV_CHANGE_WARM_LIQUID_C].p50, 1).text,
            stv_format_signed(effect->tiers[0].figure[STV_CHANGE_WARM_LIQUID_C].p50, 1).text,
            stv_format_signed(100.0 * mean[STV_CHANGE_WOOD_ND].p50, 1).text,
            stv_format_signed(mean[STV_CHANGE_FRUIT_ND].p50, 2).text);
    }
}

static void add_warmth_table(struct stv_text *text, const struct stv_changes_result *result,
                             const struct stv_change_effect *effect)
{
    stv_prose_add(text, "%4s%20s%20s%20s%15s\n", "", "spirit, K", "", "", "humidity, %");
    stv_prose_add(text, "%4s%20s%20s%20s%5s%5s%5s\n", "tier", "warm season", "cold season", "year",
                  "warm", "cold", "year");
    for (size_t t = result->n_tiers; t-- > 0;) {
        const struct stv_range *figure = effect->tiers[t].figure;
        stv_prose_add(text, "%4zu%20s%20s%20s%5s%5s%5s\n", t + 1,
                      kelvin(figure[STV_CHANGE_WARM_LIQUID_C]).text,
                      kelvin(figure[STV_CHANGE_COLD_LIQUID_C]).text,
                      kelvin(figure[STV_CHANGE_YEAR_LIQUID_C]).text,
                      stv_format_signed(100.0 * figure[STV_CHANGE_WARM_RH_FRAC].p50, 0).text,
                      stv_format_signed(100.0 * figure[STV_CHANGE_COLD_RH_FRAC].p50, 0).text,
                      stv_format_signed(100.0 * figure[STV_CHANGE_YEAR_RH_FRAC].p50, 0).text);
    }
}

static void add_kept_row(struct stv_text *text, const char *label, const struct stv_range *figure)
{
    stv_prose_add(text, "%4s%20s%24s%9s%8s%7s%7s\n", label,
                  signed_range(figure[STV_CHANGE_BOTTLES_ND], 1.0, 1).text,
                  signed_range(figure[STV_CHANGE_LPA_L], 1.0, 2).text,
                  stv_format_signed(figure[STV_CHANGE_VOLUME20_L].p50, 2).text,
                  stv_format_signed(100.0 * figure[STV_CHANGE_ABV20_FRAC].p50, 2).text,
                  stv_format_signed(100.0 * figure[STV_CHANGE_WOOD_ND].p50, 1).text,
                  stv_format_signed(figure[STV_CHANGE_FRUIT_ND].p50, 2).text);
}

static void add_kept_table(struct stv_text *text, const struct stv_changes_result *result,
                           const struct stv_change_effect *effect)
{
    double n_casks = effect->n_casks;
    stv_prose_add(text, "%4s%20s%24s%9s%8s%7s%7s\n", "", "kept of a cask", "kept of a cask",
                  "litres", "%vol", "wood", "fruit");
    stv_prose_add(text, "%4s%20s%24s%9s%8s%7s%7s\n", "tier", "a year, bottles",
                  "a year, pure alcohol L", "kept", "then", "%", "left");
    for (size_t t = result->n_tiers; t-- > 0;)
        add_kept_row(text, stv_format("%zu", t + 1).text, effect->tiers[t].figure);
    add_kept_row(text, "all", effect->mean.figure);
    if (n_casks > 0.0)
        stv_prose_wrap(text, 2,
                       "The house, %s casks: %s bottles and %s litres of pure alcohol a year.",
                       stv_format_number(n_casks, 0).text,
                       signed_range(effect->mean.figure[STV_CHANGE_BOTTLES_ND], n_casks, 0).text,
                       signed_range(effect->mean.figure[STV_CHANGE_LPA_L], n_casks, 0).text);
}

void stv_words_changes(struct stv_text *text, const struct stv_study *study, size_t site_idx,
                       const struct stv_changes_result *result)
{
    stv_words_changes_answer(text, study, site_idx, result);
    add_overview(text, result);
    if (result->n_effects * study->n_sites > TABLES_MOST) {
        stv_prose_add(text, "(tier by tier: --json or --csv)\n\n");
        return;
    }
    for (size_t c = 0; c < result->n_effects; c++) {
        stv_prose_add(text, "\n%s, against the building as it is\n", result->effects[c].name);
        add_warmth_table(text, result, &result->effects[c]);
        add_kept_table(text, result, &result->effects[c]);
    }
    stv_text_add(text, "\n");
}

static void add_doubts(struct stv_text *text)
{
    struct stv_text list = {0};
    for (int d = 0; d < STV_BUILDING_DOUBTS; d++) {
        const struct stv_building_doubt_info *info =
            stv_building_doubt_info((enum stv_building_doubt)d);
        stv_prose_add(&list, "%s%s (%s)", d ? ", " : "", info->what, info->spread);
    }
    stv_prose_wrap(text, 2, "Not known of a building, all by judgement: %s.",
                   stv_text_string(&list));
    text->has_failed = text->has_failed || list.has_failed;
    stv_text_free(&list);
}

void stv_words_changes_rest(struct stv_text *text, const struct stv_study *study,
                            const struct stv_changes_result *result)
{
    const struct stv_building *building = &study->building;
    if (study->warehouse[0])
        stv_prose_wrap(text, 2, "%s of %s as its book describes it, without its loggers.",
                       study->warehouse, study->house);
    stv_prose_wrap(text, 2,
                   "The building as it is: %s x %s m under eaves at %s m, %s casks stored, %s m2 "
                   "of leaks, %s m2 of open vents.",
                   stv_format_number(building->length_m, 1).text,
                   stv_format_number(building->width_m, 1).text,
                   stv_format_number(building->eaves_height_m, 1).text,
                   stv_format_number(building->n_casks, 0).text,
                   stv_format_number(building->leak_area_m2, 2).text,
                   stv_format_number(building->vent_low_m2 + building->vent_high_m2, 2).text);
    stv_words_bottle_basis(text, &study->rules, 0);
    if (result->n_trials > 1) {
        stv_prose_wrap(text, 2,
                       "Ranges of changes are the model's, not measured: %zu trials in %zu "
                       "buildings and %s, each trial the same on both sides, with what is not "
                       "known of weather, wood and spirit. 9 in 10 trials lie in the brackets.",
                       result->n_trials, result->n_members,
                       result->is_typical
                           ? "one typical year, which says nothing of how years differ"
                           : stv_format_count(result->n_years, "year", "years").text);
        add_doubts(text);
        stv_prose_wrap(text, 2,
                       "A new finish errs by itself; all else errs alike on both sides. Not "
                       "drawn: mixing between tiers, size, stock, doors.");
    }
    stv_prose_wrap(text, 2,
                   "Of a change, differences inside %s bottles of a cask a year, %s K and %s %% of "
                   "humidity count as none, wood and fruit as above. Every cask is taken as the "
                   "study's, in its first year, spread evenly over the tiers.",
                   stv_format_number(study->margin_bottles_nd, 2).text,
                   stv_format_number(study->margin_liquid_k, 1).text,
                   stv_format_number(100.0 * study->margin_rh_frac, 0).text);
}

void stv_words_changes_cautions(struct stv_text *text, const struct stv_study *study)
{
    const char *cautions[STV_CHANGE_CAUTIONS_MOST];
    size_t n = stv_changes_cautions(study, cautions);
    for (size_t i = 0; i < n; i++)
        stv_prose_wrap(text, 0, "%s", cautions[i]);
}
