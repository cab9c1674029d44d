/* Planned bottlings in words: which casks, with what odds, at what price. */
#include "cli/bottling.h"
#include "cli/prose.h"
#include "cli/words.h"

#include <math.h>
#include <string.h>

/* Below it reduced spirit may haze when it is cold: trade convention, not a measured threshold. */
#define HAZE_FRAC 0.46
#define IDS_MOST 30 /* bytes of ids that a heading holds */
#define NO_FRAC 0.005
#define UNLIKELY_FRAC 0.5
#define ROUNDING_FRAC 1e-9

static const char *cask_id(const struct stv_bottling_answer *answer, int cask_idx)
{
    return answer->chain->book.ledger.casks[cask_idx].id;
}

/* "18, 26 and 33" */
static void add_ids(struct stv_text *text, const struct stv_bottling_answer *answer,
                    const struct stv_bottling_outcome *outcome)
{
    for (size_t i = 0; i < outcome->n_casks; i++)
        stv_prose_add(text, "%s%s", i == 0 ? "" : (i + 1 == outcome->n_casks ? " and " : ", "),
                      cask_id(answer, outcome->casks[i].cask_idx));
}

/* "49 to 52 %vol", "46 %vol" */
static struct stv_formatted strengths(const struct stv_planned_bottling *wish)
{
    struct stv_formatted least = stv_words_percent(wish->least_abv20_frac);
    struct stv_formatted most = stv_words_percent(wish->most_abv20_frac);
    if (wish->most_abv20_frac >= 1.0)
        return stv_format("%s %%vol or more", least.text);
    return strcmp(least.text, most.text) == 0 ? stv_format("%s %%vol", least.text)
                                              : stv_format("%s to %s %%vol", least.text, most.text);
}

/* "7 in 10", and what that cannot tell. */
struct stv_formatted stv__words_in_ten(double frac)
{
    if (frac >= 1.0 - NO_FRAC)
        return stv_format("%s", "all");
    if (frac < NO_FRAC)
        return stv_format("%s", "none");
    if (frac >= 0.95 || frac < 0.05)
        return stv_format("%s", frac < 0.05 ? "under 1 in 20" : "19 in 20");
    return stv_format("%.0f in 10", floor(10.0 * frac + 0.5));
}

/* The same inside a sentence. */
static struct stv_formatted in_trials(double frac)
{
    if (frac >= 1.0 - NO_FRAC)
        return stv_format("%s", "in all trials");
    if (frac < NO_FRAC)
        return stv_format("%s", "in no trial");
    if (frac >= 0.95 || frac < 0.05)
        return stv_format("%s", frac < 0.05 ? "in under 1 trial of 20" : "in 19 trials of 20");
    return stv_format("in %s of 10",
                      stv_format_count((size_t)floor(10.0 * frac + 0.5), "trial", "trials").text);
}

static struct stv_formatted number(double value)
{
    return stv_format_number(value, 0);
}

static const char *how_words(const struct stv_book_bottling *planned,
                             const struct stv_bottling_outcome *outcome)
{
    if (planned->wish.is_married)
        return "Married";
    return outcome->n_casks > 1 ? "One by one" : "By itself";
}

static bool has_odds(const struct stv_bottling_answer *answer)
{
    return answer->chain->run.n_draws > 0;
}

static struct stv_formatted bottles_words(const struct stv_bottling_answer *answer,
                                          const struct stv_bottling_outcome *outcome)
{
    struct stv_formatted probably = number(floor(outcome->bottles_nd.p50));
    if (!has_odds(answer))
        return stv_format("%s bottles", probably.text);
    return stv_format("At least %s bottles (%s), probably %s",
                      number(floor(outcome->bottles_nd.p05)).text, stv_words_surely(answer),
                      probably.text);
}

/* The strength at which a plan counts its bottles. */
static struct stv_formatted counted_words(const struct stv_planned_bottling *wish)
{
    return wish->is_as_drawn
               ? stv_format("%s", "as drawn")
               : stv_format("at %s %%vol", stv_words_percent(wish->most_abv20_frac).text);
}

/* "Nov 2028", "20 November 2028" */
struct stv_formatted stv_words_when(const struct stv_book_bottling *planned)
{
    return planned->day_width_d > 0.0 ? stv_format_month(planned->wish.day_d)
                                      : stv_format_day(planned->wish.day_d);
}

static void add_heading(struct stv_text *text, const struct stv_bottling_answer *answer,
                        size_t wish_idx)
{
    const struct stv_book_bottling *planned = &answer->planned[wish_idx];
    const struct stv_bottling_outcome *outcome = &answer->plan.outcomes[wish_idx];
    struct stv_text ids = {0}, take = {0};
    add_ids(&ids, answer, outcome);
    if (outcome->is_impossible)
        stv_text_add(&take, "impossible, so that no cask is taken");
    else if (outcome->n_casks == 0)
        stv_text_add(&take, "no cask would serve");
    else if (ids.n <= IDS_MOST)
        stv_prose_add(&take, "take %s", stv_text_string(&ids));
    else
        stv_prose_add(&take, "take %zu casks", outcome->n_casks);
    stv_prose_heading(text, "%s, %s: %s", stv_words_when(planned).text,
                      stv_bottling_name(planned).text, stv_text_string(&take));
    if (ids.n > IDS_MOST)
        stv_prose_wrap(text, 0, "Take %s.", stv_text_string(&ids));
    if (outcome->n_casks > 0)
        stv_prose_wrap(text, 0, "%s, at %s%s. %s, counted %s.", how_words(planned, outcome),
                       strengths(&planned->wish).text, planned->wish.is_as_drawn ? " as drawn" : "",
                       bottles_words(answer, outcome).text, counted_words(&planned->wish).text);
    text->has_failed = text->has_failed || ids.has_failed || take.has_failed;
    stv_text_free(&ids);
    stv_text_free(&take);
}

/* "2 casks short of 3, 22 bottles short of 500, strength 0.4 points outside 49 to 52 %vol" */
static void add_short(struct stv_text *line, const struct stv_planned_bottling *wish,
                      const struct stv_bottling_outcome *outcome)
{
    const char *next = "";
    if (outcome->n_missing_casks > 0) {
        stv_prose_add(line, "%s short of %zu",
                      stv_format_count(outcome->n_missing_casks, "cask", "casks").text,
                      wish->n_casks);
        next = ", ";
    }
    if (outcome->missing_bottles_nd > 0.0) {
        stv_prose_add(line, "%s%s bottles short of %s", next,
                      number(outcome->missing_bottles_nd).text, number(wish->bottles_nd).text);
        next = ", ";
    }
    if (outcome->missing_abv20_frac > 0.0)
        stv_prose_add(line, "%sstrength %s points outside %s", next,
                      stv_format_number(fmax(0.1, 100.0 * outcome->missing_abv20_frac), 1).text,
                      strengths(wish).text);
}

/* " (19 in 20)": casks are counted, bottles and strength are held to odds. */
static struct stv_formatted short_odds(const struct stv_bottling_answer *answer,
                                       const struct stv_bottling_outcome *outcome)
{
    bool is_by_odds = has_odds(answer) &&
                      (outcome->missing_bottles_nd > 0.0 || outcome->missing_abv20_frac > 0.0);
    return is_by_odds ? stv_format(" (%s)", stv_words_surely(answer)) : stv_format("%s", "");
}

/* "40 for strength, 10 for wood" */
static void add_unfit(struct stv_text *line, const struct stv_bottling_outcome *outcome)
{
    static const char *const words[STV_UNFIT_N] = {
        [STV_UNFIT_AGE] = "age",           [STV_UNFIT_STRENGTH] = "strength",
        [STV_UNFIT_WOOD] = "wood",         [STV_UNFIT_BOTTLES] = "too few bottles",
        [STV_UNFIT_MARKET] = "the market",
    };
    size_t k = outcome->n_elsewhere > 0;
    if (outcome->n_elsewhere > 0)
        stv_prose_add(line, "%zu taken by other bottlings", outcome->n_elsewhere);
    for (size_t u = 0; u < STV_UNFIT_N; u++)
        if (outcome->n_unfit[u] > 0)
            stv_prose_add(line, "%s%zu for %s", k++ ? ", " : "", outcome->n_unfit[u], words[u]);
}

/* What is short, and what would change it. */
static void add_missing(struct stv_text *text, const struct stv_bottling_answer *answer,
                        size_t wish_idx)
{
    const struct stv_planned_bottling *wish = &answer->planned[wish_idx].wish;
    const struct stv_bottling_outcome *outcome = &answer->plan.outcomes[wish_idx];
    struct stv_text line = {0}, why = {0};
    if (!stv_bottling_is_short(outcome) || outcome->is_impossible)
        return;
    add_short(&line, wish, outcome);
    stv_prose_wrap(text, 0, "SHORT%s: %s. Another month, a wider strength%s would change that.",
                   short_odds(answer, outcome).text, stv_text_string(&line),
                   outcome->n_missing_casks > 0        ? " or fewer casks"
                   : outcome->missing_bottles_nd > 0.0 ? ", fewer bottles or another cask"
                                                       : "");
    add_unfit(&why, outcome);
    if (outcome->n_missing_casks > 0 && why.n > 0)
        stv_prose_wrap(text, 0, "Full casks that cannot serve: %s.", stv_text_string(&why));
    if (outcome->missing_bottles_nd > 0.0)
        stv_prose_wrap(text, 0,
                       "Every full cask of the house by then, fit or not, would give about %s "
                       "bottles counted so.",
                       number(floor(outcome->house_bottles_nd)).text);
    if (outcome->n_missing_casks > 0 && wish->is_married && outcome->n_left > 0)
        stv_prose_wrap(text, 0, "%s left would take its strength or its wood out of what you want.",
                       stv_format_count(outcome->n_left, "full cask", "full casks").text);
    text->has_failed = text->has_failed || why.has_failed || line.has_failed;
    stv_text_free(&why);
    stv_text_free(&line);
}

/* The wish that most trials fail. */
static const char *worst_wish(const struct stv_bottling_outcome *outcome)
{
    if (outcome->age_frac <= 0.0)
        return "age";
    if (outcome->wood_frac <= fmin(outcome->bottles_frac, outcome->strength_frac))
        return "wood";
    return outcome->bottles_frac <= outcome->strength_frac ? "bottles" : "strength";
}

static struct stv_formatted wanted_words(const struct stv_planned_bottling *wish)
{
    struct stv_formatted casks = stv_format_count(wish->n_casks, "cask", "casks");
    if (!(wish->bottles_nd > 0.0))
        return casks;
    struct stv_formatted bottles = stv_format("%s bottles", number(wish->bottles_nd).text);
    return wish->n_casks > 0 ? stv_format("%s, %s", casks.text, bottles.text) : bottles;
}

/* What no choice of casks could meet. */
static void add_impossible(struct stv_text *text, const struct stv_planned_bottling *wish,
                           const struct stv_bottling_outcome *outcome, const char *name)
{
    size_t n_house = outcome->n_left + outcome->n_elsewhere;
    for (size_t u = 0; u < STV_UNFIT_N; u++)
        n_house += outcome->n_unfit[u];
    stv_prose_wrap(text, 0,
                   "IMPOSSIBLE: %s wants %s: the %zu full casks of the house by then, fit or not, "
                   "would give about %s bottles counted so. The others are planned as if it were "
                   "not there.",
                   name, wanted_words(wish).text, n_house,
                   number(floor(outcome->house_bottles_nd)).text);
}

static void add_not_promised(struct stv_text *text, const struct stv_bottling_answer *answer,
                             size_t wish_idx)
{
    const struct stv_book_bottling *planned = &answer->planned[wish_idx];
    const struct stv_bottling_outcome *outcome = &answer->plan.outcomes[wish_idx];
    struct stv_formatted name =
        stv_format("%s (%s)", stv_bottling_name(planned).text, stv_words_when(planned).text);
    struct stv_text line = {0};
    if (outcome->is_impossible) {
        add_impossible(text, &planned->wish, outcome, name.text);
    } else if (stv_bottling_is_short(outcome)) {
        add_short(&line, &planned->wish, outcome);
        bool is_sure = outcome->n_missing_casks > 0 || !has_odds(answer);
        stv_prose_wrap(text, 0, "CANNOT BE %s: %s: %s%s.", is_sure ? "MET" : "PROMISED", name.text,
                       stv_text_string(&line), short_odds(answer, outcome).text);
    } else if (has_odds(answer) && outcome->all_frac < UNLIKELY_FRAC) {
        stv_prose_wrap(text, 0,
                       "UNLIKELY AS PLANNED: %s: %s that all of it comes at once; least "
                       "sure is the %s.",
                       name.text, stv__words_in_ten(outcome->all_frac).text, worst_wish(outcome));
    }
    text->has_failed = text->has_failed || line.has_failed;
    stv_text_free(&line);
}

void stv_words_not_promised(struct stv_text *text, const struct stv_bottling_answer *answer)
{
    struct stv_text leaks = {0};
    for (size_t w = 0; w < answer->n_planned; w++)
        for (size_t i = 0; i < answer->plan.outcomes[w].n_casks; i++)
            stv_words_list_leak(&leaks, answer->chain, answer->plan.outcomes[w].casks[i].cask_idx);
    stv_words_leaks_first(text, &leaks);
    for (size_t w = 0; w < answer->n_planned; w++)
        stv_words_barred(text, answer, w);
    stv_words_few_trials(text, answer);
    for (size_t w = 0; w < answer->n_planned; w++)
        add_not_promised(text, answer, w);
    for (size_t d = 0; d < answer->n_done; d++)
        stv_words_done(text, answer, d);
    for (size_t p = 0; p < answer->n_past; p++)
        stv_prose_wrap(text, 0,
                       "PAST: %s (%s): no cask is chosen for it. Enter what was bottled in "
                       "history.csv, date, what and cask (\"%s,empty,CASK\" of each cask makes it "
                       "done), or give it a new date in book.yaml.",
                       stv_bottling_name(&answer->past[p]).text,
                       stv_words_when(&answer->past[p]).text,
                       stv_format_iso_day(answer->past[p].wish.day_d).text);
}

static void add_odds(struct stv_text *text, const struct stv_planned_bottling *wish,
                     const struct stv_bottling_outcome *outcome)
{
    struct stv_formatted bottles =
        wish->bottles_nd > 0.0 ? stv_format("%s bottles %s, ", number(wish->bottles_nd).text,
                                            stv__words_in_ten(outcome->bottles_frac).text)
                               : stv_format("%s", "");
    stv_prose_wrap(text, 0, "All as planned, at once: %s (%sstrength %s, wood %s)%s.",
                   stv__words_in_ten(outcome->all_frac).text, bottles.text,
                   stv__words_in_ten(outcome->strength_frac).text,
                   stv__words_in_ten(outcome->wood_frac).text,
                   outcome->age_frac > 0.0 ? "" : "; not all old enough");
    if (wish->is_married)
        stv_prose_wrap(text, 0, "Married as drawn: %s %%vol, wood %s.",
                       stv_format_range(stv_range_scaled(outcome->abv20_frac, 100.0), 1).text,
                       stv_format_range(outcome->wood_nd, 2).text);
}

#define PLAN_ROW "%-9s %-10s %-7s %-5s %-16s "

/* The same so short that it fits a column. */
static struct stv_formatted in_ten_cell(double frac)
{
    return frac >= NO_FRAC && frac < STV__HARDLY_FRAC ? stv_format("%s", "hardly")
                                                      : stv__words_in_ten(frac);
}

static struct stv_formatted wait_words(double cost_nd, double over_frac)
{
    if (!isfinite(cost_nd))
        return stv_format("%s", "-");
    if (over_frac < STV__HARDLY_FRAC)
        return stv_format("%s, not over", number(cost_nd).text);
    return stv_format("%s, %s over", number(cost_nd).text, in_ten_cell(over_frac).text);
}

/* How the substitute compares. */
static struct stv_formatted instead_words(const struct stv_chosen_cask *cask)
{
    if (cask->is_tie)
        return stv_format("as good");
    double more_nd = round(cask->substitute_bottles_nd);
    struct stv_formatted bottles = more_nd == 0.0 ? stv_format("%s", "as many")
                                                  : stv_format("%s %s", number(fabs(more_nd)).text,
                                                               more_nd > 0.0 ? "more" : "fewer");
    return stv_format("%s, %s", bottles.text,
                      cask->has_like_odds ? "alike" : in_ten_cell(cask->substitute_all_frac).text);
}

/* The row's last cell; a long name of the substitute has the next line. */
static void add_instead(struct stv_text *text, const struct stv_bottling_answer *answer,
                        const struct stv_chosen_cask *cask)
{
    if (cask->substitute_idx < 0) {
        stv_text_add(text, "none\n");
        return;
    }
    const char *id = cask_id(answer, cask->substitute_idx);
    bool is_long = stv_prose_columns(id, strlen(id)) > stv_words_id_columns(answer->chain);
    stv_prose_add(text, is_long ? "below\n     if it is out: %s, %s\n" : "%s, %s\n", id,
                  instead_words(cask).text);
}

static void add_casks(struct stv_text *text, const struct stv_bottling_answer *answer,
                      const struct stv_bottling_outcome *outcome)
{
    size_t columns = stv_words_id_columns(answer->chain);
    if (outcome->n_casks == 0)
        return;
    stv_prose_add(text, "\n%-*s " PLAN_ROW "if it is out: all\n", (int)columns, "cask", "serves",
                  "bottles", "drawn %", "wood", "a year's wait");
    for (size_t i = 0; i < outcome->n_casks; i++) {
        const struct stv_chosen_cask *cask = &outcome->casks[i];
        stv_prose_name_cell(text, cask_id(answer, cask->cask_idx), columns, 0);
        stv_prose_add(text, " " PLAN_ROW, in_ten_cell(cask->ok_frac).text,
                      stv_format("%s (%s)", number(floor(cask->bottles_nd.p50)).text,
                                 number(floor(cask->bottles_nd.p05)).text)
                          .text,
                      stv_format_number(100.0 * cask->abv20_frac.p50, 1).text,
                      stv_format_number(cask->wood_nd.p50, 2).text,
                      wait_words(cask->wait_cost_bottles_nd, cask->wait_over_frac).text);
        add_instead(text, answer, cask);
        stv_words_doubt_row(text, answer->chain, cask->cask_idx);
    }
}

static void add_table_key(struct stv_text *text, const struct stv_bottling_answer *answer)
{
    stv_prose_wrap(text, 0,
                   "(Bottles of each: before samples and archive, in brackets %s. Serves: "
                   "meets every wish by itself. If it is out: the cask in its stead, bottles, odds "
                   "of all at once; \"alike\": no trials here tell them from the plan's.)",
                   stv_words_surely(answer));
}

/* A cask in the stead of one that is taken and that the judging trials like better. */
static void add_better(struct stv_text *text, const struct stv_bottling_answer *answer,
                       const struct stv_bottling_outcome *outcome)
{
    for (size_t i = 0; i < outcome->n_casks && has_odds(answer); i++) {
        const struct stv_chosen_cask *cask = &outcome->casks[i];
        if (!cask->is_substitute_better)
            continue;
        stv_prose_wrap(text, 0,
                       "BETTER, PERHAPS: %s in the stead of %s: all as planned in %.0f trials of "
                       "100 against %.0f, %s bottles (%s) against %s. The trials that "
                       "chose did not show it: nose and gauge both, and take the surer.",
                       cask_id(answer, cask->substitute_idx), cask_id(answer, cask->cask_idx),
                       100.0 * cask->substitute_all_frac, 100.0 * outcome->all_frac,
                       number(floor(cask->substitute_least_nd)).text, stv_words_surely(answer),
                       number(floor(outcome->bottles_nd.p05)).text);
    }
}

/* Of the later casks, those that share a lot with one of the earlier. */
static size_t n_sisters(const struct stv_bottling_answer *answer,
                        const struct stv_bottling_outcome *earlier,
                        const struct stv_bottling_outcome *later)
{
    size_t n = 0;
    for (size_t l = 0; l < later->n_casks; l++) {
        size_t lot = answer->lot_of_cask[later->casks[l].cask_idx];
        bool is_sister = false;
        for (size_t e = 0; e < earlier->n_casks && lot != SIZE_MAX; e++)
            is_sister |= answer->lot_of_cask[earlier->casks[e].cask_idx] == lot;
        n += is_sister;
    }
    return n;
}

static void add_later_releases(struct stv_text *text, const struct stv_bottling_answer *answer,
                               size_t wish_idx)
{
    const struct stv_book_bottling *planned = &answer->planned[wish_idx];
    for (size_t w = wish_idx + 1; w < answer->n_planned; w++) {
        const struct stv_book_bottling *later = &answer->planned[w];
        struct stv_text ids = {0};
        if (later->wish.series_idx != planned->wish.series_idx)
            continue;
        add_ids(&ids, answer, &answer->plan.outcomes[w]);
        if (ids.n > 0)
            stv_prose_wrap(
                text, 0, "Kept for %zu of %zu (%s): %s; of a lot with these: %zu.", later->release,
                later->n_releases, stv_words_when(later).text, stv_text_string(&ids),
                n_sisters(answer, &answer->plan.outcomes[wish_idx], &answer->plan.outcomes[w]));
        text->has_failed = text->has_failed || ids.has_failed;
        stv_text_free(&ids);
    }
}

static void add_price(struct stv_text *text, const struct stv_bottling_answer *answer,
                      size_t wish_idx)
{
    const struct stv_book_bottling *planned = &answer->planned[wish_idx];
    const struct stv_bottling_outcome *outcome = &answer->plan.outcomes[wish_idx];
    bool is_single = !planned->wish.is_married && outcome->n_casks > 1;
    if (outcome->n_casks == 0)
        return;
    stv_prose_wrap(text, 0,
                   "Taken off first: %s bottles lost in emptying, filtering and filling, %s for "
                   "samples, %s for the archive%s.",
                   number(outcome->lost_bottles_nd).text,
                   number(planned->samples_nd * (is_single ? (double)outcome->n_casks : 1.0)).text,
                   number(planned->archive_nd * (is_single ? (double)outcome->n_casks : 1.0)).text,
                   is_single ? ", all casks together" : "");
    if (isfinite(outcome->wait_cost_bottles_nd))
        stv_prose_wrap(text, 0, "Waiting a year with %s costs %s bottles; %s %s goes over.",
                       outcome->n_casks > 1 ? "all of them" : "it",
                       number(outcome->wait_cost_bottles_nd).text,
                       in_trials(outcome->wait_over_frac).text,
                       planned->wish.is_married || outcome->n_casks == 1 ? "it" : "one of them");
    stv_prose_wrap(text, 0, "Left then: %s that could have served and that nothing planned takes.",
                   stv_format_count(outcome->n_left, "cask", "casks").text);
}

/* Which of the casks may say "single cask": all, none, or all but these. */
static void add_single(struct stv_text *line, const struct stv_bottling_answer *answer,
                       const struct stv_planned_bottling *wish,
                       const struct stv_bottling_outcome *outcome)
{
    size_t n_not = 0;
    for (size_t i = 0; i < outcome->n_casks; i++)
        n_not += !outcome->casks[i].may_say_single;
    if (outcome->may_say_single) {
        stv_prose_add(line, "may say single cask");
        return;
    }
    stv_prose_add(line, "not a single cask");
    if ((wish->is_married && outcome->n_casks > 1) || n_not == outcome->n_casks)
        return;
    for (size_t i = 0, k = 0; i < outcome->n_casks; i++)
        if (!outcome->casks[i].may_say_single)
            stv_prose_add(line, "%s%s", k++ ? ", " : ": ",
                          cask_id(answer, outcome->casks[i].cask_idx));
    stv_prose_add(line, " (spirit of another cask, or topped); the others may");
}

static void add_label(struct stv_text *text, const struct stv_bottling_answer *answer,
                      size_t wish_idx)
{
    const struct stv_planned_bottling *wish = &answer->planned[wish_idx].wish;
    const struct stv_bottling_outcome *outcome = &answer->plan.outcomes[wish_idx];
    const char *water = outcome->had_water && outcome->gets_water
                            ? "water was added in the cask and is added at bottling"
                        : outcome->had_water  ? "water was added in the cask"
                        : outcome->gets_water ? "water is added at bottling"
                                              : "no water was added";
    struct stv_text single = {0};
    add_single(&single, answer, wish, outcome);
    if (outcome->n_casks > 0)
        stv_prose_wrap(text, 0, "Words on the label: youngest part %s old%s; %s; %s.",
                       stv_format_count((size_t)outcome->youngest_age_y, "year", "years").text,
                       stv_words_market_age(answer, wish_idx).text, water,
                       stv_text_string(&single));
    text->has_failed = text->has_failed || single.has_failed;
    stv_text_free(&single);
    if (wish->least_abv20_frac < HAZE_FRAC - ROUNDING_FRAC)
        stv_prose_wrap(text, 0,
                       "Before the strength is chosen: under about 46 %%vol it may haze when it is "
                       "cold (trade convention). Say which water is used and how it is treated.");
}

/* Other commands work out water and moves that are not yet decided: they are not in these odds. */
static void add_assumed(struct stv_text *text, const struct stv_bottling_answer *answer)
{
    size_t n_water = stv_bottling_n_ahead(answer, STV_EVENT_ADD_WATER);
    size_t n_transfers = stv_bottling_n_ahead(answer, STV_EVENT_TRANSFER);
    struct stv_formatted ahead =
        n_water + n_transfers > 0
            ? stv_format("%s and %s that history.csv has ahead",
                         stv_format_count(n_water, "watering", "waterings").text,
                         stv_format_count(n_transfers, "transfer", "transfers").text)
            : stv_format("%s", "what history.csv has ahead, which is none of either");
    stv_prose_wrap(text, 0,
                   "Assumed until then: no water and no transfer but for %s. What `water` and "
                   "`transfer` advise is not counted until it is entered there with its date.",
                   ahead.text);
}

void stv_words_planned_head(struct stv_text *text, const struct stv_bottling_answer *answer,
                            size_t wish_idx)
{
    const struct stv_bottling_outcome *outcome = &answer->plan.outcomes[wish_idx];
    add_heading(text, answer, wish_idx);
    add_missing(text, answer, wish_idx);
    if (has_odds(answer) && outcome->n_casks > 0)
        add_odds(text, &answer->planned[wish_idx].wish, outcome);
    if (!has_odds(answer))
        stv_prose_wrap(text, 0, "One run with the default numbers: no odds (--draws 0).");
}

void stv_words_planned_one(struct stv_text *text, const struct stv_bottling_answer *answer,
                           size_t wish_idx)
{
    const struct stv_bottling_outcome *outcome = &answer->plan.outcomes[wish_idx];
    stv_words_planned_head(text, answer, wish_idx);
    add_casks(text, answer, outcome);
    if (wish_idx == 0 && outcome->n_casks > 0)
        add_table_key(text, answer);
    add_better(text, answer, outcome);
    add_price(text, answer, wish_idx);
    add_later_releases(text, answer, wish_idx);
    add_label(text, answer, wish_idx);
    stv_words_left_out(text, answer, wish_idx);
}

void stv_words_planned(struct stv_text *text, const struct stv_bottling_answer *answer)
{
    for (size_t w = 0; w < answer->n_planned; w++) {
        stv_words_planned_one(text, answer, w);
        stv_text_add(text, "\n");
    }
    if (answer->n_planned > 0) {
        stv_prose_wrap(text, 0,
                       "Chosen so that what is planned is there, %s, where it can be, then "
                       "for the best odds of all at once, then casks that would not wait a "
                       "year, then sisters for a series. \"As good\": within a twentieth in odds, "
                       "or what trials cannot tell apart, and 1.5 %% in bottles.",
                       stv_words_surely(answer));
        if (has_odds(answer))
            stv_prose_wrap(text, 0, "%zu trials chose, and %zu others tell the odds and bottles.",
                           answer->n_plan_draws, answer->n_plan_draws);
        if (answer->kinds.n < answer->chain->book.ledger.n_casks)
            stv_prose_wrap(text, 0,
                           "Of casks alike the first in the book are named; any of them does as "
                           "well. %zu kinds were tried by one cask each; then %zu casks, as many "
                           "of a kind as a plan might take and one to spare, had trials of their "
                           "own, so that a sum is as sure as so many casks make it.",
                           answer->kinds.n, answer->n_planned_casks);
        add_assumed(text, answer);
    }
    if (answer->n_planned == 0)
        stv_prose_wrap(
            text, 0,
            "%s With `bottlings:` in book.yaml (when, style, casks or bottles, strength) "
            "casks are chosen for it, with odds.",
            answer->n_past + answer->n_done > 0
                ? "No bottling is planned ahead: those of the book are done or past."
                : "No bottling is planned.");
}
