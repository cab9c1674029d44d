/* What gauges and noses taught: the book's gauges as the model takes them, learned, and put into
 * the form that is kept. */
#ifndef STV_CLI_CHAIN_CASK_LEARNING_H
#define STV_CLI_CHAIN_CASK_LEARNING_H

#include "cli/chain.h"
#include "model/cask_learning.h"
#include "plots/text.h"

#define STV_SCALE_NAME_MAX 48
#define STV_NOT_YET_TO_READY_LN 0.3 /* before anybody nosed, in ln of wood.  Source: judgement */
#define STV_READY_ERROR_LN 0.3      /* of where the house's noses say ready.  Source: judgement */

#define STV_STUCK_MOST \
    8 /* casks of one house that may be left out so that the others are learned */

/* Gauges and figures from which nothing is learned, by reason. */
struct stv_gauges_unused {
    size_t n_suspect;     /* typing errors by all that stands around them */
    size_t n_later;       /* after the day of the answer */
    size_t n_empty;       /* of a cask that holds nothing when the day is over */
    size_t n_same_day;    /* litres and strengths of the very day of an addition */
    size_t n_other_wood;  /* colours of casks that another liquid coloured */
    size_t n_scales_over; /* readings on more scales than can be learned */
};

/* Everything of one learning. */
struct stv_cask_lesson {
    struct stv_cask_learning_request request;
    struct stv_cask_observation *observations; /* of the request; gauge_idx is the book's */
    struct stv_fit_tare *tares;                /* likewise */
    struct stv_fit_scale scales[STV_FIT_SCALES_MOST];
    char scale_names[STV_FIT_SCALES_MOST][STV_SCALE_NAME_MAX]; /* "house card of 12", "nose RT" */
    size_t n_gauges, n_nose_verdicts;                          /* that teach something */
    struct stv_gauges_unused unused;
    struct stv_cask_learning learning;
    struct stv_learned_casks kept; /* the same as it is written */
    struct stv_cask_wish *wishes;  /* the full casks, each to its planned day */
    struct stv_cask_worth *worths;
    size_t n_wishes;
    size_t stuck[STV_STUCK_MOST], n_stuck; /* casks whose gauges no fit takes: nothing of them */
};

/* Learns.  A cask whose figures keep the fit from its end is left out, and the rest learned.
 *
 * chain   with its climate, learned-casks.yaml not read; must outlive the lesson
 * Errors: STV_E_NO_DATA  no gauge that teaches anything; STV_E_IO the check sums; those of
 *         stv_cask_learn.  What was left unused is told in the lesson all the same.
 * Memory: free with stv_cask_lesson_free, also after a failure */
STV_MUST_CHECK enum stv_status stv_chain_learn_casks(const struct stv_chain *chain,
                                                     struct stv_cask_lesson *out);
void stv_cask_lesson_free(struct stv_cask_lesson *lesson);

/* Whether learned-casks.yaml was read and holds what learning now would find: its files have the
 * check sums that they had, and no gauge lies between its day and the day of the answer. */
bool stv_chain_casks_are_current(const struct stv_chain *chain);
/* Adds "gauges.csv, history.csv (gone)": files that changed since.  Returns how many. */
size_t stv_chain_casks_changed(const struct stv_chain *chain, struct stv_text *names);
/* The lesson as it was kept, for what to gauge next: its request, wishes and fit, no more.
 * Errors: STV_E_ARG  its kinds and scales are not the book's; STV_E_MEMORY.  Freed as the other. */
STV_MUST_CHECK enum stv_status stv_chain_lesson_kept(const struct stv_chain *chain,
                                                     struct stv_cask_lesson *out);
/* What the chain took from learned-casks.yaml is forgotten; a lesson takes its place. */
void stv_chain_forget_casks(struct stv_chain *chain);
void stv_chain_take_lesson(struct stv_chain *chain, struct stv_cask_lesson *lesson);

/* Adds, under "Rests on", what the casks' answers take from gauges. */
void stv_words_learned_casks(struct stv_text *text, const struct stv_chain *chain);
/* The first line of an answer whose one run knows nothing of what was learned. */
void stv_words_learning_left_out(struct stv_text *text, const struct stv_chain *chain);
/* Adds that nothing is learned from the gauges, or what has changed since. */
void stv_words_learned_casks_heed(struct stv_text *text, const struct stv_chain *chain);
/* Adds how learned-casks.yaml falls short of a book and day that it is not current for; false,
 * and nothing, when there is none. */
bool stv_words_learned_stale(struct stv_text *text, const struct stv_chain *chain);

#endif
