/* Slow reduction of the book's casks: which, until when, and what they come to. */
#ifndef STV_CLI_WATER_H
#define STV_CLI_WATER_H

#include "cli/chain.h"
#include "model/reduction.h"

#include <jansson.h>

/* Plans as the book's `water:` says, which must be there.
 *
 * cask_idx  n casks that hold spirit on the day of the answer
 * out       free with stv_reduction_free; plans in the order of the casks
 * Errors: those of stv_reduction_of_house and stv_reduction_hottest_c */
STV_MUST_CHECK enum stv_status stv_water_make(const struct stv_chain *chain, const int *cask_idx,
                                              size_t n, struct stv_reduction *out);

/* A step of a plan. */
struct stv_water_row {
    size_t plan_idx, step_idx;
};
/* Steps from the day of the answer to a year on: by day, then low tiers first, then bay and
 * front.
 * out    malloc'd, caller frees; NULL with STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_water_crew(const struct stv_chain *chain,
                                              const struct stv_reduction *reduction,
                                              struct stv_water_row **out, size_t *out_n);

/* Where the cask lies on the day of the answer. */
struct stv_place stv_water_place(const struct stv_chain *chain, int cask_idx);

/* Whole years of the youngest part of the spirit on the last day, reducing spirit counted. */
int stv_water_age_years(const struct stv_chain *chain, const struct stv_reduction_plan *plan);

/* "steps", "tank", ..., for keys. */
const char *stv_water_kind_key(enum stv_reduction_kind kind);

struct stv_text;
/* The next step of the house: when, how many casks, kilograms; which casks lack room for it. */
void stv_words_water_next(struct stv_text *text, const struct stv_chain *chain,
                          const struct stv_reduction *reduction);
/* What to heed before, while and after something is added, its source and label too. */
void stv_words_water_heed(struct stv_text *text, const struct stv_chain *chain);
/* All that is told of the house. */
void stv_words_water_house(struct stv_text *text, const struct stv_chain *chain,
                           const struct stv_reduction *reduction);
/* The answer in words; named: casks were named, each is told whole. */
void stv_words_water(struct stv_text *text, const struct stv_chain *chain,
                     const struct stv_reduction *reduction, bool is_named);
/* Some of the crew's rows, with what is short of room and what to heed. */
void stv_words_water_rows(struct stv_text *text, const struct stv_chain *chain,
                          const struct stv_reduction *reduction, const struct stv_water_row *rows,
                          size_t n);
/* A step: its day, what goes in, litres and strength before and after, the room. */
json_t *stv_water_step_json(const struct stv_reduction_step *step);

#endif
