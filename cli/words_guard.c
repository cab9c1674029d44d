/* The casks whose strength falls to what must not be passed, and when. */
#include "cli/bottling.h"
#include "cli/prose.h"
#include "cli/words.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define GUARD_ROWS_MOST 12
#define SURELY_FRAC 0.95

struct falling {
    int cask_idx;
    const struct stv_crossing *falls;
};

static int compare_falling(const void *a, const void *b)
{
    const struct falling *x = a, *y = b;
    if (x->falls->earliest_d != y->falls->earliest_d)
        return x->falls->earliest_d < y->falls->earliest_d ? -1 : 1;
    if (x->falls->odds_frac != y->falls->odds_frac)
        return x->falls->odds_frac > y->falls->odds_frac ? -1 : 1;
    return (x->cask_idx > y->cask_idx) - (x->cask_idx < y->cask_idx);
}

static struct stv_formatted month_or(double day_d, const char *never)
{
    return isfinite(day_d) ? stv_format_month((int64_t)day_d) : stv_format("%s", never);
}

static void add_falling(struct stv_text *text, const struct stv_bottling_answer *answer,
                        const struct falling *list, size_t n)
{
    size_t columns = stv_words_id_columns(answer->chain);
    stv_prose_add(text, "%-*s %-24s %-12s %-12s %s\n", (int)columns, "cask", "may fall from",
                  "central", "latest", "trials that fall");
    for (size_t i = 0; i < n && i < GUARD_ROWS_MOST; i++) {
        const struct stv_crossing *falls = list[i].falls;
        stv_prose_name_cell(text, answer->chain->book.ledger.casks[list[i].cask_idx].id, columns,
                            0);
        stv_prose_add(text, " %-24s %-12s %-12s %s\n",
                      falls->already_frac >= STV__HARDLY_FRAC
                          ? stv_format("now (%s)", stv__words_in_ten(falls->already_frac).text).text
                          : month_or(falls->earliest_d, "-").text,
                      month_or(falls->central_d, "not by then").text,
                      month_or(falls->latest_d, "not by then").text,
                      stv__words_in_ten(falls->odds_frac).text);
    }
    if (n > GUARD_ROWS_MOST)
        stv_prose_add(text, "... and %zu more: --json has them all.\n", n - GUARD_ROWS_MOST);
}

/* "May fall to 46 %vol by Dec 2037: 23 casks, trials 1 in 10 to 3 in 10" */
static void add_heading(struct stv_text *text, const struct falling *list, size_t n,
                        const char *level_until)
{
    double least = INFINITY, most = 0.0;
    for (size_t i = 0; i < n; i++) {
        least = fmin(least, list[i].falls->odds_frac);
        most = fmax(most, list[i].falls->odds_frac);
    }
    struct stv_formatted low = stv__words_in_ten(least), high = stv__words_in_ten(most);
    bool is_one = strcmp(low.text, high.text) == 0;
    if (n == 0)
        stv_prose_heading(text, "Falls to %s: no cask", level_until);
    else
        stv_prose_heading(text, "%s to %s: %s, in the trials %s%s%s",
                          least >= SURELY_FRAC ? "Falls" : "May fall", level_until,
                          stv_format_count(n, "cask", "casks").text, low.text, is_one ? "" : " to ",
                          is_one ? "" : high.text);
}

void stv_words_guard(struct stv_text *text, const struct stv_bottling_answer *answer)
{
    const struct stv_market *market = answer->chain->named.market;
    size_t n = 0, n_casks = answer->chain->book.ledger.n_casks;
    struct falling *list = malloc((n_casks + 1) * sizeof *list);
    struct stv_formatted until = stv_format_month(answer->guard_until_d);
    struct stv_formatted level =
        stv_format_number(100.0 * answer->guard_abv20_frac,
                          fabs(remainder(100.0 * answer->guard_abv20_frac, 1.0)) < 1e-6 ? 0 : 1);
    if (!list) {
        text->has_failed = true;
        return;
    }
    for (size_t c = 0; c < n_casks; c++)
        if (stv_lineage_spirit(answer->chain->lineage, (int)c).is_there &&
            answer->guards[c].odds_frac >= STV__HARDLY_FRAC)
            list[n++] = (struct falling){(int)c, &answer->guards[c]};
    qsort(list, n, sizeof *list, compare_falling);
    add_heading(text, list, n, stv_format("%s %%vol by %s", level.text, until.text).text);
    if (n) {
        add_falling(text, answer, list, n);
        stv_prose_wrap(text, 0,
                       "(From: 1 trial in 20 has fallen by then, unless its own odds stand beside. "
                       "Bottle or marry a cask before the day whose odds you will not take.)");
    }
    if (answer->is_guard_by_market)
        stv_prose_wrap(text, 0, "%s %%vol: what %s asks for, %s (%s; %s, %s)%s.", level.text,
                       market->label, market->bottled_least_abv20_frac.text,
                       market->bottled_least_abv20_frac.source,
                       market->bottled_least_abv20_frac.seen,
                       stv_words_rule_date(&market->bottled_least_abv20_frac),
                       isfinite(market->label_tolerance_abv20_frac.value)
                           ? ", with the label's tolerance on top"
                           : "");
    else
        stv_prose_wrap(text, 0, "%s %%vol: the least strength that the book allows%s.%s",
                       level.text,
                       market && isfinite(market->bottled_least_abv20_frac.value)
                           ? ", which is more than the market asks for"
                           : "",
                       market ? ""
                              : " --market, or `market:` in book.yaml, holds them against a "
                                "market's least.");
    free(list);
}
