/* The casks whose strength falls to what must not be passed, and when. */
#include "cli/bottling.h"
#include "cli/prose.h"
#include "cli/words.h"

#include <math.h>
#include <stdlib.h>

#define GUARD_ROWS_MOST 12

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
    stv_prose_add(text, "%-*s %-24s %-12s %-12s %s\n", (int)columns, "cask",
                  "bottle or marry before", "central", "latest", "trials");
    for (size_t i = 0; i < n && i < GUARD_ROWS_MOST; i++) {
        const struct stv_crossing *falls = list[i].falls;
        stv_prose_name_cell(text, answer->chain->book.ledger.casks[list[i].cask_idx].id, columns,
                            0);
        stv_prose_add(
            text, " %-24s %-12s %-12s %s\n",
            falls->already_frac >= STV__HARDLY_FRAC ? "now" : month_or(falls->earliest_d, "-").text,
            month_or(falls->central_d, "not by then").text,
            month_or(falls->latest_d, "not by then").text,
            stv__words_in_ten(falls->odds_frac).text);
    }
    if (n > GUARD_ROWS_MOST)
        stv_prose_add(text, "... and %zu more: --json has them all.\n", n - GUARD_ROWS_MOST);
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
    stv_prose_heading(text, "Falls to %s %%vol by %s: %s", level.text, until.text,
                      n ? stv_format_count(n, "cask", "casks").text : "no cask");
    if (n)
        add_falling(text, answer, list, n);
    if (answer->is_guard_by_market)
        stv_prose_wrap(text, 0, "%s %%vol: what %s asks for, %s (%s; %s, %s)%s.", level.text,
                       market->label, market->bottled_least_abv20_frac.text,
                       market->bottled_least_abv20_frac.source,
                       market->bottled_least_abv20_frac.seen, market->bottled_least_abv20_frac.date,
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
