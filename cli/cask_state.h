/* What the ledger and the gauges say about a cask on the day of the answer. */
#ifndef STV_CLI_CASK_STATE_H
#define STV_CLI_CASK_STATE_H

#include "cli/chain.h"

/* Index of the event that began the present fill of a cask (a fill, or the first transfer into it
 * since it was last empty) on the day of the answer; -1 when it is empty then. */
int stv_fill_event(const struct stv_chain *chain, int cask_idx);

/* Index of the first event after that day that leaves a cask empty; -1. */
int stv_planned_end(const struct stv_chain *chain, int cask_idx);

/* Index of the first event after that day by which a cask is moved, or loses spirit to another or
 * all of it; -1. */
int stv_planned_leave(const struct stv_chain *chain, int cask_idx);
/* Index of the first event after that day that brings spirit from elsewhere into a cask; -1. */
int stv_planned_fill(const struct stv_chain *chain, int cask_idx);

/* True where a refused row left out what a cask's history says later (--keep-going). */
bool stv_is_cask_cut(const struct stv_chain *chain, int cask_idx);
/* Casks that hold spirit on that day, and those that do not; of those that are in neither a row was
 * refused, and they hold nothing by the rows that are left. */
void stv_count_casks(const struct stv_chain *chain, size_t *out_full, size_t *out_empty);

/* The first event after that day that puts a cask other than cask_idx (-1: any) into a place; -1.
 */
int stv_planned_into(const struct stv_chain *chain, const struct stv_place *place, int cask_idx);

/* Index of the latest gauge of a cask with litres or a strength, from its present fill to that day;
 * -1. */
int stv_last_gauge(const struct stv_chain *chain, int cask_idx);
/* Index of the latest nosing in the same span; -1. */
int stv_last_nose(const struct stv_chain *chain, int cask_idx);

/* Odds that a cask leaks on that day, by what `learn` kept of its gauges; NaN when it kept nothing,
 * or the leak was stopped. */
double stv_leak_frac(const struct stv_chain *chain, int cask_idx);
/* Likely enough for the walk of `month` to name it. */
bool stv_may_leak(const struct stv_chain *chain, int cask_idx);
/* True when `learn` holds its latest gauge for a slip, or for something not written down. */
bool stv_is_gauge_doubted(const struct stv_chain *chain, int cask_idx);

#endif
