/* Wishes of the house that a plan does not meet: by how much, for how many casks, and why. */
#include "cli/prose.h"
#include "cli/words_place_house.h"
#include "cli/words_place_why.h"

#include <math.h>
#include <stdlib.h>

#define GAPS_PRINTED_MOST 24
#define IDS_MOST 4

/* Why casks lie where it is not as good as the best for them. */
static const char *hindrance(const struct stv_place_house *house, size_t g)
{
    bool stays = house->groups[g].present_idx != SIZE_MAX &&
                 stv__placed_in(house, g, house->groups[g].present_idx) > 0;
    bool is_free = false;
    for (size_t k = 0; k < house->n_kinds; k++) {
        size_t n_here = 0;
        for (size_t i = 0; i < house->n_groups; i++)
            n_here += stv__placed_in(house, i, k);
        is_free |= n_here < house->kinds[k].n_places && stv__outcome_of(house, g, k)->is_allowed &&
                   stv__outcome_of(house, g, k)->score.as_good;
    }
    if (!is_free)
        return "the better places are taken";
    if (!stays)
        return "better ones are free, but not worth their reach: behind other casks, or with gear";
    return house->most_moves == house->placement.assignment.n_moves
               ? "better ones are free, but no more moves are allowed"
               : "better ones are free, but not worth the move";
}

/* "Group A, new oak 200 L (A1, A2 and 9 more)": what stands where no table tells the group. */
static void add_group_name(struct stv_text *name, const struct stv_place_house *house, size_t g)
{
    size_t n = house->groups[g].n_casks, k = 0;
    stv_prose_add(name, "Group %s, %s (", house->group_words[g].label,
                  house->group_words[g].kind_name);
    for (size_t i = 0; i < house->n_items && k < IDS_MOST; i++)
        if (house->house_items[i].group_idx == g)
            stv_prose_add(name, "%s%s", k++ ? ", " : "", house->items[i].id);
    stv_prose_add(name, n > k ? " and %zu more)" : ")", n - k);
}

static void add_gap(struct stv_text *text, const struct stv_chain *chain,
                    const struct stv_place_house *house, const struct stv_house_gap *gap,
                    const char *label)
{
    const struct stv_house_rules *rules = &chain->book.rules;
    struct stv_formatted met =
        stv_format("met in %s of 10 trials", stv_format_number(10.0 * gap->met_frac, 0).text);
    struct stv_formatted casks = stv_format_count(gap->n_casks, "cask", "casks");
    switch (gap->kind) {
    case STV_GAP_PLACE:
        stv_prose_wrap(text, 2, "%s: %s without a place: none is free that %s.", label, casks.text,
                       isinf(house->kinds[0].most_kg) ? "they may take" : "the plates allow them");
        return;
    case STV_GAP_WOOD_LOW:
    case STV_GAP_WOOD_HIGH:
        if (gap->missing_nd < 0.005) {
            stv_prose_wrap(text, 2,
                           "%s: in most trials outside the wood you allow, some under and some "
                           "over (%s; %s).",
                           label, casks.text, met.text);
            return;
        }
        stv_prose_wrap(text, 2, "%s: wood %s the %s you allow by %s (%s; %s).", label,
                       gap->kind == STV_GAP_WOOD_LOW ? "under" : "over",
                       stv_format_number(gap->kind == STV_GAP_WOOD_LOW ? rules->wood_least_nd
                                                                       : rules->wood_most_nd,
                                         2)
                           .text,
                       stv_format_number(gap->missing_nd, 2).text, casks.text, met.text);
        return;
    case STV_GAP_STRENGTH:
        stv_prose_wrap(text, 2, "%s: %s points short of your least strength (%s; %s).", label,
                       stv_format_number(100.0 * gap->missing_nd, 1).text, casks.text, met.text);
        return;
    case STV_GAP_BEST:
        stv_prose_wrap(
            text, 2,
            "%s: %s where it is not as good as the best for them: behind most in %s; %s bottles "
            "each; %s.",
            label, casks.text, stv_place_part_words(gap->part, rules),
            stv_format_signed(-gap->missing_nd, 1).text, hindrance(house, gap->group_idx));
        return;
    }
}

void stv__words_place_gaps(struct stv_text *text, const struct stv_chain *chain,
                           const struct stv_place_house *house)
{
    struct stv_house_gap *gaps = malloc((5 * house->n_groups + 1) * sizeof *gaps);
    if (!gaps) {
        text->has_failed = true;
        return;
    }
    size_t n = stv_house_gaps(&house->placement, &chain->book.rules, gaps);
    if (n)
        stv_prose_heading(text, "Wishes that are not met");
    for (size_t i = 0; i < n && i < GAPS_PRINTED_MOST; i++) {
        struct stv_text name = {0};
        add_group_name(&name, house, gaps[i].group_idx);
        add_gap(text, chain, house, &gaps[i], stv_text_string(&name));
        text->has_failed = text->has_failed || name.has_failed;
        stv_text_free(&name);
    }
    if (n > GAPS_PRINTED_MOST)
        stv_prose_add(text, "  (%zu more: --json has them all)\n", n - GAPS_PRINTED_MOST);
    free(gaps);
}
