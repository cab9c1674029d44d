/* Casks that history.csv moves, empties or fills later, where an answer goes by how they lie today.
 */
#include "cli/words.h"

#include "cli/cask_state.h"
#include "cli/prose.h"

#include <math.h>

#define LISTED_MOST 12

static const char *leaving_word(const struct stv_event *event)
{
    if (event->kind == STV_EVENT_MOVE)
        return "moved";
    return event->kind == STV_EVENT_TRANSFER && isfinite(event->volume20_l) ? "partly poured out"
                                                                            : "emptied";
}

/* "12 (moved on 3 May 2028), 14 (...)"; returns how many there are. */
static size_t list_planned(struct stv_text *list, const struct stv_chain *chain, const int *casks,
                           size_t n_casks, bool fills)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    size_t n = 0;
    for (size_t i = 0; i < n_casks; i++) {
        int event_idx =
            fills ? stv_planned_fill(chain, casks[i]) : stv_planned_leave(chain, casks[i]);
        if (event_idx < 0 || n++ >= LISTED_MOST)
            continue;
        const struct stv_event *event = &ledger->events[event_idx];
        stv_prose_add(list, "%s%s (%s on %s)", n > 1 ? ", " : "", ledger->casks[casks[i]].id,
                      fills ? "filled" : leaving_word(event), stv_format_day(event->day_d).text);
    }
    if (n > LISTED_MOST)
        stv_prose_add(list, " and %zu more", n - LISTED_MOST);
    return n;
}

void stv_words_planned_leaves(struct stv_text *text, const struct stv_chain *chain,
                              const int *casks, size_t n_casks)
{
    struct stv_text list = {0};
    size_t n = list_planned(&list, chain, casks, n_casks, false);
    if (n)
        stv_prose_wrap(text, 0,
                       "history.csv plans otherwise for %s: %s. That is left out here: it is "
                       "reckoned as if %s lay as told here for the whole time.",
                       n == 1 ? "a cask" : "some casks", stv_text_string(&list),
                       n == 1 ? "it" : "they");
    text->has_failed = text->has_failed || list.has_failed;
    stv_text_free(&list);
}

void stv_words_planned_fills(struct stv_text *text, const struct stv_chain *chain, const int *casks,
                             size_t n_casks)
{
    struct stv_text list = {0};
    size_t n = list_planned(&list, chain, casks, n_casks, true);
    if (n)
        stv_prose_wrap(text, 0, "Counted as free here, though history.csv fills %s later: %s.",
                       n == 1 ? "it" : "them", stv_text_string(&list));
    text->has_failed = text->has_failed || list.has_failed;
    stv_text_free(&list);
}
