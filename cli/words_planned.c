/* Casks that history.csv moves or empties later, where an answer goes by how they lie today. */
#include "cli/words.h"

#include "cli/cask_state.h"
#include "cli/prose.h"

#define LISTED_MOST 12

void stv_words_planned_leaves(struct stv_text *text, const struct stv_chain *chain,
                              const int *casks, size_t n_casks)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    struct stv_text list = {0};
    size_t n = 0;
    for (size_t i = 0; i < n_casks; i++) {
        int event_idx = stv_planned_leave(chain, casks[i]);
        if (event_idx < 0 || n++ >= LISTED_MOST)
            continue;
        const struct stv_event *event = &ledger->events[event_idx];
        stv_prose_add(&list, "%s%s (%s on %s)", n > 1 ? ", " : "", ledger->casks[casks[i]].id,
                      event->kind == STV_EVENT_MOVE ? "moved" : "emptied",
                      stv_format_day(event->day_d).text);
    }
    if (n > LISTED_MOST)
        stv_prose_add(&list, " and %zu more", n - LISTED_MOST);
    if (n)
        stv_prose_wrap(text, 0,
                       "history.csv has %s leave %s later: cask %s. That is left out here: it is "
                       "reckoned as if %s lay where this puts %s for the whole time.",
                       n == 1 ? "a cask" : "casks", n == 1 ? "its place" : "their places",
                       stv_text_string(&list), n == 1 ? "it" : "they", n == 1 ? "it" : "them");
    text->has_failed = text->has_failed || list.has_failed;
    stv_text_free(&list);
}
