/* What gauges of a cask say whose leak was stopped.  Nobody knows when such a leak began: once
 * litres were gauged after the stop, those of the same spirit before it tell nothing of the air,
 * and each since tells what went from the one before it.  Layer 8; pure; nothing here allocates. */
#ifndef STV_MODEL_LEAK_STOPS_H
#define STV_MODEL_LEAK_STOPS_H

#include "model/gauge_judge.h"

/* Leaves out what is left out whatever the verdicts say: figures set aside, and of a spirit that
 * leaked all amounts but those after the stop; all others count, from the fill. */
void stv__leave_out_first(const struct stv__judging *of, struct stv_cask_told *told);

/* Lets the amounts after each stop count from one another, those that the verdicts so far call
 * misread apart; the first of them moves nothing. */
void stv__count_from_stops(const struct stv__judging *of, struct stv_cask_learning *learning);

#endif
