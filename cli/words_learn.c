/* What was learned, how far it misses, and, under every other answer, where each tier's hours come
 * from. */
#include "cli/words.h"

#include "cli/chain_learned.h"
#include "cli/prose.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Columns of the table behind the name, 80 with it. */
#define LEARN_ROW "%6s%7s%8s%8s%9s%9s%9s%10s%8s\n"
#define STOCK_FRAC 0.2 /* a store this much fuller or emptier answers the weather otherwise */

static const char *const month_words[STV_RACK_FOLDS] = {
    "January", "February", "March",     "April",   "May",      "June",
    "July",    "August",   "September", "October", "November", "December"};

static struct stv_formatted rack_words(const struct stv_rack *rack)
{
    if (rack->place.bay_idx < 0)
        return stv_format("%d", rack->place.tier_idx + 1);
    if (rack->place.depth_idx < 1)
        return stv_format("%d/%d", rack->place.tier_idx + 1, rack->place.bay_idx + 1);
    return stv_format("%d/%d/%d", rack->place.tier_idx + 1, rack->place.bay_idx + 1,
                      rack->place.depth_idx + 1);
}

static struct stv_formatted figure(double value, double factor, int decimals)
{
    return isfinite(value) ? stv_format_number(factor * value, decimals) : stv_format("-");
}

/* --- under every answer ----------------------------------------------------------------------- */

/* How far what stands in misses a month; NaN: not known. */
static double miss_of_k(const struct stv_chain *chain, const struct stv_position *position)
{
    const struct stv_rack *rack = stv_learned_rack(&chain->learned, &position->place);
    if (position->rest == STV_REST_LEARNED && rack)
        return rack->skill.air_k.month_nd;
    for (size_t i = 0; position->rest == STV_REST_FOLLOWED && i < chain->learned.n_between; i++)
        if (chain->learned.between[i].warehouse_idx == position->place.warehouse_idx)
            return chain->learned.between[i].month_k;
    return NAN;
}

static const char *rest_words(enum stv_position_rest rest)
{
    switch (rest) {
    case STV_REST_NONE:
        return "unknown";
    case STV_REST_MODELLED:
        return "from the building model alone";
    case STV_REST_MOVED:
        return "modelled and shifted to agree with them";
    case STV_REST_FOLLOWED:
        return "modelled and shifted as the tiers beside it";
    case STV_REST_LEARNED:
        return "learned";
    }
    return "unknown";
}

static struct stv_text source_words(const struct stv_chain *chain,
                                    const struct stv_position *position)
{
    struct stv_text words = {0};
    double miss_k = miss_of_k(chain, position);
    if (position->source == STV_SOURCE_BORROWED) {
        stv_text_add(&words, "a copy of the nearest tier that has a logger");
        return words;
    }
    if (position->source == STV_SOURCE_MEASURED) {
        stv_text_add(&words, "measured");
        return words;
    }
    if (position->measured_frac > 0.0)
        stv_text_format(&words, "%s %% of the hours measured, the rest ",
                        stv_format_number(100.0 * position->measured_frac, 0).text);
    stv_text_add(&words, rest_words(position->rest));
    if (position->rest == STV_REST_MOVED && !position->is_moved_all_year)
        stv_text_add(&words, ", whose part of the year may not stand for the rest: as unsure as "
                             "without a logger");
    if (isfinite(miss_k))
        stv_text_format(&words, " (misses a month by %s " STV_PROSE_DEGREE "C)",
                        stv_format_number(miss_k, 1).text);
    return words;
}

static bool is_alike(const struct stv_chain *chain, const struct stv_position *position,
                     const struct stv_text *words)
{
    struct stv_text own = source_words(chain, position);
    bool is_same = strcmp(stv_text_string(&own), stv_text_string(words)) == 0;
    stv_text_free(&own);
    return is_same;
}

/* One line for a run of tiers that came about alike. */
static void add_tiers(struct stv_text *text, const struct stv_chain *chain, size_t warehouse_idx)
{
    const struct stv_chain_warehouse *warehouse = &chain->warehouses[warehouse_idx];
    const char *name =
        chain->book.n_warehouses > 1 ? chain->book.warehouses[warehouse_idx].name : "";
    for (size_t t = 0; t < warehouse->n_tiers;) {
        struct stv_text words = source_words(chain, &warehouse->positions[t]);
        size_t end = t + 1;
        while (end < warehouse->n_tiers && is_alike(chain, &warehouse->positions[end], &words))
            end++;
        struct stv_formatted tiers = end - t > 1 ? stv_format("tiers %zu to %zu", t + 1, end)
                                                 : stv_format("tier %zu", t + 1);
        stv_prose_wrap(text, 4, "%s%s%s: %s.", name, *name ? ", " : "", tiers.text,
                       stv_text_string(&words));
        stv_text_free(&words);
        t = end;
    }
}

/* Months, joined by commas and an "and". */
static void join_months(struct stv_text *out, const bool holds[STV_RACK_FOLDS])
{
    size_t n = 0;
    for (size_t m = 0; m < STV_RACK_FOLDS; m++)
        n += holds[m];
    for (size_t m = 0, i = 0; m < STV_RACK_FOLDS; m++) {
        if (!holds[m])
            continue;
        i++;
        stv_text_format(out, "%s%s", i == 1 ? "" : i == n ? " and " : ", ", month_words[m]);
    }
}

/* Adds a rack's unseen months to those of others; true when there are any. */
static bool add_unseen(const double frac[STV_RACK_FOLDS], bool holds[STV_RACK_FOLDS])
{
    bool has_any = false;
    for (size_t m = 0; m < STV_RACK_FOLDS; m++) {
        holds[m] = holds[m] || frac[m] > STV_RACK_UNSEEN_FRAC;
        has_any = has_any || holds[m];
    }
    return has_any;
}

static void say_unseen(struct stv_text *text, size_t indent, const bool holds[STV_RACK_FOLDS])
{
    struct stv_text months = {0};
    join_months(&months, holds);
    stv_prose_wrap(text, indent,
                   "Outdoors more than 2 C beyond what the loggers have lived through, in %s: what "
                   "was learned says little there.",
                   stv_text_string(&months));
    text->has_failed = text->has_failed || months.has_failed;
    stv_text_free(&months);
}

/* Files that are no longer those that were learned from. */
static void add_changed(struct stv_text *text, const struct stv_chain *chain)
{
    struct stv_learned_input *inputs = NULL;
    size_t n = 0, n_changed = 0;
    struct stv_text names = {0};
    if (stv_learned_inputs(&chain->book, &inputs, &n) != STV_OK)
        return;
    for (size_t i = 0; i < n; i++) {
        bool is_same = false;
        for (size_t k = 0; k < chain->learned.n_inputs; k++)
            is_same = is_same || (strcmp(chain->learned.inputs[k].file, inputs[i].file) == 0 &&
                                  strcmp(chain->learned.inputs[k].sha256, inputs[i].sha256) == 0);
        if (is_same)
            continue;
        stv_text_format(&names, "%s%s", n_changed ? ", " : "", inputs[i].file);
        n_changed++;
    }
    free(inputs);
    if (n_changed)
        stv_prose_wrap(text, 2, "Changed since `learn` ran: %s. Run it again.",
                       stv_text_string(&names));
    stv_text_free(&names);
}

static void add_stock(struct stv_text *text, const struct stv_chain *chain)
{
    for (size_t w = 0; w < chain->book.n_warehouses; w++) {
        double now = chain->book.warehouses[w].building.n_casks;
        for (size_t i = 0; i < chain->learned.n_racks; i++) {
            const struct stv_rack *rack = &chain->learned.racks[i];
            if (rack->place.warehouse_idx != (int)w)
                continue;
            if (fabs(now - rack->n_casks) > STOCK_FRAC * fmax(now, rack->n_casks))
                stv_prose_wrap(text, 2,
                               "%s was learned with %s casks stored and now has %s: it answers the "
                               "weather faster when emptier, and what was learned may not hold.",
                               chain->book.warehouses[w].name,
                               stv_format_number(rack->n_casks, 0).text,
                               stv_format_number(now, 0).text);
            break;
        }
    }
}

void stv_words_sources(struct stv_text *text, const struct stv_chain *chain)
{
    for (size_t w = 0; w < chain->book.n_warehouses; w++)
        add_tiers(text, chain, w);
}

void stv_words_sources_heed(struct stv_text *text, const struct stv_chain *chain)
{
    bool holds[STV_RACK_FOLDS] = {false}, has_any = false;
    if (chain->learned.n_racks == 0)
        return;
    for (size_t i = 0; i < chain->learned.n_racks; i++) {
        double frac[STV_RACK_FOLDS];
        if (stv_rack_unseen_months(&chain->learned.racks[i].lived[STV_RACK_AIR], &chain->weather,
                                   frac) == STV_OK)
            has_any = add_unseen(frac, holds);
    }
    if (has_any)
        say_unseen(text, 2, holds);
    add_stock(text, chain);
    add_changed(text, chain);
}

/* --- `learn` ---------------------------------------------------------------------------------- */

struct span {
    double least, most;
};

static void widen(struct span *span, double value)
{
    span->least = fmin(span->least, value);
    span->most = fmax(span->most, value);
}

static struct stv_formatted span_words(struct span span)
{
    struct stv_formatted least = stv_format_number(span.least, 1);
    struct stv_formatted most = stv_format_number(span.most, 1);
    return strcmp(least.text, most.text) == 0 ? least
                                              : stv_format("%s to %s", least.text, most.text);
}

static void add_answer(struct stv_text *text, const struct stv_learning *learning)
{
    const struct stv_learned *learned = &learning->learned;
    struct span hour = {HUGE_VAL, -HUGE_VAL}, month = hour;
    int64_t first_d = INT64_MAX, last_d = INT64_MIN;
    for (size_t i = 0; i < learned->n_racks; i++) {
        const struct stv_rack *rack = &learned->racks[i];
        widen(&hour, rack->skill.air_k.hour_nd);
        widen(&month, rack->skill.air_k.month_nd);
        first_d = rack->first_day_d < first_d ? rack->first_day_d : first_d;
        last_d = rack->last_day_d > last_d ? rack->last_day_d : last_d;
    }
    stv_prose_wrap(text, 0,
                   "%s learned from loggers of %s to %s. A month that was left out and told from "
                   "the weather is missed by %s C in its mean, and by %s C in an hour.",
                   stv_format_count(learned->n_racks, "place", "places").text,
                   stv_format_day(first_d).text, stv_format_day(last_d).text,
                   span_words(month).text, span_words(hour).text);
    bool holds[STV_RACK_FOLDS] = {false}, has_any = false;
    for (size_t i = 0; i < learned->n_racks; i++)
        has_any = add_unseen(learning->unseen_frac[i], holds);
    if (has_any)
        say_unseen(text, 0, holds);
}

static void add_row(struct stv_text *text, const struct stv_rack *rack)
{
    const struct stv_rack_skill *skill = &rack->skill;
    stv_prose_cell(text, rack_words(rack).text, 6);
    stv_prose_add(
        text, LEARN_ROW, stv_format("%zu", skill->n_months).text,
        figure(skill->air_k.month_nd, 1.0, 2).text, figure(skill->air_k.hour_nd, 1.0, 2).text,
        stv_format_signed(skill->air_k.worst_month_nd, 1).text,
        figure(skill->outdoor_k.month_nd, 1.0, 1).text, figure(skill->own_k.month_nd, 1.0, 1).text,
        figure(skill->month_30d_k.month_nd, 1.0, 1).text,
        figure(skill->store_k.month_nd, 1.0, 1).text,
        figure(skill->rh_frac.month_nd, 100.0, 1).text);
}

static void add_table(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_learned *learned, size_t warehouse_idx)
{
    stv_prose_add(text, "\n");
    stv_prose_heading(text, "%s: misses, in C", chain->book.warehouses[warehouse_idx].name);
    stv_prose_add(text, "%12s%23s%37s%8s\n", "", "learned: a", "without learning: a month by",
                  "humid.");
    stv_prose_add(text, "%-6s" LEARN_ROW, "tier", "months", "month", "an hour", "worst", "outdoor",
                  "logger's", "30-day", "building", "a month");
    stv_prose_add(text, "%-6s" LEARN_ROW, "", "seen", "", "", "month", "air", "months", "mean",
                  "model", "%");
    for (size_t i = learned->n_racks; i-- > 0;)
        if (learned->racks[i].place.warehouse_idx == (int)warehouse_idx)
            add_row(text, &learned->racks[i]);
}

/* "the building model, and outdoor air, sun": what a sum is made of. */
static void describe(struct stv_text *line, const struct stv_rack_sum *sum, int from_tier_idx,
                     const char *outdoor)
{
    bool has_any = sum->start != STV_START_OUTDOOR;
    if (sum->start == STV_START_STORE)
        stv_text_add(line, "the building model");
    if (sum->start == STV_START_TIER)
        stv_text_format(line, "tier %d", from_tier_idx + 1);
    for (unsigned g = 0; g < STV_RACK_GROUPS; g++) {
        if (!(sum->groups >> g & 1u))
            continue;
        stv_text_format(line, "%s%s", has_any ? ", " : "",
                        g == STV_RACK_OUTDOOR ? outdoor : stv_rack_group_words(g));
        has_any = true;
    }
}

static void add_made_of(struct stv_text *text, const struct stv_rack *rack)
{
    static const char *const titles[STV_RACK_TARGETS] = {"air", "vapour"};
    static const char *const outdoor[STV_RACK_TARGETS] = {"outdoor air", "outdoor vapour"};
    for (size_t t = 0; t < STV_RACK_TARGETS; t++) {
        struct stv_text line = {0};
        if (!rack->sum[t].is_learned)
            continue;
        describe(&line, &rack->sum[t], rack->from_tier_idx, outdoor[t]);
        stv_prose_wrap(text, 4, "tier %s, %s: %s.", rack_words(rack).text, titles[t],
                       stv_text_string(&line));
        stv_text_free(&line);
    }
}

static void add_unlearned(struct stv_text *text, const struct stv_chain *chain,
                          const struct stv_learning *learning)
{
    for (size_t i = 0; i < learning->n_unlearned; i++) {
        const struct stv_unlearned *rack = &learning->unlearned[i];
        stv_prose_wrap(
            text, 2,
            "Not learned: %s, with %s days measured: too few months, or too much alike. Three "
            "calendar months of ten days each are wanted, one of them warm and one "
            "cold.",
            stv_words_place_of(chain, &rack->place).text,
            stv_format_number((double)rack->n_hours / 24.0, 0).text);
    }
}

static void add_rests(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_learning *learning)
{
    const struct stv_learned *learned = &learning->learned;
    stv_prose_heading(text, "Rests on");
    if (chain->basis != STV_BASIS_HEED)
        stv_prose_wrap(
            text, 2,
            "Each calendar month told by a choice and a fit that left it out, in all years "
            "together. Beside it what could be said without learning: outdoor air, the "
            "logger's own monthly means (from the months beside), the mean of the last 30 "
            "days outdoors, the building model.");
    size_t n_bays = 0;
    for (size_t i = 0; i < learned->n_racks; i++) {
        if (learned->racks[i].place.bay_idx < 0 && chain->basis == STV_BASIS_ALL)
            add_made_of(text, &learned->racks[i]);
        n_bays += learned->racks[i].place.bay_idx >= 0;
    }
    if (n_bays && chain->basis == STV_BASIS_ALL)
        stv_prose_wrap(text, 4, "%s: as listed in %s.",
                       stv_format_count(n_bays, "bay", "bays").text, STV_LEARNED_FILE);
    for (size_t i = 0; i < learned->n_between && chain->basis != STV_BASIS_HEED; i++) {
        const struct stv_learned_between *between = &learned->between[i];
        stv_prose_wrap(text, 2,
                       "%s: a tier without a logger is told from those beside it; with each of %zu "
                       "hidden in turn that misses a month by %s C, an hour by %s C.",
                       chain->book.warehouses[between->warehouse_idx].name, between->n_tiers,
                       stv_format_number(between->month_k, 1).text,
                       stv_format_number(between->hour_k, 1).text);
    }
    if (chain->basis == STV_BASIS_FACTS)
        stv_prose_wrap(text, 2, "What each tier was told by: --explain.");
    stv_words_made_up_days(text, chain, 2);
    add_unlearned(text, chain, learning);
}

void stv_words_learn(struct stv_text *text, const struct stv_chain *chain,
                     const struct stv_learning *learning)
{
    add_answer(text, learning);
    for (size_t w = 0; w < chain->book.n_warehouses; w++)
        for (size_t i = 0; i < learning->learned.n_racks; i++)
            if (learning->learned.racks[i].place.warehouse_idx == (int)w) {
                add_table(text, chain, &learning->learned, w);
                break;
            }
    stv_prose_add(text, "\n");
    add_rests(text, chain, learning);
    stv_prose_wrap(text, 2,
                   "Kept in %s. Every other command takes the hours that no logger measured from "
                   "there, and the error of a month as its part of every range; deleting the file "
                   "undoes it. Loggers or weather that come later change nothing until `learn` "
                   "runs again.",
                   STV_LEARNED_FILE);
}
