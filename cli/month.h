/* Everything to do in the rest of a month: what `month` shows. */
#ifndef STV_CLI_MONTH_H
#define STV_CLI_MONTH_H

#include "cli/chain_cask_learning.h"
#include "cli/stock.h"
#include "model/leak_walk.h"
#include "model/sampling.h"

/* A cask that is opened: gauged, nosed, or both. */
struct stv_month_visit {
    size_t wish_idx; /* of the lesson */
    int cask_idx;
    size_t rank; /* of its first pick, from 1: what narrows most */
    bool is_gauged, is_nosed;
    double sample_l, narrowed_frac;
    size_t n_as_good; /* other casks that would have done as well then */
};

struct stv_month_answer {
    const struct stv_chain *chain;
    int64_t from_d, to_d; /* the day of the answer, and the last of its month */
    bool is_hot;          /* part of it lies in the warm season of some store */
    int64_t hot_from_d;   /* when that season began or begins */
    struct stv_walk_cask *walk;
    size_t n_walk; /* of those there is a reason to look at */
    bool has_lesson, is_kept; /* is_kept: from learned-casks.yaml, else learned anew */
    bool has_stale;           /* there was such a file, but it is not current */
    struct stv_cask_lesson lesson; /* what was learned is the chain's */
    struct stv_sampling_limits limits;
    struct stv_sampling_list sampling;
    struct stv_month_visit *visits; /* in the order of the walk: lower rows first */
    size_t n_visits;
    size_t *event_idx; /* planned in history.csv after the day of the answer, to the month's end */
    size_t n_events;
    struct stv_stock_answer stock; /* its plan alone */
};

/* Makes the lists.
 *
 * chain   with its climate; casks are those of learned-casks.yaml where it is current, else they
 *         are learned anew and put in its place in the chain; must outlive the answer
 * Errors: those of stv_chain_climate_result, stv_chain_learn_casks and stv_sampling_of_casks.  Free
 *         with stv_month_free, also after a failure. */
STV_MUST_CHECK enum stv_status stv_month_make(struct stv_chain *chain,
                                              struct stv_sampling_limits limits,
                                              struct stv_month_answer *out);
void stv_month_free(struct stv_month_answer *answer);

/* Whether a day lies in what the sheet tells of, and whether `water:` allows something to be added
 * in that month. */
bool stv_month_is_due(const struct stv_month_answer *answer, int64_t day_d);
bool stv_month_has_water(const struct stv_month_answer *answer);

/* "add water", "move" ..., and where an event's cask lies that day, or is put. */
const char *stv_month_job_name(const struct stv_event *event);
struct stv_place stv_month_job_place(const struct stv_chain *chain, const struct stv_event *event);
/* "learned", "first hot weeks", "top tier". */
const char *stv_walk_reason_key(enum stv_walk_reason reason);

void stv_words_month(struct stv_text *text, const struct stv_month_answer *answer);

#endif
