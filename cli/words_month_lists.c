/* The month's transfers, water and bottlings in words, each list in a safe order. */
#include "cli/month.h"

#include "cli/prose.h"
#include "cli/words.h"

#include <math.h>

#define IDS_NAMED_MOST 12

size_t stv__words_month_ids(struct stv_text *text, const struct stv_month_answer *answer,
                            bool (*is_picked)(const struct stv_month_answer *, int))
{
    const struct stv_ledger *ledger = &answer->chain->book.ledger;
    size_t n = 0, k = 0;
    for (int c = 0; c < (int)ledger->n_casks; c++)
        n += is_picked(answer, c);
    size_t named = n > IDS_NAMED_MOST + 1 ? IDS_NAMED_MOST : n;
    for (int c = 0; c < (int)ledger->n_casks && k < named; c++)
        if (is_picked(answer, c)) {
            stv_prose_add(text, "%s%s",
                          k == 0       ? ""
                          : k + 1 == n ? " and "
                                       : ", ",
                          ledger->casks[c].id);
            k++;
        }
    if (named < n)
        stv_prose_add(text, " and %zu more", n - named);
    return n;
}

static void add_group(struct stv_text *text, const struct stv_month_answer *answer,
                      bool (*is_picked)(const struct stv_month_answer *, int), const char *lead)
{
    struct stv_text ids = {0};
    if (stv__words_month_ids(&ids, answer, is_picked))
        stv_prose_wrap(text, 2, "%s: %s.", lead, stv_text_string(&ids));
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
}

/* --- spirit that leaves its wood -------------------------------------------------------------- */

static const struct stv_transfer *leaving_of(const struct stv_month_answer *answer, int cask_idx)
{
    for (size_t i = 0; i < answer->n_leaving; i++) {
        const struct stv_transfer *item = &answer->transfer.transfers.items[answer->leaving_idx[i]];
        if (item->cask_idx == cask_idx)
            return item;
    }
    return NULL;
}

static bool has_nowhere(const struct stv_month_answer *answer, int cask_idx)
{
    const struct stv_transfer *item = leaving_of(answer, cask_idx);
    return item && item->given_idx == SIZE_MAX;
}

static bool is_over(const struct stv_month_answer *answer, int cask_idx)
{
    for (size_t i = 0; i < answer->transfer.transfers.n; i++)
        if (answer->transfer.transfers.items[i].cask_idx == cask_idx)
            return answer->transfer.transfers.items[i].leaving.call == STV_LEAVE_OVER &&
                   !stv_month_bottles(answer, cask_idx);
    return false;
}

static void add_leaving(struct stv_text *text, const struct stv_month_answer *answer,
                        const struct stv_transfer *item)
{
    const struct stv_chain *chain = answer->chain;
    const struct stv_receiver *into = &item->receivers[item->given_idx];
    const struct stv_cask *receiver = &chain->book.ledger.casks[into->cask_idx];
    struct stv_place place = stv_lineage_place(chain->lineage, item->cask_idx);
    stv__words_tick(text, chain, item->cask_idx, &place);
    stv_prose_add(text, "by %s, %s L at %s %%vol\n", stv_format_day(item->leaving.leave_day_d).text,
                  stv_format_number(item->leaving.volume20_l.p50, 0).text,
                  stv_format_number(100.0 * item->leaving.abv20_frac.p50, 1).text);
    stv_prose_wrap(
        text, 6,
        "into %s (%s)%s; then %s %% full. Under the wood you allow: %s then, %s a year on.",
        receiver->id, receiver->kind_name, into->is_dry ? ", soaked and tested first" : "",
        stv_format_number(100.0 * into->full_frac, 0).text,
        stv__words_tenths(item->leaving.leave_frac).text,
        stv__words_tenths(item->leaving.a_year_on_frac).text);
}

static void add_transfers(struct stv_text *text, const struct stv_month_answer *answer)
{
    if (!answer->has_transfers)
        return;
    stv_prose_add(text, "\n");
    stv_prose_heading(text, "Move to other wood");
    bool has_any = false;
    for (size_t i = 0; i < answer->n_leaving; i++) {
        const struct stv_transfer *item = &answer->transfer.transfers.items[answer->leaving_idx[i]];
        if (item->given_idx == SIZE_MAX)
            continue;
        add_leaving(text, answer, item);
        has_any = true;
    }
    if (!has_any)
        stv_prose_wrap(text, 2, "None this month.");
    add_group(text, answer, has_nowhere,
              "Should leave their wood by now, but no empty cask does better than staying. Bottle "
              "or marry them, or empty wood that has given more");
    add_group(text, answer, is_over,
              "Over the wood you allow already: bottle or marry them, no transfer takes it out");
    if (has_any)
        stv_prose_wrap(text, 2,
                       "Bond and earth pump, hose and casks. Emptied wood is filled again soon, or "
                       "kept wet.");
}

/* --- water -------------------------------------------------------------------------------------
 */

static void add_water(struct stv_text *text, const struct stv_month_answer *answer)
{
    if (!stv_month_has_water(answer))
        return;
    stv_prose_add(text, "\n");
    stv_prose_heading(text, "Water in the cask");
    if (answer->n_water_rows) {
        stv_words_water_rows(text, answer->chain, &answer->water, answer->water_rows,
                             answer->n_water_rows);
    } else {
        stv_prose_wrap(text, 2, "One of your months for it, but no step is due by %s.",
                       stv_format_day(answer->to_d).text);
        stv_words_water_next(text, answer->chain, &answer->water);
    }
    add_group(text, answer, stv_month_bottles, "None into what is bottled this month");
    add_group(text, answer, stv_month_moves, "None into what is moved to other wood this month");
}

/* --- bottlings ---------------------------------------------------------------------------------
 */

/* What history.csv plans this month for a cask that is to be bottled in it. */
static void add_clash(struct stv_text *text, const struct stv_month_answer *answer, int cask_idx)
{
    const struct stv_ledger *ledger = &answer->chain->book.ledger;
    for (size_t e = 0; e < ledger->n_events; e++) {
        const struct stv_event *event = &ledger->events[e];
        if (event->cask_idx == cask_idx && event->day_d > answer->chain->as_of_day_d &&
            event->day_d <= answer->to_d && event->kind != STV_EVENT_EMPTY &&
            event->kind != STV_EVENT_LEAK_STOPPED)
            stv_prose_add(text, "     history.csv plans to %s on %s: settle which\n",
                          stv_event_kind_name(event->kind), stv_format_day(event->day_d).text);
    }
}

static void add_bottling(struct stv_text *text, const struct stv_month_answer *answer,
                         size_t wish_idx)
{
    const struct stv_chain *chain = answer->chain;
    const struct stv_bottling_outcome *outcome = &answer->bottling.plan.outcomes[wish_idx];
    stv_prose_add(text, "\n");
    stv_prose_heading(text, "Bottle");
    for (size_t i = 0; i < outcome->n_casks; i++) {
        const struct stv_chosen_cask *cask = &outcome->casks[i];
        struct stv_place place = stv_lineage_place(chain->lineage, cask->cask_idx);
        stv__words_tick(text, chain, cask->cask_idx, &place);
        stv_prose_add(text, "%s bottles, at least %s; drawn at %s %%vol\n",
                      stv_format_number(floor(cask->bottles_nd.p50), 0).text,
                      stv_format_number(floor(cask->bottles_nd.p05), 0).text,
                      stv_format_number(100.0 * cask->abv20_frac.p50, 1).text);
        stv_words_doubt_row(text, chain, cask->cask_idx);
        add_clash(text, answer, cask->cask_idx);
    }
    stv_words_barred(text, &answer->bottling, wish_idx);
    stv_words_planned_one(text, &answer->bottling, wish_idx);
}

static void add_done(struct stv_text *text, const struct stv_month_answer *answer)
{
    for (size_t d = 0; answer->has_bottlings && d < answer->bottling.n_done; d++)
        if (stv_month_is_due(answer, answer->bottling.done[d].wish.day_d)) {
            stv_prose_add(text, "\n");
            stv_words_done(text, &answer->bottling, d);
        }
}

void stv__words_month_lists(struct stv_text *text, const struct stv_month_answer *answer)
{
    add_transfers(text, answer);
    add_water(text, answer);
    add_done(text, answer);
    for (size_t w = 0; answer->has_bottlings && w < answer->bottling.n_planned; w++)
        if (stv_month_is_due(answer, answer->bottling.planned[w].wish.day_d))
            add_bottling(text, answer, w);
}
