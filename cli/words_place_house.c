/* Where a fill run, or the whole house, had better lie: what to do, what it brings, what each kind
 * of cask gives on each tier, which wishes are not met, and cask by cask where. */
#include "cli/words_place_house.h"

#include "cli/place_crew.h"
#include "cli/prose.h"
#include "cli/words.h"
#include "cli/words_place_why.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define GROUPS_PRINTED_MOST 12
#define MOVED_GROUPS_PRINTED_MOST 4
#define CASKS_PRINTED_MOST 72
#define HEAVY_LISTED_MOST 12
#define HEIGHT_MATTERS_SHARE STV_BOTTLES_TIE_SHARE /* of the merit: as for one cask */

/* Places of one tier and air: told as one row. */
struct tier_row {
    size_t kind_idx; /* the first of them */
    size_t n_places, n_here;
};

const struct stv_house_outcome *stv__outcome_of(const struct stv_place_house *house, size_t group,
                                                size_t kind)
{
    return &house->placement.outcomes[group * house->n_kinds + kind];
}

size_t stv__placed_in(const struct stv_place_house *house, size_t group, size_t kind)
{
    return house->placement.assignment.n_placed[group * house->n_kinds + kind];
}

static int row_order(const struct stv_place_house *house, size_t group, const struct tier_row *a,
                     const struct tier_row *b)
{
    const struct stv_house_outcome *x = stv__outcome_of(house, group, a->kind_idx);
    const struct stv_house_outcome *y = stv__outcome_of(house, group, b->kind_idx);
    if (x->is_allowed != y->is_allowed)
        return y->is_allowed - x->is_allowed;
    if (x->score.as_good != y->score.as_good)
        return y->score.as_good - x->score.as_good;
    if (!x->score.as_good && x->score.merit_nd != y->score.merit_nd)
        return x->score.merit_nd > y->score.merit_nd ? -1 : 1;
    return house->kinds[a->kind_idx].place.tier_idx - house->kinds[b->kind_idx].place.tier_idx;
}

/* Rows of a group, best first. */
static size_t make_rows(const struct stv_place_house *house, size_t group, struct tier_row *rows)
{
    size_t n = 0;
    for (size_t k = 0; k < house->n_kinds; k++) {
        const struct stv_place_kind *kind = &house->kinds[k];
        size_t r = 0;
        for (; r < n; r++) {
            const struct stv_place_kind *same = &house->kinds[rows[r].kind_idx];
            if (same->place.tier_idx == kind->place.tier_idx &&
                same->place.warehouse_idx == kind->place.warehouse_idx &&
                same->position_idx == kind->position_idx && same->most_kg == kind->most_kg)
                break;
        }
        if (r == n)
            rows[n++] = (struct tier_row){k, 0, 0};
        rows[r].n_places += kind->n_places;
        rows[r].n_here += stv__placed_in(house, group, k);
    }
    for (size_t i = 1; i < n; i++) /* few rows, kept in order when alike */
        for (size_t j = i; j > 0 && row_order(house, group, &rows[j], &rows[j - 1]) < 0; j--) {
            struct tier_row kept = rows[j];
            rows[j] = rows[j - 1];
            rows[j - 1] = kept;
        }
    return n;
}

/* "tiers 1 and 2", or with several stores "A 1". */
static void add_tiers(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_place_house *house, size_t group)
{
    struct stv_place seen[STV_TIERS_MAX];
    size_t n = 0;
    for (int t = 0; t < STV_TIERS_MAX; t++)
        for (size_t k = 0; k < house->n_kinds; k++) {
            struct stv_place tier = house->kinds[k].place;
            bool is_new =
                tier.tier_idx == t && stv__placed_in(house, group, k) > 0 && n < STV_TIERS_MAX;
            for (size_t i = 0; i < n && is_new; i++)
                is_new = seen[i].tier_idx != t || seen[i].warehouse_idx != tier.warehouse_idx;
            tier.bay_idx = tier.depth_idx = -1;
            if (is_new)
                seen[n++] = tier;
        }
    stv_prose_add(text, n == 1 ? "tier " : "tiers ");
    for (size_t i = 0; i < n; i++)
        stv_prose_add(text, "%s%s",
                      i == 0       ? ""
                      : i + 1 == n ? " and "
                                   : ", ",
                      stv_words_place_short(chain, &seen[i]).text);
}

static size_t n_left(const struct stv_place_house *house)
{
    size_t n = 0;
    for (size_t g = 0; g < house->n_groups; g++)
        n += house->placement.assignment.n_left[g];
    return n;
}

/* How many casks find no place, and what is missing. */
static void add_placeless(struct stv_text *text, const struct stv_place_house *house)
{
    size_t n = n_left(house), n_unused = house->n_slots - (house->n_items - n);
    struct stv_formatted casks = stv_format_count(n, "cask finds", "casks find");
    struct stv_formatted free_places =
        stv_format_count(house->n_free, "place is free", "places are free");
    if (n > 0 && n_unused > 0)
        stv_prose_wrap(text, 0, "%s no place: %s, but on the %zu that are left no plate bears %s.",
                       casks.text, free_places.text, n_unused, n == 1 ? "it" : "them");
    else if (n > 0)
        stv_prose_wrap(text, 0, "%s no place: %s, %zu too few.", casks.text, free_places.text, n);
    if (house->n_promised > 0)
        stv_prose_wrap(
            text, 0, "%s left out, for history.csv plans a cask there.",
            stv_format_count(house->n_promised, "free place is", "free places are").text);
}

static void add_where(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_place_house *house)
{
    struct stv_text line = {0};
    size_t n_told = 0;
    for (size_t g = 0; g < house->n_groups; g++) {
        size_t n = house->groups[g].n_casks - house->placement.assignment.n_left[g];
        if (n == 0 || n_told == GROUPS_PRINTED_MOST)
            continue;
        stv_prose_add(&line, "%s%zu %s on ", n_told++ ? "; " : "Put ", n,
                      house->group_words[g].kind_name);
        add_tiers(&line, chain, house, g);
    }
    if (n_told)
        stv_prose_wrap(text, 0, "%s.", stv_text_string(&line));
    stv_text_free(&line);
}

/* What the plan brings against what would be done anyway, or that it brings nothing. */
static void add_price(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_place_house *house, bool is_all)
{
    const struct stv_house_difference *against = &house->placement.against_plain;
    const char *plain = is_all ? "all staying where they lie" : "filling up from the floor";
    struct stv_formatted odds = {""}, margin = {""};
    if (chain->run.n_draws > 0)
        odds = stv_format(", more of them in %s of 10 trials",
                          stv_format_number(10.0 * against->more_frac, 0).text);
    if (!against->is_matter)
        margin = stv_format(", less than the %s that could be told",
                            stv_format_number(house->placement.margin_bottles_nd, 0).text);
    stv_prose_wrap(text, 0, "%s %s: %s bottles of %s%s%s.",
                   against->is_matter || is_all ? "Against"
                                                : "It hardly matters where they lie. Against",
                   plain, stv_format_signed(against->bottles_nd, 0).text,
                   stv_format_range(house->placement.bottles_nd, 0).text, margin.text, odds.text);
    stv_prose_wrap(
        text, 0,
        "The difference: casks inside the wood you allow %s, strong enough %s, still fruit "
        "left %s on average; casks brought behind others, which must move for it, %s.",
        stv_format_signed(against->wood_ok_nd, 1).text,
        stv_format_signed(against->abv_ok_nd, 1).text,
        stv_format_signed(against->fruit_frac, 2).text,
        stv_format_signed(against->behind_nd, 0).text);
}

static void add_what(struct stv_text *text, const struct stv_chain *chain,
                     const struct stv_place_house *house, bool is_all)
{
    size_t n_moves = house->placement.assignment.n_moves;
    add_placeless(text, house);
    if (!is_all || n_left(house))
        add_where(text, chain, house);
    else if (n_moves == 0)
        stv_prose_wrap(
            text, 0,
            "Every cask may stay where it lies: no move is worth its work%s. A move has to "
            "bring 1.5 %% of a cask's bottles, or as much in wood and fruit.",
            house->most_moves == 0 ? ", for none is allowed" : "");
    else
        stv_prose_wrap(text, 0,
                       house->placement.against_plain.is_matter
                           ? "Move %s of %zu%s."
                           : "The house may stay as it is. %s of %zu%s would lie better "
                             "elsewhere, as told below; together it hardly matters.",
                       stv_format_count(n_moves, "cask", "casks").text, house->n_items,
                       house->most_moves == n_moves ? ", as many as you allow," : "");
    if (!house->placement.assignment.is_proven)
        stv_prose_wrap(text, 0, "A better choice of moves may exist: the search was cut short.");
}

/* What matters comes first; where nothing does, that does. */
static void add_answer(struct stv_text *text, const struct stv_chain *chain,
                       const struct stv_place_house *house, bool is_all)
{
    bool is_matter = house->placement.against_plain.is_matter != 0;
    bool has_moves = house->placement.assignment.n_moves > 0;
    bool is_price_first = !is_matter && !is_all && n_left(house) == 0;
    if (is_price_first)
        add_price(text, chain, house, is_all);
    add_what(text, chain, house, is_all);
    bool is_any_placed = n_left(house) < house->n_items;
    if (!is_price_first && is_any_placed && (is_matter || !is_all || has_moves))
        add_price(text, chain, house, is_all);
}

static void add_group_head(struct stv_text *text, const struct stv_chain *chain,
                           const struct stv_place_house *house, size_t g)
{
    const struct stv_cask_group *group = &house->groups[g];
    const struct stv_place_group *words = &house->group_words[g];
    struct stv_text head = {0};
    stv_prose_add(&head, "Group %s: %zu x %s, %s L at %s %%vol", words->label, group->n_casks,
                  words->kind_name, stv_format_number(words->litres_l, 0).text,
                  stv_words_percent(words->abv20_frac).text);
    if (!words->is_invented)
        stv_prose_add(&head, " filled %s", stv_format_month(words->filled_day_d).text);
    if (group->present_idx != SIZE_MAX) {
        struct stv_place tier = house->kinds[group->present_idx].place;
        tier.bay_idx = tier.depth_idx = -1;
        stv_prose_add(&head, ", now on %s", stv_words_place_of(chain, &tier).text);
    }
    stv_prose_wrap(text, 0, "%s. Wanted %s%s.", stv_text_string(&head),
                   stv_format_month(group->target_day_d).text,
                   stv_chain_is_year_ahead(chain, group->target_day_d) ? ", at least a year ahead"
                                                                       : "");
    stv_text_free(&head);
}

static void add_row(struct stv_text *text, const struct stv_chain *chain,
                    const struct stv_place_house *house, size_t g, const struct tier_row *row)
{
    const struct stv_house_outcome *outcome = stv__outcome_of(house, g, row->kind_idx);
    const struct stv_place_score *score = &outcome->score;
    struct stv_place tier = house->kinds[row->kind_idx].place;
    tier.bay_idx = tier.depth_idx = -1;
    const char *mark =
        !outcome->is_allowed ? "plate"
        : house->placement.best_idx[g] == row->kind_idx || score->bottles_against_best_nd == 0.0
            ? "best"
        : score->as_good ? "as good"
                         : stv_format_signed(score->bottles_against_best_nd, 1).text;
    stv_prose_cell(text, stv_words_place_short(chain, &tier).text, 7);
    stv_prose_add(text, "%7zu%6s  %-20s%6s%6s%8s%6zu  %s\n", row->n_places,
                  stv_format_number(100.0 * outcome->loss_frac_per_y.p50, 2).text,
                  stv_format_range(stv_range_scaled(score->abv20_frac, 100.0), 1).text,
                  stv_format_number(score->wood_nd.p50, 2).text,
                  stv_format_number(score->fruit_nd.p50, 2).text,
                  stv_format_number(score->bottles_nd.p50, 0).text, row->n_here, mark);
}

/* Lowest and highest kind of place. */
static void find_ends(const struct stv_place_house *house, size_t *low, size_t *high)
{
    *low = *high = 0;
    for (size_t k = 1; k < house->n_kinds; k++) {
        if (house->kinds[k].place.tier_idx < house->kinds[*low].place.tier_idx)
            *low = k;
        if (house->kinds[k].place.tier_idx > house->kinds[*high].place.tier_idx)
            *high = k;
    }
}

/* What lying high costs or brings this kind of cask. */
static void add_height(struct stv_text *text, const struct stv_house_rules *rules,
                       const struct stv_place_house *house, size_t g)
{
    size_t low, high;
    find_ends(house, &low, &high);
    const struct stv_place_score *bottom = &stv__outcome_of(house, g, low)->score;
    const struct stv_place_score *top = &stv__outcome_of(house, g, high)->score;
    if (house->kinds[low].place.tier_idx == house->kinds[high].place.tier_idx)
        return;
    double share = (top->merit_nd - bottom->merit_nd) / bottom->merit_nd, parts_nd[STV_PARTS];
    stv_place_parts(top, bottom, top->bottles_against_best_nd - bottom->bottles_against_best_nd,
                    rules, parts_nd);
    stv_prose_wrap(
        text, 2, "Tier %d against tier %d: %s bottles, wood %s, still fruit %s, %s %%vol; %s.",
        house->kinds[high].place.tier_idx + 1, house->kinds[low].place.tier_idx + 1,
        stv_format_signed(top->bottles_against_best_nd - bottom->bottles_against_best_nd, 1).text,
        stv_format_signed(top->wood_nd.p50 - bottom->wood_nd.p50, 2).text,
        stv_format_signed(top->fruit_nd.p50 - bottom->fruit_nd.p50, 2).text,
        stv_format_signed(100.0 * (top->abv20_frac.p50 - bottom->abv20_frac.p50), 1).text,
        fabs(share) < HEIGHT_MATTERS_SHARE
            ? "weighed together, no difference"
            : stv_format(
                  "weighed together, %s %% %s, most by %s",
                  stv_format_number(100.0 * fabs(share), 1).text, share > 0.0 ? "better" : "worse",
                  stv_place_part_words(stv_place_main_part(parts_nd, share > 0.0 ? 1 : -1), rules))
                  .text);
}

/* What those who move gain by it. */
static void add_move_reason(struct stv_text *text, const struct stv_house_rules *rules,
                            const struct stv_place_house *house, size_t g)
{
    size_t present = house->groups[g].present_idx;
    for (size_t k = 0; present != SIZE_MAX && k < house->n_kinds; k++) {
        if (k == present || stv__placed_in(house, g, k) == 0)
            continue;
        struct stv_text gains = {0}, costs = {0};
        const struct stv_place_score *there = &stv__outcome_of(house, g, k)->score;
        const struct stv_place_score *here = &stv__outcome_of(house, g, present)->score;
        stv_place_add_parts(&gains, rules, there, here, 1);
        stv_place_add_parts(&costs, rules, there, here, -1);
        const char *behind = stv_text_string(&costs);
        stv_prose_wrap(text, 2, "Why tier %d: ahead of where it lies in %s%s%s.",
                       house->kinds[k].place.tier_idx + 1, stv_text_string(&gains),
                       behind[0] ? "; behind in " : "", behind);
        stv_text_free(&gains);
        stv_text_free(&costs);
    }
}

/* Of a whole house only the kinds that move are told in full. */
static bool is_group_told(const struct stv_place_house *house, size_t g, bool is_all)
{
    for (size_t k = 0; is_all && k < house->n_kinds; k++)
        if (k != house->groups[g].present_idx && stv__placed_in(house, g, k) > 0)
            return true;
    return !is_all;
}

static void add_groups(struct stv_text *text, const struct stv_chain *chain,
                       const struct stv_place_house *house, bool is_all)
{
    size_t n_told = 0, most = is_all ? MOVED_GROUPS_PRINTED_MOST : GROUPS_PRINTED_MOST;
    struct tier_row *rows = malloc((house->n_kinds + 1) * sizeof *rows);
    if (!rows) {
        text->has_failed = true;
        return;
    }
    for (size_t g = 0; g < house->n_groups && n_told < most; g++) {
        if (!is_group_told(house, g, is_all))
            continue;
        size_t n = make_rows(house, g, rows);
        n_told++;
        stv_prose_add(text, "\n");
        add_group_head(text, chain, house, g);
        stv_prose_add(text, "%-7s%7s%6s  %-20s%6s%6s%8s%6s\n", "tier", "places", "%/y", "%vol then",
                      "wood", "fruit", "bottles", "here");
        for (size_t r = 0; r < n; r++)
            add_row(text, chain, house, g, &rows[r]);
        add_height(text, &chain->book.rules, house, g);
        add_move_reason(text, &chain->book.rules, house, g);
    }
    stv_prose_add(text, "\n");
    if (house->n_groups > n_told)
        stv_prose_add(text, "(%zu %skinds of casks: --json tells each on each tier)\n",
                      house->n_groups - n_told, n_told ? "more " : "");
    free(rows);
    if (n_told == 0)
        return;
    stv_words_warehouse_key(text, chain);
    stv_prose_wrap(text, 0,
                   "%%/y: litres at 20 C lost in a year, of what it holds now. Behind \"here\": "
                   "bottles against the best place, where it is not as good.");
}

/* Share of all that counts which a cask of a group loses by lying high. */
static double height_cost_frac(const struct stv_place_house *house, size_t g)
{
    size_t low, high;
    find_ends(house, &low, &high);
    double bottom = stv__outcome_of(house, g, low)->score.merit_nd;
    return (bottom - stv__outcome_of(house, g, high)->score.merit_nd) / bottom;
}

static double mean_tier(const struct stv_place_house *house, size_t g)
{
    double tiers = 0.0, n = 0.0;
    for (size_t k = 0; k < house->n_kinds; k++) {
        double here = (double)stv__placed_in(house, g, k);
        tiers += here * (house->kinds[k].place.tier_idx + 1);
        n += here;
    }
    return tiers / n;
}

/* Whether the longest plan lies lowest, and why not. */
static void add_plans(struct stv_text *text, const struct stv_place_house *house)
{
    size_t longest = 0, shortest = 0;
    for (size_t g = 1; g < house->n_groups; g++) {
        if (house->groups[g].target_day_d > house->groups[longest].target_day_d)
            longest = g;
        if (house->groups[g].target_day_d < house->groups[shortest].target_day_d)
            shortest = g;
    }
    double tiers[2] = {mean_tier(house, longest), mean_tier(house, shortest)};
    double costs[2] = {height_cost_frac(house, longest), height_cost_frac(house, shortest)};
    const char *labels[2] = {house->group_words[longest].label, house->group_words[shortest].label};
    if (house->groups[longest].target_day_d - house->groups[shortest].target_day_d < 365 ||
        isnan(tiers[0]) || isnan(tiers[1]))
        return;
    struct stv_text why = {0};
    if (fmax(fabs(costs[0]), fabs(costs[1])) < HEIGHT_MATTERS_SHARE)
        stv_prose_add(&why, "for neither does height make a difference by your targets");
    else
        stv_prose_add(&why, "by your targets lying high takes %s %% from %s and %s %% from %s",
                      stv_format_number(100.0 * costs[0], 1).text, labels[0],
                      stv_format_number(100.0 * costs[1], 1).text, labels[1]);
    stv_prose_wrap(text, 0, "The longer plan, %s, lies %s: on tier %s on average, %s on %s; %s.",
                   labels[0], tiers[0] < tiers[1] ? "lower" : "no lower",
                   stv_format_number(tiers[0], 1).text, labels[1],
                   stv_format_number(tiers[1], 1).text, stv_text_string(&why));
    stv_text_free(&why);
}

static void add_casks(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_place_house *house, bool is_all)
{
    size_t n_told = 0, n_more = 0;
    for (size_t i = 0; i < house->n_items; i++) {
        size_t slot = house->slot_of_item[i];
        if (slot == SIZE_MAX || (is_all && slot == house->house_items[i].slot_idx))
            continue;
        if (n_told == 0)
            stv_prose_heading(text, is_all ? "Who moves" : "Cask by cask");
        if (n_told == CASKS_PRINTED_MOST) {
            n_more++;
            continue;
        }
        struct stv_text cell = {0};
        stv_prose_add(&cell, "%s  ", house->items[i].id);
        if (is_all)
            stv_prose_add(&cell, "%s to ",
                          stv_words_place_short(chain, &house->items[i].from).text);
        stv_prose_add(&cell, "%s", stv_words_place_short(chain, &house->slots[slot].place).text);
        n_told++;
        if (n_told % (is_all ? 2 : 3) == 0)
            stv_prose_add(text, "%s\n", stv_text_string(&cell));
        else
            stv_prose_cell(text, stv_text_string(&cell), is_all ? 40 : 26);
        stv_text_free(&cell);
    }
    if (n_told % (is_all ? 2 : 3))
        stv_prose_add(text, "\n");
    if (n_more)
        stv_prose_add(text, "(%zu more: --csv has them all)\n", n_more);
}

static void add_too_heavy(struct stv_text *text, const struct stv_place_house *house)
{
    struct stv_text list = {0};
    size_t n = 0;
    for (size_t i = 0; i < house->n_items; i++) {
        if (!stv_place_is_over_plate(house, i))
            continue;
        if (n++ < HEAVY_LISTED_MOST)
            stv_prose_add(&list, "%s%s (%s kg)", n > 1 ? ", " : "", house->items[i].id,
                          stv_format_number(house->items[i].mass_kg, 0).text);
    }
    if (n > HEAVY_LISTED_MOST)
        stv_prose_add(&list, " and %zu more", n - HEAVY_LISTED_MOST);
    if (n)
        stv_prose_wrap(text, 0,
                       "LOOK AT THIS FIRST: the plate, shared out, does not bear what lies on it "
                       "now: cask %s. `place --cask` tells where else.",
                       stv_text_string(&list));
    text->has_failed = text->has_failed || list.has_failed;
    stv_text_free(&list);
}

static void add_planned(struct stv_text *text, const struct stv_chain *chain,
                        const struct stv_place_house *house)
{
    int *casks = malloc((house->n_items + 1) * sizeof *casks);
    size_t n = 0;
    for (size_t i = 0; casks && i < house->n_items; i++)
        if (house->items[i].cask_idx >= 0)
            casks[n++] = house->items[i].cask_idx;
    if (casks)
        stv_words_planned_leaves(text, chain, casks, n);
    text->has_failed = text->has_failed || !casks;
    free(casks);
}

static void add_asides(struct stv_text *text, const struct stv_place_house *house)
{
    if (house->n_left_aside)
        stv_prose_wrap(
            text, 0,
            "%s: no tier, bay and depth is said, so that a place told as free may be taken.",
            stv_format_count(house->n_left_aside, "full cask stays where it lies",
                             "full casks stay where they lie")
                .text);
    add_too_heavy(text, house);
}

/* Fill runs that the named market does not let into such casks. */
static void add_barred(struct stv_text *text, const struct stv_chain *chain,
                       const struct stv_place_house *house)
{
    const struct stv_market *market = chain->named.market;
    for (size_t g = 0; g < house->n_groups; g++) {
        if (!stv_place_group_fault(chain, house, g))
            continue;
        const struct stv_place_group *group = &house->group_words[g];
        bool is_strong = stv_market_is_too_strong(market, group->abv20_frac);
        const struct stv_rule *rule =
            is_strong ? &market->entry_most_abv20_frac : &market->cask_most_l;
        stv_prose_wrap(text, 0,
                       "LOOK: group %s (%s at %s %%vol) is %s than %s allows: %s (%s; %s, %s).",
                       group->label, group->kind_name, stv_words_percent(group->abv20_frac).text,
                       is_strong ? "stronger" : "larger", market->name, rule->text, rule->source,
                       rule->seen, stv_words_rule_date(rule));
    }
}

void stv_words_place_house(struct stv_text *text, const struct stv_chain *chain,
                           const struct stv_place_house *house, bool is_all, bool with_crew)
{
    const struct stv_house_rules *rules = &chain->book.rules;
    add_barred(text, chain, house);
    add_answer(text, chain, house, is_all);
    add_asides(text, house);
    add_planned(text, chain, house);
    stv_words_others_stored(text, chain);
    stv_prose_wrap(
        text, 0,
        "Wanted of all: wood %s to %s of your reference cask, at least %s %%vol in the "
        "cask, %s.",
        stv_format_number(rules->wood_least_nd, 2).text,
        stv_format_number(rules->wood_most_nd, 2).text,
        stv_words_percent(fmax(rules->least_abv20_frac, rules->bottling_abv20_frac)).text,
        rules->wood_first ? "wood before fruit" : "fruit before wood");
    add_groups(text, chain, house, is_all);
    if (!is_all)
        add_plans(text, house);
    stv__words_place_gaps(text, chain, house);
    add_casks(text, chain, house, is_all);
    stv_place_crew_text(text, chain, house, with_crew);
    stv_prose_wrap(text, 0,
                   "Does not matter: the bay, where no logger of its own tells it apart. Of places "
                   "as good, the lowest and easiest to reach were taken.");
    stv_words_bottle_basis(text, rules, 0);
    stv_words_rests_on(text, chain, true);
    if (chain->basis == STV_BASIS_ALL)
        stv_prose_wrap(
            text, 2,
            "Casks alike in wood, size, fill, strength and past are judged by one of them. "
            "The model gives a first fill after spirit and a refill the same wood.");
    stv_words_would_change(text, chain);
    stv_prose_wrap(text, 2, "\"%s\" under `targets: prefer`, or another planned age.",
                   rules->wood_first ? "fruit" : "wood");
    stv_prose_heading(text, "Cautions");
    stv_words_caution_moving(text);
    stv_words_caution_planning(text);
}
