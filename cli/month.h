/* Everything to do in the rest of a month: what `month` shows. */
#ifndef STV_CLI_MONTH_H
#define STV_CLI_MONTH_H

#include "cli/bottling.h"
#include "cli/chain_cask_learning.h"
#include "cli/stock.h"
#include "cli/transfer.h"
#include "cli/water.h"
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
    bool is_near_summer;  /* hot, or the day after the month is */
    struct stv_walk_cask *walk;
    size_t n_walk;                 /* of those there is a reason to look at */
    bool has_lesson, is_kept;      /* is_kept: from learned-casks.yaml, else learned anew */
    bool has_stale;                /* there was such a file, but it is not current */
    bool is_unlearned;             /* there are gauges to learn from, which was not done */
    struct stv_cask_lesson lesson; /* what was learned is the chain's */
    struct stv_sampling_limits limits;
    struct stv_sampling_list sampling;
    struct stv_month_visit *visits; /* in the order of the walk: lower rows first */
    size_t n_visits;
    size_t *event_idx; /* planned in history.csv after the day of the answer, to the month's end */
    size_t n_events;
    /* Of planned bottlings, of active wood, of the rules for water: empty where nothing is due. */
    bool has_bottlings, has_transfers;
    struct stv_bottling_answer bottling;
    struct stv_transfer_answer transfer;
    size_t *leaving_idx; /* n_leaving items of it that should be gone by the end of the month */
    size_t n_leaving;
    struct stv_reduction water;
    struct stv_water_row *water_rows; /* of the month, in the crew's order */
    size_t n_water_rows;
    struct stv_stock_answer stock; /* its plan alone */
};

/* Makes the lists.
 *
 * chain   with its climate; casks are those of learned-casks.yaml where it is current, else they
 *         are learned anew and put in its place in the chain; must outlive the answer
 * Errors: those of stv_chain_seasons, stv_chain_learn_casks and stv_sampling_of_casks; of
 *         stv_bottling_answer_make, stv_transfer_answer_make and stv_water_make where they are due.
 *         Free with stv_month_free, also after a failure. */
STV_MUST_CHECK enum stv_status stv_month_make(struct stv_chain *chain,
                                              struct stv_sampling_limits limits,
                                              struct stv_month_answer *out);
/* The same by learned-casks.yaml alone: where it is not current nothing is learned anew, and what
 * rests on it is left out. */
STV_MUST_CHECK enum stv_status stv_month_of_learned(const struct stv_chain *chain,
                                                    struct stv_sampling_limits limits,
                                                    struct stv_month_answer *out);
/* What history.csv plans to the end of the month, and nothing that is forecast.
 * Errors: those of stv_chain_seasons */
STV_MUST_CHECK enum stv_status stv_month_of_ledger(const struct stv_chain *chain,
                                                   struct stv_month_answer *out);
void stv_month_free(struct stv_month_answer *answer);

/* Whether a day lies in what the sheet tells of, and whether `water:` allows something to be added
 * in that month. */
bool stv_month_is_due(const struct stv_month_answer *answer, int64_t day_d);
bool stv_month_has_water(const struct stv_month_answer *answer);

/* Whether a cask is bottled this month by what is planned, or its spirit moved to another. */
bool stv_month_bottles(const struct stv_month_answer *answer, int cask_idx);
bool stv_month_moves(const struct stv_month_answer *answer, int cask_idx);

/* "add water", "move" ..., and where an event's cask lies that day, or is put. */
const char *stv_month_job_name(const struct stv_event *event);
struct stv_place stv_month_job_place(const struct stv_chain *chain, const struct stv_event *event);
/* "11.7 kg", "all into cask 7", "195 L at 59.2 %vol"; "" where it has none. */
struct stv_formatted stv_month_job_amount(const struct stv_chain *chain,
                                          const struct stv_event *event);
/* "learned", "first hot weeks", "top tier". */
const char *stv_walk_reason_key(enum stv_walk_reason reason);

/* Airing first, with what a hot month adds: it heads every sheet. */
void stv_words_month_air(struct stv_text *text, const struct stv_month_answer *answer);
void stv_words_month_jobs(struct stv_text *text, const struct stv_month_answer *answer);
void stv_words_month(struct stv_text *text, const struct stv_month_answer *answer);

/* Private to month*.c and words_month*.c: the lists of the book's own rules. */
STV_MUST_CHECK enum stv_status stv__month_lists(struct stv_month_answer *answer);
void stv__month_lists_free(struct stv_month_answer *answer);
void stv__words_month_lists(struct stv_text *text, const struct stv_month_answer *answer);
/* "  [ ] 12      2-04 front  ": a box to tick, the cask, where it lies. */
void stv__words_tick(struct stv_text *text, const struct stv_chain *chain, int cask_idx,
                     const struct stv_place *place);
/* Ids of casks of the book that a rule picks, "12, 13 and 18"; returns how many. */
size_t stv__words_month_ids(struct stv_text *text, const struct stv_month_answer *answer,
                            bool (*is_picked)(const struct stv_month_answer *, int));

#endif
