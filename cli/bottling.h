/* What `bottling` works out: windows of casks or lots, casks for what is planned, and when
 * strengths fall too far; one run of the casks serves all three. */
#ifndef STV_CLI_BOTTLING_H
#define STV_CLI_BOTTLING_H

#include "cli/casks_alike.h"
#include "cli/chain.h"
#include "cli/forecast.h"
#include "cli/format.h"
#include "cli/market_bar.h"
#include "ingest/market.h"
#include "model/bottling_plan.h"

/* How far ahead strengths are looked at, twice a year. */
#define STV_GUARD_YEARS 10
#define STV_GUARD_DAYS (2 * STV_GUARD_YEARS + 1)
/* Those days, ascending, the day of the answer first. */
void stv_guard_days(const struct stv_chain *chain, int64_t days_d[STV_GUARD_DAYS]);

struct stv_bottling_ask {
    size_t n_months;
    bool by_lot;
    /* All casks of the book on the guards' days, by the chain's own trials, where somebody has run
     * them; else NULL. */
    const struct stv_outlook *half_years;
};

struct stv_bottling_answer {
    const struct stv_chain *chain;
    struct stv_bottling_ask ask;
    struct stv_alike_kinds kinds; /* one cask of each was run for the windows, unless by lot */
    int64_t *months_d;            /* ask.n_months and today: what the windows' months mean */
    struct stv_bottling windows;
    struct stv_forecast lots; /* its sums hold the lots' names, by label */
    size_t *lot_of_cask;      /* per cask of the book; SIZE_MAX: empty */
    /* Those of the book by day; of a month that has begun, the day of the answer at the earliest.
     */
    struct stv_book_bottling *planned, *past, *done;
    size_t n_planned, n_past, n_done;
    /* Per event of the book: the bottling of done that a cask was emptied for; else SIZE_MAX. */
    size_t *done_of_event;
    struct stv_market_stand *stands; /* [planned * casks of the book + cask], on its day */
    struct stv_bottling_plan plan;   /* per planned bottling */
    size_t n_plan_draws;             /* of the choice, and as many others of what is told */
    size_t n_planned_casks;          /* that were run themselves for the plan */
    double guard_abv20_frac;         /* the strength that must not be passed */
    bool is_guard_by_market;         /* else the book's own least */
    int64_t guard_until_d;
    struct stv_crossing *guards; /* per cask of the book; meaningless for an empty one */
};

/* Errors: those of stv_outlook_run and stv_bottling_plan; free after STV_OK alone. */
STV_MUST_CHECK enum stv_status stv_bottling_answer_make(const struct stv_chain *chain,
                                                        const struct stv_bottling_ask *ask,
                                                        struct stv_bottling_answer *out);
void stv_bottling_answer_free(struct stv_bottling_answer *answer);

/* Something in history.csv after the day of the answer, of a kind. */
size_t stv_bottling_n_ahead(const struct stv_bottling_answer *answer, enum stv_event_kind kind);
/* A bottling that is short of bottles, casks or strength, 19 times in 20. */
bool stv_bottling_is_short(const struct stv_bottling_outcome *outcome);

/* A cask on the day of a planned bottling, by the named market. */
const struct stv_market_stand *stv_bottling_stand(const struct stv_bottling_answer *answer,
                                                  size_t wish_idx, size_t cask_idx);
/* The youngest of its casks then, by calendar and clock; NaN without any. */
struct stv_market_stand stv_bottling_youngest(const struct stv_bottling_answer *answer,
                                              size_t wish_idx);
/* Its strength may lie under what the named market asks for in the bottle. */
bool stv_bottling_is_under_market(const struct stv_bottling_answer *answer, size_t wish_idx);
/* Nobody knows whether all of a cask's time counts by the named market's clock. */
bool stv_bottling_is_unsure(const struct stv_bottling_answer *answer, size_t wish_idx,
                            size_t cask_idx);
/* The named market bars it by its strength, or perhaps one of its casks; those that it surely bars
 * are not taken. */
bool stv_bottling_wants_market_look(const struct stv_bottling_answer *answer, size_t wish_idx);

/* "November singles", of a series "November singles, 2 of 3". */
struct stv_bottling_name {
    char text[STV_NAME_MAX + 32];
};
struct stv_bottling_name stv_bottling_name(const struct stv_book_bottling *bottling);

/* The planned bottling that takes a cask; -1: none. */
int stv_bottling_of_cask(const struct stv_bottling_answer *answer, int cask_idx);

struct stv_text;
/* What a reader must know before any plan is read: what cannot be promised and how much is missing,
 * what will hardly come so, what is past. */
void stv_words_not_promised(struct stv_text *text, const struct stv_bottling_answer *answer);
/* What the named market bars of one of them, or cannot know; nothing without a market. */
void stv_words_barred(struct stv_text *text, const struct stv_bottling_answer *answer,
                      size_t wish_idx);
/* Casks that it bars and that were left out therefore, with the rule and what would lift it. */
void stv_words_left_out(struct stv_text *text, const struct stv_bottling_answer *answer,
                        size_t wish_idx);
/* "19 in 20" of what is promised, or that the trials are too few to call odds. */
const char *stv_words_surely(const struct stv_bottling_answer *answer);
/* Says before all else that the trials are too few; nothing where they are enough. */
void stv_words_few_trials(struct stv_text *text, const struct stv_bottling_answer *answer);
/* " by the calendar, 2.3 years by us-new-oak's clock"; nothing where both are alike. */
struct stv_formatted stv_words_market_age(const struct stv_bottling_answer *answer,
                                          size_t wish_idx);
/* "Nov 2028", "20 November 2028" */
struct stv_formatted stv_words_when(const struct stv_book_bottling *planned);
/* One that is taken as done, with the casks that were emptied for it. */
void stv_words_done(struct stv_text *text, const struct stv_bottling_answer *answer,
                    size_t done_idx);
void stv_words_planned(struct stv_text *text, const struct stv_bottling_answer *answer);
/* One of them: casks, bottles, odds; and with price and label. */
void stv_words_planned_head(struct stv_text *text, const struct stv_bottling_answer *answer,
                            size_t wish_idx);
void stv_words_planned_one(struct stv_text *text, const struct stv_bottling_answer *answer,
                           size_t wish_idx);
void stv_words_guard(struct stv_text *text, const struct stv_bottling_answer *answer);
/* Private to words_bottling_plan.c and words_guard.c: "7 in 10", "19 in 20", "all"; what fewer
 * trials come to is told as hardly, or not at all. */
#define STV__HARDLY_FRAC 0.05
struct stv_formatted stv__words_in_ten(double frac);
/* Trials that call a window or choose and tell a plan, more than elsewhere: among many months and
 * casks chance looks like merit.  0: none were asked for. */
size_t stv_bottling_draws(size_t n_draws);
/* Of each cask only what windows, guards and plans read: the rest would fill memory for nothing. */
void stv_bottling_ask_quantities(struct stv_outlook_request *request);
/* The house today and in each of n_months to come, as windows are called from.
 * Errors: those of stv_outlook_run; free after STV_OK alone. */
STV_MUST_CHECK enum stv_status stv_bottling_months(const struct stv_chain *chain, size_t n_months,
                                                   struct stv_outlook *out);
/* Hot seasons from the day of the answer until a day; the south has them half a year later. */
int stv_summers_until(const struct stv_chain *chain, double day_d);

#endif
